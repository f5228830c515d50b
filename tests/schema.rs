//! The schema of the site file against an independent validator: demos are valid, wrong files are not
//! where a schema can know, and values are what the reader takes for values.

use crate::drawings;
use crate::random_site::Dice;
use crate::readers::read_by;
use crate::support::{cases, files, root, run};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs::{read_to_string, write};
use wetrun_units::{Fault, UnitSystem, ValueError};

/// What the validator says against files and values; none where it is not installed.
pub(crate) fn validated(files: &[String], values: &[(String, Value)]) -> Option<Value> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (schema, list) = (path("schema.json"), path("list.json"));
    let ran = run(&["schema"]);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""));
    write(&schema, ran.stdout).unwrap();
    write(&list, json!({ "files": files, "values": values }).to_string()).unwrap();
    let told = read_by("schema.py", &[&schema, &list])?;
    Some(serde_json::from_str(&told).unwrap())
}

fn path(of: impl AsRef<std::path::Path>) -> String {
    root().join(of).to_str().unwrap().to_owned()
}

#[test]
fn every_demo_is_valid() {
    let mut demos: Vec<String> = ["ok", "levels", "size", "year", "doubt"]
        .iter()
        .flat_map(|kind| files(&format!("fixtures/{kind}"), "site.yaml"))
        .map(path)
        .collect();
    // The drawings of the review are edits of one: each in the long run.
    let step = if std::env::var_os("WETRUN_LONG").is_some() { 1 } else { 12 };
    let drawings = drawings::all().iter().step_by(step);
    demos.extend(drawings.map(|(_, path)| path.to_str().unwrap().to_owned()));
    // The whole example of the reference, and what its other examples add.
    let reference = read_to_string(root().join("docs/site-file.md")).unwrap();
    let blocks = reference.split("```yaml\n").skip(1).map(|b| b.split("```").next().unwrap());
    let blocks: Vec<&str> = blocks.filter(|block| !block.starts_with(' ')).collect();
    let folder = tempfile::tempdir().unwrap();
    for (index, block) in blocks.iter().enumerate() {
        let text = if index == 0 { (*block).to_owned() } else { format!("{}{block}", blocks[0]) };
        let file = folder.path().join(format!("{index}.yaml"));
        write(&file, text).unwrap();
        demos.push(file.to_str().unwrap().to_owned());
    }
    assert!(demos.len() > 40, "{}", demos.len());
    let Some(told) = validated(&demos, &[]) else { return };
    for demo in &demos {
        assert_eq!(told["files"][demo], Value::Null, "{demo}");
    }
}

/// What a schema of one file cannot know: what else the file says, and sums. Numbers with units are
/// texts to it.
const BEYOND: &[&str] = &[
    "duplicate-key-in-merge",
    "junction-",
    "layout-",
    "levels-",
    "pipe-own-type-without-c",
    "profile-end",
    "profile-order",
    "profile-start",
    "range-bore-",
    "range-course-beyond-the-table",
    "range-course-last-rain",
    "range-course-not-whole-steps",
    "range-course-order",
    "range-course-step-too-short",
    "range-length-next-to-nothing",
    "range-length-too-long",
    "range-level-out-of-reach",
    "range-own-pipe-without-bore",
    "range-rain-beyond-any",
    "range-rain-table-",
    "range-roof-lag",
    "range-silt-closes-a-line",
    "range-start-",
    "range-storm-outside-table",
    "range-too-large",
    "range-water",
    "reference-",
    "shares-sum",
    "tag-twice-",
];

