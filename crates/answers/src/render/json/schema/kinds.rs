//! What can stand under a key, as schemas.

use super::{Part, section};
use crate::render::json::object;
use serde_json::{Value as Json, json};
use wetrun_site::keys::{Amount, Key, LONGEST_NAME, LONGEST_TEXT, Least, MOST_COUNT, Range, Value};
use wetrun_units::{Kind, UnitSystem, pattern, pattern_behind, placeholder_pattern, zero_pattern};

/// The schema of what stands under a key.
pub(super) fn value(key: &Key, part: Part) -> Json {
    match &key.value {
        Value::Version => json!({ "enum": [1, "1"] }),
        Value::Amount(amount) => refer(&name_of(amount)),
        Value::AmountOr(amount, keys) => any_of([refer(&name_of(amount)), section(keys, part)]),
        Value::Number(range) => refer(&name_of_range(range)),
        Value::NumberOr(range, keys) => any_of([refer(&name_of_range(range)), section(keys, part)]),
        Value::YesNo => refer("yes or no"),
        Value::Text | Value::Limit => refer("text"),
        Value::Name => refer("name"),
        Value::Choice(words) => json!({ "enum": words }),
        Value::Tag(_) | Value::TankOrGround => refer("tag"),
        Value::Tanks => some_of(refer("tag"), 1),
        Value::Section(keys) => section(keys, part),
        Value::Items(keys) => items(section(keys, part), keys.taken),
        Value::Stations(keys) => match part {
            Part::Whole => list(section(keys, part), 2),
            Part::Shown => json!({}),
        },
        Value::Pipe { keys, open } => {
            let text = refer("pipe");
            let keys = section(keys, part);
            if *open { any_of([text, keys]) } else { any_of([text, fixed(keys)]) }
        }
        Value::Sizes => {
            let size = refer(&name_of_kind(Kind::Size, Least::MoreThanZero));
            any_of([json!({ "const": "any" }), size.clone(), list(size, 1)])
        }
        Value::Fittings => map(refer("count")),
        Value::Shares => {
            let fraction = refer(&name_of_kind(Kind::Fraction, Least::Zero));
            any_of([refer("tag"), at_least_one(map(fraction))])
        }
        Value::Prices => {
            let size = json!({ "pattern": pattern(Kind::Size, false) });
            map(named(map(refer(&name_of_range(&Range::ANY))), size))
        }
        Value::Depths => {
            let depth = refer(&name_of_kind(Kind::Size, Least::Zero));
            let time = json!({ "pattern": pattern(Kind::Time, false) });
            named(at_least_one(map(depth)), time)
        }
        Value::Course { rain, nested } => any_of([
            json!({ "const": "nested" }),
            list(section(rain, part), 1),
            section(nested, part),
        ]),
        Value::Months => {
            let month = json!({ "type": ["integer", "string"], "minimum": 1, "maximum": 12,
                                "pattern": r"^\s*\+?0*([1-9]|1[0-2])\s*$" });
            any_of([month.clone(), list(month, 0)])
        }
        Value::Start => {
            let share = json!({ "type": "string", "pattern": pattern(Kind::Fraction, false) });
            any_of([refer(&name_of_kind(Kind::Level, Least::Any)), share])
        }
        Value::Place => {
            let mut two = list(refer(&name_of_kind(Kind::Level, Least::Any)), 2);
            if let Some(keys) = two.as_object_mut() {
                keys.insert("maxItems".to_owned(), json!(2));
            }
            two
        }
        Value::Texts => some_of(refer("text"), 0),
        Value::Cap { level: false } => json!({ "const": "sealed" }),
        Value::Cap { level: true } => {
            any_of([json!({ "const": "sealed" }), refer(&name_of_kind(Kind::Level, Least::Any))])
        }
        Value::Device(keys) => any_of([json!({ "enum": ["no", "none"] }), section(keys, part)]),
    }
}

