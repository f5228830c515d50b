//! Times a storm that passes, a doubt and a century of days beside the steady states that they are
//! made of.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::fmt::Write;
use std::num::NonZeroUsize;
use std::path::Path;
use std::time::Instant;
use wetrun_answers::{Asked, DayOrder, Days, Doubted, Settled, Storm, rain, read};
use wetrun_solver::{Prepared, Scenario};

fn main() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let file = |path: &str| std::fs::read_to_string(root.join(path)).unwrap();
    let hall = file("fixtures/ok/us-hall-six-downspouts/site.yaml");
    let street = street(150);
    // The hour around the 5 minutes of the hall's storm.
    let from = "  intensity: 5.2 in/h\n  basis: 25-year 5-minute, county rainfall table\n";
    assert!(hall.contains(from));
    let nested = hall.replace(from, "  from: rainfall\n  duration: 5 min\n  course: nested\n");
    let nested = format!(
        "{nested}\nrainfall:\n  source: county rainfall table\n  years: 25\n  depths: {{ 5 min: 0.433 in, \
         10 min: 0.67 in, 15 min: 0.84 in, 30 min: 1.19 in, 60 min: 1.53 in }}\n"
    );
    let threads = std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
    for (name, text) in [("hall", &hall), ("300 lines", &street)] {
        let nested = (name == "hall").then_some(&nested);
        let site = || read(text.as_bytes(), name).unwrap();
        let settled = Settled::new(site()).unwrap();
        let (network, scenario) = (&settled.site.network, &settled.scenario);
        let steady = median(99, || Prepared::new(network, scenario).unwrap().steady().unwrap());
        say(name, "steady state from the network", steady, None);
        // So much rain that downspouts spill, which takes a search.
        let flood = Scenario { intensity: scenario.intensity * 6.0, ..*scenario };
        let iterations = f64::from(
            Prepared::new(network, &flood).unwrap().steady().unwrap().residuals.iterations,
        );
        let mut prepared = Prepared::new(network, &flood).unwrap();
        let newton = median(99, || prepared.steady().unwrap()) / iterations;
        say(
            name,
            &format!("a Newton step of a flood's steady state, of {iterations}"),
            newton,
            None,
        );
        follow(name, "storm of 15 min", text, [steady, newton]);
        if let Some(nested) = nested {
            follow(name, "nested storm of 60 min", nested, [steady, newton]);
        }
        let asked = Asked { samples: 4096, seed: 1, threads };
        let doubt = median(3, || Doubted::new(site(), &asked).unwrap());
        say(name, &format!("doubt, 4096 samples, {threads} threads"), doubt, None);
        say(name, "a sample", doubt / 4096.0, Some(doubt / 4096.0 / steady));
    }
    let site = || read(four_tanks().as_bytes(), "four tanks").unwrap();
    let days = rain(&century(&file("crates/year/tests/data/seattle.csv")), "days", None).unwrap();
    let year = median(9, || Days::new(site(), days.clone(), DayOrder::UseLast, None).unwrap());
    // Both orders; six sizes and two steps of each tank; the roofs; each use left out; the base twice.
    let runs = 2.0 + 4.0 * 8.0 + 1.0 + 2.0 + 2.0;
    say("four tanks", "a century of days with all that is said of it", year, None);
    say("four tanks", "one run of the days", year / runs, None);
}

/// Follows a storm; beside it a steady state and a Newton step of one.
fn follow(name: &str, which: &str, text: &str, [steady, newton]: [f64; 2]) {
    let site = || read(text.as_bytes(), name).unwrap();
    let passed = Storm::new(site(), None).unwrap().passed;
    let follow = median(9, || Storm::new(site(), None).unwrap());
    say(name, &format!("{which}, {} steps", passed.steps), follow, None);
    let step = follow / f64::from(passed.steps);
    say(name, "a step", step, Some(step / steady));
    let iteration = follow / f64::from(passed.iterations);
    say(name, &format!("a Newton step of {}", passed.iterations), iteration, None);
    println!("{name}: that is {:.1} of a steady state's", iteration / newton);
}

