//! Bends site files: values swapped or made extreme, keys dropped or doubled, odd letters, cut ends.

use crate::random_site::Dice;
use std::ops::Range;

/// Values where one of another kind, size or spelling stood; `x` stands for a long text.
const VALUES: &[&str] = &[
    "0",
    "-0",
    "-1",
    "1e-18 m",
    "1e-300",
    "1e300",
    "1e308 mm/h",
    "-1e308 ft",
    "1e400",
    ".nan",
    ".inf",
    "0.001 mm/h",
    "1e-9 mm/h",
    "360 m/h",
    "1 mm",
    "0.9 mm",
    "10 m",
    "50 m",
    "100 km",
    "20 km",
    "-20 km",
    "1e-6 m2",
    "1e9 m2",
    "1:200",
    "0 %",
    "100 %",
    "5 gal",
    "4 in",
    "13'-6 1/2\"",
    "-13' 6\"",
    "yes",
    "no",
    "null",
    "~",
    "''",
    "\"\"",
    "{}",
    "[]",
    "[any]",
    "any",
    "{ size: any }",
    "sealed",
    "D1",
    "T1",
    "P1",
    "L1",
    "ground",
    "full",
    "empty",
    "hazen-williams",
    "us",
    "si",
    "wye",
    "tee",
    "pvc-sch40 4 in",
    "{ inside: 1 mm, roughness: 0 mm, c: 150 }",
    "{ type: pvc-sch40, size: any }",
    "{ inside: 10 m, roughness: 9 m, c: 1 }",
    "!!binary aGVsbG8=",
    "!!float 1",
    "!x y",
    "*a",
    "&a 1",
    "{ level: -20 km }",
    "{ level: 20 km }",
    "1_000 mm",
    "１２ mm",
    "TBD",
    "?",
    "unknown",
    "=1+1",
    "＝1",
    "@x",
    "x",
];

/// Letters that are not seen, turn the writing, or command a terminal.
const ODD: &[&str] = &[
    "\u{1b}[2J",
    "\u{9b}31m",
    "\u{7}",
    "\u{0}",
    "\u{202e}",
    "\u{2066}",
    "\u{200b}",
    "\u{feff}",
    "\u{ad}",
    "\u{301}",
    "\u{fe0f}",
    "\u{e0041}",
    "\u{3164}",
    "\u{2028}",
    "\u{85}",
    "\t",
    "\r",
    "\u{a0}",
    "☂",
    "é",
    "漢字",
    "\u{1f6b0}",
    "'",
    "\"",
    "#",
    ": ",
    "|",
    ">",
    "%",
    "&",
    "<b>",
    "\\e]0;x\\a",
];

/// Whole lines where one stood.
const LINES: &[&str] = &[
    "wetrun: 1",
    "wetrun: 2",
    "units: us",
    "units: si",
    "losses: hazen-williams",
    "---",
    "...",
    "<<: { a: 1, a: 2 }",
    "<<: { name: x }",
    "water: { temperature: 0 C }",
    "storm: { intensity: 0 mm/h }",
    "storm: { intensity: 1e-3 mm/h, tanks: empty }",
    "targets: { freeboard: 0 mm }",
    "roofs: {}",
    "downspouts: {}",
    "lines: {}",
    "tanks: {}",
    "points: {}",
    "rules: { freeboard: { limit: 1 mm, reason: x } }",
    "prices: {}",
    "benchmarks: {}",
    "pipes: {}",
];

/// One file bent in one to three ways: mostly such that it may still be a site.
pub(crate) fn bent(dice: &mut Dice, from: &str, other: &str) -> Vec<u8> {
    let mut text = from.to_owned();
    for _ in 0..1 + dice.below(3) {
        text = if dice.chance(0.8) { nudge(dice, text, other) } else { bend(dice, text, other) };
        if text.len() > 200_000 {
            break;
        }
    }
    let mut bytes = text.into_bytes();
    // Now and then no text at all.
    if dice.chance(0.01) && !bytes.is_empty() {
        let at = dice.below(bytes.len());
        bytes[at] |= 0x80;
    }
    bytes
}

