//! A long section at true scale: inverts, crowns, ground, grade line, rest levels, and their numbers.

use super::model::{At, Held, Layer, Model, at, cut, width_m};
use super::{Way, finish};
use crate::input::SheetInput;
use crate::section::profile::{Node, NodeKind, Run, along};
use crate::section::round_step;
use crate::section::stack::spread;
use crate::values::{level, mouth, mouth_name, opening_name, pipe_name};
use wetrun_network::{End, TankId};
use wetrun_units::{Length, UnitSystem};

/// Names of lines and points are cut to this many characters beside what they name; programs find the
/// whole of them with the line.
const MOST_CHARS: usize = 24;

/// A section, laid out.
pub(super) struct Section<'a> {
    input: &'a SheetInput<'a>,
    way: &'a Way,
    finish: End,
    runs: Vec<Run>,
    nodes: Vec<Node>,
    length_m: f64,
    low_m: f64,
    high_m: f64,
    /// How high its letters are.
    pub(super) height_m: f64,
}

/// How far a section reaches once it is drawn.
pub(super) struct Drawn {
    pub(super) right_m: f64,
    pub(super) bottom_m: f64,
    pub(super) top_m: f64,
}

/// What a row of the band says of a place.
type Value<'f> = &'f dyn Fn(&Node) -> String;

/// A level to be named beside the drawing.
struct Named {
    name: String,
    level_m: f64,
}

impl<'a> Section<'a> {
    /// Lays a way out.
    pub(super) fn of(input: &'a SheetInput<'a>, way: &'a Way) -> Self {
        let (runs, nodes) = along(input, way.from, &way.lines);
        let length_m = nodes.last().map_or(0.0, |node| node.vert.x_m);
        let mut section = Self {
            input,
            way,
            finish: finish(input, way),
            runs,
            nodes,
            length_m,
            low_m: 0.0,
            high_m: 0.0,
            height_m: 0.0,
        };
        let levels = section.levels();
        section.low_m = levels.iter().copied().fold(f64::INFINITY, f64::min);
        section.high_m = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let tall_m = section.high_m - section.low_m;
        section.height_m = (length_m.max(1.5 * tall_m) / 130.0).max(0.01);
        section
    }

    /// Room for names left of the section.
    pub(super) fn left_m(&self) -> f64 {
        self.height_m * 34.0
    }

    fn levels(&self) -> Vec<f64> {
        let nodes = self.nodes.iter().flat_map(|node| {
            let vert = &node.vert;
            [Some(vert.invert_m), Some(node.crown_m), Some(vert.head_m), vert.ground_m, vert.rest_m]
        });
        let mut levels: Vec<f64> = nodes.flatten().collect();
        levels.extend(self.start().iter().chain(&self.end()).map(|named| named.level_m));
        let openings = self.nodes.iter().filter_map(|node| self.opening_m(node));
        levels.extend(openings);
        levels
    }

    fn opening_m(&self, node: &Node) -> Option<f64> {
        let NodeKind::Point(id) = node.kind else { return None };
        self.input.network.point(id).opening.map(|opening| opening.level.to_m())
    }

    /// The levels at the downspout, where the section begins at one.
    fn start(&self) -> Vec<Named> {
        let End::Downspout(id) = self.way.from else { return Vec::new() };
        let downspout = self.input.network.downspout(id);
        let state = &self.input.steady.downspouts[id.index()];
        let mut levels = vec![
            named("gutter lip", downspout.lip),
            named("gutter outlet", downspout.outlet),
            named("standing level", state.standing_level),
            named("foot", downspout.foot),
        ];
        levels.extend(downspout.leaf_head.map(|rim| named("leaf head rim", rim)));
        levels
    }

