//! A review that cannot be flattered: saying less, or saying nothing in words, is never rewarded.

use crate::drawings::{self, path};
use crate::random_site::{Kinds, site};
use crate::support::{files, run};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::collections::{BTreeMap, BTreeSet};

/// Keys that a drawing may leave out and that change nothing of the water's way.
const OPTIONAL: [&str; 63] = [
    "datum",
    "basis",
    "benchmarks",
    "at",
    "ground",
    "floor",
    "rim",
    "volume",
    "drain",
    "cleanout",
    "gutter",
    "screen",
    "open",
    "revision",
    "ordinary_rain",
    "documents",
    "test",
    "tolerances",
    "defaults",
    "drawings",
    "calculation",
    "return_period",
    "storm_duration",
    "wet_condition",
    "continuous_slope",
    "accepted",
    "designer",
    "authority_difference",
    "roof_area",
    "stale_water",
    "restraint",
    "hold_point",
    "manual",
    "as_built",
    "inspection",
    "labels",
    "frost_depth",
    "water_level",
    "footings",
    "services",
    "bedding",
    "medium",
    "level",
    "duration",
    "opening",
    "bottom",
    "outlet_size",
    "leaf_mesh",
    "insect_mesh",
    "first_flush",
    "watertight_to",
    "frost",
    "cap",
    "drain_outlet",
    "vehicles",
    "inlet_mesh",
    "overflow_mesh",
    "overflow_distance",
    "base",
    "access",
    "buried",
    "hold_down",
    "mesh",
];

fn write(text: &str) -> tempfile::NamedTempFile {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), text).unwrap();
    file
}

/// The review of a text as JSON, or `None` where the file is refused.
fn review(text: &str) -> Option<Value> {
    let file = write(text);
    let ran = run(&["review", file.path().to_str().unwrap(), "--format", "json"]);
    (ran.status != 2).then(|| serde_json::from_str(&ran.stdout).unwrap())
}

fn fixture(name: &str) -> String {
    std::fs::read_to_string(path(name)).unwrap()
}

fn clean() -> String {
    fixture("clean/site")
}

/// A text with each of the pieces replaced, all of which it must hold.
fn with(text: &str, pieces: &[(&str, &str)]) -> String {
    pieces.iter().fold(text.to_owned(), |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replace(old, new)
    })
}

/// Outcomes by rule and place.
fn outcomes(result: &Value) -> BTreeMap<(String, String), BTreeSet<String>> {
    let mut found: BTreeMap<_, BTreeSet<String>> = BTreeMap::new();
    for finding in result["findings"].as_array().unwrap() {
        let text = |key: &str| finding[key].as_str().unwrap().to_owned();
        found.entry((text("rule"), text("where"))).or_default().insert(text("outcome"));
    }
    found
}

fn outcome(result: &Value, rule: &str, place: &str) -> String {
    let found = outcomes(result);
    let all = found.get(&(rule.to_owned(), place.to_owned()));
    all.map(|all| all.iter().cloned().collect::<Vec<_>>().join(" ")).unwrap_or_default()
}

fn count(result: &Value, outcome: &str) -> usize {
    result["findings"].as_array().unwrap().iter().filter(|f| f["outcome"] == outcome).count()
}

/// Every way to a key that may be left out.
fn optional(value: &Yaml, way: &mut Vec<String>, found: &mut Vec<Vec<String>>) {
    match value {
        Yaml::Mapping(entries) => {
            for (key, below) in entries {
                way.push(key.as_str().unwrap().to_owned());
                let name = way.last().unwrap().as_str();
                // A point's and an overflow's own level, and a benchmark's, are required.
                let parent = way.len().checked_sub(2).map_or("", |i| way[i].as_str());
                let required =
                    name == "level" && !["test", "vent", "drain_outlet"].contains(&parent);
                if OPTIONAL.contains(&name) && !required {
                    found.push(way.clone());
                }
                optional(below, way, found);
                way.pop();
            }
        }
        Yaml::Sequence(items) => {
            for (index, below) in items.iter().enumerate() {
                way.push(index.to_string());
                optional(below, way, found);
                way.pop();
            }
        }
        _ => {}
    }
}

