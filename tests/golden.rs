//! The demo sites: the text and the JSON of each stand beside it. They guard wording and
//! stability; the numbers are checked elsewhere.

use crate::support::{cases, expect, root, run};

#[test]
fn every_demo_site_gives_its_text_and_its_json() {
    let names = cases("ok");
    assert!(names.len() >= 8, "demo sites are missing");
    for name in names {
        let folder = root().join("fixtures/ok").join(&name);
        let site = format!("fixtures/ok/{name}/site.yaml");
        let text = run(&["check", &site]);
        assert_eq!(text.stderr, "", "{name}");
        let json = run(&["check", &site, "--format", "json"]);
        assert_eq!((json.status, json.stderr.as_str()), (text.status, ""), "{name}");
        expect(&folder.join("check.txt"), &text.stdout);
        expect(&folder.join("check.json"), &json.stdout);
    }
}

/// What each demo is there to show, as one fact of its result.
#[test]
fn every_demo_site_tells_its_story() {
    let check = |name: &str| {
        let site = format!("fixtures/ok/{name}/site.yaml");
        let ran = run(&["check", &site, "--format", "json"]);
        (ran.status, serde_json::from_str::<serde_json::Value>(&ran.stdout).unwrap())
    };
    let number = |value: &serde_json::Value| value.as_f64().unwrap();

    let (status, hall) = check("us-hall-six-downspouts");
    assert_eq!((status, hall["verdict"].as_str()), (0, Some("pass")));
    assert_eq!(hall["downspouts"].as_object().unwrap().len(), 6);
    for downspout in hall["downspouts"].as_object().unwrap().values() {
        assert!(number(&downspout["headroom_m"]) >= 0.1016);
    }

    let (status, low) = check("us-hall-low-roof");
    assert_eq!(status, 1);
    let porch = &low["downspouts"]["D5"];
    assert!(number(&porch["admitted_m3_per_s"]) < 0.0, "water comes out at the porch");
    assert!(number(&porch["spilled_m3_per_s"]) > number(&porch["demand_m3_per_s"]));

    let (status, ring) = check("si-two-tanks-ring");
    assert_eq!(status, 0);
    let inflow = |tank: &str| number(&ring["tanks"][tank]["inflow_m3_per_s"]);
    assert!(inflow("T2") > inflow("T1") && inflow("T1") > 0.0);

    let (status, barn) = check("si-looks-fine-fails");
    assert_eq!(status, 1);
    for (tag, downspout) in barn["downspouts"].as_object().unwrap() {
        // By eye: every gutter hangs at least 300 mm above the tank inlet at 12.40 m.
        assert!(number(&downspout["outlet_level_m"]) >= 12.40 + 0.30, "{tag}");
    }
    assert!(number(&barn["downspouts"]["D1"]["spilled_m3_per_s"]) > 0.0);

    let (status, culvert) = check("si-over-a-culvert");
    assert_eq!(status, 0);
    // The head behind the crest is at least its invert, 101.80 m; the tank alone needs less.
    assert!(number(&culvert["points"]["P1"]["head_m"]) > 101.80);
    assert!(number(&culvert["points"]["P1"]["rest_level_m"]) == 101.80);

    let (status, cascade) = check("us-tanks-in-cascade");
    assert_eq!(status, 0);
    let overflow = |tank: &str| number(&cascade["tanks"][tank]["overflow_m3_per_s"]);
    assert_eq!(overflow("T1"), overflow("T2"));
    assert_eq!(overflow("T2"), overflow("T3"));

    let (status, low_inlet) = check("si-inlet-under-water");
    assert_eq!(status, 0);
    let line = &low_inlet["lines"]["L3"];
    let water_m = number(&low_inlet["tanks"]["T1"]["water_level_m"]);
    let speed_m_per_s = number(&line["velocity_m_per_s"]);
    let over_water_m = water_m + speed_m_per_s * speed_m_per_s / (2.0 * 9.80665);
    assert!((number(&line["to_head_m"]) - over_water_m).abs() < 1e-9);

    let (_, cabin) = check("us-leaf-heads-and-tees");
    let d1 = &cabin["downspouts"]["D1"];
    let rim_m = (106.0 + 8.0 / 12.0) * 0.3048;
    let headroom_m = rim_m - number(&d1["standing_level_m"]);
    assert!((number(&d1["headroom_m"]) - headroom_m).abs() < 1e-9);

    let (_, hazen) = check("us-hall-hazen-williams");
    let loss = |result: &serde_json::Value| number(&result["lines"]["M3"]["friction_loss_m"]);
    // At 10 C and 0.2 to 0.6 m/s a C of 150 promises 0.84 to 0.95 of the smooth-pipe loss.
    let ratio = loss(&hazen) / loss(&hall);
    assert!((0.80..0.95).contains(&ratio), "{ratio}");

    let (status, vented) = check("si-vent-below-the-grade");
    assert_eq!(status, 1);
    assert!(number(&vented["openings"]["P2"]["escapes_m3_per_s"]) > 1e-3);
    let (status, cisterns) = check("us-tanks-that-meet");
    assert_eq!(status, 1);
    assert!(number(&cisterns["tanks"]["T2"]["over_rim_m3_per_s"]) > 1e-3);

    let (status, still) = check("si-no-rain");
    assert_eq!(status, 0);
    assert_eq!(number(&still["points"]["P1"]["rest_level_m"]), 1.90);
}

