//! Limits set into the text of a site file: read again and solved, they turn the verdict.
//!
//! Random sites are written as site files; what moves with a level is what the reader of the
//! file makes of it, not what the search for limits does.

use crate::sites::{FREEBOARD, any, count};
use std::fmt::Write;
use wetrun_design::levels::{Drawn, SetPoint, schedule};
use wetrun_network::{End, LineEnd, Parts, Pipe};
use wetrun_solver::{FrictionLaw, TankState};
use wetrun_units::{Length, UnitSystem};

/// Rain in the file, in m/s; the networks' own is a metre a second on as many square metres.
const RAIN: f64 = 0.01;

fn pipe(pipe: &Pipe) -> String {
    format!("{{ inside: {:?} m, roughness: 0.0015 mm, c: 150 }}", pipe.inside.to_m())
}

/// The site as a file; `moves` are put in as a person would: the lip with its outlet.
fn file(drawn: &Drawn, moved: Option<(SetPoint, Length)>) -> String {
    let parts = drawn.network.to_parts();
    let tag = |end: End| match end {
        End::Downspout(id) => parts.downspouts[id.index()].tag.clone(),
        End::Point(id) => parts.points[id.index()].tag.clone(),
        End::Tank(id) => parts.tanks[id.index()].tag.clone(),
    };
    let level = |s: SetPoint| match moved {
        Some((of, to)) if of == s => to.to_m(),
        _ => drawn.level(s).to_m(),
    };
    let node = |end: End| match end {
        End::Downspout(id) => level(SetPoint::Foot(id)),
        End::Point(id) => level(SetPoint::Point(id)),
        End::Tank(id) => level(SetPoint::Inlet(id)),
    };
    let mut text = String::from("wetrun: 1\nname: random\nunits: si\n");
    let law = match drawn.scenario.law {
        FrictionLaw::DarcyWeisbach => "darcy-weisbach",
        FrictionLaw::HazenWilliams => "hazen-williams",
    };
    let tanks = if drawn.scenario.tanks == TankState::Full { "full" } else { "empty" };
    let warm = drawn.scenario.temperature.to_celsius();
    writeln!(text, "losses: {law}\nwater: {{ temperature: {warm:?} C }}").unwrap();
    writeln!(text, "storm: {{ intensity: {:?} mm/h, tanks: {tanks} }}", RAIN * 3.6e6).unwrap();
    writeln!(text, "targets: {{ freeboard: {:?} m }}", FREEBOARD.to_m()).unwrap();
    text.push_str("roofs:\n");
    for d in parts.downspouts.iter().filter(|d| d.catchment.to_m2() > 0.0) {
        let area = d.catchment.to_m2() / RAIN;
        writeln!(text, "  roof-{0}: {{ area: {area:?} m2, to: {0} }}", d.tag).unwrap();
    }
    text.push_str("downspouts:\n");
    for (index, d) in parts.downspouts.iter().enumerate() {
        let id = wetrun_network::DownspoutId::new(index);
        let (opening, foot) = (level(SetPoint::Opening(id)), level(SetPoint::Foot(id)));
        let levels = match d.leaf_head {
            Some(_) => format!(
                "outlet: {:?} m, lip: {:?} m, leaf_head: {opening:?} m",
                d.outlet.to_m(),
                d.lip.to_m()
            ),
            None => {
                let lip = opening + (d.lip - d.outlet).to_m();
                format!("outlet: {opening:?} m, lip: {lip:?} m")
            }
        };
        let (own, k) = (pipe(&d.pipe), d.k);
        writeln!(text, "  {}: {{ {levels}, foot: {foot:?} m, pipe: {own}, k: {k:?} }}", d.tag)
            .unwrap();
    }
    text.push_str("points:\n");
    for (index, p) in parts.points.iter().enumerate() {
        let id = wetrun_network::PointId::new(index);
        let at = level(SetPoint::Point(id));
        let levels = drawn.points[index];
        let vent = levels.vent.map(|_| format!("{:?}", level(SetPoint::Vent(id))));
        let vent = vent.map_or(String::new(), |v| format!(", vent: {{ level: {v} m }}"));
        let cap = levels.cap.map(|_| format!("{:?}", level(SetPoint::Cap(id))));
        let cap = cap.map_or(String::new(), |c| format!(", cleanout: yes, cap: {c} m"));
        let fitting = p.fitting.map_or(String::new(), |j| {
            let kind = match j.kind {
                wetrun_network::JunctionKind::Wye => "wye",
                wetrun_network::JunctionKind::Tee => "tee",
            };
            format!(", fitting: {kind}, branch: {}", parts.lines[j.branch.index()].tag)
        });
        writeln!(text, "  {}: {{ level: {at:?} m{fitting}{vent}{cap} }}", p.tag).unwrap();
    }
    text.push_str("lines:\n");
    for (index, l) in parts.lines.iter().enumerate() {
        let id = wetrun_network::LineId::new(index);
        let own = drawn.own_ends[index];
        let ends = [
            if own[0] { level(SetPoint::End(id, LineEnd::From)) } else { node(l.from) },
            if own[1] { level(SetPoint::End(id, LineEnd::To)) } else { node(l.to) },
        ];
        write!(
            text,
            "  {}: {{ from: {}, to: {}, pipe: {}, length: {:?} m, k: {:?}",
            l.tag,
            tag(l.from),
            tag(l.to),
            pipe(&l.pipe),
            l.length.to_m(),
            l.k
        )
        .unwrap();
        for (own, key, level) in [(own[0], "from_level", ends[0]), (own[1], "to_level", ends[1])] {
            if own {
                write!(text, ", {key}: {level:?} m").unwrap();
            }
        }
        let last = l.profile.len() - 1;
        if last > 1 {
            text.push_str(", profile: [");
            for (i, s) in l.profile.iter().enumerate() {
                let level = match i {
                    0 => ends[0],
                    i if i == last => ends[1],
                    i => level(SetPoint::Station(id, i)),
                };
                write!(text, "{{ at: {:?} m, level: {level:?} m }}, ", s.at.to_m()).unwrap();
            }
            text.push(']');
        }
        text.push_str(" }\n");
    }
    text.push_str("tanks:\n");
    for (index, t) in parts.tanks.iter().enumerate() {
        let id = wetrun_network::TankId::new(index);
        write!(text, "  {}: {{ inlet: {:?} m", t.tag, level(SetPoint::Inlet(id))).unwrap();
        if let Some(o) = &t.overflow {
            let at = level(SetPoint::Overflow(id));
            let to = o.to.map_or("ground".to_owned(), |to| parts.tanks[to.index()].tag.clone());
            let own = o.pipe.as_ref().map_or(String::new(), |p| format!(", pipe: {}", pipe(p)));
            write!(text, ", overflow: {{ level: {at:?} m, to: {to}, k: {:?}{own} }}", o.k).unwrap();
        }
        if let Some(rim) = t.rim {
            write!(text, ", rim: {:?} m", rim.to_m()).unwrap();
        }
        text.push_str(" }\n");
    }
    text
}

