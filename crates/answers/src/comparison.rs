//! Two revisions of a site, and what the changes do to it.

use crate::difference::{Change, changes};
use crate::outcome::Status;
use crate::solved::Solved;
use std::collections::{BTreeMap, VecDeque};
use wetrun_checks::{Finding, Outcome};

/// Two revisions, solved and reviewed.
#[derive(Debug)]
#[non_exhaustive]
pub struct Comparison {
    /// The first.
    pub before: Solved,
    /// The second.
    pub after: Solved,
    /// What differs in the files.
    pub changes: Vec<Change>,
    /// Findings that came out otherwise, and failures that fail by more.
    pub findings: Vec<Turn>,
}

/// An item of the checklist that came out otherwise or fails worse; `None` where it is not judged there.
#[derive(Debug)]
#[non_exhaustive]
pub struct Turn {
    /// In the first file.
    pub before: Option<Finding>,
    /// In the second file.
    pub after: Option<Finding>,
}

impl Turn {
    /// Whether it fails in both, and by more in the second.
    pub fn fails_worse(&self) -> bool {
        let short = |finding: &Finding| {
            let failed = finding.outcome == Outcome::Fail;
            let (value, limit) = finding.value.zip(finding.limit).filter(|_| failed)?;
            Some((value.si() - limit.si()).abs())
        };
        let (before, after) = (self.before.as_ref(), self.after.as_ref());
        match (before.and_then(short), after.and_then(short)) {
            // What moves by less than a millionth is not told.
            (Some(before), Some(after)) => after > before * (1.0 + 1e-6) + 1e-12,
            _ => false,
        }
    }

    /// The rule and the place.
    pub fn name(&self) -> Option<(&'static str, &str)> {
        let finding = self.after.as_ref().or(self.before.as_ref())?;
        Some((finding.rule, finding.at.as_str()))
    }
}

impl Comparison {
    /// Compares two revisions.
    pub fn new(before: Solved, after: Solved) -> Self {
        let changes = changes(&before.site, &after.site);
        let findings =
            turns(wetrun_checks::review(&before.judged_in_full()), crate::mends::reviewed(&after));
        Self { before, after, changes, findings }
    }

    /// Whether the second passes.
    pub fn status(&self) -> Status {
        self.after.status()
    }
}

/// Findings that came out otherwise or fail worse, in the order of the checklist.
fn turns(before: Vec<Finding>, after: Vec<Finding>) -> Vec<Turn> {
    // A rule may say several things of one place: they are taken in their order.
    let mut left: BTreeMap<(&str, String), VecDeque<(usize, Finding)>> = BTreeMap::new();
    for (index, finding) in before.into_iter().enumerate() {
        left.entry((finding.rule, finding.at.clone())).or_default().push_back((index, finding));
    }
    let mut found = Vec::new();
    for now in after {
        let same_item = left.get_mut(&(now.rule, now.at.clone()));
        let was = same_item.and_then(VecDeque::pop_front).map(|(_, finding)| finding);
        let turn = Turn { before: was, after: Some(now) };
        let outcome = |side: &Option<Finding>| side.as_ref().map(|finding| finding.outcome);
        if outcome(&turn.before) != outcome(&turn.after) || turn.fails_worse() {
            found.push(turn);
        }
    }
    let mut gone: Vec<(usize, Finding)> = left.into_values().flatten().collect();
    gone.sort_by_key(|(index, _)| *index);
    found.extend(gone.into_iter().map(|(_, was)| Turn { before: Some(was), after: None }));
    found.retain(|turn| {
        let silent = |f: &Option<Finding>| {
            f.as_ref().is_none_or(|f| matches!(f.outcome, Outcome::Pass | Outcome::NotApplicable))
        };
        !(silent(&turn.before) && silent(&turn.after))
    });
    found
}
