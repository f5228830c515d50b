//! How well the numbers of the file are known: the section `doubts`.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys::{self, Section};
use crate::tags::{self, Tags};
use crate::tree::Value;
use crate::values::short;
use wetrun_facts::{Doubt, Doubts, Spread};
use wetrun_network::{Line, LineId};
use wetrun_units::{Fraction, Kind, Length, UnitSystem, Warmth};

/// At three standard deviations, one and a half times what is written, something is left.
const MOST_NORMAL: f64 = 0.6;
const MOST_EVEN: f64 = 0.9;
/// The logarithm's law: no number is known worse than that.
/// Levels, temperatures and the coefficients of wyes and tees.
const MOST_M: f64 = 1.0;
const MOST_K: f64 = 20.0;

/// A kind of spread: how its value is read, and how much it may be.
struct Sort<T> {
    read: fn(&mut Context<'_>, &Field<'_>) -> Option<T>,
    size: fn(T) -> f64,
    /// The most of a normal law and of an even one.
    most: [f64; 2],
    /// What a value looks like.
    example: &'static str,
    /// The same in words.
    ranges: [&'static str; 2],
    /// The keys that say more.
    keys: &'static Section,
}

static SHARE: Sort<Fraction> = Sort {
    read: |cx, field| cx.value(field, Kind::Fraction, UnitSystem::read_fraction),
    size: Fraction::to_ratio,
    most: [MOST_NORMAL, MOST_EVEN],
    example: "`15 %`, `{ even: 10 % }` or `{ factor: 1.5 }`",
    ranges: [keys::DOUBT.range, keys::EVEN_DOUBT.range],
    keys: &keys::OF_SHARES,
};
static LEVEL: Sort<Length> = Sort {
    read: |cx, field| cx.value(field, Kind::Level, UnitSystem::read_level),
    size: Length::to_m,
    most: [MOST_M, MOST_M],
    example: "`6 mm` or `{ even: 6 mm }`",
    ranges: [keys::LEVEL_DOUBT.range; 2],
    keys: &keys::OF_LEVELS,
};
static WARMTH: Sort<Warmth> = Sort {
    read: |cx, field| cx.value(field, Kind::Warmth, UnitSystem::read_warmth),
    size: Warmth::to_k,
    most: [MOST_K, MOST_K],
    example: "`5 C` or `{ even: 5 C }`",
    ranges: [keys::WARMTH_DOUBT.range; 2],
    keys: &keys::OF_WARMTH,
};
static COEFFICIENT: Sort<f64> = Sort {
    read: |cx, field| cx.number(field, "a loss coefficient"),
    size: |k| k,
    most: [keys::COEFFICIENT_DOUBT.most; 2],
    example: "`0.2` or `{ even: 0.2 }`",
    ranges: [keys::COEFFICIENT_DOUBT.words; 2],
    keys: &keys::OF_JUNCTIONS,
};

/// Reads the section `doubts`; `lines` are those of the file, in its order.
pub(crate) fn doubts(
    cx: &mut Context<'_>,
    root: &Fields<'_>,
    tags: &Tags<'_>,
    lines: &[Line],
) -> Doubts {
    let usual = Doubts::default();
    let Some(field) = root.get("doubts") else { return usual };
    let Some(fields) = Fields::open(cx, &field, &keys::DOUBTS) else { return usual };
    let silt = fields.get("silt").and_then(|field| silt(cx, &field, lines.iter()));
    Doubts {
        rain: doubt(cx, &fields, "rain", usual.rain, &SHARE),
        runoff: doubt(cx, &fields, "runoff", usual.runoff, &SHARE),
        areas: doubt(cx, &fields, "areas", usual.areas, &SHARE),
        roughness: doubt(cx, &fields, "roughness", usual.roughness, &SHARE),
        c: doubt(cx, &fields, "c", usual.c, &SHARE),
        bores: doubt(cx, &fields, "bores", usual.bores, &SHARE),
        fittings: doubt(cx, &fields, "fittings", usual.fittings, &SHARE),
        junctions: doubt(cx, &fields, "junctions", usual.junctions, &COEFFICIENT),
        openings: doubt(cx, &fields, "openings", usual.openings, &LEVEL),
        inlets: doubt(cx, &fields, "inlets", usual.inlets, &LEVEL),
        temperature: doubt(cx, &fields, "temperature", usual.temperature, &WARMTH),
        silt: silt.unwrap_or(usual.silt),
        lines: fields
            .get("lines")
            .map(|field| in_lines(cx, &field, tags, lines))
            .unwrap_or_default(),
    }
}

/// The doubt at a key, else the usual one.
fn doubt<T: Copy>(
    cx: &mut Context<'_>,
    fields: &Fields<'_>,
    key: &str,
    usual: Doubt<T>,
    sort: &Sort<T>,
) -> Doubt<T> {
    let Some(field) = fields.get(key) else { return usual };
    let read = match field.node.value {
        Value::Map(_) => of_keys(cx, &field, sort),
        _ => size(cx, &field, sort, 0).map(|spread| (Spread::Normal(spread), None)),
    };
    match read {
        Some((spread, basis)) => Doubt { spread: none_of(spread, sort), given: true, basis },
        None => usual,
    }
}

/// `{ spread | even | factor, basis }`.
fn of_keys<T: Copy>(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    sort: &Sort<T>,
) -> Option<(Spread<T>, Option<String>)> {
    let before = cx.faults.len();
    let fields = Fields::open(cx, field, sort.keys)?;
    let another = cx.faults.len() > before;
    let basis = fields.get("basis").and_then(|field| cx.free_text(&field));
    let laws = sort.keys.one_of.iter().copied().flatten();
    let mut given = laws.filter_map(|key| fields.get(key));
    let Some(law) = given.next() else {
        if another {
            return None; // a key that is none was told, and it stood for the law
        }
        let message = format!("`{}` does not say by how much", field.path.name());
        cx.fault(Code::MissingKey, field, message, sort.example);
        return None;
    };
    if let Some(second) = given.next() {
        cx.fault(Code::Value, &second, "a second law for the same number", sort.example);
        return None;
    }
    let spread = match law.path.name() {
        "factor" => {
            let factor = cx.number(&law, "a factor")?;
            let fits = keys::FACTOR_DOUBT.holds(factor);
            Spread::Factor(cx.within(fits, &law, factor, "a factor", keys::FACTOR_DOUBT.words)?)
        }
        "even" => Spread::Even(size(cx, &law, sort, 1)?),
        _ => Spread::Normal(size(cx, &law, sort, 0)?),
    };
    Some((spread, basis))
}

fn size<T: Copy>(cx: &mut Context<'_>, field: &Field<'_>, sort: &Sort<T>, law: usize) -> Option<T> {
    if let Value::List(_) = field.node.value {
        cx.fault(Code::Shape, field, "a list stands where a doubt belongs", sort.example);
        return None;
    }
    let size = (sort.read)(cx, field)?;
    let fits = (0.0..=sort.most[law]).contains(&(sort.size)(size));
    cx.within(fits, field, size, "this doubt", sort.ranges[law])
}

/// A law of no width leaves the number as it is drawn.
fn none_of<T: Copy>(spread: Spread<T>, sort: &Sort<T>) -> Spread<T> {
    let width = match spread {
        Spread::None => 0.0,
        Spread::Normal(size) | Spread::Even(size) => (sort.size)(size),
        Spread::Factor(factor) => factor - 1.0,
    };
    if width > 0.0 { spread } else { Spread::None }
}

/// A depth of silt, which leaves something of each of these lines.
fn silt<'l>(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    lines: impl Iterator<Item = &'l Line>,
) -> Option<Doubt<Length>> {
    let (depth_at, basis) = match field.node.value {
        Value::Map(_) => {
            let fields = Fields::open(cx, field, &keys::OF_SILT)?;
            let basis = fields.get("basis").and_then(|field| cx.free_text(&field));
            let depth =
                fields.require(cx, "depth", "the deepest that it may lie, such as `20 mm`")?;
            (cx.height(&depth)?, basis)
        }
        _ => (cx.height(field)?, None),
    };
    // What is not read leaves no bore to compare with.
    let bores = lines.filter(|line| line.pipe.inside.to_m() > 0.0);
    let least = bores.min_by(|a, b| a.pipe.inside.to_m().total_cmp(&b.pipe.inside.to_m()));
    if let Some(line) = least
        && depth_at.to_m() > LEFT_FREE * line.pipe.inside.to_m()
    {
        let bore = cx.units.show_size(line.pipe.inside);
        let message =
            format!("this depth of silt would close {}, whose bore is {bore}", short(&line.tag));
        cx.fault(Code::Range, field, message, "a depth of at most nine tenths of the bore");
        return None;
    }
    let spread = if depth_at.to_m() > 0.0 { Spread::Even(depth_at) } else { Spread::None };
    Some(Doubt { spread, given: true, basis })
}

/// The part of a bore that silt may fill: above it little is left to run through.
const LEFT_FREE: f64 = 0.9;

/// `lines: { L4: { silt: 20 mm } }`.
fn in_lines(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    tags: &Tags<'_>,
    lines: &[Line],
) -> Vec<(LineId, Doubt<Length>)> {
    let mut found = Vec::new();
    for entry in field.entries(cx, "lines by tag").unwrap_or_default() {
        let name = (entry.key_at, entry.path.name());
        let id = tags.find(cx, name, &entry, "the tag of a line", tags::line);
        let Some(fields) = Fields::open(cx, &entry, &keys::OF_LINE) else {
            continue;
        };
        let Some(at) = fields.require(cx, "silt", "the deepest that it may lie, such as `20 mm`")
        else {
            continue;
        };
        let line = id.and_then(|id: LineId| lines.get(id.index()));
        let depth = silt(cx, &at, line.into_iter());
        found.extend(id.zip(depth));
    }
    found.sort_by_key(|(id, _)| id.index());
    found
}
