//! A section for a screen: the room it is drawn in, and where its levels stand on it.

use super::Frame;
use super::chart::HEAD_PT;
use super::ends::{STUB_PT, finish};
use super::profile::{Run, Vert};
use super::scale::Scales;
use crate::draw::{Drawing, Pt};
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

/// The room that a section is drawn in, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Width.
    pub width_pt: f64,
    /// Height.
    pub height_pt: f64,
    /// Whether the levels at both ends are labelled, with a key of the lines.
    pub labels: bool,
    /// Whether a table of values stands below.
    pub table: bool,
    /// Whether the title stands on it.
    pub title: bool,
}

impl Room {
    /// As the printed set has it: letter and A4 on their side, within margins.
    pub const PAPER: Self =
        Self { width_pt: 720.0, height_pt: 474.0, labels: true, table: true, title: true };
    /// For a wide screen that shows the title itself.
    pub const SCREEN: Self = Self { title: false, ..Self::PAPER };
    /// The same without the table, for a low one.
    pub const LOW: Self = Self { height_pt: 300.0, table: false, ..Self::SCREEN };
    /// For a narrow screen, where the values stand elsewhere.
    pub const NARROW: Self =
        Self { width_pt: 250.0, height_pt: 250.0, labels: false, table: false, title: false };

    /// Whether a scale rule may be laid on it.
    pub(super) fn is_paper(self) -> bool {
        self.title
    }

    /// Room above the chart for its title and key.
    pub(super) fn head_pt(self) -> f64 {
        if self.labels { HEAD_PT } else { 4.0 }
    }

    /// Room left of the route: level rule, labels, the downspout.
    pub(super) fn left_pt(self) -> f64 {
        if self.labels { 172.0 } else { 40.0 }
    }

    /// Room right of the route: the tank and its labels.
    pub(super) fn right_pt(self) -> f64 {
        if self.labels { 198.0 } else { STUB_PT + self.tank_pt() + 14.0 }
    }

    /// Width of the tank, which is not to scale.
    pub(super) fn tank_pt(self) -> f64 {
        if self.labels { 58.0 } else { 30.0 }
    }
}

/// The scales and the lowest level of a section, kept so that the next one is drawn alike: under a
/// hand that moves something the picture holds still.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    pub(super) scales: Scales,
    pub(super) base_m: f64,
}

/// A section with the places of its levels.
#[derive(Clone, Debug)]
pub struct SectionView {
    /// Its panels.
    pub panels: Vec<Drawing>,
    /// Its levels.
    pub marks: Vec<Mark>,
    /// What keeps the next one alike.
    pub held: Held,
}

impl SectionView {
    /// Points for a metre of height.
    pub fn pt_per_m(&self) -> f64 {
        self.held.scales.up_pt(1.0)
    }
}

/// A level on a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// The panel it stands on.
    pub panel: usize,
    /// Where.
    pub at: Pt,
    /// Which level it is.
    pub spot: Spot,
}

/// A level that a section shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// The hole in the gutter floor.
    Outlet(DownspoutId),
    /// The rim of a leaf head.
    LeafHead(DownspoutId),
    /// The foot of the downspout.
    Foot(DownspoutId),
    /// The invert at a point.
    Point(PointId),
    /// The lowest opening of a point.
    Opening(PointId),
    /// A station of a line's profile, counted from the line's start, its ends among them.
    Station(LineId, usize),
    /// A tank's inlet.
    Inlet(TankId),
    /// A tank's overflow.
    Overflow(TankId),
}

/// The levels that stand on one panel.
pub(super) fn marks(frame: &Frame<'_>, panel: usize) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut mark = |spot, x, level_m| {
        marks.push(Mark { panel, at: Pt(x, frame.y(level_m)), spot });
    };
    let network = frame.input.network;
    if frame.is_first() {
        let id = frame.profile.downspout;
        let this = network.downspout(id);
        let x = frame.x(0.0);
        mark(Spot::Outlet(id), x, this.outlet.to_m());
        if let Some(rim) = this.leaf_head {
            mark(Spot::LeafHead(id), x, rim.to_m());
        }
        mark(Spot::Foot(id), x, this.foot.to_m());
    }
    for run in &frame.profile.runs {
        let line = network.line(run.line);
        let ends = if run.forward { [line.from, line.to] } else { [line.to, line.from] };
        for (index, vert) in here(frame, run) {
            let station = if run.forward { index } else { run.verts.len() - 1 - index };
            let x = frame.x(vert.x_m);
            mark(Spot::Station(run.line, station), x, vert.invert_m);
            let end = match index {
                0 => ends[0],
                _ if index + 1 == run.verts.len() => ends[1],
                _ => continue,
            };
            if let End::Point(id) = end {
                let point = network.point(id);
                mark(Spot::Point(id), x, point.level.to_m());
                if let Some(opening) = point.opening {
                    mark(Spot::Opening(id), x, opening.level.to_m());
                }
            }
        }
    }
    if frame.is_last()
        && let Some(End::Tank(id)) = finish(network, frame.profile)
        && let Some(end) = frame.profile.runs.last().and_then(|run| run.verts.last())
    {
        let tank = network.tank(id);
        let x = frame.x(end.x_m);
        mark(Spot::Inlet(id), x, tank.inlet.to_m());
        if let Some(overflow) = &tank.overflow {
            mark(Spot::Overflow(id), x + STUB_PT + frame.room.tank_pt(), overflow.level.to_m());
        }
    }
    marks
}

/// The places of a line that stand on this panel, each with its index on the way.
fn here<'r>(frame: &Frame<'_>, run: &'r Run) -> impl Iterator<Item = (usize, &'r Vert)> {
    let (first, last) = (*frame.nodes.start(), *frame.nodes.end());
    let node = run.first_node;
    run.verts.iter().enumerate().filter(move |(index, _)| (first..=last).contains(&(node + index)))
}