fn without(value: &mut Yaml, way: &[String]) {
    match (value, way) {
        (Yaml::Mapping(entries), [last]) => {
            entries.remove(last.as_str());
        }
        (Yaml::Mapping(entries), [first, rest @ ..]) => {
            without(entries.get_mut(first.as_str()).unwrap(), rest);
        }
        (Yaml::Sequence(items), [first, rest @ ..]) => {
            without(&mut items[first.parse::<usize>().unwrap()], rest);
        }
        _ => unreachable!(),
    }
}

/// Takes each optional key out of a site in turn: no item that failed or was not shown conforms
/// then, and the whole does not.
fn saying_less(name: &str, text: &str) -> usize {
    let whole: Yaml = serde_yaml::from_str(text).unwrap();
    let whole_text = serde_yaml::to_string(&whole).unwrap();
    let Some(before) = review(&whole_text) else { return 0 };
    let bad =
        |outcomes: &BTreeSet<String>| outcomes.contains("fail") || outcomes.contains("not-shown");
    let was = outcomes(&before);
    let mut ways = Vec::new();
    optional(&whole, &mut Vec::new(), &mut ways);
    let mut tried = 0;
    // A review follows the drains, which takes its time: every third key, all with `WETRUN_LONG`.
    let step = if std::env::var_os("WETRUN_LONG").is_some() { 1 } else { 3 };
    for way in ways.into_iter().step_by(step) {
        let mut less = whole.clone();
        without(&mut less, &way);
        let Some(after) = review(&serde_yaml::to_string(&less).unwrap()) else { continue };
        tried += 1;
        let key = way.join(".");
        if before["verdict"] != "pass" {
            assert_ne!(after["verdict"], "pass", "{name} without {key}");
        }
        let now = outcomes(&after);
        for (item, outcomes) in was.iter().filter(|(_, outcomes)| bad(outcomes)) {
            let passes = now.get(item).is_some_and(|now| !bad(now) && now.contains("pass"));
            assert!(!passes, "{name} without {key}: {item:?} was {outcomes:?} and passes");
        }
    }
    tried
}

#[test]
fn saying_less_never_scores_better() {
    let mut tried = 0;
    for case in ["clean/site", "planted/site", "cleanouts/fail", "frost-depth/fail"] {
        tried += saying_less(case, &fixture(case));
    }
    let asked = std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|text| text.parse().ok());
    for seed in 0..asked.unwrap_or(6) {
        let kinds = Kinds { open: false, loops: true, facts: true };
        tried += saying_less(&format!("seed {seed}"), &site(5000 + seed, kinds));
    }
    assert!(tried > 100, "{tried}");
}

#[test]
fn a_drawing_with_almost_nothing_on_it_is_incomplete() {
    let bare = "wetrun: 1\nname: Bare shed\nunits: si\nstorm: { intensity: 10 mm/h }\n\
        roofs: { all: { area: 10 m2, to: D1 } }\n\
        downspouts: { D1: { outlet: 4 m, foot: 2.5 m, pipe: pvc-sch40 4 in } }\n\
        lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 4 in, length: 5 m } }\n\
        tanks: { T1: { inlet: 2 m, overflow: { level: 1.8 m, pipe: pvc-sch40 4 in } } }\n";
    let file = write(bare);
    let ran = run(&["review", file.path().to_str().unwrap()]);
    assert_eq!(ran.status, 1);
    assert!(ran.stdout.starts_with("INCOMPLETE "), "{}", ran.stdout);
    assert!(ran.stdout.lines().all(|line| line.chars().count() <= 80), "{}", ran.stdout);
    let result = review(bare).unwrap();
    assert_eq!((result["verdict"].as_str(), count(&result, "fail")), (Some("incomplete"), 0));
}

