//! Parts of a network that take the place of what they were: other pipes, levels and roofs, the same
//! joints. Only what is new is looked at, so a search over states need not build a network for each.

use crate::id::{DownspoutId, LineId, PointId, TankId};
use crate::network::Network;
use crate::parts::{Downspout, Line, Parts, Point, Tank};
use crate::problem::Problem;
use crate::validate::each;

impl Network {
    /// Puts a line in the place of one with the same tag and ends.
    ///
    /// # Errors
    /// What is wrong with it; then the network stays as it is.
    ///
    /// # Panics
    /// Where the network has no part of that id; so do the others.
    pub fn set_line(&mut self, id: LineId, line: Line) -> Result<(), Vec<Problem>> {
        let old = self.line(id);
        same((&line.tag, [line.from, line.to]), (&old.tag, [old.from, old.to]), &old.tag)?;
        let mut one = Parts { lines: vec![line], ..Parts::default() };
        holds(&one)?;
        std::mem::swap(&mut self.parts.lines[id.index()], &mut one.lines[0]);
        Ok(())
    }

    /// Puts a downspout in the place of one with the same tag.
    ///
    /// # Errors
    /// As [`Self::set_line`].
    pub fn set_downspout(
        &mut self,
        id: DownspoutId,
        downspout: Downspout,
    ) -> Result<(), Vec<Problem>> {
        let old = self.downspout(id);
        same(&downspout.tag, &old.tag, &old.tag)?;
        let mut one = Parts { downspouts: vec![downspout], ..Parts::default() };
        holds(&one)?;
        std::mem::swap(&mut self.parts.downspouts[id.index()], &mut one.downspouts[0]);
        Ok(())
    }

    /// Puts a point in the place of one with the same tag and branch, that opens or does not as well.
    ///
    /// # Errors
    /// As [`Self::set_line`].
    pub fn set_point(&mut self, id: PointId, point: Point) -> Result<(), Vec<Problem>> {
        let old = self.point(id);
        let joins = |point: &Point| point.fitting.map(|fitting| fitting.branch);
        let all = |point: &Point| (point.tag.clone(), joins(point), point.opening.is_some());
        same(all(&point), all(old), &old.tag)?;
        let mut one = Parts { points: vec![point], ..Parts::default() };
        holds(&one)?;
        std::mem::swap(&mut self.parts.points[id.index()], &mut one.points[0]);
        Ok(())
    }

    /// Puts a tank in the place of one with the same tag, which overflows into the same.
    ///
    /// # Errors
    /// As [`Self::set_line`].
    pub fn set_tank(&mut self, id: TankId, tank: Tank) -> Result<(), Vec<Problem>> {
        let old = self.tank(id);
        let to = |tank: &Tank| tank.overflow.as_ref().and_then(|overflow| overflow.to);
        same((&tank.tag, to(&tank)), (&old.tag, to(old)), &old.tag)?;
        let mut one = Parts { tanks: vec![tank], ..Parts::default() };
        holds(&one)?;
        std::mem::swap(&mut self.parts.tanks[id.index()], &mut one.tanks[0]);
        Ok(())
    }
}

fn same<T: PartialEq>(new: T, old: T, tag: &str) -> Result<(), Vec<Problem>> {
    if new == old { Ok(()) } else { Err(vec![Problem::OtherJoints { tag: tag.to_owned() }]) }
}

fn holds(one: &Parts) -> Result<(), Vec<Problem>> {
    let mut found = Vec::new();
    each(one, &mut found);
    if found.is_empty() { Ok(()) } else { Err(found) }
}
