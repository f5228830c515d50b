//! Pipe types: the job's own beside those of the catalogue.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::{Field, Fields};
use crate::keys;
use crate::values::short;
use wetrun_catalogue::{PipeSize, PipeType};
use wetrun_network::{Pipe, limits};
use wetrun_units::Length;

/// A pipe type of the job's own.
#[derive(Clone, Debug)]
pub(crate) struct OwnType {
    name: String,
    sizes: Vec<(Length, Pipe)>,
}

/// The job's own pipe types beside those of the catalogue; the job's go first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Types {
    own: Vec<OwnType>,
}

/// A pipe type, the job's own or the catalogue's.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Type<'t> {
    Own(&'t OwnType),
    Catalogue(&'static PipeType),
}

impl Type<'_> {
    pub(crate) fn pipes(self) -> Vec<Pipe> {
        match self {
            Self::Own(own) => own.sizes.iter().map(|(_, pipe)| pipe.clone()).collect(),
            Self::Catalogue(found) => found.sizes.iter().map(|s| found.pipe_in(s)).collect(),
        }
    }

    fn pipe(self, nominal: Length) -> Option<Pipe> {
        match self {
            Self::Own(own) => {
                let same = |size: &&(Length, Pipe)| apart(size.0, nominal) <= SAME_M;
                own.sizes.iter().find(same).map(|(_, pipe)| pipe.clone())
            }
            Self::Catalogue(found) => {
                let same = |size: &&PipeSize| apart(size.nominal, nominal) <= SAME_M;
                found.sizes.iter().find(same).map(|size| found.pipe_in(size))
            }
        }
    }

    fn names(self) -> Vec<(Length, String)> {
        match self {
            Self::Own(own) => own.sizes.iter().map(|(n, pipe)| (*n, pipe.size.clone())).collect(),
            Self::Catalogue(found) => {
                found.sizes.iter().map(|size| (size.nominal, size.size.clone())).collect()
            }
        }
    }

    pub(crate) fn listed(self) -> String {
        let names: Vec<String> = self.names().into_iter().map(|(_, name)| name).collect();
        names.join(", ")
    }

    fn nearest(self, nominal: Length) -> Option<String> {
        let names = self.names().into_iter();
        let by_size = |a: &(Length, String), b: &(Length, String)| {
            apart(a.0, nominal).total_cmp(&apart(b.0, nominal))
        };
        names.min_by(by_size).map(|(_, name)| name)
    }
}

fn apart(a: Length, b: Length) -> f64 {
    (a.to_m() - b.to_m()).abs()
}

/// Sizes are the same within this: a tenth of a millimetre, as in the catalogue.
const SAME_M: f64 = 1e-4;

impl Types {
    /// Reads the section `pipes`.
    pub(crate) fn read(cx: &mut Context<'_>, section: Option<Field<'_>>) -> Self {
        let Some(section) = section else { return Self::default() };
        let entries = section.entries(cx, "pipe types by name").unwrap_or_default();
        let own = entries.iter().filter_map(|entry| own_type(cx, entry)).collect();
        Self { own }
    }

    /// Every own pipe, in file order.
    pub(crate) fn all(&self) -> Vec<Pipe> {
        self.own.iter().flat_map(|t| t.sizes.iter().map(|(_, pipe)| pipe.clone())).collect()
    }

    /// The longest name of an own type with which a text starts and a size follows: such a name may
    /// hold blanks.
    pub(crate) fn own_at_start_of(&self, text: &str) -> Option<&str> {
        let names = self.own.iter().map(|own| own.name.as_str());
        let followed = |name: &&str| {
            text.strip_prefix(name).is_some_and(|rest| rest.starts_with(char::is_whitespace))
        };
        names.filter(followed).max_by_key(|name| name.len())
    }

    /// The type of a name; reports one nobody knows.
    pub(crate) fn of_name(
        &self,
        cx: &mut Context<'_>,
        field: &Field<'_>,
        kind: &str,
    ) -> Option<Type<'_>> {
        if let Some(own) = self.own.iter().find(|own| own.name == kind) {
            return Some(Type::Own(own));
        }
        if let Ok(found) = wetrun_catalogue::pipe_type(kind) {
            return Some(Type::Catalogue(found));
        }
        let own = self.own.iter().map(|own| own.name.as_str());
        let known = own.chain(wetrun_catalogue::pipe_types().iter().map(|t| t.name.as_str()));
        let message = format!("no pipe type `{}`", short(kind));
        let expected = "a type of the catalogue (`wetrun list pipes`) or of `pipes:`";
        cx.unknown(Code::Reference, (field.span(), &field.path), message, expected, kind, known);
        None
    }

    /// The pipe of a type and a nominal size; reports what does not exist.
    pub(crate) fn of_size(
        &self,
        cx: &mut Context<'_>,
        field: &Field<'_>,
        kind: &str,
        nominal: Length,
        asked: &str,
    ) -> Option<Pipe> {
        let found = self.of_name(cx, field, kind)?;
        let pipe = found.pipe(nominal);
        if pipe.is_none() {
            let message = format!("`{kind}` is not made in `{}`", short(asked));
            let fault = Diagnostic::new(Code::Reference, field.span(), message)
                .path(&field.path)
                .expected(format!("one of {}", found.listed()))
                .nearest(found.nearest(nominal));
            cx.report(fault);
        }
        pipe
    }
}

