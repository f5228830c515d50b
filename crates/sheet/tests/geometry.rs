//! The long section and the plan: no two texts overlap, every drawn level is where it says.

mod support;

use support::marks::{outside, overlapping};
use support::{Case, comb, downspout, hostile, line, long_route, point, tank, workshop};
use wetrun_facts::{Place, Vent};
use wetrun_network::{DownspoutId, End, Parts, PointId, TankId};
use wetrun_sheet::draw::{Anchor, Drawing, Ink, Layer, Pt, Shape};
use wetrun_sheet::{SheetInput, UpkeepRow};
use wetrun_units::{Length, UnitSystem};

#[test]
fn no_two_texts_of_a_drawing_overlap_and_none_is_cut_off() {
    for case in [workshop(), long_route(20), long_route(60), comb(12), hostile()] {
        for units in [UnitSystem::Si, UnitSystem::Us] {
            for drawing in wetrun_sheet::drawings(&case.input(units)) {
                assert_eq!(overlapping(&drawing), [], "{}", drawing.title);
                assert_eq!(outside(&drawing), Vec::<String>::new(), "{}", drawing.title);
            }
        }
    }
}

#[test]
fn no_two_texts_of_a_page_overlap_and_none_is_cut_off() {
    for case in [workshop(), comb(24), hostile()] {
        for units in [UnitSystem::Si, UnitSystem::Us] {
            let mut input = case.input(units);
            say_much(&mut input);
            for page in wetrun_sheet::pages(&input) {
                assert_eq!(overlapping(&page), [], "{}", page.title);
                assert_eq!(outside(&page), Vec::<String>::new(), "{}", page.title);
            }
        }
    }
}

/// Everything that a site file may add: long and short statements, a calendar, a vent at every
/// second point, one of them without a level.
fn say_much(input: &mut SheetInput<'_>) {
    let vent =
        |i: usize| Vent { level: i.is_multiple_of(4).then_some(Length::m(13.1)), mesh: None };
    for (i, point) in input.facts.to_mut().points.iter_mut().enumerate() {
        point.vent = i.is_multiple_of(2).then(|| vent(i));
    }
    let fact = |i: usize| {
        let words = if i.is_multiple_of(5) {
            "as the authority asked on its visit ".repeat(i / 5 + 1)
        } else {
            "yes".to_owned()
        };
        (format!("Statement {i}"), words)
    };
    input.job.documents = (0..26).map(fact).collect();
    input.owner_notes = (0..13).map(|i| (format!("Note {i}"), "twice a year".to_owned())).collect();
    let all: Vec<&str> = input.network.points().iter().map(|p| p.tag.as_str()).collect();
    input.upkeep = (0..9)
        .map(|i| UpkeepRow {
            when: "Every one to three months".to_owned(),
            place: all.join(", "),
            work: "Open the drain and let the line run out. ".repeat(i),
        })
        .collect();
}

#[test]
fn twenty_points_stand_on_one_section_in_legible_size() {
    let case = long_route(20);
    let drawings = wetrun_sheet::drawings(&case.input(UnitSystem::Si));
    let sections: Vec<&Drawing> =
        drawings.iter().filter(|d| d.title.starts_with("Long section")).collect();
    assert_eq!(sections.len(), 1);
    for i in 1..=20 {
        let tag = format!("P{i}");
        let written = sections[0].texts().any(|(_, t)| t.text == tag && t.size_pt >= 6.0);
        assert!(written, "{tag} is not on the section in 6 points");
    }
}

#[test]
fn a_plan_of_coordinates_keeps_their_proportions_and_its_labels_apart() {
    let case = workshop();
    let mut input = case.input(UnitSystem::Si);
    let at = |x: f64, y: f64| Some(Place { east: Length::m(x), north: Length::m(y) });
    let facts = input.facts.to_mut();
    (facts.downspouts[0].at, facts.downspouts[1].at) = (at(0.0, 0.0), at(0.0, 9.0));
    (facts.points[0].at, facts.points[1].at) = (at(6.0, 3.0), at(16.0, 6.0));
    facts.tanks[0].at = at(22.0, 2.0);
    let plan = wetrun_sheet::drawings(&input).swap_remove(0);
    assert_eq!(overlapping(&plan), []);
    assert_eq!(outside(&plan), Vec::<String>::new());
    // Lines in file order: L1 from (0, 0) to (6, 3), L3 from (6, 3) to (16, 6).
    let ways: Vec<(Pt, Pt)> = plan
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Path(Layer::Pipe, path) if path.fill.is_none() && path.points.len() == 2 => {
                Some((path.points[0], path.points[1]))
            }
            _ => None,
        })
        .skip(1) // the key's sample of a governing line
        .collect();
    let (l1, l3) = (ways[0], ways[2]);
    let scale = (l1.1.0 - l1.0.0) / 6.0;
    assert!(scale > 0.0);
    assert!((l1.0.1 - l1.1.1 - 3.0 * scale).abs() < 1e-9, "north is up");
    assert!((l3.1.0 - l3.0.0 - 10.0 * scale).abs() < 1e-9);
    assert!((l3.0.1 - l3.1.1 - 3.0 * scale).abs() < 1e-9);
}

