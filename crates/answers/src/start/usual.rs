//! What is asked about a new site, and what is taken where nobody answers.

use crate::outcome::Refusal;
use wetrun_site::keys::BRIEF;
use wetrun_site::{Brief, read_brief};
use wetrun_units::{Area, Intensity, Length, UnitSystem, Volume, decimal};

/// A question about a new site.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Question {
    /// Its key, as in an answers file.
    pub key: &'static str,
    /// What is asked, in a few words.
    pub asks: &'static str,
    /// The same in a sentence, for whoever wants to know more.
    pub more: &'static str,
}

/// What is asked, in the order of the keys.
const ASKED: [(&str, &str); 12] = [
    ("units", "units of the file, us or si"),
    ("name", "name of the job"),
    ("eaves", "height of the gutter outlets above the ground"),
    ("downspouts", "how many downspouts"),
    ("spacing", "how far apart along the wall"),
    ("roof", "roof area in plan that drains to them all"),
    ("rain", "peak rain, the mean of 5 minutes"),
    ("tank", "volume of the tank to its overflow"),
    ("inlet", "height of the tank's inlet above the ground"),
    ("distance", "from the last downspout to the tank"),
    ("depth", "depth of the buried line where it begins"),
    ("pipes", "type of the pipes"),
];

/// The questions, in the order they are asked.
pub fn questions() -> impl Iterator<Item = Question> {
    ASKED.iter().map(|(key, asks)| Question {
        key,
        asks,
        more: BRIEF.key(key).map_or("", |key| key.meaning()),
    })
}

/// A brief with one more answer, read as a value of a site file is.
///
/// # Errors
/// A refusal in the words of the site file's own errors, without a place.
pub fn answered(brief: &Brief, key: &str, text: &str) -> Result<Brief, Refusal> {
    // A text of JSON is one of YAML, whatever it holds.
    let value = |text: &str| serde_json::Value::from(text).to_string();
    let mut file = format!("{}: {}\n", value(key), value(text));
    // Heights and downspouts are held against each other.
    if let (true, Some(count)) = (key == "eaves", brief.downspouts) {
        file.push_str(&format!("downspouts: {count}\n"));
    }
    let units = brief.units.unwrap_or(UnitSystem::Us);
    let read = read_brief(&file, "", units).map_err(|faults| {
        let told = faults.list().first().map(|fault| {
            let mut told = fault.message.clone();
            if !fault.expected.is_empty() {
                told.push_str(&format!("; expected {}", fault.expected));
            }
            if let Some(near) = &fault.nearest {
                told.push_str(&format!("; the nearest known name is `{near}`"));
            }
            told
        });
        // As it was typed, not as it was quoted for the reader.
        Refusal::because(told.unwrap_or_default().replace(&value(text), text))
    })?;
    if let (Some(eaves), Some(count)) = (&brief.eaves, read.downspouts)
        && key == "downspouts"
        && eaves.len() > 1
        && eaves.len() as u64 != u64::from(count)
    {
        return Err(Refusal::because(format_args!(
            "there are {} heights of gutter outlets: one for all, or one for each downspout",
            eaves.len()
        )));
    }
    Ok(read.or(brief.clone()))
}

/// What is taken where a question is not answered, as it may be typed.
pub fn usual(brief: &Brief, key: &str) -> String {
    let units = brief.units.unwrap_or(UnitSystem::Us);
    let of = |us: &str, si: &str| match units {
        UnitSystem::Us => us.to_owned(),
        UnitSystem::Si => si.to_owned(),
    };
    match key {
        "units" => "us".to_owned(),
        "name" => "New site".to_owned(),
        "eaves" => of("10 ft", "3 m"),
        "downspouts" => match brief.eaves.as_deref() {
            Some(eaves) if eaves.len() > 1 => eaves.len().to_string(),
            _ => "2".to_owned(),
        },
        "spacing" => of("20 ft", "6 m"),
        "roof" => of("1000 sq ft", "100 m2"),
        "rain" => of("5 in/h", "120 mm/h"),
        "tank" => of("2500 gal", "9500 L"),
        "inlet" => inlet(brief, units),
        "distance" => of("30 ft", "10 m"),
        "depth" => of("2 ft", "0.6 m"),
        "pipes" => of("pvc-sch40", "pvc-en1401-sn4"),
        _ => String::new(),
    }
}

/// Two feet below the lowest gutter, or half its height.
fn inlet(brief: &Brief, units: UnitSystem) -> String {
    let lowest_m = brief.eaves.iter().flatten().map(|eave| eave.to_m());
    let lowest_m = lowest_m.fold(f64::INFINITY, f64::min);
    let (below_m, m_per_unit, places, unit) = match units {
        UnitSystem::Us => (0.6096, 0.3048, 2, "ft"),
        UnitSystem::Si => (0.6, 1.0, 3, "m"),
    };
    let lowest_m = if lowest_m.is_finite() { lowest_m } else { 10.0 * m_per_unit };
    let inlet_m = (lowest_m - below_m).max(lowest_m / 2.0);
    let text = decimal(inlet_m / m_per_unit, places);
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

/// Every question answered.
#[derive(Clone, Debug)]
pub(super) struct Answers {
    pub(super) units: UnitSystem,
    pub(super) name: String,
    pub(super) eaves: Vec<Length>,
    pub(super) downspouts: u32,
    pub(super) spacing: Length,
    pub(super) roof: Area,
    pub(super) rain: Intensity,
    pub(super) tank: Volume,
    pub(super) inlet: Length,
    pub(super) distance: Length,
    pub(super) depth: Length,
    pub(super) pipes: String,
    /// The keys that nobody answered, and what was taken for each.
    pub(super) assumed: Vec<(&'static str, String)>,
}

impl Answers {
    /// The answers of a brief, the usual where it has none.
    pub(super) fn of(brief: &Brief) -> Result<Self, Refusal> {
        let mut all = brief.clone();
        let mut assumed = Vec::new();
        for question in questions() {
            let text = usual(&all, question.key);
            let with = answered(&all, question.key, &text)?;
            let more = all.clone().or(with);
            if more != all {
                assumed.push((question.key, text));
                all = more;
            }
        }
        let lacks = || Refusal::because("an answer is missing");
        Ok(Self {
            units: all.units.ok_or_else(lacks)?,
            name: all.name.ok_or_else(lacks)?,
            eaves: all.eaves.ok_or_else(lacks)?,
            downspouts: all.downspouts.ok_or_else(lacks)?,
            spacing: all.spacing.ok_or_else(lacks)?,
            roof: all.roof.ok_or_else(lacks)?,
            rain: all.rain.ok_or_else(lacks)?,
            tank: all.tank.ok_or_else(lacks)?,
            inlet: all.inlet.ok_or_else(lacks)?,
            distance: all.distance.ok_or_else(lacks)?,
            depth: all.depth.ok_or_else(lacks)?,
            pipes: all.pipes.ok_or_else(lacks)?,
            assumed,
        })
    }
}