/// Keys that change what a file means, put where another stands.
const KEYS: &[&str] = &[
    "vent: { level: 13 m }",
    "vent: { level: 42 ft }",
    "cleanout: yes, cap: 12 m",
    "cap: 110 ft",
    "cap: sealed",
    "rim: 12.5 m",
    "rim: 108 ft",
    "k: 0",
    "k: 50",
    "k: 1e6",
    "leaf_head: 12 m",
    "drain: 2 in",
    "drain: 1 mm",
    "ground: 10 m",
    "volume: 1 gal",
    "to: T1",
    "to: T2",
    "from_level: 10 m",
    "to_level: 12 m",
    "fitting: tee",
    "runoff: 0",
    "screen: { open: 1 % }",
    "tanks: empty",
];

/// Factors that may leave a site one.
const NEAR: &[f64] =
    &[0.0, 1e-3, 0.1, 0.5, 0.9, 0.99, 0.999, 1.0 + 1e-9, 1.001, 1.01, 1.1, 1.5, 2.0, 5.0, 10.0];

/// Factors that take a number out of any site.
const FAR: &[f64] = &[1e-300, 1e-18, 1e-12, 1e-6, 1e3, 1e6, 1e12, 1e300];

/// A change that a drawing may well have: another number, another value of the same key, one key
/// more or less.
fn nudge(dice: &mut Dice, mut text: String, other: &str) -> String {
    let here = values(&text);
    if here.is_empty() {
        return text;
    }
    let at = here[dice.below(here.len())].clone();
    let key = |text: &str, at: &Range<usize>| {
        text[entry(text, at)].split(':').next().unwrap_or_default().trim().to_owned()
    };
    match dice.below(8) {
        0..=3 => {
            if let Some(with) = scaled(dice, &text[at.clone()], NEAR) {
                text.replace_range(at, &with);
            }
        }
        // What the same key has elsewhere, here or in another file.
        4 | 5 => {
            let name = key(&text, &at);
            let source = if dice.chance(0.5) { text.clone() } else { other.to_owned() };
            let same: Vec<Range<usize>> =
                values(&source).into_iter().filter(|found| key(&source, found) == name).collect();
            if !same.is_empty() {
                let with = &source[same[dice.below(same.len())].clone()];
                text.replace_range(at, with);
            }
        }
        6 => {
            let start = entry(&text, &at).start;
            text.insert_str(start, &format!("{}, ", dice.pick(KEYS)));
        }
        _ => {
            let mut entry = entry(&text, &at);
            if text[entry.end..].starts_with(", ") {
                entry.end += 2;
            }
            text.replace_range(entry, "");
        }
    }
    text
}