    /// The levels of the tank, where it ends at one.
    fn end(&self) -> Vec<Named> {
        let End::Tank(id) = self.finish else { return Vec::new() };
        let tank = self.input.network.tank(id);
        let state = &self.input.steady.tanks[id.index()];
        let mut levels = vec![named("inlet", tank.inlet)];
        levels.extend(tank.overflow.as_ref().map(|overflow| named("overflow", overflow.level)));
        levels.extend(state.water_level.map(|water| named("water in the storm", water)));
        levels.extend(tank.floor.map(|floor| named("floor", floor)));
        levels.extend(tank.rim.map(|rim| named("rim", rim)));
        levels
    }

    /// Draws it from `start_m` on.
    pub(super) fn draw(&self, model: &mut Model, start_m: f64) -> Drawn {
        let height_m = self.height_m;
        let base_m = self.low_m - 4.0 * height_m;
        let top_m = self.high_m + 4.0 * height_m;
        model.text(Layer::Text, at(start_m, top_m + height_m), 1.6 * height_m, &self.title());
        self.level_rule(model, start_m - 24.0 * height_m, top_m);
        for run in &self.runs {
            self.run(model, run, start_m);
        }
        self.ground(model, start_m);
        for node in &self.nodes {
            self.node(model, node, start_m);
        }
        self.downspout(model, start_m);
        let right_m = self.tank(model, start_m);
        let bottom_m = self.band(model, start_m, base_m);
        Drawn { right_m, bottom_m, top_m }
    }

    fn title(&self) -> String {
        let tag = |end: End| cut(self.input.network.end_tag(end), MOST_CHARS);
        if self.runs.is_empty() {
            return format!("TANK {}", tag(self.finish));
        }
        format!("LONG SECTION {} TO {}", tag(self.way.from), tag(self.finish))
    }

    /// A rule of levels.
    fn level_rule(&self, model: &mut Model, x_m: f64, top_m: f64) {
        let unit_m = match self.input.units {
            UnitSystem::Us => 0.3048,
            UnitSystem::Si => 1.0,
        };
        let step = round_step((self.high_m - self.low_m) / unit_m);
        let first = (self.low_m / unit_m / step).floor();
        let mut tick = first;
        while tick * step * unit_m <= top_m {
            let y_m = tick * step * unit_m;
            model.tick(Layer::Frame, at(x_m - 0.5 * self.height_m, y_m), at(x_m, y_m));
            let text = wetrun_units::decimal(tick * step, if step < 0.1 { 2 } else { 1 });
            let place = at(x_m - self.height_m, y_m - 0.5 * self.height_m);
            model.held(Layer::Frame, place, self.height_m, Held::Right, &text);
            tick += 1.0;
        }
        let (low, high) = (first * step * unit_m, (tick - 1.0) * step * unit_m);
        model.tick(Layer::Frame, at(x_m, low), at(x_m, high));
    }

    fn run(&self, model: &mut Model, run: &Run, start_m: f64) {
        let line = self.input.network.line(run.line);
        let invert: Vec<At> = run.verts.iter().map(|v| at(start_m + v.x_m, v.invert_m)).collect();
        model.path(Layer::Crown, beside(&invert, run.bore_m), &line.tag);
        model.path(Layer::Pipe, invert, &line.tag);
        let grade = run.grade.iter().map(|head| at(start_m + head.x_m, head.head_m)).collect();
        model.path(Layer::StormGrade, grade, &line.tag);
        for pair in run.verts.windows(2) {
            // Of two levels the higher is that of a crest at one end: the stretch holds the lower.
            let levels = [pair[0].rest_m, pair[1].rest_m].into_iter().flatten();
            let Some(level_m) = levels.min_by(f64::total_cmp) else { continue };
            // Up to where the invert rises out of the water.
            let edge_m = |this: usize| {
                let (here, there) = (&pair[this], &pair[1 - this]);
                if here.invert_m <= level_m {
                    return here.x_m;
                }
                let part = (level_m - there.invert_m) / (here.invert_m - there.invert_m);
                there.x_m + (here.x_m - there.x_m) * part.clamp(0.0, 1.0)
            };
            let places = vec![at(start_m + edge_m(0), level_m), at(start_m + edge_m(1), level_m)];
            model.path(Layer::Rest, places, &line.tag);
        }
        // The line's name over its longest stretch.
        let longest = run
            .verts
            .windows(2)
            .max_by(|a, b| (a[1].x_m - a[0].x_m).total_cmp(&(b[1].x_m - b[0].x_m)));
        let Some([from, to]) = longest else { return };
        let words = format!(
            "{}  {}  {}",
            cut(&line.tag, MOST_CHARS),
            cut(&pipe_name(self.input.units, &line.pipe), MOST_CHARS),
            self.input.units.show_length(line.length),
        );
        let words = if width_m(&words, self.height_m) > to.x_m - from.x_m {
            cut(&line.tag, MOST_CHARS)
        } else {
            words
        };
        let middle_m = start_m + (from.x_m + to.x_m) / 2.0;
        let y_m = (from.invert_m + to.invert_m) / 2.0 - 1.8 * self.height_m;
        model.held(Layer::Text, at(middle_m, y_m), self.height_m, Held::Middle, &words);
    }

