//! What a flush warns of: no drain, tanks that would run out, lines that nothing cleans, a
//! cruder law, frost.

use super::{Flush, asked};
use crate::storm::Told;
use wetrun_checks::Outcome;
use wetrun_network::{Line, Tank};
use wetrun_units::{Length, Volume};

pub(super) fn found(flush: &Flush) -> Vec<Told> {
    let mut found = Vec::new();
    if asked::drains(&flush.site).is_empty() {
        let message = "no point has a drain: the lines cannot be flushed, nor emptied before frost";
        found.push(told("flush-no-drain", "site", message));
    }
    drowned(flush, &mut found);
    too_little(flush, &mut found);
    as_plugs(flush, &mut found);
    frost(flush, &mut found);
    found
}

/// Tanks that would run out through an inlet under their water.
fn drowned(flush: &Flush, found: &mut Vec<Told>) {
    let (network, units) = (&flush.site.network, flush.site.units);
    for shut in flush.runs.first().into_iter().flat_map(|run| &run.flushed.shut) {
        let (line, tank) = (network.line(shut.line), &network.tanks()[shut.tank.index()]);
        let out = lets_out(tank, shut.water, shut.inlet);
        let how_much = out.map_or_else(
            || format!("the {} that stand over it", units.show_height(shut.water - shut.inlet)),
            |volume| units.show_volume(volume).to_string(),
        );
        let message = format!(
            "{} ends under the water of {}, which would run out through an open drain: {how_much}; \
             shut that line at the tank first",
            line.tag, tank.tag
        );
        found.push(Told {
            value: out.map(Volume::to_m3),
            unit: if out.is_some() { "m3" } else { "" },
            ..told("flush-submerged-inlet", &tank.tag, &message)
        });
    }
}

/// What a tank would let out down to an inlet under its water, where the file says how much it holds.
fn lets_out(tank: &Tank, stands: Length, inlet: Length) -> Option<Volume> {
    let (floor, volume) = (tank.floor?, tank.volume?);
    let depth = tank.overflow.as_ref()?.level - floor;
    let share = (stands - inlet.max(floor)).to_m() / depth.to_m();
    (depth > Length::ZERO).then(|| Volume::m3(volume.to_m3() * share))
}

/// Lines through which no inflow carries silt in any run: the drains let too little go.
fn too_little(flush: &Flush, found: &mut Vec<Told>) {
    let (network, units) = (&flush.site.network, flush.site.units);
    for (place, line) in network.lines().iter().enumerate() {
        let needs = flush.runs.iter().map(|run| run.needs[place]);
        let needs: Option<Vec<_>> = needs.collect();
        let Some(needs) = needs.filter(|needs| needs.iter().all(|needs| !needs.does)) else {
            continue;
        };
        let Some(first) = needs.first() else { continue };
        let bores = flush.runs.iter().filter_map(|run| run.cures[place].drain);
        let bore = bores.min_by(|a, b| a.to_m().total_cmp(&b.to_m()));
        let cure = bore.map_or_else(String::new, |bore| {
            format!("; a drain with a bore of {} would", units.show_size(bore))
        });
        let message = format!(
            "no inflow at its upper end carries silt: the open drains do not draw the {} through it \
             that it takes{cure}",
            units.show_flow(first.flow)
        );
        found.push(Told {
            value: Some(first.flow.to_m3_per_s()),
            unit: "m3/s",
            ..told("flush-too-little", &line.tag, &message)
        });
    }
}

/// Runs that were followed by the cruder law.
fn as_plugs(flush: &Flush, found: &mut Vec<Told>) {
    let runs = flush.runs.iter().map(|run| &run.flushed);
    if runs.chain(flush.order.iter().map(|alone| &alone.flushed)).any(|run| run.as_plugs) {
        let message = "lines that run empty part full could not be followed: they are taken to run out \
                       with their bore full, so that times are longer than they will be";
        found.push(told("flush-as-plugs", "site", message));
    }
}

/// Water that stays within the depth to which the ground freezes once every drain has run.
fn frost(flush: &Flush, found: &mut Vec<Told>) {
    let (network, units) = (&flush.site.network, flush.site.units);
    let Some(freezes) = flush.facts.ground.frost_depth.filter(|depth| *depth > Length::ZERO) else {
        return;
    };
    let drains = asked::drains(&flush.site).len();
    let all = flush.runs.iter().find(|run| run.open.len() == drains);
    let Some(run) = all.filter(|_| flush.hoses.is_empty()) else { return };
    let flushed = &run.flushed;
    for ((line, left), top) in
        network.lines().iter().zip(&flushed.left_in_lines).zip(&flushed.tops_in_lines)
    {
        let (true, Some(top)) = (*left > Volume::ZERO, *top) else { continue };
        let holds = format!("{} stay in it when every drain has run", units.show_volume(*left));
        let Some(cover) = cover(line, top) else {
            let message = format!("{holds}; how deep under the ground is not shown");
            found.push(told("flush-frost", &line.tag, &message));
            continue;
        };
        let (outcome, words) = if cover < freezes {
            (Outcome::Caution, "it can freeze there: keep it from frost, or drain it otherwise")
        } else {
            (Outcome::Pass, "below the frost")
        };
        let message = format!(
            "{holds}, {} under the ground at the least, which freezes {} deep; {words}",
            units.show_size(cover),
            units.show_size(freezes)
        );
        found.push(Told {
            outcome,
            value: Some(cover.to_m()),
            limit: Some(freezes.to_m()),
            unit: "m",
            basis: "ground.frost_depth".to_owned(),
            ..told("flush-frost", &line.tag, &message)
        });
    }
    let downspouts = network.downspouts().iter().zip(&flushed.left_in_downspouts);
    for (downspout, left) in downspouts.filter(|(_, left)| **left > Volume::ZERO) {
        let message = format!(
            "{} stay in it when every drain has run, above its foot: keep it from frost",
            units.show_volume(*left)
        );
        found.push(told("flush-frost", &downspout.tag, &message));
    }
}

/// How deep the water of a line that stands up to `top` lies under the ground where it lies least deep.
fn cover(line: &Line, top: Length) -> Option<Length> {
    let wet = line.profile.iter().filter(|station| station.level < top);
    let covers = wet.filter_map(|station| {
        let water = top.min(station.level + line.pipe.inside);
        Some(station.ground? - water)
    });
    covers.min_by(|a, b| a.to_m().total_cmp(&b.to_m()))
}

fn told(rule: &'static str, at: &str, message: &str) -> Told {
    Told {
        rule,
        outcome: Outcome::Caution,
        at: at.to_owned(),
        value: None,
        limit: None,
        unit: "",
        message: message.to_owned(),
        basis: String::new(),
    }
}
