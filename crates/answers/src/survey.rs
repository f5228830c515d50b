//! Levels in plan: where each stands, and surveyed points that lie elsewhere than their place.

use crate::site_levels::Level;
use crate::solved::Settled;
use wetrun_design::levels::SetPoint;
use wetrun_network::{End, LineEnd};
use wetrun_units::Length;

/// A point farther from its place than this is another point, or in other coordinates (common
/// practice: a pipe is laid within a trench's width).
const NEAR_M: f64 = 0.5;

/// Northing and easting of a level. An invert between the ends of a line has no place of its own, as
/// a line need not be straight.
pub(crate) fn place(settled: &Settled, set_point: SetPoint) -> Option<(Length, Length)> {
    let (facts, network) = (&settled.facts, &settled.site.network);
    let end = match set_point {
        SetPoint::Inlet(id) | SetPoint::Overflow(id) => End::Tank(id),
        SetPoint::Opening(id) | SetPoint::Foot(id) => End::Downspout(id),
        SetPoint::Point(id)
        | SetPoint::Vent(id)
        | SetPoint::Cap(id)
        | SetPoint::DrainOutlet(id) => End::Point(id),
        SetPoint::End(id, LineEnd::From) => network.line(id).from,
        SetPoint::End(id, LineEnd::To) => network.line(id).to,
        SetPoint::Station(..) => return None,
    };
    let at = match end {
        End::Downspout(id) => facts.downspouts.get(id.index())?.at,
        End::Point(id) => facts.points.get(id.index())?.at,
        End::Tank(id) => facts.tanks.get(id.index())?.at,
    };
    at.map(|at| (at.north, at.east))
}

/// What the places of surveyed points say against their descriptions, in words.
pub(crate) fn doubts(
    settled: &Settled,
    levels: &[Level],
    surveyed: &[(usize, (Length, Length))],
) -> Vec<String> {
    let drawn = surveyed.iter().filter_map(|&(index, found)| {
        let level = levels.get(index)?;
        Some((level, place(settled, level.set_point)?, found))
    });
    let drawn: Vec<_> = drawn.collect();
    let apart_m = |a: (Length, Length), b: (Length, Length)| {
        let (north_m, east_m) = ((a.0 - b.0).to_m(), (a.1 - b.1).to_m());
        (north_m * north_m + east_m * east_m).sqrt()
    };
    let near = |turned: bool| {
        let at = |(north, east)| if turned { (east, north) } else { (north, east) };
        drawn.iter().filter(|(_, place, found)| apart_m(*place, at(*found)) <= NEAR_M).count()
    };
    let (as_given, turned, all) = (near(false), near(true), drawn.len());
    if turned > as_given && 2 * turned > all {
        return vec![format!(
            "{turned} of {all} points lie at their places with northing and easting exchanged: look at the header"
        )];
    }
    // In other coordinates than the drawing's no point says anything of its description.
    let mut far: Vec<_> = drawn.iter().filter(|(_, p, f)| apart_m(*p, *f) > NEAR_M).collect();
    far.retain(|_| 2 * as_given > all);
    let units = settled.site.units;
    let told = far.into_iter().map(|(level, place, found)| {
        let apart = units.show_length(Length::m(apart_m(*place, *found)));
        format!("the point described as `{}` lies {apart} from its place in plan", level.name())
    });
    told.collect()
}
