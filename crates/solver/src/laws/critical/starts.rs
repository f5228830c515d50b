//! Where the search for an angle starts: at an angle read between known ones, so close that a single
//! step is left. They are told by measures of the flow and of the head that go as the angle itself
//! where it is small, so that nearly dry and nearly full are told as closely as half full.

use super::Section;
use core::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
use std::sync::LazyLock;

/// Between so many angles up to a right angle, closer together the smaller they are, cubics err by a
/// share of 1e-8 at the most.
const KNOTS: u32 = 256;
/// Half of `a/t` is the critical velocity head.
const ENERGY: f64 = 0.5;

/// Between two known angles.
struct Piece {
    from: f64,
    per_width: f64,
    /// The angle by powers of the share of the way.
    cubic: [f64; 4],
}

/// Angles by a measure of what they stand for.
struct Starts {
    pieces: Vec<Piece>,
    /// For each of as many stretches of the measure's root the piece in which it begins.
    begins: Vec<usize>,
    per_root: f64,
}

impl Starts {
    /// `measure` gives that of an angle, and its logarithmic derivative by the angle.
    fn new(measure: impl Fn(f64) -> (f64, f64)) -> Self {
        let knot = |knot: u32| {
            let share = f64::from(knot) / f64::from(KNOTS);
            let angle = FRAC_PI_2 * share * share;
            let (measure, rate) = measure(angle);
            (measure, angle, 1.0 / (measure * rate))
        };
        let mut before = (0.0, 0.0, 1.0);
        let piece = |next| {
            let ((from, low, rise), (to, high, rise_to)) = (before, knot(next));
            before = (to, high, rise_to);
            let width = to - from;
            let (rise, rise_to, chord) = (rise * width, rise_to * width, high - low);
            let (square, cube) = (3.0 * chord - 2.0 * rise - rise_to, rise + rise_to - 2.0 * chord);
            Piece { from, per_width: 1.0 / width, cubic: [low, rise, square, cube] }
        };
        let pieces: Vec<Piece> = (1..=KNOTS).map(piece).collect();
        let per_root = f64::from(KNOTS) / before.0.sqrt();
        let begins = (0..=KNOTS).map(|stretch| {
            let root = f64::from(stretch) / per_root;
            pieces.partition_point(|piece| piece.from <= root * root).max(1) - 1
        });
        Self { begins: begins.collect(), per_root, pieces }
    }

    /// The angle for a measure.
    fn read(&self, measure: f64) -> f64 {
        let stretch = (measure.sqrt() * self.per_root) as usize;
        let mut place = self.begins[stretch.min(self.begins.len() - 1)];
        while self.pieces.get(place + 1).is_some_and(|next| next.from <= measure) {
            place += 1;
        }
        let Piece { from, per_width, cubic: [low, rise, square, cube] } = &self.pieces[place];
        let share = (measure - from) * per_width;
        low + share * (rise + share * (square + share * cube))
    }
}

/// The wetted half angle for a flow that fills half at the most: `a³/t → φ⁸/216`.
pub(super) fn low_by_flow(flow: f64) -> f64 {
    static STARTS: LazyLock<Starts> = LazyLock::new(|| {
        Starts::new(|phi| {
            let section = Section::low(phi);
            (measure(section.flow()), section.flow_rate() / 8.0)
        })
    });
    fn measure(flow: f64) -> f64 {
        (flow * 14.696_938_456_699_069).sqrt().sqrt()
    }
    STARTS.read(measure(flow))
}

/// The half angle left dry by a flow that fills half at least: `a³/t → (π/4)³/ψ`.
pub(super) fn high_by_flow(flow: f64) -> f64 {
    static STARTS: LazyLock<Starts> = LazyLock::new(|| {
        Starts::new(|psi| {
            let section = Section::high(psi);
            let measure = measure(section.flow());
            (measure, (1.0 - measure) * section.flow_rate())
        })
    });
    fn measure(flow: f64) -> f64 {
        bounded(FRAC_PI_4 * FRAC_PI_4 * FRAC_PI_4 / flow / flow)
    }
    STARTS.read(measure(flow))
}

/// The wetted half angle for an energy that fills half at the most: depth → φ²/4, `a/t` → φ²/6.
pub(super) fn low_by_energy(head: f64) -> f64 {
    static STARTS: LazyLock<Starts> = LazyLock::new(|| {
        Starts::new(|phi| {
            let section = Section::low(phi);
            (measure(section.head(ENERGY)), 0.5 * section.head_rate(ENERGY))
        })
    });
    fn measure(head: f64) -> f64 {
        (3.0 * head).sqrt()
    }
    STARTS.read(measure(head))
}

/// The half angle left dry by an energy that fills half at least: depth → 1, `a/t` → π/4ψ.
pub(super) fn high_by_energy(head: f64) -> f64 {
    static STARTS: LazyLock<Starts> = LazyLock::new(|| {
        Starts::new(|psi| {
            let section = Section::high(psi);
            let head = section.head(ENERGY);
            let rate = section.head_rate(ENERGY) * head / (head - 0.5);
            let measure = measure(head);
            (measure, (1.0 - measure) * rate)
        })
    });
    fn measure(head: f64) -> f64 {
        bounded(PI / 8.0 / (head - 0.5))
    }
    STARTS.read(measure(head))
}

/// A number from 0 on, brought below 1.
fn bounded(x: f64) -> f64 {
    x / (1.0 + x)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every angle is told from the flow and from the energy that it stands for.
    #[test]
    fn a_start_is_all_but_the_angle() {
        for part in 1..10_000 {
            let angle = FRAC_PI_2 * f64::from(part) / 1e4;
            let [low, high] = [Section::low(angle), Section::high(angle)];
            let starts = [
                low_by_flow(low.flow()),
                high_by_flow(high.flow()),
                low_by_energy(low.head(ENERGY)),
                high_by_energy(high.head(ENERGY)),
            ];
            for start in starts {
                assert!((start / angle - 1.0).abs() < 1e-8, "{angle} {starts:?}");
            }
        }
    }
}
