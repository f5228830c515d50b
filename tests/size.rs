//! `wetrun size`: its text and JSON beside each site of `fixtures/size`, and what it writes.

use crate::support::{cases, expect, root, run};

#[test]
fn every_site_with_open_sizes_gives_its_text_and_its_json() {
    for name in cases("size") {
        let folder = root().join("fixtures/size").join(&name);
        let site = format!("fixtures/size/{name}/site.yaml");
        let text = run(&["size", &site]);
        let json = run(&["size", &site, "--format", "json"]);
        assert_eq!((text.stderr.as_str(), json.stderr.as_str()), ("", ""), "{name}");
        assert_eq!(text.status, json.status, "{name}");
        expect(&folder.join("size.txt"), &text.stdout);
        expect(&folder.join("size.json"), &json.stdout);
        let value: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
        let keys: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
        let contract = [
            "wetrun",
            "outcome",
            "chosen",
            "cost",
            "cost_basis",
            "lower_bound",
            "proven",
            "worst_margin_m",
            "worst_downspout",
            "verdict",
        ];
        assert_eq!(keys, contract, "{name}");
        assert_eq!(text.status, i32::from(value["outcome"] != "chosen"), "{name}");
        assert!(text.stdout.lines().all(|line| line.chars().count() <= 80), "{name}");
    }
}

#[test]
fn the_written_file_holds_and_differs_by_the_sizes_alone() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("sized.yaml");
    let out = out.to_str().unwrap();
    let site = "fixtures/size/us-hall-six-downspouts/site.yaml";
    let ran = run(&["size", site, "--format", "json", "--write", out]);
    let value: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    let (old, new) = (
        std::fs::read_to_string(root().join(site)).unwrap(),
        std::fs::read_to_string(out).unwrap(),
    );
    let mut changed = 0;
    for (old, new) in old.lines().zip(new.lines()) {
        if old != new {
            changed += 1;
            let start = old.find("{ type").unwrap();
            let end = start + old[start..].find('}').unwrap() + 1;
            assert_eq!(old[..start], new[..start]);
            assert!(new.ends_with(&old[end..]), "{new}");
        }
    }
    assert_eq!(changed, value["chosen"].as_object().unwrap().len());
    assert_eq!(old.lines().count(), new.lines().count());
    // What was chosen is what `check` finds to hold.
    let check = run(&["check", out, "--format", "json"]);
    assert_eq!(check.status, 0);
    let result: serde_json::Value = serde_json::from_str(&check.stdout).unwrap();
    let least = (result["downspouts"].as_object().unwrap().values())
        .map(|d| d["headroom_m"].as_f64().unwrap() - 0.1016)
        .fold(f64::INFINITY, f64::min);
    assert!((least - value["worst_margin_m"].as_f64().unwrap()).abs() < 1e-9);
}

#[test]
fn what_cannot_be_sized_is_refused() {
    let closed = run(&["size", "fixtures/ok/us-hall-six-downspouts/site.yaml"]);
    assert_eq!((closed.status, closed.stdout.as_str()), (2, ""));
    assert!(closed.stderr.contains("no pipe size is open"));
    let open = run(&["check", "fixtures/size/us-hall-six-downspouts/site.yaml"]);
    assert_eq!((open.status, open.stdout.as_str()), (2, ""));
    assert!(open.stderr.contains("M7"));
}

/// One line to one tank, its pipe open; what follows is added to the file.
fn small(extra: &str) -> String {
    format!(
        "wetrun: 1\nname: Lean-to\nunits: si\ndatum: slab = 10.000 m\n\
         storm: {{ intensity: 100 mm/h, basis: agreed }}\n\
         roofs: {{ R: {{ area: 60 m2, to: D1 }} }}\n{extra}"
    )
}

