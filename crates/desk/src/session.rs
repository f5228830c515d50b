//! The text under the hand: what is on disk, what is not saved yet, undo, conflicts, recovery.

use crate::diff::{Hunk, hunks};
use crate::files::{Files, Stamp};
use crate::lines;
use crate::steps::Steps;
use std::sync::Arc;
use wetrun_answers::{Grip, Move, moved_by_hand};
use wetrun_site::{Outline, Site};

/// The texts of one desk.
pub(crate) struct Session {
    name: String,
    /// The text on disk as it was last seen; `None` where the file is gone.
    disk: Option<Arc<str>>,
    /// What stood there when there was a file last.
    seen: Option<Arc<str>>,
    /// Whether nobody has written the file yet.
    new: bool,
    stamp: Stamp,
    text: Arc<str>,
    /// The text as it is read, once somebody has asked.
    written: Option<Arc<Outline>>,
    steps: Steps,
    /// Grows with every change of the text.
    revision: u64,
    /// Grows with everything that a page shows of the session.
    news: u64,
    gesture: Option<Gesture>,
    choice: Option<Choice>,
    /// Unsaved edits that are kept beside the file.
    kept: Option<Arc<str>>,
    /// Why the file cannot be read, and why unsaved edits cannot be kept, in words.
    unread: Option<String>,
    unkept: Option<String>,
}

/// What one hand does without letting go.
struct Gesture {
    name: String,
    /// The text that it began with.
    base: Arc<str>,
    /// The level that it holds, where it is one.
    held: Option<Held>,
}

/// A level in a hand, and the text that it began in as it was read.
struct Held {
    written: Arc<Outline>,
    site: Site,
    grip: Grip,
}

/// Two texts between which a person has to choose.
#[derive(Clone)]
pub(crate) struct Choice {
    /// Tells choices apart.
    pub(crate) number: u64,
    pub(crate) why: Why,
    pub(crate) theirs: Arc<str>,
}

/// Why there is a choice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Why {
    /// The file changed on disk under unsaved edits: the page's text or the file's.
    Disk,
    /// An earlier run left unsaved edits: those or the file's text.
    Kept,
    /// The same lines were changed elsewhere while somebody typed: what was typed, or that.
    Typed,
}

/// Why something was not done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Refused {
    /// The page's picture of the text is old: it is told the new one.
    Stale,
    /// It cannot be done, in words.
    Because(String),
}

impl Session {
    /// The file as it is, with the offer of what an earlier run left.
    ///
    /// # Errors
    /// In words, where the file is not there or no text.
    pub(crate) fn open(files: &dyn Files) -> Result<Self, String> {
        let name = files.name();
        let told = |why: &dyn std::fmt::Display| format!("cannot read `{name}`: {why}");
        let stamp = files.stamp();
        let bytes = files.read().map_err(|why| told(&why))?;
        let disk: Option<Arc<str>> = match bytes {
            Some(bytes) => {
                let text = String::from_utf8(bytes);
                Some(text.map_err(|_| told(&"it is not a text file in UTF-8"))?.into())
            }
            None if files.is_new() => None,
            None => return Err(told(&"there is no such file")),
        };
        let kept = files.kept().ok().flatten().and_then(|bytes| String::from_utf8(bytes).ok());
        let kept: Option<Arc<str>> = kept.map(Into::into);
        let mut session = Self {
            name,
            text: disk.clone().unwrap_or_default(),
            new: disk.is_none(),
            seen: disk.clone(),
            disk,
            stamp,
            written: None,
            steps: Steps::default(),
            revision: 1,
            news: 1,
            gesture: None,
            choice: None,
            kept,
            unread: None,
            unkept: None,
        };
        match session.kept.clone() {
            Some(kept) if kept != session.text => session.offer(Why::Kept, kept),
            Some(_) => session.keep(files),
            None => {}
        }
        Ok(session)
    }

    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    pub(crate) fn text(&self) -> &Arc<str> {
        &self.text
    }

    /// The text as it is read; `None` where it is no YAML.
    pub(crate) fn written(&mut self) -> Option<Arc<Outline>> {
        if self.written.is_none() {
            self.written = Outline::read(&self.text).map(Arc::new);
        }
        self.written.clone()
    }

    pub(crate) fn revision(&self) -> u64 {
        self.revision
    }