/// The size as written where it has its unit, else with the unit it was read in.
pub(crate) fn label(cx: &Context<'_>, size: Length, written: &str) -> String {
    if written.ends_with(|c: char| c.is_ascii_digit()) {
        cx.units.show_size(size).to_string()
    } else {
        written.to_owned()
    }
}

fn own_type(cx: &mut Context<'_>, entry: &Field<'_>) -> Option<OwnType> {
    let name = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::PIPE_TYPE)?;
    let text = |cx: &mut Context<'_>, fields: &Fields<'_>, key: &str| {
        fields.get(key).and_then(|field| cx.free_text(&field)).unwrap_or_default()
    };
    for key in ["title", "confidence", "standard"] {
        text(cx, &fields, key);
    }
    let model = Pipe {
        kind: name.clone(),
        roughness: fields.get("roughness").and_then(|field| cx.thickness(&field)),
        c: fields.get("c").and_then(|field| coefficient(cx, &field)),
        joint: text(cx, &fields, "joint"),
        source: text(cx, &fields, "source"),
        ..Pipe::default()
    };
    let sizes = fields.require(cx, "sizes", "the sizes, such as { 110 mm: { ... } }")?;
    let entries = sizes.entries(cx, "sizes with their dimensions")?;
    if entries.is_empty() {
        let expected = "a size at least: { 110 mm: { outside: 110 mm, wall: 6.6 mm } }";
        cx.fault(Code::Value, &sizes, "this pipe type has no sizes", expected);
    }
    let sizes = entries.iter().filter_map(|size| own_size(cx, size, &model)).collect();
    Some(OwnType { name, sizes })
}

fn own_size(cx: &mut Context<'_>, entry: &Field<'_>, model: &Pipe) -> Option<(Length, Pipe)> {
    let written = entry.path.name().trim();
    let nominal = cx.units.read_size(written);
    if let Err(error) = &nominal {
        let fault = Diagnostic::new(Code::Value, entry.key_at, error.to_string());
        cx.report(fault.path(&entry.path).expected("a nominal size, such as `4 in` or `110 mm`"));
    }
    let fields = Fields::open(cx, entry, &keys::PIPE_SIZE)?;
    let source = fields.get("source").and_then(|field| cx.free_text(&field));
    fields.get("confidence").and_then(|field| cx.free_text(&field));
    let outside = fields.get("outside").map(|field| cx.size(&field));
    let wall = fields.get("wall").map(|field| cx.thickness(&field));
    let inside = match (fields.get("inside"), outside, wall) {
        (Some(field), ..) => cx.bore(&field)?,
        (None, Some(outside), Some(wall)) => {
            let (outside, wall) = (outside?, wall?);
            let inside = outside - wall * 2.0;
            if !limits::BORE.contains(&inside) {
                let message = "these walls leave no bore";
                cx.fault(Code::Range, entry, message, "an outside larger than two walls");
                return None;
            }
            inside
        }
        _ => {
            let message = "the bore of this size cannot be told";
            cx.fault(Code::MissingKey, entry, message, "`outside` and `wall`, or `inside`");
            return None;
        }
    };
    let nominal = nominal.ok()?;
    let size = label(cx, nominal, written);
    let pipe = Pipe {
        label: format!("{} {size}", model.kind),
        size,
        inside,
        outside: outside.flatten(),
        source: source.unwrap_or_else(|| model.source.clone()),
        ..model.clone()
    };
    Some((nominal, pipe))
}

/// A Hazen-Williams coefficient: positive.
pub(crate) fn coefficient(cx: &mut Context<'_>, field: &Field<'_>) -> Option<f64> {
    let c = cx.number(field, "a Hazen-Williams coefficient")?;
    if keys::HAZEN_WILLIAMS.holds(c) {
        return Some(c);
    }
    let expected = keys::HAZEN_WILLIAMS.words;
    cx.fault(Code::Range, field, "this coefficient is outside its range", expected);
    None
}
