//! Downspouts, points and tanks: the nodes of the network.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::{Field, Fields};
use crate::keys;
use crate::pipe_types::Types;
use crate::pipes::{Choice, Use};
use crate::review_keys::{Cap, DownspoutReview, PointReview, TankReview};
use crate::site::{
    DownspoutNotes, Gutter, Losses, OwnFitting, PlanPoint, PointNotes, Start, TankNotes,
};
use crate::tags::{self, Tags};
use crate::tree::Value;
use crate::values::short;
use wetrun_network::{Downspout, FittingUse, JunctionKind, Opening, Overflow, Pipe, Point, Tank};
use wetrun_units::{Area, Length, UnitSystem};

/// What the sections share beyond the context.
pub(crate) struct Shared<'a> {
    pub(crate) losses: Losses,
    pub(crate) types: &'a Types,
    pub(crate) fittings: &'a [OwnFitting],
    pub(crate) gutters: &'a [Gutter],
    pub(crate) tags: &'a Tags<'a>,
}

/// A downspout, what else is said of it, and its pipe if that is open.
///
/// What a faulty item lacks stays at its default, so that the items after it keep their ids;
/// a level is `None` then, so that nothing is compared with it.
#[derive(Default)]
pub(crate) struct ReadDownspout {
    pub(crate) downspout: Downspout,
    pub(crate) foot: Option<Length>,
    pub(crate) notes: DownspoutNotes,
    pub(crate) open: Option<Vec<Pipe>>,
}

/// A point, what else is said of it, and its junction as far as it is told.
#[derive(Default)]
pub(crate) struct ReadPoint<'p> {
    pub(crate) point: Point,
    pub(crate) level: Option<Length>,
    pub(crate) notes: PointNotes,
    pub(crate) junction: Option<(JunctionKind, Field<'p>, Option<Field<'p>>)>,
}

/// A tank and what else is said of it.
#[derive(Default)]
pub(crate) struct ReadTank {
    pub(crate) tank: Tank,
    pub(crate) inlet: Option<Length>,
    pub(crate) notes: TankNotes,
}

pub(crate) fn downspout(
    cx: &mut Context<'_>,
    entry: &Field<'_>,
    shared: &Shared<'_>,
) -> Option<ReadDownspout> {
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::DOWNSPOUT)?;
    let outlet = required_level(cx, &fields, "outlet", "the level of the hole in the gutter floor");
    let foot = required_level(cx, &fields, "foot", "the level where it turns into the buried line");
    let lip = optional_level(cx, &fields, "lip");
    let leaf_head = optional_level(cx, &fields, "leaf_head");
    let above = |cx: &mut Context<'_>, key: &str, upper: &str, message: &str| {
        let (Some(field), Some(other)) = (fields.get(key), fields.get(upper)) else { return };
        let fault = Diagnostic::new(Code::Levels, field.span(), message).path(&field.path);
        cx.report(fault.label(other.span(), format!("the {}", words(upper))));
    };
    if let (Some(foot), Some(outlet)) = (foot, outlet)
        && foot > outlet
    {
        above(cx, "foot", "outlet", "the foot stands above the outlet");
    }
    if let (Some(lip), Some(outlet)) = (lip, outlet)
        && lip < outlet
    {
        above(cx, "lip", "outlet", "the lip stands below the outlet");
    }
    if let (Some(rim), Some(outlet)) = (leaf_head, outlet)
        && rim > outlet
    {
        above(cx, "leaf_head", "outlet", "the leaf head stands above the outlet");
    }
    if let (Some(rim), Some(foot)) = (leaf_head, foot)
        && rim < foot
        && outlet.is_none_or(|outlet| foot <= outlet)
    {
        above(cx, "leaf_head", "foot", "the leaf head stands below the foot");
    }
    let choice = fields
        .require(cx, "pipe", "TYPE SIZE, such as `pvc-sch40 3 in`")
        .and_then(|field| shared.types.pipe(cx, &field, Use::Friction(shared.losses)));
    let (pipe, open) = provisional(choice);
    let screen = fields.get("screen");
    let screen_open = screen.as_ref().and_then(|field| {
        let fields = Fields::open(cx, field, &keys::SCREEN)?;
        fields.get("open").and_then(|field| cx.fraction(&field))
    });
    let notes = DownspoutNotes {
        gutter: fields.get("gutter").and_then(|field| gutter(cx, &field, shared.gutters)),
        screen_given: screen.is_some(),
        screen_open,
        losses_given: losses_given(&fields),
        lip_given: lip.is_some(),
        at: fields.get("at").and_then(|field| plan_point(cx, &field)),
        review: DownspoutReview::read(cx, &fields),
    };
    let outlet = outlet.unwrap_or_default();
    let downspout = Downspout {
        tag,
        outlet,
        lip: lip.unwrap_or(outlet),
        foot: foot.unwrap_or_default(),
        leaf_head,
        pipe,
        fittings: fittings(cx, &fields, shared.fittings),
        k: coefficient(cx, &fields).unwrap_or(0.0),
        catchment: Area::ZERO,
    };
    Some(ReadDownspout { downspout, foot, notes, open })
}

