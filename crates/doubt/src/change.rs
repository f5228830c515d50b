//! A drawing with its inputs as a sample has them.

use crate::drawing::Drawing;
use crate::input::{Change, Input, PipeType, Subject};
use std::f64::consts::PI;
use wetrun_network::{End, LineId, Parts, Pipe, limits};
use wetrun_solver::Scenario;
use wetrun_units::{Area, Length, Temperature};

/// The parts and the circumstances of a drawing with its inputs at standard normal numbers.
pub(crate) fn changed(drawing: &Drawing<'_>, inputs: &[Input], z: &[f64]) -> (Parts, Scenario) {
    let values = Values::of(drawing, inputs, z);
    let mut parts = drawing.parts.clone();
    let scenario = values.scenario(&drawing.scenario);
    values.roofs(drawing, &mut parts);
    for (kind, number) in drawing.types.iter().zip(&values.types) {
        pipes(&mut parts, kind, |pipe| number.apply(pipe));
    }
    values.silt(&mut parts);
    values.coefficients(&mut parts);
    values.openings(&mut parts);
    values.inlets(drawing, &mut parts);
    (parts, scenario)
}

/// What the inputs are in a sample, each where it is used.
struct Values {
    rain: f64,
    runoff: f64,
    areas: Vec<f64>,
    types: Vec<OfType>,
    fittings: Vec<(String, f64)>,
    line_k: Vec<f64>,
    downspout_k: Vec<f64>,
    junctions: f64,
    openings_m: Vec<f64>,
    inlets_m: Vec<f64>,
    warmth_k: f64,
    silt_m: Vec<f64>,
}

/// Factors on the numbers of one pipe type.
#[derive(Clone, Copy)]
struct OfType {
    roughness: f64,
    c: f64,
    bores: f64,
}

impl OfType {
    fn apply(self, pipe: &mut Pipe) {
        pipe.roughness = pipe.roughness.map(|roughness| roughness * self.roughness);
        pipe.c = pipe.c.map(|c| c * self.c);
        pipe.inside = bore(pipe.inside.to_m() * self.bores);
    }
}

/// A bore within what a network takes.
fn bore(bore_m: f64) -> Length {
    Length::m(bore_m).max(*limits::BORE.start()).min(*limits::BORE.end())
}

impl Values {
    fn of(drawing: &Drawing<'_>, inputs: &[Input], z: &[f64]) -> Self {
        let network = drawing.network;
        let plain = OfType { roughness: 1.0, c: 1.0, bores: 1.0 };
        let mut values = Self {
            rain: 1.0,
            runoff: 1.0,
            areas: vec![1.0; drawing.facts.roofs.len()],
            types: vec![plain; drawing.types.len()],
            fittings: Vec::new(),
            line_k: vec![1.0; network.lines().len()],
            downspout_k: vec![1.0; network.downspouts().len()],
            junctions: 0.0,
            openings_m: vec![0.0; network.downspouts().len()],
            inlets_m: vec![0.0; network.tanks().len()],
            warmth_k: 0.0,
            silt_m: vec![0.0; network.lines().len()],
        };
        let mut of_their_own: Vec<(LineId, f64)> = Vec::new();
        for (input, z) in inputs.iter().zip(z) {
            let (times, by) = match input.change(*z) {
                Change::Times(times) => (times, 0.0),
                Change::By(by) => (1.0, by),
            };
            match &input.subject {
                Subject::Rain => values.rain = times,
                Subject::Runoff => values.runoff = times,
                Subject::Area(roof) => values.areas[*roof] = times,
                Subject::Roughness(kind) => values.types[*kind].roughness = times,
                Subject::C(kind) => values.types[*kind].c = times,
                Subject::Bores(kind) => values.types[*kind].bores = times,
                Subject::Fitting(name) => values.fittings.push((name.clone(), times)),
                Subject::DownspoutK(id) => values.downspout_k[id.index()] = times,
                Subject::LineK(id) => values.line_k[id.index()] = times,
                Subject::Junctions => values.junctions = by,
                Subject::Opening(id) => values.openings_m[id.index()] = by,
                Subject::Inlet(id) => values.inlets_m[id.index()] = by,
                Subject::Temperature => values.warmth_k = by,
                Subject::Silt => values.silt_m.fill(by),
                Subject::SiltOf(id) => of_their_own.push((*id, by)),
            }
        }
        // A line that the file names has its own silt, none too.
        for (id, _) in &drawing.facts.doubts.lines {
            values.silt_m[id.index()] = 0.0;
        }
        for (id, depth_m) in of_their_own {
            values.silt_m[id.index()] = depth_m;
        }
        values
    }

    fn scenario(&self, drawn: &Scenario) -> Scenario {
        let celsius = (drawn.temperature.to_celsius() + self.warmth_k).clamp(0.0, 40.0);
        Scenario {
            intensity: drawn.intensity * self.rain,
            temperature: Temperature::celsius(celsius),
            ..*drawn
        }
    }

