//! Optional keys that only the review asks for: one line a key, in the struct of its owner.
//!
//! To add a key, add its line here: name, type, and the function that reads it.

use crate::context::Context;
use crate::fields::{Field, Fields};
use wetrun_units::{Length, Volume};

/// Makes a struct of optional keys, the list of their names, and the reader of them all.
macro_rules! review_keys {
    ($($(#[$doc:meta])* $name:ident {
        $($(#[$key_doc:meta])* $key:ident: $type:ty = $read:path,)*
    })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $name {
            $($(#[$key_doc])* pub $key: Option<$type>,)*
        }

        impl $name {
            pub(crate) const KEYS: &'static [&'static str] = &[$(stringify!($key)),*];

            #[allow(unused_variables)]
            pub(crate) fn read(cx: &mut Context<'_>, fields: &Fields<'_>) -> Self {
                Self {
                    $($key: fields.get(stringify!($key)).and_then(|field| $read(cx, &field)),)*
                }
            }
        }
    )*};
}

review_keys! {
    /// Of the site as a whole.
    SiteReview {
        /// Revision of the drawing, in words.
        revision: String = Context::free_text,
        /// What documents the job has: name and yes, no or a reference, in file order.
        documents: Vec<(String, String)> = named_texts,
    }
    /// Of a gutter.
    GutterReview {
        /// Width of the sole of a trapezoidal gutter.
        bottom: Length = Context::size,
    }
    /// Of a downspout.
    DownspoutReview {
        /// A device that keeps back the first water of a storm.
        first_flush: FirstFlush = FirstFlush::read,
    }
    /// Of a point.
    PointReview {
        /// A vent that stands there.
        vent: Vent = Vent::read,
    }
    /// Of a line.
    LineReview {
    }
    /// Of a tank.
    TankReview {
        /// Whether it stands in the ground.
        buried: bool = Context::yes_or_no,
    }
}

/// A device that keeps back the first water of a storm.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FirstFlush {
    /// The water it keeps back.
    pub volume: Option<Volume>,
}

impl FirstFlush {
    fn read(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Self> {
        let fields = Fields::open(cx, field, "a first flush device", &[&["volume"]])?;
        Some(Self { volume: fields.get("volume").and_then(|f| cx.volume(&f)) })
    }
}

/// A vent at a point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Vent {
    /// Level of its open top.
    pub level: Option<Length>,
    /// Whether a screen keeps insects out.
    pub screened: Option<bool>,
}

impl Vent {
    fn read(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Self> {
        let fields = Fields::open(cx, field, "a vent", &[&["level", "screened"]])?;
        Some(Self {
            level: fields.get("level").and_then(|f| cx.level(&f)),
            screened: fields.get("screened").and_then(|f| cx.yes_or_no(&f)),
        })
    }
}

fn named_texts(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Vec<(String, String)>> {
    let entries = field.entries(cx, "documents by name: `as_built: yes`")?;
    let pair = |entry: &Field<'_>| Some((cx.tag(entry), cx.free_text(entry)?));
    Some(entries.iter().filter_map(pair).collect())
}