#[test]
fn words_that_hold_a_place_are_not_shown() {
    for words in ["TBD", "\"?\"", "to follow", "unknown", "never", "n/a", "\"-\"", "TBC by others"]
    {
        let text = with(
            &clean(),
            &[
                ("manual: sheet 6", &format!("manual: {words}")),
                ("return_period: 25 years", &format!("return_period: {words}")),
                ("frost: insulated", &format!("frost: {words}")),
                ("medium: water", &format!("medium: {words}")),
                ("datum: porch slab = 100.000 m", &format!("datum: {words}")),
            ],
        );
        let result = review(&text).unwrap();
        let items = [
            ("manual", "site"),
            ("storm-basis", "site"),
            ("frost-exposed", "T1"),
            ("test-medium", "site"),
            ("datum", "site"),
        ];
        for (rule, place) in items {
            assert_eq!(outcome(&result, rule, place), "not-shown", "{rule}: {words}");
        }
        assert_eq!(result["verdict"], "incomplete", "{words}");
    }
}

#[test]
fn a_level_that_holds_a_place_is_not_shown() {
    let text = with(&clean(), &[("watertight_to: 102.400 m", "watertight_to: TBD")]);
    let result = review(&text).unwrap();
    assert_eq!(outcome(&result, "watertight-level", "D1"), "not-shown");
}

#[test]
fn statements_are_quoted_and_counted_apart() {
    let file = write(&clean());
    let ran = run(&["review", file.path().to_str().unwrap()]);
    assert_eq!(ran.status, 0);
    assert!(ran.stdout.starts_with("CONFORMS "), "{}", ran.stdout);
    assert!(ran.stdout.contains("16 only stated"), "{}", ran.stdout);
    assert!(ran.stdout.contains("manual                  \"sheet 6\""), "{}", ran.stdout);
    let result = review(&clean()).unwrap();
    let manual = result["findings"].as_array().unwrap().iter().find(|f| f["rule"] == "manual");
    assert_eq!(manual.unwrap()["stated"], "sheet 6");
    let denied = review(&with(&clean(), &[("manual: sheet 6", "manual: no")])).unwrap();
    assert_eq!(outcome(&denied, "manual", "site"), "fail");
}

/// Seven lines out of reach of an opening stay out of reach whatever the last cleanout says.
#[test]
fn one_cleanout_set_to_no_does_not_hide_the_others() {
    let long = with(
        &clean(),
        &[
            ("length: 12 m", "length: 80 m"),
            ("{ at: 12 m, level: 98.800 m }", "{ at: 80 m, level: 98.800 m }"),
        ],
    );
    let long = with(&long, &[("    gutter: eave\n", "    gutter: eave\n    cleanout: no\n")]);
    let shut = with(&long, &[("    cleanout: yes\n    cap: sealed\n", "    cleanout: no\n")]);
    let fails = |text: &str| {
        let result = review(text).unwrap();
        let all = result["findings"].as_array().unwrap();
        all.iter().filter(|f| f["rule"] == "cleanouts" && f["outcome"] == "fail").count()
    };
    assert_eq!((fails(&long), fails(&shut)), (2, 2));
}

/// T2 is filled by the overflow of T1 alone, and gets every rule of a tank.
#[test]
fn a_tank_in_a_cascade_gets_every_rule_of_a_tank() {
    let first = "overflow: { level: 101.850 m, pipe: pvc-en1401-sn4 110 mm }";
    let second = "  T2: { inlet: 101.000 m, overflow: { level: 100.970 m, pipe: pvc-sch40 3 in }, \
        floor: 99.9 m, rim: 101.5 m, ground: 99.9 m }\n";
    let text = with(
        &clean(),
        &[
            (first, "overflow: { level: 101.850 m, pipe: pvc-en1401-sn4 110 mm, to: T2 }"),
            ("    frost: insulated\n", &format!("    frost: insulated\n{second}")),
        ],
    );
    let result = review(&text).unwrap();
    // The inlet's bore is the overflow's, 103.6 mm: the air gap is 30 mm, the overflow 77.9 mm.
    let found = |rule: &str| outcome(&result, rule, "T2");
    assert_eq!(
        (found("inlet-air-gap").as_str(), found("overflow-size").as_str()),
        ("fail", "fail")
    );
    for rule in ["frost-exposed", "tank-base", "tank-access", "overflow-discharge", "flotation"] {
        assert_eq!(found(rule), "not-shown", "{rule}");
    }
    assert!(["pass", "fail"].contains(&found("overflow-capacity").as_str()));
    assert_eq!(found("tank-rim"), "pass");
}

