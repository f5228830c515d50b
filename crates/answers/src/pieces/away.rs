//! A piece taken out of a site file, with what hangs on it.

use super::join::{joined, pair};
use super::references::references;
use super::{outline, site};
use crate::outcome::Refusal;
use wetrun_site::edit::{Change, change};
use wetrun_site::{Outline, Written};

/// What the file would be without a piece.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Away {
    /// Its text then.
    pub text: String,
    /// What goes with the piece or changes, each in words.
    pub words: Vec<String>,
    /// Key paths that name it still: each is an error until somebody changes it, but for a pipe type
    /// that the catalogue has too.
    pub still: Vec<String>,
}

/// A piece taken out of a text. The lines that end at it go with it, and so do roofs that drain to
/// it alone and whatever else names it; two lines that met at a point become one again.
///
/// # Errors
/// A refusal where the piece is not there or the file cannot be read as YAML.
pub fn away(text: &str, section: &str, tag: &str) -> Result<Away, Refusal> {
    let written = outline(text)?;
    if written.written(&[section, tag]).is_none() {
        return Err(Refusal::because(format_args!("there is no `{section}.{tag}` any more")));
    }
    if section == "points"
        && let Ok(site) = site(text)
        && let Some(pair) = pair(&written, &site, tag)
    {
        let (changes, words) = joined(&written, &site, tag, pair);
        return List { written: &written, changes, words }.done(text, section, tag);
    }
    let mut found = Found { written: &written, lines: Vec::new(), points: Vec::new() };
    match section {
        "lines" => found.lines.push(tag.to_owned()),
        "downspouts" => found.follow(tag),
        "points" | "tanks" => found.lines = found.at(tag),
        _ => {}
    }
    let mut list = List { written: &written, changes: Vec::new(), words: Vec::new() };
    list.changes.push(Change::gone(&[section, tag]));
    for line in &found.lines {
        if (section, line.as_str()) != ("lines", tag) {
            list.changes.push(Change::gone(&["lines", line]));
            let [from, to] = found.ends(line);
            list.words.push(format!("line {line}, from {from} to {to}"));
        }
        if written.written(&["doubts", "lines", line]).is_some() {
            list.changes.push(Change::gone(&["doubts", "lines", line]));
        }
    }
    for point in &found.points {
        list.changes.push(Change::gone(&["points", point]));
        list.words.push(format!("point {point}, where nothing else leads on"));
    }
    list.fittings(&found, tag);
    match section {
        "downspouts" => list.roofs(tag),
        "tanks" => list.tank(tag),
        "gutters" => list.gutter(tag),
        _ => {}
    }
    list.done(text, section, tag)
}

/// The lines and points that go.
struct Found<'a> {
    written: &'a Outline,
    lines: Vec<String>,
    points: Vec<String>,
}

impl Found<'_> {
    /// Lines that end at a place, but for those that go already.
    fn at(&self, tag: &str) -> Vec<String> {
        let all = self.written.names(&["lines"]).into_iter();
        let here = |line: &&str| self.ends(line).contains(&tag);
        all.filter(here).map(str::to_owned).filter(|line| !self.lines.contains(line)).collect()
    }

    fn ends(&self, line: &str) -> [&str; 2] {
        ["from", "to"].map(|end| text(self.written, &["lines", line, end]).unwrap_or_default())
    }

    /// A downspout's lines, and points beyond them that lead nowhere then.
    fn follow(&mut self, downspout: &str) {
        let mut from = vec![downspout.to_owned()];
        while let Some(place) = from.pop() {
            for line in self.at(&place) {
                let [a, b] = self.ends(&line);
                let other = if a == place { b } else { a }.to_owned();
                self.lines.push(line);
                let point = self.written.written(&["points", &other]).is_some();
                // What can be opened or breathes there has a use of its own.
                let opens = ["vent", "cap", "drain", "cleanout"];
                let used = opens
                    .iter()
                    .any(|key| self.written.written(&["points", &other, key]).is_some());
                if point && !used && self.at(&other).len() < 2 && !self.points.contains(&other) {
                    self.points.push(other.clone());
                    from.push(other);
                }
            }
        }
    }
}

