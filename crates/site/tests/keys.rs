//! The tables of keys against the reader: every key is read, as what its row says, and missed where
//! the row says that it must be there.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]

use serde_yaml::Value as Yaml;
use std::collections::BTreeSet;
use std::sync::OnceLock;
use wetrun_site::keys::{Amount, Key, Least, Need, SITE, Section, Value};
use wetrun_site::{Code, Diagnostic};
use wetrun_units::UnitSystem;

const BASE: &str = "
wetrun: 1
name: Shed
units: us
rainfall: { years: 25, depths: { 5 min: 0.44 in, 10 min: 0.7 in } }
storm: { intensity: 4 in/h }
roofs: { R1: { area: 600 sq ft, to: D1 } }
gutters: { G1: { shape: half-round, width: 6 in } }
downspouts: { D1: { outlet: 112 ft, foot: 102 ft, pipe: { type: pvc-sch40, size: 4 in } } }
points: { P1: { level: 101 ft } }
lines:
  M1: { from: D1, to: P1, length: 60 ft, pipe: { type: pvc-sch40, size: 4 in } }
  M2: { from: P1, to: T1, length: 60 ft, pipe: { inside: 4 in, roughness: 0.0015 mm } }
tanks:
  T1: { inlet: 109 ft, floor: 101 ft, overflow: { level: 108 ft, to: T2, pipe: { type: pvc-sch40, size: 6 in } } }
  T2: { inlet: 107 ft }
pipes: { own: { c: 150, sizes: { 4 in: { outside: 4.5 in, wall: 0.2 in } } } }
fittings: { strainer: { k: 2 } }
benchmarks: { BM1: { level: 100 ft } }
rules: { cover: { limit: 300 mm, reason: none } }
uses: { house: { takes: 100 gal/d, from: T1 } }
transfers: { pump: { from: T1, to: T2, rate: 8 gpm } }
doubts: { lines: { M1: { silt: 0.5 in } } }
";

fn base() -> &'static Yaml {
    static TREE: OnceLock<Yaml> = OnceLock::new();
    TREE.get_or_init(|| serde_yaml::from_str(BASE).unwrap())
}

/// The faults of the base with a change made to it, at the key and below it.
fn faults(way: &[String], change: impl Fn(&mut Yaml)) -> Vec<Diagnostic> {
    let mut site = base().clone();
    change(&mut site);
    let text = serde_yaml::to_string(&site).unwrap();
    let read = wetrun_site::read(text.as_bytes(), "site.yaml");
    let all = read.map_or_else(|faults| faults.list().to_vec(), |_| Vec::new());
    let path = way.join(".").replace(".0", "[0]");
    all.into_iter().filter(|fault| fault.key_path.starts_with(&path)).collect()
}

/// What a value is, whatever else it means for the rest of the file.
fn wrong(way: &[String], value: &str) -> Vec<Diagnostic> {
    let yaml: Yaml = serde_yaml::from_str(value).unwrap();
    let codes = [Code::UnknownKey, Code::Shape, Code::Value, Code::Range];
    let found = faults(way, |site| *at(site, way) = yaml.clone());
    found.into_iter().filter(|fault| codes.contains(&fault.code)).collect()
}

/// The place of a key; what leads to it is made.
fn at<'y>(site: &'y mut Yaml, way: &[String]) -> &'y mut Yaml {
    let mut node = site;
    for step in way {
        node = if step == "0" {
            if !node.is_sequence() {
                *node = serde_yaml::from_str("[{ at: 0, level: 102 ft }]").unwrap();
            }
            &mut node[0]
        } else {
            if !node.is_mapping() {
                *node = Yaml::Mapping(Default::default());
            }
            node.as_mapping_mut().unwrap().entry(step.as_str().into()).or_insert(Yaml::Null)
        };
    }
    node
}

/// Every key of the tables with the way to it, and the section that has it.
fn all() -> Vec<(Vec<String>, &'static Section, &'static Key)> {
    let base = base();
    let (mut found, mut open) = (Vec::new(), vec![(Vec::new(), &SITE)]);
    while let Some((way, section)) = open.pop() {
        for key in section.keys() {
            let here: Vec<String> = [&way[..], &[key.name.to_owned()]].concat();
            let below = |name: &str| [&here[..], &[name.to_owned()]].concat();
            match key.value {
                Value::Section(next) | Value::Device(next) => open.push((here.clone(), next)),
                Value::AmountOr(_, keys) | Value::NumberOr(_, keys) => {
                    open.push((here.clone(), keys))
                }
                Value::Pipe { keys, .. } => open.push((here.clone(), keys)),
                Value::Stations(next) => open.push((below("0"), next)),
                Value::Items(next) => {
                    let items = here.iter().try_fold(base, |node, step| node.get(step));
                    let name = items.and_then(|items| items.as_mapping()?.keys().next()?.as_str());
                    open.push((below(name.unwrap_or("X1")), next));
                }
                _ => {}
            }
            found.push((here, section, key));
        }
    }
    assert!(found.len() > 180, "{}", found.len());
    found
}

