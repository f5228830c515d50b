//! Random site files: what a drawing office might hand in, good and bad, from a seed.

use std::fmt::Write;

#[path = "dice.rs"]
mod dice;

pub(crate) use dice::Dice;

/// What a random site may have besides plain trees to one tank.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Kinds {
    /// Pipes whose size is open.
    pub(crate) open: bool,
    /// A second way round.
    pub(crate) loops: bool,
    /// Facts that only the review asks for.
    pub(crate) facts: bool,
}

/// A site file. A chain of points runs from the far end to the first tank; each has a downspout on a
/// branch. Levels lie so that about half of the sites hold.
pub(crate) fn site(seed: u64, kinds: Kinds) -> String {
    let mut dice = Dice::new(seed);
    let downspouts = 1 + dice.below(5);
    let tanks = 1 + dice.below(3);
    let inlet_m = 12.0;
    let mut out = String::new();
    let add = |out: &mut String, line: String| {
        let _ = writeln!(out, "{line}");
    };
    add(&mut out, format!("wetrun: 1\nname: Shed {seed}\nunits: si"));
    add(&mut out, "datum: yard drain = 10.000 m".to_owned());
    let rain = dice.between(60.0, 260.0);
    add(&mut out, format!("storm: {{ intensity: {rain:.1} mm/h, basis: \"25-year 5-minute\" }}"));
    if dice.chance(0.3) {
        let limit = dice.between(10.0, 200.0);
        add(
            &mut out,
            format!("rules: {{ freeboard: {{ limit: {limit:.0} mm, reason: agreed }} }}"),
        );
    } else if dice.chance(0.5) {
        add(&mut out, format!("targets: {{ freeboard: {:.0} mm }}", dice.between(10.0, 200.0)));
    }
    add(&mut out, "roofs:".to_owned());
    for d in 1..=downspouts {
        let area = dice.between(20.0, 90.0);
        add(&mut out, format!("  R{d}: {{ area: {area:.1} m2, to: D{d} }}"));
    }
    let gutter = dice.chance(0.5);
    if gutter {
        let width = dice.pick(&["125", "150", "180"]);
        let length = dice.between(4.0, 14.0);
        add(
            &mut out,
            format!(
                "gutters:\n  G1: {{ shape: half-round, width: {width} mm, slope: 1:300, length: {length:.1} m }}"
            ),
        );
    }
    add(&mut out, "downspouts:".to_owned());
    let pipe = |dice: &mut Dice, open: bool, small: bool| {
        if open && dice.chance(0.6) {
            return "{ type: pvc-en1401-sn4, size: any }".to_owned();
        }
        let sizes: &[&str] =
            if small { &["110 mm", "125 mm"] } else { &["110 mm", "125 mm", "160 mm", "200 mm"] };
        format!("pvc-en1401-sn4 {}", dice.pick(sizes))
    };
    for d in 1..=downspouts {
        let outlet = inlet_m + dice.between(0.25, 1.6);
        let lip = outlet + dice.between(0.0, 0.09);
        let own = pipe(&mut dice, false, true);
        let mut keys = format!("outlet: {outlet:.3} m, lip: {lip:.3} m, foot: 9.6 m, pipe: {own}");
        if dice.chance(0.2) {
            let rim = outlet - dice.between(0.1, 0.6);
            let _ = write!(keys, ", leaf_head: {rim:.3} m");
        }
        if gutter && dice.chance(0.7) {
            keys.push_str(", gutter: G1");
        }
        if kinds.facts {
            facts_of_a_downspout(&mut dice, &mut keys);
        }
        add(&mut out, format!("  D{d}: {{ {keys} }}"));
    }
    add(&mut out, "points:".to_owned());
    for d in 1..=downspouts {
        let level = 9.5 - 0.05 * d as f64;
        let mut keys = format!("level: {level:.3} m");
        if kinds.facts || dice.chance(0.5) {
            let _ = write!(keys, ", ground: {:.2} m", dice.between(10.1, 10.6));
        }
        if downspouts > 1 && d > 1 && dice.chance(0.3) {
            let _ = write!(keys, ", fitting: {}, branch: B{d}", dice.pick(&["wye", "tee"]));
        }
        if dice.chance(0.25) {
            let _ = write!(keys, ", vent: {{ level: {:.2} m }}", dice.between(11.6, 14.0));
        }
        if dice.chance(0.25) {
            keys.push_str(", cleanout: yes");
            if dice.chance(0.6) {
                let cap = match dice.chance(0.6) {
                    true => "sealed".to_owned(),
                    false => format!("{:.2} m", dice.between(11.6, 13.5)),
                };
                let _ = write!(keys, ", cap: {cap}");
            }
        }
        if d == downspouts && dice.chance(0.5) {
            let _ = write!(keys, ", drain: {} mm", dice.pick(&["25", "50", "75"]));
        }
        add(&mut out, format!("  P{d}: {{ {keys} }}"));
    }
    add(&mut out, "lines:".to_owned());
    for d in 1..=downspouts {
        let fittings = dice.pick(&["", ", fittings: { bend-90: 1 }", ", fittings: { bend-45: 2 }"]);
        let length = dice.between(1.0, 8.0);
        let branch = pipe(&mut dice, kinds.open, true);
        add(
            &mut out,
            format!(
                "  B{d}: {{ from: D{d}, to: P{d}, pipe: {branch}, length: {length:.1} m{fittings} }}"
            ),
        );
        let to = if d < downspouts { format!("P{}", d + 1) } else { "T1".to_owned() };
        let length = dice.between(2.0, 25.0);
        let trunk = pipe(&mut dice, kinds.open, false);
        add(
            &mut out,
            format!("  L{d}: {{ from: P{d}, to: {to}, pipe: {trunk}, length: {length:.1} m }}"),
        );
    }
    if kinds.loops && downspouts > 2 && !out.contains("fitting:") {
        let round = pipe(&mut dice, kinds.open, false);
        let (from, to) = (1, downspouts);
        add(&mut out, format!("  X1: {{ from: P{from}, to: P{to}, pipe: {round}, length: 20 m }}"));
    }
    add(&mut out, "tanks:".to_owned());
    for t in 1..=tanks {
        let inlet = inlet_m - 0.5 * (t - 1) as f64;
        let overflow = inlet - dice.between(-0.1, 0.3);
        let mut over = format!("level: {overflow:.3} m");
        if dice.chance(0.8) {
            let size = dice.pick(&["110 mm", "160 mm"]);
            let _ = write!(over, ", pipe: pvc-en1401-sn4 {size}");
        }
        if t < tanks {
            let _ = write!(over, ", to: T{}", t + 1);
        }
        let mut keys =
            format!("inlet: {inlet:.3} m, overflow: {{ {over} }}, floor: 9.9 m, volume: 5 m3");
        if dice.chance(0.6) {
            let rim = inlet.max(overflow) + dice.between(0.05, 0.6);
            let _ = write!(keys, ", rim: {rim:.2} m");
        }
        if kinds.facts {
            facts_of_a_tank(&mut dice, &mut keys);
        }
        add(&mut out, format!("  T{t}: {{ {keys} }}"));
    }
    if kinds.facts {
        facts_of_the_site(&mut dice, &mut out);
    }
    out
}