fn say(site: &str, what: &str, seconds: f64, ratio: Option<f64>) {
    let ratio = ratio.map_or(String::new(), |ratio| format!(", {ratio:.1} steady states"));
    println!("{site}: {what}: {:.3} ms{ratio}", seconds * 1e3);
}

fn median<T>(times: usize, mut run: impl FnMut() -> T) -> f64 {
    let mut taken: Vec<f64> = (0..times)
        .map(|_| {
            let start = Instant::now();
            std::hint::black_box(run());
            start.elapsed().as_secs_f64()
        })
        .collect();
    taken.sort_by(f64::total_cmp);
    taken[times / 2]
}

/// So many downspouts on one line, which grows with what it carries.
fn street(downspouts: usize) -> String {
    let mut text = String::from(
        "wetrun: 1\nunits: si\nname: Street\nstorm: { intensity: 120 mm/h, basis: none }\nroofs:\n",
    );
    for i in 0..downspouts {
        let _ = writeln!(text, "  R{i}: {{ area: 40 m2, to: D{i} }}");
    }
    text.push_str("downspouts:\n");
    for i in 0..downspouts {
        let _ = writeln!(text, "  D{i}: {{ outlet: 9.0, foot: 1.0, pipe: pvc-sch40 3 in }}");
    }
    text.push_str("points:\n");
    for i in 0..downspouts {
        let _ = writeln!(text, "  P{i}: {{ level: 0.9 }}");
    }
    text.push_str("lines:\n");
    for i in 0..downspouts {
        let next = if i + 1 == downspouts { "T1".to_owned() } else { format!("P{}", i + 1) };
        let bore = 100.0 + 60.0 * (i as f64 + 1.0).sqrt();
        let _ = writeln!(
            text,
            "  B{i}: {{ from: D{i}, to: P{i}, length: 4 m, pipe: pvc-sch40 4 in }}\n  M{i}: {{ from: P{i}, \
             to: {next}, length: 8 m, pipe: {{ inside: {bore:.0} mm, roughness: 0.0015 mm }} }}"
        );
    }
    text.push_str(
        "tanks:\n  T1: { inlet: 5.0, floor: 1, volume: 200 m3, overflow: { level: 4.8 } }\n",
    );
    text
}

fn four_tanks() -> String {
    let mut text = String::from(
        "wetrun: 1\nunits: si\nname: Four tanks\nstorm: { intensity: 120 mm/h, basis: none }\n\
         roofs: { R: { area: 200 m2, to: D1 } }\n\
         downspouts: { D1: { outlet: 9, foot: 1, pipe: pvc-sch40 4 in } }\n\
         lines: { L1: { from: D1, to: T1, length: 20 m, pipe: pvc-sch40 4 in } }\ntanks:\n",
    );
    for i in 1..=4 {
        let to = if i < 4 { format!(", to: T{}", i + 1) } else { String::new() };
        let top = 6.0 - 0.5 * f64::from(i);
        let _ = writeln!(
            text,
            "  T{i}: {{ inlet: 6, floor: 1, volume: 9 m3, overflow: {{ level: {top}{to} }} }}"
        );
    }
    text.push_str(
        "uses:\n  house: { takes: 300 L/d, from: [T3, T4] }\n  garden: { takes: 200 L/d, from: T1 }\n",
    );
    text
}

/// The days of a file over and over, a hundred years of them.
fn century(text: &str) -> String {
    let rains: Vec<&str> = text.lines().skip(1).filter_map(|line| line.split(',').nth(1)).collect();
    let (mut year, mut month, mut day) = (1900, 1, 1);
    let mut out = String::from("date,rain_mm\n");
    for index in 0..36_525 {
        let _ = writeln!(out, "{year:04}-{month:02}-{day:02},{}", rains[index % rains.len()]);
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let long = match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            _ => 31,
        };
        day += 1;
        if day > long {
            (day, month) = (1, month + 1);
        }
        if month > 12 {
            (month, year) = (1, year + 1);
        }
    }
    out
}