/// What the README prints as the program's answer is its answer.
#[test]
fn the_readme_shows_a_real_answer() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let shown = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let answer = run(&["check", "fixtures/ok/us-hall-six-downspouts/site.yaml"]).stdout;
    assert!(answer.starts_with(shown), "the README shows:\n{shown}\nthe program says:\n{answer}");
}

/// Every command of the program stands in the README's table, and the other way round.
#[test]
fn the_readme_names_every_command() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let help = run(&["--help"]).stdout;
    let commands = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let names = commands
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .map(|line| line.split_whitespace().next().unwrap())
        .filter(|name| *name != "help");
    for name in names {
        assert!(readme.contains(&format!("`wetrun {name}")), "{name} is not in the README");
    }
}

/// The governing route's numbers are those of the lines' table, each rounded for itself; so a row
/// adds up to two last digits, and a column to half a digit a row.
#[test]
fn the_governing_route_adds_up_and_agrees_with_the_lines() {
    /// The last digit of every number as a whole number; a dash is nothing.
    fn ticks(row: &str, numbers: usize) -> Vec<i64> {
        let number = |word: &str| match word {
            "-" => Some(0),
            word if word.contains('.') => word.replace('.', "").parse().ok(),
            _ => None,
        };
        let words: Vec<&str> = row.split_whitespace().collect();
        let cells = words.len().saturating_sub(numbers);
        words[cells..].iter().filter_map(|word| number(word)).collect()
    }
    for name in cases("ok") {
        let text = run(&["check", &format!("fixtures/ok/{name}/site.yaml")]).stdout;
        let table = text.split("GOVERNING ROUTE").nth(1).unwrap();
        let lines: Vec<&str> = text.split("\nLINES").nth(1).unwrap().lines().skip(2).collect();
        let rows: Vec<&str> =
            table.lines().skip(2).take_while(|row| !row.contains(" = ")).collect();
        let end = rows.iter().position(|row| row.trim_start().starts_with("sum ")).unwrap();
        let base = *ticks(rows[0], 4).last().unwrap();
        let (mut level, mut sums) = (base, [0; 3]);
        for row in &rows[1..end] {
            let row_ticks = ticks(row, 4);
            assert_eq!(row_ticks.len(), 4, "{name}: {row}");
            let off = level + row_ticks[..3].iter().sum::<i64>() - row_ticks[3];
            assert!(off.abs() <= 2, "{name}: {row} is {off} off");
            level = row_ticks[3];
            for (sum, part) in sums.iter_mut().zip(&row_ticks) {
                *sum += part;
            }
            let tag = row.split_whitespace().next().unwrap();
            let same = |line: &&&str| line.split_whitespace().next() == Some(tag);
            if let Some(line) = lines.iter().take_while(|line| !line.is_empty()).find(same)
                && row.contains(" > ")
            {
                let of_line = ticks(line, 2);
                // Against a line's own direction its losses change their sign.
                let sign = if line.contains(&row[row.find(tag).unwrap()..][..tag.len() + 8]) {
                    1
                } else {
                    -1
                };
                assert_eq!(row_ticks[..2], [sign * of_line[0], sign * of_line[1]], "{name}: {row}");
            }
        }
        let sum = ticks(rows[end], 4);
        let within = (end as i64) / 2 + 1;
        for (found, added) in sum.iter().zip(sums) {
            assert!((found - added).abs() <= within, "{name}: {found} {added}");
        }
        assert_eq!(sum[3], level, "{name}");
        assert!((base + sum[..3].iter().sum::<i64>() - level).abs() <= 2, "{name}");
    }
}
