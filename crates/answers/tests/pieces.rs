//! Pieces put in and taken out: what was there before is there after, and the water does not notice a
//! point where nothing changes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use wetrun_answers::pieces::{
    Cut, Halves, PlanMove, away, fresh_tag, moved_in_plan, with_downspout, with_item, with_point,
    with_station,
};
use wetrun_answers::{Settled, read};
use wetrun_site::{Code, Outline, Site};
use wetrun_units::Length;

fn demos() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/ok");
    let cases = std::fs::read_dir(folder).unwrap().map(|case| case.unwrap().path());
    let mut all: Vec<(String, String)> = cases
        .map(|case| {
            let name = case.file_name().unwrap().to_string_lossy().into_owned();
            (name, std::fs::read_to_string(case.join("site.yaml")).unwrap())
        })
        .collect();
    all.sort();
    all
}

fn site(text: &str, about: &str) -> Site {
    read(text.as_bytes(), "site.yaml").unwrap_or_else(|why| panic!("{about}: {why}\n{text}"))
}

/// What stands in every downspout, m.
fn standing(text: &str, about: &str) -> Vec<f64> {
    let settled = Settled::new(site(text, about)).unwrap_or_else(|why| panic!("{about}: {why}"));
    settled.steady.downspouts.iter().map(|d| d.standing_level.to_m()).collect()
}

/// Friction is the same per metre on both sides of a point without a fitting, and losses of fittings
/// stay on the line, so every downspout stands as it did. Lengths are written to 0.3 mm.
#[test]
fn a_point_on_a_line_changes_nothing() {
    for (name, text) in demos() {
        let before = standing(&text, &name);
        let most = if std::env::var_os("WETRUN_LONG").is_some() { usize::MAX } else { 3 };
        for line in site(&text, &name).network.lines().iter().take(most) {
            let about = format!("{name}, {}", line.tag);
            let outline = Outline::read(&text).unwrap();
            let point = fresh_tag(&outline, "points", "P", &[]);
            let rest = fresh_tag(&outline, "lines", "L", &[&point]);
            let halves = Halves::of(&site(&text, &about), &line.tag).unwrap();
            let cut = Cut { line: &line.tag, along: &halves.along, rest: &rest, level: "" };
            let split =
                with_point(&text, &point, &cut).unwrap_or_else(|why| panic!("{about}: {why}"));
            let after = standing(&split, &about);
            // Where a crest breaks the full pipe the losses of fittings count as spread over the line,
            // so there it does matter which part has them.
            let spread = name == "si-over-a-culvert" && !line.fittings.is_empty();
            for (a, b) in before.iter().zip(&after).filter(|_| !spread) {
                assert!((a - b).abs() < 2e-4, "{about}: {a} {b}\n{split}");
            }
            // Comments and the rest of the file are as they were.
            let kept = text.lines().filter(|line| !split.contains(*line)).count();
            assert!(kept <= 6, "{about}: {kept} lines changed\n{split}");
            // Taken away again the two are one, as long as before.
            let joined = away(&split, "points", &point).unwrap();
            assert_eq!(joined.words.len(), 1, "{about}: {:?}", joined.words);
            let back = site(&joined.text, &about);
            let again = back.network.lines().iter().find(|l| l.tag == line.tag).unwrap();
            assert!((again.length - line.length).to_m().abs() < 1e-9, "{about}");
            assert_eq!(back.network.lines().len(), site(&text, &about).network.lines().len());
            for (a, b) in before.iter().zip(&standing(&joined.text, &about)) {
                assert!((a - b).abs() < 2e-4, "{about}: {a} {b}");
            }
        }
    }
}

#[test]
fn whatever_is_taken_away_the_rest_is_still_a_file() {
    for (name, text) in demos() {
        let outline = Outline::read(&text).unwrap();
        for section in ["downspouts", "points", "lines", "tanks", "roofs", "gutters"] {
            for tag in outline.names(&[section]) {
                let about = format!("{name}, {section}.{tag}");
                let away = away(&text, section, tag).unwrap_or_else(|why| panic!("{about}: {why}"));
                let left = Outline::read(&away.text).expect(&about);
                assert!(left.written(&[section, tag]).is_none(), "{about}");
                // No reference to it is left: what the reader still misses is a way or a share.
                let Err(why) = read(away.text.as_bytes(), "site.yaml") else { continue };
                for fault in why.diagnostics().expect(&about).list() {
                    let code = fault.code;
                    let told = [Code::Layout, Code::MissingKey, Code::Shares].contains(&code);
                    assert!(told, "{about}: {code:?}: {}\n{}", fault.message, away.text);
                }
            }
        }
    }
}

