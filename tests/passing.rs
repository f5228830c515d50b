//! Water in motion against closed forms, through the front door: site file in, table of courses out.
//!
//! Local losses rule in these systems, so that the friction of a short line hardly matters; where it
//! does, it counts with the factor that stands beside the case.

use crate::support::run;
use serde_json::Value;

const G: f64 = 9.80665;

/// What became of a site: its result, and its courses by column.
pub(crate) struct Passed {
    result: Value,
    header: Vec<String>,
    rows: Vec<Vec<f64>>,
}

impl Passed {
    pub(crate) fn of(site: &str, more: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (file, table) = (folder.path().join("site.yaml"), folder.path().join("courses.csv"));
        std::fs::write(&file, site).unwrap();
        let [file, out] = [&file, &table].map(|path| path.to_str().unwrap());
        let args = ["storm", file, "--format", "json", "--series", out];
        let ran = run(&[&args, more].concat());
        assert!(ran.status < 2, "{}", ran.stderr);
        let mut reader = csv::Reader::from_path(&table).unwrap();
        let header = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows = reader
            .records()
            .map(|row| row.unwrap().iter().map(|c| c.parse().unwrap_or(f64::NAN)).collect())
            .collect();
        Self { result: serde_json::from_str(&ran.stdout).unwrap(), header, rows }
    }

    fn course(&self, name: &str) -> Vec<(f64, f64)> {
        let at = self.header.iter().position(|head| head == name).unwrap();
        self.rows.iter().map(|row| (row[0], row[at])).collect()
    }

    /// The value at a time, straight between steps.
    pub(crate) fn at(&self, name: &str, seconds: f64) -> f64 {
        let course = self.course(name);
        let pair = course.windows(2).find(|pair| pair[1].0 >= seconds).unwrap();
        let part = (seconds - pair[0].0) / (pair[1].0 - pair[0].0);
        pair[0].1 + part * (pair[1].1 - pair[0].1)
    }

    /// The first time at which a course comes to a value.
    fn reaches(&self, name: &str, value: f64) -> f64 {
        let course = self.course(name);
        let meets = |pair: &&[(f64, f64)]| (pair[0].1 < value) != (pair[1].1 < value);
        let pair = course.windows(2).find(meets).unwrap();
        pair[0].0 + (value - pair[0].1) / (pair[1].1 - pair[0].1) * (pair[1].0 - pair[0].0)
    }
}

/// Two tanks of these plan areas (m²) and start levels (m), joined under water by a line.
fn two_tanks(areas: [f64; 2], starts: [f64; 2], line: &str) -> String {
    let tank = |name: &str, area: f64, start: f64| {
        let volume = area * 10.0;
        format!(
            "  {name}: {{ inlet: 0.5, floor: 0, volume: {volume:.9} m3, overflow: {{ level: 10 }}, start: {start} }}\n"
        )
    };
    let tanks = tank("T1", areas[0], starts[0]) + &tank("T2", areas[1], starts[1]);
    // What the file must have besides, far from them and without rain.
    format!(
        "wetrun: 1\nunits: si\nname: Two tanks\nstorm: {{ intensity: 0 mm/h, basis: none }}\n\
         downspouts:\n  D1: {{ outlet: 12, foot: 1, pipe: {{ inside: 100 mm, roughness: 0.0015 mm }} }}\n\
         lines:\n  L1: {{ from: D1, to: T3, length: 1 m, pipe: {{ inside: 100 mm, roughness: 0.0015 mm }} }}\n\
         \x20 L2: {{ from: T1, to: T2, {line} }}\n\
         tanks:\n{tanks}  T3: {{ inlet: 2 }}\n"
    )
}

