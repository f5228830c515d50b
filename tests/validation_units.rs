//! The same job written in feet and in metres gives the same result through the front door.

use serde_json::Value;

use crate::support::run;

/// A hand that writes values in one unit system, by the exact foot and inch.
#[derive(Clone, Copy)]
struct Hand {
    us: bool,
}

impl Hand {
    fn write(self, si: f64, us: (f64, &str), metric: (f64, &str)) -> String {
        let (factor, unit) = if self.us { us } else { metric };
        format!("{} {unit}", si / factor)
    }

    fn m(self, m: f64) -> String {
        self.write(m, (0.3048, "ft"), (1.0, "m"))
    }

    fn bore(self, m: f64) -> String {
        self.write(m, (0.0254, "in"), (0.001, "mm"))
    }

    fn area(self, m2: f64) -> String {
        self.write(m2, (0.3048 * 0.3048, "sq ft"), (1.0, "m2"))
    }

    fn rain(self, m_per_s: f64) -> String {
        self.write(m_per_s, (0.0254 / 3600.0, "in/h"), (0.001 / 3600.0, "mm/h"))
    }

    fn site(self, v: &[f64], law: &str, full: bool) -> String {
        let pipe = |bore: f64| {
            let (bore, wall) = (self.bore(bore), self.bore(1.5e-6));
            format!("{{ inside: {bore}, roughness: {wall}, c: 150 }}")
        };
        let [rain, area, drop, bore, length, inlet, over, temperature] = v else { panic!() };
        let units = if self.us { "us" } else { "si" };
        let water = if self.us {
            format!("{} F", temperature * 1.8 + 32.0)
        } else {
            format!("{temperature} C")
        };
        format!(
            "wetrun: 1\nname: Twins\nunits: {units}\nwater: {{ temperature: {water} }}\n\
             losses: {law}\nstorm: {{ intensity: {rain}, tanks: {tanks} }}\n\
             roofs:\n  R: {{ area: {area}, to: D1 }}\n  S: {{ area: {area}, to: {{ D2: 60 %, D3: 40 % }} }}\n\
             downspouts:\n\
             \x20 D1: {{ outlet: {outlet}, foot: {foot}, pipe: {wide} }}\n\
             \x20 D2: {{ outlet: {outlet}, lip: {lip}, foot: {foot}, pipe: {wide} }}\n\
             \x20 D3: {{ outlet: {low}, foot: {foot}, pipe: {wide} }}\n\
             points:\n  W: {{ level: {deep}, fitting: wye, branch: B }}\n  P: {{ level: {deep} }}\n\
             lines:\n\
             \x20 A: {{ from: D1, to: W, pipe: {narrow}, length: {length}, k: 0.5 }}\n\
             \x20 B: {{ from: D2, to: W, pipe: {narrow}, length: {short} }}\n\
             \x20 C: {{ from: W, to: P, pipe: {wide}, length: {length}, fittings: {{ bend-45: 2 }} }}\n\
             \x20 E: {{ from: D3, to: P, pipe: {narrow}, length: {short} }}\n\
             \x20 F: {{ from: P, to: T1, pipe: {wide}, length: {length} }}\n\
             \x20 G: {{ from: P, to: T2, pipe: {narrow}, length: {length} }}\n\
             tanks:\n\
             \x20 T1: {{ inlet: {inlet}, overflow: {{ level: {over}, pipe: {wide}, to: T2 }} }}\n\
             \x20 T2: {{ inlet: {inlet2}, overflow: {{ level: {over2}, pipe: {wide} }} }}\n",
            tanks = if full { "full" } else { "empty" },
            rain = self.rain(*rain),
            area = self.area(*area),
            outlet = self.m(inlet + drop),
            lip = self.m(inlet + drop + 0.05),
            low = self.m(inlet + 0.5 * drop),
            foot = self.m(0.2),
            deep = self.m(-0.3),
            wide = pipe(*bore),
            narrow = pipe(bore * 0.8),
            length = self.m(*length),
            short = self.m(length * 0.25),
            inlet = self.m(*inlet),
            over = self.m(inlet + over),
            inlet2 = self.m(inlet - 0.4),
            over2 = self.m(inlet - 0.4 + over),
        )
    }
}

fn result(site: &str) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("site.yaml");
    std::fs::write(&file, site).unwrap();
    let ran = run(&["check", file.to_str().unwrap(), "--format", "json"]);
    assert!(ran.status <= 1, "{site}\n{}", ran.stderr);
    let mut result: Value = serde_json::from_str(&ran.stdout).unwrap();
    // Messages speak in the units of the site, and the steps of the search may differ.
    result.as_object_mut().unwrap().remove("solve");
    for finding in result["findings"].as_array_mut().unwrap() {
        finding.as_object_mut().unwrap().remove("message");
        finding.as_object_mut().unwrap().remove("basis");
    }
    result
}

/// Where two results differ by more than 1e-9 of the number, or of 1.
fn differ(at: &str, a: &Value, b: &Value) -> Option<String> {
    match (a, b) {
        (Value::Object(a), Value::Object(b)) if a.keys().eq(b.keys()) => {
            a.iter().find_map(|(key, value)| differ(&format!("{at}/{key}"), value, &b[key]))
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).find_map(|(a, b)| differ(at, a, b))
        }
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap(), y.as_f64().unwrap());
            // Spill rains are stated to 0.1 %.
            let within = if at.ends_with("spills_at_m_per_s") { 2e-3 * x } else { 1e-9 };
            ((x - y).abs() > within * x.abs().max(1.0)).then(|| format!("{at}: {x} {y}"))
        }
        (a, b) => (a != b).then(|| format!("{at}: {a} {b}")),
    }
}

/// Two dozen jobs of every size that a house has, from a small generator of its own.
#[test]
fn feet_and_metres_are_one_job() {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut between = |low: f64, high: f64| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        low + (high - low) * ((state >> 11) as f64 / (1_u64 << 53) as f64)
    };
    for job in 0..24 {
        let values = [
            between(0.0, 8e-5),
            between(20.0, 120.0),
            between(0.3, 2.0),
            between(0.06, 0.16),
            between(2.0, 30.0),
            between(1.5, 2.5),
            between(-0.3, 0.2),
            between(1.0, 35.0),
        ];
        let law = if job % 2 == 0 { "hazen-williams" } else { "darcy-weisbach" };
        let full = job % 4 < 2;
        let [feet, metres] = [true, false].map(|us| result(&Hand { us }.site(&values, law, full)));
        assert_eq!(differ("", &feet, &metres), None, "{values:?} {law} {full}");
    }
}
