//! The levels that somebody sets, and what moves with each of them.

use wetrun_network::{DownspoutId, End, LineEnd, LineId, Network, Opening, Parts, PointId, TankId};
use wetrun_units::Length;

/// A level that somebody sets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetPoint {
    /// A tank's inlet. Line ends at the tank that have no level of their own move with it.
    Inlet(TankId),
    /// A tank's overflow.
    Overflow(TankId),
    /// The opening of a downspout: its leaf head, else its gutter outlet. The lip keeps its
    /// height above the outlet.
    Opening(DownspoutId),
    /// The foot of a downspout. Line ends there that have no level of their own move with it.
    Foot(DownspoutId),
    /// The invert at a point. Line ends there that have no level of their own move with it.
    Point(PointId),
    /// A line's end that has a level of its own.
    End(LineId, LineEnd),
    /// An invert along a line, between its ends.
    Station(LineId, usize),
    /// The top of a vent.
    Vent(PointId),
    /// The loose cap of a cleanout.
    Cap(PointId),
    /// Where a low-point drain runs out.
    DrainOutlet(PointId),
}

/// What stands at a point besides its invert, where its level is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PointLevels {
    /// The top of its vent.
    pub vent: Option<Length>,
    /// The loose cap of its cleanout.
    pub cap: Option<Length>,
    /// Where its drain runs out.
    pub drain_outlet: Option<Length>,
}

/// For each line whether its two ends have levels of their own, start first; else they take the
/// level of what they are joined to, and move with it.
pub type OwnEnds = Vec<[bool; 2]>;

/// Every level that somebody sets: tanks, downspouts, points, lines, then what stands at points,
/// each in file order.
pub fn set_points(network: &Network, own_ends: &OwnEnds, points: &[PointLevels]) -> Vec<SetPoint> {
    let mut all = Vec::new();
    for (index, tank) in network.tanks().iter().enumerate() {
        let id = TankId::new(index);
        all.push(SetPoint::Inlet(id));
        all.extend(tank.overflow.as_ref().map(|_| SetPoint::Overflow(id)));
    }
    for index in 0..network.downspouts().len() {
        let id = DownspoutId::new(index);
        all.extend([SetPoint::Opening(id), SetPoint::Foot(id)]);
    }
    all.extend((0..network.points().len()).map(|index| SetPoint::Point(PointId::new(index))));
    for (index, line) in network.lines().iter().enumerate() {
        let id = LineId::new(index);
        let [from, to] = own_ends.get(index).copied().unwrap_or_default();
        all.extend(from.then_some(SetPoint::End(id, LineEnd::From)));
        let inner = 1..line.profile.len().saturating_sub(1);
        all.extend(inner.map(|station| SetPoint::Station(id, station)));
        all.extend(to.then_some(SetPoint::End(id, LineEnd::To)));
    }
    for (index, levels) in points.iter().enumerate() {
        let id = PointId::new(index);
        all.extend(levels.vent.map(|_| SetPoint::Vent(id)));
        all.extend(levels.cap.map(|_| SetPoint::Cap(id)));
        all.extend(levels.drain_outlet.map(|_| SetPoint::DrainOutlet(id)));
    }
    all
}

impl SetPoint {
    /// The tag of what it belongs to.
    pub fn tag(self, network: &Network) -> &str {
        match self {
            Self::Inlet(id) | Self::Overflow(id) => &network.tank(id).tag,
            Self::Opening(id) | Self::Foot(id) => &network.downspout(id).tag,
            Self::Point(id) | Self::Vent(id) | Self::Cap(id) | Self::DrainOutlet(id) => {
                &network.point(id).tag
            }
            Self::End(id, _) | Self::Station(id, _) => &network.line(id).tag,
        }
    }

    /// The site file's key: `inlet`, `overflow.level`, `profile[1].level`.
    pub fn key(self, network: &Network) -> String {
        match self {
            Self::Inlet(_) => "inlet".to_owned(),
            Self::Overflow(_) => "overflow.level".to_owned(),
            Self::Opening(id) if network.downspout(id).leaf_head.is_some() => {
                "leaf_head".to_owned()
            }
            Self::Opening(_) => "outlet".to_owned(),
            Self::Foot(_) => "foot".to_owned(),
            Self::Point(_) => "level".to_owned(),
            Self::End(_, LineEnd::From) => "from_level".to_owned(),
            Self::End(_, LineEnd::To) => "to_level".to_owned(),
            Self::Station(_, station) => format!("profile[{station}].level"),
            Self::Vent(_) => "vent.level".to_owned(),
            Self::Cap(_) => "cap".to_owned(),
            Self::DrainOutlet(_) => "drain_outlet.level".to_owned(),
        }
    }