fn bend(dice: &mut Dice, mut text: String, other: &str) -> String {
    let values = values(&text);
    let any =
        |dice: &mut Dice| (!values.is_empty()).then(|| values[dice.below(values.len())].clone());
    match dice.below(16) {
        // A value made extreme or of another kind.
        0..=3 => {
            let Some(at) = any(dice) else { return text };
            let with = value(dice);
            text.replace_range(at, &with);
        }
        // A number a little or much changed.
        4..=7 => {
            let Some(at) = any(dice) else { return text };
            if let Some(with) = scaled(dice, &text[at.clone()], FAR) {
                text.replace_range(at, &with);
            }
        }
        // Two values swapped.
        8 => {
            let (Some(a), Some(b)) = (any(dice), any(dice)) else { return text };
            let (a, b) = if a.start < b.start { (a, b) } else { (b, a) };
            if a.end <= b.start {
                let (first, second) = (text[a.clone()].to_owned(), text[b.clone()].to_owned());
                text.replace_range(b, &first);
                text.replace_range(a, &second);
            }
        }
        // A key with its value dropped, doubled, or taken in from elsewhere.
        9 | 10 => {
            let Some(at) = any(dice) else { return text };
            let entry = entry(&text, &at);
            let piece = text[entry.clone()].to_owned();
            match dice.below(3) {
                0 => text.replace_range(entry, ""),
                1 => text.insert_str(entry.start, &format!("{piece}, ")),
                _ => text.replace_range(entry, &format!("<<: {{ {piece}, {piece} }}")),
            }
        }
        // Lines dropped, doubled, moved or replaced.
        11 | 12 => {
            let mut lines: Vec<&str> = text.lines().collect();
            if lines.is_empty() {
                return text;
            }
            let at = dice.below(lines.len());
            match dice.below(5) {
                0 => drop(lines.remove(at)),
                1 => lines.insert(at, lines[at]),
                2 => {
                    let line = lines.remove(at);
                    lines.insert(dice.below(lines.len() + 1), line);
                }
                3 => {
                    let others: Vec<&str> = other.lines().filter(|line| !line.is_empty()).collect();
                    lines[at] = dice.pick(&others);
                }
                _ => lines[at] = dice.pick(LINES),
            }
            text = lines.join("\n");
            text.push('\n');
        }
        // Odd letters, in a value or anywhere.
        13 => {
            let odd = dice.pick(ODD);
            let at = match any(dice).filter(|_| dice.chance(0.7)) {
                Some(value) if dice.chance(0.5) => value.start,
                Some(value) => value.end,
                None => place(dice, &text),
            };
            text.insert_str(at, odd);
        }
        // Cut off.
        14 => {
            let at = place(dice, &text);
            text.truncate(at);
        }
        // Joined elsewhere: a tag or word of the file where another stood.
        _ => {
            let words: Vec<Range<usize>> =
                values.iter().filter(|at| at.len() < 12).cloned().collect();
            if words.len() > 1 {
                let (to, from) = (dice.below(words.len()), dice.below(words.len()));
                let word = text[words[from].clone()].to_owned();
                text.replace_range(words[to].clone(), &word);
            }
        }
    }
    text
}

fn value(dice: &mut Dice) -> String {
    match dice.pick(VALUES) {
        "x" => "x".repeat(1 + dice.below(5000)),
        value => value.to_owned(),
    }
}

/// The text with its first number times one of the factors.
fn scaled(dice: &mut Dice, text: &str, factors: &[f64]) -> Option<String> {
    let start = text.find(|c: char| c.is_ascii_digit())?;
    let digits = text[start..].find(|c: char| !c.is_ascii_digit() && c != '.');
    let end = digits.map_or(text.len(), |length| start + length);
    let number: f64 = text[start..end].parse().ok()?;
    let factor = factors[dice.below(factors.len())] * if dice.chance(0.05) { -1.0 } else { 1.0 };
    Some(format!("{}{}{}", &text[..start], number * factor, &text[end..]))
}

/// The bytes of single values: what stands between `: ` and the end of its line or entry.
fn values(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(colon) = text[from..].find(": ") {
        let start = from + colon + 2;
        let length = text[start..].find([',', '}', ']', '#', '\n']).unwrap_or(text.len() - start);
        let piece = &text[start..start + length];
        if !piece.trim().is_empty() && !piece.contains('{') && !piece.contains('[') {
            found.push(start..start + piece.trim_end().len());
        }
        from = start;
    }
    found
}

/// The key before a value, with it.
fn entry(text: &str, value: &Range<usize>) -> Range<usize> {
    let start = text[..value.start].rfind(['{', ',', '\n', '[']).map_or(0, |at| at + 1);
    start + (text[start..].len() - text[start..].trim_start_matches(' ').len())..value.end
}

/// Somewhere in a text, between two letters.
fn place(dice: &mut Dice, text: &str) -> usize {
    let mut at = dice.below(text.len() + 1);
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}
