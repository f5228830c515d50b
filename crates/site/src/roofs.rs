//! Roofs, and the shares of each for its downspouts.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::site::{Roof, Share};
use crate::tags::{self, Tags};
use crate::tree::Value;
use wetrun_network::DownspoutId;
use wetrun_units::{Area, Fraction, Kind, Length, Time, UnitSystem};

/// Shares sum to the whole within this: a tenth of a per cent.
const CLOSE: f64 = 0.001 + 1e-12;

impl Roof {
    /// The area a share of this roof counts with: area × runoff × share.
    pub(crate) fn catchment(&self, share: &Share) -> Area {
        self.area * (self.runoff.to_ratio() * share.share.to_ratio())
    }
}

/// Reads the section `roofs`.
pub(crate) fn roofs(
    cx: &mut Context<'_>,
    root: &Fields<'_>,
    tags: &Tags<'_>,
    wetting: Length,
) -> Vec<Roof> {
    let Some(section) = root.get("roofs") else { return Vec::new() };
    let entries = section.entries(cx, "roofs by tag").unwrap_or_default();
    entries.iter().filter_map(|entry| roof(cx, entry, tags, wetting)).collect()
}

fn roof(cx: &mut Context<'_>, entry: &Field<'_>, tags: &Tags<'_>, wetting: Length) -> Option<Roof> {
    let tag = cx.tag(entry);
    let fields = Fields::open(cx, entry, &keys::ROOF)?;
    let area = fields
        .require(cx, "area", "the area in plan, such as `640 sq ft` or `59.5 m2`")
        .and_then(|field| cx.area(&field));
    let runoff = match fields.get("runoff") {
        Some(field) => cx.fraction(&field),
        None => Some(Fraction::ratio(1.0)),
    };
    let wetting = match fields.get("wetting") {
        Some(field) => cx.rain_depth(&field),
        None => Some(wetting),
    };
    let lag = match fields.get("lag") {
        Some(field) => lag(cx, &field),
        None => Some(LAG),
    };
    let shares = fields
        .require(cx, "to", "a downspout, or shares such as { D2: 50 %, D3: 50 % }")
        .and_then(|field| shares(cx, &field, tags));
    let (area, runoff) = (area?, runoff?);
    Some(Roof { tag, area, runoff, wetting: wetting?, lag: lag?, shares: shares? })
}

/// The lag of a roof where the file says nothing: common practice, about the time that water takes
/// down a small roof and along its gutter.
const LAG: Time = Time::s(60.0);

fn lag(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Time> {
    let lag = cx.value(field, Kind::Time, UnitSystem::read_time)?;
    if (0.0..=86_400.0).contains(&lag.to_s()) {
        return Some(lag);
    }
    cx.fault(Code::Range, field, "no roof lags so long", "0 s or more, at most 1 d");
    None
}

fn shares(cx: &mut Context<'_>, field: &Field<'_>, tags: &Tags<'_>) -> Option<Vec<Share>> {
    const EXPECTED: &str = "the tag of a downspout";
    if let Value::Text(_) = field.node.value {
        let to = tags.refer(cx, field, EXPECTED, tags::downspout)?;
        return Some(vec![Share { to, share: Fraction::ratio(1.0) }]);
    }
    let entries = field.entries(cx, "a downspout, or shares such as { D2: 50 %, D3: 50 % }")?;
    let (mut shares, mut sum) = (Vec::with_capacity(entries.len()), 0.0);
    let mut counted = true;
    for entry in &entries {
        let at = (entry.key_at, entry.path.name());
        let to: Option<DownspoutId> = tags.find(cx, at, entry, EXPECTED, tags::downspout);
        let share = cx.fraction(entry);
        counted &= share.is_some();
        sum += share.unwrap_or_default().to_ratio();
        if let (Some(to), Some(share)) = (to, share) {
            shares.push(Share { to, share });
        }
    }
    if counted && (sum - 1.0).abs() > CLOSE {
        let sum = cx.units.show_fraction(Fraction::ratio(sum));
        let message = format!("the shares sum to {sum}, not to 100 %");
        cx.fault(Code::Shares, field, message, "shares that sum to 100 %");
        return None;
    }
    (counted && shares.len() == entries.len()).then_some(shares)
}
