//! Drawing scales: round ones, as a scale rule has them.

use wetrun_units::{UnitSystem, trimmed};

/// Points in a metre of paper.
const PT_PER_M: f64 = 72.0 / 0.0254;

/// A horizontal and a vertical scale, and where the drawing's origin lies on the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scales {
    /// Site metres to a paper metre, along.
    pub along: f64,
    /// Site metres to a paper metre, upwards.
    pub up: f64,
}

impl Scales {
    /// The largest round scales at which `length_m` by `height_m` fits.
    pub(crate) fn fit(
        units: UnitSystem,
        length_m: f64,
        height_m: f64,
        room_pt: (f64, f64),
    ) -> Self {
        let along = round_scale(units, length_m * PT_PER_M / room_pt.0);
        let up = round_scale(units, height_m * PT_PER_M / room_pt.1).min(along);
        Self { along, up }
    }

    /// The largest scales at which it fits a screen, which no rule is laid on.
    pub(crate) fn fill(length_m: f64, height_m: f64, room_pt: (f64, f64)) -> Self {
        let along = length_m * PT_PER_M / room_pt.0;
        Self { along, up: (height_m * PT_PER_M / room_pt.1).min(along) }
    }

    /// Points for a distance along.
    pub(crate) fn along_pt(&self, length_m: f64) -> f64 {
        length_m * PT_PER_M / self.along
    }

    /// Points for a height.
    pub(crate) fn up_pt(&self, height_m: f64) -> f64 {
        height_m * PT_PER_M / self.up
    }

    /// How much taller than long things look.
    pub(crate) fn exaggeration(&self) -> f64 {
        self.along / self.up
    }

    /// What is drawn larger than the rest, in words.
    pub(crate) fn stretched(&self) -> String {
        let times = trimmed(self.exaggeration(), 1);
        format!("Heights are drawn {times} times as large as lengths.")
    }

    /// The scales in words.
    pub(crate) fn words(&self, units: UnitSystem) -> String {
        let number = |value: f64| trimmed(value, 2);
        let exaggeration = number(self.exaggeration());
        match units {
            UnitSystem::Us => format!(
                "Horizontal 1 in = {} ft, vertical 1 in = {} ft: heights are drawn {exaggeration} times as large as lengths.",
                number(self.along / 12.0),
                number(self.up / 12.0),
            ),
            UnitSystem::Si => format!(
                "Horizontal 1:{}, vertical 1:{}: heights are drawn {exaggeration} times as large as lengths.",
                number(self.along),
                number(self.up),
            ),
        }
    }
}

/// The next round scale at or above the least one that fits.
pub(crate) fn round_scale(units: UnitSystem, least: f64) -> f64 {
    // Feet to an inch (12 to 1), or plain ratios.
    let (unit, steps): (f64, &[f64]) = match units {
        UnitSystem::Us => (12.0, &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0]),
        UnitSystem::Si => (1.0, &[1.0, 1.25, 2.0, 2.5, 4.0, 5.0, 7.5]),
    };
    let least = (least / unit).max(1e-3);
    let mut decade = 1e-3;
    for _ in 0..12 {
        if let Some(step) = steps.iter().find(|&&s| s * decade >= least * (1.0 - 1e-9)) {
            return step * decade * unit;
        }
        decade *= 10.0;
    }
    least * unit
}

/// A round spacing that divides `span` into about five.
pub(crate) fn round_step(span: f64) -> f64 {
    const DECADES: [f64; 12] = [1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1.0, 10.0, 1e2, 1e3, 1e4, 1e5];
    let rough = span / 5.0;
    let mut steps = DECADES.into_iter().flat_map(|d| [1.0, 2.0, 5.0].map(|s| s * d));
    steps.find(|&step| step >= rough).unwrap_or(1e6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_a_rule_are_round() {
        for (span, step) in [(4.9, 1.0), (5.1, 2.0), (12.0, 5.0), (0.4, 0.1), (0.0, 1e-6)] {
            assert!((round_step(span) - step).abs() < 1e-12, "{span}");
        }
    }

    #[test]
    fn scales_are_round_and_fit() {
        let s = Scales::fit(UnitSystem::Si, 48.0, 4.0, (400.0, 250.0));
        assert!(s.along_pt(48.0) <= 400.0 && s.up_pt(4.0) <= 250.0);
        // 48 m on 400 pt (141.1 mm) is 1:340; the next round one is 1:400. 4 m on 250 pt: 1:45.4.
        assert!((s.along - 400.0).abs() < 1e-9 && (s.up - 50.0).abs() < 1e-9, "{s:?}");
        let us = Scales::fit(UnitSystem::Us, 100.0 * 0.3048, 12.0 * 0.3048, (396.0, 252.0));
        // 100 ft on 5.5 in: 18.2 ft to an inch, next 20; 12 ft on 3.5 in: 3.43, next 4.
        assert_eq!(
            us.words(UnitSystem::Us).split(':').next(),
            Some("Horizontal 1 in = 20 ft, vertical 1 in = 4 ft")
        );
        assert!((us.exaggeration() - 5.0).abs() < 1e-9);
    }
}
