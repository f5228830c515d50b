//! Answers as JSON: what a page draws, in the words and units of the site.

use crate::ask::{Stand, View};
use crate::delta::delta;
use crate::session::{Session, Why, differences};
use serde_json::{Map, Value, json};
use wetrun_answers::{
    Held, Pt, Refusal, Review, Room, ScreenSection, Settled, Solved, Sort, grips_of, screen_plan,
    screen_section, text,
};
use wetrun_checks::{Finding, Outcome};
use wetrun_network::DownspoutId;
use wetrun_site::{Diagnostic, Outline, Severity, Tanks};
use wetrun_units::{Intensity, Length, UnitSystem};

/// An answer that is true of its text, with what drew it.
pub(crate) struct Good {
    settled: Settled,
    /// What draws the next section alike.
    held: Option<Held>,
    downspout: Option<DownspoutId>,
    room: Room,
    asked: Storm,
    /// Section and tables as a page draws them.
    picture: Value,
    /// Tells pictures apart.
    number: u64,
}

/// The storm that is asked for, beside that of the file itself.
#[derive(Clone, Copy)]
struct Storm {
    own_rain: Intensity,
    own_tanks: Tanks,
    /// The rain that is asked for, as a multiple of the file's.
    times: f64,
}

/// A site solved for the storm that is asked for, with the storm that the file itself has.
pub(crate) struct Asked {
    pub(crate) settled: Settled,
    storm: Storm,
}

impl Asked {
    /// Which storm it is an answer to.
    pub(crate) fn storm(&self) -> Value {
        let tanks = stands(self.settled.site.storm.tanks);
        json!({ "times": self.storm.times, "tanks": tanks })
    }
}

/// Solves a text for the storm that is asked for, as it was read where that was done already.
///
/// # Errors
/// As [`Settled::new`], and every fault of the text.
pub(crate) fn settle(
    text: &str,
    written: Option<&Outline>,
    name: &str,
    view: &View,
) -> Result<Asked, Refusal> {
    let mut site = match written {
        Some(written) => written.site().map_err(Refusal::from)?,
        None => wetrun_answers::read(text.as_bytes(), name)?,
    };
    let times = view.rain.filter(|times| (0.0..=2.0).contains(times)).unwrap_or(1.0);
    let storm = Storm { own_rain: site.storm.intensity, own_tanks: site.storm.tanks, times };
    site.storm.intensity = site.storm.intensity * times;
    match view.tanks {
        Some(Stand::Full) => site.storm.tanks = Tanks::Full,
        Some(Stand::Empty) => site.storm.tanks = Tanks::Empty,
        None => {}
    }
    Ok(Asked { settled: Settled::new(site)?, storm })
}

impl Good {
    /// Draws the section in view, held still where a hand moves something.
    pub(crate) fn new(asked: Asked, view: &View, held: Option<Held>, number: u64) -> Self {
        let Asked { settled, storm } = asked;
        let downspout = downspout(&settled, view.downspout.as_deref());
        let room = view.room.room();
        let drawn = downspout.and_then(|id| screen_section(&settled, id, room, held));
        let picture = json!({
            "section": drawn.as_ref().map_or(Value::Null, |s| section(settled.site.units, s)),
            "tables": tables(&settled, None),
        });
        let held = drawn.map(|section| section.held);
        Self { settled, held, downspout, room, asked: storm, picture, number }
    }

    /// The same site in another view.
    pub(crate) fn again(&self, view: &View) -> Self {
        let asked = Asked { settled: self.settled.clone(), storm: self.asked };
        Self::new(asked, view, None, self.number)
    }

    /// What draws the next section alike, where it is one of the same route for the same screen.
    pub(crate) fn held(&self, view: &View) -> Option<Held> {
        let same = downspout(&self.settled, view.downspout.as_deref()) == self.downspout;
        self.held.filter(|_| same && view.room.room() == self.room)
    }

    /// Which picture it is.
    pub(crate) fn number(&self) -> u64 {
        self.number
    }

    /// The downspout in view.
    pub(crate) fn downspout_tag(&self) -> Option<&str> {
        self.downspout.map(|id| self.settled.site.network.downspout(id).tag.as_str())
    }

    /// Keys of a piece that a hand can move.
    pub(crate) fn moved(&self, tag: &str) -> Vec<String> {
        grips_of(&self.settled.site, tag).into_iter().map(|grip| grip.key).collect()
    }

    /// The levels of the selected piece as the file writes them, by their key paths.
    pub(crate) fn levels(&self, view: &View) -> Value {
        let Some([section, tag]) = view.piece.as_deref() else { return json!([]) };
        let all = grips_of(&self.settled.site, tag).into_iter();
        all.map(|grip| json!([format!("{section}.{tag}.{}", grip.key), grip.written])).collect()
    }

    /// The picture, or what makes it of the one that the page has.
    pub(crate) fn drawn(&self, answer: &mut Value, before: Option<&Self>) {
        answer["picture"] = json!(self.number);
        match before {
            Some(before) => {
                let change = delta(&before.picture, &self.picture);
                answer["since"] = json!({ "picture": before.number, "change": change });
            }
            None => self.whole(answer),
        }
    }

