//! What the owner is told in sentences: how to open a cleanout, what to look at when a gutter runs
//! over, and what to beware of. Only what this site has is spoken of.

use super::upkeep::shut_first;
use crate::solved::Solved;
use wetrun_checks::Stated;
use wetrun_network::PointId;
use wetrun_sheet::OwnerText;

/// The sections of the owner's page.
pub(super) fn texts(solved: &Solved) -> Vec<OwnerText> {
    [full(solved), cleanouts(solved), runs_over(solved)].into_iter().flatten().collect()
}

/// Up to where the pipes stand full.
fn full(solved: &Solved) -> Option<OwnerText> {
    let units = solved.site.units;
    let points = (0..solved.steady.points.len()).map(PointId::new);
    let highest = points.filter_map(|id| solved.steady.rest.point(id));
    let highest = highest.max_by(|a, b| a.to_m().total_cmp(&b.to_m()));
    let level = highest.map_or(String::new(), |l| format!(", at {}", units.show_level(l)));
    let words = format!(
        "The pipes under your ground stay full of water between storms{level} by the levels of these sheets. Rain lifts the water in the downspouts, and that pushes it up into the tank; there is no pump."
    );
    Some(OwnerText { heading: String::new(), lines: vec![words] })
}

/// How a cleanout under water is opened, and what is closed again when.
fn cleanouts(solved: &Solved) -> Option<OwnerText> {
    let under = under_water(solved);
    if under.is_empty() {
        return None;
    }
    let drains: Vec<&str> = drains(solved);
    let mut lines = vec![format!(
        "Water stands in the pipe above {}: a cap that is opened there lets it out with force, and the line runs empty into the ground. Choose a dry day.",
        words_of(&under)
    )];
    if drains.is_empty() {
        lines.push(
            "First empty the line. No drain is shown on this site: ask whoever looks after it how, and open no cap before.".to_owned(),
        );
    } else {
        let alone = solved.drains_alone().and_then(|alone| alone.first());
        let shut = alone.and_then(|alone| shut_first(solved, alone));
        let open = if shut.is_some() { "Then open" } else { "First open" };
        lines.extend(shut);
        lines.push(format!(
            "{open} the drain at {} slowly, and stand clear of where it runs out{}. Wait until nothing more comes.",
            words_of(&drains),
            outlets(solved)
        ));
    }
    lines.push(
        "Then loosen the cap a little, with your face away from it, and wait. Take it off when no water comes.".to_owned(),
    );
    let close =
        if drains.is_empty() { "Close every cap" } else { "Close every cap, then the drain" };
    lines.push(format!(
        "{close}, watertight, before the next rain: what is left open lets the roof's water out there. Look again in the first rain that nothing drips."
    ));
    Some(OwnerText { heading: "Before you open a cleanout".to_owned(), lines })
}

/// Cleanouts that the water stands over between storms; a foot stands lowest of all.
fn under_water(solved: &Solved) -> Vec<&str> {
    let (network, facts) = (&solved.site.network, &solved.facts);
    let points = network.points().iter().enumerate().filter(|(index, point)| {
        let rest = solved.steady.rest.point(PointId::new(*index));
        let cap = facts.points[*index].cap.unwrap_or(point.level);
        point.cleanout && rest.is_some_and(|rest| rest > cap)
    });
    let feet = network.downspouts().iter().zip(&facts.downspouts);
    let feet = feet.filter(|(_, shown)| shown.cleanout == Some(true));
    let points = points.map(|(_, point)| point.tag.as_str());
    points.chain(feet.map(|(downspout, _)| downspout.tag.as_str())).collect()
}

fn drains(solved: &Solved) -> Vec<&str> {
    let points = solved.site.network.points().iter();
    points.filter(|p| p.drain.is_some()).map(|p| p.tag.as_str()).collect()
}

