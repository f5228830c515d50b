//! The plan on the site's coordinates, pipes at their inverts; a scheme where it has none.

use super::model::{At, Held, Layer, Model, at, cut};
use crate::input::SheetInput;
use crate::plan::layout;
use crate::values::{level, pipe_name};
use wetrun_network::{DownspoutId, End, Line, LineId, PointId, TankId};

const MOST_CHARS: usize = 24;

/// Whether every downspout, point and tank has its place.
pub(super) fn is_surveyed(input: &SheetInput<'_>) -> bool {
    layout::of(input).surveyed
}

/// Draws the plan where there are places for it; how far to the right it reaches.
pub(super) fn draw(model: &mut Model, input: &SheetInput<'_>) -> Option<f64> {
    let layout = layout::of(input);
    if !layout.surveyed {
        return None;
    }
    // The layout's y runs down the page.
    let place = |end: End| {
        let p = layout.at(end);
        At { x_m: p.0, y_m: -p.1, z_m: end_level_m(input, end) }
    };
    let corner = |pick: fn(At) -> f64, least: fn(f64, f64) -> f64| {
        ends(input).map(|end| pick(place(end))).reduce(least).unwrap_or(0.0)
    };
    let (left_m, right_m) = (corner(|p| p.x_m, f64::min), corner(|p| p.x_m, f64::max));
    let (low_m, high_m) = (corner(|p| p.y_m, f64::min), corner(|p| p.y_m, f64::max));
    let height_m = ((right_m - left_m).max(high_m - low_m) / 90.0).max(0.05);
    for id in (0..input.network.lines().len()).map(LineId::new) {
        let line = input.network.line(id);
        pipe(model, input, line, place(line.from), place(line.to), height_m);
    }
    for end in ends(input) {
        symbol(model, input, end, place(end), height_m);
    }
    for (index, tank) in input.network.tanks().iter().enumerate() {
        let Some(to) = tank.overflow.as_ref().and_then(|overflow| overflow.to) else { continue };
        let ends =
            [End::Tank(TankId::new(index)), End::Tank(to)].map(|end| At { z_m: 0.0, ..place(end) });
        model.path(Layer::PlanMarks, ends.to_vec(), &format!("{} overflow", tank.tag));
    }
    let title = at(left_m, high_m + 6.0 * height_m);
    model.text(Layer::PlanText, title, 1.6 * height_m, "PLAN");
    let note = "x is east, y north, on the coordinates of the site file; lines are drawn straight between their ends, at their inverts";
    model.text(Layer::PlanText, at(left_m, high_m + 4.0 * height_m), 0.8 * height_m, note);
    let tail = at(left_m - 6.0 * height_m, high_m - 6.0 * height_m);
    let tip = at(tail.x_m, tail.y_m + 6.0 * height_m);
    model.tick(Layer::PlanMarks, tail, tip);
    for side in [-1.0, 1.0] {
        let wing = at(tip.x_m + side * 0.8 * height_m, tip.y_m - 1.6 * height_m);
        model.tick(Layer::PlanMarks, tip, wing);
    }
    let north = at(tip.x_m, tip.y_m + 0.5 * height_m);
    model.held(Layer::PlanText, north, 1.2 * height_m, Held::Middle, "N");
    Some(right_m + 40.0 * height_m)
}

/// A scheme of a network without places, its top right at `corner`: how its lines are joined.
pub(super) fn scheme(model: &mut Model, input: &SheetInput<'_>, corner: At, height_m: f64) {
    let layout = layout::of(input);
    let (wide_m, tall_m) = (14.0 * height_m, 5.0 * height_m);
    let most = layout.all().map(|p| p.0).fold(0.0, f64::max);
    let place = |end: End| {
        let p = layout.at(end);
        at(
            corner.x_m - 20.0 * height_m - (most - p.0) * wide_m,
            corner.y_m - 5.0 * height_m - p.1 * tall_m,
        )
    };
    for line in input.network.lines() {
        let (a, b) = (place(line.from), place(line.to));
        model.path(Layer::Scheme, vec![a, b], &line.tag);
        let middle = at((a.x_m + b.x_m) / 2.0, (a.y_m + b.y_m) / 2.0 + 0.4 * height_m);
        let words = cut(&line.tag, 10);
        model.held(Layer::Scheme, middle, 0.8 * height_m, Held::Middle, &words);
    }
    for end in ends(input) {
        let (centre, radius_m) = (place(end), 0.5 * height_m);
        model.entities.push(super::model::Entity::Circle {
            layer: Layer::Scheme,
            centre,
            radius_m,
        });
        let words = cut(input.network.end_tag(end), 10);
        let below = at(centre.x_m, centre.y_m - 1.8 * height_m);
        model.held(Layer::Scheme, below, 0.9 * height_m, Held::Middle, &words);
    }
    let left_m = ends(input).map(|end| place(end).x_m).fold(f64::INFINITY, f64::min);
    let title = "SCHEME, NOT TO SCALE: the site file gives no places in plan (`at`)";
    model.text(Layer::Scheme, at(left_m, corner.y_m), 1.2 * height_m, title);
}