    fn whole(&self, answer: &mut Value) {
        for part in ["section", "tables"] {
            answer[part] = self.picture[part].clone();
        }
    }

    /// All that is true at once, with the picture.
    pub(crate) fn last(&self) -> Value {
        let mut answer = json!({});
        self.quick(&mut answer);
        self.whole(&mut answer);
        answer
    }

    /// What is true at once, but for the picture.
    pub(crate) fn quick(&self, answer: &mut Value) {
        let settled = &self.settled;
        let units = settled.site.units;
        answer["site"] = json!(settled.site.name);
        answer["units"] = json!(units.name());
        answer["sentence"] = sentence(settled, None);
        answer["storm"] = self.storm();
        let tag = |id: DownspoutId| settled.site.network.downspout(id).tag.as_str();
        answer["downspout"] = json!(self.downspout.map(tag));
        answer["worst"] = json!(settled.worst().map(tag));
        answer["cautions"] = diagnostics(&settled.site.cautions);
        answer["errors"] = json!([]);
    }

    fn storm(&self) -> Value {
        let storm = &self.settled.site.storm;
        let units = self.settled.site.units;
        let Storm { own_rain, own_tanks, times } = self.asked;
        json!({
            "own": units.show_intensity(own_rain).to_string(),
            "asked": units.show_intensity(storm.intensity).to_string(),
            "most": units.show_intensity(own_rain * 2.0).to_string(),
            "times": times,
            "tanks": stands(storm.tanks),
            "own_tanks": stands(own_tanks),
        })
    }
}

fn stands(tanks: Tanks) -> &'static str {
    match tanks {
        Tanks::Full => "full",
        Tanks::Empty => "empty",
    }
}

/// The downspout in view: the one that is named, else the one that decides.
fn downspout(settled: &Settled, named: Option<&str>) -> Option<DownspoutId> {
    let all = settled.site.network.downspouts();
    let named = named.and_then(|tag| all.iter().position(|d| d.tag == tag));
    named.map(DownspoutId::new).or_else(|| settled.worst())
}

/// What every answer tells of the session.
pub(crate) fn state(session: &Session) -> Value {
    let (undo, redo) = session.can();
    json!({
        "file": session.name(),
        "revision": session.revision(),
        "news": session.news(),
        "saved": session.saved(),
        "gone": session.gone() && !session.is_new(),
        "new": session.is_new(),
        "undo": undo,
        "redo": redo,
        "troubles": session.troubles().collect::<Vec<_>>(),
        "choice": choice(session),
    })
}

/// The choice that a person has to make, with the differences of the two sides.
fn choice(session: &Session) -> Value {
    let Some(choice) = session.choice() else { return Value::Null };
    let [mine, theirs] = session.sides(choice);
    let hunks = differences(&theirs, &mine).into_iter().map(|(at, theirs, mine)| {
        json!({
            "theirs_line": at.old + 1, "mine_line": at.new + 1,
            "theirs": theirs.concat(), "mine": mine.concat(),
        })
    });
    json!({
        "number": choice.number,
        "why": match choice.why {
            Why::Disk => "disk",
            Why::Kept => "kept",
            Why::Typed => "typed",
        },
        "hunks": hunks.collect::<Vec<_>>(),
    })
}

/// Lines of the text that are not on disk, from 1; and the lines after which some are missing.
pub(crate) fn changed(session: &Session) -> Value {
    let hunks = session.changed_lines();
    let lines = hunks.iter().flat_map(|h| h.new + 1..h.new + h.new_count + 1);
    let missing = hunks.iter().filter(|h| h.new_count == 0).map(|h| h.new);
    json!({ "lines": lines.collect::<Vec<_>>(), "missing": missing.collect::<Vec<_>>() })
}

/// Why there is no answer to the text: errors at their places, or one sentence.
pub(crate) fn refused(answer: &mut Value, refusal: &Refusal) {
    match refusal.diagnostics() {
        Some(found) => answer["errors"] = diagnostics(found.list()),
        None => {
            answer["errors"] = json!([]);
            answer["unsolved"] = json!(refusal.to_string());
        }
    }
}

fn diagnostics(list: &[Diagnostic]) -> Value {
    /// Nobody reads on.
    const MOST: usize = 200;
    let told = list.iter().take(MOST).map(|fault| {
        json!({
            "caution": fault.severity == Severity::Caution,
            "message": fault.message,
            "expected": fault.expected,
            "key": fault.key_path,
            "nearest": fault.nearest,
            "line": fault.line,
            "column": fault.column,
        })
    });
    told.collect()
}

fn sentence(settled: &Settled, solved: Option<&Solved>) -> Value {
    let said = text::headline(settled, solved.map(|solved| &solved.spill_rains));
    json!({
        "word": said.word, "holds": settled.verdict.holds(), "cause": said.cause,
        "under": said.under, "whole": solved.is_some(),
    })
}

