//! What a new piece is asked for, with what can be copied from its neighbours, and how it comes into
//! the text.

use crate::piece::{Book, is_bare};
use crate::put::{outline, written};
use serde_json::{Map, Value as Json, json};
use wetrun_answers::pieces::{
    Cut, Halves, fresh_tag, fresh_tag_like, with_downspout, with_item, with_point,
};
use wetrun_site::keys::{Key, Need, SITE, Section, Value};
use wetrun_site::{Outline, Site};

/// Letters that new tags begin with where the file has none to go on from.
const LETTERS: [(&str, &str); 5] =
    [("downspouts", "D"), ("points", "P"), ("lines", "L"), ("tanks", "T"), ("roofs", "R")];

/// What is asked for.
struct Asked<'a> {
    outline: &'a Outline,
    site: Option<Site>,
    book: Book<'a>,
    fields: Vec<Json>,
}

/// What a new item of a section is asked for: fields as those of a piece, with names.
///
/// # Errors
/// In words, where the file cannot be read or has no such section.
pub(crate) fn suggest(text: &str, what: &str, on: &[String]) -> Result<Json, String> {
    let outline = outline(text)?;
    let section = items(what)?;
    let mut asked = Asked {
        outline: &outline,
        site: wetrun_answers::read(text.as_bytes(), "").ok(),
        book: Book::new(&outline, &[]),
        fields: Vec::new(),
    };
    match what {
        "downspouts" | "points" => {
            let on = asked.joint(what, on)?;
            let tags = asked.tags(what, &on);
            match what {
                "downspouts" => asked.downspout(section, &on, &tags),
                _ => asked.point(&on, &tags),
            }
            Ok(json!({ "fields": asked.fields, "joins": true, "on": on }))
        }
        _ => {
            asked.item(section, what);
            Ok(json!({ "fields": asked.fields, "on": [] }))
        }
    }
}

/// The text with a new item, as the fields of [`suggest`] were filled in.
///
/// # Errors
/// In words, where something is missing, a tag is taken, or a line cannot be split there.
pub(crate) fn add(
    text: &str,
    what: &str,
    on: &[String],
    values: &Map<String, Json>,
) -> Result<String, String> {
    let section = items(what)?;
    let given: Map<String, Json> =
        values.iter().map(|(name, value)| (name.clone(), json!(written(value)))).collect();
    let value = |name: &str| given.get(name).and_then(Json::as_str).unwrap_or_default().trim();
    let tag = value("tag");
    let told = |why: wetrun_answers::Refusal| why.to_string();
    let own: Vec<(&str, &str)> = section.keys().map(|key| (key.name, value(key.name))).collect();
    match (what, on) {
        ("points", [of, line]) if of == "lines" => {
            let level = value("level");
            let cut = Cut { line, along: value("along"), rest: value("rest"), level };
            with_point(text, tag, &cut).map_err(told)
        }
        ("points", _) => Err("a new point splits a line: choose one".to_owned()),
        ("downspouts", [of, place]) => {
            needed(section, &own)?;
            let branch = [("pipe", value("branch pipe")), ("length", value("branch length"))];
            if branch.iter().any(|(_, value)| value.is_empty()) {
                return Err("the branch needs a pipe and a length".to_owned());
            }
            let cut = Cut {
                line: place,
                along: value("along"),
                rest: value("rest"),
                level: value("joint level"),
            };
            let splits = of == "lines";
            let point = if splits { value("joint") } else { place };
            let (downspout, line) = ((tag, own.as_slice()), (value("branch"), branch.as_slice()));
            let cut = splits.then_some(&cut);
            with_downspout(text, downspout, line, point, cut, value("fitting")).map_err(told)
        }
        ("downspouts", _) => Err("a new downspout needs a line or a point to lead to".to_owned()),
        _ => {
            needed(section, &own)?;
            let overflow = value("overflow level");
            let overflow = if overflow.is_empty() {
                String::new()
            } else {
                format!("{{ level: {} }}", wetrun_site::edit::quote(overflow))
            };
            let own: Vec<(&str, &str)> = own
                .iter()
                .map(|(key, value)| (*key, if *key == "overflow" { &*overflow } else { *value }))
                .collect();
            with_item(text, what, tag, &own).map_err(told)
        }
    }
}