/// Level of a height on the page, from two ticks of the level rule at the left edge.
fn level_at(drawing: &Drawing) -> impl Fn(f64) -> f64 {
    // Baselines of ticks stand 2 pt under their lines.
    let ticks: Vec<(f64, f64)> = drawing
        .texts()
        .filter(|(layer, t)| **layer == Layer::Frame && t.anchor == Anchor::End)
        .filter_map(|(_, t)| Some((t.at.1 - 2.0, t.text.parse().ok()?)))
        .collect();
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    move |y| first.1 + (y - first.0) * (last.1 - first.1) / (last.0 - first.0)
}

fn polylines(drawing: &Drawing, wanted: Ink, width_pt: f64) -> Vec<Vec<Pt>> {
    let matches = |shape: &Shape| match shape {
        Shape::Path(Layer::Water, path) => {
            let stroke = path.stroke?;
            (stroke.ink == wanted && (stroke.width_pt - width_pt).abs() < 1e-9)
                .then(|| path.points.clone())
        }
        _ => None,
    };
    drawing.shapes.iter().filter_map(matches).collect()
}

/// The route from D1 of the workshop: L1, L3, L4.
fn section(case: &Case) -> Drawing {
    // The section of the downspout that decides comes first.
    let mut drawings = wetrun_sheet::drawings(&case.input(UnitSystem::Si));
    let of_d1 = |d: &Drawing| d.title.starts_with("Long section D1 ");
    let place = drawings.iter().position(of_d1);
    drawings.swap_remove(place.unwrap_or(1))
}

#[test]
fn the_grade_line_runs_through_the_solved_heads() {
    let case = workshop();
    let drawing = section(&case);
    let level = level_at(&drawing);
    let drawn: Vec<(f64, f64)> = polylines(&drawing, Ink::Storm, 1.5)
        .iter()
        .map(|p| (level(p[0].1), level(p[p.len() - 1].1)))
        .collect();
    let solved: Vec<(f64, f64)> = [0, 2, 3]
        .iter()
        .map(|&l: &usize| {
            (case.steady.lines[l].from_head.to_m(), case.steady.lines[l].to_head.to_m())
        })
        .collect();
    assert_eq!(drawn.len(), solved.len());
    for (drawn, solved) in drawn.iter().zip(&solved) {
        assert!(
            (drawn.0 - solved.0).abs() < 1e-6 && (drawn.1 - solved.1).abs() < 1e-6,
            "{drawn:?} {solved:?}"
        );
    }
}

#[test]
fn the_standing_level_and_the_levels_at_both_ends_are_where_they_say() {
    let case = workshop();
    let drawing = section(&case);
    let level = level_at(&drawing);
    let standing = polylines(&drawing, Ink::Storm, 1.2);
    let solved_m = case.steady.downspouts[0].standing_level.to_m();
    assert!((level(standing[0][0].1) - solved_m).abs() < 1e-6);
    // Each label's leader starts beside its number (2.3 pt over the baseline) and ends at its level.
    let leaders: Vec<(f64, f64)> = drawing
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Path(Layer::Mark, path) => {
                let stroke = path.stroke?;
                let is_leader = stroke.ink == Ink::Grey && path.points.len() == 3;
                is_leader.then(|| (path.points[0].1, path.points[2].1))
            }
            _ => None,
        })
        .collect();
    let mut checked = 0;
    for (_, text) in
        drawing.texts().filter(|(layer, t)| **layer == Layer::Label && t.anchor == Anchor::End)
    {
        let Ok(value_m) = text.text.parse::<f64>() else { continue };
        let leader = leaders.iter().find(|l| (l.0 - (text.at.1 - 2.3)).abs() < 1e-9);
        // Labels of the two ends may stand at the same height: one of their leaders must fit.
        let fits = leaders
            .iter()
            .filter(|l| (l.0 - (text.at.1 - 2.3)).abs() < 1e-9)
            .any(|l| (level(l.1) - value_m).abs() <= 0.000_51);
        assert!(leader.is_some() && fits, "{} has no leader to its level", text.text);
        checked += 1;
    }
    assert!(checked >= 11, "{checked} levels were checked");
}

