//! The level that a water test is held at: where a blocked outlet would let the water out.

use crate::network::Network;
use crate::parts::{End, OpeningKind};
use crate::{DownspoutId, LineId, PointId};
use wetrun_units::Length;

/// What lets water out at a [`TestLevel`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mouth {
    /// The lip of a gutter.
    Lip(DownspoutId),
    /// The rim of an open leaf head.
    LeafHead(DownspoutId),
    /// The open top of a vent.
    Vent(PointId),
    /// The loose cap of a cleanout.
    Cap(PointId),
}

impl Mouth {
    /// The end of a line that it stands over.
    pub fn end(self) -> End {
        match self {
            Self::Lip(id) | Self::LeafHead(id) => End::Downspout(id),
            Self::Vent(id) | Self::Cap(id) => End::Point(id),
        }
    }

    /// What it is, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Lip(_) => "gutter lip",
            Self::LeafHead(_) => "leaf head",
            Self::Vent(_) => "vent",
            Self::Cap(_) => "open cap",
        }
    }
}

/// A group of pipes that are connected without passing a tank, and the lowest level at which water
/// leaves it when its outlet is blocked.
#[derive(Clone, Debug, PartialEq)]
pub struct TestLevel {
    /// The level.
    pub level: Length,
    /// What lets the water out there.
    pub mouth: Mouth,
    /// The lines of the group, in file order.
    pub lines: Vec<LineId>,
}

impl Network {
    /// The test level of each group of connected pipes that has an opening: the lowest lip, leaf
    /// head, vent or open cap. Groups stand in the order of their first line.
    ///
    /// # Complexity
    /// Time and space linear in the number of pieces, nearly.
    pub fn test_levels(&self) -> Vec<TestLevel> {
        let groups = self.groups();
        let mut lowest: Vec<Option<(Length, Mouth)>> = vec![None; self.places()];
        for (level, mouth) in self.mouths() {
            let lowest = &mut lowest[groups.of(self, mouth.end()).index()];
            if lowest.is_none_or(|(least, _)| level < least) {
                *lowest = Some((level, mouth));
            }
        }
        let mut found: Vec<TestLevel> = Vec::new();
        let mut told: Vec<Option<usize>> = vec![None; self.places()];
        for (index, line) in self.lines().iter().enumerate() {
            let Some(group) = groups.of_line(self, line).map(|group| group.index()) else {
                continue;
            };
            let Some((level, mouth)) = lowest[group] else { continue };
            let test = *told[group].get_or_insert_with(|| {
                found.push(TestLevel { level, mouth, lines: Vec::new() });
                found.len() - 1
            });
            found[test].lines.push(LineId::new(index));
        }
        found
    }

    /// Everything that can let water out, with its level.
    fn mouths(&self) -> impl Iterator<Item = (Length, Mouth)> + '_ {
        let downspouts = self.downspouts().iter().enumerate().map(|(index, downspout)| {
            let id = DownspoutId::new(index);
            let leaf_head = downspout.leaf_head.is_some();
            let mouth = if leaf_head { Mouth::LeafHead(id) } else { Mouth::Lip(id) };
            (downspout.spill_level(), mouth)
        });
        let points = self.openings().map(|(id, opening)| {
            let mouth = match opening.kind {
                OpeningKind::Vent => Mouth::Vent(id),
                OpeningKind::Cap => Mouth::Cap(id),
            };
            (opening.level, mouth)
        });
        downspouts.chain(points)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::TankId;
    use crate::parts::{Downspout, Line, Opening, Parts, Pipe, Point, Station, Tank};

    /// Two groups that meet in one tank: D0 with a lip at 3.1 m and P0 with a vent at 2.9 m; D1
    /// with a leaf head at 2.5 m below its lip.
    #[test]
    fn the_lowest_opening_of_each_group() {
        let downspout = |tag: &str, rim: Option<f64>| Downspout {
            tag: tag.to_owned(),
            outlet: Length::m(3.0),
            lip: Length::m(3.1),
            leaf_head: rim.map(Length::m),
            pipe: Pipe { inside: Length::m(0.1), ..Pipe::default() },
            ..Downspout::default()
        };
        let vent = Opening { kind: OpeningKind::Vent, level: Length::m(2.9) };
        let point = Point { tag: "P0".to_owned(), opening: Some(vent), ..Point::default() };
        let line = |tag: &str, from: End, to: End| Line {
            tag: tag.to_owned(),
            from,
            to,
            pipe: Pipe { inside: Length::m(0.1), ..Pipe::default() },
            length: Length::m(1.0),
            fittings: Vec::new(),
            k: 0.0,
            profile: [0.0, 1.0]
                .map(|at| Station { at: Length::m(at), level: Length::ZERO, ground: None })
                .to_vec(),
        };
        let (d0, d1) = (DownspoutId::new(0), DownspoutId::new(1));
        let p0 = PointId::new(0);
        let tank = End::Tank(TankId::new(0));
        let parts = Parts {
            downspouts: vec![downspout("D0", None), downspout("D1", Some(2.5))],
            points: vec![point],
            lines: vec![
                line("L0", End::Downspout(d0), End::Point(p0)),
                line("L1", End::Downspout(d1), tank),
                line("L2", End::Point(p0), tank),
            ],
            tanks: vec![Tank { tag: "T0".to_owned(), ..Tank::default() }],
        };
        let found = Network::build(parts).unwrap().test_levels();
        let lines = |of: &[usize]| of.iter().map(|&i| LineId::new(i)).collect::<Vec<_>>();
        let vent =
            TestLevel { level: Length::m(2.9), mouth: Mouth::Vent(p0), lines: lines(&[0, 2]) };
        let rim =
            TestLevel { level: Length::m(2.5), mouth: Mouth::LeafHead(d1), lines: lines(&[1]) };
        assert_eq!(found, [vent, rim]);
    }
}
