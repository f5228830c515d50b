//! What the water is used for: the sections `uses` and `transfers`.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::site::{Transfer, Use};
use crate::tags::{self, Tags};
use crate::tree::Value;
use crate::values::short;
use wetrun_network::TankId;
use wetrun_units::{Flow, Fraction, Kind, UnitSystem};

/// The tag of a tank, as messages ask for it.
const TANK: &str = "the tag of a tank";
/// No use takes and no pump gives more, in m³/s.
const MOST_M3_PER_S: f64 = 100.0;

/// Reads the section `uses`.
pub(crate) fn uses(cx: &mut Context<'_>, root: &Fields<'_>, tags: &Tags<'_>) -> Vec<Use> {
    let Some(section) = root.get("uses") else { return Vec::new() };
    let entries = section.entries(cx, "uses by name").unwrap_or_default();
    entries.iter().filter_map(|entry| one_use(cx, entry, tags)).collect()
}

/// Reads the section `transfers`.
pub(crate) fn transfers(cx: &mut Context<'_>, root: &Fields<'_>, tags: &Tags<'_>) -> Vec<Transfer> {
    let Some(section) = root.get("transfers") else { return Vec::new() };
    let entries = section.entries(cx, "transfers by name").unwrap_or_default();
    entries.iter().filter_map(|entry| transfer(cx, entry, tags)).collect()
}

fn one_use(cx: &mut Context<'_>, entry: &Field<'_>, tags: &Tags<'_>) -> Option<Use> {
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::USE)?;
    let takes = fields
        .require(cx, "takes", "what it takes, such as `120 gal/d` or `450 L/d`")
        .and_then(|field| flow(cx, &field));
    let from = fields
        .require(cx, "from", "a tank, or several: [T2, T3]")
        .and_then(|field| tanks(cx, &field, tags));
    let months = match fields.get("months") {
        Some(field) => months(cx, &field),
        None => Some([true; 12]),
    };
    Some(Use { tag, takes: takes?, from: from?, months: months? })
}

fn transfer(cx: &mut Context<'_>, entry: &Field<'_>, tags: &Tags<'_>) -> Option<Transfer> {
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::TRANSFER)?;
    let from = fields.require(cx, "from", TANK);
    let from = from.and_then(|field| tags.refer(cx, &field, TANK, tags::tank));
    let to_field = fields.require(cx, "to", TANK);
    let to = to_field.and_then(|field| tags.refer(cx, &field, TANK, tags::tank));
    if let (Some(from), Some(to), Some(field)) = (from, to, to_field)
        && from == to
    {
        let message = "a transfer from a tank to itself moves nothing";
        cx.fault(Code::Layout, &field, message, "the tag of another tank");
        return None;
    }
    let rate = fields
        .require(cx, "rate", "the pump's flow, such as `8 gpm` or `30 L/min`")
        .and_then(|field| flow(cx, &field));
    let share = |cx: &mut Context<'_>, key| fields.get(key).map(|field| cx.fraction(&field));
    let (when_below, until, leaves) =
        (share(cx, "when_below"), share(cx, "until"), share(cx, "leaves"));
    let whole = Some(Fraction::ratio(1.0));
    Some(Transfer {
        tag,
        from: from?,
        to: to?,
        rate: rate?,
        when_below: when_below.unwrap_or(whole)?,
        until: until.unwrap_or(whole)?,
        leaves: match leaves {
            Some(read) => Some(read?),
            None => None,
        },
    })
}

/// A flow, 0 or more.
fn flow(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Flow> {
    let flow = cx.value(field, Kind::Flow, UnitSystem::read_flow)?;
    let fits = (0.0..=MOST_M3_PER_S).contains(&flow.to_m3_per_s());
    cx.within(fits, field, flow, "a flow", keys::FLOW.range)
}

/// One tank or a list of them, each once.
fn tanks(cx: &mut Context<'_>, field: &Field<'_>, tags: &Tags<'_>) -> Option<Vec<TankId>> {
    if !matches!(field.node.value, Value::List(_)) {
        return tags.refer(cx, field, TANK, tags::tank).map(|one| vec![one]);
    }
    let items = field.list(cx, "a tank, or several: [T2, T3]")?;
    if items.is_empty() {
        cx.fault(Code::Value, field, "no tank is named", "one tank at least");
        return None;
    }
    let mut found = Vec::with_capacity(items.len());
    for item in &items {
        let Some(tank) = tags.refer(cx, item, TANK, tags::tank) else { continue };
        if found.contains(&tank) {
            cx.fault(Code::Value, item, "this tank is named twice", "each tank once");
            continue;
        }
        found.push(tank);
    }
    (found.len() == items.len()).then_some(found)
}

/// The months in which a use takes water, by number.
fn months(cx: &mut Context<'_>, field: &Field<'_>) -> Option<[bool; 12]> {
    const EXPECTED: &str = "months from 1 to 12, such as [5, 6, 7]";
    let items = match field.node.value {
        Value::List(_) => field.list(cx, EXPECTED)?,
        _ => vec![*field],
    };
    let mut months = [false; 12];
    let mut all = true;
    for item in &items {
        let text = item.text(cx, EXPECTED);
        let month = text.and_then(|text| text.trim().parse::<usize>().ok());
        match month.and_then(|month| months.get_mut(month.wrapping_sub(1))) {
            Some(taken) => *taken = true,
            None => {
                all = false;
                if let Some(text) = text {
                    let message = format!("`{}` is no month", short(text));
                    cx.fault(Code::Value, item, message, EXPECTED);
                }
            }
        }
    }
    all.then_some(months)
}
