//! Feeds bent site files to the reader and to every command: none panics, hangs or garbles its output.
//!
//! A few seconds by default. `WETRUN_FUZZ=100000` asks for that many inputs of `check` and a
//! twentieth of it of each other command; `WETRUN_FUZZ_SEED` for others than those of seed 1;
//! `WETRUN_FUZZ_COMMAND=levels` for one command alone. Inputs that break something are kept under
//! `target/tmp/fuzz`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stderr)]

#[path = "../drawings.rs"]
#[allow(dead_code)]
mod drawings;
mod guard;
mod mutate;
#[allow(dead_code)]
#[path = "../random_site.rs"]
mod random_site;

use guard::Guard;
use random_site::{Dice, Kinds};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use wetrun_cli::Ended;

/// Every command but `check`, `SITE` standing for the input, `OTHER` for a good file.
const COMMANDS: &[&str] = &[
    "review SITE",
    "review SITE --format json --strict",
    "levels SITE",
    "levels SITE --format json",
    "sheet SITE -o OUT.html",
    "sheet SITE -o OUT.pdf",
    "sheet SITE -o OUT.svg",
    "size SITE --tries 200",
    "size SITE --tries 200 --format json",
    "sheet SITE -o OUT.dxf",
    "sheet SITE -o OUT.xlsx",
    "storm SITE --format json",
    "storm SITE --until 20min",
    "flush SITE",
    "flush SITE --format json",
    "doubt SITE --samples 64",
    "doubt SITE --samples 64 --format json",
    "year SITE --rain RAIN",
    "year SITE --rain RAIN --format json",
    "compare OTHER SITE",
    "compare SITE OTHER --format json",
];

/// The files that are bent: every demo and every case of the tests, and random ones.
fn seeds() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").canonicalize().unwrap();
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            match path.is_dir() {
                true => folders.push(path),
                false if path.extension().is_some_and(|end| end == "yaml") => found.push(path),
                false => {}
            }
        }
    }
    let edited = drawings::all().values().filter(|path| !path.starts_with(&root)).cloned();
    found.extend(edited);
    found.sort();
    let texts = found.iter().filter_map(|path| std::fs::read_to_string(path).ok());
    // A file of many kilobytes is bent no better, and costs the time of a hundred.
    let mut texts: Vec<String> = texts.filter(|text| text.len() < 20_000).collect();
    let random = |seed| Kinds { open: seed % 3 == 0, loops: seed % 4 > 0, facts: seed % 5 == 0 };
    texts.extend((1..=60).map(|seed| random_site::site(seed, random(seed))));
    texts
}

/// Files to bend: good ones mostly, as with a bad one only an error message can go wrong.
struct Inputs {
    /// Every pipe's size is fixed.
    fixed: Vec<String>,
    /// Some size is open.
    open: Vec<String>,
    all: Vec<String>,
}

impl Inputs {
    fn new() -> Self {
        let all = seeds();
        let (mut fixed, mut open) = (Vec::new(), Vec::new());
        for text in &all {
            match wetrun_site::read(text, "x") {
                Ok(site) if site.open_pipes().is_empty() => fixed.push(text.clone()),
                Ok(_) => open.push(text.clone()),
                Err(_) => {}
            }
        }
        Self { fixed, open, all }
    }

    fn bent(&self, command: &str, dice: &mut Dice) -> Vec<u8> {
        let good = if command.starts_with("size") { &self.open } else { &self.fixed };
        let from = if dice.chance(0.98) { good } else { &self.all };
        let (from, other) = (&from[dice.below(from.len())], &self.all[dice.below(self.all.len())]);
        mutate::bent(dice, from, other)
    }
}

