//! Drawings for CAD, audited and read back by another reader: lengths, levels and heads are the site's.

use crate::readers::read_by;
use crate::support::{cases, root, run};
use serde_json::{Value, json};
use std::path::Path;
use wetrun_units::UnitSystem;

/// A value of the site file in metres.
fn metres(units: UnitSystem, value: &Value) -> f64 {
    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    units.read_level(&text).unwrap().to_m()
}

/// Draws a site into a folder, and says what is to be found on the drawing.
fn drawn(folder: &Path, site: &str, texts: &[&str]) -> Value {
    let name = format!("{}.dxf", site.replace('/', "-"));
    let out = folder.join(name);
    let ran = run(&["sheet", site, "-o", out.to_str().unwrap()]);
    assert_eq!((ran.status, ran.stdout.as_str(), ran.stderr.as_str()), (0, "", ""), "{site}");
    let path = if Path::new(site).is_absolute() { site.into() } else { root().join(site) };
    let file: Value = serde_yaml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let units = if file["units"] == "us" { UnitSystem::Us } else { UnitSystem::Si };
    let check: Value =
        serde_json::from_str(&run(&["check", site, "--format", "json"]).stdout).unwrap();
    let (mut lengths, mut heads) = (json!({}), json!({}));
    for (tag, line) in file["lines"].as_object().unwrap() {
        lengths[tag] = metres(units, &line["length"]).into();
        let solved = &check["lines"][tag];
        heads[tag] = json!([solved["from_head_m"], solved["to_head_m"]]);
    }
    let (mut levels, mut places) = (json!({}), json!({}));
    let mut put = |tag: &str, entry: &Value, key: &str, drawn_as: &str| {
        let level = metres(units, &entry[key]);
        levels[format!("{tag} {drawn_as}")] = level.into();
        if let Some([east, north]) = entry["at"].as_array().map(Vec::as_slice) {
            places[format!("{tag} {key}")] =
                json!([metres(units, east), metres(units, north), level]);
        }
    };
    for (tag, downspout) in file["downspouts"].as_object().unwrap() {
        put(tag, downspout, "foot", "foot");
    }
    for (tag, point) in file["points"].as_object().into_iter().flatten() {
        put(tag, point, "level", "invert");
    }
    for (tag, tank) in file["tanks"].as_object().unwrap() {
        put(tag, tank, "inlet", "inlet");
    }
    for (tag, downspout) in check["downspouts"].as_object().unwrap() {
        levels[format!("{tag} standing level")] = downspout["standing_level_m"].clone();
        levels[format!("{tag} gutter outlet")] = downspout["outlet_level_m"].clone();
    }
    let unit_m = if units == UnitSystem::Us { 0.3048 } else { 0.001 };
    json!({ "path": out, "unit_m": unit_m, "lengths": lengths, "heads": heads, "levels": levels,
            "places": places, "texts": texts })
}

fn read(folder: &Path, drawings: &[Value]) -> Option<usize> {
    let list = folder.join("list.json");
    std::fs::write(&list, Value::from(drawings).to_string()).unwrap();
    let said = read_by("drawing.py", &[list.to_str().unwrap()])?;
    Some(said.trim().parse().unwrap())
}

#[test]
fn an_independent_reader_finds_the_lengths_and_levels_of_the_site() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawings = Vec::new();
    for name in cases("plan") {
        let texts = &["PLAN", "N"];
        drawings.push(drawn(folder.path(), &format!("fixtures/plan/{name}/site.yaml"), texts));
    }
    for name in ["us-hall-six-downspouts", "si-two-tanks-ring", "si-vent-below-the-grade"] {
        let texts = &["SCHEME, NOT TO SCALE: the site file gives no places in plan (`at`)"];
        drawings.push(drawn(folder.path(), &format!("fixtures/ok/{name}/site.yaml"), texts));
    }
    if let Some(pipes) = read(folder.path(), &drawings) {
        assert!(pipes >= 30, "{pipes}");
    }
}

/// Names that are codes of a drawing's text, or lines of its file.
#[test]
fn no_name_becomes_a_code() {
    let folder = tempfile::tempdir().unwrap();
    let text =
        std::fs::read_to_string(root().join("fixtures/plan/us-schoolyard/site.yaml")).unwrap();
    let hostile = [
        ("name: Yard of the hill school", "name: \"%%uYard^J  0\\n0\\nEOF\""),
        ("corner stone at the gate = 100.00 ft", "\"30 %%d \\\\U+0041 = 100.00 ft\""),
        ("T1", "\"T^I%%c\""),
        ("P1", "\"{\\\\fArial;x}\""),
        ("L6", "\"L 6 \u{2300} \u{1F600}\""),
    ];
    let mut text = text;
    for (name, other) in hostile {
        assert!(text.contains(name), "{name}");
        text = text.replace(name, other);
    }
    let site = folder.path().join("site.yaml");
    std::fs::write(&site, text).unwrap();
    let texts = ["T^I% %c", "{\\fArial;x}", "LONG SECTION D3 TO T^I% %c", "L 6 \u{2300} \u{fffd}"];
    let mut wanted = drawn(folder.path(), site.to_str().unwrap(), &texts);
    // As they are written: two signs of per cent are parted, what is beyond the plane is a mark.
    let renamed = wanted.to_string().replace("%%c", "% %c").replace('\u{1F600}', "\u{fffd}");
    wanted = serde_json::from_str(&renamed).unwrap();
    read(folder.path(), &[wanted]);
}

#[test]
fn the_same_site_gives_the_same_drawing() {
    let folder = tempfile::tempdir().unwrap();
    let site = "fixtures/plan/si-boat-shed/site.yaml";
    let bytes = ["a.dxf", "b.DXF"].map(|name| {
        let out = folder.path().join(name);
        assert_eq!(run(&["sheet", site, "-o", out.to_str().unwrap()]).status, 0);
        std::fs::read(out).unwrap()
    });
    assert_eq!(bytes[0], bytes[1]);
}
