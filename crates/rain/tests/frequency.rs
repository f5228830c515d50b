//! Tables of rain as they are published: real ones, their dialects, and what is no table.
//!
//! The three tables under `data` are open data of the US weather service (NOAA Atlas 14, volumes 8
//! and 9), as its server answered for 26.6 N 81.9 W and 39 N 105 W.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods)]

use wetrun_rain::frequency::{FrequencyTable, NoRain, Note, Picked, Series, TableFault, read};
use wetrun_units::{Length, Time, UnitSystem};

const DEPTH: &str = include_str!("data/depth-english-pds.csv");
const ENGLISH: &str = include_str!("data/intensity-english-pds.csv");
const METRIC: &str = include_str!("data/intensity-metric-pds.csv");

fn table(text: &str) -> FrequencyTable {
    read(text).unwrap_or_else(|fault| panic!("{fault}"))
}

fn depth_in(picked: &Picked, duration_s: f64) -> Option<f64> {
    let row = picked.rows.iter().find(|row| row.duration == Time::s(duration_s));
    row.map(|row| row.depth.to_m() / 0.0254)
}

fn refused(text: &str) -> (usize, usize, String) {
    match read(text) {
        Err(TableFault { line, column, message }) => (line, column, message),
        Ok(_) => panic!("this was read:\n{text}"),
    }
}

#[test]
fn depths_and_what_the_file_says_of_itself() {
    let found = table(DEPTH);
    assert_eq!(found.edition.as_deref(), Some("NOAA Atlas 14 Volume 9 Version 2"));
    assert_eq!((found.station.as_deref(), found.place.as_deref()), (None, None));
    assert_eq!(found.coordinates, Some(("26.6".to_owned(), "-81.9".to_owned())));
    assert_eq!((found.series, found.units), (Some(Series::PartialDuration), UnitSystem::Us));
    assert!(!found.intensities && found.cautions.is_empty());
    let picked = found.of(100.0).unwrap();
    // 12.1 in fall in 24 h once in 100 years: the cell as printed.
    assert!((depth_in(&picked, 86400.0).unwrap() - 12.1).abs() < 1e-12);
    assert_eq!((picked.rows.len(), picked.notes.len()), (19, 0));
    let five = picked.rows[0];
    assert!((five.intensity.to_m_per_s() - 1.15 * 12.0 * 0.0254 / 3600.0).abs() < 1e-15);
}

/// 0.647 in once in 10 years and 0.740 in once in 25 (a table of the same service for 40.1 N 88.3
/// W): once in 20 years 0.71619 in in the logarithms of both, worked with another program.
#[test]
fn between_columns_it_is_interpolated_in_the_logarithms() {
    let text = "duration,10 yr (in),25 yr (in)\n5 min,0.647,0.740\n";
    let picked = table(text).of(20.0).unwrap();
    assert!((depth_in(&picked, 300.0).unwrap() - 0.71619).abs() < 1e-5);
    for (asked, outside) in [(9.9, true), (10.0, false), (25.0, false), (25.1, true)] {
        let found = table(text).of(asked);
        assert_eq!(matches!(found, Err(NoRain::OutsideYears { .. })), outside, "{asked}");
    }
    // Between 9 and 10.6 mm/h of whole ones nothing is interpolated through 0.
    assert!(table(METRIC).of(7.0).unwrap().rows.iter().all(|row| row.depth.to_m() > 0.0));
}

/// Metric intensities come in whole mm/h: 8 mm/h over 6 h may be 6 % off, 13 mm/h over 3 h 4 %.
#[test]
fn whole_millimetres_an_hour_are_left_out_where_they_are_too_coarse() {
    let picked = table(METRIC).of(10.0).unwrap();
    let durations: Vec<f64> = picked.rows.iter().map(|row| row.duration.to_s() / 60.0).collect();
    assert_eq!(durations, [5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 180.0]);
    assert!((picked.rows[6].depth.to_m() - 0.039).abs() < 1e-15);
    let left_out = picked.notes.iter().filter(|note| matches!(note, Note::LeftOut { .. }));
    assert_eq!(left_out.count(), 12);
    // 2 mm/h over 24 h would be 48 mm; the English table of the place has 54.9 mm.
    let picked = table(METRIC).of(2.0).unwrap();
    assert!(picked.rows.iter().all(|row| row.duration.to_s() < 86400.0));
    let english = table(ENGLISH).of(2.0).unwrap();
    assert!((depth_in(&english, 86400.0).unwrap() - 0.090 * 24.0).abs() < 1e-12);
    // 10 mm/h may be 5 % off, not more: it stays.
    let exactly = table("duration,2 yr (mm/h)\n60 min,20\n2 h,10\n").of(2.0).unwrap();
    assert_eq!((exactly.rows.len(), exactly.notes.len()), (2, 0));
    let none = table("duration,2 yr (mm/h)\n3 h,9\n6 h,5\n7 d,0\n").of(2.0);
    assert_eq!(none, Err(NoRain::NothingLeft));
}

