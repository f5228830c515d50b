//! A rain table put into the text of a site file, comments and everything else kept.

use crate::comments::{comments, comments_in};
use crate::document::step;
use crate::edit::{Edit, EditError, end, entry_end, quoted, same, set_values};
use crate::flow::{flow, json_map, json_text};
use crate::source::Source;
use crate::tree::{self, Entry, Node, Value};
use wetrun_units::UnitSystem;

/// The section `rainfall` and what the storm takes from it, each value as it is to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RainText {
    /// Where the depths come from.
    pub source: String,
    /// Return period of the depths, in years.
    pub years: String,
    /// Depths by duration: `5 min`, `0.647 in`.
    pub depths: Vec<(String, String)>,
    /// The duration whose mean intensity the storm takes.
    pub duration: String,
}

/// Puts a rain table into the text of a site file: `rainfall` with its depths, and a storm that
/// takes its intensity from them. Comments, and every other key, stay.
///
/// # Errors
/// [`EditError`] where the text is no site file that could be changed so without losing something.
pub fn put_rain(text: &str, rain: &RainText) -> Result<String, EditError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let before = parsed(body)?;
    let new = storm(body, &before, rain)?;
    let new = rainfall(&new, rain)?;
    let after = parsed(&new)?;
    let kept = comments(body, &before).all(|comment| new.contains(comment));
    let counted = comments(body, &before).count() <= comments(&new, &after).count();
    if kept && counted && is_put(&before, &after, rain) {
        Ok(format!("{mark}{new}"))
    } else {
        Err(not_alone("rainfall"))
    }
}

fn parsed(text: &str) -> Result<Node, EditError> {
    tree::parse(&Source::new("", text.to_owned())).map_err(|_| EditError::NotReadable)
}

fn not_alone(path: &str) -> EditError {
    EditError::NotAlone { path: path.to_owned() }
}

/// The storm takes its rain from the table: `from` stands where `intensity` stood.
fn storm(text: &str, root: &Node, rain: &RainText) -> Result<String, EditError> {
    let set = |text: &str, from: bool| {
        let from = from.then(|| Edit::new(&["storm", "from"], "rainfall"));
        let duration = Edit::new(&["storm", "duration"], rain.duration.clone());
        let edits: Vec<Edit> = from.into_iter().chain([duration]).collect();
        set_values(text, &edits)
    };
    let Some(storm) = root.get("storm") else {
        let entry =
            format!("storm: {{ from: rainfall, duration: {} }}", quoted(&rain.duration, None));
        let json = [("from", "rainfall"), ("duration", rain.duration.as_str())];
        return added(text, root, None, &entry, &format!("\"storm\": {}", json_map(&json)));
    };
    match (storm.node.get("intensity"), storm.node.get("from")) {
        (Some(intensity), None) => {
            let source = Source::new("", text.to_owned());
            let from = intensity.key_at.range().start;
            let to = entry_end(intensity, &source).ok_or_else(|| not_alone("storm.intensity"))?;
            let quote = if text[from..].starts_with('"') { "\"" } else { "" };
            let text =
                splice(text, from, to, &format!("{quote}from{quote}: {quote}rainfall{quote}"))?;
            set(&text, false)
        }
        // Both of them: whoever reads the file tells what is wrong with that.
        _ => set(text, true),
    }
}

