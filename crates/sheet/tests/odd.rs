//! Networks of unusual shape still give whole sheets: parallel lines, tanks joined to each other,
//! a downspout on the way of another, no points at all, levels all alike, no network.

mod support;

use support::marks::{outside, overlapping};
use support::{Case, downspout, line, point, tank};
use wetrun_network::{DownspoutId, End, Parts, PointId, TankId};
use wetrun_sheet::draw::{Drawing, Shape};
use wetrun_sheet::{Medium, render};
use wetrun_units::{Length, UnitSystem};

fn d(index: usize) -> End {
    End::Downspout(DownspoutId::new(index))
}

fn p(index: usize) -> End {
    End::Point(PointId::new(index))
}

fn t(index: usize) -> End {
    End::Tank(TankId::new(index))
}

fn parts() -> Vec<(&'static str, Parts)> {
    let one = || vec![downspout("D1", 12.9, 10.0, 60.0)];
    let straight = Parts {
        downspouts: one(),
        lines: vec![line("L1", d(0), t(0), "4 in", (10.0, 12.1), 20.0)],
        tanks: vec![tank("T1", 12.1)],
        ..Parts::default()
    };
    let parallel = Parts {
        downspouts: one(),
        points: vec![point("P1", 9.8, 10.6)],
        lines: vec![
            line("L1", d(0), p(0), "4 in", (10.0, 9.8), 5.0),
            line("L2", p(0), t(0), "4 in", (9.8, 12.1), 12.0),
            line("L3", t(0), p(0), "3 in", (12.1, 9.8), 12.0),
        ],
        tanks: vec![tank("T1", 12.1)],
    };
    let mut joined = parallel.clone();
    joined.tanks.push(tank("T2", 12.0));
    joined.lines.push(line("B1", t(0), t(1), "4 in", (9.95, 9.95), 3.0));
    let through = Parts {
        downspouts: vec![downspout("D1", 12.9, 10.0, 60.0), downspout("D2", 12.9, 9.9, 30.0)],
        points: Vec::new(),
        lines: vec![
            line("L1", d(0), d(1), "4 in", (10.0, 9.9), 9.0),
            line("L2", d(1), t(0), "4 in", (9.9, 12.1), 14.0),
        ],
        tanks: vec![tank("T1", 12.1)],
    };
    let mut flat = straight.clone();
    let level = Length::m(10.0);
    flat.downspouts[0].outlet = level;
    flat.downspouts[0].lip = level;
    flat.downspouts[0].foot = level;
    flat.tanks[0].inlet = level;
    flat.tanks[0].overflow = None;
    (flat.tanks[0].floor, flat.tanks[0].rim, flat.tanks[0].ground) = (None, None, None);
    flat.lines[0].profile.iter_mut().for_each(|s| s.level = level);
    vec![
        ("straight", straight),
        ("parallel", parallel),
        ("joined", joined),
        ("through", through),
        ("flat", flat),
        ("nothing", Parts::default()),
    ]
}

fn assert_sound(name: &str, drawing: &Drawing) {
    for shape in &drawing.shapes {
        let finite = match shape {
            Shape::Path(_, path) => path.points.iter().all(|p| p.0.is_finite() && p.1.is_finite()),
            Shape::Text(_, text) => text.at.0.is_finite() && text.at.1.is_finite(),
        };
        assert!(finite, "{name}: {shape:?}");
    }
    assert_eq!(overlapping(drawing), [], "{name}: {}", drawing.title);
    assert_eq!(outside(drawing), Vec::<String>::new(), "{name}: {}", drawing.title);
    for (_, text) in drawing.texts() {
        let nonsense = ["NaN", "inf "].iter().any(|n| text.text.contains(n));
        assert!(!nonsense, "{name}: {}", text.text);
    }
}

#[test]
fn every_shape_of_network_gives_whole_sheets() {
    for (name, parts) in parts() {
        for rain in [0.0, 130.0, 2000.0] {
            let case = Case::solve(parts.clone(), rain);
            for units in [UnitSystem::Si, UnitSystem::Us] {
                let input = case.input(units);
                for drawing in
                    wetrun_sheet::drawings(&input).iter().chain(&wetrun_sheet::pages(&input))
                {
                    assert_sound(&format!("{name} at {rain} mm/h"), drawing);
                }
                for format in [Medium::Pdf, Medium::Html, Medium::Svg] {
                    assert!(render(&input, format).is_ok(), "{name} at {rain} mm/h, {format:?}");
                }
            }
        }
    }
}
