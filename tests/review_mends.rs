//! What a review advises with a number holds: applied, its item passes and no other fails.

use crate::random_site::{Kinds, site};
use crate::support::{files, run};
use serde_json::Value;
use serde_yaml::Value as Yaml;
use std::collections::BTreeSet;

fn review(site: &Yaml) -> Option<Value> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), serde_yaml::to_string(site).unwrap()).unwrap();
    let ran = run(&["review", file.path().to_str().unwrap(), "--format", "json"]);
    (ran.status != 2).then(|| serde_json::from_str(&ran.stdout).unwrap())
}

fn failing(result: &Value) -> BTreeSet<(String, String)> {
    let all = result["findings"].as_array().unwrap().iter().filter(|f| f["outcome"] == "fail");
    all.map(|f| (f["rule"].as_str().unwrap().to_owned(), f["where"].as_str().unwrap().to_owned()))
        .collect()
}

fn set(site: &mut Yaml, way: &[&str], value: Yaml) {
    let mut here = site;
    for key in way {
        if here.get(*key).is_none() {
            here[*key] = Yaml::Mapping(Default::default());
        }
        here = here.get_mut(*key).unwrap();
    }
    *here = value;
}

/// The words between two others.
fn between<'t>(text: &'t str, before: &str, after: &str) -> Option<&'t str> {
    let rest = text.split_once(before)?.1;
    Some(if after.is_empty() { rest } else { rest.split_once(after)?.0 })
}

fn text(words: &str) -> Yaml {
    Yaml::String(words.trim().to_owned())
}

/// `L5`, `L5 and L6`, `L5, L6 and L7`.
fn tags(words: &str) -> Vec<String> {
    words.replace(" and ", ", ").split(", ").map(str::to_owned).collect()
}

fn is_line(site: &Yaml, tag: &str) -> bool {
    site["lines"].get(tag).is_some()
}

/// A level as it is printed, in metres.
fn metres(level: &str) -> Option<f64> {
    let (number, unit) = level.trim().split_once(' ')?;
    let number: f64 = number.parse().ok()?;
    match unit {
        "m" => Some(number),
        "ft" => Some(number * 0.3048),
        _ => None,
    }
}

/// Applies the first way that a mend names; `None` where this test does not know its words.
fn apply(site: &Yaml, finding: &Value) -> Option<Yaml> {
    let mend = finding["mend"].as_str()?.split("; or ").next()?;
    let place = finding["where"].as_str()?;
    let mut mended = site.clone();
    let mut known = false;
    for part in mend.split("; and with it ") {
        if let Some(tag) = between(part, "take the vent of ", " up to ") {
            let level = between(part, " up to ", " or higher")?;
            set(&mut mended, &["points", tag, "vent", "level"], text(level));
            known = true;
        } else if let Some(tag) = between(part, "seal the cap of ", ", or") {
            set(&mut mended, &["points", tag, "cap"], text("sealed"));
            known = true;
        }
    }
    if known {
        return Some(mended);
    }
    let bore = mend.contains(" a bore of ");
    if let Some(tag) = between(mend, "give the overflow of ", " ").filter(|_| !bore) {
        let pipe = between(mend, &format!("overflow of {tag} "), "")?;
        set(&mut mended, &["tanks", tag, "overflow", "pipe"], text(pipe));
    } else if let Some(tag) = between(mend, "raise the rim of ", " to ") {
        let level = between(mend, &format!("{tag} to "), "")?;
        set(&mut mended, &["tanks", tag, "rim"], text(level));
    } else if let Some(tag) = between(mend, "lower the overflow of ", " to ") {
        let level = between(mend, &format!("{tag} to "), "")?.split(',').next()?;
        set(&mut mended, &["tanks", tag, "overflow", "level"], text(level));
    } else if let Some(tag) = between(mend, "raise the overflow of ", " to ") {
        let level = between(mend, &format!("{tag} to "), "")?;
        set(&mut mended, &["tanks", tag, "overflow", "level"], text(level));
    } else if let Some(label) = mend.strip_prefix("make it ") {
        let label = label.split(',').next()?;
        set(&mut mended, &["tanks", place, "overflow", "pipe"], text(label));
    } else if let Some(bore) = between(mend, "an outlet of ", " takes it") {
        set(&mut mended, &["downspouts", place, "outlet_size"], text(bore));
    } else if let Some(level) = mend.strip_prefix("take the tight pipe up to ") {
        set(&mut mended, &["downspouts", place, "watertight_to"], text(level));
    } else if let Some(level) = mend.strip_prefix("test at ") {
        set(&mut mended, &["test", "level"], text(level));
    } else if let Some(tag) = between(mend, "raise the outlet of ", " to ") {
        let level = between(mend, &format!("{tag} to "), " (by ")?;
        if let Some(lip) = site["downspouts"][tag].get("lip") {
            let of = |value: &Yaml| metres(value.as_str()?);
            let rise_m = metres(level)? - of(&site["downspouts"][tag]["outlet"])?;
            let lip = format!("{:.6} m", of(lip)? + rise_m);
            set(&mut mended, &["downspouts", tag, "lip"], text(&lip));
        }
        set(&mut mended, &["downspouts", tag, "outlet"], text(level));
    } else if let Some(tag) = between(mend, "raise the leaf head of ", " to ") {
        let level = between(mend, &format!("{tag} to "), "")?;
        set(&mut mended, &["downspouts", tag, "leaf_head"], text(level));
    } else if let (Some(who), Some(bore)) =
        (between(mend, "give ", " a bore of "), between(mend, " a bore of ", " or more"))
    {
        let pipe = format!("{{ inside: {bore}, roughness: 0.0015 mm, c: 150 }}");
        let pipe: Yaml = serde_yaml::from_str(&pipe).unwrap();
        for tag in tags(who) {
            if let Some(tank) = tag.strip_prefix("the overflow of ") {
                set(&mut mended, &["tanks", tank, "overflow", "pipe"], pipe.clone());
                continue;
            }
            let section = if is_line(site, &tag) { "lines" } else { "downspouts" };
            set(&mut mended, &[section, &tag, "pipe"], pipe.clone());
        }
    } else {
        return None;
    }
    Some(mended)
}