/// Where drains run out to, as far as the file says.
fn outlets(solved: &Solved) -> String {
    let to = |shown: &wetrun_checks::PointFacts| match shown.drain_outlet.as_ref()?.to.as_ref()? {
        Stated::Yes(to) => Some(to.clone()),
        Stated::No => None,
    };
    let mut said: Vec<String> = Vec::new();
    for to in solved.facts.points.iter().filter_map(to) {
        if !said.contains(&to) {
            said.push(to);
        }
    }
    if said.is_empty() { String::new() } else { format!(" ({})", said.join(", ")) }
}

/// What to look at first, in this order.
fn runs_over(solved: &Solved) -> Option<OwnerText> {
    let (site, facts) = (&solved.site, &solved.facts);
    let network = &site.network;
    if network.downspouts().is_empty() {
        return None;
    }
    let heads = network.downspouts().iter().any(|d| d.leaf_head.is_some());
    let screens = facts.downspouts.iter().any(|d| d.screen.is_some());
    let tops = match (heads, screens) {
        (true, true) => "the gutter, its outlet, the screen and the leaf head",
        (true, false) => "the gutter, its outlet and the leaf head",
        (false, true) => "the gutter, its outlet and the screen",
        (false, false) => "the gutter and its outlet",
    };
    let mut lines = vec![
        "Wait until the rain is over; nobody goes up a ladder in a storm.".to_owned(),
        format!("1. Look for leaves in {tops}. That is the usual cause."),
        "2. At the tank see that the inlet is clean, and that the overflow runs free.".to_owned(),
    ];
    let mut next = 3;
    if facts.points.iter().any(|p| p.vent.is_some()) {
        lines.push(format!(
            "{next}. See that the vent is not plugged: air in the line holds the water up."
        ));
        next += 1;
    }
    if drains(solved).is_empty() {
        lines.push(format!("{next}. Silt may lie in the line: have it flushed."));
    } else {
        lines.push(format!("{next}. Silt may lie in the line: flush it out through the drain."));
    }
    let rains = solved.spill_rains.downspouts.iter().flatten().copied();
    if let Some(least) = rains.min_by(|a, b| a.to_m_per_s().total_cmp(&b.to_m_per_s())) {
        lines.push(format!(
            "It was designed for a rain of {}. In more than {} it runs over even when all is clean.",
            site.units.show_intensity(solved.scenario.intensity),
            site.units.show_intensity(least)
        ));
    }
    Some(OwnerText { heading: "When a gutter runs over".to_owned(), lines })
}

/// What the owner should beware of.
pub(super) fn cautions(solved: &Solved) -> Vec<String> {
    let facts = &solved.facts;
    let mut cautions = vec![
        "Never enter a tank, nor lean in. The air in it may not keep you alive, and those who go in to help die too.",
        "Keep the lids of the tanks locked or screwed down, and caps closed; children drown in little water. Keep them away from where water runs out in a storm.",
        "A fall from a ladder kills. Set it on firm level ground, have it tied or held, stay off it in wind and rain and near overhead wires; leave high gutters to somebody with the gear for it.",
        "This water is not for drinking unless it is treated and approved for that, and no pipe or hose may join it to drinking water. A supply that tops the tank up is a licensed plumber's work.",
        "Keep electric cords and tools on protected circuits and out of standing water.",
        "Before anybody digs here, show them these sheets and have buried services located: electric, gas, water, sewer, telephone. Trenches collapse without warning.",
    ];
    if facts.tanks.iter().any(|tank| tank.buried == Some(true)) {
        cautions.push("An empty buried tank can float in wet ground. Do not empty it while the ground water is high.");
    }
    cautions.push(
        "The local code and a licensed professional decide. This page decides nothing by itself.",
    );
    cautions.into_iter().map(str::to_owned).collect()
}

/// `P1`, `P1 and P2`, `P1, P2 and P3`.
fn words_of(tags: &[&str]) -> String {
    match tags {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}
