//! The validated network, and the only door to it.

use crate::graph::{Graph, graph};
use crate::id::{DownspoutId, LineId, PointId, TankId};
use crate::parts::{Downspout, End, Line, Opening, Parts, Point, Tank};
use crate::problem::Problem;

/// A network that holds: every id exists, lengths and bores are positive and finite, every
/// downspout has a way to a tank. Items keep the order of the file.
#[derive(Clone, Debug)]
pub struct Network {
    pub(crate) parts: Parts,
    pub(crate) graph: Graph,
}

impl PartialEq for Network {
    fn eq(&self, other: &Self) -> bool {
        self.parts == other.parts // the graph follows from them
    }
}

impl Network {
    /// Makes a network of `parts`.
    ///
    /// # Errors
    /// Every [`Problem`] found, in the order of the parts.
    pub fn build(parts: Parts) -> Result<Self, Vec<Problem>> {
        let problems = crate::validate::problems(&parts);
        if problems.is_empty() { Ok(Self { graph: graph(&parts), parts }) } else { Err(problems) }
    }

    pub(crate) fn parts(&self) -> &Parts {
        &self.parts
    }

    /// The plain parts, to change and build anew.
    pub fn to_parts(&self) -> Parts {
        self.parts.clone()
    }

    /// Downspouts in file order.
    pub fn downspouts(&self) -> &[Downspout] {
        &self.parts.downspouts
    }

    /// Points in file order.
    pub fn points(&self) -> &[Point] {
        &self.parts.points
    }

    /// The points that have an opening, in file order.
    pub fn openings(&self) -> impl Iterator<Item = (PointId, Opening)> + '_ {
        let points = self.parts.points.iter().enumerate();
        points.filter_map(|(index, point)| Some((PointId::new(index), point.opening?)))
    }

    /// Lines in file order.
    pub fn lines(&self) -> &[Line] {
        &self.parts.lines
    }

    /// Tanks in file order.
    pub fn tanks(&self) -> &[Tank] {
        &self.parts.tanks
    }

    /// The downspout of an id.
    pub fn downspout(&self, id: DownspoutId) -> &Downspout {
        &self.parts.downspouts[id.index()]
    }

    /// The point of an id.
    pub fn point(&self, id: PointId) -> &Point {
        &self.parts.points[id.index()]
    }

    /// The line of an id.
    pub fn line(&self, id: LineId) -> &Line {
        &self.parts.lines[id.index()]
    }

    /// The tank of an id.
    pub fn tank(&self, id: TankId) -> &Tank {
        &self.parts.tanks[id.index()]
    }

    /// The tag of what a line's end is joined to.
    pub fn end_tag(&self, end: End) -> &str {
        match end {
            End::Downspout(id) => &self.downspout(id).tag,
            End::Point(id) => &self.point(id).tag,
            End::Tank(id) => &self.tank(id).tag,
        }
    }
}