#[test]
fn intensities_times_their_durations_are_depths() {
    let picked = table(ENGLISH).of(10.0).unwrap();
    assert!((depth_in(&picked, 300.0).unwrap() - 5.52 / 12.0).abs() < 1e-12);
    assert!((picked.rows[0].intensity.to_m_per_s() - 5.52 * 0.0254 / 3600.0).abs() < 1e-15);
    // 0.008 in/h over 60 days is printed to 0.001: 6 %.
    assert!(matches!(picked.notes[..], [Note::LeftOut { duration, .. }]
        if duration == Time::s(60.0 * 86400.0)));
}

/// An annual maximum: probabilities behind an apostrophe, and no column for one year.
#[test]
fn an_annual_maximum_is_read_as_it_stands() {
    let text = DEPTH
        .replace("Partial duration", "Annual maximum")
        .replace("by duration for ARI (years):, 1,2,5", "by duration for AEP:, '1/2,'1/5")
        .replace(
            ",10,25,50,100,200,500,1000\n",
            ",'1/10,'1/25,'1/50,'1/100,'1/200,'1/500,'1/1000\n",
        );
    let text: Vec<String> = text
        .lines()
        .map(|line| match line.split_once(":, ") {
            Some((label, cells)) if !cells.starts_with('\'') => {
                format!("{label}:, {}", cells.split_once(',').unwrap().1)
            }
            _ => line.to_owned(),
        })
        .collect();
    let found = table(&text.join("\n"));
    assert_eq!(found.series, Some(Series::AnnualMaximum));
    assert_eq!(found.years().first(), Some(&2.0));
    let picked = found.of(10.0).unwrap();
    assert!((depth_in(&picked, 300.0).unwrap() - 0.822).abs() < 1e-12);
    assert!(matches!(found.of(1.0), Err(NoRain::OutsideYears { .. })));
    let contradiction = DEPTH.replace("Partial duration", "Annual maximum");
    assert_eq!(refused(&contradiction).0, 14);
}

/// What a spreadsheet makes of the file: every line padded with commas, zeros at the end gone,
/// colons and the header's first cell gone, places in quotes, other line ends.
#[test]
fn dialects_of_spreadsheets_give_the_same_table() {
    let padded: Vec<String> = DEPTH
        .lines()
        .map(|line| {
            let line = line.replace(" Degree", "°").replace("by duration for ARI (years):", "");
            let line =
                line.replace("0.620", "0.62").replace("1.70,", "1.7,").replace("-min:", "-min");
            let line = match line.split_once("(ESRI Maps): ") {
                Some((key, _)) => format!("\"{key}(ESRI Maps): A town, with a comma\""),
                None => line,
            };
            format!("{line},,,,,")
        })
        .collect();
    for text in [padded.join("\r\n"), format!("\u{feff}{}\n", padded.join("\n"))] {
        let found = table(&text);
        assert_eq!(found.place.as_deref(), Some("A town, with a comma"));
        assert_eq!(found.coordinates, Some(("26.6".to_owned(), "-81.9".to_owned())));
        for years in [1.0, 2.0, 3.0, 1000.0] {
            assert_eq!(found.of(years), table(DEPTH).of(years));
        }
    }
    // 0.09 in/h for 0.090 is no coarser than its neighbours.
    let stripped = ENGLISH.replace("0.090,", "0.09,").replace("0.080,", "0.08,");
    assert_eq!(table(&stripped).of(2.0), table(ENGLISH).of(2.0));
}

#[test]
fn bounds_of_the_interval_are_never_taken_for_the_estimate() {
    let upper = DEPTH.replace(
        "PRECIPITATION FREQUENCY ESTIMATES\n",
        "PRECIPITATION FREQUENCY ESTIMATES AT UPPER BOUND OF 90% CONFIDENCE INTERVAL\n",
    );
    let (line, column, message) = refused(&upper);
    assert_eq!((line, column), (13, 1));
    assert!(message.contains("bound of the confidence interval"), "{message}");
    let section = upper.split("\n\n\n").nth(1).unwrap().split("\n\nDate").next().unwrap();
    let end = DEPTH.find("\nDate").unwrap();
    let all = format!("{}\n{section}\n\n{}", &DEPTH[..end], &DEPTH[end..]);
    let found = table(&all);
    assert_eq!(found.of(10.0), table(DEPTH).of(10.0));
    assert_eq!(found.cautions.len(), 1, "{:?}", found.cautions);
    let twice = format!("{}\n{}", &DEPTH[..end], DEPTH.split("\n\n\n").nth(1).unwrap());
    assert!(refused(&twice).2.contains("second table"));
}