fn tables(settled: &Settled, solved: Option<&Solved>) -> Value {
    let tables = text::tables(settled, solved.map(|solved| &solved.spill_rains));
    let told = tables.into_iter().map(|table| {
        let heads = table.heads.iter().map(|(name, unit)| json!({ "name": name, "unit": unit }));
        let rows = table
            .rows
            .iter()
            .map(|(tag, cells, fails)| json!({ "tag": tag, "cells": cells, "fails": fails }));
        json!({
            "title": table.title,
            "heads": heads.collect::<Vec<_>>(), "rows": rows.collect::<Vec<_>>(),
        })
    });
    told.collect()
}

fn section(units: UnitSystem, section: &ScreenSection) -> Value {
    let level = |level: Length| rounded(shown(units, level));
    let handles = section.handles.iter().map(|handle| {
        let grip = &handle.grip;
        json!({
            "tag": grip.tag, "key": grip.key, "written": grip.written,
            "level_m": grip.level.to_m(),
            "now": level(grip.level), "text": units.show_level(grip.level).to_string(),
            "low": grip.bounds[0].map(level), "high": grip.bounds[1].map(level),
            "panel": handle.panel, "x": on_paper(handle.at.0), "y": on_paper(handle.at.1),
        })
    });
    // By lines, each a shape: of those few change under a hand.
    let panels = section.panels.iter().map(|panel| panel.lines().collect::<Vec<_>>());
    json!({
        "title": section.title, "panels": panels.collect::<Vec<_>>(), "width": section.size_pt.0, "height": section.size_pt.1,
        "pt_per_m": section.pt_per_m, "handles": handles.collect::<Vec<_>>(),
    })
}

/// A level as a plain number of the unit that the site's levels are shown in.
fn shown(units: UnitSystem, level: Length) -> f64 {
    match units {
        UnitSystem::Us => level.to_m() / 0.3048,
        UnitSystem::Si => level.to_m(),
    }
}

fn rounded(number: f64) -> f64 {
    (number * 1e4).round() / 1e4
}

/// A place on a drawing, in points, as near as the drawing itself has it.
fn on_paper(number: f64) -> f64 {
    (number * 1e2).round() / 1e2
}

/// The plan with its places.
pub(crate) fn plan(answer: &mut Value, solved: &Solved) {
    let point = |at: &Pt| json!([rounded(at.0), rounded(at.1)]);
    let sheets = screen_plan(solved).into_iter().map(|sheet| {
        let places = sheet.places.iter().map(|(sort, tag, at)| {
            let sort = match sort {
                Sort::Downspout => "downspouts",
                Sort::Point => "points",
                Sort::Tank => "tanks",
            };
            json!({ "sort": sort, "tag": tag, "at": point(at) })
        });
        let ways = sheet.ways.iter().map(|(tag, way)| {
            json!({ "sort": "lines", "tag": tag, "way": way.iter().map(point).collect::<Vec<_>>() })
        });
        json!({
            "svg": sheet.svg, "width": sheet.size_pt.0, "height": sheet.size_pt.1,
            "places": places.collect::<Vec<_>>(), "ways": ways.collect::<Vec<_>>(),
            "pt_per_m": sheet.pt_per_m,
        })
    });
    answer["plan"] = sheets.collect();
}

/// What takes longer: spill rains in the sentence and the tables.
pub(crate) fn margins(answer: &mut Value, solved: &Solved) {
    answer["sentence"] = sentence(solved, Some(solved));
    answer["tables"] = tables(solved, Some(solved));
}

/// What takes longest: the review.
pub(crate) fn review(answer: &mut Value, review: &Review) {
    let finding = |found: &Finding| {
        json!({
            "rule": found.rule, "word": found.outcome.words(), "where": found.at,
            "message": found.message, "mend": found.mend, "missing": found.missing,
        })
    };
    let groups = GROUPS.iter().filter_map(|(outcome, heading)| {
        let own = review.findings.iter().filter(|found| found.outcome == *outcome);
        let told: Vec<Value> = own.map(finding).collect();
        (!told.is_empty())
            .then(|| json!({ "outcome": outcome.word(), "heading": heading, "findings": told }))
    });
    answer["review"] = json!({
        "words": review.standing.words(), "groups": groups.collect::<Vec<_>>(),
    });
}

/// The findings of a review, what fails or is not shown first.
const GROUPS: [(Outcome, &str); 6] = [
    (Outcome::Fail, "Fails"),
    (Outcome::NotShown, "Not shown"),
    (Outcome::NeedsDecision, "To decide"),
    (Outcome::Caution, "To look at"),
    (Outcome::Pass, "Conforms"),
    (Outcome::NotApplicable, "Does not apply"),
];

/// Pipes and fittings to choose from.
pub(crate) fn catalogue() -> Value {
    let pipes: Map<String, Value> = wetrun_catalogue::pipe_types()
        .iter()
        .map(|sort| {
            let sizes: Vec<&str> = sort.sizes.iter().map(|size| size.size.as_str()).collect();
            (sort.name.clone(), json!(sizes))
        })
        .collect();
    let fittings: Vec<Value> = wetrun_catalogue::fittings()
        .iter()
        .map(|fitting| json!({ "name": fitting.name, "k": fitting.k, "what": fitting.what }))
        .collect();
    json!({ "pipes": pipes, "fittings": fittings })
}
