//! What differs between two site files: value by value, whatever the order and the units.

use std::collections::BTreeMap;
use wetrun_site::Site;
use wetrun_units::{Length, UnitSystem};

/// A value that differs.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Change {
    /// The key path.
    pub key: String,
    /// What the first file says, `None` where it has no such key.
    pub before: Option<String>,
    /// What the second file says.
    pub after: Option<String>,
    /// By how much a length grew, where both are lengths.
    pub by: Option<Length>,
}

/// What differs, in the order of the first file, then what only the second has.
///
/// A value counts as the same where both texts are the same quantity: `4 in` and `101.6 mm`.
pub(crate) fn changes(before: &Site, after: &Site) -> Vec<Change> {
    let (old, new) = (before.values(), after.values());
    let new_by_key: BTreeMap<&str, &str> =
        new.iter().map(|(key, text)| (key.as_str(), text.as_str())).collect();
    let old_by_key: BTreeMap<&str, &str> =
        old.iter().map(|(key, text)| (key.as_str(), text.as_str())).collect();
    let mut found = Vec::new();
    for (key, text) in &old {
        match new_by_key.get(key.as_str()) {
            Some(now) if same(key, (before.units, text), (after.units, now)) => {}
            now => found.push(Change {
                key: key.clone(),
                before: Some(text.clone()),
                after: now.map(|now| (*now).to_owned()),
                by: now.and_then(|now| growth((before.units, text), (after.units, now))),
            }),
        }
    }
    for (key, text) in &new {
        if !old_by_key.contains_key(key.as_str()) {
            let after = Some(text.clone());
            found.push(Change { key: key.clone(), before: None, after, by: None });
        }
    }
    found
}

/// Whether two texts say the same.
fn same(key: &str, a: (UnitSystem, &str), b: (UnitSystem, &str)) -> bool {
    if a.1 == b.1 && (a.0 == b.0 || a.1.contains(|c: char| c.is_alphabetic())) {
        return true;
    }
    // The unit system itself is no quantity, and a name that reads like one is none either.
    if key == "units" || key == "name" {
        return false;
    }
    let close = |x: Option<f64>, y: Option<f64>| match (x, y) {
        (Some(x), Some(y)) => Some((x - y).abs() <= 1e-9 * x.abs().max(y.abs()).max(1e-9)),
        _ => None,
    };
    KINDS.iter().filter_map(|read| close(read(a.0, a.1), read(b.0, b.1))).any(|equal| equal)
        && KINDS.iter().filter_map(|read| close(read(a.0, a.1), read(b.0, b.1))).all(|e| e)
}

/// How much longer or higher the second is.
fn growth(a: (UnitSystem, &str), b: (UnitSystem, &str)) -> Option<Length> {
    let written = |text: &str| text.contains(|c: char| c.is_alphabetic() || c == '\'' || c == '"');
    let level = |(units, text): (UnitSystem, &str)| units.read_level(text).ok();
    (written(a.1) && written(b.1)).then_some(())?;
    Some(level(b)? - level(a)?)
}

type Read = fn(UnitSystem, &str) -> Option<f64>;

/// The kinds of quantity a text can be, each to its SI number.
const KINDS: [Read; 9] = [
    |units, text| units.read_level(text).ok().map(|x| x.to_m()),
    |units, text| units.read_size(text).ok().map(|x| x.to_m()),
    |units, text| units.read_area(text).ok().map(|x| x.to_m2()),
    |units, text| units.read_volume(text).ok().map(|x| x.to_m3()),
    |units, text| units.read_intensity(text).ok().map(|x| x.to_m_per_s()),
    |units, text| units.read_fraction(text).ok().map(|x| x.to_ratio()),
    |units, text| units.read_slope(text).ok().map(|x| x.to_ratio()),
    |units, text| units.read_flow(text).ok().map(|x| x.to_m3_per_s()),
    |units, text| units.read_temperature(text).ok().map(|x| x.to_celsius()),
];