#[test]
fn wrong_files_are_refused_where_a_schema_can_know() {
    let wrong: BTreeMap<String, String> = cases("err")
        .into_iter()
        .map(|name| (path(format!("fixtures/err/{name}/site.yaml")), name))
        .filter(|(path, _)| std::path::Path::new(path).is_file())
        .collect();
    let paths: Vec<String> = wrong.keys().cloned().collect();
    let Some(told) = validated(&paths, &[]) else { return };
    for (path, name) in &wrong {
        let beyond = BEYOND.iter().any(|start| name.starts_with(start));
        // Of a sort that cannot be known in general, a few can.
        let known = name == "reference-storm-without-table";
        assert_eq!(
            told["files"][path].is_null(),
            beyond && !known,
            "{name}: {}",
            told["files"][path]
        );
    }
    assert!(wrong.len() >= 70);
}

/// How a kind is read, and the name of its definition, for numbers of either sign.
type Reader = fn(UnitSystem, &str) -> Result<f64, ValueError>;
const READERS: &[(&str, Reader)] = &[
    ("length", |units, text| units.read_level(text).map(|v| v.to_m())),
    ("size-from-0", |units, text| units.read_size(text).map(|v| v.to_m())),
    ("area-above-0", |units, text| units.read_area(text).map(|v| v.to_m2())),
    ("volume-above-0", |units, text| units.read_volume(text).map(|v| v.to_m3())),
    ("flow-from-0", |units, text| units.read_flow(text).map(|v| v.to_m3_per_s())),
    ("rain-intensity-from-0", |units, text| units.read_intensity(text).map(|v| v.to_m_per_s())),
    ("difference-of-temperature", |units, text| units.read_warmth(text).map(|v| v.to_k())),
    ("temperature", |units, text| units.read_temperature(text).map(|v| v.to_celsius())),
    ("fraction-from-0", |units, text| units.read_fraction(text).map(|v| v.to_ratio())),
    ("slope-from-0", |units, text| units.read_slope(text).map(|v| v.to_ratio())),
    ("speed-above-0", |units, text| units.read_speed(text).map(|v| v.to_m_per_s())),
    ("time-from-0", |units, text| units.read_time(text).map(|v| v.to_s())),
    ("weight-from-0", |units, text| units.read_weight(text).map(|v| v.to_n())),
];

/// Texts made of the pieces that values are made of, right and wrong ones.
fn texts(count: usize, seed: u64) -> Vec<String> {
    const PIECES: &[&str] = &[
        "4", "12", "0", "0.5", ".25", "1e3", "1.5e-6", "1/2", "3/0", "½", "1 1/2", " ", " ", "-",
        "+", "−", "ft", "in", "\"", "'", "''", "mm", "m", "km", "yd", "m2", "m²", "sq ft",
        "sq. ft", "gal", "L", "m3", "cu ft", "gpm", "L/s", "L/d", "mm/h", "in/hr", "C", "°F", "%",
        "1:200", ":", "in/ft", "mm/m", "m/s", "fps", "s", "min", "h", "d", "days", "kg", "kN",
        "lb", "pounds", "inches", "feet", "meters", "gallons", "frogs", ",", "_", "NaN", "inf",
        "MM", "e", ".",
    ];
    let mut dice = Dice::new(seed);
    let mut made = Vec::with_capacity(count);
    for _ in 0..count {
        let pieces = 1 + dice.below(6);
        made.push((0..pieces).map(|_| PIECES[dice.below(PIECES.len())]).collect());
    }
    made
}