#[test]
fn inverts_are_where_they_say() {
    let case = workshop();
    let drawing = section(&case);
    let level = level_at(&drawing);
    // Leaders from the table start at the inverts, left to right.
    let starts: Vec<f64> = drawing
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Path(Layer::Mark, path) if path.points.len() == 4 => {
                Some(level(path.points[0].1))
            }
            _ => None,
        })
        .collect();
    let inverts_m = [10.05, 9.9, 9.7, 9.78, 12.1, 12.1];
    assert_eq!(starts.len(), inverts_m.len());
    for (start, invert_m) in starts.iter().zip(inverts_m) {
        assert!((start - invert_m).abs() < 1e-6, "{starts:?}");
    }
}

#[test]
fn a_vent_reaches_from_the_crown_to_its_level() {
    let case = workshop();
    let mut input = case.input(UnitSystem::Si);
    let vent = Vent { level: Some(Length::m(13.2)), mesh: None };
    input.facts.to_mut().points[1].vent = Some(vent);
    let drawings = wetrun_sheet::drawings(&input);
    let drawing = drawings.into_iter().find(|d| d.title.starts_with("Long section D1 ")).unwrap();
    assert_eq!(overlapping(&drawing), []);
    assert_eq!(outside(&drawing), Vec::<String>::new());
    let level = level_at(&drawing);
    // P1's invert is at 9.70, its pipe's bore 102.26 mm (4 in of the schedule 40 series).
    let crown_m = 9.70 + 0.10226;
    let walls = drawing.shapes.iter().filter(|shape| match shape {
        Shape::Path(Layer::Pipe, path) if path.points.len() == 2 && path.fill.is_none() => {
            let (low, high) = (path.points[0], path.points[1]);
            (low.0 - high.0).abs() < 1e-9
                && (level(low.1) - crown_m).abs() < 1e-4
                && (level(high.1) - 13.2).abs() < 1e-6
        }
        _ => false,
    });
    assert_eq!(walls.count(), 2);
    let said = drawing.texts().any(|(_, t)| t.text.contains("vent 13.200 m"));
    assert!(said, "the label tells the vent and its level");
}

/// Between storms a group of connected lines stands at the lowest level at which it can spill:
/// at the lower of two inlets, in the line to the higher tank as well.
#[test]
fn the_rest_level_is_that_of_the_lowest_spill_in_every_line_of_the_group() {
    let d = |i| End::Downspout(DownspoutId::new(i));
    let p = |i| End::Point(PointId::new(i));
    let t = |i| End::Tank(TankId::new(i));
    let case = Case::solve(
        Parts {
            downspouts: vec![downspout("D1", 12.9, 10.0, 60.0), downspout("D2", 12.9, 10.0, 60.0)],
            points: vec![point("P1", 9.9, 10.6), point("P2", 9.9, 10.6)],
            lines: vec![
                line("A1", d(0), p(0), "4 in", (10.0, 9.9), 5.0),
                line("A2", d(1), p(1), "4 in", (10.0, 9.9), 5.0),
                line("R", p(0), p(1), "2 in", (9.9, 9.9), 60.0),
                line("S1", p(0), t(0), "4 in", (9.9, 12.3), 8.0),
                line("S2", p(1), t(1), "4 in", (9.9, 12.1), 8.0),
            ],
            tanks: vec![tank("T1", 12.3), tank("T2", 12.1)],
        },
        130.0,
    );
    let mut lines = 0;
    assert!(case.steady.lines[3].flow.to_m3_per_s() > 0.0, "water runs to the higher tank too");
    for drawing in &wetrun_sheet::drawings(&case.input(UnitSystem::Si))[1..] {
        let level = level_at(drawing);
        for rest in polylines(drawing, Ink::Storm, 0.8) {
            assert!((level(rest[0].1) - 12.1).abs() < 1e-6, "{}", drawing.title);
            lines += 1;
        }
    }
    assert!(lines >= 6, "{lines}");
}

