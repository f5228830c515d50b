//! The head of the file and its small sections: units, storm, water, targets, gutters, prices,
//! benchmarks, rules.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::pipe_types::Types;
use crate::rainfall::{self, Rainfall};
use crate::review_keys::GutterReview;
use crate::site::{
    Benchmark, Gutter, GutterShape, Losses, OwnFitting, Price, RuleLimit, Storm, Tanks, Targets,
};
use crate::values::short;
use wetrun_units::{Length, Slope, Temperature, UnitSystem, holds_a_place};

/// The format version this program reads.
const VERSION: &str = "1";
/// Freeboard where the file says nothing: 100 mm.
const FREEBOARD: Length = Length::m(0.1);
/// Water where the file says nothing.
const WATER: Temperature = Temperature::celsius(10.0);

/// Whether the file is of the version this program reads; anything else is reported.
pub(crate) fn version(cx: &mut Context<'_>, root: &Fields<'_>) -> bool {
    let Some(field) = root.require(cx, "wetrun", "1, the version of the format") else {
        return true; // the rest can be read all the same
    };
    let Some(text) = field.text(cx, "1, the version of the format") else { return true };
    if text.trim() != VERSION {
        let message = format!("this program does not read version `{}`", short(text));
        cx.fault(Code::Value, &field, message, "1, the version of the format");
    }
    text.trim() == VERSION
}

pub(crate) fn units(cx: &mut Context<'_>, root: &Fields<'_>) -> UnitSystem {
    root.require(cx, "units", "us, or si: how bare numbers are read")
        .and_then(|field| cx.unit_system(&field))
        .unwrap_or_default()
}

pub(crate) fn losses(cx: &mut Context<'_>, root: &Fields<'_>) -> Losses {
    const WORDS: &[(&str, Losses)] =
        &[("darcy-weisbach", Losses::DarcyWeisbach), ("hazen-williams", Losses::HazenWilliams)];
    root.get("losses").and_then(|field| cx.choice(&field, WORDS)).unwrap_or_default()
}

pub(crate) fn water(cx: &mut Context<'_>, root: &Fields<'_>) -> Temperature {
    root.get("water")
        .and_then(|field| {
            let fields = Fields::open(cx, &field, &keys::WATER)?;
            fields.get("temperature").and_then(|field| cx.temperature(&field))
        })
        .unwrap_or(WATER)
}

pub(crate) fn storm(cx: &mut Context<'_>, root: &Fields<'_>, rainfall: Option<&Rainfall>) -> Storm {
    const WORDS: &[(&str, Tanks)] = &[("full", Tanks::Full), ("empty", Tanks::Empty)];
    let example = match cx.units {
        UnitSystem::Us => "{ intensity: 5.2 in/h }",
        UnitSystem::Si => "{ intensity: 130 mm/h }",
    };
    let Some(field) = root.require(cx, "storm", example) else { return Storm::default() };
    let Some(fields) = Fields::open(cx, &field, &keys::STORM) else {
        return Storm::default();
    };
    let (intensity, told) = rainfall::intensity(cx, &fields, rainfall).unwrap_or_default();
    let course = fields.get("course");
    let course = course.and_then(|field| crate::course::course(cx, &field, rainfall));
    Storm {
        intensity,
        stated: intensity,
        basis: fields.get("basis").and_then(|field| cx.free_text(&field)).or(told),
        tanks: fields.get("tanks").and_then(|field| cx.choice(&field, WORDS)).unwrap_or_default(),
        wetting: fields.get("wetting").and_then(|field| cx.rain_depth(&field)).unwrap_or_default(),
        course,
    }
}

pub(crate) fn targets(cx: &mut Context<'_>, root: &Fields<'_>) -> Targets {
    let fields = (root.get("targets")).and_then(|f| Fields::open(cx, &f, &keys::TARGETS));
    let field = |key| fields.as_ref().and_then(|fields| fields.get(key));
    let freeboard = field("freeboard").and_then(|field| cx.height(&field));
    let most_speed = field("max_velocity").and_then(|field| cx.speed(&field));
    let least_speed = field("min_velocity").and_then(|field| cx.speed(&field));
    let flush_speed = field("flush_velocity").and_then(|field| cx.speed(&field));
    Targets {
        freeboard: freeboard.unwrap_or(FREEBOARD),
        freeboard_given: freeboard.is_some(),
        most_speed,
        least_speed,
        flush_speed,
    }
}