pub(crate) fn point<'p>(cx: &mut Context<'_>, entry: &'p Field<'p>) -> Option<ReadPoint<'p>> {
    const KINDS: &[(&str, JunctionKind)] =
        &[("wye", JunctionKind::Wye), ("tee", JunctionKind::Tee)];
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::POINT)?;
    let level = required_level(cx, &fields, "level", "the invert there");
    openings_above(cx, &fields, level);
    let cleanout = fields.get("cleanout").and_then(|field| cx.yes_or_no(&field));
    let point = Point {
        tag,
        level: level.unwrap_or_default(),
        ground: optional_level(cx, &fields, "ground"),
        fitting: None,
        drain: fields.get("drain").and_then(|field| cx.size(&field)),
        cleanout: cleanout.unwrap_or(false),
        opening: None,
    };
    let notes = PointNotes {
        cleanout,
        drain_k: fields.get("drain_k").and_then(|field| cx.number(&field, "a loss coefficient")),
        at: fields.get("at").and_then(|field| plan_point(cx, &field)),
        review: PointReview::read(cx, &fields),
    };
    let at = |key: &'static str| {
        entry.node.get(key).map(|found| Field {
            node: &found.node,
            key_at: found.key_at,
            path: entry.path.key(key),
        })
    };
    let branch = at("branch");
    let junction = match at("fitting") {
        Some(field) => cx.choice(&field, KINDS).map(|kind| (kind, field, branch)),
        None => {
            if let Some(branch) = &branch {
                let message = "a branch is named, but no fitting";
                cx.fault(Code::MissingKey, branch, message, "`fitting: wye` or `fitting: tee` too");
            }
            None
        }
    };
    Some(ReadPoint { point, level, notes, junction })
}

/// Reports an opening that lies below the invert it opens.
fn openings_above(cx: &mut Context<'_>, fields: &Fields<'_>, invert: Option<Length>) {
    let Some(invert) = invert else { return };
    let vent = fields.get("vent");
    let vent = vent.as_ref().and_then(|vent| {
        let top = vent.node.get("level")?;
        Some(Field { node: &top.node, key_at: top.key_at, path: vent.path.key("level") })
    });
    for (field, what) in [(vent, "the vent opens"), (fields.get("cap"), "the cap lies")] {
        let Some(field) = field else { continue };
        let Value::Text(text) = &field.node.value else { continue };
        if cx.units.read_level(text).is_ok_and(|level| level < invert) {
            let message = format!("{what} below the invert of its point");
            let expected = format!("{} or higher", cx.units.show_level(invert));
            cx.fault(Code::Levels, &field, message, expected);
        }
    }
}

