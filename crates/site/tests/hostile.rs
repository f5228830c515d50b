//! Files made to hurt: each ends in a clear fault, on a small stack, without a panic.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use wetrun_site::{Code, Diagnostic, read};

/// The faults of a file, read on a stack of 512 kB.
fn faults(bytes: impl Into<Vec<u8>>) -> Vec<Diagnostic> {
    let bytes = bytes.into();
    let thread = std::thread::Builder::new().stack_size(512 << 10).spawn(move || {
        let faults = read(&bytes, "hostile.yaml").expect_err("a hostile file is no site");
        assert!(faults.render(false).len() < 100_000, "a report of bounded length");
        assert!(faults.render(true).contains("error"));
        faults.list().to_vec()
    });
    thread.unwrap().join().unwrap()
}

fn first(bytes: impl Into<Vec<u8>>) -> (Code, usize) {
    let faults = faults(bytes);
    (faults[0].code, faults[0].line)
}

#[test]
fn alias_bombs() {
    let mut laughs = "a0: &a0 [x,x,x,x,x,x,x,x,x,x]\n".to_owned();
    for level in 1..10 {
        let below = vec![format!("*a{}", level - 1); 10].join(",");
        laughs.push_str(&format!("a{level}: &a{level} [{below}]\n"));
    }
    assert_eq!(first(laughs).0, Code::Limit);
    let wide = format!("a: &a [{}x]\nb: [{}*a]\n", "x,".repeat(20_000), "*a,".repeat(20_000));
    assert_eq!(first(wide).0, Code::Limit);
    assert_eq!(first("a: &a [*a]\n"), (Code::Limit, 1));
    let merges = format!("x: &x {{ y: 1 }}\n{}", "- { <<: *x }\n".repeat(5000));
    assert!(!faults(merges).is_empty());
}

#[test]
fn nesting_a_hundred_thousand_deep() {
    for open in ["[", "{", "- ", "? "] {
        let (code, line) = first(format!("wetrun: 1\nname:\n  {}", open.repeat(100_000)));
        assert_eq!((code, line), (Code::Limit, 3), "{open}");
    }
    let closed = format!("name: {}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert_eq!(first(closed).0, Code::Limit);
    let maps: String = (0..3000).map(|n| format!("{}a:\n", " ".repeat(n))).collect();
    assert_eq!(first(maps).0, Code::Limit);
}

#[test]
fn scalars_of_ten_megabytes() {
    let ten_mb = 10_000_000;
    let long = "x".repeat(ten_mb);
    let name = faults(format!("wetrun: 1\nname: {long}\n"));
    assert!(name.iter().any(|fault| fault.code == Code::Value && fault.key_path == "name"));
    assert_eq!(first(format!("{long}: 1\n")).0, Code::Syntax);
    let rain = format!("wetrun: 1\nstorm: {{ intensity: {} }}\n", "9".repeat(ten_mb));
    assert!(faults(rain).iter().any(|fault| fault.key_path == "storm.intensity"));
    let quoted = format!("wetrun: 1\nname: \"{}\"\n", "\\n".repeat(ten_mb / 2));
    assert!(faults(quoted).iter().any(|fault| fault.key_path == "name"));
    let comment = format!("#{long}\nwetrun: 1\n");
    assert!(faults(comment).iter().all(|fault| fault.code == Code::MissingKey));
    let tag = format!("wetrun: 1\ntanks: {{ ? {} : {{ inlet: 1 }} }}\n", "x".repeat(100_000));
    assert!(!faults(tag).is_empty());
}

#[test]
fn a_million_faults_are_not_all_shown() {
    let unknown: String = (0..100_000).map(|n| format!("key{n}: 1\n")).collect();
    assert!(faults(unknown).len() <= 1000);
    assert!(faults("a: 1\n".repeat(100_000)).len() <= 1000);
    let tags: String = (0..20_000).map(|n| format!("  L{n}: {{ from: X{n} }}\n")).collect();
    assert!(faults(format!("wetrun: 1\nlines:\n{tags}")).len() <= 1000);
    let long = "p".repeat(60);
    let near: String = (0..2000)
        .map(|n| format!("  {long}{n}: {{ from: {long}x{n}, to: x{long}{n} }}\n"))
        .collect();
    assert!(faults(format!("wetrun: 1\nlines:\n{near}")).len() <= 1000);
}

#[test]
fn bytes_that_are_no_text() {
    let all: Vec<u8> = (0..=255).collect();
    assert_eq!(first(all.repeat(100)).0, Code::Syntax);
    assert_eq!(first(b"wetrun: 1\nname: caf\xe9\n".to_vec()), (Code::Syntax, 2));
    assert_eq!(first(b"wetrun: 1\nname: a\0b\n".to_vec()), (Code::Syntax, 2));
    assert_eq!(first(b"wetrun: 1\nname: \x1b[31mred\n".to_vec()), (Code::Syntax, 2));
    let wide: Vec<u8> = "\u{feff}wetrun: 1\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(first(wide).0, Code::Syntax);
}

#[test]
fn a_file_beyond_the_cap() {
    assert_eq!(first(vec![b'#'; wetrun_site::LARGEST_BYTES + 1]).0, Code::Limit);
}

#[test]
fn numbers_that_are_none() {
    for value in [".nan", ".NaN", "nan", ".inf", "-.inf", "+.inf", "1e400", "-1e400", "1e400 m"] {
        let text = format!("wetrun: 1\ntanks: {{ T1: {{ inlet: {value} }} }}\n");
        let faults = faults(text);
        let inlet = faults.iter().find(|fault| fault.key_path == "tanks.T1.inlet");
        assert_eq!(inlet.expect(value).code, Code::Range, "{value}");
    }
}

#[test]
fn nothing_of_a_terminal_command_reaches_the_report() {
    let text =
        "wetrun: 1\nname: \"\\e]0;x\\a\\u202e\"\nunits: \"s\\ei\"\nlines: { \"\\e[2J\": 1 }\n";
    let faults = read(text, "na\u{1b}me.yaml").unwrap_err();
    let report = faults.render(false);
    assert!(!report.chars().any(|c| c.is_control() && c != '\n'), "{report:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn no_bytes_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes, "x").map_err(|faults| faults.render(true));
    }

    #[test]
    fn no_text_panics(text in "(wetrun: 1\n)?([a-z]{0,6}: ?)?([-\\[\\]{},:&*!#|>'\"%@ \n\ta-zA-Z0-9.é☂]){0,60}") {
        let _ = read(&text, "x").map_err(|faults| faults.render(false));
    }

    #[test]
    fn no_cut_or_bent_site_panics(at in 0usize..2000, length in 0usize..40, with in "\\PC{0,8}") {
        let mut text = include_str!("../../../fixtures/err/many-independent/site.yaml").to_owned();
        let fit = |byte: usize, text: &str| {
            (0..=byte.min(text.len())).rev().find(|&b| text.is_char_boundary(b)).unwrap_or(0)
        };
        let (from, to) = (fit(at, &text), fit(at + length, &text));
        text.replace_range(from..to, &with);
        let _ = read(&text, "x").map_err(|faults| faults.render(false));
    }
}