fn rainfall(text: &str, rain: &RainText) -> Result<String, EditError> {
    let root = parsed(text)?;
    let source = Source::new("", text.to_owned());
    let is_map = |entry: &&Entry| matches!(entry.node.value, Value::Map(_));
    let Some(old) = root.get("rainfall").filter(is_map) else {
        if root.get("rainfall").is_some() {
            return Err(not_alone("rainfall"));
        }
        let depths = flow(&rain.depths, "  depths: ".len());
        let block = format!(
            "rainfall:\n  source: {}\n  years: {}\n  depths: {depths}",
            quoted(&rain.source, None),
            rain.years
        );
        let json: Vec<(&str, &str)> =
            rain.depths.iter().map(|(key, value)| (key.as_str(), value.as_str())).collect();
        let json = format!(
            "\"rainfall\": {{\"source\": {}, \"years\": {}, \"depths\": {}}}",
            json_text(&rain.source),
            rain.years,
            json_map(&json)
        );
        let below = root.get("storm").and_then(|storm| entry_end(storm, &source));
        return added(text, &root, below, &block, &json);
    };
    if old.node.get("depths").is_none() {
        return Err(EditError::NoPlace { path: "rainfall.depths".to_owned() });
    }
    let edit = |key: &str, value: &str| Edit::new(&["rainfall", key], value);
    let text = set_values(text, &[edit("source", &rain.source), edit("years", &rain.years)])?;
    let (root, source) = (parsed(&text)?, Source::new("", text.clone()));
    let depths = root.get("rainfall").and_then(|entry| entry.node.get("depths"));
    let depths = depths.ok_or_else(|| not_alone("rainfall.depths"))?;
    depths_replaced(&text, &root, &source, depths, rain)
}

/// Other depths in the place of those that stand there.
fn depths_replaced(
    text: &str,
    root: &Node,
    source: &Source,
    depths: &Entry,
    rain: &RainText,
) -> Result<String, EditError> {
    let lost = || not_alone("rainfall.depths");
    let (from, to) = (depths.node.at.range().start, end(&depths.node, source).ok_or_else(lost)?);
    let Value::Map(entries) = &depths.node.value else { return Err(lost()) };
    if text.get(from..).is_some_and(|rest| rest.starts_with('{')) {
        let line = source.line(source.position(depths.key_at.range().start).0);
        let column = text.get(line.start..from).ok_or_else(lost)?.chars().count();
        let new = flow(&rain.depths, column).replace('\n', newline(text));
        let indent = indent_of(text, line.start);
        let inside = comments_in(text, root, from, to);
        let kept: String = inside.map(|c| format!("{indent}{c}{}", newline(text))).collect();
        let flowing = text.get(line.start..depths.key_at.range().start).ok_or_else(lost)?;
        if !kept.is_empty() && !flowing.trim().is_empty() {
            return Err(lost());
        }
        let replaced = splice(text, from, to, &new)?;
        return splice(&replaced, line.start, line.start, &kept);
    }
    let first = entries.first().ok_or_else(lost)?.key_at.range().start;
    let start = source.line(source.position(first).0).start;
    let stop = source.line(source.position(to).0).end;
    let indent = indent_of(text, start);
    let mut kept: Vec<(Option<f64>, &str)> = Vec::new();
    for comment in comments_in(text, root, start, stop) {
        let at = comment.as_ptr() as usize - text.as_ptr() as usize;
        let line = source.line(source.position(at).0);
        let beside = entries.iter().find(|entry| line.contains(&entry.key_at.range().start));
        kept.push((beside.and_then(|entry| seconds(&entry.key)), comment));
    }
    let mut lines = Vec::new();
    for (key, value) in &rain.depths {
        let same = |(at, _): &(Option<f64>, &str)| at.is_some() && *at == seconds(key);
        let comment = kept.iter().position(same).map(|at| kept.remove(at).1);
        let comment = comment.map_or(String::new(), |comment| format!("  {comment}"));
        lines.push(format!("{indent}{}: {}{comment}", quoted(key, None), quoted(value, None)));
    }
    lines.extend(kept.iter().map(|(_, comment)| format!("{indent}{comment}")));
    let newline = newline(text);
    let stop = if text[..stop].ends_with('\r') { stop - 1 } else { stop };
    splice(text, start, stop, &lines.join(newline))
}

fn seconds(duration: &str) -> Option<f64> {
    UnitSystem::Si.read_time(duration).ok().map(|time| time.to_s())
}

