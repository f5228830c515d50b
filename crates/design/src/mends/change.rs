//! What a mend changes, and the drawing with it changed.

use crate::levels::{Drawn, SetPoint};
use wetrun_network::{LineId, Network, Pipe, TankId};
use wetrun_units::Length;

/// One value that a mend changes.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// A level, with all that moves with it.
    Level {
        /// Which.
        at: SetPoint,
        /// As it is drawn.
        from: Length,
        /// As it is to be.
        to: Length,
    },
    /// A line's pipe.
    Pipe(LineId, Pipe),
    /// The pipe of a tank's overflow.
    OverflowPipe(TankId, Pipe),
    /// The top of a tank's wall.
    Rim {
        /// The tank.
        at: TankId,
        /// As it is drawn.
        from: Length,
        /// As it is to be.
        to: Length,
    },
}

/// A way out of a failure: all of its changes together.
#[derive(Clone, Debug, PartialEq)]
pub struct Mend {
    /// What changes, in the order in which it is told.
    pub changes: Vec<Change>,
}

impl Change {
    /// How far a level moves, in metres; nothing for a pipe.
    pub(crate) fn distance_m(&self) -> f64 {
        match self {
            Self::Level { from, to, .. } | Self::Rim { from, to, .. } => (*to - *from).to_m().abs(),
            Self::Pipe(..) | Self::OverflowPipe(..) => 0.0,
        }
    }
}

/// The drawing with changes made; `None` where they make no network.
pub(crate) fn changed(drawn: &Drawn, changes: &[Change]) -> Option<Drawn> {
    let mut parts = drawn.network.to_parts();
    let mut points = drawn.points.clone();
    for change in changes {
        match change {
            Change::Level { at, to, .. } => {
                at.put(&mut parts, &mut points, &drawn.own_ends, *to);
            }
            Change::Pipe(line, pipe) => parts.lines.get_mut(line.index())?.pipe = pipe.clone(),
            Change::OverflowPipe(tank, pipe) => {
                let tank = parts.tanks.get_mut(tank.index())?;
                tank.overflow.as_mut()?.pipe = Some(pipe.clone());
            }
            Change::Rim { at, to, .. } => parts.tanks.get_mut(at.index())?.rim = Some(*to),
        }
    }
    let network = Network::build(parts).ok()?;
    Some(Drawn { network, points, ..drawn.clone() })
}
