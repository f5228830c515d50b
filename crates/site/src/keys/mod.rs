//! Every key of the site file: what it means, what it holds, whether it must be there.
//!
//! The reader opens its sections by these tables, so a key that is not here is not read. They are
//! public for whoever shows the file to people: a schema for editors, a form.
//!
//! ```
//! use wetrun_site::keys::{Need, SITE, Value};
//!
//! let lines = SITE.key("lines").ok_or("no lines")?;
//! let Value::Items(line) = lines.value else { return Err("no items".into()) };
//! let length = line.key("length").ok_or("no length")?;
//! assert_eq!(length.need, Need::Required);
//! assert_eq!(length.meaning(), "length along the pipe");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod amount;
mod brief;
mod doubts;
mod head;
mod parts;
mod pipe;
mod range;
mod value;

pub use amount::{Amount, Least};
pub use brief::BRIEF;
pub use head::SITE;
pub use range::{LONGEST_NAME, LONGEST_TEXT, MOST_COUNT, Range};
pub use value::Value;

pub(crate) use amount::*;
pub(crate) use doubts::*;
pub(crate) use head::*;
pub(crate) use parts::*;
pub(crate) use pipe::*;
pub(crate) use range::*;

use wetrun_units::UnitSystem;

/// A mapping of the file whose keys are those of the format.
#[derive(Debug)]
pub struct Section {
    /// What messages call it: `a downspout`.
    pub what: &'static str,
    /// Its keys, those that a review asks for last.
    pub(crate) groups: &'static [&'static [Key]],
    /// Sets of keys of which one must be there, in full; none where that is said by each key.
    pub one_of: &'static [&'static [&'static str]],
    /// Whether keys of one set exclude those of the others.
    pub exclusive: bool,
    /// Where items by names are such sections: the name that none of them may have.
    pub taken: Option<&'static str>,
}

impl Section {
    pub(crate) const fn new(what: &'static str, groups: &'static [&'static [Key]]) -> Self {
        Self { what, groups, one_of: &[], exclusive: false, taken: None }
    }

    pub(crate) const fn one_of(mut self, sets: &'static [&'static [&'static str]]) -> Self {
        self.one_of = sets;
        self
    }

    pub(crate) const fn either(mut self, sets: &'static [&'static [&'static str]]) -> Self {
        self.one_of = sets;
        self.exclusive = true;
        self
    }

    pub(crate) const fn taken(mut self, name: &'static str) -> Self {
        self.taken = Some(name);
        self
    }

    /// Its keys, in the order of the reference.
    pub fn keys(&self) -> impl Iterator<Item = &'static Key> + Clone + use<> {
        self.groups.iter().copied().flatten()
    }

    /// The key of a name.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys().find(|key| key.name == name)
    }
}

/// A key of the site file.
#[derive(Debug)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What stands under it.
    pub value: Value,
    /// Whether it must be there, and what holds where it is not.
    pub need: Need,
    /// A value, as it may stand in a file; empty where that of the value's kind does.
    pub(crate) example: &'static str,
    pub(crate) meaning: &'static str,
    /// Whether only a review asks for it.
    pub review: bool,
    /// The key that must stand beside it.
    pub beside: Option<&'static str>,
}

/// Whether a key must be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must, or one of [`one_of`](field@Section::one_of) must.
    Required,
    /// Without it this value holds, as it could be written.
    Default(&'static str),
    /// Without it nothing is said: what needs it is not shown, or another rule holds.
    Optional,
}

impl Key {
    /// What it means, in a few words.
    #[must_use]
    pub fn meaning(&self) -> &'static str {
        self.meaning.trim().trim_end_matches('.')
    }

    /// A value as it may stand in a file of a unit system.
    #[must_use]
    pub fn example(&self, units: UnitSystem) -> &'static str {
        if self.example.is_empty() { self.value.example(units) } else { self.example }
    }

    pub(crate) const fn beside(mut self, key: &'static str) -> Self {
        self.beside = Some(key);
        self
    }

    pub(crate) const fn example_is(mut self, example: &'static str) -> Self {
        self.example = example;
        self
    }
}

/// The words for a unit system.
pub(crate) const UNITS: Value = Value::Choice(&[UnitSystem::Us.name(), UnitSystem::Si.name()]);

const fn key(name: &'static str, value: Value, need: Need, meaning: &'static str) -> Key {
    Key { name, value, need, meaning, example: "", review: false, beside: None }
}

/// A key that must be there.
pub(crate) const fn required(name: &'static str, value: Value, meaning: &'static str) -> Key {
    key(name, value, Need::Required, meaning)
}

/// A key that may be left out.
pub(crate) const fn optional(name: &'static str, value: Value, meaning: &'static str) -> Key {
    key(name, value, Need::Optional, meaning)
}

/// A key in whose place a value holds.
pub(crate) const fn default(
    name: &'static str,
    value: Value,
    default: &'static str,
    meaning: &'static str,
) -> Key {
    key(name, value, Need::Default(default), meaning)
}

/// A key that only a review asks for.
pub(crate) const fn review(name: &'static str, value: Value, meaning: &'static str) -> Key {
    let key = key(name, value, Need::Optional, meaning);
    Key { review: true, ..key }
}
