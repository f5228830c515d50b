//! What a page may ask, each call with its own body.

use serde::Deserialize;
use serde_json::{Map, Value};
use wetrun_answers::Room;

/// The storm that is asked for in place of the file's, and what is in view.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct View {
    /// The rain as a multiple of the file's, 0 to 2.
    pub(crate) rain: Option<f64>,
    /// How the tanks stand.
    pub(crate) tanks: Option<Stand>,
    /// The downspout whose route is drawn; the one that decides where none is named.
    pub(crate) downspout: Option<String>,
    /// The keys of the piece that is selected; the downspout in view where nothing is.
    pub(crate) piece: Option<Vec<String>>,
    /// What the section is drawn for.
    pub(crate) room: Screen,
    /// Whether the page has nothing to show yet.
    pub(crate) blank: bool,
    /// The number of the picture that the page has: of the next one it needs what changed alone.
    pub(crate) has: Option<u64>,
}

/// The screen that a section is drawn for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Screen {
    /// With the table of values below.
    #[default]
    Full,
    /// Without it.
    Low,
    /// A phone's.
    Narrow,
}

impl Screen {
    /// The room that it has.
    pub(crate) fn room(self) -> Room {
        match self {
            Self::Full => Room::SCREEN,
            Self::Low => Room::LOW,
            Self::Narrow => Room::NARROW,
        }
    }
}

/// How tanks stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Stand {
    Full,
    Empty,
}

/// What is in view alone.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Look {
    pub(crate) view: View,
}

/// What takes longer, for a text that is still the one.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Rest {
    pub(crate) view: View,
    pub(crate) revision: u64,
}

/// A further sheet of the file's own storm, for a text that is still the one.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Further {
    pub(crate) revision: u64,
    pub(crate) which: Which,
}

/// Which further sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Which {
    Storm,
    Flush,
    Doubt,
    Year,
}

/// A level moved by hand. What one hand does without letting go is one step of undo.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct MoveLevel {
    pub(crate) view: View,
    /// Names the hand's doing from touching a handle to letting go.
    pub(crate) gesture: String,
    pub(crate) tag: String,
    pub(crate) key: String,
    pub(crate) by: By,
    /// Whether the hand lets go.
    #[serde(default)]
    pub(crate) done: bool,
}

/// Where to.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum By {
    /// To a level in metres.
    ToM(f64),
    /// So many steps up from where it was touched.
    Steps(i32),
    /// So many fine steps.
    FineSteps(i32),
}

/// What a hand has done is let go of, or given up.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LetGo {
    pub(crate) view: View,
    pub(crate) gesture: String,
    /// Whether all is to be as it was.
    #[serde(default)]
    pub(crate) give_up: bool,
}

/// The text of the file as it was typed over a revision, or over a text that is no revision's any more.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Typed {
    pub(crate) view: View,
    pub(crate) revision: u64,
    /// The text that it was typed over, where that is not the revision's.
    #[serde(default)]
    pub(crate) base: Option<String>,
    pub(crate) text: String,
    /// Names what was typed in one go.
    pub(crate) gesture: String,
}

/// A value put at a key: a text as it was typed, of which an empty one takes the key away, or an object
/// of texts, which becomes a mapping.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Put {
    pub(crate) view: View,
    pub(crate) keys: Vec<String>,
    pub(crate) value: Value,
}

/// A row or an item of a list is taken out.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Take {
    pub(crate) view: View,
    pub(crate) keys: Vec<String>,
}

/// A line's profile gets a station.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Station {
    pub(crate) view: View,
    pub(crate) line: String,
}

/// A place in plan is moved.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Place {
    pub(crate) view: View,
    pub(crate) tag: String,
    pub(crate) by: Far,
}

/// How far, to the east and to the north.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Far {
    /// In metres.
    M([f64; 2]),
    /// In steps of the arrow keys.
    Steps([i16; 2]),
}

/// What a new site is asked for, with what is answered already.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Questions {
    pub(crate) answers: Map<String, Value>,
}

/// A new site from answers.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Begin {
    pub(crate) view: View,
    pub(crate) answers: Map<String, Value>,
}

/// What a new piece would be asked for.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Suggest {
    pub(crate) what: String,
    pub(crate) on: Option<Vec<String>>,
}

/// A new piece.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct New {
    pub(crate) view: View,
    pub(crate) what: String,
    pub(crate) on: Vec<String>,
    pub(crate) values: Map<String, Value>,
}

/// A piece is taken out with what hangs on it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Away {
    pub(crate) view: View,
    pub(crate) keys: Vec<String>,
    /// Whether only what goes is to be told.
    #[serde(default)]
    pub(crate) ask: bool,
}

/// Which of two texts each difference is taken from.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Settle {
    pub(crate) view: View,
    /// The choice that was shown.
    pub(crate) choice: u64,
    pub(crate) revision: u64,
    /// For each difference whether the page's side is taken.
    pub(crate) mine: Vec<bool>,
}

/// The last news that a page knows.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct News {
    pub(crate) known: u64,
}
