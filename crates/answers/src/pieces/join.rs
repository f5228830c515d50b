//! Two lines made one, where the point between them goes.

use super::away::text;
use super::split::{one, stations};
use crate::site_levels::value;
use wetrun_network::{Line, Station};
use wetrun_site::edit::Change;
use wetrun_site::{Outline, Site};
use wetrun_units::{Length, decimal};

/// What is told of an invert that is lost: less than this is how it was written.
const TOLD: Length = Length::m(2e-3);

/// The two lines that meet at a point where nothing else does, the one into it first, if they can
/// be one: of the same pipe, one after the other.
pub(super) fn pair<'s>(written: &Outline, site: &'s Site, point: &str) -> Option<[&'s Line; 2]> {
    let network = &site.network;
    let ends = |line: &Line| [line.from, line.to].map(|end| network.end_tag(end).to_owned());
    let here: Vec<&Line> =
        network.lines().iter().filter(|line| ends(line).iter().any(|end| end == point)).collect();
    let pair = match here.as_slice() {
        [a, b] if ends(a)[1] == point && ends(b)[0] == point => [*a, *b],
        [a, b] if ends(b)[1] == point && ends(a)[0] == point => [*b, *a],
        _ => return None,
    };
    let pipe = |line: &Line| written.in_one_line(&["lines", &line.tag, "pipe"]);
    (pipe(pair[0]) == pipe(pair[1]) && ends(pair[0])[0] != ends(pair[1])[1]).then_some(pair)
}

/// What makes two lines one without the point between them, with what that costs in words.
pub(super) fn joined(
    written: &Outline,
    site: &Site,
    point: &str,
    [a, b]: [&Line; 2],
) -> (Vec<Change>, Vec<String>) {
    let units = site.units;
    let (first, second) = (a.tag.as_str(), b.tag.as_str());
    let whole = a.length + b.length;
    let spelled = match text(written, &["lines", first, "length"]) {
        Some(old) => units.respell_level(old, whole),
        None => None,
    };
    let length = spelled.unwrap_or_else(|| value(units, whole));
    let to = site.network.end_tag(b.to);
    let mut changes = vec![
        Change::text(&["lines", first, "to"], to),
        Change::text(&["lines", first, "length"], length.clone()),
    ];
    let has = |line: &str, key: &str| written.written(&["lines", line, key]).is_some();
    if has(first, "profile") || has(second, "profile") {
        let moved = b.profile.iter().skip(1);
        let moved = moved.map(|station| Station { at: station.at + a.length, ..*station });
        let moved: Vec<Station> = moved.collect();
        if has(first, "profile") {
            let last = moved.len().saturating_sub(1);
            for (index, station) in moved.iter().enumerate() {
                let at = if index == last { length.clone() } else { value(units, station.at) };
                let place = (a.profile.len() + index).to_string();
                let keys = ["lines", first, "profile", &place];
                changes.push(Change::item(&keys, one(units, station, &at)));
            }
        } else {
            let all: Vec<Station> = a.profile.iter().copied().chain(moved).collect();
            let profile = stations(units, &all, &length);
            changes.push(Change::yaml(&["lines", first, "profile"], profile));
        }
    }
    for (key, whose) in [("to_level", first), ("to_level", second)] {
        match (whose == second, text(written, &["lines", whose, key])) {
            (true, Some(level)) => changes.push(Change::text(&["lines", first, key], level)),
            (false, Some(_)) if !has(second, key) => {
                changes.push(Change::gone(&["lines", first, key]));
            }
            _ => {}
        }
    }
    for fitting in written.names(&["lines", second, "fittings"]) {
        let count = |line: &str| -> f64 {
            let count = text(written, &["lines", line, "fittings", fitting]);
            count.and_then(|count| count.parse().ok()).unwrap_or(0.0)
        };
        let sum = decimal(count(first) + count(second), 0);
        changes.push(Change::text(&["lines", first, "fittings", fitting], sum));
    }
    if b.k > 0.0 {
        // Nobody writes a loss to more places: the sum loses nothing.
        let mut sum = decimal(a.k + b.k, 9);
        while sum.ends_with('0') {
            sum.pop();
        }
        changes.push(Change::text(&["lines", first, "k"], sum.trim_end_matches('.')));
    }
    if text(written, &["points", to, "branch"]) == Some(second) {
        changes.push(Change::text(&["points", to, "branch"], first));
    }
    changes.push(Change::gone(&["lines", second]));
    changes.push(Change::gone(&["points", point]));
    let mut words = vec![format!("line {second}: {first} goes on to {to} in its place")];
    words.extend(invert(written, site, point, [a, b]));
    said(written, [first, second], &mut changes, &mut words);
    (changes, words)
}

