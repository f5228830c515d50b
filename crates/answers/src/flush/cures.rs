//! What else than a hose carries silt through a line: a larger drain, or a gulp of water that is held
//! up at its upper end and let go as the drains open. Each is followed, and told where it does.

use crate::solved::MOST_FOLLOWED;
use wetrun_motion::{HeldUp, Looked, OpenDrain, Rush, Scene, first_rush};
use wetrun_network::{DownspoutId, End, Line, LineId, Network, PointId};
use wetrun_site::Site;
use wetrun_units::{Area, Length, Speed, Time, Volume};

/// What carries silt through a line that the drains as they are do not clean.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Cure {
    /// The least bore of the open drains that does it, of those on sale and in the file.
    pub drain: Option<Length>,
    /// Water held up at the line's upper end.
    pub gulp: Option<Gulp>,
}

/// Water that is held up at the upper end of a line and let go as the drains open.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Gulp {
    /// Up to which level, in the downspout there or in a standpipe of the line's own bore.
    pub level: Length,
    /// How much is filled in above the rest level.
    pub volume: Volume,
    /// The downspout, where the line's upper end is at one.
    pub downspout: Option<DownspoutId>,
}

/// So long after the drains open the first rush is looked for.
const WITHIN: Time = Time::s(10.0);
/// The level of a gulp is found so closely.
const NEAR: Length = Length::m(0.02);
/// Bores closer than this are one.
const SAME_BORE: Length = Length::m(1e-3);

/// Open drains with a larger bore, none wider than its line.
pub(super) struct Wider {
    bore: Length,
    drains: Vec<OpenDrain>,
}

/// How fast each line gets in the first rush with a larger bore, where that could be followed.
#[derive(Clone)]
pub(super) struct Tried {
    bore: Length,
    fastest: Option<Vec<Speed>>,
}

impl Wider {
    /// Every larger bore for drains that open together, the least first; none in networks that are too
    /// large to be tried.
    pub(super) fn all(site: &Site, drains: &[OpenDrain]) -> Vec<Self> {
        let network = &site.network;
        if network.lines().len() > MOST_FOLLOWED {
            return Vec::new();
        }
        let at = |bore: Length| {
            let wider = drains.iter().map(|drain| {
                let most = widest(network, drain.at).max(drain.bore);
                OpenDrain { bore: bore.max(drain.bore).min(most), ..*drain }
            });
            Self { bore, drains: wider.collect() }
        };
        bores(network, drains).into_iter().map(at).collect()
    }

    /// Follows the first rush.
    pub(super) fn tried(&self, site: &Site, scene: &Scene<'_>, carries: Speed) -> Tried {
        let lines: Vec<LineId> = (0..site.network.lines().len()).map(LineId::new).collect();
        let looked = Looked { lines: &lines, speed: carries, within: WITHIN };
        let rush = first_rush(scene, &self.drains, &[], &looked);
        Tried { bore: self.bore, fastest: rush.ok().map(|rush| rush.fastest) }
    }
}

/// The least bore of those tried with which a line carries silt.
pub(super) fn least(tried: &[Tried], line: usize, carries: Speed) -> Option<Length> {
    let does =
        |tried: &&Tried| tried.fastest.as_ref().is_some_and(|fastest| fastest[line] >= carries);
    tried.iter().find(does).map(|tried| tried.bore)
}

/// The bores that are on sale for the lines at the drains, and those in the file, that are wider than
/// some open drain and no wider than its line.
fn bores(network: &Network, drains: &[OpenDrain]) -> Vec<Length> {
    let at = |drain: &OpenDrain| lines_at(network, drain.at).map(|line| line.pipe.kind.clone());
    let kinds: Vec<String> = drains.iter().flat_map(at).collect();
    let on_sale = kinds.iter().filter_map(|kind| wetrun_catalogue::sizes(kind).ok()).flatten();
    let in_file = network.points().iter().filter_map(|point| point.drain);
    let own = drains.iter().map(|drain| widest(network, drain.at));
    let all = on_sale.map(|size| size.inside()).chain(in_file).chain(own);
    let fits = |bore: &Length| {
        let wider = |drain: &OpenDrain| {
            *bore > drain.bore + SAME_BORE && *bore <= widest(network, drain.at)
        };
        drains.iter().any(wider)
    };
    let mut bores: Vec<Length> = all.filter(fits).collect();
    bores.sort_by(|a, b| a.to_m().total_cmp(&b.to_m()));
    bores.dedup_by(|a, b| *a - *b < SAME_BORE);
    bores
}

fn lines_at(network: &Network, point: PointId) -> impl Iterator<Item = &Line> {
    network.meets(End::Point(point)).map(|(line, _)| network.line(line))
}

/// The widest line at a point.
fn widest(network: &Network, point: PointId) -> Length {
    lines_at(network, point).map(|line| line.pipe.inside).fold(Length::ZERO, Length::max)
}

/// The least level up to which water held up at the upper end of a line carries silt through it; no
/// higher than the outlet of the downspout there, or than any outlet where there is none. Nothing where
/// it carries silt by the rest level alone, nor in networks that are too large to be tried.
pub(super) fn gulp(
    network: &Network,
    scene: &Scene<'_>,
    drains: &[OpenDrain],
    line: LineId,
    carries: Speed,
) -> Option<Gulp> {
    if network.lines().len() > MOST_FOLLOWED {
        return None;
    }
    let of = network.line(line);
    let upper = of.upper();
    let outlets = network.downspouts().iter().map(|downspout| downspout.spill_level());
    let (most, held_in, raised) = match of.end(upper) {
        End::Downspout(id) => (network.downspout(id).spill_level(), id, None),
        End::Point(_) => {
            let mut parts = network.to_parts();
            let id = parts.pour(line, upper, Area::ZERO);
            let most = outlets.max_by(|a, b| a.to_m().total_cmp(&b.to_m()))?;
            (most, id, Some(Network::build(parts).ok()?))
        }
        // No water can be held up over a tank's inlet.
        End::Tank(_) => return None,
    };
    let mut gutters = scene.gutters.clone();
    gutters.resize(raised.as_ref().map_or(0, |n| n.downspouts().len()).max(gutters.len()), None);
    let scene = Scene { network: raised.as_ref().unwrap_or(network), gutters, ..scene.clone() };
    let lines = [line];
    let looked = Looked { lines: &lines, speed: carries, within: WITHIN };
    let try_at = |level: Length| -> Option<Rush> {
        let held = HeldUp { at: held_in, level };
        let rush = first_rush(&scene, drains, &[held], &looked).ok()?;
        (rush.fastest[line.index()] >= carries).then_some(rush)
    };
    let (mut low, mut high) = (of.end_level(upper), most);
    let mut found = try_at(high)?;
    if try_at(low).is_some() {
        return None;
    }
    while high - low > NEAR {
        let middle = low + (high - low) * 0.5;
        match try_at(middle) {
            Some(rush) => (high, found) = (middle, rush),
            None => low = middle,
        }
    }
    let volume = found.held.first().copied().unwrap_or_default();
    Some(Gulp { level: high, volume, downspout: raised.is_none().then_some(held_in) })
}
