//! What is doubted and by how much: as a table, and as YAML to paste into the site file.

use crate::doubt::Doubted;
use crate::render::doubt::{Told, basis, usual};
use crate::render::table::TITLE;
use crate::render::text::entry;
use std::fmt::Write;
use wetrun_doubt::{Input, Like, Subject};
use wetrun_facts::{Doubt, Spread};
use wetrun_network::{DownspoutId, TankId};
use wetrun_site::Site;
use wetrun_units::{Fraction, Length, Warmth, trimmed};

/// The inputs by the keys of the file, each with its law and its basis.
pub(super) fn table(report: &Doubted, told: &Told<'_>) -> String {
    let mut out = format!("{TITLE}WHAT MAY BE OFF{TITLE:#}\n");
    let inputs = &report.study.inputs;
    let mut at = 0;
    while let Some(first) = inputs.get(at) {
        let key = key_of(first);
        let same = |input: &&Input| {
            key_of(input) == key && input.width() == first.width() && input.like == first.like
        };
        let count = inputs[at..].iter().take_while(same).count();
        let number = if count > 1 { format!(", {count} of them") } else { String::new() };
        let law = match (first.like, &first.subject) {
            (_, Subject::Silt | Subject::SiltOf(_)) => "evenly from none to",
            (Like::Normal, _) => "±",
            (Like::Lognormal, _) => "within",
            (Like::Even, _) => "evenly ±",
        };
        let words = format!("{law} {}{number}; {}", told.width(first), basis(first));
        out.push_str(&entry(&key, 15, &words.replace("± ", "±").replace("within ×", "×÷ ")));
        at += count;
    }
    if inputs.is_empty() {
        out.push_str("  nothing\n");
    }
    out
}

/// The key of the file that an input is doubted by.
fn key_of(input: &Input) -> String {
    match input.subject {
        Subject::DownspoutK(_) | Subject::LineK(_) => "k".to_owned(),
        Subject::SiltOf(_) => input.name.clone(),
        _ => input.name.split('.').next().unwrap_or_default().to_owned(),
    }
}

/// The section `doubts` of a site file as it stands, every default written out with its basis.
pub fn yaml(site: &Site) -> String {
    let doubts = &site.doubts;
    let share = |part: Fraction| format!("{} %", number(100.0 * part.to_ratio()));
    let length = |length: Length| format!("{} mm", number(1e3 * length.to_m()));
    let mut out = "doubts:\n".to_owned();
    let d = DownspoutId::new(0);
    let shares = [
        ("rain", &doubts.rain, Subject::Rain, "of the intensity, all roofs together"),
        ("runoff", &doubts.runoff, Subject::Runoff, "of every roof's runoff, together"),
        ("areas", &doubts.areas, Subject::Area(0), "each roof"),
        ("roughness", &doubts.roughness, Subject::Roughness(0), "each pipe type"),
        ("c", &doubts.c, Subject::C(0), "each pipe type, by hazen-williams"),
        ("bores", &doubts.bores, Subject::Bores(0), "each pipe type"),
        ("fittings", &doubts.fittings, Subject::DownspoutK(d), "each kind, and each extra k"),
    ];
    for (key, doubt, subject, of) in shares {
        row(&mut out, key, doubt, share, &subject, of);
    }
    let of = "added to both coefficients of every wye and tee";
    row(&mut out, "junctions", &doubts.junctions, number, &Subject::Junctions, of);
    let of = "level of each outlet or leaf head";
    row(&mut out, "openings", &doubts.openings, length, &Subject::Opening(d), of);
    let (of, subject) = ("each tank inlet with its overflow", Subject::Inlet(TankId::new(0)));
    row(&mut out, "inlets", &doubts.inlets, length, &subject, of);
    let warmth = |warmth: Warmth| format!("{} C", number(warmth.to_k()));
    let of = "of the water";
    row(&mut out, "temperature", &doubts.temperature, warmth, &Subject::Temperature, of);
    let depth = |doubt: &Doubt<Length>| match (doubt.spread, &doubt.basis) {
        (Spread::Even(depth) | Spread::Normal(depth), Some(basis)) => {
            format!("{{ depth: {}, basis: {} }}", length(depth), quoted(basis))
        }
        (Spread::Even(depth) | Spread::Normal(depth), None) => length(depth),
        _ => "0 mm".to_owned(),
    };
    let of = comment("deepest in every line, from none evenly", &doubts.silt, &Subject::Silt);
    line(&mut out, "silt", &depth(&doubts.silt), &of);
    if !doubts.lines.is_empty() {
        out.push_str("  lines:\n");
        for (id, doubt) in &doubts.lines {
            let tag = &site.network.line(*id).tag;
            let _ = writeln!(out, "    {}: {{ silt: {} }}", quoted(tag), depth(doubt));
        }
    }
    out
}

fn row<T: Copy>(
    out: &mut String,
    key: &str,
    doubt: &Doubt<T>,
    written: impl Fn(T) -> String,
    subject: &Subject,
    of: &str,
) {
    let (law, size) = match doubt.spread {
        Spread::None => ("spread", "0".to_owned()),
        Spread::Normal(size) => ("spread", written(size)),
        Spread::Even(size) => ("even", written(size)),
        Spread::Factor(factor) => ("factor", number(factor)),
    };
    let value = match (&doubt.basis, law) {
        (Some(basis), _) => format!("{{ {law}: {size}, basis: {} }}", quoted(basis)),
        (None, "spread") => size,
        (None, _) => format!("{{ {law}: {size} }}"),
    };
    line(out, key, &value, &comment(of, doubt, subject));
}

fn comment<T>(of: &str, doubt: &Doubt<T>, subject: &Subject) -> String {
    match (doubt.given, &doubt.basis) {
        (_, Some(_)) => of.to_owned(),
        (true, None) => format!("{of}; site file"),
        (false, None) => format!("{of}; default: {}", usual(subject)),
    }
}

fn line(out: &mut String, key: &str, value: &str, comment: &str) {
    let start = format!("  {key}: {value}");
    let _ = writeln!(out, "{start:<28} # {comment}");
}

/// A number of at most six digits after the point, without trailing zeros.
fn number(value: f64) -> String {
    trimmed(value, 6)
}

/// A text as YAML, in quotes.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "''"))
}