    /// The ground, in pieces where it is not known all the way.
    fn ground(&self, model: &mut Model, start_m: f64) {
        for piece in self.nodes.split(|node| node.vert.ground_m.is_none()) {
            let places = piece
                .iter()
                .filter_map(|node| Some(at(start_m + node.vert.x_m, node.vert.ground_m?)));
            model.path(Layer::Ground, places.collect(), "ground");
        }
    }

    /// The mark of a level on the pipe, and what stands over a point.
    fn node(&self, model: &mut Model, node: &Node, start_m: f64) {
        let x_m = start_m + node.vert.x_m;
        let name = match node.tag.as_str() {
            "" => "invert".to_owned(),
            tag => format!("{tag} invert"),
        };
        model.mark(Layer::Levels, at(x_m, node.vert.invert_m), name);
        let NodeKind::Point(id) = node.kind else { return };
        let Some(mouth) = mouth(self.input, id) else { return };
        let (top_m, kind) = (mouth.opening.level.to_m(), mouth_name(mouth.opening.kind));
        model.path(Layer::Upright, vec![at(x_m, node.crown_m), at(x_m, top_m)], kind);
        model.mark(Layer::Levels, at(x_m, top_m), format!("{} {kind}", node.tag));
        let words = format!("{kind} {}", level(self.input.units, mouth.opening.level));
        let place = at(x_m + 0.6 * self.height_m, top_m);
        model.text(Layer::Levels, place, self.height_m, &words);
    }

    fn downspout(&self, model: &mut Model, start_m: f64) {
        let End::Downspout(id) = self.way.from else { return };
        let downspout = self.input.network.downspout(id);
        let state = &self.input.steady.downspouts[id.index()];
        let foot = at(start_m, downspout.foot.to_m());
        let top = at(start_m, downspout.opening().to_m());
        let bore_m = downspout.pipe.inside.to_m();
        model.path(Layer::Upright, beside(&[foot, top], bore_m), &downspout.tag);
        model.path(Layer::Upright, vec![foot, top], &downspout.tag);
        let standing_m = state.standing_level.to_m();
        let water = vec![at(start_m - bore_m, standing_m), at(start_m, standing_m)];
        model.path(Layer::StormGrade, water, &format!("{} standing level", downspout.tag));
        let place = at(start_m + self.height_m, top.y_m + 1.5 * self.height_m);
        let words = format!("{}, {}", cut(&downspout.tag, MOST_CHARS), opening_name(downspout));
        model.text(Layer::Text, place, self.height_m, &words);
        self.stack(model, self.start(), &downspout.tag, start_m, -1.0);
    }