fn ends<'a>(input: &'a SheetInput<'_>) -> impl Iterator<Item = End> + 'a {
    let network = input.network;
    let downspouts = (0..network.downspouts().len()).map(|i| End::Downspout(DownspoutId::new(i)));
    let points = (0..network.points().len()).map(|i| End::Point(PointId::new(i)));
    let tanks = (0..network.tanks().len()).map(|i| End::Tank(TankId::new(i)));
    downspouts.chain(points).chain(tanks)
}

/// The level that is set there: a foot, an invert, an inlet.
fn end_level_m(input: &SheetInput<'_>, end: End) -> f64 {
    match end {
        End::Downspout(id) => input.network.downspout(id).foot.to_m(),
        End::Point(id) => input.network.point(id).level.to_m(),
        End::Tank(id) => input.network.tank(id).inlet.to_m(),
    }
}

/// A line at its inverts, with its size and length along it. Its stations stand where their part of the
/// way on the level is.
fn pipe(model: &mut Model, input: &SheetInput<'_>, line: &Line, from: At, to: At, height_m: f64) {
    let mut level_m = vec![0.0];
    for pair in line.profile.windows(2) {
        let (step_m, rise_m) =
            ((pair[1].at - pair[0].at).to_m(), (pair[1].level - pair[0].level).to_m());
        let before_m = level_m.last().copied().unwrap_or(0.0);
        level_m.push(before_m + (step_m * step_m - rise_m * rise_m).max(0.0).sqrt());
    }
    let whole_m = level_m.last().copied().unwrap_or(0.0);
    let length_m = line.length.to_m();
    let places = line.profile.iter().zip(&level_m).map(|(station, level_m)| {
        let part = if whole_m > 0.0 { level_m / whole_m } else { station.at.to_m() / length_m };
        At {
            x_m: from.x_m + (to.x_m - from.x_m) * part,
            y_m: from.y_m + (to.y_m - from.y_m) * part,
            z_m: station.level.to_m(),
        }
    });
    model.path(Layer::PlanPipe, places.collect(), &line.tag);
    let (dx, dy) = (to.x_m - from.x_m, to.y_m - from.y_m);
    let mut turn_deg = libm::atan2(dy, dx).to_degrees();
    if turn_deg > 90.0 {
        turn_deg -= 180.0;
    } else if turn_deg <= -90.0 {
        turn_deg += 180.0;
    }
    let apart_m = libm::hypot(dx, dy);
    let words = format!(
        "{}  {}  {}",
        cut(&line.tag, MOST_CHARS),
        cut(&pipe_name(input.units, &line.pipe), MOST_CHARS),
        input.units.show_length(line.length),
    );
    let fits = super::model::width_m(&words, height_m) < apart_m;
    let words = if fits { words } else { cut(&line.tag, MOST_CHARS) };
    let turn = turn_deg.to_radians();
    let lift_m = 0.5 * height_m;
    let middle = at(
        (from.x_m + to.x_m) / 2.0 - libm::sin(turn) * lift_m,
        (from.y_m + to.y_m) / 2.0 + libm::cos(turn) * lift_m,
    );
    model.turned(Layer::PlanText, middle, (height_m, turn_deg), Held::Middle, &words);
}

fn symbol(model: &mut Model, input: &SheetInput<'_>, end: End, place: At, height_m: f64) {
    let tag = input.network.end_tag(end);
    let flat = At { z_m: 0.0, ..place };
    let circle = |radius_m: f64| super::model::Entity::Circle {
        layer: Layer::PlanMarks,
        centre: flat,
        radius_m,
    };
    let (what, key) = match end {
        End::Downspout(_) => {
            model.entities.push(circle(0.9 * height_m));
            ("foot", "foot")
        }
        End::Point(_) => {
            model.entities.push(circle(0.4 * height_m));
            ("inv", "level")
        }
        End::Tank(_) => {
            let half_m = 1.5 * height_m;
            let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
            let corners = corners.map(|(x, y)| at(place.x_m + x * half_m, place.y_m + y * half_m));
            model.outline(Layer::PlanMarks, corners.to_vec(), tag);
            ("inlet", "inlet")
        }
    };
    model.mark(Layer::PlanLevels, place, format!("{tag} {key}"));
    let number = level(input.units, wetrun_units::Length::m(place.z_m));
    let beside = at(place.x_m + 2.0 * height_m, place.y_m + 1.2 * height_m);
    model.text(Layer::PlanText, beside, height_m, &cut(tag, MOST_CHARS));
    let below = at(place.x_m + 2.0 * height_m, place.y_m - 2.4 * height_m);
    model.text(Layer::PlanLevels, below, 0.8 * height_m, &format!("{what} {number}"));
}