    /// The level as it is drawn.
    pub fn level(self, network: &Network, points: &[PointLevels]) -> Length {
        let at = |id: PointId| points.get(id.index()).copied().unwrap_or_default();
        match self {
            Self::Inlet(id) => network.tank(id).inlet,
            Self::Overflow(id) => {
                network.tank(id).overflow.as_ref().map_or(Length::ZERO, |o| o.level)
            }
            Self::Opening(id) => network.downspout(id).opening(),
            Self::Foot(id) => network.downspout(id).foot,
            Self::Point(id) => network.point(id).level,
            Self::End(id, end) => network.line(id).end_level(end),
            Self::Station(id, station) => {
                network.line(id).profile.get(station).map_or(Length::ZERO, |s| s.level)
            }
            Self::Vent(id) => at(id).vent.unwrap_or_default(),
            Self::Cap(id) => at(id).cap.unwrap_or_default(),
            Self::DrainOutlet(id) => at(id).drain_outlet.unwrap_or_default(),
        }
    }

    /// The levels between which it makes a valid network with the rest as it is: an opening not
    /// below its foot, a foot not above its opening, a leaf head not above the gutter outlet.
    pub(crate) fn valid(self, network: &Network) -> (f64, f64) {
        match self {
            Self::Opening(id) => {
                let this = network.downspout(id);
                let top = this.leaf_head.map_or(f64::INFINITY, |_| this.outlet.to_m());
                (this.foot.to_m(), top)
            }
            Self::Foot(id) => (f64::NEG_INFINITY, network.downspout(id).opening().to_m()),
            _ => (f64::NEG_INFINITY, f64::INFINITY),
        }
    }

    /// The same levels: nothing where it may go as far as one likes.
    pub fn bounds(self, network: &Network) -> [Option<Length>; 2] {
        let (low_m, high_m) = self.valid(network);
        [low_m, high_m].map(|m| m.is_finite().then_some(Length::m(m)))
    }

    /// Puts it at `level`, with all that moves with it.
    pub(crate) fn put(
        self,
        parts: &mut Parts,
        points: &mut [PointLevels],
        own_ends: &OwnEnds,
        level: Length,
    ) {
        match self {
            Self::Inlet(id) => {
                if let Some(tank) = parts.tanks.get_mut(id.index()) {
                    tank.inlet = level;
                }
                follow(parts, own_ends, End::Tank(id), level);
            }
            Self::Overflow(id) => {
                let tank = parts.tanks.get_mut(id.index());
                if let Some(overflow) = tank.and_then(|tank| tank.overflow.as_mut()) {
                    overflow.level = level;
                }
            }
            Self::Opening(id) => {
                let Some(this) = parts.downspouts.get_mut(id.index()) else { return };
                if this.leaf_head.is_some() {
                    this.leaf_head = Some(level);
                } else {
                    this.lip = level + (this.lip - this.outlet);
                    this.outlet = level;
                }
            }
            Self::Foot(id) => {
                if let Some(this) = parts.downspouts.get_mut(id.index()) {
                    this.foot = level;
                }
                follow(parts, own_ends, End::Downspout(id), level);
            }
            Self::Point(id) => {
                if let Some(point) = parts.points.get_mut(id.index()) {
                    point.level = level;
                }
                follow(parts, own_ends, End::Point(id), level);
            }
            Self::End(id, end) => {
                let Some(line) = parts.lines.get_mut(id.index()) else { return };
                let station = match end {
                    LineEnd::From => line.profile.first_mut(),
                    LineEnd::To => line.profile.last_mut(),
                };
                if let Some(station) = station {
                    station.level = level;
                }
            }
            Self::Station(id, station) => {
                let line = parts.lines.get_mut(id.index());
                if let Some(station) = line.and_then(|line| line.profile.get_mut(station)) {
                    station.level = level;
                }
            }
            Self::Vent(id) | Self::Cap(id) | Self::DrainOutlet(id) => {
                let Some(here) = points.get_mut(id.index()) else { return };
                match self {
                    Self::Vent(_) => here.vent = Some(level),
                    Self::Cap(_) => here.cap = Some(level),
                    _ => here.drain_outlet = Some(level),
                }
                if let Some(point) = parts.points.get_mut(id.index()) {
                    point.opening = Opening::lowest(here.vent, here.cap);
                }
            }
        }
    }

    /// Whether it is worst low: an opening is, everything else is worst high.
    pub(crate) const fn worst_low(self) -> bool {
        matches!(self, Self::Opening(_) | Self::Vent(_) | Self::Cap(_))
    }

    /// Whether the water knows of it: a drain is shut in the storm.
    pub(crate) const fn bears_on_the_storm(self) -> bool {
        !matches!(self, Self::DrainOutlet(_))
    }
}

/// Moves the ends of lines joined to `end` that have no level of their own.
fn follow(parts: &mut Parts, own_ends: &OwnEnds, end: End, level: Length) {
    for (index, line) in parts.lines.iter_mut().enumerate() {
        let [own_from, own_to] = own_ends.get(index).copied().unwrap_or_default();
        if line.from == end
            && !own_from
            && let Some(station) = line.profile.first_mut()
        {
            station.level = level;
        }
        if line.to == end
            && !own_to
            && let Some(station) = line.profile.last_mut()
        {
            station.level = level;
        }
    }
}