/// What the file says of the invert at the point, where the joined line does not say it.
fn invert(written: &Outline, site: &Site, point: &str, [a, b]: [&Line; 2]) -> Option<String> {
    let units = site.units;
    let (before, after) = (a.profile.last()?, b.profile.first()?);
    let (first, last) = (a.profile.first()?, b.profile.last()?);
    let has = |line: &Line| written.written(&["lines", &line.tag, "profile"]).is_some();
    let far = |x: Length, y: Length| (x - y).abs() > TOLD;
    if far(before.level, after.level) {
        return Some(format!(
            "the step at {point} from {} to {}",
            units.show_level(before.level),
            units.show_level(after.level)
        ));
    }
    if has(a) || has(b) {
        let ground = before.ground.zip(after.ground).is_some_and(|(x, y)| far(x, y));
        let lost = ground || (before.ground.is_none() && after.ground.is_some());
        return after.ground.filter(|_| lost).map(|ground| {
            format!("the ground at {point} as {} has it: {}", b.tag, units.show_level(ground))
        });
    }
    let share = a.length.to_m() / (a.length + b.length).to_m();
    let straight = first.level + (last.level - first.level) * share;
    far(before.level, straight).then(|| {
        format!(
            "the invert of {} at {point}: the line runs straight there, at {}",
            units.show_level(before.level),
            units.show_level(straight)
        )
    })
}

/// What the file says of either line besides how water runs in it: what is more exacting holds for
/// both, what only one says of itself for neither.
fn said(
    written: &Outline,
    [first, second]: [&str; 2],
    changes: &mut Vec<Change>,
    words: &mut Vec<String>,
) {
    const RUNS: [&str; 9] =
        ["from", "to", "pipe", "length", "fittings", "k", "profile", "from_level", "to_level"];
    let of = |line: &str, key: &str| written.in_one_line(&["lines", line, key]);
    let mut keys = written.names(&["lines", first]);
    keys.extend(written.names(&["lines", second]));
    let mut seen: Vec<&str> = Vec::new();
    for key in keys {
        let (own, other) = (of(first, key), of(second, key));
        if RUNS.contains(&key) || own == other || seen.contains(&key) {
            continue;
        }
        seen.push(key);
        if key == "vehicles" {
            let crossed =
                [first, second].iter().any(|line| of(line, key).as_deref() == Some("yes"));
            if crossed {
                changes.push(Change::text(&["lines", first, key], "yes"));
                words.push(format!(
                    "that vehicles cross a part alone: {first} has it for all of it"
                ));
                continue;
            }
        }
        if own.is_some() {
            changes.push(Change::gone(&["lines", first, key]));
        }
        for (line, value) in [(first, own), (second, other)] {
            words.extend(value.map(|value| format!("what {line} says of itself: {key}: {value}")));
        }
    }
    let doubts = |line: &str| written.in_one_line(&["doubts", "lines", line]);
    let (own, other) = (doubts(first), doubts(second));
    if other.is_some() {
        changes.push(Change::gone(&["doubts", "lines", second]));
    }
    if own != other {
        let holds = match own {
            Some(_) => format!("those of {first} hold for all of it"),
            None => "the general ones hold".to_owned(),
        };
        let whose = if other.is_some() { second } else { first };
        words.push(format!("doubts of {whose} alone: {holds}"));
    }
}