    /// The tank, where the section ends at one; how far to the right all of it reaches.
    fn tank(&self, model: &mut Model, start_m: f64) -> f64 {
        let end_m = start_m + self.length_m;
        let End::Tank(id) = self.finish else {
            let place = at(end_m + self.height_m, self.high_m);
            let tag = cut(self.input.network.end_tag(self.finish), MOST_CHARS);
            model.text(Layer::Text, place, self.height_m, &format!("meets {tag}"));
            return end_m + 30.0 * self.height_m;
        };
        let tank = self.input.network.tank(id);
        let wide_m = 14.0 * self.height_m;
        if let (Some(floor), Some(top)) = (tank.floor, self.tank_top(id)) {
            let corners = [
                at(end_m, top.to_m()),
                at(end_m, floor.to_m()),
                at(end_m + wide_m, floor.to_m()),
                at(end_m + wide_m, top.to_m()),
            ];
            model.path(Layer::Tank, corners.to_vec(), &tank.tag);
            let place = at(end_m + wide_m / 2.0, floor.to_m() + 0.6 * self.height_m);
            let tag = cut(&tank.tag, 12);
            model.held(Layer::Text, place, self.height_m, Held::Middle, &tag);
        }
        for named in self.end() {
            let places = [at(end_m, named.level_m), at(end_m + wide_m, named.level_m)];
            model.tick(Layer::Tank, places[0], places[1]);
        }
        self.stack(model, self.end(), &tank.tag, end_m + wide_m, 1.0);
        end_m + wide_m + 30.0 * self.height_m
    }

    fn tank_top(&self, id: TankId) -> Option<Length> {
        let tank = self.input.network.tank(id);
        tank.rim.or(Some(tank.inlet))
    }

    /// Names of levels beside an end, each with a leader from its level, and a mark at it.
    fn stack(&self, model: &mut Model, mut levels: Vec<Named>, tag: &str, x_m: f64, side: f64) {
        levels.sort_by(|a, b| a.level_m.total_cmp(&b.level_m));
        let wanted: Vec<f64> = levels.iter().map(|named| named.level_m).collect();
        let gap_m = 1.6 * self.height_m;
        let places = spread(&wanted, gap_m, f64::NEG_INFINITY, f64::INFINITY);
        for (named, y_m) in levels.iter().zip(places) {
            model.mark(Layer::Levels, at(x_m, named.level_m), format!("{tag} {}", named.name));
            let near = at(x_m + side * self.height_m, named.level_m);
            let far = at(x_m + side * 2.5 * self.height_m, y_m);
            model.tick(Layer::Frame, at(x_m, named.level_m), near);
            model.tick(Layer::Frame, near, far);
            let number = level(self.input.units, Length::m(named.level_m));
            let words = format!("{} {number}", named.name);
            let held = if side < 0.0 { Held::Right } else { Held::Left };
            let place = at(far.x_m + side * 0.5 * self.height_m, y_m - 0.5 * self.height_m);
            model.held(Layer::Levels, place, self.height_m, held, &words);
        }
    }

