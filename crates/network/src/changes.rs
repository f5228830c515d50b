//! What a drawing becomes when a drain is opened, an end plugged, or water poured into a line.
//!
//! What is added bears tags that begin with a blank, as no tag of a file does.

use crate::id::{DownspoutId, LineId, PointId, TankId};
use crate::parts::{Downspout, End, Line, LineEnd, Overflow, Parts, Pipe, Point, Station, Tank};
use wetrun_units::{Area, Length};

/// A stub: the shortest line there is.
const STUB: Length = Length::m(1e-3);
/// Water is poured in from so high that none of it comes back.
const POURED_FROM: Length = Length::m(1000.0);

impl Parts {
    /// Opens the drain of a point: a short pipe of its bore that ends at `outlet`, as a line into a
    /// tank of its own, which is returned. `k` is its loss, 0 or more, besides the jet's own head.
    /// `empty` tells that the solver is going to take tanks as empty. `None` where there is no drain.
    pub fn open_drain(
        &mut self,
        id: PointId,
        k: f64,
        outlet: Length,
        empty: bool,
    ) -> Option<TankId> {
        let point = self.points.get(id.index())?;
        let bore = point.drain?;
        let (level, tag) = (point.level, point.tag.clone());
        let at = if point.fitting.is_some() { self.beside(id)? } else { End::Point(id) };
        let tank = TankId::new(self.tanks.len());
        // Under water the end loses a whole velocity head; free, in a tank that is empty, a pipe that
        // runs full has its critical energy: its bore and the same.
        let inlet = if empty { outlet - bore } else { outlet - bore * 10.0 };
        let overflow = Overflow { level: outlet, pipe: None, to: None, k: 0.0 };
        self.tanks.push(Tank {
            tag: format!(" drain of {tag}"),
            inlet,
            overflow: Some(overflow),
            ..Tank::default()
        });
        let pipe = Pipe {
            label: format!(" drain of {tag}"),
            inside: bore,
            roughness: Some(Length::ZERO),
            c: Some(1000.0),
            ..Pipe::default()
        };
        let tag = format!(" drain of {tag} to the outlet");
        self.stub(tag, [at, End::Tank(tank)], pipe, [level, inlet]).k = k;
        Some(tank)
    }

    /// Plugs an end of a line: it ends there in a point that nothing else is joined to.
    pub fn plug(&mut self, id: LineId, end: LineEnd) {
        let line = &mut self.lines[id.index()];
        let level = line.end_level(end);
        let met = match end {
            LineEnd::From => &mut line.from,
            LineEnd::To => &mut line.to,
        };
        *met = End::Point(PointId::new(self.points.len()));
        let tag = format!(" plug {} at {}", self.points.len(), line.tag);
        self.points.push(Point { tag, level, ..Point::default() });
    }

    /// Pours the rain on a catchment into a line just beside one of its ends, by a downspout of its own.
    pub fn pour(&mut self, id: LineId, end: LineEnd, catchment: Area) -> DownspoutId {
        let line = &self.lines[id.index()];
        let (met, tag, pipe) = (line.end(end), line.tag.clone(), line.pipe.clone());
        let level = line.end_level(end);
        self.plug(id, end);
        let here = self.lines[id.index()].end(end);
        // The stub is the leg now where the line was one.
        let leg = LineId::new(self.lines.len());
        let fitting = match met {
            End::Point(point) => self.points[point.index()].fitting.as_mut(),
            _ => None,
        };
        if let Some(fitting) = fitting.filter(|fitting| fitting.branch == id) {
            fitting.branch = leg;
        }
        self.stub(format!(" {tag} beside its end"), [met, here], pipe.clone(), [level, level]);
        let downspout = DownspoutId::new(self.downspouts.len());
        let outlet = level + POURED_FROM;
        self.downspouts.push(Downspout {
            tag: format!(" poured into {tag}"),
            outlet,
            lip: outlet,
            foot: level,
            pipe: pipe.clone(),
            catchment,
            ..Downspout::default()
        });
        let tag = format!(" poured into {tag} at its end");
        self.stub(tag, [End::Downspout(downspout), here], pipe, [level, level]);
        downspout
    }

    /// A new point on a leg of a wye or tee, next to it: a fourth line cannot join it itself.
    fn beside(&mut self, id: PointId) -> Option<End> {
        let here = End::Point(id);
        let branch = self.points.get(id.index())?.fitting?.branch;
        let joined = |line: &Line| line.from == here || line.to == here;
        let lines = self.lines.iter().enumerate();
        let mut legs = lines.filter(|(index, line)| joined(line) && *index != branch.index());
        let (index, _) = legs.next()?;
        let new = End::Point(PointId::new(self.points.len()));
        let point = self.points.get(id.index())?;
        let (level, tag) = (point.level, format!(" beside {}", point.tag));
        self.points.push(Point { tag: tag.clone(), level, ..Point::default() });
        let line = &mut self.lines[index];
        let pipe = line.pipe.clone();
        if line.from == here {
            line.from = new;
        } else {
            line.to = new;
        }
        self.stub(format!("{tag} to it"), [here, new], pipe, [level, level]);
        Some(new)
    }

    /// A line of next to no length.
    fn stub(&mut self, tag: String, ends: [End; 2], pipe: Pipe, levels: [Length; 2]) -> &mut Line {
        let station = |at, level| Station { at, level, ground: None };
        let index = self.lines.len();
        self.lines.push(Line {
            tag,
            from: ends[0],
            to: ends[1],
            pipe,
            length: STUB,
            fittings: Vec::new(),
            k: 0.0,
            profile: vec![station(Length::ZERO, levels[0]), station(STUB, levels[1])],
        });
        &mut self.lines[index]
    }
}
