//! A stretch that runs empty with its bore part full: how much head what is left in it has.
//!
//! Once air has come in, what is left lies along the whole stretch and not as a plug at its lower
//! end. It runs out as a kinematic wave (any textbook of open channels): a depth leaves the upper
//! end with the speed `c = dQ/dA` of its normal flow and comes to the lower end, `L` on, at `c t = L`;
//! by then `A L − Q t` is left, so that what is left tells the flow, whatever went before:
//! `held/L = A − Q/c`. Normal flow goes with `A R^⅔` (Manning; its scale is the friction of the full
//! bore). A plug is given the head by which the same flow falls out over its invert, but no more
//! than it would have as still water below a level surface in the round bore.

use crate::film::Weir;
use core::cell::OnceCell;
use core::f64::consts::PI;
use std::sync::LazyLock;
use wetrun_solver::laws::pipe::PipeLaw;
use wetrun_units::Flow;

/// Head over the lower end for what is left.
#[derive(Clone, Debug)]
pub(crate) struct PartFull {
    law: PipeLaw,
    weir: Weir<PipeLaw>,
    length_m: f64,
    fall_m: f64,
    /// No head is above this, m.
    cap: f64,
    /// What is left, m³, and the head, m, in straight pieces, both rising from 0: worked out once it is
    /// asked for, as most runs never come to that.
    pieces: OnceCell<Vec<(f64, f64)>>,
}

/// A section of a bore of 1 m.
#[derive(Clone, Copy)]
struct Section {
    depth: f64,
    area: f64,
    /// Normal flow as a share of that of the full bore.
    flow: f64,
    /// What is left behind a wave whose end has this section, for each metre.
    held: f64,
}

const PIECES: u32 = 240;

/// Sections from nearly dry to nearly full, evenly by the angle: the same for every bore.
static SECTIONS: LazyLock<Vec<Section>> = LazyLock::new(|| {
    let angle = |piece: u32| 2.0 * PI * f64::from(piece) / f64::from(PIECES + 1);
    (1..=PIECES).map(|piece| Section::new(angle(piece))).collect()
});

/// Of these, up to where the waves of the lesser depths are the faster ones, about half full: how deep
/// what is left behind each lies where it lies level.
static LEVEL: LazyLock<Vec<f64>> = LazyLock::new(|| {
    let mut depths = Vec::new();
    let (mut near, mut before) = (PI, 0.0);
    for section in SECTIONS.iter() {
        if section.held <= before {
            break;
        }
        let (lies, angle) = Section::of_area(section.held, near);
        (near, before) = (angle, section.held);
        depths.push(lies.depth);
    }
    depths
});

impl PartFull {
    /// A stretch of `length_m` that falls by `fall_m`, in a reach that falls by `most_m` in all.
    pub(crate) fn new(
        law: &PipeLaw,
        weir: &Weir<PipeLaw>,
        length_m: f64,
        fall_m: f64,
        most_m: f64,
    ) -> Self {
        let cap = most_m.max(0.25 * law.bore().to_m());
        Self { law: *law, weir: *weir, length_m, fall_m, cap, pieces: OnceCell::new() }
    }

    fn work_out(&self) -> Vec<(f64, f64)> {
        let &Self { law, weir, length_m, fall_m, .. } = self;
        let bore_m = law.bore().to_m();
        let full = normal(&law, fall_m / length_m);
        let still = still(bore_m, length_m, fall_m);
        let mut stands = rising(&still);
        let mut pieces = vec![(0.0, 0.0)];
        for (section, lies) in SECTIONS.iter().zip(LEVEL.iter()) {
            let held = section.held * bore_m * bore_m * length_m;
            let before = pieces[pieces.len() - 1];
            let falls = weir.energy(full * section.flow).0;
            // A level stretch has the head of its own depth.
            let lies = lies * bore_m;
            pieces.push((held, falls.max(lies).min(stands(held)).max(before.1)));
        }
        // What is more lies behind no such wave: from there on to what the full bore passes.
        let (from, low) = pieces[pieces.len() - 1];
        let (to, high) = (0.25 * PI * bore_m * bore_m * length_m, weir.energy(full).0);
        for piece in 1..=PIECES {
            let share = f64::from(piece) / f64::from(PIECES);
            let held = from + share * (to - from);
            let head = (low + share * (high - low)).max(low).min(stands(held));
            let before = pieces[pieces.len() - 1].1;
            pieces.push((held, head.max(before)));
        }
        pieces
    }