#[test]
fn the_base_is_a_site() {
    assert!(wetrun_site::read(BASE, "").is_ok(), "{}", wetrun_site::read(BASE, "").unwrap_err());
}

#[test]
fn every_key_is_read_as_what_its_row_says() {
    for (way, _, key) in all() {
        let good = |value: &str| {
            let told = wrong(&way, value);
            assert!(told.is_empty(), "{way:?}: `{value}`: {told:?}");
        };
        let bad = |value: &str| {
            let yaml: Yaml = serde_yaml::from_str(value).unwrap();
            let told = faults(&way, |site| *at(site, &way) = yaml.clone());
            assert!(!told.is_empty(), "{way:?} takes `{value}`");
        };
        let goods = |values: &[&str]| values.iter().for_each(|value| good(value));
        let bads = |values: &[&str]| values.iter().for_each(|value| bad(value));
        if !matches!(key.value, Value::Stations(_)) {
            good(key.example(UnitSystem::Us));
            good(key.example(UnitSystem::Si));
        }
        if let Need::Default(value) = key.need {
            good(value);
        }
        match key.value {
            Value::Amount(amount) => amounts(&amount, &good, &bad),
            Value::AmountOr(amount, _) => {
                amounts(&amount, &good, &bad);
                bads(&["{ no-such-key: 1 }"])
            }
            Value::NumberOr(..) => bads(&["many", "-1", "1 ft", ".nan", "[1]", "{ zz: 1 }"]),
            Value::Number(_) => bads(&["many", "-1", "1 ft", ".nan", "[1]"]),
            Value::YesNo => {
                goods(&["yes", "no", "true", "false"]);
                bads(&["perhaps", "1", "[yes]"])
            }
            Value::Choice(words) => {
                words.iter().for_each(|word| good(word));
                bads(&["no-such-word", "[a]"])
            }
            Value::Text | Value::Name | Value::Limit => {
                goods(&["12", "no", "three words"]);
                bads(&["[a]", "{ a: b }"]);
                // To a review an empty text only holds a place.
                if key.review { good("''") } else { bad("''") }
            }
            Value::Version => bads(&["2", "[1]"]),
            Value::Tag(_) | Value::TankOrGround => bads(&["[a]", "{ a: b }"]),
            Value::Tanks => bads(&["{ a: b }", "[]"]),
            Value::Section(_) | Value::Device(_) => bads(&["word", "[a]", "{ no-such-key: 1 }"]),
            Value::Items(_) => bads(&["word", "[a]", "{ X9: { no-such-key: 1 } }"]),
            Value::Stations(_) => bads(&["word", "{ a: b }", "[{ no-such-key: 1 }]"]),
            Value::Pipe { .. } => {
                bads(&["pvc-sch40", "pvc-sch40 big", "[a]", "{ no-such-key: 1 }"])
            }
            Value::Sizes => bads(&["big", "[]", "{ a: b }", "4 gal"]),
            Value::Fittings => bads(&["word", "[a]", "{ bend-45: some }"]),
            Value::Shares => bads(&["[D1]", "{ D1: all }", "{ D1: 2 }"]),
            Value::Prices => bads(&["word", "{ pvc-sch40: 4 }", "{ pvc-sch40: { 4 in: dear } }"]),
            Value::Depths => bads(&["word", "{ 5 min: 1 gal }", "{ soon: 1 in }"]),
            Value::Course { .. } => {
                goods(&[
                    "{ nested: 10 min }",
                    "[{ at: 5 min, rain: 1 in/h }, { at: 9 min, rain: 0 }]",
                ]);
                bads(&[
                    "word",
                    "{ step: 5 min }",
                    "[{ at: 0 min, rain: 1 in/h }]",
                    "[]",
                    "[{ a: 1 }]",
                ])
            }
            Value::Months => bads(&["May", "[0]", "[13]", "{ a: b }"]),
            Value::Start => bads(&["half", "110 %", "[a]"]),
            Value::Place => bads(&["[1]", "word", "[1, 2, 3]", "[1, 2 gal]"]),
            Value::Texts => {
                goods(&["one", "[one, two]"]);
                bads(&["{ a: b }", "[[a]]"])
            }
            Value::Cap { level } => {
                bads(&["[a]", "{ a: b }", "loose"]);
                if level { good("101 ft") } else { bad("101 ft") }
            }
        }
    }
}