/// The lowest opening that a point shows with its level.
pub(crate) fn opening(shown: &PointReview) -> Option<Opening> {
    let vent = shown.vent.as_ref().and_then(|vent| vent.level);
    let cap = match shown.cap {
        Some(Cap::At(level)) => Some(level),
        Some(Cap::Sealed) | None => None,
    };
    Opening::lowest(vent, cap)
}

pub(crate) fn tank(
    cx: &mut Context<'_>,
    entry: &Field<'_>,
    shared: &Shared<'_>,
) -> Option<ReadTank> {
    let tag = cx.tag(entry);
    if keys::TANK.taken == Some(&*tag) {
        let message = "a tank cannot have the tag `ground`";
        let fault = Diagnostic::new(Code::Value, entry.key_at, message).path(&entry.path);
        cx.report(fault.expected("another tag: an overflow's `to: ground` means the ground"));
    }
    let fields = Fields::open(cx, entry, &keys::TANK)?;
    let inlet =
        required_level(cx, &fields, "inlet", "the invert of the inlet pipe where it enters");
    let tank = Tank {
        tag,
        inlet: inlet.unwrap_or_default(),
        overflow: fields.get("overflow").and_then(|field| overflow(cx, &field, shared)),
        floor: optional_level(cx, &fields, "floor"),
        rim: optional_level(cx, &fields, "rim"),
        ground: optional_level(cx, &fields, "ground"),
        volume: fields.get("volume").and_then(|field| cx.volume(&field)),
    };
    let notes = TankNotes {
        at: fields.get("at").and_then(|field| plan_point(cx, &field)),
        start: fields.get("start").and_then(|field| start(cx, &field, &tank)),
        least: fields.get("least").and_then(|field| cx.fraction(&field)).unwrap_or_default(),
        review: TankReview::read(cx, &fields),
    };
    Some(ReadTank { tank, inlet, notes })
}

/// How a tank stands at first: a share where the value is in per cent, else a level.
fn start(cx: &mut Context<'_>, field: &Field<'_>, tank: &Tank) -> Option<Start> {
    let text = field.text(cx, "a level, or a share of the volume such as `60 %`")?;
    if text.trim_end().ends_with('%') {
        return cx.fraction(field).map(Start::Share);
    }
    let level = cx.level(field)?;
    let fits = |inside: bool, cx: &mut Context<'_>, message, expected| {
        if !inside {
            cx.fault(Code::Range, field, message, expected);
        }
        inside
    };
    let top = tank.overflow.as_ref().is_none_or(|overflow| level <= overflow.level);
    let sole = tank.floor.is_none_or(|floor| level >= floor);
    let message = "the tank would stand above its overflow";
    let fine = fits(top, cx, message, "a level up to that of the overflow")
        && fits(sole, cx, "this is below the tank's floor", "a level from the floor up");
    fine.then_some(Start::Level(level))
}

/// Entrance loss of an overflow where the file says nothing.
pub const OVERFLOW_K: f64 = 0.5;

fn overflow(cx: &mut Context<'_>, field: &Field<'_>, shared: &Shared<'_>) -> Option<Overflow> {
    let fields = Fields::open(cx, field, &keys::OVERFLOW)?;
    let level = required_level(cx, &fields, "level", "the invert of the overflow");
    let pipe = fields.get("pipe").and_then(|field| shared.types.pipe(cx, &field, Use::Outfall));
    let to = fields.get("to").and_then(|field| {
        let name = field.text(cx, "a tank, or ground")?;
        if name.trim() == keys::GROUND {
            return None;
        }
        shared.tags.refer(cx, &field, "a tank, or `ground`", tags::tank)
    });
    Some(Overflow {
        level: level.unwrap_or_default(),
        pipe: pipe.map(|choice| provisional(Some(choice)).0),
        to,
        k: coefficient(cx, &fields).unwrap_or(OVERFLOW_K),
    })
}