/// Two tanks even out through a throttled line (the orifice between two vessels of any textbook):
/// `t = 2 A1 A2/(A1 + A2) · (√H1 − √H2)/(a √(2g/ΣK))`.
#[test]
fn two_tanks_even_out() {
    let line = "length: 0.5 m, pipe: { inside: 100 mm, roughness: 0.0015 mm }, k: 50";
    let passed = Passed::of(&two_tanks([2.0, 0.8], [4.0, 2.0], line), &["--until", "20 min"]);
    // The loss of the line, that into the still water of a tank, and friction at f = 0.02.
    let k = 50.0 + 1.0 + 0.02 * 0.5 / 0.1;
    let a = std::f64::consts::FRAC_PI_4 * 0.01;
    let time = |from: f64, to: f64| {
        2.0 * 2.0 * 0.8 / 2.8 * (from.sqrt() - to.sqrt()) / (a * (2.0 * G / k).sqrt())
    };
    // Steps are long where the level's error allows it: compared where they end.
    let [one, two] = ["T1 level_m", "T2 level_m"].map(|name| passed.course(name));
    let apart = one.iter().zip(&two).map(|(one, two)| (one.0, one.1 - two.1));
    let between = |&(seconds, left): &(f64, f64)| seconds > 1.0 && left > 0.01;
    let compared: Vec<(f64, f64)> = apart.filter(between).collect();
    assert!(compared.len() >= 4, "{compared:?}");
    for (seconds, left) in compared {
        let expected = time(2.0, left);
        assert!((seconds / expected - 1.0).abs() < 5e-2 / expected + 5e-4, "{seconds} {expected}");
    }
    // In a finite time, and then nothing moves: both stand at the mean.
    let mean = (2.0 * 4.0 + 0.8 * 2.0) / 2.8;
    for tank in ["T1", "T2"] {
        let end = passed.at(&format!("{tank} level_m"), time(2.0, 0.0) * 1.5);
        assert!((end - mean).abs() < 1e-3, "{tank}: {end}");
    }
}

/// A line begins to run between two wide waters: `V = V0 tanh(t g H/(L V0))`, `V0 = √(2 g H/ΣK)`.
#[test]
fn a_line_starts_as_a_hyperbolic_tangent() {
    let line = "length: 100 m, pipe: { inside: 1000 mm, roughness: 0.0015 mm }, k: 200";
    let site = two_tanks([1e5, 1e5], [4.0, 3.5], line);
    let passed = Passed::of(&site, &["--until", "1 min"]);
    // Smooth pipe at a Reynolds number of 10^5: f = 0.018.
    let k = 200.0 + 1.0 + 0.018 * 100.0;
    let v0 = (2.0 * G * 0.5 / k).sqrt();
    let span = 100.0 * v0 / (G * 0.5);
    for part in [0.25_f64, 0.5, 1.0, 2.0, 4.0] {
        let flow = passed.at("L2 flow_m3_per_s", part * span);
        let expected = std::f64::consts::FRAC_PI_4 * v0 * part.tanh();
        assert!((flow / expected - 1.0).abs() < 4e-3, "{part}: {flow} {expected}");
    }
}

