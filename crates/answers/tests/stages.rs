//! The parts of an answer called apart: the same as all at once, and called off where nobody waits.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::cell::Cell;
use wetrun_answers::{
    Comparison, Medium, Overrides, Refusal, Report, Review, Set, Settled, Sights, Sized, Solved,
    csv, json, levels, moved, read, section, text,
};
use wetrun_units::Length;

const SHED: &str = "\
wetrun: 1
units: si
name: Shed
storm: { intensity: 90 mm/h, basis: '5 min, 10 years' }
downspouts:
  D1: { outlet: 3.00, lip: 3.05, foot: 0.50, pipe: pvc-sch40 4 in }
roofs:
  R1: { area: 60 m2, to: D1 }
lines:
  M1: { from: D1, to: T1, length: 20 m, pipe: pvc-sch40 4 in } # to the tank
tanks:
  T1: { inlet: 2.00 }
";

fn settled(text: &str) -> Settled {
    Settled::new(read(text.as_bytes(), "shed.yaml").unwrap()).unwrap()
}

/// Asked the n-th time, nobody waits any more.
fn until(n: usize) -> impl Fn() -> bool {
    let asked = Cell::new(0);
    move || {
        asked.set(asked.get() + 1);
        asked.get() < n
    }
}

#[test]
fn in_two_steps_or_in_one() {
    let apart = settled(SHED).finish(&|| true).unwrap().unwrap();
    let whole = Solved::new(read(SHED.as_bytes(), "shed.yaml").unwrap()).unwrap();
    assert_eq!(text::check(&apart, true), text::check(&whole, true));
    assert_eq!(json::check::check(&apart).unwrap(), json::check::check(&whole).unwrap());
}

#[test]
fn called_off_between_the_stages() {
    for n in 1..=2 {
        assert!(settled(SHED).finish(&until(n)).unwrap().is_none());
    }
    let solved = settled(SHED).finish(&until(3)).unwrap().unwrap();
    let set = Set {
        format: Medium::Svg.into(),
        set_up: None,
        all_routes: false,
        storm_course: false,
        doubts: None,
    };
    for n in 1..=2 {
        assert!(set.print(&solved, SHED.as_bytes(), &until(n)).unwrap().is_none());
    }
    let printed = set.print(&solved, SHED.as_bytes(), &until(3)).unwrap().unwrap();
    // The section drawn early is one of the set's.
    let early = section(&settled(SHED), settled(SHED).worst().unwrap()).concat();
    let set = String::from_utf8(printed.bytes).unwrap();
    for svg in [&early, &set] {
        assert!(svg.contains("Long section D1 to T1"));
    }
    // The same marks in the same places: what the set draws of it and of the plan is drawn early.
    let plan = wetrun_answers::plan(&settled(SHED)).concat();
    let marks = |svg: &str| svg.matches("<path").count() + svg.matches("<text").count();
    assert_eq!(marks(&early) + marks(&plan), marks(&set));
}

#[test]
fn a_level_moves_in_the_text_with_what_stands_there() {
    let before = settled(SHED);
    let all = levels(&before);
    let outlet = all.iter().find(|l| l.tag == "D1" && l.key == "outlet").unwrap();
    let text = moved(SHED, &before, outlet, Length::m(2.9)).unwrap();
    let expected = SHED.replace("outlet: 3.00, lip: 3.05", "outlet: 2.900 m, lip: 2.950 m");
    assert_eq!(text, expected);
    // The water stands where it stood: 0.1 m of margin are gone.
    let (was, is) = (before.verdict.tightest().unwrap(), settled(&text));
    let is = is.verdict.tightest().unwrap().margin;
    assert!((was.margin - is - Length::m(0.1)).to_m().abs() < 1e-9);
}

#[test]
fn every_answer_comes_from_the_text_alone() {
    let solved = || settled(SHED).finish(&|| true).unwrap().unwrap();
    let review = Review::new(&solved(), false);
    assert!(text::review::review(&solved(), &review).contains("Shed"));
    let todo = review.todo(&solved(), SHED.as_bytes()).unwrap();
    assert!(todo.piece.contains("shown:") && todo.file.starts_with(SHED));
    let report = Report::new(solved(), None, &Sights::default()).unwrap();
    assert!(csv::levels(&report, wetrun_answers::LevelRow::Level).unwrap().lines().count() > 3);
    let comparison = Comparison::new(solved(), solved());
    assert!(comparison.changes.is_empty() && comparison.findings.is_empty());
    let open = SHED.replacen("pvc-sch40 4 in", "{ type: pvc-sch40, size: any }", 1);
    let site = read(open.as_bytes(), "shed.yaml").unwrap();
    let sized = Sized::new(site, None, false, &mut |_, _| {}).unwrap();
    let filled = sized.filled_in(open.as_bytes()).unwrap().unwrap();
    assert!(Settled::new(read(filled.as_bytes(), "shed.yaml").unwrap()).is_ok());
}

#[test]
fn a_refusal_tells_where_for_programs_and_for_people() {
    let wrong = SHED.replace("inlet: 2.00", "inlet: two");
    let refusal: Refusal = read(wrong.as_bytes(), "shed.yaml").unwrap_err();
    let fault = &refusal.diagnostics().unwrap().list()[0];
    assert_eq!((fault.line, wrong.lines().count()), (12, 12));
    assert!(refusal.to_string().contains("shed.yaml"));
    let mut site = read(SHED.as_bytes(), "shed.yaml").unwrap();
    let overrides = Overrides { rain: Some("much".to_owned()), tanks: None };
    let refusal = overrides.apply(&mut site).unwrap_err().about("shed.yaml");
    assert!(refusal.to_string().starts_with("shed.yaml: "), "{refusal}");
}