const HUT: &str = "\
wetrun: 1
units: us
name: Hut # of two roofs
storm: { intensity: 4 in/h, basis: a guess }
roofs:
  north: { area: 400 sq ft, to: D1 }
  south: { area: 400 sq ft, to: { D1: 50 %, D2: 50 % } }
downspouts:
  D1: { outlet: 10'-6\", foot: 1 ft, pipe: pvc-sch40 3 in, at: [0 ft, 0 ft] } # by the door
  D2: { outlet: 10'-6\", foot: 1 ft, pipe: pvc-sch40 3 in, at: [0 ft, 10 ft] }
points:
  W1: { level: 0.90 ft, fitting: wye, branch: B2, at: [5.25 ft, 0 ft] }
lines:
  # the long one
  M1: { from: D1, to: W1, length: 12 ft, pipe: pvc-sch40 4 in, fittings: { bend-45: 1 } }
  B2: { from: D2, to: W1, length: 11.5 ft, pipe: pvc-sch40 3 in }
  M2:
    from: W1
    to: T1
    length: 20 ft
    pipe: pvc-sch40 4 in
    profile:
      - { at: 0 ft, level: 0.90 ft, ground: 3 ft }
      - { at: 12 ft, level: 0.70 ft, ground: 3 ft }
      - { at: 20 ft, level: 8.00 ft }
tanks:
  T1: { inlet: 8 ft, overflow: { level: 7.8 ft }, at: [25.25 ft, 0 ft] }
";

/// Every number by hand.
#[test]
fn a_line_with_a_profile_is_split() {
    let cut = Cut { line: "M2", along: "6 ft", rest: "M3", level: "" };
    let split = with_point(HUT, "P1", &cut).unwrap();
    for part in [
        // Half way between 0.90 and 0.70, ground 3 ft; 6/20 of the way from 5.25 to 25.25 ft, on a
        // grid of 0.05 ft.
        "  P1: { level: 0.80 ft, ground: 3.00 ft, at: [11.25 ft, 0.00 ft] }\n",
        "    to: P1\n    length: 6 ft\n",
        "      - { at: 0 ft, level: 0.90 ft, ground: 3 ft }\n\
         \x20     - { at: 6 ft, level: 0.80 ft, ground: 3.00 ft }\n",
        "  M3: { from: P1, to: T1, pipe: pvc-sch40 4 in, length: 14 ft, profile: [\
         { at: 0.00 ft, level: 0.80 ft, ground: 3.00 ft }, \
         { at: 6.00 ft, level: 0.70 ft, ground: 3.00 ft }, { at: 14 ft, level: 8.00 ft }] }\n",
        "# by the door\n",
        "  # the long one\n",
    ] {
        assert!(split.contains(part), "{part}\n{split}");
    }
    // A branch that is split reaches its wye by the second part.
    let cut = Cut { line: "B2", along: "2 ft", rest: "B3", level: "0.95 ft" };
    let split = with_point(HUT, "P2", &cut).unwrap();
    assert!(split.contains("W1: { level: 0.90 ft, fitting: wye, branch: B3,"), "{split}");
    assert!(split.contains("B2: { from: D2, to: P2, length: 2.0 ft,"), "{split}");
    assert!(split.contains("B3: { from: P2, to: W1, pipe: pvc-sch40 3 in, length: 9.5 ft }"));
    let joined = away(&split, "points", "P2").unwrap();
    assert!(joined.text.contains("branch: B2,"), "{}", joined.text);
    assert_eq!(joined.text, HUT);
    site(&split, "split");
    for (along, why) in [
        ("0 ft", "lies between its ends"),
        ("20 ft", "lies between its ends"),
        ("-3 ft", "lies between its ends"),
        ("4 gal", "the distance along the line"),
        ("", "the distance along the line"),
    ] {
        let cut = Cut { line: "M2", along, rest: "M3", level: "" };
        let told = with_point(HUT, "P1", &cut).unwrap_err().to_string();
        assert!(told.contains(why), "{along}: {told}");
    }
    let cut = Cut { line: "M2", along: "6 ft", rest: "W1", level: "" };
    assert_eq!(with_point(HUT, "P1", &cut).unwrap_err().to_string(), "the tag `W1` is taken");
}

#[test]
fn a_downspout_comes_and_goes_with_what_hangs_on_it() {
    let own = [("outlet", "10'-6\""), ("foot", "1 ft"), ("pipe", "pvc-sch40 3 in"), ("lip", "")];
    let branch = [("pipe", "pvc-sch40 3 in"), ("length", "4 ft")];
    let cut = Cut { line: "M1", along: "5 ft", rest: "M3", level: "" };
    let more = with_downspout(HUT, ("D3", &own), ("B3", &branch), "W2", Some(&cut), "wye").unwrap();
    let found = site(&more, "more");
    assert_eq!(found.network.downspouts().len(), 3);
    assert!(
        more.contains("  D3: { outlet: 10'-6\", foot: 1 ft, pipe: pvc-sch40 3 in }\n"),
        "{more}"
    );
    assert!(more.contains("  B3: { from: D3, to: W2, pipe: pvc-sch40 3 in, length: 4 ft }\n"));
    assert!(more.contains("fitting: wye, branch: B3"), "{more}");
    let roof = with_item(&more, "roofs", "shed", &[("area", "80 sq ft"), ("to", "D3")]).unwrap();
    let gone = away(&roof, "downspouts", "D3").unwrap();
    assert_eq!(
        gone.words,
        [
            "line B3, from D3 to W2",
            "the wye at W2: 2 lines are left there",
            "roof shed, which drains to it alone"
        ]
    );
    site(&gone.text, "gone");
    // The point that was made for it goes by itself, and the file is what it was.
    assert_eq!(away(&gone.text, "points", "W2").unwrap().text, HUT);
    // A share of a roof goes over to the one that is left.
    let gone = away(HUT, "downspouts", "D2").unwrap();
    assert!(gone.text.contains("south: { area: 400 sq ft, to: D1 }"), "{}", gone.text);
    assert!(gone.words.contains(&"its share of roof south, which D1 gets".to_owned()));
    site(&gone.text, "gone");
}

#[test]
fn stations_and_places() {
    let more = with_station(HUT, "M2").unwrap();
    // The widest gap is the first, of 12 ft.
    assert!(more.contains("      - { at: 6.00 ft, level: 0.80 ft, ground: 3.00 ft }\n"), "{more}");
    let fresh = with_station(HUT, "M1").unwrap();
    assert!(
        fresh.contains("profile: [{ at: 0.00 ft, level: 1.00 ft }, { at: 12 ft, level: 0.90 ft }]"),
        "{fresh}"
    );
    site(&fresh, "fresh");
    let moved = moved_in_plan(
        HUT,
        &["points", "W1", "at"],
        PlanMove::By([Length::m(0.3048), Length::m(-0.1524)]),
    );
    let moved = moved.unwrap();
    assert_eq!(moved, HUT.replace("at: [5.25 ft, 0 ft]", "at: [6.25 ft, -0.5 ft]"));
    let stepped = moved_in_plan(HUT, &["points", "W1", "at"], PlanMove::Steps([2, -1])).unwrap();
    assert_eq!(stepped, moved);
}

/// Whatever the tables of the format let a file name a piece by: nothing of it is left without a word.
#[test]
fn what_names_a_piece_still_is_told() {
    let own = "\
pipes:
  ours: { roughness: 0.1 mm, sizes: { 4 in: { outside: 4.5 in, wall: 0.2 in } } }
  pvc-sch40: { roughness: 0.1 mm, sizes: { 3 in: { inside: 3 in }, 4 in: { inside: 4 in } } }
fittings:
  elbow: { k: 0.4 }
prices: { ours: { 4 in: 5.10 } }
";
    let text = HUT
        .replace("length: 20 ft\n    pipe: pvc-sch40 4 in", "length: 20 ft\n    pipe: ours 4 in")
        .replace("11.5 ft, pipe: pvc-sch40 3 in", "11.5 ft, pipe: { type: ours, size: 4 in }")
        .replace("{ bend-45: 1 }", "{ bend-45: 1, elbow: 2 }")
        .replace("level: 7.8 ft }", "level: 7.8 ft, pipe: ours 4 in }")
        + own;
    site(&text, "own pipes");
    let still = |section: &str, tag: &str| {
        let away = away(&text, section, tag).unwrap();
        assert_eq!(away.words, [""; 0]);
        away.still
    };
    let pipes = ["prices.ours", "lines.B2.pipe.type", "lines.M2.pipe", "tanks.T1.overflow.pipe"];
    let mut found = still("pipes", "ours");
    found.sort();
    let mut wanted = pipes.map(str::to_owned).to_vec();
    wanted.sort();
    assert_eq!(found, wanted);
    assert_eq!(still("fittings", "elbow"), ["lines.M1.fittings.elbow"]);
    // What goes along or is set anew names it no more.
    for (section, tag) in [("downspouts", "D2"), ("lines", "B2"), ("points", "W1"), ("tanks", "T1")]
    {
        assert_eq!(away(&text, section, tag).unwrap().still, [""; 0], "{tag}");
    }
    // Four lines met: with one of them gone three do, and the branch that was named is none.
    let four = HUT.replace(
        "  M2:\n",
        "  B4: { from: W1, to: D9, length: 2 ft, pipe: pvc-sch40 3 in }\n  M2:\n",
    );
    assert_eq!(away(&four, "lines", "B2").unwrap().still, ["points.W1.branch"]);
}

/// Two lines of one pipe that become one keep what both say, and what only one says is told.
#[test]
fn nothing_that_either_line_said_goes_without_a_word() {
    let cut = Cut { line: "B2", along: "2 ft", rest: "B3", level: "0.95 ft" };
    let split = with_point(HUT, "P2", &cut).unwrap();
    let told = |text: &str| {
        site(text, "before");
        let away = away(text, "points", "P2").unwrap();
        site(&away.text, "after");
        (away.words[1..].join("; "), away.text)
    };
    // The straight line from 1 ft to 0.90 ft is at 0.983 ft after 2 of 11.5 ft.
    let (words, text) = told(&split);
    assert_eq!(words, "the invert of 0.95 ft at P2: the line runs straight there, at 0.98 ft");
    assert_eq!(text, HUT);
    let of = |line: &str, says: &str| split.replace(line, &format!("{line}, {says}"));
    let (first, second) = ("B2: { from: D2, to: P2", "B3: { from: P2, to: W1");
    for (text, says, then) in [
        (of(first, "vehicles: yes"), "vehicles cross a part alone: B2", "vehicles: yes"),
        (of(second, "vehicles: yes"), "vehicles cross a part alone: B2", "vehicles: yes"),
        (of(first, "frost: lagged"), "what B2 says of itself: frost: lagged", ""),
        (of(second, "frost: lagged"), "what B3 says of itself: frost: lagged", ""),
        (of(second, "from_level: 0.80 ft"), "the step at P2 from 0.95 ft to 0.80 ft", ""),
        (of(first, "to_level: 1.05 ft"), "the step at P2 from 1.05 ft to 0.95 ft", ""),
        (
            split.clone() + "doubts: { lines: { B3: { silt: 5 mm } } }\n",
            "doubts of B3 alone: the general ones hold",
            "",
        ),
        (
            split.clone() + "doubts: { lines: { B2: { silt: 5 mm } } }\n",
            "doubts of B2 alone: those of B2 hold for all of it",
            "silt: 5 mm",
        ),
    ] {
        let (words, after) = told(&text);
        assert!(words.contains(says), "{says}: {words}");
        assert!(after.contains(then) && !after.contains("frost"), "{says}: {after}");
    }
    // What both say stays without a word.
    let both = split
        .replace(first, &format!("{first}, frost: lagged, vehicles: no"))
        .replace(second, &format!("{second}, frost: lagged, vehicles: no"));
    let (words, text) = told(&both);
    assert!(!words.contains("itself") && text.contains("frost: lagged, vehicles: no"), "{text}");
    // A profile keeps the point as a station; its ground is told where only the second part has one.
    let profiled = with_point(HUT, "P1", &Cut { line: "M2", along: "6 ft", rest: "M3", level: "" });
    let profiled = profiled.unwrap().replace(
        "- { at: 6 ft, level: 0.80 ft, ground: 3.00 ft }",
        "- { at: 6 ft, level: 0.80 ft }",
    );
    let away = away(&profiled, "points", "P1").unwrap();
    assert_eq!(away.words[1..], ["the ground at P1 as M3 has it: 3.00 ft"]);
}