    pub(crate) fn news(&self) -> u64 {
        self.news
    }

    /// What is wrong with files, in words.
    pub(crate) fn troubles(&self) -> impl Iterator<Item = &str> {
        [self.unread.as_deref(), self.unkept.as_deref()].into_iter().flatten()
    }

    pub(crate) fn choice(&self) -> Option<&Choice> {
        self.choice.as_ref()
    }

    /// Whether the file is gone from the disk.
    pub(crate) fn gone(&self) -> bool {
        self.disk.is_none()
    }

    /// Whether all is on disk.
    pub(crate) fn saved(&self) -> bool {
        match &self.disk {
            Some(disk) => *disk == self.text,
            None => self.new && self.text.is_empty(),
        }
    }

    /// Whether nobody has written the file yet.
    pub(crate) fn is_new(&self) -> bool {
        self.new && self.disk.is_none()
    }

    /// Whether something can be undone, and redone.
    pub(crate) fn can(&self) -> (bool, bool) {
        let (done, undone) = self.steps.counts();
        let moved = self.gesture.as_ref().is_some_and(|gesture| gesture.base != self.text);
        (done > 0 || moved, undone > 0 && !moved)
    }

    /// Whether a hand holds a level.
    pub(crate) fn is_held(&self) -> bool {
        self.gesture.as_ref().is_some_and(|gesture| gesture.held.is_some())
    }

    /// Lines of the text that are not those of the file, counted from 0, and after which lines some
    /// of the file's are missing.
    pub(crate) fn changed_lines(&self) -> Vec<Hunk> {
        let disk = self.disk.as_deref().unwrap_or_default();
        hunks(&lines::bare(disk), &lines::bare(&self.text))
    }

    /// The two sides of a choice: the page's, and the file's.
    pub(crate) fn sides(&self, choice: &Choice) -> [Arc<str>; 2] {
        match choice.why {
            Why::Disk | Why::Typed => [Arc::clone(&self.text), Arc::clone(&choice.theirs)],
            Why::Kept => [Arc::clone(&choice.theirs), Arc::clone(&self.text)],
        }
    }

    /// Moves a level, from where it stood when the hand touched it.
    pub(crate) fn move_level(
        &mut self,
        gesture: &str,
        hold: impl FnOnce(&Outline) -> Result<(Site, Grip), String>,
        by: Move,
    ) -> Result<(), Refused> {
        self.decided()?;
        if self.gesture.as_ref().is_none_or(|begun| begun.name != gesture || begun.held.is_none()) {
            self.let_go();
            let unread = || Refused::Because("the file cannot be read as YAML".to_owned());
            let written = self.written().ok_or_else(unread)?;
            let (site, grip) = hold(&written).map_err(Refused::Because)?;
            let held = Some(Held { written, site, grip });
            let base = Arc::clone(&self.text);
            self.gesture = Some(Gesture { name: gesture.to_owned(), base, held });
        }
        let Some(Gesture { base, held: Some(held), .. }) = &self.gesture else {
            return Err(Refused::Stale);
        };
        let moved = moved_by_hand(base, &held.written, &held.site, &held.grip, by);
        let (text, written) = moved.map_err(|why| Refused::Because(why.to_string()))?;
        self.put(text.into());
        self.written = Some(Arc::new(written));
        Ok(())
    }

    /// Takes a text that was typed over a revision, or over `base` where the text is another now: then
    /// both changes are kept, and where they meet a person chooses. What is typed in one go is one
    /// step.
    pub(crate) fn typed(
        &mut self,
        gesture: &str,
        revision: u64,
        base: Option<&str>,
        typed: &str,
    ) -> Result<(), Refused> {
        self.decided()?;
        let (text, met) = match base {
            Some(base) => lines::laid_over(&self.text, base, typed),
            None if revision != self.revision => return Err(Refused::Stale),
            None => (lines::typed(&self.text, typed), false),
        };
        if met && self.choice.is_some() {
            return Err(Refused::Because(UNDECIDED.to_owned()));
        }
        let theirs = Arc::clone(&self.text);
        if self.gesture.as_ref().is_none_or(|begun| begun.name != gesture) {
            self.let_go();
            let base = Arc::clone(&self.text);
            self.gesture = Some(Gesture { name: gesture.to_owned(), base, held: None });
        }
        self.put(text.into());
        if met {
            self.let_go();
            self.offer(Why::Typed, theirs);
        }
        Ok(())
    }

