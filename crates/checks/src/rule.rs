//! A rule: what it checks and why, its threshold and where that comes from, and how to mend.

use crate::Judged;
use crate::finding::{Finding, Outcome};
use wetrun_facts::Amount;

/// A part of the inspector's checklist.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Section {
    /// Documents.
    Documents,
    /// Levels and head.
    Levels,
    /// Flow, gutters and pipes.
    Capacity,
    /// Air, drain, cleaning.
    Air,
    /// Watertightness and materials.
    Watertight,
    /// Trench, ground, frost.
    Ground,
    /// Screens, first flush, insects.
    Water,
    /// Tank and overflow.
    Tank,
    /// Handover.
    Handover,
}

impl Section {
    /// All sections, in their order.
    pub const ALL: [Self; 9] = [
        Self::Documents,
        Self::Levels,
        Self::Capacity,
        Self::Air,
        Self::Watertight,
        Self::Ground,
        Self::Water,
        Self::Tank,
        Self::Handover,
    ];

    /// Its letter.
    pub fn letter(self) -> &'static str {
        &self.heading()[..1]
    }

    /// Its letter and heading.
    pub const fn heading(self) -> &'static str {
        match self {
            Self::Documents => "A  Documents",
            Self::Levels => "B  Levels and head",
            Self::Capacity => "C  Gutters, flow and pipes",
            Self::Air => "D  Air, drain, cleaning",
            Self::Watertight => "E  Watertightness and materials",
            Self::Ground => "F  Trench, ground, frost",
            Self::Water => "G  Screens, first flush, insects",
            Self::Tank => "H  Tank and overflow",
            Self::Handover => "I  Handover",
        }
    }
}

/// How well the source of a threshold is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confidence {
    /// The text of the source was read.
    Read,
    /// The source is known to say so, but its text was not read.
    Recalled,
    /// The trade does so; no source is claimed.
    CommonPractice,
    /// It follows from the physics or from the calculation itself.
    Reasoned,
}

impl Confidence {
    /// The words printed beside a source.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Recalled => "recalled, text not read",
            Self::CommonPractice => "common practice",
            Self::Reasoned => "reasoned",
        }
    }
}

/// Where a threshold comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// The document or the reason, with its clause where that was read.
    pub text: &'static str,
    /// How well it is known.
    pub confidence: Confidence,
}

/// A rule of the checklist.
#[derive(Debug)]
pub struct Rule {
    /// Its stable name.
    pub name: &'static str,
    /// Its part of the checklist.
    pub section: Section,
    /// What it checks, in one sentence.
    pub checks: &'static str,
    /// Why that matters.
    pub why: &'static str,
    /// The built-in threshold, where the rule has one that a site file may change.
    pub limit: Option<Amount>,
    /// What the threshold means, in words.
    pub threshold: &'static str,
    /// Where it comes from.
    pub source: Source,
    /// Keys of the site file that it reads.
    pub keys: &'static str,
    /// How a failing item is mended.
    pub mend: &'static str,
    pub(crate) judge: fn(&Rule, &Judged<'_>) -> Vec<Finding>,
}

impl Rule {
    /// The findings of this rule.
    pub fn judge(&self, input: &Judged<'_>) -> Vec<Finding> {
        (self.judge)(self, input)
    }

    /// A finding of this rule, with the threshold in force and its basis.
    pub(crate) fn at(
        &self,
        input: &Judged<'_>,
        at: &str,
        outcome: Outcome,
        message: String,
    ) -> Finding {
        let mend = (outcome == Outcome::Fail).then(|| self.mend.to_owned());
        Finding {
            rule: self.name,
            outcome,
            at: at.to_owned(),
            value: None,
            limit: None,
            message,
            basis: self.basis(input),
            mend,
            stated: None,
            missing: Vec::new(),
        }
    }

    /// A finding that the file does not show what the rule needs.
    pub(crate) fn not_shown(&self, input: &Judged<'_>, at: &str, message: &str) -> Finding {
        self.at(input, at, Outcome::NotShown, message.to_owned())
    }

    /// The same, with the keys that would show it: `{}` in a key stands for the tag of the place.
    pub(crate) fn asks(
        &self,
        input: &Judged<'_>,
        at: &str,
        message: &str,
        keys: &[&str],
    ) -> Finding {
        let missing = keys.iter().map(|key| key.replace("{}", at)).collect();
        Finding { missing, ..self.not_shown(input, at, message) }
    }

    /// The single finding that the rule has nothing to judge.
    pub(crate) fn not_applicable(&self, input: &Judged<'_>, message: &str) -> Vec<Finding> {
        vec![self.at(input, "site", Outcome::NotApplicable, message.to_owned())]
    }

    /// The threshold in force: the site file's, else the built-in one.
    pub(crate) fn limit_si(&self, input: &Judged<'_>) -> f64 {
        let given = input.facts.limits.iter().find(|l| l.rule == self.name);
        given.map(|l| l.limit).or(self.limit).map_or(0.0, Amount::si)
    }

    /// Whether the site file sets this rule's threshold itself.
    pub(crate) fn limit_is_given(&self, input: &Judged<'_>) -> bool {
        input.facts.limits.iter().any(|l| l.rule == self.name)
    }

    /// The basis of the threshold in force.
    fn basis(&self, input: &Judged<'_>) -> String {
        match input.facts.limits.iter().find(|l| l.rule == self.name) {
            Some(given) => {
                format!("set in the site file: {}; basis: {}", given.reason, given.basis)
            }
            None => format!("{} ({})", self.source.text, self.source.confidence.words()),
        }
    }
}

impl Finding {
    /// The same finding with the numbers it went by.
    pub(crate) fn with(self, value: Amount, limit: Amount) -> Self {
        Self { value: Some(value), limit: Some(limit), ..self }
    }

    /// The same finding with what would mend it.
    pub(crate) fn mended(self, mend: String) -> Self {
        Self { mend: Some(mend), ..self }
    }
}

/// Pass or fail.
pub(crate) const fn pass_if(holds: bool) -> Outcome {
    if holds { Outcome::Pass } else { Outcome::Fail }
}