/// Items that a larger pipe or a lower overflow changes without the mend's doing: what a pipe says
/// of itself, which the test's own pipe does not, and what only the drawing states.
const ASIDE: [&str; 4] = ["pipe-bore", "joint-type", "joint-head", "law-range"];

#[test]
fn advice_that_is_followed_mends_its_item_and_breaks_no_other() {
    let mut sites: Vec<(String, Yaml)> = Vec::new();
    let failed = crate::drawings::all().iter().filter(|(name, _)| name.ends_with("/fail"));
    for (name, path) in failed {
        let text = std::fs::read_to_string(path).unwrap();
        sites.push((name.clone(), serde_yaml::from_str(&text).unwrap()));
    }
    for path in files("fixtures/ok", "site.yaml") {
        let text = std::fs::read_to_string(&path).unwrap();
        sites.push((path.display().to_string(), serde_yaml::from_str(&text).unwrap()));
    }
    let asked = std::env::var("WETRUN_RANDOM_CASES").ok().and_then(|text| text.parse().ok());
    for seed in 0..asked.unwrap_or(20) {
        let kinds = Kinds { open: false, loops: seed % 4 == 0, facts: true };
        let text = site(8000 + seed, kinds);
        sites.push((format!("seed {seed}"), serde_yaml::from_str(&text).unwrap()));
    }
    let mut applied = std::collections::BTreeMap::<String, usize>::new();
    for (name, site) in sites {
        let Some(before) = review(&site) else { continue };
        let failed = failing(&before);
        let mut seen = BTreeSet::new();
        for finding in before["findings"].as_array().unwrap() {
            let rule = finding["rule"].as_str().unwrap().to_owned();
            let mend = finding["mend"].as_str().unwrap_or_default().to_owned();
            if !["fail", "caution"].contains(&finding["outcome"].as_str().unwrap())
                || !seen.insert((rule.clone(), mend.clone()))
            {
                continue;
            }
            let Some(mended) = apply(&site, finding) else { continue };
            let after = review(&mended).unwrap_or_else(|| panic!("{name}: {rule}: {mend}"));
            let now = failing(&after);
            let place = finding["where"].as_str().unwrap().to_owned();
            let after_it = after["findings"].as_array().unwrap().iter();
            let mut after_it = after_it.filter(|f| f["rule"] == rule && f["where"] == place);
            assert!(
                after_it.all(|f| f["outcome"] != finding["outcome"]),
                "{name}: {rule} at {place} is not mended by `{mend}`"
            );
            let new: Vec<_> = now
                .difference(&failed)
                .filter(|(rule, _)| !ASIDE.contains(&rule.as_str()))
                .collect();
            assert!(new.is_empty(), "{name}: {rule} at {place}: `{mend}` breaks {new:?}");
            *applied.entry(rule).or_default() += 1;
        }
    }
    println!("{applied:?}");
    assert!(applied.values().sum::<usize>() > 40, "{applied:?}");
}

/// Advice is for where it stands: a cap can be sealed, a gutter cannot.
#[test]
fn a_gutter_is_not_told_to_be_sealed() {
    let site = "fixtures/ok/si-looks-fine-fails/site.yaml";
    let ran = run(&["review", site, "--format", "json"]);
    let result: Value = serde_json::from_str(&ran.stdout).unwrap();
    let low = result["findings"].as_array().unwrap().iter();
    let mut low =
        low.filter(|f| f["rule"] == "lowest-opening" && f["outcome"] == "fail").peekable();
    assert!(low.peek().is_some());
    assert!(low.all(|f| f["mend"].is_null()));
}

/// A leaf head below the tank's inlet holds the water at rest down to its own rim: raised by a hair
/// the water would rise with it. It is told to go above the level that the tank's inlet asks for.
#[test]
fn an_opening_that_holds_the_water_down_goes_above_where_it_would_rest() {
    let site = "wetrun: 1\nname: Low head\nunits: si\nstorm: { intensity: 60 mm/h }\n\
        roofs: { all: { area: 10 m2, to: D1 } }\n\
        downspouts: { D1: { outlet: 13 m, foot: 9.5 m, leaf_head: 11.9 m, pipe: pvc-sch40 4 in } }\n\
        lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 4 in, length: 5 m } }\n\
        tanks: { T1: { inlet: 12 m, overflow: { level: 11.8 m, pipe: pvc-sch40 4 in } } }\n";
    let site: Yaml = serde_yaml::from_str(site).unwrap();
    let before = review(&site).unwrap();
    let low = before["findings"].as_array().unwrap().iter();
    let low = low.clone().find(|f| f["rule"] == "inlet-below-openings").unwrap();
    assert_eq!(
        (&low["outcome"], &low["mend"]),
        (&"fail".into(), &"raise the leaf head of D1 to 12.001 m".into())
    );
    let after = review(&apply(&site, low).unwrap()).unwrap();
    assert!(!failing(&after).contains(&("inlet-below-openings".to_owned(), "D1".to_owned())));
}