/// A new entry of the whole file: below a place in it or at its end.
fn added(
    text: &str,
    root: &Node,
    below: Option<usize>,
    block: &str,
    json: &str,
) -> Result<String, EditError> {
    let lost = || not_alone("rainfall");
    if text.get(root.at.range().start..).is_some_and(|rest| rest.starts_with('{')) {
        let source = Source::new("", text.to_owned());
        let Value::Map(entries) = &root.value else { return Err(lost()) };
        let after = entries.last().and_then(|entry| entry_end(entry, &source));
        let after = after.ok_or_else(lost)?;
        return splice(text, after, after, &format!(", {json}"));
    }
    let newline = newline(text);
    let block = block.replace('\n', newline);
    let Some(below) = below else {
        let gap = if text.is_empty() || text.ends_with('\n') { "" } else { newline };
        return Ok(format!("{text}{gap}{block}{newline}"));
    };
    // Below the line, and below comments that are indented as what stands in it.
    let mut at = below;
    loop {
        let rest = text.get(at..).ok_or_else(lost)?;
        let Some(stop) = rest.find('\n') else {
            return Ok(format!("{text}{newline}{block}{newline}"));
        };
        at += stop + 1;
        let next = text.get(at..).ok_or_else(lost)?;
        let indented = next.starts_with([' ', '\t']);
        if !(indented && next.trim_start_matches([' ', '\t']).starts_with('#')) {
            break;
        }
    }
    splice(text, at, at, &format!("{block}{newline}"))
}

fn newline(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

fn indent_of(text: &str, line_start: usize) -> String {
    let rest = text.get(line_start..).unwrap_or_default();
    rest.chars().take_while(|c| *c == ' ').collect()
}

fn splice(text: &str, from: usize, to: usize, new: &str) -> Result<String, EditError> {
    match (text.get(..from), text.get(to..)) {
        (Some(before), Some(after)) if from <= to => Ok(format!("{before}{new}{after}")),
        _ => Err(not_alone("rainfall")),
    }
}

/// Whether the new tree is the old one but for the rain.
fn is_put(before: &Node, after: &Node, rain: &RainText) -> bool {
    const TAKEN: [&str; 3] = ["intensity", "from", "duration"];
    let (Value::Map(old), Value::Map(new)) = (&before.value, &after.value) else { return false };
    fn others<'e>(entries: &'e [Entry], but: &'e [&str]) -> impl Iterator<Item = &'e Entry> {
        entries.iter().filter(move |entry| !but.contains(&&*entry.key))
    }
    let equal = |old: &[Entry], new: &[Entry], but: &[&str]| {
        let (old, new): (Vec<_>, Vec<_>) = (others(old, but).collect(), others(new, but).collect());
        let pairs = old.iter().zip(&new);
        old.len() == new.len()
            && pairs.into_iter().all(|(a, b)| a.key == b.key && same(&a.node, &b.node))
    };
    let storm_kept = match (before.get("storm"), after.get("storm")) {
        (None, Some(_)) => true,
        (Some(old), Some(new)) => match (&old.node.value, &new.node.value) {
            (Value::Map(old), Value::Map(new)) => equal(old, new, &TAKEN),
            _ => false,
        },
        _ => false,
    };
    let text = |keys: &[&str]| {
        let node = keys.iter().try_fold(after, |node, key| step(node, key))?;
        match &node.value {
            Value::Text(text) => Some(&**text),
            _ => None,
        }
    };
    let depths = after.get("rainfall").and_then(|entry| entry.node.get("depths"));
    let depths_put = depths.is_some_and(|depths| match &depths.node.value {
        Value::Map(entries) => {
            entries.len() == rain.depths.len()
                && entries.iter().zip(&rain.depths).all(|(entry, (key, value))| {
                    *entry.key == **key && entry.node.value == Value::Text(value.as_str().into())
                })
        }
        _ => false,
    });
    let source = crate::clean_text(&rain.source);
    equal(old, new, &["storm", "rainfall"])
        && storm_kept
        && depths_put
        && text(&["storm", "from"]) == Some("rainfall")
        && text(&["storm", "duration"]) == Some(&rain.duration)
        && text(&["rainfall", "years"]) == Some(&rain.years)
        && text(&["rainfall", "source"]) == Some(&source)
}
