//! The tags of a file: what each stands for, and the references to them.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::Field;
use crate::source::Span;
use crate::values::short;
use std::collections::HashMap;
use unicode_normalization::UnicodeNormalization;
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

/// What a tag stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tagged {
    Downspout(DownspoutId),
    Point(PointId),
    Line(LineId),
    Tank(TankId),
}

impl Tagged {
    fn what(self) -> &'static str {
        match self {
            Self::Downspout(_) => "a downspout",
            Self::Point(_) => "a point",
            Self::Line(_) => "a line",
            Self::Tank(_) => "a tank",
        }
    }
}

/// The tags of downspouts, points, lines and tanks, in file order.
#[derive(Debug, Default)]
pub(crate) struct Tags<'p> {
    list: Vec<(&'p str, Tagged)>,
    /// By composed characters, so that two ways to write an accent are one name.
    by_name: HashMap<String, (Tagged, Span)>,
}

impl<'p> Tags<'p> {
    /// Takes the tags of a section, and reports those that another section has already.
    pub(crate) fn add(
        &mut self,
        cx: &mut Context<'_>,
        entries: &'p [Field<'p>],
        make: impl Fn(usize) -> Tagged,
    ) {
        for (index, entry) in entries.iter().enumerate() {
            let (name, tagged) = (entry.path.name(), make(index));
            if let Some((first, at)) = self.by_name.get(&composed(name)) {
                let message = format!("the tag `{}` is used twice", short(name));
                let fault = Diagnostic::new(Code::TagTwice, entry.key_at, message)
                    .path(&entry.path)
                    .expected("a tag of its own among downspouts, points, lines and tanks")
                    .label(*at, format!("{} has it here", first.what()));
                cx.report(fault);
                continue;
            }
            self.by_name.insert(composed(name), (tagged, entry.key_at));
            self.list.push((name, tagged));
        }
    }

    /// What a field's value refers to, if `pick` takes it; anything else is reported.
    pub(crate) fn refer<T>(
        &self,
        cx: &mut Context<'_>,
        field: &Field<'_>,
        expected: &str,
        pick: impl Fn(Tagged) -> Option<T>,
    ) -> Option<T> {
        let name = field.text(cx, expected)?.trim();
        self.find(cx, (field.span(), name), field, expected, pick)
    }

    /// The same for a name that stands elsewhere than in the field's value.
    pub(crate) fn find<T>(
        &self,
        cx: &mut Context<'_>,
        (at, name): (Span, &str),
        field: &Field<'_>,
        expected: &str,
        pick: impl Fn(Tagged) -> Option<T>,
    ) -> Option<T> {
        let found = self.by_name.get(&composed(name)).map(|(tagged, _)| *tagged);
        if let Some(picked) = found.and_then(&pick) {
            return Some(picked);
        }
        let message = match found {
            Some(other) => format!("`{}` is {}", short(name), other.what()),
            None => format!("nothing here has the tag `{}`", short(name)),
        };
        let known = self.list.iter().filter(|(_, tagged)| pick(*tagged).is_some());
        let known = known.map(|(name, _)| *name).take(MOST_COMPARED);
        cx.unknown(Code::Reference, (at, &field.path), message, expected, name, known);
        None
    }
}

fn composed(name: &str) -> String {
    name.nfc().collect()
}

/// A near name is sought among this many: a longer search would only slow a hopeless file.
const MOST_COMPARED: usize = 1000;

pub(crate) fn any_end(tagged: Tagged) -> Option<End> {
    match tagged {
        Tagged::Downspout(id) => Some(End::Downspout(id)),
        Tagged::Point(id) => Some(End::Point(id)),
        Tagged::Tank(id) => Some(End::Tank(id)),
        Tagged::Line(_) => None,
    }
}

pub(crate) fn downspout(tagged: Tagged) -> Option<DownspoutId> {
    match tagged {
        Tagged::Downspout(id) => Some(id),
        _ => None,
    }
}

pub(crate) fn tank(tagged: Tagged) -> Option<TankId> {
    match tagged {
        Tagged::Tank(id) => Some(id),
        _ => None,
    }
}

pub(crate) fn line(tagged: Tagged) -> Option<LineId> {
    match tagged {
        Tagged::Line(id) => Some(id),
        _ => None,
    }
}