    /// No head is above this, m.
    pub(crate) fn most(&self) -> f64 {
        self.cap
    }

    /// Head over the lower end for what is left, and the derivative by that.
    pub(crate) fn head(&self, left: f64) -> (f64, f64) {
        let (head, slope) = read(self.pieces.get_or_init(|| self.work_out()), left);
        if head >= self.cap { (self.cap, 0.0) } else { (head, slope) }
    }
}

/// A value read between pieces, and its slope; beyond the last it stays.
fn read(pieces: &[(f64, f64)], at: f64) -> (f64, f64) {
    let last = pieces.len() - 1;
    if at >= pieces[last].0 {
        return (pieces[last].1, 0.0);
    }
    between(pieces, pieces.partition_point(|piece| piece.0 <= at).clamp(1, last), at)
}

/// The same from the left to the right, without its slope.
fn rising(pieces: &[(f64, f64)]) -> impl FnMut(f64) -> f64 {
    let last = pieces.len() - 1;
    let mut after = 1;
    move |at| {
        while after < last && pieces[after].0 <= at {
            after += 1;
        }
        if at >= pieces[last].0 { pieces[last].1 } else { between(pieces, after, at).0 }
    }
}

fn between(pieces: &[(f64, f64)], after: usize, at: f64) -> (f64, f64) {
    let ((from, low), (to, high)) = (pieces[after - 1], pieces[after]);
    let slope = (high - low) / (to - from);
    (low + slope * (at - from), slope)
}

/// Still water in a stretch: its volume, m³, and how high it stands over the lower end, m.
fn still(bore_m: f64, length_m: f64, fall_m: f64) -> Vec<(f64, f64)> {
    let sin = (fall_m / length_m).clamp(0.0, 1.0);
    let cos = libm::sqrt(1.0 - sin * sin);
    let full_m2 = 0.25 * PI * bore_m * bore_m;
    let scaled =
        SECTIONS.iter().map(|section| (section.depth * bore_m, section.area * bore_m * bore_m));
    let sections: Vec<(f64, f64)> =
        [(0.0, 0.0)].into_iter().chain(scaled).chain([(bore_m, full_m2)]).collect();
    if sin * length_m < 1e-6 * bore_m {
        return sections.into_iter().map(|(depth, area)| (area * length_m, depth)).collect();
    }
    if cos < 1e-6 {
        return vec![(0.0, 0.0), (full_m2 * length_m, fall_m)];
    }
    // The area below a depth across the bore, summed over depths.
    let mut below = vec![(0.0, 0.0)];
    for pair in sections.windows(2) {
        let last = below[below.len() - 1].1;
        below.push((pair[1].0, last + 0.5 * (pair[0].1 + pair[1].1) * (pair[1].0 - pair[0].0)));
    }
    let (most, all) = below[below.len() - 1];
    let under = || {
        let mut read = rising(&below);
        move |depth: f64| {
            if depth > most { all + full_m2 * (depth - most) } else { read(depth.max(0.0)) }
        }
    };
    let (mut ahead, mut behind) = (under(), under());
    let top = length_m * sin / cos + bore_m;
    let levels = sections.iter().map(|(depth, _)| depth * top / bore_m);
    levels
        .map(|across| {
            (cos / sin * (ahead(across) - behind(across - length_m * sin / cos)), across * cos)
        })
        .collect()
}