/// The pipe the network is built with, and the choice where it is open: the largest then.
pub(crate) fn provisional(choice: Option<Choice>) -> (Pipe, Option<Vec<Pipe>>) {
    match choice {
        None => (Pipe::default(), None),
        Some(Choice::Fixed(pipe)) => (pipe, None),
        Some(Choice::Open(pipes)) => (pipes.last().cloned().unwrap_or_default(), Some(pipes)),
    }
}

/// The fittings under a key: names of the job's own or the catalogue's, with counts.
pub(crate) fn fittings(
    cx: &mut Context<'_>,
    fields: &Fields<'_>,
    own: &[OwnFitting],
) -> Vec<FittingUse> {
    let Some(section) = fields.get("fittings") else { return Vec::new() };
    let mut uses = Vec::new();
    for entry in section.entries(cx, "fittings with counts: { bend-45: 2 }").unwrap_or_default() {
        let name = entry.path.name();
        let count = cx.count(&entry);
        let k = own.iter().find(|fitting| fitting.name == name).map(|fitting| fitting.k);
        let k = k.or_else(|| wetrun_catalogue::fitting(name).map(|fitting| fitting.k));
        if k.is_none() {
            let known = own.iter().map(|fitting| fitting.name.as_str());
            let known = known.chain(wetrun_catalogue::fittings().iter().map(|f| f.name.as_str()));
            let message = format!("no fitting `{}`", short(name));
            let expected = "a fitting of the catalogue (`wetrun list fittings`) or of `fittings:`";
            let at = (entry.key_at, &entry.path);
            cx.unknown(Code::Reference, at, message, expected, name, known);
        }
        if let (Some(count), Some(k)) = (count, k) {
            uses.push(FittingUse { name: name.to_owned(), count, k });
        }
    }
    uses
}

/// The extra loss coefficient under `k`.
pub(crate) fn coefficient(cx: &mut Context<'_>, fields: &Fields<'_>) -> Option<f64> {
    fields.get("k").and_then(|field| cx.number(&field, "a loss coefficient"))
}

/// Whether fittings or a loss coefficient are written down, none among them.
pub(crate) fn losses_given(fields: &Fields<'_>) -> bool {
    ["fittings", "k"].iter().any(|key| fields.get(key).is_some())
}

pub(crate) fn optional_level(
    cx: &mut Context<'_>,
    fields: &Fields<'_>,
    key: &str,
) -> Option<Length> {
    fields.get(key).and_then(|field| cx.level(&field))
}

fn required_level(
    cx: &mut Context<'_>,
    fields: &Fields<'_>,
    key: &str,
    what: &str,
) -> Option<Length> {
    let example = match cx.units {
        UnitSystem::Us => "98.60 ft",
        UnitSystem::Si => "30.05 m",
    };
    let field = fields.require(cx, key, &format!("{what}, such as `{example}`"))?;
    cx.level(&field)
}

fn gutter(cx: &mut Context<'_>, field: &Field<'_>, gutters: &[Gutter]) -> Option<usize> {
    let tag = field.text(cx, "the tag of a gutter")?.trim();
    let found = gutters.iter().position(|gutter| gutter.tag == tag);
    if found.is_none() {
        let message = format!("no gutter has the tag `{}`", short(tag));
        let known = gutters.iter().map(|gutter| gutter.tag.as_str());
        let at = (field.span(), &field.path);
        cx.unknown(Code::Reference, at, message, "a tag of `gutters:`", tag, known);
    }
    found
}

fn plan_point(cx: &mut Context<'_>, field: &Field<'_>) -> Option<PlanPoint> {
    const EXPECTED: &str = "two distances in plan, such as [12 ft, 30 ft]";
    let items = field.list(cx, EXPECTED)?;
    let [x, y] = items.as_slice() else {
        cx.fault(Code::Shape, field, "a place in plan has two coordinates", EXPECTED);
        return None;
    };
    let (x, y) = (cx.level(x), cx.level(y));
    Some(PlanPoint { x: x?, y: y? })
}

fn words(key: &str) -> String {
    key.replace('_', " ")
}