/// What is changed, with words for it.
struct List<'a> {
    written: &'a Outline,
    changes: Vec<Change>,
    words: Vec<String>,
}

impl List<'_> {
    /// The text then, searched for what names the piece still.
    fn done(self, text: &str, section: &str, tag: &str) -> Result<Away, Refusal> {
        let text = change(text, &self.changes).map_err(Refusal::because)?;
        let still = references(&outline(&text)?, section, tag);
        Ok(Away { text, words: self.words, still })
    }

    /// Wyes and tees where not three lines meet any more.
    fn fittings(&mut self, found: &Found<'_>, tag: &str) {
        for point in self.written.names(&["points"]) {
            let Some(word) = text(self.written, &["points", point, "fitting"]) else { continue };
            let touched = found.lines.iter().any(|line| found.ends(line).contains(&point));
            if !touched || point == tag || found.points.iter().any(|gone| gone == point) {
                continue;
            }
            let left = found.at(point).len();
            if left == 3 {
                continue;
            }
            self.words.push(format!("the {word} at {point}: {left} lines are left there"));
            self.changes.push(Change::gone(&["points", point, "fitting"]));
            if self.written.written(&["points", point, "branch"]).is_some() {
                self.changes.push(Change::gone(&["points", point, "branch"]));
            }
        }
    }

    fn roofs(&mut self, downspout: &str) {
        for roof in self.written.names(&["roofs"]) {
            let keys = ["roofs", roof, "to"];
            if text(self.written, &keys) == Some(downspout) {
                self.changes.push(Change::gone(&["roofs", roof]));
                self.words.push(format!("roof {roof}, which drains to it alone"));
                continue;
            }
            let shares = self.written.names(&keys);
            if !shares.contains(&downspout) {
                continue;
            }
            let rest: Vec<&str> = shares.into_iter().filter(|to| *to != downspout).collect();
            match rest.as_slice() {
                [one] => {
                    self.changes.push(Change::yaml(&keys, wetrun_site::edit::quote(one)));
                    self.words.push(format!("its share of roof {roof}, which {one} gets"));
                }
                _ => {
                    self.changes.push(Change::gone(&["roofs", roof, "to", downspout]));
                    self.words.push(format!(
                        "its share of roof {roof}: those that are left are to be set anew, to 100 %"
                    ));
                }
            }
        }
    }

    fn tank(&mut self, tank: &str) {
        for other in self.written.names(&["tanks"]) {
            let keys = ["tanks", other, "overflow", "to"];
            if text(self.written, &keys) == Some(tank) {
                self.changes.push(Change::gone(&keys));
                self.words.push(format!("the way of {other}'s overflow, which runs to the ground"));
            }
        }
        for name in self.written.names(&["transfers"]) {
            let named = |end| text(self.written, &["transfers", name, end]) == Some(tank);
            if named("from") || named("to") {
                self.changes.push(Change::gone(&["transfers", name]));
                self.words.push(format!("the transfer {name}"));
            }
        }
        for name in self.written.names(&["uses"]) {
            let keys = ["uses", name, "from"];
            if text(self.written, &keys) == Some(tank) {
                self.changes.push(Change::gone(&["uses", name]));
                self.words.push(format!("the use {name}, which takes from it alone"));
                continue;
            }
            let at = (0..self.written.count(&keys)).find(|index| {
                text(self.written, &["uses", name, "from", &index.to_string()]) == Some(tank)
            });
            if let Some(at) = at {
                self.changes.push(Change::gone(&["uses", name, "from", &at.to_string()]));
                self.words.push(format!("that the use {name} takes from it"));
            }
        }
    }

    fn gutter(&mut self, gutter: &str) {
        for downspout in self.written.names(&["downspouts"]) {
            let keys = ["downspouts", downspout, "gutter"];
            if text(self.written, &keys) == Some(gutter) {
                self.changes.push(Change::gone(&keys));
                self.words.push(format!("that {downspout} hangs on it"));
            }
        }
    }
}

pub(super) fn text<'a>(written: &'a Outline, keys: &[&str]) -> Option<&'a str> {
    match written.written(keys)? {
        Written::Text(text) => Some(text),
        _ => None,
    }
}