fn amounts(amount: &Amount, good: &impl Fn(&str), bad: &impl Fn(&str)) {
    for text in ["3 frogs", ".nan", "[1]", "1,5"] {
        bad(text);
    }
    // A bare number has a unit, or is refused.
    let bare = UnitSystem::Us.bare_unit(amount.kind).is_some();
    match (bare, amount.kind) {
        (true, wetrun_units::Kind::Temperature) => good("50"),
        (true, _) => good("0.1"),
        (false, wetrun_units::Kind::Fraction) => good("0.5"),
        (false, _) => bad("0.9"),
    }
    match amount.least {
        Least::Any => {}
        Least::Zero => {
            good("0");
            bad("-1");
        }
        Least::MoreThanZero => {
            bad("0");
            bad("-1");
        }
    }
}

#[test]
fn what_must_be_there_is_missed_and_nothing_else() {
    for (way, section, key) in all() {
        let (name, parent) = way.split_last().unwrap();
        // The section stands with all that it needs but this key.
        let set = section.one_of.iter().find(|set| !set.contains(&key.name));
        let found = faults(&way, |site| {
            for other in section.keys().filter(|other| other.name != key.name) {
                let needed = other.need == Need::Required
                    || set.is_some_and(|set| set.contains(&other.name));
                let place = at(site, &[parent, &[other.name.to_owned()]].concat());
                if needed && place.is_null() && !matches!(other.value, Value::Stations(_)) {
                    *place = serde_yaml::from_str(other.example(UnitSystem::Us)).unwrap();
                }
            }
            let parent = at(site, parent);
            if !parent.is_mapping() {
                *parent = Yaml::Mapping(Default::default());
            }
            let parent = parent.as_mapping_mut().unwrap();
            parent.remove(name.as_str());
            parent.retain(|other, value| {
                let other = other.as_str().unwrap();
                let of_another = section.one_of.iter().flat_map(|set| set.iter());
                let mut of_another =
                    of_another.filter(|_| set.is_some_and(|s| !s.contains(&other)));
                !value.is_null() && of_another.all(|of| *of != other)
            });
        });
        let missed = found.iter().any(|fault| fault.code == Code::MissingKey);
        // That there is a downspout is asked of the whole file.
        let required = key.need == Need::Required && key.name != "downspouts";
        assert_eq!(missed, required, "{way:?}: {found:?}");
        if key.need == Need::Required {
            assert!(section.one_of.iter().all(|set| !set.contains(&key.name)));
        }
    }
    // Of each pair of sets one must be there in full.
    for (section, way) in [
        ("storm", &["storm"][..]),
        ("pipe", &["lines", "M2", "pipe"]),
        ("size", &["pipes", "own", "sizes", "4 in"]),
    ] {
        let way: Vec<String> = way.iter().map(|step| (*step).to_owned()).collect();
        let empty = faults(&way, |site| *at(site, &way) = serde_yaml::from_str("{}").unwrap());
        assert!(empty.iter().any(|fault| fault.code == Code::MissingKey), "{section}: {empty:?}");
    }
}

/// What a row says of a default is what a file without the key means.
#[test]
fn defaults_are_those_of_the_reader() {
    let told = |site: &wetrun_site::Site| {
        let part = (&site.network, &site.storm, &site.roofs, &site.gutters, &site.transfers);
        format!(
            "{part:?} {:?} {:?} {:?} {:?}",
            site.targets.freeboard, site.tanks, site.water_temperature, site.losses
        )
    };
    let base = base();
    let read = |site: &Yaml| {
        let text = serde_yaml::to_string(site).unwrap();
        wetrun_site::read(text.as_bytes(), "").unwrap_or_else(|faults| panic!("{faults}"))
    };
    let mut held = 0;
    for (way, _, key) in all() {
        let Need::Default(value) = key.need else { continue };
        let mut with = base.clone();
        *at(&mut with, &way) = serde_yaml::from_str(value).unwrap();
        let mut without = base.clone();
        let (name, parent) = way.split_last().unwrap();
        at(&mut without, parent);
        if let Some(parent) = at(&mut without, parent).as_mapping_mut() {
            parent.remove(name.as_str());
        }
        assert_eq!(told(&read(&with)), told(&read(&without)), "{way:?}");
        held += 1;
    }
    assert!(held > 10, "{held}");
}

#[test]
fn the_reference_tells_of_every_key() {
    let reference = include_str!("../../../docs/site-file.md");
    // Names in code, each part of a path by itself.
    let code = reference.split('`').skip(1).step_by(2);
    let words: BTreeSet<&str> =
        code.flat_map(|code| code.split(|c: char| !c.is_alphanumeric() && c != '_')).collect();
    for (way, _, key) in all() {
        assert!(words.contains(key.name), "{way:?} is not in the reference");
        assert!(key.meaning().len() > 4, "{way:?} does not say what it means");
    }
}
