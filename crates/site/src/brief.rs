//! The brief of a new site: a dozen answers, read and checked as the values of a site file are.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostics};
use crate::document::Document;
use crate::fields::{Field, Fields};
use crate::keys::{self, BRIEF};
use crate::path::Path;
use crate::pipe_types::Types;
use crate::read::parsed;
use crate::source::Span;
use crate::tree::Value;
use crate::values::short;
use std::sync::Arc;
use wetrun_units::{Area, Intensity, Kind, Length, UnitSystem, Volume};

/// No brief has more downspouts: what is larger is drawn before it is typed.
pub const MOST_DOWNSPOUTS: u32 = 20;

/// Answers about a new site; what is none is not answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Brief {
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

impl Brief {
    /// These answers; where there is none, those of another brief.
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

/// Reads a brief: YAML with the keys of [`BRIEF`]. Bare numbers are in the unit system that it
/// says, else in `units`.
///
/// # Errors
/// [`Diagnostics`] with every independent fault in the file.
///
/// # Example
/// ```
/// use wetrun_site::read_brief;
/// use wetrun_units::UnitSystem;
///
/// let text = "units: si\neaves: [3.2 m, 2.9 m]\ndownspouts: 2\nrain: 120 mm/h\n";
/// let brief = read_brief(text, "answers.yaml", UnitSystem::Us)?;
/// assert_eq!(brief.eaves.map(|eaves| eaves.len()), Some(2));
/// assert_eq!(brief.tank, None);
/// # Ok::<(), wetrun_site::Diagnostics>(())
/// ```
pub fn read_brief(
    bytes: impl AsRef<[u8]>,
    file_name: &str,
    units: UnitSystem,
) -> Result<Brief, Diagnostics> {
    let document = parsed(bytes.as_ref(), file_name)?;
    let mut cx = Context::new(&document.source);
    cx.units = units;
    let found = brief(&mut cx, &document);
    if cx.has_errors() {
        return Err(Diagnostics::new(Arc::clone(&document.source), cx.faults));
    }
    Ok(found)
}

fn brief(cx: &mut Context<'_>, document: &Document) -> Brief {
    let top = Field { node: &document.root, key_at: Span::NOWHERE, path: Path::ROOT };
    let Some(fields) = Fields::open(cx, &top, &BRIEF) else { return Brief::default() };
    let units = fields.get("units").and_then(|field| cx.unit_system(&field));
    cx.units = units.unwrap_or(cx.units);
    let at = |key: &'static str| fields.get(key);
    let found = Brief {
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
    cx.within(
        keys::DOWNSPOUTS.holds(f64::from(count)),
        field,
        count,
        "this",
        keys::DOWNSPOUTS.words,
    )
}

fn pipes(cx: &mut Context<'_>, field: &Field<'_>) -> Option<String> {
    let name = cx.name(field)?;
    let known = Types::default();
    known.of_name(cx, field, &name)?;
    Some(name)
}
