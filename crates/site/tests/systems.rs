//! The same job written in either unit system, with units or bare, is the same job.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use wetrun_site::{Site, read};

/// How values are written: the number in SI and its kind become a text.
#[derive(Clone, Copy, Debug)]
struct Hand {
    us: bool,
    bare: bool,
}

impl Hand {
    /// Exact factors: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 gal = 231 in³.
    fn write(self, si: f64, us: (f64, &str), metric: (f64, &str)) -> String {
        let (factor, unit) = if self.us { us } else { metric };
        let unit = if self.bare { "" } else { unit };
        format!("{:e}{unit}", si / factor)
    }

    fn level(self, m: f64) -> String {
        self.write(m, (0.3048, " ft"), (1.0, "m"))
    }

    fn size(self, m: f64) -> String {
        self.write(m, (0.0254, " in"), (0.001, " mm"))
    }

    fn area(self, m2: f64) -> String {
        self.write(m2, (0.3048 * 0.3048, " sq ft"), (1.0, " m2"))
    }

    fn volume(self, m3: f64) -> String {
        self.write(m3, (0.003785411784, " gal"), (0.001, " L"))
    }

    fn rain(self, m_per_s: f64) -> String {
        self.write(m_per_s, (0.0254 / 3600.0, " in/h"), (0.001 / 3600.0, " mm/h"))
    }

    fn water(self, celsius: f64) -> String {
        let unit = match (self.bare, self.us) {
            (true, _) => "",
            (_, true) => " F",
            (_, false) => " C",
        };
        let number = if self.us { celsius * 1.8 + 32.0 } else { celsius };
        format!("{number:e}{unit}")
    }

    fn site(self, v: &[f64; 12]) -> String {
        format!(
            "wetrun: 1\nname: Twin\nunits: {units}\nwater: {{ temperature: {water} }}\n\
             storm: {{ intensity: {rain} }}\ntargets: {{ freeboard: {free} }}\n\
             roofs: {{ R: {{ area: {area}, runoff: 0.9, to: D }} }}\n\
             downspouts: {{ D: {{ outlet: {outlet}, foot: {foot}, pipe: {{ inside: {bore}, roughness: {rough} }} }} }}\n\
             points: {{ P: {{ level: {point}, drain: {drain} }} }}\n\
             lines:\n  A: {{ from: D, to: P, pipe: pvc-sch40 4 in, length: {length} }}\n  \
             B: {{ from: P, to: T, pipe: pvc-en1401-sn4 110 mm, length: {length} }}\n\
             tanks: {{ T: {{ inlet: {inlet}, volume: {volume} }} }}\n",
            units = if self.us { "us" } else { "si" },
            water = self.water(v[0]),
            rain = self.rain(v[1]),
            free = self.level(v[2]),
            area = self.area(v[3]),
            outlet = self.level(v[4]),
            foot = self.level(v[4] - v[5]),
            bore = self.size(v[6]),
            rough = self.size(v[6] * 1e-3),
            drain = self.size(v[7]),
            point = self.level(v[8]),
            length = self.level(v[9]),
            inlet = self.level(v[10]),
            volume = self.volume(v[11]),
        )
    }
}

/// Every number of a site that a value of the file went into.
fn numbers(site: &Site) -> Vec<f64> {
    let network = &site.network;
    let downspout = &network.downspouts()[0];
    let mut numbers = vec![
        site.water_temperature.to_celsius(),
        site.storm.intensity.to_m_per_s(),
        site.targets.freeboard.to_m(),
        downspout.catchment.to_m2(),
        downspout.outlet.to_m(),
        downspout.lip.to_m(),
        downspout.foot.to_m(),
        downspout.pipe.inside.to_m(),
        downspout.pipe.roughness.unwrap().to_m(),
        network.points()[0].level.to_m(),
        network.points()[0].drain.unwrap().to_m(),
        network.tanks()[0].inlet.to_m(),
        network.tanks()[0].volume.unwrap().to_m3(),
    ];
    for line in network.lines() {
        numbers.extend([line.length.to_m(), line.pipe.inside.to_m()]);
        numbers.extend(line.profile.iter().flat_map(|s| [s.at.to_m(), s.level.to_m()]));
    }
    numbers
}

proptest! {
    #[test]
    fn four_hands_write_one_job(
        water in 0.0..40.0f64,
        rain in 0.0..1e-4f64,
        free in 0.0..0.5f64,
        area in 1.0..500.0f64,
        outlet in -50.0..150.0f64,
        drop in 0.1..10.0f64,
        bore in 0.03..0.5f64,
        drain in 0.02..0.1f64,
        point in -5.0..5.0f64,
        length in 0.5..100.0f64,
        inlet in -5.0..5.0f64,
        volume in 0.5..50.0f64,
    ) {
        let values =
            [water, rain, free, area, outlet, drop, bore, drain, point, length, inlet, volume];
        let site = |us, bare| {
            let text = Hand { us, bare }.site(&values);
            read(&text, "twin.yaml").unwrap_or_else(|faults| panic!("{text}\n{faults}"))
        };
        let first = numbers(&site(false, false));
        for (us, bare) in [(false, true), (true, false), (true, true)] {
            for (a, b) in first.iter().zip(numbers(&site(us, bare))) {
                prop_assert!((a - b).abs() <= 1e-13 * (1.0 + a.abs()), "{a} {b}");
            }
        }
    }
}
