//! Buried lines and their profiles.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::{Field, Fields};
use crate::keys;
use crate::nodes::{self, Shared};
use crate::pipes::Use;
use crate::review_keys::LineReview;
use crate::site::LineNotes;
use crate::tags;
use wetrun_network::{End, Line, Pipe, PointId, Station};
use wetrun_units::Length;

/// A line, what else is said of it, and its pipe if that is open.
pub(crate) struct ReadLine {
    pub(crate) line: Line,
    pub(crate) notes: LineNotes,
    pub(crate) open: Option<Vec<Pipe>>,
    /// Whether both ends were found; else they are stand-ins.
    pub(crate) joined: bool,
}

/// Stands in for an end that was not found.
const NOWHERE: End = End::Point(PointId::new(0));

impl Default for ReadLine {
    /// Stands in for a line with a fault, so that the lines after it keep their ids.
    fn default() -> Self {
        let line = Line {
            tag: String::new(),
            from: NOWHERE,
            to: NOWHERE,
            pipe: Pipe::default(),
            length: Length::ZERO,
            fittings: Vec::new(),
            k: 0.0,
            profile: Vec::new(),
        };
        Self { line, notes: LineNotes::default(), open: None, joined: false }
    }
}

/// A profile's ends may miss the line's ends by this, in distance and in level.
const CLOSE: Length = Length::m(0.005);
/// The same with room for the rounding of a conversion.
const CLOSE_M: f64 = 0.005 + 1e-9;

pub(crate) fn line(
    cx: &mut Context<'_>,
    entry: &Field<'_>,
    shared: &Shared<'_>,
    level_of: impl Fn(End) -> Option<Length>,
) -> Option<ReadLine> {
    const ENDS: &str = "the tag of a downspout, a point or a tank";
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::LINE)?;
    let end = |cx: &mut Context<'_>, key: &str| {
        let field = fields.require(cx, key, ENDS)?;
        shared.tags.refer(cx, &field, ENDS, tags::any_end)
    };
    let (from, to) = (end(cx, "from"), end(cx, "to"));
    if let (Some(from), Some(to), Some(field)) = (from, to, fields.get("to"))
        && from == to
    {
        let message = "a line cannot run from a tag to itself";
        cx.fault(Code::Layout, &field, message, "another tag than `from`");
    }
    let choice = fields
        .require(cx, "pipe", "TYPE SIZE, such as `pvc-sch40 4 in`")
        .and_then(|field| shared.types.pipe(cx, &field, Use::Friction(shared.losses)));
    let (pipe, open) = nodes::provisional(choice);
    let length = fields
        .require(cx, "length", "the length along the pipe, such as `32 ft` or `9.75 m`")
        .and_then(|field| cx.length(&field));
    let level = |cx: &mut Context<'_>, key: &str, end: Option<End>| match fields.get(key) {
        Some(field) => cx.level(&field),
        None => end.and_then(&level_of),
    };
    let ends = [level(cx, "from_level", from), level(cx, "to_level", to)];
    let fittings = nodes::fittings(cx, &fields, shared.fittings);
    let k = nodes::coefficient(cx, &fields).unwrap_or(0.0);
    let given = fields.get("profile").and_then(|field| profile(cx, &field, length, ends));
    let straight = || {
        let [from, to] = ends.map(Option::unwrap_or_default);
        let station = |at, level| Station { at, level, ground: None };
        vec![station(Length::ZERO, from), station(length.unwrap_or_default(), to)]
    };
    let notes = LineNotes {
        losses_given: nodes::losses_given(&fields),
        profile_given: fields.get("profile").is_some(),
        review: LineReview::read(cx, &fields),
    };
    let line = Line {
        tag,
        from: from.unwrap_or(NOWHERE),
        to: to.unwrap_or(NOWHERE),
        pipe,
        length: length.unwrap_or_default(),
        fittings,
        k,
        profile: given.unwrap_or_else(straight),
    };
    Some(ReadLine { line, notes, open, joined: from.is_some() && to.is_some() })
}