/// The definitions that the schemas of values refer to.
pub(super) fn definitions() -> Json {
    let text = json!({ "type": ["string", "number", "boolean"] });
    let of_length = |most: usize| {
        // The first and the last character can be seen.
        let between = most - 2;
        let inner = format!(r"^\s*\S(?:[\s\S]{{0,{between}}}\S)?\s*$");
        let mut text = text.clone();
        if let Some(keys) = text.as_object_mut() {
            keys.insert("pattern".to_owned(), json!(inner));
        }
        text
    };
    let number = |range: &Range| {
        let bound = if range.above { "exclusiveMinimum" } else { "minimum" };
        json!({ "type": ["number", "string"], bound: range.least, "maximum": range.most,
                "pattern": r"^\s*\+?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*$" })
    };
    let yes = ["yes", "Yes", "YES", "true", "True", "TRUE"];
    let no = ["no", "No", "NO", "false", "False", "FALSE"];
    let words = yes.into_iter().chain(no).map(|word| json!(word));
    let words: Vec<Json> = [json!(true), json!(false)].into_iter().chain(words).collect();
    let mut all = vec![
        ("text".to_owned(), of_length(LONGEST_TEXT)),
        ("name".to_owned(), of_length(LONGEST_NAME)),
        ("tag".to_owned(), of_length(LONGEST_NAME)),
        ("item".to_owned(), json!({ "pattern": seen(), "maxLength": LONGEST_NAME })),
        ("yes or no".to_owned(), json!({ "enum": words })),
        (
            "count".to_owned(),
            json!({ "type": ["integer", "string"], "minimum": 0, "maximum": MOST_COUNT,
                    "pattern": r"^\s*\+?\d{1,20}\s*$" }),
        ),
        (
            "pipe".to_owned(),
            json!({ "type": "string", "pattern":
                    format!(r"^\s*\S[\s\S]*?\s{}", pattern_behind(Kind::Size)) }),
        ),
        ("to-come".to_owned(), json!({ "type": "string", "pattern": placeholder_pattern() })),
    ];
    all.extend(Range::ALL.iter().map(|range| (name_of_range(range), number(range))));
    for kind in KINDS {
        for least in [Least::Any, Least::Zero, Least::MoreThanZero] {
            all.push((name_of_kind(kind, least), of_kind(kind, least)));
        }
    }
    object(all.into_iter().map(|(name, schema)| (name.replace(' ', "-"), schema)))
}

const KINDS: [Kind; 13] = [
    Kind::Level,
    Kind::Size,
    Kind::Area,
    Kind::Volume,
    Kind::Flow,
    Kind::Intensity,
    Kind::Temperature,
    Kind::Warmth,
    Kind::Fraction,
    Kind::Slope,
    Kind::Speed,
    Kind::Time,
    Kind::Weight,
];

fn of_kind(kind: Kind, least: Least) -> Json {
    let text = pattern(kind, least == Least::Any);
    let mut found = vec![("type", json!(["number", "string"])), ("pattern", json!(text))];
    let bare = UnitSystem::Us.bare_unit(kind).is_some() || kind == Kind::Fraction;
    if least == Least::MoreThanZero {
        found.push(("not", json!({ "type": "string", "pattern": zero_pattern(kind) })));
    }
    // Not a number is below and above all of them to a validator; infinities are beyond.
    let number = json!({ "if": { "type": "number", "minimum": MOST, "maximum": -MOST },
                         "then": false });
    found.push(("allOf", json!([number])));
    if (bare, least) == (true, Least::Any) {
        found.extend([("minimum", json!(-MOST)), ("maximum", json!(MOST))]);
    } else if bare && kind != Kind::Fraction {
        found.push(("maximum", json!(MOST)));
    }
    match (bare, least) {
        (false, _) => found.extend([("minimum", json!(0)), ("maximum", json!(0))]),
        (true, Least::Any) => {}
        (true, Least::Zero) => found.push(("minimum", json!(0))),
        (true, Least::MoreThanZero) => found.push(("exclusiveMinimum", json!(0))),
    }
    if kind == Kind::Fraction {
        found.push(("maximum", json!(1)));
    }
    object(found)
}

fn name_of_range(range: &Range) -> String {
    format!("number {}", range.words)
}

fn name_of(amount: &Amount) -> String {
    name_of_kind(amount.kind, amount.least)
}

fn name_of_kind(kind: Kind, least: Least) -> String {
    let name = match kind {
        Kind::Size => "size",
        Kind::Level => "length",
        kind => kind.with_article().trim_start_matches("an ").trim_start_matches("a "),
    };
    match least {
        Least::Any => name.to_owned(),
        Least::Zero => format!("{name} from 0"),
        Least::MoreThanZero => format!("{name} above 0"),
    }
}

/// No number in a file is larger.
const MOST: f64 = 1e300;

/// Names that can be told from others by looking at them.
fn seen() -> String {
    const UNSEEN: &str = r"\s\u00ad\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufe00-\ufe0f\ufeff\ufffd\u3164";
    format!("^[^{UNSEEN}](?:(?:[^{UNSEEN}]| )*[^{UNSEEN}])?$")
}