/// Against the solver: over a crest the line's upstream head is that of the crest and what the
/// full stretch behind it loses; the drawn line ends at both of the solver's heads, whichever way
/// the line is written, and never lies under the water that runs in the pipe.
#[test]
fn the_grade_line_of_a_broken_line_ends_at_the_solved_heads() {
    let (d, p) = (End::Downspout(DownspoutId::new(0)), End::Point(PointId::new(0)));
    let t = End::Tank(TankId::new(0));
    let station = |at_m: f64, level_m: f64| wetrun_network::Station {
        at: Length::m(at_m),
        level: Length::m(level_m),
        ground: None,
    };
    for backward in [false, true] {
        let mut over = line("L2", p, t, "4 in", (9.9, 12.1), 30.0);
        over.k = 3.0;
        over.profile.insert(1, station(12.0, 12.6));
        over.profile.insert(2, station(20.0, 10.5));
        if backward {
            (over.from, over.to) = (over.to, over.from);
            over.profile.reverse();
            for s in &mut over.profile {
                s.at = Length::m(30.0 - s.at.to_m());
            }
        }
        let case = Case::solve(
            Parts {
                downspouts: vec![downspout("D1", 13.9, 10.0, 60.0)],
                points: vec![point("P1", 9.9, 10.6)],
                lines: vec![line("L1", d, p, "4 in", (10.0, 9.9), 5.0), over],
                tanks: vec![tank("T1", 12.1)],
            },
            130.0,
        );
        let state = &case.steady.lines[1];
        assert!(state.broken);
        let drawing = section(&case);
        let level = level_at(&drawing);
        let lines = polylines(&drawing, Ink::Storm, 1.5);
        let drawn: Vec<f64> = lines[1].iter().map(|p| level(p.1)).collect();
        let (near, far) = if backward {
            (state.to_head.to_m(), state.from_head.to_m())
        } else {
            (state.from_head.to_m(), state.to_head.to_m())
        };
        assert!((drawn[0] - near).abs() < 1e-6, "{drawn:?} {near}");
        assert!((drawn[drawn.len() - 1] - far).abs() < 1e-6, "{drawn:?} {far}");
        // From P1: the start, the crest, the place where the water meets the full pipe, the sag,
        // the tank.
        assert_eq!(drawn.len(), 5, "{drawn:?}");
        assert!(drawn[1] > 12.6 && drawn[2] < drawn[1] && drawn[3] < 12.4, "{drawn:?}");
        assert!(drawn.windows(2).all(|w| w[0] >= w[1] - 1e-9), "{drawn:?}");
    }
}

/// Water stands up to a crest behind it and up to the inlet beyond it, nowhere higher.
#[test]
fn the_rest_level_differs_on_the_two_sides_of_a_crest() {
    let (d, p) = (End::Downspout(DownspoutId::new(0)), End::Point(PointId::new(0)));
    let t = End::Tank(TankId::new(0));
    let mut over = line("L2", p, t, "4 in", (9.9, 12.1), 30.0);
    for (at, level) in [(12.0, 12.6), (20.0, 10.5)] {
        let station =
            wetrun_network::Station { at: Length::m(at), level: Length::m(level), ground: None };
        let place = over.profile.len() - 1;
        over.profile.insert(place, station);
    }
    let case = Case::solve(
        Parts {
            downspouts: vec![downspout("D1", 13.9, 10.0, 60.0)],
            points: vec![point("P1", 9.9, 10.6)],
            lines: vec![line("L1", d, p, "4 in", (10.0, 9.9), 5.0), over],
            tanks: vec![tank("T1", 12.1)],
        },
        130.0,
    );
    let drawing = section(&case);
    let level = level_at(&drawing);
    let crest_x = polylines(&drawing, Ink::Storm, 1.5)[1][1].0;
    let mut seen = [false, false];
    for rest in polylines(&drawing, Ink::Storm, 0.8).iter().filter(|r| r[1].0 - r[0].0 > 12.0) {
        let middle = (rest[0].0 + rest[1].0) / 2.0;
        let side = usize::from(middle > crest_x);
        let wanted_m = [12.6, 12.1][side];
        assert!((level(rest[0].1) - wanted_m).abs() < 1e-6, "{rest:?}");
        seen[side] = true;
    }
    assert_eq!(seen, [true, true]);
}
