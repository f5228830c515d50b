//! The outline of a new site: a dozen answers, read and checked as the values of a site file are.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostics};
use crate::document::Document;
use crate::fields::{Field, Fields};
use crate::keys::OUTLINE;
use crate::path::Path;
use crate::pipe_types::Types;
use crate::read::text_of;
use crate::source::Span;
use crate::tree::{self, Value};
use crate::values::short;
use std::sync::Arc;
use wetrun_units::{Area, Intensity, Kind, Length, UnitSystem, Volume};

/// No outline has more downspouts: what is larger is drawn before it is typed.
pub const MOST_DOWNSPOUTS: u32 = 20;

/// Answers about a new site; what is none is not answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outline {
    /// How bare numbers are read and reports written.
    pub units: Option<UnitSystem>,
    /// The name of the job.
    pub name: Option<String>,
    /// Heights of the gutters' outlets above the ground: one, or one for each downspout.
    pub eaves: Option<Vec<Length>>,
    /// How many downspouts, 1 to [`MOST_DOWNSPOUTS`].
    pub downspouts: Option<u32>,
    /// How far apart they come down.
    pub spacing: Option<Length>,
    /// The whole roof in plan.
    pub roof: Option<Area>,
    /// The peak rain.
    pub rain: Option<Intensity>,
    /// The tank's volume.
    pub tank: Option<Volume>,
    /// Height of its inlet above the ground.
    pub inlet: Option<Length>,
    /// From the last downspout to the tank.
    pub distance: Option<Length>,
    /// Depth of the buried line where it begins.
    pub depth: Option<Length>,
    /// The type of the pipes.
    pub pipes: Option<String>,
}

impl Outline {
    /// These answers; where there is none, those of another outline.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            units: self.units.or(other.units),
            name: self.name.or(other.name),
            eaves: self.eaves.or(other.eaves),
            downspouts: self.downspouts.or(other.downspouts),
            spacing: self.spacing.or(other.spacing),
            roof: self.roof.or(other.roof),
            rain: self.rain.or(other.rain),
            tank: self.tank.or(other.tank),
            inlet: self.inlet.or(other.inlet),
            distance: self.distance.or(other.distance),
            depth: self.depth.or(other.depth),
            pipes: self.pipes.or(other.pipes),
        }
    }
}

/// Reads an outline: YAML with the keys of [`OUTLINE`]. Bare numbers are in the unit system that it
/// says, else in `units`.
///
/// # Errors
/// [`Diagnostics`] with every independent fault in the file.
///
/// # Example
/// ```
/// use wetrun_site::read_outline;
/// use wetrun_units::UnitSystem;
///
/// let text = "units: si\neaves: [3.2 m, 2.9 m]\ndownspouts: 2\nrain: 120 mm/h\n";
/// let outline = read_outline(text, "answers.yaml", UnitSystem::Us)?;
/// assert_eq!(outline.eaves.map(|eaves| eaves.len()), Some(2));
/// assert_eq!(outline.tank, None);
/// # Ok::<(), wetrun_site::Diagnostics>(())
/// ```
pub fn read_outline(
    bytes: impl AsRef<[u8]>,
    file_name: &str,
    units: UnitSystem,
) -> Result<Outline, Diagnostics> {
    let source = Arc::new(text_of(bytes.as_ref(), file_name)?);
    let root = match tree::parse(&source) {
        Ok(root) => root,
        Err(error) => {
            let fault = crate::syntax::fault(&source, &error);
            return Err(Diagnostics::new(source, vec![fault]));
        }
    };
    let document = Document { source: Arc::clone(&source), root };
    let mut cx = Context::new(&document.source);
    cx.units = units;
    let found = outline(&mut cx, &document);
    if cx.has_errors() { Err(Diagnostics::new(source, cx.faults)) } else { Ok(found) }
}

fn outline(cx: &mut Context<'_>, document: &Document) -> Outline {
    const WORDS: &[(&str, UnitSystem)] = &[("us", UnitSystem::Us), ("si", UnitSystem::Si)];
    let top = Field { node: &document.root, key_at: Span::NOWHERE, path: Path::ROOT };
    let Some(fields) = Fields::open(cx, &top, &OUTLINE) else { return Outline::default() };
    let units = fields.get("units").and_then(|field| cx.choice(&field, WORDS));
    cx.units = units.unwrap_or(cx.units);
    let at = |key: &'static str| fields.get(key);
    let found = Outline {
        units,
        name: at("name").and_then(|field| cx.name(&field)),
        eaves: at("eaves").and_then(|field| eaves(cx, &field)),
        downspouts: at("downspouts").and_then(|field| downspouts(cx, &field)),
        spacing: at("spacing").and_then(|field| cx.length(&field)),
        roof: at("roof").and_then(|field| cx.area(&field)),
        rain: at("rain").and_then(|field| cx.intensity(&field)),
        tank: at("tank").and_then(|field| cx.volume(&field)),
        inlet: at("inlet").and_then(|field| cx.level(&field)),
        distance: at("distance").and_then(|field| cx.length(&field)),
        depth: at("depth").and_then(|field| cx.length(&field)),
        pipes: at("pipes").and_then(|field| pipes(cx, &field)),
    };
    if let (Some(eaves), Some(count), Some(field)) = (&found.eaves, found.downspouts, at("eaves"))
        && eaves.len() > 1
        && eaves.len() as u64 != u64::from(count)
    {
        let message = format!("{} heights for {count} downspouts", eaves.len());
        cx.fault(Code::Value, &field, message, "one height for all, or one for each");
    }
    found
}