/// Cover needs the ground at both ends and every station; a riser has left the ground.
#[test]
fn cover_needs_the_ground_everywhere() {
    let inner = "{ at: 10 m, level: 98.900 m, ground: 100.000 m }";
    let text = with(&clean(), &[(inner, "{ at: 10 m, level: 98.900 m }")]);
    let result = review(&text).unwrap();
    assert_eq!(outcome(&result, "cover", "L3"), "not-shown");
    assert_eq!(outcome(&result, "frost-depth", "L3"), "not-shown");
    let text = with(&clean(), &[("    ground: 100.000 m\n    frost: drained before frost\n", "")]);
    let result = review(&text).unwrap();
    assert_eq!(outcome(&result, "frost-exposed", "D1"), "not-shown");
    assert_eq!(outcome(&result, "cover", "L1"), "not-shown");
    // What is shown and fails is not hidden by what is not shown.
    let text = with(
        &clean(),
        &[
            (inner, "{ at: 10 m, level: 98.900 m }"),
            (
                "{ at: 0 m, level: 98.800 m, ground: 100.000 m }",
                "{ at: 0 m, level: 98.800 m, ground: 98.95 m }",
            ),
        ],
    );
    assert_eq!(outcome(&review(&text).unwrap(), "cover", "L3"), "fail");
}

#[test]
fn meshes_finer_than_a_millimetre_can_be_entered() {
    let text = with(&clean(), &[("insect_mesh: 1 mm", "insect_mesh: 0.4 mm")]);
    assert_eq!(review(&text).unwrap()["verdict"], "pass");
}

#[test]
fn pipes_of_the_catalogue_have_a_bore() {
    for kind in wetrun_catalogue::pipe_types() {
        for size in &kind.sizes {
            let pipe = kind.pipe_in(size);
            let text = with(&clean(), &[("pvc-en1401-sn4 110 mm", &pipe.label)]);
            let Some(result) = review(&text) else { continue };
            let found = outcomes(&result);
            let fails =
                found.iter().any(|((rule, _), all)| rule == "pipe-bore" && all.contains("fail"));
            assert!(!fails, "{}", pipe.label);
        }
    }
}

/// Everything that is judged against a number says both numbers.
#[test]
fn a_judged_item_carries_its_value_and_its_limit() {
    for path in drawings::all().values() {
        let Some(result) = review(&std::fs::read_to_string(path).unwrap()) else { continue };
        for finding in result["findings"].as_array().unwrap() {
            let rule = wetrun_checks::rule(finding["rule"].as_str().unwrap()).unwrap();
            let judged =
                ["pass", "fail", "caution"].contains(&finding["outcome"].as_str().unwrap());
            let stated = !finding["stated"].is_null();
            let one_sided = finding["value"].is_null() != finding["limit"].is_null();
            let exempt = [
                "stale-volume",
                "lowest-opening",
                "leaf-screen",
                "cleanouts",
                "flotation",
                "levels-agree",
                "hump-vent",
                "low-point-drain",
            ]
            .contains(&rule.name);
            if judged && rule.limit.is_some() && !stated && !exempt {
                assert!(finding["value"].is_number() && finding["limit"].is_number(), "{finding}");
            }
            assert!(!judged || exempt || !one_sided, "{finding}");
        }
    }
}

