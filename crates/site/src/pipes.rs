//! Pipes: the job's own types, and the pipe that stands at a key, fixed or left open.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::{Field, Fields};
use crate::site::Losses;
use crate::tree::Value;
use crate::values::short;
use wetrun_network::{Pipe, catalogue};
use wetrun_units::Length;

/// A pipe as a key gives it.
#[derive(Clone, Debug)]
pub(crate) enum Choice {
    /// One pipe.
    Fixed(Pipe),
    /// One of several, the smallest bore first; never empty.
    Open(Vec<Pipe>),
}

/// What a pipe at a key is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Use {
    /// Water is driven through it: the friction law needs its wall.
    Friction(Losses),
    /// Water falls out of it: only the bore counts, and it cannot be left open.
    Outfall,
}

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
enum Type<'t> {
    Own(&'t OwnType),
    Catalogue(&'static catalogue::PipeType),
}

impl Type<'_> {
    fn pipes(self) -> Vec<Pipe> {
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
                let same = |size: &&catalogue::PipeSize| apart(size.nominal, nominal) <= SAME_M;
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

    fn listed(self) -> String {
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

const TYPE_KEYS: &[&str] =
    &["title", "roughness", "c", "joint", "source", "confidence", "standard", "sizes"];
const SIZE_KEYS: &[&str] = &["outside", "wall", "inside", "source", "confidence"];
const PIPE_KEYS: &[&str] = &["type", "size", "inside", "roughness", "c"];
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

    /// The type of a name; reports one nobody knows.
    fn of_name(&self, cx: &mut Context<'_>, field: &Field<'_>, kind: &str) -> Option<Type<'_>> {
        if let Some(own) = self.own.iter().find(|own| own.name == kind) {
            return Some(Type::Own(own));
        }
        if let Ok(found) = catalogue::pipe_type(kind) {
            return Some(Type::Catalogue(found));
        }
        let own = self.own.iter().map(|own| own.name.as_str());
        let known = own.chain(catalogue::pipe_types().iter().map(|t| t.name.as_str()));
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

    /// The pipe at a key.
    pub(crate) fn pipe(
        &self,
        cx: &mut Context<'_>,
        field: &Field<'_>,
        used: Use,
    ) -> Option<Choice> {
        let choice = match &field.node.value {
            Value::Map(_) => self.pipe_of_keys(cx, field, used)?,
            _ => Choice::Fixed(self.pipe_of_text(cx, field)?),
        };
        if let (Choice::Open(_), Use::Outfall) = (&choice, used) {
            let message = "the pipe of an overflow cannot be left open";
            cx.fault(Code::Pipe, field, message, "TYPE SIZE, such as `pvc-sch40 4 in`");
            return None;
        }
        let pipes = match &choice {
            Choice::Fixed(pipe) => std::slice::from_ref(pipe),
            Choice::Open(pipes) => pipes.as_slice(),
        };
        pipes.iter().all(|pipe| suits(cx, field, pipe, used)).then_some(choice)
    }

    /// `TYPE SIZE` in one text.
    fn pipe_of_text(&self, cx: &mut Context<'_>, field: &Field<'_>) -> Option<Pipe> {
        const EXPECTED: &str = "TYPE SIZE, such as `pvc-sch40 4 in`, or { inside: 102 mm, ... }";
        let text = field.text(cx, EXPECTED)?.trim();
        let Some((kind, size)) = text.split_once(char::is_whitespace) else {
            let found = self.of_name(cx, field, text)?;
            let message = format!("the size of this `{}` is missing", short(text));
            cx.fault(Code::Value, field, message, format!("one of {}", found.listed()));
            return None;
        };
        let nominal = match cx.units.read_size(size) {
            Ok(nominal) => nominal,
            Err(error) => {
                let message = format!("`{}` is no pipe size: {error}", short(size));
                cx.fault(Code::Value, field, message, EXPECTED);
                return None;
            }
        };
        self.of_size(cx, field, kind, nominal, size)
    }

    /// `{ type, size }`, with a size, a list of sizes or `any`; or `{ inside, roughness, c }`.
    fn pipe_of_keys(&self, cx: &mut Context<'_>, field: &Field<'_>, used: Use) -> Option<Choice> {
        let fields = Fields::open(cx, field, "a pipe", &[PIPE_KEYS])?;
        let by_type = fields.get("type").or_else(|| fields.get("size"));
        let by_numbers = ["inside", "roughness", "c"].into_iter().find_map(|key| fields.get(key));
        if by_type.is_none() {
            return pipe_of_numbers(cx, &fields, used).map(Choice::Fixed);
        }
        if let Some(stray) = by_numbers {
            let message = "a pipe has either a type and a size or its own numbers";
            cx.fault(
                Code::Pipe,
                &stray,
                message,
                "either `type` and `size`, or `inside` with what the law needs",
            );
        }
        let kind = fields.require(cx, "type", "a pipe type, such as `pvc-sch40`");
        let size = fields.require(cx, "size", "a size, a list of sizes, or `any`");
        let (kind, size) = (kind?, size?);
        let name = kind.text(cx, "a pipe type, such as `pvc-sch40`")?.trim();
        match &size.node.value {
            Value::Text(text) if text.trim() == "any" => {
                open(self.of_name(cx, &kind, name)?.pipes())
            }
            Value::List(_) => {
                let items = size.list(cx, "a list of sizes")?;
                if items.is_empty() {
                    cx.fault(Code::Value, &size, "this list of sizes is empty", "a size at least");
                }
                let pipes: Vec<_> =
                    items.iter().map(|item| self.sized(cx, &kind, item, name)).collect();
                open(pipes.into_iter().collect::<Option<Vec<_>>>()?)
            }
            _ => self.sized(cx, &kind, &size, name).map(Choice::Fixed),
        }
    }

    fn sized(
        &self,
        cx: &mut Context<'_>,
        kind: &Field<'_>,
        size: &Field<'_>,
        name: &str,
    ) -> Option<Pipe> {
        let nominal = cx.size(size)?;
        let asked = size.text(cx, "a size")?;
        // The type's own fault is marked at the type, the size's at the size.
        let known = self.own.iter().any(|own| own.name == name);
        let at = if known || catalogue::pipe_type(name).is_ok() { size } else { kind };
        self.of_size(cx, at, name, nominal, asked)
    }
}

fn open(mut pipes: Vec<Pipe>) -> Option<Choice> {
    pipes.sort_by(|a, b| a.inside.to_m().total_cmp(&b.inside.to_m()));
    pipes.dedup();
    (!pipes.is_empty()).then_some(Choice::Open(pipes))
}

fn pipe_of_numbers(cx: &mut Context<'_>, fields: &Fields<'_>, used: Use) -> Option<Pipe> {
    let inside = fields
        .require(cx, "inside", "the inside diameter, such as `102 mm`")
        .and_then(|field| cx.size(&field).map(|size| (size, field)));
    let roughness = fields.get("roughness").map(|field| cx.thickness(&field));
    let c = fields.get("c").map(|field| coefficient(cx, &field));
    if let Use::Friction(Losses::DarcyWeisbach) = used
        && roughness.is_none()
    {
        fields.require(cx, "roughness", "as darcy-weisbach needs it, such as `0.0015 mm`");
    }
    if let Use::Friction(Losses::HazenWilliams) = used
        && c.is_none()
    {
        fields.require(cx, "c", "as hazen-williams needs it, such as `150`");
    }
    let (inside, field) = inside?;
    let written = field.text(cx, "a size")?.trim();
    Some(Pipe {
        label: format!("inside {}", label(cx, inside, written)),
        inside,
        roughness: roughness.flatten(),
        c: c.flatten(),
        source: "site file".to_owned(),
        ..Pipe::default()
    })
}

/// The size as written where it has its unit, else with the unit it was read in.
fn label(cx: &Context<'_>, size: Length, written: &str) -> String {
    if written.ends_with(|c: char| c.is_ascii_digit()) {
        cx.units.show_size(size).to_string()
    } else {
        written.to_owned()
    }
}

/// Reports a pipe that lacks what the friction law needs.
fn suits(cx: &mut Context<'_>, field: &Field<'_>, pipe: &Pipe, used: Use) -> bool {
    let lacks = match used {
        Use::Friction(Losses::DarcyWeisbach) if pipe.roughness.is_none() => "roughness",
        Use::Friction(Losses::HazenWilliams) if pipe.c.is_none() => "c",
        _ => return true,
    };
    if pipe.kind.is_empty() {
        return false; // reported where its numbers stand
    }
    let law = if lacks == "c" { "hazen-williams" } else { "darcy-weisbach" };
    let message = format!("`{}` has no `{lacks}`, which {law} needs", pipe.kind);
    cx.fault(
        Code::Pipe,
        field,
        message,
        format!("a type with `{lacks}`, or `{lacks}` in `pipes:`"),
    );
    false
}

fn own_type(cx: &mut Context<'_>, entry: &Field<'_>) -> Option<OwnType> {
    let name = cx.tag(entry);
    let fields = Fields::open(cx, entry, "a pipe type", &[TYPE_KEYS])?;
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
    let fields = Fields::open(cx, entry, "a pipe size", &[SIZE_KEYS])?;
    let source = fields.get("source").and_then(|field| cx.free_text(&field));
    fields.get("confidence").and_then(|field| cx.free_text(&field));
    let outside = fields.get("outside").map(|field| cx.size(&field));
    let wall = fields.get("wall").map(|field| cx.thickness(&field));
    let inside = match (fields.get("inside"), outside, wall) {
        (Some(field), ..) => cx.size(&field)?,
        (None, Some(outside), Some(wall)) => {
            let (outside, wall) = (outside?, wall?);
            let inside = outside - wall * 2.0;
            if inside.to_m() < 1e-3 {
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
fn coefficient(cx: &mut Context<'_>, field: &Field<'_>) -> Option<f64> {
    let c = cx.number(field, "a Hazen-Williams coefficient")?;
    if (1.0..=1000.0).contains(&c) {
        return Some(c);
    }
    cx.fault(Code::Range, field, "this coefficient is outside its range", "from 1 to 1000");
    None
}
