//! The readings file: levels measured on site, directly or with a rod, in the order taken.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic, Diagnostics};
use crate::document::Document;
use crate::fields::{Field, Fields};
use crate::keys::{LEVEL, Section, UNITS, Value, optional, required};
use crate::path::Path;
use crate::read::parsed;
use crate::source::Span;
use crate::values::short;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use wetrun_units::{Kind, Length, UnitSystem};

/// One reading, in the order of the file.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// The instrument is set up: the rod stands on a benchmark or a turning point.
    Backsight {
        /// The benchmark or turning point.
        on: String,
        /// What the rod reads.
        rod: Length,
    },
    /// A point shot to move the instrument by.
    Turn {
        /// Its name.
        name: String,
        /// What the rod reads.
        rod: Length,
    },
    /// A benchmark shot to see how well the run closes.
    Close {
        /// The benchmark.
        on: String,
        /// What the rod reads.
        rod: Length,
    },
    /// A level of the site by the rod.
    Rod {
        /// The tag it belongs to.
        tag: String,
        /// The site file's key.
        level: String,
        /// What the rod reads.
        rod: Length,
    },
    /// A level of the site measured directly.
    Measured {
        /// The tag it belongs to.
        tag: String,
        /// The site file's key.
        level: String,
        /// The level found.
        found: Length,
    },
}

/// What a readings file may refer to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ReadingNames {
    /// The unit system of the site: bare numbers are in feet or metres.
    pub units: UnitSystem,
    /// The benchmarks of the site.
    pub benchmarks: Vec<String>,
    /// The levels that somebody sets: tag and key.
    pub levels: Vec<(String, String)>,
}

/// No rod is longer.
const LONGEST_ROD_M: f64 = 20.0;

/// The keys of the file, and of a reading.
static FILE: Section = Section::new(
    "a readings file",
    &[&[
        optional("units", UNITS, "how bare numbers are read"),
        required("readings", Value::Texts, "the readings, in the order taken"),
    ]],
);
static READING: Section = Section::new(
    "a reading",
    &[&[
        optional("backsight", Value::Name, "what the rod stands on when the instrument is set up"),
        optional("turn", Value::Name, "a point to move the instrument by"),
        optional("close", Value::Name, "a benchmark to see how well the run closes"),
        optional("tag", Value::Name, "whose level it is"),
        optional("level", Value::Name, "the key of the level"),
        optional("rod", Value::Amount(LEVEL), "what the rod reads"),
        optional("measured", Value::Amount(LEVEL), "the level itself"),
    ]],
);

/// Reads a readings file.
///
/// Every name is looked up, and no rod reading comes before a backsight, so that the levels
/// follow without further questions.
///
/// # Errors
/// [`Diagnostics`] with every independent fault in the file.
///
/// # Example
/// ```
/// use wetrun_site::{ReadingNames, read_readings};
///
/// let names = ReadingNames {
///     benchmarks: vec!["BM1".to_owned()],
///     levels: vec![("T1".to_owned(), "inlet".to_owned())],
///     ..ReadingNames::default()
/// };
/// let text = "
/// readings:
///   - { backsight: BM1, rod: 1.320 m }
///   - { tag: T1, level: inlet, rod: 875 mm }
/// ";
/// assert_eq!(read_readings(text, "readings.yaml", &names)?.len(), 2);
/// # Ok::<(), wetrun_site::Diagnostics>(())
/// ```
pub fn read_readings(
    bytes: impl AsRef<[u8]>,
    file_name: &str,
    names: &ReadingNames,
) -> Result<Vec<Reading>, Diagnostics> {
    let document = parsed(bytes.as_ref(), file_name)?;
    let mut cx = Context::new(&document.source);
    let found = readings(&mut cx, &document, names);
    if cx.has_errors() {
        return Err(Diagnostics::new(Arc::clone(&document.source), cx.faults));
    }
    Ok(found)
}

fn readings(cx: &mut Context<'_>, document: &Document, names: &ReadingNames) -> Vec<Reading> {
    cx.units = names.units;
    let top = Field { node: &document.root, key_at: Span::NOWHERE, path: Path::ROOT };
    let Some(root) = Fields::open(cx, &top, &FILE) else {
        return Vec::new();
    };
    if let Some(field) = root.get("units") {
        cx.units = cx.unit_system(&field).unwrap_or(names.units);
    }
    let list = root.require(cx, "readings", "the readings in the order taken");
    let items = list.as_ref().and_then(|field| field.list(cx, "a list of readings"));
    let mut before =
        Before { known: names.benchmarks.iter().cloned().collect(), ..Before::default() };
    items
        .unwrap_or_default()
        .iter()
        .filter_map(|item| reading(cx, item, names, &mut before))
        .collect()
}

/// What the readings before this one have come to.
#[derive(Default)]
struct Before {
    /// Benchmarks, and turning points shot.
    known: BTreeSet<String>,
    /// Whether a backsight has been taken.
    set_up: bool,
    /// Where each level was measured.
    measured: BTreeMap<(String, String), Span>,
}