/// The level that a rule asks for, as printed, passes when it is drawn.
#[test]
fn what_is_asked_for_passes_as_printed() {
    let kinds = Kinds { open: false, loops: false, facts: false };
    let mut tried = 0;
    for seed in 0..20 {
        let text = site(7000 + seed, kinds);
        for units in ["si", "us"] {
            // Every value of these sites has its unit: only what is printed changes.
            let text = text.replace("units: si", &format!("units: {units}"));
            let Some(result) = review(&text) else { continue };
            let mut drawn = text.clone();
            let mut asked = 0;
            for finding in result["findings"].as_array().unwrap() {
                if finding["rule"] != "watertight-level" {
                    continue;
                }
                let message = finding["message"].as_str().unwrap();
                let level = message.split("; ").last().unwrap().split(" is needed").next().unwrap();
                // Where all need the same level it is asked for once.
                let tags: Vec<String> = match finding["where"].as_str().unwrap() {
                    "site" => (1..=5).map(|d| format!("D{d}")).collect(),
                    tag => vec![tag.to_owned()],
                };
                for tag in tags {
                    let old = format!("  {tag}: {{ outlet:");
                    let new = format!("  {tag}: {{ watertight_to: {level}, outlet:");
                    drawn = drawn.replace(&old, &new);
                }
                asked += 1;
            }
            if asked == 0 {
                continue;
            }
            let result = review(&drawn).unwrap();
            for finding in result["findings"].as_array().unwrap() {
                let of_rule = finding["rule"] == "watertight-level";
                assert!(!of_rule || finding["outcome"] == "pass", "seed {seed}: {finding}");
                tried += usize::from(of_rule);
            }
        }
    }
    assert!(tried > 50, "{tried}");
}

#[test]
fn the_missing_keys_can_be_pasted_and_filled_in() {
    let text = site(6001, Kinds { open: false, loops: false, facts: true });
    let file = write(&text);
    let todo = run(&["review", file.path().to_str().unwrap(), "--todo"]).stdout;
    assert!(todo.lines().all(|line| line.chars().count() <= 80), "{todo}");
    // As it is pasted it shows nothing new.
    let (before, pasted) = (review(&text).unwrap(), review(&format!("{text}{todo}")).unwrap());
    assert_eq!(before["findings"], pasted["findings"]);
    // Filled in by the kind of each key.
    let value = |line: &str| {
        let key = line.trim().split(':').next().unwrap();
        let value = match key {
            "cleanout" | "buried" | "vehicles" | "continuous_slope" => "no",
            "cap" if !line.starts_with("            ") => "sealed",
            "open" => "80 %",
            "storm_duration" | "duration" => "20 min",
            "volume" => "20 L",
            "ordinary_rain" => "20 mm/h",
            "roof_area" => "100 m2",
            "leaf_mesh" | "insect_mesh" | "inlet_mesh" | "overflow_mesh" | "mesh"
            | "outlet_size" | "opening" | "inlet" | "frost_depth" => "1 mm",
            "floor" => "9 m",
            "rim" | "level" | "ground" | "water_level" | "watertight_to" => "13 m",
            "overflow_distance" | "authority_difference" => "4 m",
            "depth" => "75 mm",
            "pipe" => "pvc-en1401-sn4 110 mm",
            "medium" => "water",
            "first_flush" => "no",
            "fittings" => "{ bend-90: 1 }",
            _ => "words",
        };
        line.replace("TBD", value)
    };
    let filled: Vec<String> = todo
        .lines()
        .filter(|line| !line.contains("gutter: TBD"))
        .map(|line| if line.starts_with('#') { line.to_owned() } else { value(line) })
        .collect();
    let filled = format!("{text}{}\n", filled.join("\n"));
    let after = review(&filled).unwrap_or_else(|| panic!("{}", filled));
    assert!(count(&after, "not-shown") < count(&before, "not-shown"));
}

