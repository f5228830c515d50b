//! The selected piece: every key that it may have, as the file writes it, with what it means.

use serde_json::{Map, Value as Json, json};
use wetrun_site::keys::{Key, Need, SITE, Section, Value};
use wetrun_site::{Outline, Written};
use wetrun_units::{Kind, UnitSystem};

/// A file as it is written, and how its bare numbers are read.
pub(crate) struct Book<'a> {
    outline: &'a Outline,
    units: UnitSystem,
    /// Keys of the piece that a hand can move, as `profile[1].level`.
    moved: &'a [String],
}

/// What a list of keys leads to.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Target {
    /// A key of the format.
    Key(&'static Key),
    /// Something with a name or a place of its own, and keys of the format.
    Item(&'static Section),
    /// A row below a key: a fitting's count, a downspout's share, a depth of rain.
    Row(&'static Key),
}

/// What a list of keys leads to by the tables of the format; nothing where they lead nowhere.
pub(crate) fn target(keys: &[&str]) -> Option<Target> {
    below(&SITE, keys)
}

fn below(section: &'static Section, keys: &[&str]) -> Option<Target> {
    let (first, rest) = keys.split_first()?;
    let key = section.key(first)?;
    if rest.is_empty() {
        return Some(Target::Key(key));
    }
    match key.value {
        Value::Section(keys)
        | Value::Device(keys)
        | Value::AmountOr(_, keys)
        | Value::NumberOr(_, keys)
        | Value::Pipe { keys, .. } => below(keys, rest),
        Value::Items(keys) | Value::Stations(keys) => item(keys, rest),
        Value::Course { rain, nested } => match rest[0].parse::<usize>() {
            Ok(_) => item(rain, rest),
            Err(_) => below(nested, rest),
        },
        Value::Fittings | Value::Shares | Value::Depths if rest.len() == 1 => {
            Some(Target::Row(key))
        }
        Value::Prices if rest.len() <= 2 => Some(Target::Row(key)),
        _ => None,
    }
}

fn item(section: &'static Section, keys: &[&str]) -> Option<Target> {
    match keys {
        [_] => Some(Target::Item(section)),
        [_, rest @ ..] => below(section, rest),
        [] => None,
    }
}

/// Names in every section that has items, in the order of the file, and which other sections there
/// are.
pub(crate) fn pieces(outline: &Outline) -> Json {
    let items = SITE.keys().filter(|key| matches!(key.value, Value::Items(_)));
    let items: Map<String, Json> =
        items.map(|key| (key.name.to_owned(), json!(outline.names(&[key.name])))).collect();
    let parts = SITE.keys().filter(|key| is_part(key)).map(|key| key.name);
    let own = outline.names(&["pipes"]).into_iter();
    let pipes: Map<String, Json> = own
        .map(|kind| (kind.to_owned(), json!(outline.names(&["pipes", kind, "sizes"]))))
        .collect();
    json!({ "items": items, "parts": parts.collect::<Vec<_>>(), "pipes": pipes })
}

/// Whether a key of the file's top has keys of its own below it.
fn is_part(key: &Key) -> bool {
    matches!(key.value, Value::Section(_))
}

/// How bare numbers of a file are read, where it says so.
pub(crate) fn units(outline: &Outline) -> UnitSystem {
    match outline.written(&["units"]) {
        Some(Written::Text("si")) => UnitSystem::Si,
        _ => UnitSystem::Us,
    }
}

impl<'a> Book<'a> {
    pub(crate) fn new(outline: &'a Outline, moved: &'a [String]) -> Self {
        Self { outline, units: units(outline), moved }
    }

    /// The piece that keys lead to: the file's top, one of its sections, or an item of one.
    pub(crate) fn piece(&self, keys: &[&str]) -> Json {
        let (what, fields) = match keys {
            [] => {
                let own = SITE.keys().filter(|key| !is_part(key) && !is_items(key));
                ("the site".to_owned(), own.map(|key| self.field(key, &[])).collect())
            }
            _ => match target(keys) {
                Some(Target::Key(key)) => match key.value {
                    Value::Section(section) => {
                        (section.what.to_owned(), self.fields(section, keys))
                    }
                    _ => return Json::Null,
                },
                Some(Target::Item(section)) if self.outline.written(keys).is_some() => {
                    (section.what.to_owned(), self.fields(section, keys))
                }
                _ => return Json::Null,
            },
        };
        json!({
            "keys": keys, "at": path(self.outline, keys), "what": what, "fields": fields,
            "line": self.outline.line(keys), "there": self.outline.written(keys).is_some(),
        })
    }

    /// A key that is not in the file, as a field to be filled in.
    pub(crate) fn blank(&self, key: &'static Key) -> Json {
        let mut told = json!({
            "key": key.name, "meaning": key.meaning(), "example": key.example(self.units),
        });
        match key.need {
            Need::Required => told["required"] = json!(true),
            Need::Default(value) => told["default"] = json!(value),
            Need::Optional => {}
        }
        // Nowhere in the file, so that nothing of it is found there.
        self.shape(&mut told, key, &[""], false);
        told
    }

    fn fields(&self, section: &'static Section, above: &[&str]) -> Vec<Json> {
        section.keys().map(|key| self.field(key, above)).collect()
    }

    fn field(&self, key: &'static Key, above: &[&str]) -> Json {
        let keys: Vec<&str> = above.iter().copied().chain([key.name]).collect();
        let written = self.outline.written(&keys);
        let at = path(self.outline, &keys);
        let mut told = json!({
            "keys": keys, "key": key.name, "meaning": key.meaning(), "review": key.review,
            "example": key.example(self.units), "line": self.outline.line(&keys),
        });
        match key.need {
            Need::Required => told["required"] = json!(true),
            Need::Default(value) => told["default"] = json!(value),
            Need::Optional => {}
        }
        match written {
            None => {}
            Some(Written::Nothing) => told["written"] = json!(""),
            Some(Written::Text(text)) => {
                told["bare"] = json!(is_bare(text));
                told["written"] = json!(text);
            }
            Some(Written::Part(part)) => told["part"] = json!(part),
        }
        self.shape(&mut told, key, &keys, matches!(written, Some(Written::Part(_))));
        if self.moved.iter().any(|moved| at.ends_with(&format!(".{moved}"))) {
            told["moved"] = json!(true);
        }
        told["at"] = json!(at);
        told
    }

    /// How a field is filled in.
    fn shape(&self, told: &mut Json, key: &'static Key, keys: &[&str], part: bool) {
        match key.value {
            Value::Amount(amount) => {
                told["range"] = json!(amount.range);
                self.unit(told, amount.kind);
            }
            Value::AmountOr(amount, section) if !part => {
                told["range"] = json!(amount.range);
                told["more"] = json!(names(section));
                self.unit(told, amount.kind);
            }
            Value::Number(range) => told["range"] = json!(range.words),
            Value::NumberOr(range, section) if !part => {
                told["range"] = json!(range.words);
                told["more"] = json!(names(section));
            }
            Value::YesNo => told["choices"] = json!(["yes", "no"]),
            Value::Choice(words) => told["choices"] = json!(words),
            Value::Tag(sections) => told["choices"] = json!(self.tags(sections)),
            Value::TankOrGround => {
                told["choices"] = json!([&["ground"], self.tags(&["tanks"]).as_slice()].concat());
            }
            Value::Section(section) | Value::AmountOr(_, section) | Value::NumberOr(_, section) => {
                told["shape"] = json!("group");
                told["fields"] = json!(self.fields(section, keys));
            }
            Value::Device(section) => {
                told["fields"] = json!(self.fields(section, keys));
                told["shape"] = json!(if part { "group" } else { "device" });
            }
            Value::Pipe { keys: section, open } => {
                told["open"] = json!(open);
                told["shape"] = json!(if part { "group" } else { "pipe" });
                if part {
                    told["fields"] = json!(self.fields(section, keys));
                }
            }
            Value::Items(section) | Value::Stations(section) => {
                told["shape"] = json!("items");
                let list = matches!(key.value, Value::Stations(_));
                told["list"] = json!(list);
                let items = self.items(keys, list).into_iter().map(|name| {
                    let keys: Vec<&str> = keys.iter().copied().chain([&*name]).collect();
                    json!({ "name": name, "keys": keys, "fields": self.fields(section, &keys) })
                });
                told["items"] = items.collect();
            }
            Value::Fittings | Value::Shares | Value::Depths => {
                let rows = match key.value {
                    Value::Fittings => "fittings",
                    Value::Shares => "shares",
                    _ => "depths",
                };
                if part || !matches!(key.value, Value::Shares) {
                    told["shape"] = json!("rows");
                }
                told["rows_of"] = json!(rows);
                told["rows"] = self.rows(keys);
                if matches!(key.value, Value::Shares) {
                    told["choices"] = json!(self.tags(&["downspouts"]));
                }
            }
            Value::Version
            | Value::Text
            | Value::Name
            | Value::Texts
            | Value::Tanks
            | Value::Sizes
            | Value::Prices
            | Value::Course { .. }
            | Value::Months
            | Value::Start
            | Value::Place
            | Value::Cap { .. }
            | Value::Limit => {}
        }
    }

    fn unit(&self, told: &mut Json, kind: Kind) {
        told["unit"] = json!(self.units.bare_unit(kind));
    }

    fn rows(&self, keys: &[&str]) -> Json {
        let row = |name: &&str| {
            let keys: Vec<&str> = keys.iter().copied().chain([*name]).collect();
            let written = match self.outline.written(&keys) {
                Some(Written::Text(text) | Written::Part(text)) => text,
                _ => "",
            };
            json!({
                "name": name, "keys": keys, "written": written, "at": path(self.outline, &keys),
            })
        };
        self.outline.names(keys).iter().map(row).collect()
    }

    fn items(&self, keys: &[&str], list: bool) -> Vec<String> {
        if list {
            return (0..self.outline.count(keys)).map(|index| index.to_string()).collect();
        }
        self.outline.names(keys).into_iter().map(str::to_owned).collect()
    }

    fn tags(&self, sections: &[&'static str]) -> Vec<&str> {
        sections.iter().flat_map(|section| self.outline.names(&[section])).collect()
    }
}

/// Whether a value stands without a unit, so that its own is to be read beside it.
pub(crate) fn is_bare(written: &str) -> bool {
    !written.contains(|c: char| c.is_alphabetic() || "'\"%\u{b0}".contains(c))
}

fn is_items(key: &Key) -> bool {
    matches!(key.value, Value::Items(_))
}

fn names(section: &'static Section) -> Vec<&'static str> {
    section.keys().map(|key| key.name).collect()
}

/// Keys as messages name them: `lines.M1.profile[1].level`.
pub(crate) fn path(outline: &Outline, keys: &[&str]) -> String {
    let mut text = String::new();
    for (index, key) in keys.iter().enumerate() {
        let item = key.parse::<usize>().is_ok() && outline.count(&keys[..index]) > 0;
        match index {
            _ if item => text.push_str(&format!("[{key}]")),
            0 => text.push_str(key),
            _ => text.push_str(&format!(".{key}")),
        }
    }
    text
}
