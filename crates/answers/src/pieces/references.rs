//! Where a file names a piece, by the tables of its keys.

use wetrun_site::keys::{SITE, Section, Value};
use wetrun_site::{Outline, Written};

/// The key paths under which a file names `tag` of a section, in the order of the tables.
pub(super) fn references(written: &Outline, section: &str, tag: &str) -> Vec<String> {
    let mut search = Search { written, section, tag, found: Vec::new() };
    search.below(&SITE, &[]);
    search.found
}

struct Search<'a> {
    written: &'a Outline,
    section: &'a str,
    tag: &'a str,
    found: Vec<String>,
}

impl Search<'_> {
    fn below(&mut self, keys: &'static Section, above: &[&str]) {
        for key in keys.keys() {
            let path: Vec<&str> = above.iter().copied().chain([key.name]).collect();
            if self.written.written(&path).is_some() {
                self.key(&key.value, &path);
            }
        }
    }

    fn key(&mut self, value: &'static Value, path: &[&str]) {
        let written = self.written;
        let of = |section: &str| self.section == section;
        match value {
            Value::Tag(sections) if sections.contains(&self.section) => self.is(path),
            Value::TankOrGround if of("tanks") => self.is(path),
            Value::Tanks if of("tanks") => {
                self.is(path);
                self.in_list(path);
            }
            Value::Shares if of("downspouts") => {
                self.is(path);
                self.among(path);
            }
            Value::Fittings if of("fittings") => self.among(path),
            Value::Prices if of("pipes") => self.among(path),
            Value::Pipe { .. } if of("pipes") => {
                self.is(&[path, &["type"]].concat());
                let Some(Written::Text(text)) = written.written(path) else { return };
                let size = text.strip_prefix(self.tag);
                if size.is_some_and(|size| size.is_empty() || size.starts_with(' ')) {
                    self.found.push(path.join("."));
                }
            }
            // The doubts of single lines stand under the tags of the lines.
            Value::Items(_) if of("lines") && path == ["doubts", "lines"] => self.among(path),
            Value::Section(keys)
            | Value::AmountOr(_, keys)
            | Value::NumberOr(_, keys)
            | Value::Device(keys) => self.below(keys, path),
            Value::Items(keys) => {
                for name in written.names(path) {
                    self.below(keys, &[path, &[name]].concat());
                }
            }
            Value::Stations(keys) => {
                for index in 0..written.count(path) {
                    self.below(keys, &[path, &[index.to_string().as_str()]].concat());
                }
            }
            _ => {}
        }
    }

    /// Whether the tag itself stands there.
    fn is(&mut self, path: &[&str]) {
        if self.written.written(path) == Some(Written::Text(self.tag)) {
            self.found.push(path.join("."));
        }
    }

    fn in_list(&mut self, path: &[&str]) {
        for index in 0..self.written.count(path) {
            let index = index.to_string();
            self.is(&[path, &[index.as_str()]].concat());
        }
    }

    /// Whether it is one of the names there.
    fn among(&mut self, path: &[&str]) {
        if self.written.names(path).contains(&self.tag) {
            self.found.push([path, &[self.tag]].concat().join("."));
        }
    }
}
