//! Where everything of a new site lies: a line along the wall that falls to a low point under the
//! tank, and a riser from there.

use super::grid::Grid;
use super::usual::Answers;
use wetrun_units::{Area, Length, UnitSystem};

/// A new site, all lengths and levels in steps of its grid.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) grid: Grid,
    pub(super) ground: i64,
    pub(super) downspouts: Vec<Spout>,
    pub(super) points: Vec<Spot>,
    pub(super) lines: Vec<Run>,
    /// The tank's inlet.
    pub(super) inlet: i64,
    /// Its place in plan.
    pub(super) tank_at: (i64, i64),
    /// The roof that drains to each downspout.
    pub(super) roof: Area,
}

/// A downspout.
#[derive(Clone, Debug)]
pub(super) struct Spout {
    pub(super) tag: String,
    pub(super) outlet: i64,
    pub(super) foot: i64,
    pub(super) at: (i64, i64),
}

/// A point.
#[derive(Clone, Debug)]
pub(super) struct Spot {
    pub(super) tag: String,
    pub(super) level: i64,
    pub(super) at: (i64, i64),
    pub(super) kind: SpotKind,
}

/// What a point is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum SpotKind {
    /// A branch comes in.
    Wye {
        /// The line that comes in at the angle.
        branch: String,
    },
    /// A long run can be opened there.
    Opening,
    /// The low point, with the drain.
    Low,
}

/// A line.
#[derive(Clone, Debug)]
pub(super) struct Run {
    pub(super) tag: String,
    pub(super) from: String,
    pub(super) to: String,
    pub(super) length: i64,
    /// Inverts of its ends.
    pub(super) ends: [i64; 2],
    pub(super) fittings: &'static str,
    /// Whether it rises out of the ground to the tank.
    pub(super) riser: bool,
}

/// The line falls by one in so many, towards the low point. This and what else is laid out here (the
/// falls, fittings and distances) is common practice with no source: a start to be changed on site.
const FALL: i64 = 200;
/// Branches fall to it by one in so many.
const BRANCH_FALL: i64 = 100;
/// What the foot of a downspout and a turn into the line cost.
const FOOT: &str = "{ bend-90: 1, bend-45: 1 }";
const FIRST: &str = "{ bend-90: 1, bend-45: 2 }";
const TO_TANK: &str = "{ bend-45: 2 }";
const RISER: &str = "{ bend-90: 2 }";
const NONE: &str = "";

/// Why there is no wet line between such answers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct BelowTheLine {
    /// The lowest that the inlet may be, above the ground.
    pub(super) least: Length,
}

impl Plan {
    /// Lays out a site.
    ///
    /// # Errors
    /// An inlet that lies no higher than the line that shall rise to it.
    pub(super) fn new(answers: &Answers) -> Result<Self, BelowTheLine> {
        let grid = Grid { units: answers.units };
        let ground = grid.round(100.0, 100.0);
        let count = answers.downspouts;
        let (offset, spacing) = (grid.round(5.0, 1.5), grid.steps(answers.spacing).max(1));
        let distance = grid.steps(answers.distance).max(1);
        let foot = ground - grid.steps(answers.depth).max(1);
        let mut plan = Self {
            grid,
            ground,
            downspouts: Vec::new(),
            points: Vec::new(),
            lines: Vec::new(),
            inlet: ground + grid.steps(answers.inlet),
            tank_at: (0, -offset),
            roof: share(answers.roof, count, answers.units),
        };
        for index in 0..count as usize {
            let eave = answers.eaves.get(index).or(answers.eaves.first()).copied();
            plan.downspouts.push(Spout {
                tag: format!("D{}", index + 1),
                outlet: ground + grid.steps(eave.unwrap_or_default()).max(1),
                foot,
                at: (index as i64 * spacing, 0),
            });
        }
        let mut here = ("D1".to_owned(), foot, (0, -offset), offset);
        for index in 1..count as usize {
            let (tag, branch) = (format!("W{}", index + 1), format!("B{}", index + 1));
            let at = (index as i64 * spacing, -offset);
            let level =
                (here.1 - fall(here.3 + spacing, FALL)).min(foot - fall(offset, BRANCH_FALL));
            let fittings = if index == 1 { FIRST } else { NONE };
            plan.run(&here, here.3 + spacing, (&tag, level), fittings);
            plan.lines.push(Run {
                tag: branch.clone(),
                from: format!("D{}", index + 1),
                to: tag.clone(),
                length: offset,
                ends: [foot, level],
                fittings: FOOT,
                riser: false,
            });
            plan.points.push(Spot { tag: tag.clone(), level, at, kind: SpotKind::Wye { branch } });
            here = (tag, level, at, 0);
        }
        let way = here.3 + distance;
        let level = here.1 - fall(way, FALL);
        let at = (here.2.0 + distance, -offset);
        let fittings = if count == 1 { FIRST } else { TO_TANK };
        plan.run(&here, way, ("P1", level), fittings);
        plan.points.push(Spot { tag: "P1".to_owned(), level, at, kind: SpotKind::Low });
        plan.tank_at = at;
        let least = level + grid.round(1.0, 0.3);
        if plan.inlet < least {
            return Err(BelowTheLine { least: grid.length(least - ground) });
        }
        plan.lines.push(Run {
            tag: format!("M{}", plan.trunk() + 1),
            from: "P1".to_owned(),
            to: "T1".to_owned(),
            length: plan.inlet - level,
            ends: [level, plan.inlet],
            fittings: RISER,
            riser: true,
        });
        Ok(plan)
    }

    /// How many lines the trunk has so far.
    fn trunk(&self) -> usize {
        self.lines.iter().filter(|line| line.tag.starts_with('M')).count()
    }

    /// A run of the trunk, with openings between where it is long.
    fn run(
        &mut self,
        from: &(String, i64, (i64, i64), i64),
        length: i64,
        to: (&str, i64),
        fittings: &'static str,
    ) {
        let longest = self.grid.round(90.0, 28.0);
        let pieces = (length + longest - 1) / longest;
        let (mut before, mut start) = ((from.0.clone(), from.1), 0);
        for piece in 1..=pieces {
            let end = length * piece / pieces;
            let level = from.1 + (to.1 - from.1) * piece / pieces;
            let tag = match piece == pieces {
                true => to.0.to_owned(),
                false => {
                    let opening = |spot: &&Spot| spot.kind == SpotKind::Opening;
                    let number = self.points.iter().filter(opening).count() + 1;
                    let at = (from.2.0 + (end - from.3).max(0), from.2.1);
                    let tag = format!("C{number}");
                    self.points.push(Spot { tag: tag.clone(), level, at, kind: SpotKind::Opening });
                    tag
                }
            };
            self.lines.push(Run {
                tag: format!("M{}", self.trunk() + 1),
                from: before.0,
                to: tag.clone(),
                length: end - start,
                ends: [before.1, level],
                fittings: if piece == 1 { fittings } else { NONE },
                riser: false,
            });
            (before, start) = ((tag, level), end);
        }
    }
}

/// An equal share of the roof, in round numbers and not less.
fn share(roof: Area, count: u32, units: UnitSystem) -> Area {
    let step_m2 = match units {
        UnitSystem::Us => 0.09290304,
        UnitSystem::Si => 0.1,
    };
    let steps = wetrun_units::whole_steps_up(roof.to_m2() / f64::from(count) / step_m2);
    Area::m2(steps * step_m2)
}

/// How far a run falls, a step at least.
fn fall(length: i64, one_in: i64) -> i64 {
    (length / one_in).max(1)
}