fn asked(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

/// Characters that a terminal would take for a command, that turn the writing, or that nobody sees.
fn garbles(text: &str) -> Option<char> {
    // The program's own colours.
    let plain = text.split("\u{1b}[").enumerate().map(|(index, piece)| match index {
        0 => piece,
        _ => piece
            .trim_start_matches(|c: char| c.is_ascii_digit() || c == ';')
            .strip_prefix('m')
            .unwrap_or("\u{1b}"),
    });
    let bad = |c: &char| {
        (c.is_control() && *c != '\n')
            || matches!(c, '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
    };
    plain.flat_map(str::chars).find(bad)
}

/// What is wrong with how a run ended, if anything is.
fn wrong(args: &[String], input: &[u8], ended: &Ended) -> Option<String> {
    let Ended { stdout, stderr, status } = ended;
    if *status > 2 {
        return Some(format!("status {status}"));
    }
    if *status == 2 && !stdout.is_empty() {
        return Some("status 2 with something on stdout".to_owned());
    }
    if *status == 2 && !(stderr.contains("site.yaml") || stderr.contains("other.yaml")) {
        return Some(format!("an error that names no file: {stderr}"));
    }
    if let Some(c) = garbles(stdout).or_else(|| garbles(stderr)) {
        return Some(format!("{c:?} in the output"));
    }
    let json = args.iter().any(|arg| arg == "json");
    if json && *status < 2 && serde_json::from_str::<serde_json::Value>(stdout).is_err() {
        return Some("no JSON on stdout".to_owned());
    }
    let said = String::from_utf8_lossy(input).to_lowercase();
    let number = |word: &&str| stdout.split(|c: char| !c.is_alphanumeric()).any(|w| w == *word);
    let not_a_number = ["NaN", "inf"].into_iter().find(number);
    not_a_number
        .filter(|word| !said.contains(&word.to_lowercase()))
        .map(|word| format!("`{word}` on stdout"))
}

/// Runs one command on many inputs; every sort of trouble once, with an input that brings it.
fn feed(
    command: &str,
    count: u64,
    inputs: &Inputs,
    guard: &Guard,
    place: &Arc<Mutex<String>>,
) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let other = path("other.yaml");
    std::fs::write(&other, &inputs.fixed[0]).unwrap();
    let rain = concat!(env!("CARGO_MANIFEST_DIR"), "/../year/tests/data/seattle.csv").to_owned();
    let args: Vec<String> = std::iter::once("wetrun")
        .chain(command.split(' '))
        .map(|word| match word {
            "SITE" => path("site.yaml"),
            "OTHER" => other.clone(),
            "RAIN" => rain.clone(),
            _ => word.strip_prefix("OUT").map_or(word.to_owned(), |end| path(&format!("out{end}"))),
        })
        .collect();
    let mut trouble: BTreeMap<String, PathBuf> = BTreeMap::new();
    let (mut ends, mut slowest) = ([0_u64; 3], (Duration::ZERO, PathBuf::new()));
    let first = asked("WETRUN_FUZZ_SEED").unwrap_or(1) << 32;
    for number in 0..count {
        let input = inputs.bent(command, &mut Dice::new(first + number));
        std::fs::write(path("site.yaml"), &input).unwrap();
        let work = || catch_unwind(AssertUnwindSafe(|| wetrun_cli::run(args.clone())));
        let (ended, took) = guard.watched(command, &input, work);
        if took > slowest.0.max(Duration::from_secs(2)) {
            slowest = (took, guard.keep(&format!("slow-{command}"), &input));
        }
        let found = match ended {
            Ok(ended) => {
                if let Some(end) = ends.get_mut(usize::from(ended.status)) {
                    *end += 1;
                }
                wrong(&args, &input, &ended)
            }
            Err(_) => Some(format!("a panic at {}", place.lock().unwrap())),
        };
        if let Some(what) = found.filter(|what| !trouble.contains_key(what)) {
            let kept = guard.keep(command, &input);
            eprintln!("{command}: {what}: {}", kept.display());
            trouble.insert(what, kept);
        }
    }
    let [pass, fail, refused] = ends;
    eprintln!(
        "{command}: {count} inputs, {pass} pass, {fail} fail, {refused} refused, slowest {:?} {}",
        slowest.0,
        slowest.1.display()
    );
    trouble
        .into_iter()
        .map(|(what, kept)| format!("{command}: {what}: {}", kept.display()))
        .collect()
}

#[test]
fn no_bent_file_breaks_the_program() {
    let guard = Guard::start();
    let inputs = Inputs::new();
    assert!(inputs.fixed.len() > 100 && inputs.open.len() > 20, "too few good files to bend");
    let place = Arc::new(Mutex::new(String::new()));
    let told = Arc::clone(&place);
    std::panic::set_hook(Box::new(move |info| {
        let at = info.location().map(ToString::to_string).unwrap_or_default();
        *told.lock().unwrap() = format!("{at}: {info}");
    }));
    let count = asked("WETRUN_FUZZ").unwrap_or(200);
    let only = std::env::var("WETRUN_FUZZ_COMMAND").unwrap_or_default();
    let mut trouble = Vec::new();
    for (command, count) in std::iter::once(("check SITE --format json", count * 4 / 5))
        .chain([("check SITE --both-units", count / 5)])
        .chain(COMMANDS.iter().map(|command| (*command, count / 20)))
        .filter(|(command, _)| command.starts_with(&only))
    {
        trouble.extend(feed(command, count, &inputs, &guard, &place));
    }
    drop(std::panic::take_hook());
    assert!(trouble.is_empty(), "{}", trouble.join("\n"));
}

#[test]
fn the_watch_sees_what_it_looks_for() {
    for text in ["\u{1b}[2J", "\u{1b}]0;x\u{7}", "a\u{202e}b", "a\tb", "a\u{9b}31mb", "\u{200b}"] {
        assert!(garbles(text).is_some(), "{text:?}");
    }
    assert_eq!(garbles("\u{1b}[1;31mred\u{1b}[0m\n☂ é"), None);
    let args = ["wetrun", "check", "site.yaml", "--format", "json"].map(str::to_owned);
    let ended = |stdout: &str, stderr: &str, status| Ended {
        stdout: stdout.to_owned(),
        stderr: stderr.to_owned(),
        status,
    };
    let wrong = |ended: &Ended| wrong(&args, b"", ended).is_some();
    assert!(!wrong(&ended("{}", "", 1)) && !wrong(&ended("", "error: site.yaml: x", 2)));
    for bad in [("{", "", 0), ("x", "site.yaml", 2), ("", "error: x", 2), ("", "", 101)] {
        assert!(wrong(&ended(bad.0, bad.1, bad.2)), "{bad:?}");
    }
    let text = args[..3].to_vec();
    assert!(self::wrong(&text, b"", &ended("stands inf m below", "", 0)).is_some());
}