    /// The values of each place in columns below the section; how far down they reach.
    fn band(&self, model: &mut Model, start_m: f64, base_m: f64) -> f64 {
        let units = self.input.units;
        let unit = crate::values::level_unit(units);
        let show = |level_m: Option<f64>| {
            level_m.map_or("-".to_owned(), |level_m| level(units, Length::m(level_m)))
        };
        let rows: [(&str, Value<'_>); 6] = [
            ("place", &|node| cut(&node.tag, 8)),
            ("along the pipe", &|node| units.show_length(Length::m(node.vert.along_m)).number),
            ("ground", &|node| show(node.vert.ground_m)),
            ("invert", &|node| show(Some(node.vert.invert_m))),
            ("storm grade line", &|node| show(Some(node.vert.head_m))),
            ("rest level", &|node| show(node.vert.rest_m)),
        ];
        if self.nodes.is_empty() {
            return base_m;
        }
        let height_m = self.height_m;
        let (row_m, top_m) = (7.5 * height_m, base_m - 3.0 * height_m);
        let wanted: Vec<f64> = self.nodes.iter().map(|node| start_m + node.vert.x_m).collect();
        let columns = spread(&wanted, 1.8 * height_m, f64::NEG_INFINITY, f64::INFINITY);
        let left_m = columns.first().copied().unwrap_or(start_m).min(start_m) - 2.0 * height_m;
        for (row, (name, value)) in rows.iter().enumerate() {
            let y_m = top_m - row_m * (row as f64 + 1.0);
            let unit = if row == 0 { String::new() } else { format!(", {unit}") };
            let words = format!("{name}{unit}");
            let place = at(left_m, y_m + row_m / 2.0);
            model.held(Layer::Text, place, height_m, Held::Right, &words);
            for (node, x_m) in self.nodes.iter().zip(&columns) {
                let place = at(x_m + 0.5 * height_m, y_m);
                let layer = if row == 0 { Layer::Text } else { Layer::Levels };
                model.turned(layer, place, (height_m, 90.0), Held::Left, &value(node));
            }
            let right_m = columns.last().map_or(start_m, |x_m| x_m + 2.0 * height_m);
            let y_m = y_m + row_m;
            model.tick(Layer::Frame, at(left_m - 20.0 * height_m, y_m), at(right_m, y_m));
        }
        for (node, &column) in self.nodes.iter().zip(&columns) {
            let x_m = start_m + node.vert.x_m;
            let leader = [
                at(x_m, node.vert.invert_m),
                at(x_m, base_m),
                at(column, top_m + 0.5 * height_m),
                at(column, top_m),
            ];
            leader.windows(2).for_each(|pair| model.tick(Layer::Frame, pair[0], pair[1]));
        }
        top_m - row_m * rows.len() as f64
    }
}

fn named(name: &str, level: Length) -> Named {
    Named { name: name.to_owned(), level_m: level.to_m() }
}

/// The line beside a way, at a distance to its left: the other wall of a pipe. Corners meet where both
/// walls do, but for turns so sharp that they would meet far away.
fn beside(way: &[At], by_m: f64) -> Vec<At> {
    let mut pieces: Vec<(At, At)> = Vec::new();
    for pair in way.windows(2) {
        let (dx, dy) = (pair[1].x_m - pair[0].x_m, pair[1].y_m - pair[0].y_m);
        let length_m = libm::hypot(dx, dy);
        if length_m > 0.0 {
            let (nx, ny) = (-dy / length_m * by_m, dx / length_m * by_m);
            let moved = |p: At| at(p.x_m + nx, p.y_m + ny);
            pieces.push((moved(pair[0]), moved(pair[1])));
        }
    }
    let mut wall: Vec<At> = pieces.first().map(|piece| piece.0).into_iter().collect();
    for pair in pieces.windows(2) {
        match meet(pair[0], pair[1]) {
            Some(corner) if apart_m(corner, pair[0].1) <= 4.0 * by_m => wall.push(corner),
            _ => wall.extend([pair[0].1, pair[1].0]),
        }
    }
    wall.extend(pieces.last().map(|piece| piece.1));
    wall
}

/// Where two straight pieces meet if they are made longer.
fn meet(first: (At, At), second: (At, At)) -> Option<At> {
    let (ax, ay) = (first.1.x_m - first.0.x_m, first.1.y_m - first.0.y_m);
    let (bx, by) = (second.1.x_m - second.0.x_m, second.1.y_m - second.0.y_m);
    let across = ax * by - ay * bx;
    let sizes = libm::hypot(ax, ay) * libm::hypot(bx, by);
    if across.abs() <= 1e-9 * sizes {
        return Some(first.1);
    }
    let (dx, dy) = (second.0.x_m - first.0.x_m, second.0.y_m - first.0.y_m);
    let along = (dx * by - dy * bx) / across;
    Some(at(first.0.x_m + ax * along, first.0.y_m + ay * along))
}

fn apart_m(a: At, b: At) -> f64 {
    libm::hypot(a.x_m - b.x_m, a.y_m - b.y_m)
}