/// What is asked for once more is pasted over what was pasted before, and the file takes it: as it is
/// told, time and again, in whatever way the section is written.
#[test]
fn the_missing_keys_can_be_pasted_again() {
    let files = files("fixtures/ok", "site.yaml").into_iter().take(8);
    let empty = "shown:\n";
    let braces = "shown: { revision: B, # the one that was built\n  documents: { manual: TBD } }\n";
    let lines =
        "shown:\n  # asked in May\n  revision: B\n  documents:\n    manual: TBD\n  ground:\n";
    let mut pasted = 0;
    for (number, path) in files.enumerate() {
        let before = std::fs::read_to_string(&path).unwrap();
        let mut text = format!("{before}{}", ["", empty, braces, lines][number % 4]);
        let asked = |text: &str| {
            let file = write(text);
            let ran = run(&["review", file.path().to_str().unwrap(), "--todo"]);
            assert!(ran.status < 2, "{}: {}", path.display(), ran.stderr);
            ran.stdout
        };
        let first = review(&text).unwrap();
        for _ in 0..2 {
            let todo = asked(&text);
            text = paste(&text, &todo);
            assert_eq!(review(&text).unwrap()["findings"], first["findings"], "{text}");
        }
        // Some are answered, some not; then it is asked again.
        for (key, value) in [("restraint", "thrust blocks"), ("frost_depth", "900 mm")] {
            text = text.replace(&format!(" {key}: TBD"), &format!(" {key}: {value}"));
            let todo = asked(&text);
            text = paste(&text, &todo);
            let found = review(&text).unwrap();
            let asks = |f: &Value| {
                f["missing"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|m| m.as_str().unwrap().ends_with(&format!(".{key}")))
            };
            assert!(!found["findings"].as_array().unwrap().iter().any(asks), "{key}: {text}");
            pasted += 1;
        }
        assert_eq!(text.contains("# asked in May"), number % 4 == 3);
        assert_eq!(text.contains("# the one that was built"), number % 4 == 2);
        assert!(text.starts_with(&before));
    }
    assert_eq!(pasted, 16);
}

/// The text with a piece pasted where it says.
fn paste(text: &str, piece: &str) -> String {
    let Some(told) = piece.split_once(" over line").map(|(_, told)| told) else {
        return format!("{text}{piece}");
    };
    let told = told.trim_start_matches('s').split(" of the").next().unwrap();
    let (first, last) = told.split_once(" to ").unwrap_or((told, told));
    let (first, last): (usize, usize) =
        (first.trim().parse().unwrap(), last.trim().parse().unwrap());
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    format!("{}{piece}{}", lines[..first - 1].concat(), lines[last..].concat())
}

/// A key that is there is not asked for a second time beside the one that is missing.
#[test]
fn only_what_is_missing_is_asked_for() {
    let text = with(&clean(), &[("{ level: 98.500 m, to: swale }", "{ level: 98.500 m }")]);
    let file = write(&text);
    let todo = run(&["review", file.path().to_str().unwrap(), "--todo"]).stdout;
    let keys: Vec<&str> =
        todo.lines().filter(|line| !line.starts_with('#')).map(str::trim).collect();
    assert_eq!(keys, ["shown:", "points:", "P1:", "drain_outlet:", "to: TBD"]);
    // The whole file with it, in one step.
    let out = tempfile::tempdir().unwrap();
    let (site, out) = (file.path().to_str().unwrap(), out.path().join("asked.yaml"));
    let written = run(&["review", site, "--todo", "--write", out.to_str().unwrap()]);
    assert_eq!((written.status, &written.stdout), (1, &todo), "{}", written.stderr);
    let piece = todo.split_inclusive('\n').filter(|line| !line.starts_with('#'));
    let wanted = format!("{text}{}", piece.collect::<String>());
    assert_eq!(std::fs::read_to_string(&out).unwrap(), wanted);
    let over = run(&["review", site, "--todo", "--write", site]);
    assert_eq!(over.status, 2);
    assert_eq!(std::fs::read_to_string(site).unwrap(), text);
}

/// One key answers for all lines; a line that says otherwise keeps its own answer.
#[test]
fn one_key_answers_for_all_of_a_kind() {
    let silent = with(&clean(), &[("    vehicles: no\n", "")]);
    let result = review(&silent).unwrap();
    assert_eq!(outcome(&result, "cover-vehicles", "site"), "not-shown");
    let asks = result["findings"].as_array().unwrap().iter();
    let asks: Vec<&Value> = asks.filter(|f| f["rule"] == "cover-vehicles").collect();
    assert_eq!(asks.len(), 1);
    assert_eq!(asks[0]["missing"], serde_json::json!(["defaults.lines.vehicles"]));
    let answered = format!("{silent}defaults: {{ lines: {{ vehicles: no }} }}\n");
    assert_eq!(outcome(&review(&answered).unwrap(), "cover-vehicles", "site"), "not-applicable");
    let own =
        with(&answered, &[("    length: 13.1 m\n", "    length: 13.1 m\n    vehicles: yes\n")]);
    assert!(!outcome(&review(&own).unwrap(), "cover-vehicles", "L3").is_empty());
}

