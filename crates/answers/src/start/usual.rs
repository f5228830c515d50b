//! What is asked about a new site, and what is taken where nobody answers.

use crate::outcome::Refusal;
use wetrun_site::keys::BRIEF;
use wetrun_site::{Brief, read_brief};
use wetrun_units::{Area, Intensity, Length, UnitSystem, Volume, trimmed};

/// A question about a new site.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Question {
    /// Its key, as in an answers file.
    pub key: &'static str,
    /// What its answer is, in one word in capitals.
    pub holds: &'static str,
    /// What is asked, in a few words.
    pub asks: &'static str,
    /// The same in a sentence, for whoever wants to know more.
    pub more: &'static str,
}

impl Question {
    /// Whether other answers are read by this one.
    pub fn settles(&self) -> bool {
        self.key == UNITS
    }
}

/// What is taken where nobody answers.
#[derive(Clone, Copy, Debug)]
enum Usual {
    /// The same in every file.
    Text(&'static str),
    /// Feet and inches, or metres and millimetres.
    In { us: &'static str, si: &'static str },
    /// What follows from other answers.
    From(fn(&Brief, UnitSystem) -> String),
}

/// What is asked, in the order of the keys: the key, what its answer is, the words, the usual answer.
const ASKED: [(&str, &str, &str, Usual); 12] = [
    (UNITS, "UNITS", "units of the file, us or si", Usual::Text(USUAL_UNITS.name())),
    ("name", "NAME", "name of the job", Usual::Text("New site")),
    (
        "eaves",
        "HEIGHTS",
        "height of the gutter outlets above the ground",
        Usual::In { us: "10 ft", si: "3 m" },
    ),
    ("downspouts", "COUNT", "how many downspouts", Usual::From(downspouts)),
    ("spacing", "LENGTH", "how far apart along the wall", Usual::In { us: "20 ft", si: "6 m" }),
    (
        "roof",
        "AREA",
        "roof area in plan that drains to them all",
        Usual::In { us: "1000 sq ft", si: "100 m2" },
    ),
    (
        "rain",
        "RAIN",
        "peak rain, the mean of 5 minutes",
        Usual::In { us: "5 in/h", si: "120 mm/h" },
    ),
    (
        "tank",
        "VOLUME",
        "volume of the tank to its overflow",
        Usual::In { us: "2500 gal", si: "9500 L" },
    ),
    ("inlet", "HEIGHT", "height of the tank's inlet above the ground", Usual::From(inlet)),
    (
        "distance",
        "LENGTH",
        "from the last downspout to the tank",
        Usual::In { us: "30 ft", si: "10 m" },
    ),
    (
        "depth",
        "LENGTH",
        "depth of the buried line where it begins",
        Usual::In { us: "2 ft", si: "0.6 m" },
    ),
    ("pipes", "TYPE", "type of the pipes", Usual::In { us: "pvc-sch40", si: "pvc-en1401-sn4" }),
];

/// The key by which bare numbers are read.
const UNITS: &str = "units";

/// The units where nobody says any: those of the usual answers.
const USUAL_UNITS: UnitSystem = UnitSystem::Us;

/// The questions, in the order they are asked.
pub fn questions() -> impl Iterator<Item = Question> {
    ASKED.iter().map(|(key, holds, asks, _)| Question {
        key,
        holds,
        asks,
        more: BRIEF.key(key).map_or("", |key| key.meaning()),
    })
}

/// What was answered before anybody is asked: a text for each of some questions, and behind those a
/// file of answers with its name.
///
/// Bare numbers are read once the units are known, whatever stands first: those of the file in the units
/// that it says itself, else in those answered beside it; those beside it likewise, else in the file's.
///
/// # Errors
/// As [`answered`], naming the key as an option (`--rain: …`); the faults of the file at their places; a
/// refusal where heights and downspouts of the two do not go together.
pub fn given(answers: &[(&str, &str)], file: Option<(&[u8], &str)>) -> Result<Brief, Refusal> {
    let option = |brief: &Brief, (key, text): (&str, &str)| {
        answered(brief, key, text)
            .map_err(|refusal| Refusal::because(format_args!("--{key}: {refusal}")))
    };
    let mut brief = Brief::default();
    for answer in answers.iter().filter(|(key, _)| *key == UNITS) {
        brief = option(&brief, *answer)?;
    }
    let behind = match file {
        Some((bytes, name)) => read_brief(bytes, name, brief.units.unwrap_or(USUAL_UNITS))?,
        None => Brief::default(),
    };
    brief.units = brief.units.or(behind.units);
    for answer in answers.iter().filter(|(key, _)| *key != UNITS) {
        brief = option(&brief, *answer)?;
    }
    agreed(brief.or(behind))
}

/// A brief whose heights and downspouts go together.
fn agreed(brief: Brief) -> Result<Brief, Refusal> {
    match (brief.eaves.as_deref().map_or(0, <[Length]>::len), brief.downspouts) {
        (heights, Some(count)) if heights > 1 && heights as u64 != u64::from(count) => {
            Err(Refusal::because(format_args!(
                "there are {heights} heights of gutter outlets for {count} downspouts: one for all, or \
                 one for each downspout"
            )))
        }
        _ => Ok(brief),
    }
}

/// A brief with one more answer, read as a value of a site file is.
///
/// # Errors
/// A refusal in the words of the site file's own errors, without a place.
pub fn answered(brief: &Brief, key: &str, text: &str) -> Result<Brief, Refusal> {
    // A text of JSON is one of YAML, whatever it holds.
    let value = |text: &str| serde_json::Value::from(text).to_string();
    let file = format!("{}: {}\n", value(key), value(text));
    let units = brief.units.unwrap_or(USUAL_UNITS);
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
    agreed(read.or(brief.clone()))
}

/// What is taken where a question is not answered, as it may be typed.
pub fn usual(brief: &Brief, key: &str) -> String {
    let units = brief.units.unwrap_or(USUAL_UNITS);
    match ASKED.iter().find(|(asked, ..)| *asked == key) {
        Some((.., Usual::Text(text))) => (*text).to_owned(),
        Some((.., Usual::In { us, si })) => match units {
            UnitSystem::Us => (*us).to_owned(),
            UnitSystem::Si => (*si).to_owned(),
        },
        Some((.., Usual::From(answers))) => answers(brief, units),
        None => String::new(),
    }
}

/// One for each height that was given.
fn downspouts(brief: &Brief, _: UnitSystem) -> String {
    match brief.eaves.as_deref() {
        Some(eaves) if eaves.len() > 1 => eaves.len().to_string(),
        _ => "2".to_owned(),
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
    format!("{} {unit}", trimmed(inlet_m / m_per_unit, places))
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