/// The stations of a profile, its ends brought to the line's own.
fn profile(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    length: Option<Length>,
    ends: [Option<Length>; 2],
) -> Option<Vec<Station>> {
    let items = field.list(cx, "a list of { at, level, ground } from start to finish")?;
    let mut stations = Vec::with_capacity(items.len());
    for item in &items {
        let Some(fields) = Fields::open(cx, item, &keys::STATION) else { continue };
        let at = fields.require(cx, "at", "the distance from the line's start");
        let at = at.and_then(|field| cx.height(&field));
        let level = fields.require(cx, "level", "the invert there");
        let level = level.and_then(|field| cx.level(&field));
        let ground = nodes::optional_level(cx, &fields, "ground");
        if let (Some(at), Some(level)) = (at, level) {
            stations.push(Station { at, level, ground });
        }
    }
    if items.len() < 2 {
        let message = "a profile has two stations at least, its start and its finish";
        cx.fault(Code::Profile, field, message, "a list of { at, level, ground }");
    }
    if stations.len() < items.len() || stations.len() < 2 {
        return None;
    }
    let sound = distances(cx, &items, &stations, length);
    let sound = end_levels(cx, &items, &stations, ends) && sound;
    let last = stations.len() - 1;
    for (index, end) in [(0, ends[0]), (last, ends[1])] {
        stations[index].level = end.unwrap_or(stations[index].level);
    }
    stations[0].at = Length::ZERO;
    stations[last].at = length.unwrap_or(stations[last].at);
    sound.then_some(stations)
}

/// The distances start at 0, rise, and end at the length.
fn distances(
    cx: &mut Context<'_>,
    items: &[Field<'_>],
    stations: &[Station],
    length: Option<Length>,
) -> bool {
    let before = cx.faults.len();
    let last = stations.len() - 1;
    if stations[0].at.to_m() > CLOSE_M {
        let message = "the profile does not start at 0";
        at_key(cx, &items[0], "at", message, "0, the start of the line".to_owned());
    }
    let inner = match length {
        Some(_) => 1..last,
        None => 1..stations.len(),
    };
    for index in inner {
        let at = stations[index].at;
        if at <= stations[index - 1].at {
            let message = "this station does not lie beyond the one before it";
            at_key(cx, &items[index], "at", message, "stations from start to finish".to_owned());
        } else if let Some(length) = length.filter(|length| at >= *length) {
            let expected = format!("less than {}", cx.units.show_level(length));
            let message = "this station does not lie before the line's finish";
            at_key(cx, &items[index], "at", message, expected);
        }
    }
    if let Some(length) = length
        && (stations[last].at.to_m() - length.to_m()).abs() > CLOSE_M
    {
        let wanted = cx.units.show_level(length);
        let message = "the profile does not end at the line's length";
        at_key(cx, &items[last], "at", message, format!("{wanted}, the line's length"));
    }
    cx.faults.len() == before
}

/// The first and last level are those of what the line is joined to.
fn end_levels(
    cx: &mut Context<'_>,
    items: &[Field<'_>],
    stations: &[Station],
    ends: [Option<Length>; 2],
) -> bool {
    let before = cx.faults.len();
    let last = stations.len() - 1;
    for (index, end, what) in [(0, ends[0], "start"), (last, ends[1], "finish")] {
        let Some(end) = end else { continue };
        if (stations[index].level.to_m() - end.to_m()).abs() > CLOSE_M {
            let message =
                format!("the profile's level at the {what} is not that of the line's end");
            let expected = format!(
                "{}, within {}",
                cx.units.show_level(end),
                wetrun_units::UnitSystem::Si.show_height(CLOSE)
            );
            at_key(cx, &items[index], "level", &message, expected);
        }
    }
    cx.faults.len() == before
}

fn at_key(cx: &mut Context<'_>, item: &Field<'_>, key: &str, message: &str, expected: String) {
    let entry = item.node.get(key);
    let span = entry.map_or(item.key_at, |entry| entry.node.at);
    let fault = Diagnostic::new(Code::Profile, span, message);
    cx.report(fault.path(&item.path.key(key)).expected(expected));
}