    /// Makes a change of the text that is one step by itself.
    pub(crate) fn change(
        &mut self,
        change: impl FnOnce(&str) -> Result<String, String>,
    ) -> Result<(), Refused> {
        self.decided()?;
        self.let_go();
        let text = change(&self.text).map_err(Refused::Because)?;
        self.steps.push(&self.text, &text);
        self.put(text.into());
        Ok(())
    }

    /// The hand lets go: what it did is one step.
    pub(crate) fn let_go(&mut self) {
        if let Some(gesture) = self.gesture.take() {
            self.steps.push(&gesture.base, &self.text);
            self.news += 1;
        }
    }

    /// What the hand did, if it is this one's, is as if it had not been.
    pub(crate) fn give_up(&mut self, gesture: &str) {
        if let Some(begun) = self.gesture.take_if(|begun| begun.name == gesture) {
            self.put(begun.base);
        }
    }

    /// Goes a step back.
    pub(crate) fn undo(&mut self) -> Result<(), Refused> {
        self.decided()?;
        self.let_go();
        if let Some(text) = self.steps.undo(&self.text) {
            self.put(text.into());
        }
        Ok(())
    }

    /// Goes a step forth again.
    pub(crate) fn redo(&mut self) -> Result<(), Refused> {
        self.decided()?;
        self.let_go();
        if let Some(text) = self.steps.redo(&self.text) {
            self.put(text.into());
        }
        Ok(())
    }

    /// Writes the file, unless it is not the one that was read.
    pub(crate) fn save(&mut self, files: &dyn Files) -> Result<(), Refused> {
        self.let_go();
        self.look(files, true);
        if self.choice.is_some() {
            return Err(Refused::Because(UNDECIDED.to_owned()));
        }
        if let Some(why) = &self.unread {
            return Err(Refused::Because(why.clone()));
        }
        if !self.saved() {
            files
                .write(self.text.as_bytes())
                .map_err(|why| Refused::Because(format!("cannot write `{}`: {why}", self.name)))?;
            self.found(Arc::clone(&self.text));
            self.stamp = files.stamp();
            self.news += 1;
        }
        self.keep(files);
        Ok(())
    }

    /// Takes the choice that a person made, difference by difference.
    pub(crate) fn settle(
        &mut self,
        number: u64,
        revision: u64,
        mine: &[bool],
    ) -> Result<(), Refused> {
        self.let_go();
        let shown = |choice: &Choice| choice.number == number && revision == self.revision;
        let Some(choice) = self.choice.clone().filter(shown) else {
            return Err(Refused::Stale);
        };
        let [ours, theirs] = self.sides(&choice);
        let text = mixed(&theirs, &ours, mine).ok_or(Refused::Stale)?;
        if choice.why == Why::Disk {
            self.found(choice.theirs);
        }
        self.choice = None;
        self.steps.push(&self.text, &text);
        self.put(text.into());
        Ok(())
    }

    /// Looks at the file: follows it while nothing is unsaved, offers the choice else.
    pub(crate) fn look(&mut self, files: &dyn Files, closely: bool) {
        let stamp = files.stamp();
        if stamp == self.stamp && !closely {
            return;
        }
        self.stamp = stamp;
        let found = match files.read() {
            Ok(None) => None,
            Ok(Some(bytes)) => match String::from_utf8(bytes) {
                Ok(text) => Some(Arc::<str>::from(text)),
                Err(_) => return self.troubled("it is no text file in UTF-8 any more"),
            },
            Err(why) => return self.troubled(&why.to_string()),
        };
        if self.unread.take().is_some() {
            self.news += 1;
        }
        if found == self.disk {
            return;
        }
        self.news += 1;
        let untouched = self.untouched();
        let Some(theirs) = found else {
            // Nothing is lost while the text is here; saving writes the file anew.
            self.disk = None;
            return;
        };
        if theirs == self.text {
            self.found(theirs);
            self.choice.take_if(|choice| choice.why == Why::Disk);
        } else if untouched {
            // A hand that holds something begins anew from there: what it does next, or takes back, is
            // no change of what others wrote.
            self.let_go();
            self.found(Arc::clone(&theirs));
            self.steps.push(&self.text, &theirs);
            self.put(theirs);
        } else if self.choice.as_ref().is_none_or(|choice| choice.theirs != theirs) {
            self.let_go();
            self.offer(Why::Disk, theirs);
        }
    }