/// Water swings in a U: successive heights follow `(1 + φ) e^−φ = (1 − φ′) e^φ′`,
/// `φ = (f/D + ΣK/L) z` (Streeter and Wylie, Fluid Mechanics, oscillation with loss by V²), and a
/// whole swing takes a little more than `2π √(L/2g)`.
#[test]
fn a_swing_dies_down_by_the_square_of_its_speed() {
    let area = std::f64::consts::FRAC_PI_4 * 0.25;
    let line = "length: 20 m, pipe: { inside: 500 mm, roughness: 0.0015 mm }, k: 1.5";
    let passed = Passed::of(&two_tanks([area; 2], [6.0, 4.0], line), &["--until", "1 min"]);
    let mean = 5.0;
    let course = passed.course("T1 level_m");
    let flows = passed.course("L2 flow_m3_per_s");
    // Where the flow turns, on the cubic through two levels with their rates.
    let mut turns = vec![1.0];
    for (level, flow) in course.windows(2).zip(flows.windows(2)) {
        if (flow[0].1 > 0.0) != (flow[1].1 > 0.0) && flow[0].1 != 0.0 {
            let seconds = level[1].0 - level[0].0;
            let rates = [0, 1].map(|end: usize| -flow[end].1 / area * seconds);
            let rise = level[1].1 - level[0].1;
            let (c2, c3) =
                (3.0 * rise - 2.0 * rates[0] - rates[1], rates[0] + rates[1] - 2.0 * rise);
            let part = rates[0] / (rates[0] - rates[1]);
            turns.push((level[0].1 + part * (rates[0] + part * (c2 + part * c3)) - mean).abs());
        }
    }
    assert!(turns.len() > 5, "{turns:?}");
    // The exit into the other tank, and friction at f = 0.0145 (smooth, Re 2 to 4 · 10^5, 10 °C).
    let per_m = 0.0145 / 0.5 + (1.5 + 1.0) / 20.0;
    let next = |z: f64| {
        let phi = per_m * z;
        let wanted = (1.0 + phi) * (-phi).exp();
        let (mut low, mut high) = (0.0, 1.0_f64);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if (1.0 - middle) * middle.exp() > wanted { low = middle } else { high = middle }
        }
        low / per_m
    };
    let mut z = 1.0;
    for (turn, found) in turns.iter().enumerate().take(5).skip(1) {
        z = next(z);
        assert!((found - z).abs() < 4e-3 * z, "turn {turn}: {found} {z}");
    }
    let cross: Vec<f64> = course
        .windows(2)
        .filter(|pair| (pair[0].1 < mean) != (pair[1].1 < mean))
        .map(|pair| {
            pair[0].0 + (mean - pair[0].1) / (pair[1].1 - pair[0].1) * (pair[1].0 - pair[0].0)
        })
        .collect();
    let period = cross[4] - cross[2];
    let undamped = std::f64::consts::TAU * (20.0 / (2.0 * G)).sqrt();
    assert!((0.998..1.01).contains(&(period / undamped)), "{period} {undamped}");
}

/// A shaft fills through a resistance: `t = 2 A/c² (Q0 ln(Q0/(Q0 − c √h)) − c √h)`, `c = 1/√R`.
#[test]
fn a_shaft_fills_through_a_resistance() {
    // 3 L/s of rain on a shaft of 300 mm, through 76.2 mm with K 45 into standing water.
    let site = "
wetrun: 1
units: si
name: Shaft
storm: { intensity: 108 mm/h, basis: none, course: [{ at: 0 s, rain: 108 mm/h }, { at: 10 min, rain: 0 mm/h }] }
roofs:
  R: { area: 100 m2, runoff: 1, to: D1, lag: 0 s }
downspouts:
  D1: { outlet: 8, foot: 1, pipe: { inside: 300 mm, roughness: 0.0015 mm } }
lines:
  L1: { from: D1, to: T1, length: 0.05 m, pipe: { inside: 76.2 mm, roughness: 0.0015 mm }, k: 45 }
tanks:
  T1: { inlet: 1, overflow: { level: 3 } }
";
    let passed = Passed::of(site, &["--until", "10 min"]);
    let shaft = std::f64::consts::FRAC_PI_4 * 0.09;
    let bore = std::f64::consts::FRAC_PI_4 * 0.0762 * 0.0762;
    let resistance = (45.0 + 1.0 + 0.02 * 0.05 / 0.0762) / (2.0 * G * bore * bore);
    let (q0, c) = (3e-3, 1.0 / resistance.sqrt());
    let full = (q0 / c) * (q0 / c);
    for part in [0.25_f64, 0.5, 0.75, 0.9] {
        let h = part * full;
        let root = c * h.sqrt();
        let expected = 2.0 * shaft / (c * c) * (q0 * (q0 / (q0 - root)).ln() - root);
        let found = passed.reaches("D1 level_m", 3.0 + h);
        assert!((found / expected - 1.0).abs() < 4e-3, "{part}: {found} {expected}");
    }
    assert!((passed.at("D1 level_m", 599.0) - 3.0 - full).abs() < 2e-3 * full);
}