fn sized(site: &str, args: &[&str]) -> (crate::support::Ran, String) {
    let folder = tempfile::tempdir().unwrap();
    let (path, out) = (folder.path().join("site.yaml"), folder.path().join("out.yaml"));
    std::fs::write(&path, site).unwrap();
    let (path, out) = (path.to_str().unwrap(), out.to_str().unwrap());
    let mut all = vec!["size", path, "--write", out];
    all.extend(args);
    let ran = run(&all);
    (ran, std::fs::read_to_string(out).unwrap_or_default())
}

fn checked(site: &str) -> i32 {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.yaml");
    std::fs::write(&path, site).unwrap();
    run(&["check", path.to_str().unwrap()]).status
}

/// A type whose name has a blank is written so that it is read again.
#[test]
fn a_type_of_two_words_is_written_so_that_it_is_read() {
    let site = small(
        "downspouts: { D1: { outlet: 12.0 m, foot: 9.5 m, pipe: pvc-en1401-sn4 110 mm } }\n\
         points: { P1: { level: 9.4 m } }\n\
         lines:\n  L1: { from: D1, to: P1, pipe: pvc-en1401-sn4 110 mm, length: 2 m }\n  \
         L2: { from: P1, to: T1, pipe: { type: yard pipe, size: any }, length: 12 m }\n\
         tanks: { T1: { inlet: 11.4 m, overflow: { level: 11.3 m } } }\n\
         pipes:\n  yard pipe:\n    roughness: 0.0015 mm\n    c: 150\n    joint: fused\n    \
         source: maker's sheet\n    sizes: { 110 mm: { outside: 110 mm, wall: 4 mm }, 160 mm: { outside: 160 mm, wall: 5 mm } }\n",
    );
    let (ran, out) = sized(&site, &["--format", "json"]);
    assert_eq!(ran.status, 0, "{}{}", ran.stdout, ran.stderr);
    assert!(out.contains("{ type: yard pipe, size: 160 mm }"), "{out}");
    assert_eq!(checked(&out), 0, "{out}");
}

/// `rules.freeboard` and `targets.freeboard` are one thing; a vent below the grade line caps it.
#[test]
fn the_freeboard_of_the_rules_and_every_vent_bear_on_the_sizes() {
    let site = |freeboard: &str, vent: &str| {
        small(&format!(
            "rules: {{ freeboard: {{ limit: {freeboard}, reason: agreed }} }}\n\
             downspouts: {{ D1: {{ outlet: 12.0 m, foot: 9.5 m, pipe: pvc-en1401-sn4 110 mm }} }}\n\
             points: {{ P1: {{ level: 9.4 m, vent: {{ level: {vent} }} }} }}\n\
             lines:\n  L1: {{ from: D1, to: P1, pipe: pvc-en1401-sn4 110 mm, length: 2 m }}\n  \
             L3: {{ from: P1, to: T1, pipe: {{ type: pvc-en1401-sn4, size: any }}, length: 30 m }}\n\
             tanks: {{ T1: {{ inlet: 11.4 m, overflow: {{ level: 11.3 m }} }} }}\n"
        ))
    };
    for (freeboard, vent) in
        [("20 mm", "13 m"), ("500 mm", "13 m"), ("20 mm", "11.5 m"), ("20 mm", "11.41 m")]
    {
        let (ran, out) = sized(&site(freeboard, vent), &["--format", "json"]);
        assert_ne!(ran.status, 2, "{}", ran.stderr);
        let value: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
        if value["outcome"] == "chosen" {
            assert_eq!(checked(&out), ran.status, "{freeboard} {vent}\n{out}");
            assert_eq!(value["verdict"], if ran.status == 0 { "pass" } else { "fail" });
        } else {
            assert_eq!((ran.status, value["verdict"].as_str()), (1, Some("fail")));
        }
    }
}