#[test]
fn a_file_that_is_cut_off_is_told() {
    let mut seen = 0;
    // At every byte: what is read of a piece is what stands in the whole, or the end is told.
    for end in (0..DEPTH.len()).filter(|end| DEPTH.is_char_boundary(*end)) {
        let Ok(found) = read(&DEPTH[..end]) else { continue };
        seen += 1;
        let whole = table(DEPTH).of(100.0).unwrap();
        let picked = found.of(100.0).unwrap();
        for row in &picked.rows {
            assert!(whole.rows.contains(row), "cut at {end}");
        }
        let whole = end >= DEPTH.find("\nDate").unwrap();
        assert!(whole || found.cautions.iter().any(|told| told.contains("cut off")), "{end}");
    }
    assert!(seen > 19, "{seen}");
    let (line, column, message) = refused(&DEPTH.replace("3.31,3.60,3.99,4.28", "3.31,3.60"));
    assert_eq!((line, column), (18, "30-min:, 1.60,1.79,2.11,2.37,2.74,3.02,3.31,3.60".len() + 1));
    assert!(message.contains("8 values for 10 columns"), "{message}");
}

#[test]
fn what_has_no_place_is_told_with_its_line_and_column() {
    for (from, to, line, column, words) in [
        ("0.822", "0.8z2", 15, 27, "`0.8z2` is no amount of rain"),
        ("0.822", "", 15, 27, "a value is missing"),
        ("0.822", "-0.822", 15, 27, "no amount of rain"),
        ("0.822", "nan", 15, 27, "no amount of rain"),
        ("0.822", "0", 15, 27, "more than 0"),
        ("0.822", "0,822", 15, 59, "more values"),
        ("1.48\n", "1.48,9\n", 15, 64, "more values"),
        ("15-min:", "15-mins ago:", 17, 1, "neither a row"),
        ("15-min:", "5-min:", 17, 1, "not longer"),
        ("1,2,5,10", "1,2,2,10", 14, 35, "not longer"),
        ("1,2,5,10", "1,2,five,10", 14, 35, "no return period"),
        ("(inches)", "(furlongs)", 1, 1, "the unit of the table"),
        ("(inches)", "", 1, 1, "the unit of the table"),
        ("(inches)", "(inches/hour)", 3, 1, "contradicts the unit"),
        ("Precipitation depth", "Precipitation", 3, 1, "neither"),
        ("Partial duration", "Monthly", 4, 1, "neither"),
        ("Point precip", "precip", 1, 1, "first line is missing"),
        ("Date/time", "Seen by J. on", 35, 1, "neither a row"),
    ] {
        let (at, on, message) = refused(&DEPTH.replacen(from, to, 1));
        assert_eq!((at, on), (line, column), "{to}: {message}");
        assert!(message.contains(words), "{to}: {message}");
    }
    let (_, _, message) = refused(
        "\nresult = 'none';\nErrorMsg =  'Error 3.0: Selected location is \
                                   not within a project area';\n",
    );
    assert!(message.contains("no table for this place"), "{message}");
    assert!(refused("<!DOCTYPE html>\n<html>").2.contains("web page"));
    assert!(refused("").2.contains("empty"));
    assert!(refused("PK\u{3}\u{4}..").2.contains("workbook"));
    assert!(refused(&DEPTH[DEPTH.find("by dur").unwrap()..]).2.contains("first line"));
}

#[test]
fn depths_that_fall_are_refused_but_for_the_rounding_of_their_digits() {
    // 27.5 in may be 27.45, and 27.4 as well.
    let falls = |to: &str| {
        DEPTH.replace("22.7,24.9,", "22.7,27.5,").replace("26.6,29.2,", &format!("26.6,{to},"))
    };
    let found = table(&falls("27.4")).of(10.0).unwrap();
    let [Note::Raised { duration, printed, taken }] = found.notes[..] else { panic!() };
    assert_eq!(duration, Time::s(5184e3));
    assert!((printed.to_m() - 27.4 * 0.0254).abs() < 1e-12);
    assert!((taken.to_m() - 27.5 * 0.0254).abs() < 1e-12);
    assert!(found.rows.windows(2).all(|pair| pair[0].depth <= pair[1].depth));
    let (line, column, message) = refused(&falls("27.3"));
    assert_eq!((line, column), (33, 25), "{message}");
    assert!(message.contains("less falls in 60 d than in the shorter 45 d"), "{message}");
    // Small falls do not add up to a large one.
    let slow = "duration,2 yr (mm)\n5 min,10\n10 min,9\n15 min,8\n";
    assert_eq!(refused(slow).0, 4);
    // A rarer rain is no smaller.
    let rarer = DEPTH.replace("0.731,0.822,0.950", "0.731,0.722,0.950");
    assert!(refused(&rarer).2.contains("once in 10 years than once in 5"), "{rarer}");
}