fn facts_of_a_downspout(dice: &mut Dice, keys: &mut String) {
    if dice.chance(0.7) {
        let _ = write!(keys, ", ground: {:.2} m", dice.between(10.1, 10.6));
    }
    if dice.chance(0.5) {
        let _ = write!(keys, ", watertight_to: {:.2} m", dice.between(11.5, 14.0));
    }
    if dice.chance(0.5) {
        let _ = write!(keys, ", cleanout: {}", dice.pick(&["yes", "no"]));
    }
    if dice.chance(0.5) {
        let mesh = dice.between(0.5, 3.0);
        let _ = write!(keys, ", leaf_mesh: 6 mm, insect_mesh: {mesh:.1} mm");
    }
    if dice.chance(0.3) {
        let _ = write!(keys, ", screen: {{ open: {:.0} % }}", dice.between(20.0, 90.0));
    }
    if dice.chance(0.3) {
        let _ = write!(keys, ", frost: \"{}\"", dice.pick(&["lagged", "TBD", "none"]));
    }
}

fn facts_of_a_tank(dice: &mut Dice, keys: &mut String) {
    if dice.chance(0.6) {
        let _ = write!(keys, ", ground: {:.2} m", dice.between(9.9, 10.4));
    }
    if dice.chance(0.5) {
        keys.push_str(", inlet_mesh: 1 mm, overflow_mesh: 1 mm");
    }
    if dice.chance(0.4) {
        let _ = write!(keys, ", overflow_distance: {:.1} m", dice.between(0.2, 6.0));
    }
    if dice.chance(0.5) {
        let _ = write!(keys, ", access: \"{}\"", dice.pick(&["locked lid", "to follow", "no"]));
    }
    if dice.chance(0.5) {
        let _ = write!(keys, ", base: \"{}\"", dice.pick(&["concrete slab", "?"]));
    }
}

fn facts_of_the_site(dice: &mut Dice, out: &mut String) {
    let _ = writeln!(out, "benchmarks: {{ BM1: {{ level: 10.000 m, at: yard drain }} }}");
    if dice.chance(0.6) {
        let depth = dice.between(0.0, 0.9);
        let _ = writeln!(out, "ground: {{ frost_depth: {depth:.2} m, services: located by scan }}");
    }
    if dice.chance(0.5) {
        let level = dice.between(11.0, 14.0);
        let _ = writeln!(
            out,
            "test: {{ medium: water, level: {level:.2} m, duration: {} min }}",
            dice.pick(&["10", "15", "30"])
        );
    }
    if dice.chance(0.6) {
        let _ = writeln!(
            out,
            "documents: {{ wet_condition: \"{}\", hold_point: \"{}\", manual: \"{}\" }}",
            dice.pick(&["stands full, note 3", "TBD", "no"]),
            dice.pick(&["before backfill, building officer", "unknown"]),
            dice.pick(&["in the set", "to follow", "none"])
        );
    }
    if dice.chance(0.6) {
        let _ = writeln!(out, "ordinary_rain: {:.1} mm/h", dice.between(4.0, 40.0));
    }
    if dice.chance(0.4) {
        let [opening, inlet] = [0, 0].map(|_| dice.between(2.0, 20.0));
        let _ = writeln!(out, "tolerances: {{ opening: {opening:.0} mm, inlet: {inlet:.0} mm }}");
    }
    if dice.chance(0.5) && !out.contains("documents:") {
        let difference = dice.between(0.2, 1.2);
        let _ = writeln!(out, "documents: {{ authority_difference: {difference:.2} m }}");
    }
    // The one drain that there may be is at the last point.
    if out.contains(", drain: ") && dice.chance(0.8) {
        let downspouts = out.matches("to: D").count();
        let level = 9.5 - 0.05 * downspouts as f64 - dice.between(0.02, 0.5);
        let outlet = format!(", drain_outlet: {{ level: {level:.3} m, to: ditch }}, drain: ");
        *out = out.replace(", drain: ", &outlet);
    }
}