#[test]
fn what_the_reader_takes_for_a_value_the_schema_does_too() {
    // The long run throws as many more of another seed.
    let mut texts = texts(700, 7);
    if std::env::var_os("WETRUN_LONG").is_some() {
        texts.extend(self::texts(8000, 11));
    }
    let written = ["13' 6\"", "13'-6 1/2\"", "-3 ft 6 in", "4½ in", "1:200", "640 sq. ft", "- 3 m"];
    texts.extend(written.map(str::to_owned));
    let mut values = Vec::new();
    let mut taken = Vec::new();
    for (name, reader) in READERS {
        for text in &texts {
            let read = reader(UnitSystem::Us, text);
            let fits = |value: f64| match name.rsplit_once('-') {
                Some((_, "0")) if name.contains("above") => value > 0.0,
                Some((_, "0")) => value >= 0.0,
                _ => true,
            };
            values.push(((*name).to_owned(), json!(text)));
            taken.push(match read {
                Ok(value) => Some(fits(value)),
                // Sums and sizes are not for a schema.
                Err(error) => match error.fault {
                    Fault::TooLarge | Fault::PartOrder | Fault::ZeroBelow | Fault::TooLong => None,
                    _ => Some(false),
                },
            });
        }
    }
    let Some(told) = validated(&[], &values) else { return };
    let (mut held, mut good) = (0, 0);
    for ((value, told), taken) in values.iter().zip(told["values"].as_array().unwrap()).zip(taken) {
        let Some(taken) = taken else { continue };
        let told = told.as_bool().unwrap();
        assert!(told || !taken, "{value:?} is a value, and refused");
        // The other way a schema sees less: signs of parts, fractions that are 0.
        let sum = value.1.as_str().unwrap().contains(['-', '−', '/']);
        assert!(!told || taken || sum, "{value:?} is no value, and taken");
        held += 1;
        good += usize::from(taken);
    }
    assert!(held > 5_000 && good > 150, "{held} {good}");
}

#[test]
fn every_reference_of_the_schema_has_its_definition() {
    let schema: Value = serde_json::from_str(&run(&["schema"]).stdout).unwrap();
    let mut open = vec![&schema];
    let mut seen = std::collections::BTreeSet::new();
    while let Some(node) = open.pop() {
        if let Some(Value::String(reference)) = node.get("$ref") {
            let name = reference.strip_prefix("#/definitions/").unwrap();
            assert!(schema["definitions"].get(name).is_some(), "{name}");
            seen.insert(name);
        }
        match node {
            Value::Object(keys) => open.extend(keys.values()),
            Value::Array(items) => open.extend(items),
            _ => {}
        }
    }
    assert!(seen.len() > 20, "{seen:?}");
}

#[test]
fn the_schema_says_what_keys_mean() {
    let schema: Value = serde_json::from_str(&run(&["schema"]).stdout).unwrap();
    let at = |pointer: &str| schema.pointer(pointer).unwrap_or_else(|| panic!("{pointer}")).clone();
    assert_eq!(at("/$schema"), "http://json-schema.org/draft-07/schema#");
    let length = at("/properties/lines/additionalProperties/properties/length/description");
    assert!(length.as_str().unwrap().starts_with("Length along the pipe."), "{length}");
    assert_eq!(at("/properties/storm/properties/tanks/default"), "full");
    assert_eq!(at("/properties/targets/properties/freeboard/default"), "100 mm");
    let doubts = "/properties/doubts/properties";
    assert_eq!(at(&format!("{doubts}/roughness/default")), json!({ "factor": 3 }));
    let meant = at(&format!("{doubts}/junctions/description"));
    assert!(meant.as_str().unwrap().contains("A number without unit, 0 to 1."), "{meant}");
    assert_eq!(at("/properties/points/additionalProperties/properties/cleanout/default"), false);
    // Every property has words beside it.
    let mut open = vec![&schema];
    let mut described = 0;
    while let Some(node) = open.pop() {
        if let Some(properties) = node.get("properties").and_then(Value::as_object) {
            for (name, property) in properties.iter().filter(|(_, property)| property.is_object()) {
                let condition = property.get("if").is_some() || property.get("const").is_some();
                let bare = property.get("required").is_some() && property.get("type").is_none();
                let of_items = property.get("properties").is_none()
                    && property
                        .get("additionalProperties")
                        .is_some_and(|of| of.get("type").is_none());
                let inner = condition || bare || of_items;
                assert!(inner || property.get("description").is_some(), "{name}: {property}");
                described += 1;
            }
        }
        match node {
            Value::Object(keys) => open.extend(keys.values()),
            Value::Array(items) => open.extend(items),
            _ => {}
        }
    }
    assert!(described > 200, "{described}");
}