    /// What each downspout's roofs bring, roof by roof as the reader of the file sums it.
    fn roofs(&self, drawing: &Drawing<'_>, parts: &mut Parts) {
        if self.runoff == 1.0 && self.areas.iter().all(|times| *times == 1.0) {
            return;
        }
        for (index, downspout) in parts.downspouts.iter_mut().enumerate() {
            let mut catchment_m2 = 0.0;
            for &(roof, share) in &drawing.roofs_of[index] {
                let this = &drawing.facts.roofs[roof];
                let runoff = (this.runoff.to_ratio() * self.runoff).min(1.0);
                catchment_m2 += this.area.to_m2() * self.areas[roof] * runoff * share;
            }
            downspout.catchment = Area::m2(catchment_m2);
        }
    }

    /// What silt leaves of a line's bore, as a round bore of equal area.
    fn silt(&self, parts: &mut Parts) {
        for (line, depth_m) in parts.lines.iter_mut().zip(&self.silt_m) {
            if *depth_m > 0.0 {
                line.pipe.inside = bore(above_silt(line.pipe.inside.to_m(), *depth_m));
            }
        }
    }

    fn coefficients(&self, parts: &mut Parts) {
        let of = |name: &str| {
            let known = self.fittings.iter().find(|(fitting, _)| fitting == name);
            known.map_or(1.0, |(_, times)| *times)
        };
        for (downspout, times) in parts.downspouts.iter_mut().zip(&self.downspout_k) {
            downspout.fittings.iter_mut().for_each(|fitting| fitting.k *= of(&fitting.name));
            downspout.k *= times;
        }
        for (line, times) in parts.lines.iter_mut().zip(&self.line_k) {
            line.fittings.iter_mut().for_each(|fitting| fitting.k *= of(&fitting.name));
            line.k *= times;
            // A gain of head never becomes more than the whole velocity head, and only at a tank.
            let at_a_tank = [line.from, line.to].iter().any(|end| matches!(end, End::Tank(_)));
            let lacks = if at_a_tank { -1.0 } else { 0.0 } - line.total_k();
            line.k += lacks.max(0.0);
        }
        for junction in parts.points.iter_mut().filter_map(|point| point.fitting.as_mut()) {
            junction.added_k += self.junctions;
        }
    }

    /// Outlets and leaf heads; a lip keeps its height above its outlet. None goes below its foot.
    fn openings(&self, parts: &mut Parts) {
        for (downspout, by_m) in parts.downspouts.iter_mut().zip(&self.openings_m) {
            let by = Length::m(*by_m);
            if let Some(rim) = downspout.leaf_head {
                let rim = (rim + by).max(downspout.foot);
                downspout.leaf_head = Some(rim);
                // The gutter above it has no say: it never stands lower.
                downspout.outlet = downspout.outlet.max(rim);
            } else {
                let outlet = (downspout.outlet + by).max(downspout.foot);
                downspout.lip = outlet + (downspout.lip - downspout.outlet);
                downspout.outlet = outlet;
            }
            downspout.lip = downspout.lip.max(downspout.outlet);
        }
    }

    /// Inlets with their overflows, and the ends of lines that have no level of their own.
    fn inlets(&self, drawing: &Drawing<'_>, parts: &mut Parts) {
        for (tank, by_m) in parts.tanks.iter_mut().zip(&self.inlets_m) {
            tank.inlet = tank.inlet + Length::m(*by_m);
            if let Some(overflow) = tank.overflow.as_mut() {
                overflow.level = overflow.level + Length::m(*by_m);
            }
        }
        for (line, own) in parts.lines.iter_mut().zip(drawing.own_ends) {
            let ends = [(line.from, own[0], 0), (line.to, own[1], line.profile.len() - 1)];
            for (end, own, station) in ends {
                if let (End::Tank(id), false) = (end, own)
                    && self.inlets_m[id.index()] != 0.0
                {
                    line.profile[station].level = parts.tanks[id.index()].inlet;
                }
            }
        }
    }
}

/// Every pipe of a type.
fn pipes(parts: &mut Parts, kind: &PipeType, change: impl Fn(&mut Pipe)) {
    for id in &kind.lines {
        change(&mut parts.lines[id.index()].pipe);
    }
    for id in &kind.downspouts {
        change(&mut parts.downspouts[id.index()].pipe);
    }
    for id in &kind.overflows {
        let overflow = parts.tanks[id.index()].overflow.as_mut();
        if let Some(pipe) = overflow.and_then(|overflow| overflow.pipe.as_mut()) {
            change(pipe);
        }
    }
}

/// The round bore of the same area as the segment of a circle above silt of a depth.
fn above_silt(bore_m: f64, depth_m: f64) -> f64 {
    let depth = (2.0 * depth_m / bore_m).clamp(0.0, 2.0);
    // Half the angle under the silt's surface, as the centre sees it.
    let angle = libm::acos(1.0 - depth);
    let filled = (angle - libm::sin(angle) * libm::cos(angle)) / PI;
    bore_m * libm::sqrt((1.0 - filled).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::above_silt;

    /// Half full leaves half the area; a tenth of the depth fills 0.0520 of it, as every table of
    /// segments has it (area of the segment 0.0409 d²).
    #[test]
    fn what_silt_leaves() {
        assert!((above_silt(0.1, 0.05) - 0.1 * 0.5_f64.sqrt()).abs() < 1e-15);
        let left = above_silt(1.0, 0.1);
        assert!((1.0 - left * left - 0.0520).abs() < 5e-5, "{left}");
        assert_eq!(above_silt(0.1, 0.0), 0.1);
        assert!(above_silt(0.1, 0.1).abs() < 1e-9);
    }
}
