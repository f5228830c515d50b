//! One folder of `fixtures/validation` as it is read.

use std::collections::BTreeMap;

use serde_yaml::{Mapping, Value as Yaml};

use super::{laws, network, site};
use crate::support::root;

/// Results by row and quantity, in SI.
pub(super) type Results = BTreeMap<String, BTreeMap<String, f64>>;

/// Where an expected value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    /// Read in the document named.
    Read,
    /// Read in a copy, transcription or quotation of it.
    SecondHand,
    /// Worked anew, by a named library or by hand.
    Recomputed,
    /// From memory.
    Recalled,
    /// What the trade does, without a source.
    CommonPractice,
}

impl Mark {
    fn read(text: &str) -> Self {
        match text {
            "read" => Self::Read,
            "second-hand" => Self::SecondHand,
            "recomputed" => Self::Recomputed,
            "recalled" => Self::Recalled,
            "common practice" => Self::CommonPractice,
            other => panic!("`{other}` is no mark"),
        }
    }

    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "second-hand",
            Self::Recomputed => "recomputed",
            Self::Recalled => "recalled",
            Self::CommonPractice => "common practice",
        }
    }
}

/// An expected value.
#[derive(Clone, Debug)]
pub(super) struct Value {
    pub(super) row: String,
    pub(super) quantity: String,
    /// As it is printed.
    pub(super) printed: String,
    pub(super) number: f64,
    pub(super) unit: String,
    /// Tolerance in that unit: half a unit of the last printed digit unless the file says.
    pub(super) within: f64,
    pub(super) mark: Mark,
    /// Who says so, where it is not the source of the case.
    pub(super) by: Option<String>,
    /// What is known to be wrong with it.
    pub(super) flaw: Option<String>,
    pub(super) note: Option<String>,
}

/// A case.
pub(super) struct Case {
    pub(super) name: String,
    pub(super) group: String,
    pub(super) source: String,
    pub(super) values: Vec<Value>,
}

impl Case {
    pub(super) fn read(name: &str) -> Self {
        let file = yaml(name, "expected.yaml");
        let text = |map: &Mapping, key: &str| map.get(key).map(|v| words(v).to_owned());
        let need = |key| text(&file, key).unwrap_or_else(|| panic!("{name} lacks `{key}`"));
        let (mark, by) = (need("mark"), text(&file, "by"));
        known(name, &file, &["group", "source", "mark", "by", "values"]);
        let value = |entry: &Yaml| {
            let entry = entry.as_mapping().unwrap();
            let keys = ["row", "quantity", "value", "unit", "within", "mark", "by", "flaw", "note"];
            known(name, entry, &keys);
            let printed = words(&entry["value"]).to_owned();
            let number: f64 = printed.parse().unwrap_or_else(|_| panic!("{name}: {printed}"));
            let own_mark = text(entry, "mark");
            let own_by = text(entry, "by");
            let within = match entry.get("within") {
                None => 0.5 * last_digit(&printed),
                Some(Yaml::Number(n)) => n.as_f64().unwrap(),
                Some(share) => {
                    let percent = words(share).strip_suffix(" %").expect("a share in %");
                    percent.parse::<f64>().unwrap() / 100.0 * number.abs()
                }
            };
            Value {
                row: text(entry, "row").unwrap_or_default(),
                quantity: words(&entry["quantity"]).to_owned(),
                number,
                printed,
                unit: text(entry, "unit").unwrap_or_default(),
                within,
                by: own_by.or_else(|| by.clone().filter(|_| own_mark.is_none())),
                mark: Mark::read(own_mark.as_deref().unwrap_or(&mark)),
                flaw: text(entry, "flaw"),
                note: text(entry, "note"),
            }
        };
        Self {
            name: name.to_owned(),
            group: need("group"),
            source: need("source"),
            values: file["values"].as_sequence().unwrap().iter().map(value).collect(),
        }
    }

    /// What our laws, our solver or our program say.
    pub(super) fn results(&self) -> Results {
        let folder = root().join("fixtures/validation").join(&self.name);
        if folder.join("site.yaml").is_file() {
            let asked = self.values.iter().map(|v| v.quantity.as_str());
            return site::results(&self.name, asked);
        }
        let mut inputs = yaml(&self.name, "inputs.yaml");
        let law = words(&inputs.remove("law").expect("a law")).to_owned();
        if law == "network" {
            return [(String::new(), network::results(&inputs))].into();
        }
        let Some(Yaml::Mapping(rows)) = inputs.remove("rows") else { panic!("rows") };
        let row = |(name, own): (Yaml, Yaml)| {
            let mut all = inputs.clone();
            all.extend(own.as_mapping().unwrap().clone());
            (words(&name).to_owned(), laws::results(&law, &laws::Inputs(all)))
        };
        rows.into_iter().map(row).collect()
    }
}

/// One unit of the last printed digit.
fn last_digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, digits)| digits.len());
    10f64.powi(-i32::try_from(decimals).unwrap())
}

fn yaml(name: &str, file: &str) -> Mapping {
    let path = root().join("fixtures/validation").join(name).join(file);
    let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{name}/{file}: {e}"));
    serde_yaml::from_str(&text).unwrap_or_else(|e| panic!("{name}/{file}: {e}"))
}

fn known(name: &str, map: &Mapping, keys: &[&str]) {
    for key in map.keys() {
        assert!(keys.contains(&words(key)), "{name}: unknown key {key:?}");
    }
}

pub(super) fn words(value: &Yaml) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value:?} is not text"))
}

/// A number in SI, or `NUMBER UNIT`.
pub(super) fn quantity(value: &Yaml) -> f64 {
    match value {
        Yaml::Number(n) => n.as_f64().unwrap(),
        text => {
            let (number, name) = words(text).split_once(' ').expect("a number and a unit");
            number.parse::<f64>().unwrap() * unit(name)
        }
    }
}

/// Units in SI, by their definitions: the inch of 25.4 mm, the pound of 0.45359237 kg, the US
/// gallon of 231 cubic inches.
pub(super) fn unit(name: &str) -> f64 {
    const FT: f64 = 0.3048;
    const GALLON: f64 = 231.0 * 0.0254 * 0.0254 * 0.0254;
    const POUND: f64 = 0.453_592_37;
    const G: f64 = 9.80665;
    match name {
        "" | "m" | "m/s" | "m3/s" | "m3" | "s" | "Pa" | "kg/m3" => 1.0,
        "ft" | "ft/s" | "ft/s2" => FT,
        "in" => FT / 12.0,
        "mm" | "L/s" => 1e-3,
        "mm2" | "mm2/s" => 1e-6,
        "ft2/s" => FT * FT,
        "ft3" | "ft3/s" => FT * FT * FT,
        "gpm" => GALLON / 60.0,
        "L/min" => 1e-3 / 60.0,
        "min" => 60.0,
        "kPa" | "kN" | "kN/m3" => 1e3,
        "psi" => POUND * G / (FT / 12.0).powi(2),
        "kip" => 1e3 * POUND * G,
        "lb/ft3" => POUND / (FT * FT * FT),
        other => panic!("`{other}` is no unit"),
    }
}