    /// Whether the text is as somebody else wrote it: also where the file is gone for a moment, as while
    /// a program replaces it, and while nothing may be changed yet.
    fn untouched(&self) -> bool {
        let gone = self.disk.is_none() && self.seen.as_ref() == Some(&self.text);
        gone || self.saved() || self.decided().is_err()
    }

    fn found(&mut self, theirs: Arc<str>) {
        self.disk = Some(Arc::clone(&theirs));
        self.seen = Some(theirs);
    }

    /// Keeps what is unsaved beside the file, or forgets it once nothing is.
    pub(crate) fn keep(&mut self, files: &dyn Files) {
        // What an earlier run left is kept until somebody has decided.
        if self.choice.as_ref().is_some_and(|choice| choice.why == Why::Kept) {
            return;
        }
        let unsaved = (!self.saved()).then(|| Arc::clone(&self.text));
        if unsaved == self.kept {
            return;
        }
        match files.keep(unsaved.as_ref().map(|text| text.as_bytes())) {
            Ok(()) => {
                self.kept = unsaved;
                self.unkept = None;
            }
            Err(why) => {
                let why = format!("unsaved edits cannot be kept beside the file: {why}");
                if self.unkept.as_ref() != Some(&why) {
                    self.unkept = Some(why);
                    self.news += 1;
                }
            }
        }
    }

    /// Nothing is changed while what an earlier run left waits for a decision: it would be lost.
    fn decided(&self) -> Result<(), Refused> {
        match &self.choice {
            Some(choice) if choice.why == Why::Kept => Err(Refused::Because(UNDECIDED.to_owned())),
            _ => Ok(()),
        }
    }

    fn offer(&mut self, why: Why, theirs: Arc<str>) {
        self.news += 1;
        self.choice = Some(Choice { number: self.news, why, theirs });
    }

    fn troubled(&mut self, why: &str) {
        let why = format!("cannot read `{}`: {why}", self.name);
        if self.unread.as_ref() != Some(&why) {
            self.unread = Some(why);
            self.news += 1;
        }
    }

    fn put(&mut self, text: Arc<str>) {
        self.news += 1;
        if text == self.text {
            return;
        }
        self.text = text;
        self.written = None;
        self.revision += 1;
        // Between a text and itself there is nothing to choose.
        let settled = |choice: &mut Choice| choice.theirs == self.text;
        if let Some(Choice { why: Why::Disk, theirs, .. }) = self.choice.take_if(settled) {
            self.found(theirs);
        }
    }
}

const UNDECIDED: &str = "first choose between the two texts";

/// A text made of two: for each difference whether the lines of `mine` are taken. `None` where
/// there are not as many differences.
fn mixed(theirs: &str, mine: &str, take_mine: &[bool]) -> Option<String> {
    let (old, new) = (lines::whole(theirs), lines::whole(mine));
    let differ = hunks(&old, &new);
    if differ.len() != take_mine.len() {
        return None;
    }
    let mut text = String::new();
    let mut at = 0;
    for (hunk, take) in differ.iter().zip(take_mine) {
        text.extend(old[at..hunk.old].iter().copied());
        let kept = match take {
            true => &new[hunk.new..hunk.new + hunk.new_count],
            false => &old[hunk.old..hunk.old + hunk.old_count],
        };
        text.extend(kept.iter().copied());
        at = hunk.old + hunk.old_count;
    }
    text.extend(old[at..].iter().copied());
    Some(text)
}

/// The differences of two sides, with their lines.
pub(crate) fn differences<'t>(
    theirs: &'t str,
    mine: &'t str,
) -> Vec<(Hunk, Vec<&'t str>, Vec<&'t str>)> {
    let (old, new) = (lines::whole(theirs), lines::whole(mine));
    let lines = |all: &[&'t str], at: usize, count: usize| all[at..at + count].to_vec();
    hunks(&old, &new)
        .into_iter()
        .map(|h| (h, lines(&old, h.old, h.old_count), lines(&new, h.new, h.new_count)))
        .collect()
}