pub(crate) fn gutters(cx: &mut Context<'_>, root: &Fields<'_>) -> Vec<Gutter> {
    const SHAPES: &[(&str, GutterShape)] = &[
        ("half-round", GutterShape::HalfRound),
        ("rectangular", GutterShape::Rectangular),
        ("trapezoidal", GutterShape::Trapezoidal),
    ];
    let mut gutters = Vec::new();
    let Some(section) = root.get("gutters") else { return gutters };
    for entry in section.entries(cx, "gutters by tag").unwrap_or_default() {
        let tag = cx.tag(&entry);
        // A gutter with a fault keeps its place, so that downspouts can refer to it.
        let fields = Fields::open(cx, &entry, &keys::GUTTER);
        let shape = fields.and_then(|fields| {
            let field = fields.require(cx, "shape", "half-round, rectangular or trapezoidal")?;
            cx.choice(&field, SHAPES)
        });
        let width = fields.and_then(|fields| {
            let field = fields.require(cx, "width", "the width across the top, such as `6 in`")?;
            cx.size(&field)
        });
        let depth = fields.and_then(|f| f.get("depth").and_then(|field| cx.size(&field)));
        let slope = fields.and_then(|f| f.get("slope").and_then(|field| cx.slope(&field)));
        let length = fields.and_then(|f| f.get("length").and_then(|field| cx.length(&field)));
        gutters.push(Gutter {
            tag,
            shape: shape.unwrap_or(GutterShape::HalfRound),
            width: width.unwrap_or_default(),
            depth,
            slope: slope.unwrap_or(Slope::ZERO),
            length,
            review: fields.map(|f| GutterReview::read(cx, &f)).unwrap_or_default(),
        });
    }
    gutters
}

pub(crate) fn own_fittings(cx: &mut Context<'_>, root: &Fields<'_>) -> Vec<OwnFitting> {
    let Some(section) = root.get("fittings") else { return Vec::new() };
    let entries = section.entries(cx, "fittings by name").unwrap_or_default();
    let fitting = |entry: &Field<'_>| {
        let name = cx.tag(entry);
        let fields = Fields::open(cx, entry, &keys::FITTING)?;
        let k = fields.require(cx, "k", "the loss coefficient, such as `1.9`");
        for key in ["title", "confidence"] {
            fields.get(key).and_then(|field| cx.free_text(&field));
        }
        let source = fields.get("source").and_then(|field| cx.free_text(&field));
        Some(OwnFitting { name, k: cx.number(&k?, "a loss coefficient")?, source })
    };
    entries.iter().filter_map(fitting).collect()
}

pub(crate) fn prices(cx: &mut Context<'_>, root: &Fields<'_>, types: &Types) -> Vec<Price> {
    let mut prices = Vec::new();
    let Some(section) = root.get("prices") else { return prices };
    let metres = match cx.units {
        UnitSystem::Us => 0.3048,
        UnitSystem::Si => 1.0,
    };
    for entry in section.entries(cx, "prices by pipe type and size").unwrap_or_default() {
        let what = "prices by size, such as { 3 in: 4.10, 4 in: 5.60 }";
        for size in entry.entries(cx, what).unwrap_or_default() {
            let price = cx.number(&size, "a price");
            let written = size.path.name();
            let at_key = Field { node: KEY_ONLY, ..size };
            let nominal = match cx.units.read_size(written) {
                Ok(nominal) => nominal,
                Err(error) => {
                    let message = format!("`{}` is no pipe size: {error}", short(written));
                    cx.fault(Code::Value, &at_key, message, "a size, such as `4 in` or `110 mm`");
                    continue;
                }
            };
            let kind = entry.path.name();
            let pipe = types.of_size(cx, &at_key, kind, nominal, written);
            if let (Some(pipe), Some(price)) = (pipe, price) {
                let per_metre = price / metres;
                prices.push(Price { kind: pipe.kind, size: pipe.size, per_metre });
            }
        }
    }
    prices
}

/// Stands in for a value where the fault is in the key.
pub(crate) const KEY_ONLY: &crate::tree::Node =
    &crate::tree::Node { at: crate::source::Span::NOWHERE, value: crate::tree::Value::Nothing };

pub(crate) fn benchmarks(cx: &mut Context<'_>, root: &Fields<'_>) -> Vec<Benchmark> {
    let Some(section) = root.get("benchmarks") else { return Vec::new() };
    let entries = section.entries(cx, "benchmarks by tag").unwrap_or_default();
    let benchmark = |entry: &Field<'_>| {
        let tag = cx.tag(entry);
        let fields = Fields::open(cx, entry, &keys::BENCHMARK)?;
        let level = fields.require(cx, "level", "its level, such as `100.00 ft`");
        let at = fields.get("at").and_then(|field| cx.free_text(&field));
        Some(Benchmark { tag, level: cx.level(&level?)?, at })
    };
    entries.iter().filter_map(benchmark).collect()
}

pub(crate) fn rules(cx: &mut Context<'_>, root: &Fields<'_>) -> Vec<RuleLimit> {
    let Some(section) = root.get("rules") else { return Vec::new() };
    let entries = section.entries(cx, "rules by name").unwrap_or_default();
    let rule = |entry: &Field<'_>| {
        let rule = cx.tag(entry);
        let fields = Fields::open(cx, entry, &keys::RULE)?;
        let limit = fields.require(cx, "limit", "the limit, with its unit");
        let reason = fields.require(cx, "reason", "why this job's limit differs");
        let basis = fields.get("basis").and_then(|field| cx.free_text(&field));
        let limit = limit.and_then(|field| cx.name(&field));
        let reason = reason.and_then(|field| {
            let text = cx.free_text(&field)?;
            if holds_a_place(&text) {
                let message = "this only holds the place of a reason";
                cx.fault(Code::Value, &field, message, "why this job's limit differs");
            }
            Some(text)
        });
        Some(RuleLimit { rule, limit: limit?, reason: reason?, basis })
    };
    entries.iter().filter_map(rule).collect()
}