/// The outlet's bore unsaid is not taken for the downspout's where that lets a screen pass.
#[test]
fn a_screen_half_blocked_needs_the_outlets_bore() {
    let narrow = with(
        &clean(),
        &[("outlet_size: 103.6 mm", "outlet_size: 70 mm"), ("open: 80 %", "open: 90 %")],
    );
    let silent = with(&narrow, &[("    outlet_size: 70 mm\n", "")]);
    let of = |text: &str, place| outcome(&review(text).unwrap(), "screen-blocked", place);
    assert_eq!(of(&narrow, "D1"), "fail");
    assert_eq!(of(&silent, "site"), "not-shown");
}

/// A line that goes up to a tank in no riser leaves the ground on its way: there it has no cover, and
/// without a profile nobody knows where.
#[test]
fn a_ramp_out_of_the_ground_has_no_cover() {
    let riser = "      - { at: 10 m, level: 98.900 m, ground: 100.000 m }\n";
    let text = with(&clean(), &[(riser, "")]);
    let result = review(&text).unwrap();
    for rule in ["cover", "frost-depth"] {
        assert_eq!(outcome(&result, rule, "L3"), "fail", "{rule}");
    }
    let end = "      - { at: 13.1 m, level: 102.000 m }\n";
    let start = "    profile:\n      - { at: 0 m, level: 98.800 m, ground: 100.000 m }\n";
    let result = review(&with(&text, &[(&format!("{start}{end}"), "")])).unwrap();
    for rule in ["cover", "frost-depth"] {
        assert_eq!(outcome(&result, rule, "L3"), "not-shown", "{rule}");
    }
}

/// A limit is not moved for a reason that is still to come.
#[test]
fn a_limit_of_the_job_has_a_reason() {
    let rule =
        |reason| format!("{}rules: {{ cover: {{ limit: 1 mm, reason: {reason} }} }}\n", clean());
    assert!(review(&rule("no vehicles")).is_some());
    for reason in ["TBD", "'?'", "to follow", "n/a"] {
        let file = write(&rule(reason));
        let ran = run(&["review", file.path().to_str().unwrap()]);
        assert_eq!(ran.status, 2, "{reason}");
        assert!(ran.stderr.contains("only holds the place of a reason"), "{}", ran.stderr);
    }
}

/// A mesh beside an opening that is all free contradicts itself: neither is believed.
#[test]
fn a_mesh_that_takes_nothing_of_the_opening_is_looked_at() {
    let text = with(&clean(), &[("screen: { open: 80 % }", "screen: { open: 100 % }")]);
    assert_eq!(outcome(&review(&text).unwrap(), "leaf-screen", "D1"), "caution");
    let bare = with(&text, &[("    leaf_mesh: 5 mm\n", "")]);
    assert_eq!(outcome(&review(&bare).unwrap(), "leaf-screen", "D1"), "fail");
}

/// What no storm of the site reaches is no ordinary rain, and no rain is no storm.
#[test]
fn rains_that_flatter_are_told() {
    for (changed, to, rule) in [
        ("ordinary_rain: 20 mm/h", "ordinary_rain: 3000 mm/h", "self-cleansing"),
        ("intensity: 100 mm/h", "intensity: 0 mm/h", "storm-basis"),
    ] {
        let result = review(&with(&clean(), &[(changed, to)])).unwrap();
        assert_eq!(outcome(&result, rule, "site"), "fail", "{to}");
    }
    // That another rain is asked about changes nothing of what is drawn.
    let file = write(&clean());
    let asked = ["review", file.path().to_str().unwrap(), "--storm", "1 mm/h", "--format", "json"];
    let result: Value = serde_json::from_str(&run(&asked).stdout).unwrap();
    let heavier = |f: &Value| f["message"].as_str().unwrap().contains("is heavier than the storm");
    assert!(!result["findings"].as_array().unwrap().iter().any(heavier));
}