/// A full tank passes a nested storm on: the level pool of 4 m² with an overflow of 6 in (152.4 mm)
/// and the depths of the US weather service's table for Champaign, Illinois, 10 years, integrated by
/// a general library beforehand: highest 0.1485 m, 9.86 L/s, 9.921 m³ in all.
#[test]
fn a_full_tank_passes_a_nested_storm_on() {
    let site = "
wetrun: 1
units: si
name: Pool
rainfall:
  source: 'US weather service, Champaign, 10 years'
  years: 10
  depths: { 5 min: 0.647 in, 10 min: 0.999 in, 15 min: 1.23 in, 30 min: 1.71 in, 60 min: 2.17 in }
storm: { from: rainfall, duration: 5 min, course: nested }
roofs:
  R: { area: 180 m2, runoff: 1, to: D1, lag: 0 s }
downspouts:
  D1: { outlet: 9, foot: 5, pipe: { inside: 152.4 mm, roughness: 0.0015 mm } }
lines:
  L1: { from: D1, to: T1, length: 0.2 m, pipe: { inside: 300 mm, roughness: 0.0015 mm } }
tanks:
  T1: { inlet: 6, floor: 1, volume: 12 m3, overflow: { level: 4, pipe: { inside: 152.4 mm, roughness: 0.0015 mm } } }
";
    let passed = Passed::of(site, &[]);
    let number = |path: &str| passed.result.pointer(path).and_then(Value::as_f64).unwrap();
    let rain = number("/totals/rain_m3");
    assert!((rain - 0.055118 * 180.0).abs() < 1e-3, "{rain}");
    let peak = number("/tanks/T1/peak_level_m") - 4.0;
    assert!((peak - 0.14845).abs() < 1e-3, "{peak}");
    let most = passed.course("T1 overflow_m3_per_s").iter().map(|row| row.1).fold(0.0, f64::max);
    assert!((most - 9.858e-3).abs() < 2e-5, "{most}");
    // At the end of the heaviest block.
    let course = passed.course("T1 level_m");
    let top = course.iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    assert!((top.0 - 1800.0).abs() < 1.0, "{top:?}");
}

/// A bucket of wetting: of 0.4 mm nothing runs off, of 10.9 mm what is above 0.5 mm.
#[test]
fn the_first_rain_wets_the_roofs() {
    for (depth, runs) in [(0.4, 0.0), (10.9, 10.4)] {
        let site = format!(
            "wetrun: 1\nunits: si\nname: Wet\nstorm: {{ intensity: 60 mm/h, basis: none, wetting: 0.5 mm, \
             course: [{{ at: 0 s, rain: {:.9} mm/h }}, {{ at: 10 min, rain: 0 mm/h }}] }}\n\
             roofs: {{ R: {{ area: 100 m2, runoff: 1, to: D1 }} }}\n\
             downspouts: {{ D1: {{ outlet: 3, foot: 1, pipe: pvc-sch40 4 in }} }}\n\
             lines: {{ L1: {{ from: D1, to: T1, length: 5 m, pipe: pvc-sch40 4 in }} }}\n\
             tanks: {{ T1: {{ inlet: 2 }} }}\n",
            depth * 6.0
        );
        let passed = Passed::of(&site, &[]);
        let m3 = |key: &str| passed.result["totals"][key].as_f64().unwrap();
        assert!((m3("runoff_m3") - runs * 0.1).abs() < 1e-9, "{depth}: {}", m3("runoff_m3"));
        assert!((m3("wetted_m3") - (depth - runs) * 0.1).abs() < 1e-9);
    }
}