/// Whether the file passes: every freeboard kept, nothing spilled, nothing let out.
fn passes(drawn: &Drawn, text: &str) -> bool {
    let site = wetrun_site::read(text, "random.yaml").unwrap_or_else(|e| panic!("{e}\n{text}"));
    let scenario = wetrun_solver::Scenario {
        intensity: site.storm.intensity,
        temperature: site.water_temperature,
        ..drawn.scenario
    };
    let steady = wetrun_solver::solve(&site.network, &scenario).unwrap();
    let total: f64 = steady.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let none = |flow: wetrun_units::Flow| flow.to_m3_per_s() <= 1e-8 * total.max(1e-4);
    steady
        .downspouts
        .iter()
        .all(|d| d.headroom.to_m() >= FREEBOARD.to_m() - 1e-9 && none(d.spilled))
        && steady.openings.iter().all(|o| none(o.escapes))
        && steady.tanks.iter().all(|t| none(t.over_rim))
}

/// A wye or tee joins exactly three lines in the file; the random networks' do too.
fn writable(parts: &Parts) -> bool {
    parts.lines.iter().all(|l| l.from != l.to)
}

#[test]
fn limits_set_into_the_text_of_a_file_turn_the_verdict() {
    let (mut sites, mut limits, mut seed) = (0, 0, 0);
    while sites < count(25, 200) {
        seed += 1;
        let Some(drawn) = any(seed).filter(|d| writable(&d.network.to_parts())) else { continue };
        let Ok(schedule) = schedule(&drawn, &[], UnitSystem::Si) else { continue };
        sites += 1;
        assert!(passes(&drawn, &file(&drawn, None)), "seed {seed}");
        for one in &schedule.set_points {
            for (limit, outward) in [(one.lowest, -1.0), (one.highest, 1.0)] {
                let Some(limit) = limit else { continue };
                limits += 1;
                for (move_m, holds) in [(-0.0005, true), (0.0005, false)] {
                    let to = limit + Length::m(outward * move_m);
                    let in_reach = (limit - one.level).to_m().abs() > 0.0005;
                    if holds && !in_reach {
                        continue;
                    }
                    let text = file(&drawn, Some((one.set_point, to)));
                    assert_eq!(passes(&drawn, &text), holds, "seed {seed} {:?}", one.set_point);
                }
            }
        }
    }
    assert!(limits as u64 > 4 * sites, "{limits} limits on {sites} sites");
}
