//! The pipe that stands at a key: fixed or left open, by its type and size or by its numbers.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::pipe_types::{Types, coefficient, label};
use crate::site::Losses;
use crate::tree::Value;
use crate::values::short;
use wetrun_network::Pipe;

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

impl Types {
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
        let own = self.own_at_start_of(text).map(|name| text.split_at(name.len()));
        let Some((kind, size)) = own.or_else(|| text.split_once(char::is_whitespace)) else {
            let found = self.of_name(cx, field, text)?;
            let message = format!("the size of this `{}` is missing", short(text));
            cx.fault(Code::Value, field, message, format!("one of {}", found.listed()));
            return None;
        };
        let size = size.trim_start();
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
        let fields = Fields::open(cx, field, &keys::PIPE)?;
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
        // A fault of the type is marked at the type, one of the size at the size.
        self.of_name(cx, kind, name)?;
        self.of_size(cx, size, name, nominal, asked)
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
        .and_then(|field| cx.bore(&field).map(|size| (size, field)));
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