fn reading(
    cx: &mut Context<'_>,
    item: &Field<'_>,
    names: &ReadingNames,
    before: &mut Before,
) -> Option<Reading> {
    const SORTS: [&str; 4] = ["backsight", "turn", "close", "tag"];
    let fields = Fields::open(cx, item, &READING)?;
    let sorts: Vec<&str> = SORTS.into_iter().filter(|sort| fields.get(sort).is_some()).collect();
    let [sort] = sorts.as_slice() else {
        let message = match sorts.as_slice() {
            [] => "this reading does not say what the rod stands on".to_owned(),
            several => format!("a reading is one of these, not several: {}", several.join(", ")),
        };
        cx.fault(
            Code::MissingKey,
            item,
            message,
            "`backsight`, `turn`, `close`, or `tag` and `level`",
        );
        return None;
    };
    let field = fields.get(sort)?;
    let name = cx.name(&field);
    if *sort == "tag" {
        return set_point(cx, &fields, name, names, before);
    }
    if let Some(extra) = ["level", "measured"].iter().find_map(|key| fields.get(key)) {
        let message = format!("`{sort}` goes with `rod` only");
        cx.fault(Code::UnknownKey, &extra, message, "`tag` and `level` for a level of the site");
    }
    let rod = rod(cx, &fields);
    if *sort != "backsight" {
        after_backsight(cx, &field, before);
    }
    let name = name?;
    match *sort {
        "backsight" => {
            before.set_up = true;
            let expected = "a benchmark of the site file, or a turning point shot before";
            known(cx, &field, &name, &before.known, expected)?;
            Some(Reading::Backsight { on: name, rod: rod? })
        }
        "turn" => {
            if names.benchmarks.contains(&name) {
                let message = format!("`{}` is a benchmark", short(&name));
                cx.fault(Code::TagTwice, &field, message, "`close: ` for a benchmark");
                return None;
            }
            before.known.insert(name.clone());
            Some(Reading::Turn { name, rod: rod? })
        }
        _ => {
            let benchmarks = names.benchmarks.iter().cloned().collect();
            known(cx, &field, &name, &benchmarks, "a benchmark of the site file")?;
            Some(Reading::Close { on: name, rod: rod? })
        }
    }
}

/// A level of the site: by the rod, or measured directly.
fn set_point(
    cx: &mut Context<'_>,
    fields: &Fields<'_>,
    tag: Option<String>,
    names: &ReadingNames,
    before: &mut Before,
) -> Option<Reading> {
    let field = fields.get("tag")?;
    let level = fields.require(cx, "level", "the key of the level, such as `inlet`");
    let (rod_field, measured) = (fields.get("rod"), fields.get("measured"));
    let (rod, found) = match (&rod_field, &measured) {
        (Some(_), None) => (rod(cx, fields), None),
        (None, Some(measured)) => (None, cx.level(measured)),
        (Some(_), Some(measured)) => {
            let message = "a level is either read on the rod or measured directly";
            cx.fault(Code::Shape, measured, message, "one of `rod` and `measured`");
            return None;
        }
        (None, None) => {
            cx.fault(Code::MissingKey, &field, "this level has no reading", "`rod` or `measured`");
            return None;
        }
    };
    if let Some(rod) = &rod_field {
        after_backsight(cx, rod, before);
    }
    let tag = tag?;
    let of_tag = names.levels.iter().filter(|(known, _)| *known == tag);
    let keys: Vec<&str> = of_tag.map(|(_, key)| key.as_str()).collect();
    if keys.is_empty() {
        let tags: BTreeSet<String> = names.levels.iter().map(|(tag, _)| tag.clone()).collect();
        known(cx, &field, &tag, &tags, "a tag of the site that has a level to set")?;
    }
    let level = level?;
    let key = cx.name(&level)?;
    if !keys.contains(&key.as_str()) {
        let message = format!("`{}` has no level `{}` to set", short(&tag), short(&key));
        let expected = format!("one of {}", keys.join(", "));
        let at = (level.span(), &level.path);
        cx.unknown(Code::Reference, at, message, expected, &key, keys);
        return None;
    }
    let pair = (tag.clone(), key.clone());
    if let Some(first) = before.measured.insert(pair, field.span()) {
        let message = format!("`{}` of `{}` is measured twice", short(&key), short(&tag));
        let fault = Diagnostic::new(Code::TagTwice, field.span(), message).path(&field.path);
        cx.report(fault.expected("each level once").label(first, "it is measured here first"));
    }
    match (rod, found) {
        (Some(rod), _) => Some(Reading::Rod { tag, level: key, rod }),
        (None, Some(found)) => Some(Reading::Measured { tag, level: key, found }),
        (None, None) => None,
    }
}

fn rod(cx: &mut Context<'_>, fields: &Fields<'_>) -> Option<Length> {
    let field = fields.require(cx, "rod", "what the rod reads, such as `4.32 ft` or `1320 mm`")?;
    let rod = cx.value(&field, Kind::Level, UnitSystem::read_level)?;
    let fits = rod.to_m().abs() <= LONGEST_ROD_M;
    cx.within(fits, &field, rod, "a rod reading", "within 20 m (65 ft), upside down with a minus")
}

fn after_backsight(cx: &mut Context<'_>, field: &Field<'_>, before: &Before) {
    if !before.set_up {
        let message = "the rod is read before any backsight was taken";
        let expected = "a reading with `backsight` first: it gives the height of the instrument";
        cx.fault(Code::Reference, field, message, expected);
    }
}

/// Reports a name that is not among those known.
fn known(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    name: &str,
    names: &BTreeSet<String>,
    expected: &str,
) -> Option<()> {
    if names.contains(name) {
        return Some(());
    }
    let message = format!("nothing here is called `{}`", short(name));
    let at = (field.span(), &field.path);
    cx.unknown(Code::Reference, at, message, expected, name, names.iter().map(String::as_str));
    None
}