/// What a key means and how its value is written.
pub(super) fn meaning(key: &Key) -> String {
    let mut meaning = capital(key.meaning());
    meaning.push('.');
    match &key.value {
        Value::Amount(amount) | Value::AmountOr(amount, _) => {
            let examples = amount.kind.examples().replace('`', "");
            meaning.push_str(&format!(" {}: {examples}; ", capital(amount.kind.with_article())));
            if let (Some(us), Some(si)) =
                (bare(amount, UnitSystem::Us), bare(amount, UnitSystem::Si))
            {
                meaning.push_str(&format!("a bare number is in {us} (us) or {si} (si); "));
            }
            meaning.push_str(&format!("{}.", amount.range));
        }
        Value::Number(range) | Value::NumberOr(range, _) => {
            meaning.push_str(&format!(" A number without unit, {}.", range.words));
        }
        Value::Course { .. } => meaning.push_str(
            " nested, { nested: 60 min, step: 5 min }, or [{ at: 0 min, rain: 5.2 in/h }, \
             { at: 10 min, rain: 0 in/h }].",
        ),
        Value::YesNo => meaning.push_str(" yes or no."),
        Value::Tag(sections) => meaning.push_str(&format!(" A tag of {}.", sections.join(", "))),
        Value::Pipe { .. } => meaning.push_str(" TYPE SIZE, such as pvc-sch40 4 in, or its keys."),
        Value::Place => meaning.push_str(" Two lengths, such as [12 ft, 30 ft]."),
        Value::Cap { level: true } => meaning.push_str(" sealed, or a level."),
        Value::Start => meaning.push_str(" Such as 60 %."),
        Value::Device(_) => meaning.push_str(" no, or its keys."),
        _ => {}
    }
    if matches!(key.value, Value::AmountOr(..) | Value::NumberOr(..)) {
        meaning.push_str(" Or its keys, which say more.");
    }
    meaning
}

fn bare(amount: &Amount, units: UnitSystem) -> Option<&'static str> {
    units.bare_unit(amount.kind)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A default as a value of its key.
pub(super) fn written(key: &Key, default: &str) -> Json {
    let braces = default.strip_prefix("{ ").and_then(|inner| inner.strip_suffix(" }"));
    if let Some((inner, value)) = braces.and_then(|pair| pair.split_once(": ")) {
        return object([(inner, number_or_word(value))]);
    }
    match key.value {
        Value::YesNo => Json::Bool(default == "yes"),
        _ => number_or_word(default),
    }
}

fn number_or_word(text: &str) -> Json {
    match text.parse::<f64>() {
        Ok(number) if number == number.trunc() => json!(number as i64),
        Ok(number) => json!(number),
        Err(_) => json!(text),
    }
}

/// A schema with a description: behind a reference it would be left unread.
pub(super) fn described(meaning: &str, schema: Json) -> Json {
    let meaning = ("description", json!(meaning));
    match schema {
        Json::Object(keys) if !keys.contains_key("$ref") => {
            let keys = keys.iter().map(|(key, value)| (key.as_str(), value.clone()));
            object([meaning].into_iter().chain(keys))
        }
        schema => object([meaning, ("allOf", Json::Array(vec![schema]))]),
    }
}

fn refer(name: &str) -> Json {
    json!({ "$ref": format!("#/definitions/{}", name.replace(' ', "-")) })
}

fn any_of<const N: usize>(schemas: [Json; N]) -> Json {
    json!({ "anyOf": schemas.to_vec() })
}

fn list(item: Json, least: usize) -> Json {
    json!({ "type": "array", "items": item, "minItems": least })
}

/// One, or a list of so many at least.
fn some_of(one: Json, least: usize) -> Json {
    any_of([one.clone(), list(one, least)])
}

/// A mapping by names of the file's own.
fn map(value: Json) -> Json {
    json!({ "type": ["object", "null"], "additionalProperties": value })
}

fn items(item: Json, taken: Option<&str>) -> Json {
    let mut name = refer("item");
    if let Some(taken) = taken {
        name = json!({ "allOf": [name, { "not": { "const": taken } }] });
    }
    named(map(item), name)
}

/// A mapping whose keys are all of a form.
fn named(mut map: Json, name: Json) -> Json {
    if let Some(keys) = map.as_object_mut() {
        keys.insert("propertyNames".to_owned(), name);
    }
    map
}

fn at_least_one(mut map: Json) -> Json {
    if let Some(keys) = map.as_object_mut() {
        keys.insert("type".to_owned(), json!("object"));
        keys.insert("minProperties".to_owned(), json!(1));
    }
    map
}

/// The keys of a pipe whose size is not left open.
fn fixed(mut keys: Json) -> Json {
    let size = refer(&name_of_kind(Kind::Size, Least::MoreThanZero));
    if let Some(found) = keys.pointer_mut("/properties/size") {
        *found = described("Its nominal size.", size);
    }
    keys
}
