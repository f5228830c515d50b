//! A rain table put into site files of every layout: comments and all other keys stay.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]

use wetrun_site::{RainText, put_rain};

fn rain() -> RainText {
    let depth = |(key, value): (&str, &str)| (key.to_owned(), value.to_owned());
    RainText {
        source: "county table, it's \"new\": sheet #2".to_owned(),
        years: "10".to_owned(),
        depths: [
            ("5 min", "0.647 in"),
            ("10 min", "1.01 in"),
            ("15 min", "1.24 in"),
            ("30 min", "1.73 in"),
            ("60 min", "2.2 in"),
            ("2 h", "2.62 in"),
        ]
        .map(depth)
        .to_vec(),
        duration: "7 min".to_owned(),
    }
}

const REST: &str = "downspouts:
  D1: { outlet: 12 ft, foot: 2 ft, pipe: pvc-sch40 4 in }   # by the door # twice
lines:
  M1: { from: D1, to: T1, length: 60 ft, pipe: pvc-sch40 4 in }
tanks:
  T1: { inlet: 9 ft }
";

fn site(middle: &str) -> String {
    format!("# the shed\nwetrun: 1\nunits: us\nname: 'Shed #2'   # its name\n{middle}{REST}")
}

fn put(text: &str) -> String {
    put_rain(text, &rain()).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// The comments as a plain reader of lines finds them: these texts have no other ` #`.
fn comments(text: &str) -> Vec<String> {
    let text = text.replace("Shed #2", "").replace("sheet #2", "");
    let found = text.lines().filter_map(|line| match line.strip_prefix('#') {
        Some(_) => Some(line),
        None => line.split_once(" #").map(|(_, comment)| comment),
    });
    let mut found: Vec<String> =
        found.map(|comment| comment.trim_start_matches('#').trim().to_owned()).collect();
    found.sort();
    found
}

#[test]
fn every_layout_takes_the_table_and_keeps_its_comments() {
    for middle in [
        "storm: { intensity: 5.2 in/h, tanks: full }\n",
        "storm: { tanks: full, intensity: 5.2 in/h }   # beside\n# above what follows\n",
        "storm:\n  intensity: 5.2 in/h   # the peak\n  # and more\n  tanks: full\n  # at its end\n",
        "storm:\n    basis: 'county #3'  # b\n    intensity:   5.2\n\n\n",
        "storm: { from: rainfall, duration: 5 min }\nrainfall: { years: 2, depths: { 5 min: 0.4 in } }\n",
        "rainfall:\n  # of the county\n  source: old   # s\n  years: 25 # y\n  depths: { 5 min: 0.4 in, # five\n\
         \n            10 min: 0.7 in } # all\nstorm: { intensity: 4 in/h }\n",
        "rainfall:\n  depths:\n    5 min: 0.4 in  # five\n    # between\n    10 min: 0.7 in  # ten\n\
         \x20   45 min: 0.9 in  # gone\n  years: 25\nstorm:\n  from: rainfall  # f\n  duration: 10 min  # d\n",
        "storm: {\n  # inside\n  intensity: 5.2 in/h, # of the storm\n  tanks: full\n}\n",
        "",
    ] {
        let before = site(middle);
        for crlf in [false, true] {
            let before = if crlf { before.replace('\n', "\r\n") } else { before.clone() };
            let after = put(&before);
            assert_eq!(comments(&after), comments(&before), "{before}\n{after}");
            let site = wetrun_site::read(after.as_bytes(), "").unwrap_or_else(|e| panic!("{e}"));
            let rainfall = site.rainfall.as_ref().unwrap();
            assert_eq!(rainfall.years, Some(10.0));
            assert_eq!(rainfall.source.as_deref(), Some(rain().source.as_str()));
            let inches =
                |s: f64| rainfall.table.depth(wetrun_units::Time::s(s)).unwrap().to_m() / 0.0254;
            assert!((inches(300.0) - 0.647).abs() < 1e-12 && (inches(7200.0) - 2.62).abs() < 1e-12);
            let by_hand = 0.647 * (1.01_f64 / 0.647).powf(1.4_f64.ln() / 2.0_f64.ln()) * 60.0 / 7.0;
            let found = site.storm.intensity.to_m_per_s() * 3600.0 / 0.0254;
            assert!((found - by_hand).abs() < 1e-9, "{after}");
            assert_eq!(site.name, "Shed #2");
            // All lines end alike, and no line is longer than a page but those that were.
            assert_eq!(after.contains("\r\n"), crlf);
            assert_eq!(after.matches('\n').count(), after.lines().count());
            if crlf {
                assert_eq!(after.matches("\r\n").count(), after.matches('\n').count(), "{after:?}");
            }
            let mut depths = after.lines().filter(|line| !line.contains("source:"));
            assert!(depths.all(|line| line.len() <= 80 || before.contains(line)), "{after}");
            // A second time changes nothing.
            assert_eq!(put(&after), after);
        }
    }
}

#[test]
fn comments_stay_beside_what_they_are_about() {
    let after = put(&site(
        "rainfall:\n  depths:\n    5 min: 0.4 in  # five\n    10 min: 0.7 in  # ten\n\
         storm:\n  intensity: 5 in/h   # of the storm\n",
    ));
    for line in [
        "    5 min: 0.647 in  # five",
        "    10 min: 1.01 in  # ten",
        "  from: rainfall   # of the storm",
    ] {
        assert!(after.lines().any(|found| found == line), "{line}\n{after}");
    }
}

#[test]
fn a_file_in_json_stays_json() {
    let json = r#"{"wetrun": 1, "name": "Shed", "units": "us", "storm": {"intensity": "5 in/h"},
        "downspouts": {"D1": {"outlet": "12 ft", "foot": "2 ft", "pipe": "pvc-sch40 4 in"}},
        "lines": {"M1": {"from": "D1", "to": "T1", "length": "60 ft", "pipe": "pvc-sch40 4 in"}},
        "tanks": {"T1": {"inlet": "9 ft"}}}"#;
    let after = put(json);
    assert!(wetrun_site::read(after.as_bytes(), "").unwrap().rainfall.is_some(), "{after}");
    assert!(after.contains(r#""from": "rainfall""#), "{after}");
}

/// What cannot be changed alone is refused, and the text is left to its owner.
#[test]
fn what_would_lose_something_is_refused() {
    for text in [
        site("storm: &s { intensity: 5.2 in/h }\nx: *s\n"),
        site("storm: &s\n  intensity: 5.2 in/h\ny: { <<: *s }\n"),
        site("rainfall: TBD\nstorm: { intensity: 5.2 in/h }\n"),
        "wetrun: [".to_owned(),
        "- a\n- b\n".to_owned(),
        String::new(),
        "storm: { intensity: 5.2 in/h }\nstorm: { intensity: 5.2 in/h }\n".to_owned(),
    ] {
        match put_rain(&text, &rain()) {
            Err(_) => {}
            Ok(after) => {
                // Where it is done all the same, nothing else changed.
                let kept = text.lines().filter(|line| !line.contains("intensity"));
                assert!(kept.clone().all(|line| after.contains(line)), "{text}\n{after}");
            }
        }
    }
}