impl Section {
    /// The section whose wetted arc spans an angle, above 0 and below a whole turn.
    fn new(angle: f64) -> Self {
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        let area = area_of(angle, sin);
        let radius = 2.0 * area / angle;
        // By the angle: d ln A, d ln R = d ln A − 1/angle.
        let by_area = (1.0 - cos) / (angle - sin);
        let by_radius = by_area - 1.0 / angle;
        // d ln Q / d ln A.
        let power = 1.0 + 2.0 / 3.0 * by_radius / by_area;
        Self {
            depth: 0.5 * (1.0 - libm::cos(0.5 * angle)),
            area,
            flow: area / (0.25 * PI) * libm::cbrt(16.0 * radius * radius),
            held: area * (1.0 - 1.0 / power),
        }
    }

    /// The section of an area: Newton's steps from an angle near by, held by a bracket.
    fn of_area(area: f64, near: f64) -> (Self, f64) {
        let (mut low, mut high) = (0.0, 2.0 * PI);
        let mut angle = near;
        for _ in 0..60 {
            let miss = area_of(angle, libm::sin(angle)) - area;
            if miss < 0.0 {
                low = angle;
            } else {
                high = angle;
            }
            let newton = angle - miss / (0.125 * (1.0 - libm::cos(angle)));
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            let step = (next - angle).abs();
            angle = next;
            if step <= 1e-14 {
                break;
            }
        }
        (Self::new(angle), angle)
    }
}

/// Area of the section whose wetted arc spans an angle of this sine.
fn area_of(angle: f64, sin: f64) -> f64 {
    0.125 * (angle - sin)
}

/// The flow of the full bore whose friction takes a slope, m³/s.
fn normal(law: &PipeLaw, slope: f64) -> f64 {
    if slope <= 0.0 {
        return 0.0;
    }
    let takes = |flow: f64| law.gradient(Flow::m3_per_s(flow)).0;
    let mut high = 1e-6;
    while takes(high) < slope && high < 1e3 {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if takes(middle) < slope { low = middle } else { high = middle }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half of a level pipe stands half as deep as its bore; in one that stands upright it reaches half
    /// its height; and in one that leans its full volume is that of the bore.
    #[test]
    fn still_water_stands_level() {
        assert!((read(&still(0.2, 5.0, 0.0), 0.005 * PI * 5.0).0 - 0.1).abs() < 1e-4);
        assert!((read(&still(0.2, 5.0, 5.0), 0.005 * PI * 5.0).0 - 2.5).abs() < 1e-4);
        let leans = still(0.2, 5.0, 0.5);
        assert!((leans[leans.len() - 1].0 / (0.01 * PI * 5.0) - 1.0).abs() < 1e-4);
    }

    /// A pipe of 100 mm at 1 in 100, 20 m, Manning's n 0.010, half full and left alone: by the
    /// method of characteristics (apart from the program) the wave is there after 17.544 s, then
    /// depth (mm), flow (L/s) and what is left (L) are these.
    #[test]
    fn a_part_full_pipe_drains_as_a_kinematic_wave() {
        let full = 2.0 * 3.3575e-3;
        // The last row has fewer digits.
        for (seconds, depth_mm, flow, held, within) in [
            (20.0, 35.240, 1.78856, 13.684, 1e-3),
            (30.0, 16.538, 0.399077, 5.045, 1e-3),
            (60.0, 5.434, 0.038_518_2, 1.0115, 1e-3),
            (120.0, 1.880, 0.003_949_67, 0.2096, 1e-3),
            (300.0, 0.472, 0.000_199, 0.0265, 4e-3),
        ] {
            let angle = 2.0 * libm::acos(1.0 - 2.0 * depth_mm / 100.0);
            let section = Section::new(angle);
            assert!((section.flow * full * 1e3 / flow - 1.0).abs() < within, "{depth_mm}");
            assert!((section.held * 0.01 * 20.0 * 1e3 / held - 1.0).abs() < within, "{depth_mm}");
            // `c = dQ/dA`, as what is left has it, comes 20 m far in that time.
            let wave = section.flow * full / (section.area - section.held) / 0.01;
            assert!((20.0 / wave / seconds - 1.0).abs() < within, "{depth_mm}: {}", 20.0 / wave);
        }
    }
}