#[test]
fn plain_tables_say_their_units_in_the_header() {
    let depth = |text: &str, years: f64| table(text).of(years).unwrap().rows[0].depth.to_m();
    for (text, years, metres) in [
        ("duration,10 yr (mm)\n5 min,12.5\n", 10.0, 0.0125),
        ("Duration,2 yr (in),10 yr (in)\n5 min,0.4,0.6\n", 10.0, 0.01524),
        ("duration,10-yr (in/h)\n5-min,7.764\n", 10.0, 0.647 * 0.0254),
        ("duration (min),10 years [mm/h]\n5,150\n", 10.0, 0.0125),
        ("duration, 100 yr (mm), 10 yr (mm)\n10 min, 30, 20\n5 min, 20, 12.5\n", 10.0, 0.0125),
        ("duration,1/10 (mm)\n5 min,12.5\n", 10.0, 0.0125),
        ("# county table\n\nduration,10 yr (mm),,\n\n5 min,12.5,,\n", 10.0, 0.0125),
        ("duration,2.5 yr (cm)\n1 h,1.25\n", 2.5, 0.0125),
    ] {
        assert!((depth(text, years) - metres).abs() < 1e-15, "{text}");
    }
    assert_eq!(table("duration,1/10 (mm)\n5 min,12.5\n").series, Some(Series::AnnualMaximum));
    for (text, line, column, words) in [
        ("duration\n5 min\n", 1, 9, "a column a return period"),
        ("duration,10 yr\n5 min,1\n", 1, 10, "does not say its unit"),
        ("duration,10 yr (gal)\n5 min,1\n", 1, 10, "no unit of rain"),
        ("duration,ten yr (mm)\n5 min,1\n", 1, 10, "no return period"),
        ("duration,10 (mm)\n5 min,1\n", 1, 10, "no return period"),
        ("duration,0 yr (mm)\n5 min,1\n", 1, 10, "no return period"),
        ("duration,10 yr (mm),notes\n5 min,1,dry\n", 1, 21, "does not say its unit"),
        ("duration,10 yr (mm),10 yr (in)\n5 min,1,1\n", 1, 21, "stands twice"),
        ("duration,10 yr (mm),1/25 (mm)\n5 min,1,1\n", 1, 21, "either years"),
        ("duration,10 yr (mm),25 yr (mm/h)\n5 min,1,1\n", 1, 21, "either depths"),
        ("duration (feet),10 yr (mm)\n5,1\n", 1, 1, "neither `duration`"),
        ("duration,10 yr (mm)\n", 1, 20, "no row"),
        ("duration,10 yr (mm)\n5,1\n", 2, 1, "needs a unit"),
        ("duration,10 yr (mm)\nfive,1\n", 2, 1, "no duration"),
        ("duration,10 yr (mm)\n5 min\n", 2, 6, "a value is missing"),
        ("duration,10 yr (mm)\n5 min,1,2\n", 2, 9, "under no header"),
        ("duration,10 yr (mm)\n5 min,1\n5 min,2\n", 3, 1, "stands twice"),
        ("duration,10 yr (mm)\n5 min,=1+1\n", 2, 7, "no amount of rain"),
        ("duration,10 yr (mm)\n5 min,1e3\n", 2, 7, "no amount of rain"),
        ("duration;10 yr (mm)\n5 min;1,5\n", 1, 1, "commas must part"),
        ("duration,\"10 yr (mm)\n5 min,1\n", 1, 10, "quotation mark"),
        ("depth,10 yr (mm)\n5 min,1\n", 1, 1, "no rain table"),
    ] {
        let (at, on, message) = refused(text);
        assert_eq!((at, on), (line, column), "{text}{message}");
        assert!(message.contains(words), "{text}{message}");
    }
}

/// Millimetres printed as whole numbers are used, and said to be coarse.
#[test]
fn coarse_depths_are_used_and_told() {
    let picked = table("duration,2 yr (mm)\n5 min,8\n10 min,14\n").of(2.0).unwrap();
    assert_eq!(picked.rows[0].depth, Length::m(0.008));
    assert!(matches!(picked.notes[..], [Note::Coarse { .. }]), "{:?}", picked.notes);
}