/// One height, several with commas between, or a list of them.
fn eaves(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Vec<Length>> {
    const EXPECTED: &str = "heights such as `10 ft` or `3.2 m, 2.9 m`";
    let heights: Vec<Option<Length>> = match &field.node.value {
        Value::List(_) => field.list(cx, EXPECTED)?.iter().map(|item| cx.length(item)).collect(),
        Value::Text(text) if text.contains(',') => {
            let pieces: Vec<&str> = text.split(',').collect();
            let mut found = Vec::new();
            for piece in pieces {
                found.push(one_of_many(cx, field, piece.trim()));
            }
            found
        }
        _ => vec![cx.length(field)],
    };
    let heights: Vec<Length> = heights.into_iter().collect::<Option<_>>()?;
    if heights.is_empty() || heights.len() > MOST_DOWNSPOUTS as usize {
        let message = format!("{} heights", heights.len());
        cx.fault(Code::Range, field, message, "1 to 20 heights");
        return None;
    }
    Some(heights)
}

fn one_of_many(cx: &mut Context<'_>, field: &Field<'_>, text: &str) -> Option<Length> {
    let expected = || format!("{} such as {}", Kind::Level.with_article(), Kind::Level.examples());
    match cx.units.read_level(text) {
        Ok(height) if wetrun_network::limits::LENGTH.contains(&height) => Some(height),
        Ok(_) => {
            let message = format!("a length cannot be `{}`", short(text));
            cx.fault(Code::Range, field, message, crate::keys::LENGTH.range);
            None
        }
        Err(error) => {
            cx.fault(Code::Value, field, format!("`{}`: {error}", short(text)), expected());
            None
        }
    }
}

fn downspouts(cx: &mut Context<'_>, field: &Field<'_>) -> Option<u32> {
    let count = cx.count(field)?;
    cx.within((1..=MOST_DOWNSPOUTS).contains(&count), field, count, "this", "from 1 to 20")
}

fn pipes(cx: &mut Context<'_>, field: &Field<'_>) -> Option<String> {
    let name = cx.name(field)?;
    let known = Types::default();
    known.of_name(cx, field, &name)?;
    Some(name)
}
//! A file as it is written, whether or not it makes a site: its names and values, with their lines.

use crate::document::{Document, step};
use crate::source::Source;
use crate::tree::{self, Node, Value};
use std::sync::Arc;

/// A file that can be read as YAML.
#[derive(Clone, Debug)]
pub struct Outline {
    document: Document,
}

/// What stands at a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written<'a> {
    /// The key alone.
    Nothing,
    /// A single value, without its quotes.
    Text(&'a str),
    /// A list or a mapping, as it stands there.
    Part(&'a str),
}

impl Outline {
    /// Reads a text; `None` where it is no YAML.
    pub fn read(text: &str) -> Option<Self> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let source = Source::new("", text.to_owned());
        let root = tree::parse(&source).ok()?;
        Some(Self { document: Document { source: Arc::new(source), root } })
    }

    /// The keys of a mapping, in the order of the file; none where there is none.
    pub fn names(&self, keys: &[&str]) -> Vec<&str> {
        match self.node(keys).map(|node| &node.value) {
            Some(Value::Map(entries)) => entries.iter().map(|entry| &*entry.key).collect(),
            _ => Vec::new(),
        }
    }

    /// How many items a list has; 0 where there is none.
    pub fn count(&self, keys: &[&str]) -> usize {
        match self.node(keys).map(|node| &node.value) {
            Some(Value::List(items)) => items.len(),
            _ => 0,
        }
    }

    /// What stands at a key; `None` where the file lacks it.
    pub fn written(&self, keys: &[&str]) -> Option<Written<'_>> {
        let node = self.node(keys)?;
        Some(match &node.value {
            Value::Nothing | Value::Plain => Written::Nothing,
            Value::Text(text) => Written::Text(text),
            Value::List(_) | Value::Map(_) => {
                let source = &self.document.source;
                let end = crate::edit::end(node, source)?;
                Written::Part(source.text.get(node.at.range().start..end)?)
            }
        })
    }

    /// The line of a key, from 1.
    pub fn line(&self, keys: &[&str]) -> Option<usize> {
        self.document.place(keys).map(|place| place.line)
    }

    fn node(&self, keys: &[&str]) -> Option<&Node> {
        keys.iter().try_fold(&self.document.root, |node, key| step(node, key))
    }
}