/// A gutter that cannot carry its share fails whatever the pipes: the sizes are chosen, and it is said.
#[test]
fn a_gutter_that_fails_is_said_beside_the_sizes() {
    let site = small(
        "gutters: { G: { shape: half-round, width: 60 mm, slope: 1:400, length: 18 m } }\n\
         downspouts: { D1: { outlet: 12.0 m, lip: 12.03 m, foot: 9.5 m, pipe: pvc-en1401-sn4 110 mm, gutter: G } }\n\
         lines: { L1: { from: D1, to: T1, pipe: { type: pvc-en1401-sn4, size: any }, length: 12 m } }\n\
         tanks: { T1: { inlet: 11.4 m, overflow: { level: 11.3 m } } }\n",
    );
    let (ran, out) = sized(&site, &["--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(value["outcome"], "chosen");
    assert_eq!((value["verdict"].as_str(), ran.status, checked(&out)), (Some("fail"), 1, 1));
    let (text, _) = sized(&site, &[]);
    assert!(text.stdout.contains("the gutter cannot carry"), "{}", text.stdout);
    assert!(text.stdout.lines().all(|line| line.chars().count() <= 80));
}

/// A ring of many open lines comes to an end with few tries.
#[test]
fn a_large_ring_ends() {
    let lines = 300;
    let mut site = small(
        "downspouts: { D1: { outlet: 12.4 m, foot: 9.5 m, pipe: pvc-en1401-sn4 110 mm } }\npoints:\n",
    );
    for i in 0..lines {
        site.push_str(&format!("  P{i}: {{ level: 9.4 m }}\n"));
    }
    site.push_str("lines:\n  A: { from: D1, to: P0, pipe: pvc-en1401-sn4 110 mm, length: 1 m }\n");
    for i in 0..lines {
        let next = (i + 1) % lines;
        site.push_str(&format!("  L{i}: {{ from: P{i}, to: P{next}, pipe: {{ type: pvc-en1401-sn4, size: any }}, length: 1 m }}\n"));
    }
    site.push_str(&format!(
        "  Z: {{ from: P{}, to: T1, pipe: pvc-en1401-sn4 200 mm, length: 1 m }}\n",
        lines / 2
    ));
    site.push_str("tanks: { T1: { inlet: 11.4 m, overflow: { level: 11.3 m } } }\n");
    let (ran, _) = sized(&site, &["--format", "json", "--tries", "20"]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let value: serde_json::Value = serde_json::from_str(&ran.stdout).unwrap();
    assert_eq!(value["outcome"], "chosen");
}

/// A level as a site of `random_site` carries it, in metres.
fn metres(value: &serde_yaml::Value) -> f64 {
    value.as_str().unwrap().strip_suffix(" m").unwrap().parse().unwrap()
}

fn moved(value: &mut serde_yaml::Value, by_m: f64) {
    *value = serde_yaml::Value::String(format!("{:.6} m", metres(value) + by_m));
}

/// A site with a change of level as `size` words it.
fn mended(site: &serde_yaml::Value, words: &str) -> serde_yaml::Value {
    let mut site = site.clone();
    let after = |part: &str| words.split_once(part).unwrap().1;
    let by_m: f64 = after(" by ").split_once(" mm").unwrap().0.parse::<f64>().unwrap() / 1000.0;
    if words.starts_with("lower ") {
        let tag = after(" of ").split(' ').next().unwrap();
        moved(&mut site["tanks"][tag]["inlet"], -by_m);
        if words.contains("and overflow") {
            moved(&mut site["tanks"][tag]["overflow"]["level"], -by_m);
        }
        return site;
    }
    let all: Vec<String> = match words.starts_with("raise every opening") {
        true => {
            let downspouts = site["downspouts"].as_mapping().unwrap().keys();
            downspouts.map(|key| key.as_str().unwrap().to_owned()).collect()
        }
        false => vec![after(" of ").split(' ').next().unwrap().to_owned()],
    };
    for tag in all {
        let downspout = &mut site["downspouts"][tag.as_str()];
        let keys: &[&str] = match words {
            _ if words.contains("leaf head") => &["leaf_head"],
            _ if words.contains("every opening") => &["outlet", "lip", "leaf_head"],
            _ => &["outlet", "lip"],
        };
        for key in keys {
            if downspout.get(key).is_some() {
                moved(&mut downspout[*key], by_m);
            }
        }
    }
    site
}

/// Where no sizes serve, each change of level that would do is put into the file: then some do.
#[test]
fn a_change_of_level_that_would_do_does() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.yaml");
    let sized = |text: &str| {
        std::fs::write(&path, text).unwrap();
        run(&["size", path.to_str().unwrap()])
    };
    let mut tried = 0;
    for seed in 0..40 {
        let kinds = crate::random_site::Kinds { open: true, loops: false, facts: false };
        let text = crate::random_site::site(4000 + seed, kinds);
        let ran = sized(&text);
        if !ran.stdout.starts_with("NONE WORKS") {
            continue;
        }
        let Some((_, told)) = ran.stdout.split_once("WOULD DO\n") else { continue };
        let told = told.split_once("\n\n").unwrap().0.replace("\n   ", " ");
        let site: serde_yaml::Value = serde_yaml::from_str(&text).unwrap();
        for words in told.lines() {
            let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
            let ran = sized(&serde_yaml::to_string(&mended(&site, &words)).unwrap());
            assert!(ran.stdout.starts_with("CHOSEN"), "seed {seed}: {words}\n{}", ran.stdout);
            tried += 1;
        }
    }
    assert!(tried >= 5, "{tried}");
}

/// A tank that is lowered holds its drain open for longer: where that is too long the change is not
/// offered, as `review` would fail what `size` advised. What leaves the drain alone still is.
#[test]
fn a_change_of_level_is_not_offered_where_a_drain_would_run_too_long() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (site, filled) = (path("site.yaml"), path("filled.yaml"));
    let drawn =
        std::fs::read_to_string(root().join("fixtures/size/us-hall-tank-too-high/site.yaml"));
    let drawn = drawn
        .unwrap()
        .replace("drain: 2 in", "drain: 3 in, drain_outlet: { level: 96.60 ft, to: ditch }");
    let lowered =
        |text: &str| text.replace("109.10 ft", "108.80 ft").replace("l: 108.90 ft", "l: 108.60 ft");
    // The sizes that serve the lowered tank; then the tank as drawn, where no other may be chosen.
    std::fs::write(&site, lowered(&drawn)).unwrap();
    assert_eq!(run(&["size", &site, "--write", &filled]).status, 0);
    let low = std::fs::read_to_string(&filled).unwrap();
    let high = low.replace("108.80 ft", "109.10 ft").replace("l: 108.60 ft", "l: 108.90 ft");
    let drains_for = |text: &str| {
        std::fs::write(&site, text).unwrap();
        let review = run(&["review", &site, "--format", "json"]).stdout;
        let review: serde_json::Value = serde_json::from_str(&review).unwrap();
        let mut found = review["findings"].as_array().unwrap().iter();
        found.find(|f| f["rule"] == "drain-time").unwrap()["value"].as_f64().unwrap()
    };
    let (long, longer) = (drains_for(&high), drains_for(&low));
    assert!(longer > long, "{long} {longer}");
    let told = |limit_s: f64| {
        let rule =
            format!("rules: {{ drain-time: {{ limit: {limit_s:.2} s, reason: r, basis: b }} }}");
        let open = high.replace(
            "pipe: pvc-sch40 8 in   # the riser",
            "pipe: { type: pvc-sch40, size: [8 in] }   # the riser",
        );
        std::fs::write(&site, format!("{open}\n{rule}\n")).unwrap();
        let told = run(&["size", &site]).stdout;
        assert!(told.starts_with("NONE WORKS"), "{told}");
        (told.contains("  lower inlet and overflow of T1"), told.contains("  raise every opening"))
    };
    assert_eq!(told(longer + 1.0), (true, true));
    assert_eq!(told(0.5 * (long + longer)), (false, true));
}