fn items(what: &str) -> Result<&'static Section, String> {
    match SITE.key(what).map(|key| key.value) {
        Some(Value::Items(section)) => Ok(section),
        _ => Err("a site file has no such section".to_owned()),
    }
}

/// What must be given is.
fn needed(section: &Section, own: &[(&str, &str)]) -> Result<(), String> {
    let given = |name: &str| own.iter().any(|(key, value)| *key == name && !value.is_empty());
    let missing = section.keys().find(|key| key.need == Need::Required && !given(key.name));
    match missing {
        Some(key) => Err(format!("`{}` is missing: {}", key.name, key.meaning())),
        None => Ok(()),
    }
}

impl Asked<'_> {
    /// A field for a key of the format.
    fn key(&mut self, key: &'static Key, name: &str, written: Option<String>) {
        let mut told = self.book.blank(key);
        told["name"] = json!(name);
        if let Some(written) = written {
            told["bare"] = json!(is_bare(&written));
            told["written"] = json!(written);
        }
        self.fields.push(told);
    }

    /// Calls the last field by another name than its key.
    fn called(&mut self, name: &str) {
        if let Some(last) = self.fields.last_mut() {
            last["key"] = json!(name);
        }
    }

    /// A field of its own.
    fn own(&mut self, name: &str, key: &str, meaning: &str, written: String) {
        let mut told = json!({ "name": name, "key": key, "meaning": meaning, "required": true });
        if !written.is_empty() {
            told["written"] = json!(written);
        }
        self.fields.push(told);
    }

    /// The tags that are free for a new piece, its point, and the two lines that come with it.
    fn tags(&self, what: &str, on: &[String]) -> [String; 4] {
        let tag = self.free(what, &[]);
        let joint = if what == "points" { tag.clone() } else { self.free("points", &[&tag]) };
        let like = |line: Option<&str>, but: &[&str]| {
            let line = line.map(str::to_owned).unwrap_or_else(|| self.free("lines", but));
            fresh_tag_like(self.outline, "lines", &line, but)
        };
        let split = on.get(1).filter(|_| on[0] == "lines").map(String::as_str);
        let rest = like(split, &[&tag, &joint]);
        let last = self.outline.names(&["downspouts"]).last().map(|tag| (*tag).to_owned());
        let branch = last.and_then(|last| self.branch_of(&last));
        let branch = like(branch.as_deref(), &[&tag, &joint, &rest]);
        [tag, joint, rest, branch]
    }

    fn free(&self, section: &str, but: &[&str]) -> String {
        let letter = LETTERS.iter().find(|(of, _)| *of == section).map_or("", |(_, letter)| letter);
        fresh_tag(self.outline, section, letter, but)
    }

    /// Where a new piece joins: what was asked, else the first line.
    fn joint(&self, what: &str, on: &[String]) -> Result<Vec<String>, String> {
        if let [section, tag] = on
            && (section == "lines" || (section == "points" && what == "downspouts"))
            && self.outline.names(&[section]).contains(&tag.as_str())
        {
            return Ok(on.to_vec());
        }
        let first = self.outline.names(&["lines"]).first().map(|tag| (*tag).to_owned());
        let first =
            first.ok_or_else(|| "there is no line yet for it to join: add one first".to_owned())?;
        Ok(vec!["lines".to_owned(), first])
    }

    /// The place where a line is split.
    fn split(&mut self, on: &[String], level: &str) -> Result<(), ()> {
        let [section, line] = on else { return Err(()) };
        if section != "lines" {
            return Err(());
        }
        let halves = self.site.as_ref().and_then(|site| Halves::of(site, line));
        let (along, invert) = halves.map(|halves| (halves.along, halves.level)).unwrap_or_default();
        let from = format!("distance along {line} from its start, where it is split");
        self.own("along", "along", &from, along);
        self.own(
            level,
            "level",
            "invert at the new point; the line's own where left as it is",
            invert,
        );
        Ok(())
    }

    fn point(&mut self, on: &[String], [tag, _, rest, _]: &[String; 4]) {
        self.own("tag", "tag", "tag of the new point", tag.clone());
        if self.split(on, "level").is_ok() {
            self.own("rest", "second part", "tag of the line beyond the point", rest.clone());
        }
    }

    fn downspout(
        &mut self,
        section: &'static Section,
        on: &[String],
        [tag, joint, rest, branch]: &[String; 4],
    ) {
        self.own("tag", "tag", "tag of the new downspout", tag.clone());
        let last = self.outline.names(&["downspouts"]).last().map(|tag| (*tag).to_owned());
        for key in section.keys().filter(|key| {
            key.need == Need::Required || ["lip", "leaf_head", "gutter"].contains(&key.name)
        }) {
            let written =
                last.as_ref().and_then(|last| self.copied(&["downspouts", last, key.name]));
            if written.is_some() || key.need == Need::Required {
                self.key(key, key.name, written);
            }
        }
        self.own("branch", "branch", "tag of the line that leads from it", branch.clone());
        let own = last.as_ref().and_then(|last| self.branch_of(last));
        let pipe = own.and_then(|own| self.copied(&["lines", &own, "pipe"]));
        if let Ok(line) = items("lines") {
            for (key, name, written) in
                [("length", "branch length", None), ("pipe", "branch pipe", pipe)]
            {
                if let Some(key) = line.key(key) {
                    self.key(key, name, written);
                    self.called(name);
                }
            }
        }
        let split = self.split(on, "joint level").is_ok();
        if split {
            self.own("joint", "point", "tag of the new point where it joins", joint.clone());
            self.own("rest", "second part", "tag of the line beyond that point", rest.clone());
        }
        if let Some(key) = items("points").ok().and_then(|points| points.key("fitting")) {
            self.key(key, "fitting", split.then(|| "wye".to_owned()));
        }
    }

    /// The line that leads from a downspout.
    fn branch_of(&self, downspout: &str) -> Option<String> {
        let lines = self.outline.names(&["lines"]);
        let from = |line: &&str| self.copied(&["lines", line, "from"]);
        lines.into_iter().find(|line| from(line).as_deref() == Some(downspout)).map(str::to_owned)
    }

    fn copied(&self, keys: &[&str]) -> Option<String> {
        match self.outline.written(keys)? {
            wetrun_site::Written::Text(text) => Some(text.to_owned()),
            wetrun_site::Written::Part(part) if !part.contains('\n') => Some(part.to_owned()),
            _ => None,
        }
    }

    fn item(&mut self, section: &'static Section, what: &str) {
        let tag = if LETTERS.iter().any(|(of, _)| *of == what) {
            self.free(what, &[])
        } else {
            String::new()
        };
        self.own("tag", "tag", "its name in the file", tag);
        let last = self.outline.names(&[what]).last().map(|tag| (*tag).to_owned());
        let one_of = section.one_of.first().copied().unwrap_or_default();
        for key in section.keys() {
            if key.need == Need::Required || one_of.contains(&key.name) {
                let copies = matches!(key.value, Value::Pipe { .. });
                let written = last.as_ref().filter(|_| copies);
                let written = written.and_then(|last| self.copied(&[what, last, key.name]));
                self.key(key, key.name, written);
            }
        }
        if what == "tanks"
            && let Some(Value::Section(overflow)) = section.key("overflow").map(|key| key.value)
            && let Some(level) = overflow.key("level")
        {
            self.key(level, "overflow level", None);
            self.called("overflow level");
            if let Some(last) = self.fields.last_mut() {
                last["required"] = json!(false);
            }
        }
    }
}
