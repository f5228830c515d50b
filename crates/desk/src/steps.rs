//! Undo and redo without end: each step as the bytes that it changed.

/// One step between two texts: what stood at a place, and what stands there now.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Step {
    at: usize,
    before: String,
    after: String,
}

/// The steps done and those undone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Steps {
    done: Vec<Step>,
    undone: Vec<Step>,
}

impl Steps {
    /// Notes the step from one text to another; what was undone before is gone then.
    pub(crate) fn push(&mut self, before: &str, after: &str) {
        if before == after {
            return;
        }
        self.undone.clear();
        self.done.push(Step::between(before, after));
    }

    /// The text before the last step; `None` where there is none.
    pub(crate) fn undo(&mut self, text: &str) -> Option<String> {
        let step = self.done.pop()?;
        let text = replaced(text, step.at, &step.after, &step.before);
        self.undone.push(step);
        text
    }

    /// The text after the step that was undone last.
    pub(crate) fn redo(&mut self, text: &str) -> Option<String> {
        let step = self.undone.pop()?;
        let text = replaced(text, step.at, &step.before, &step.after);
        self.done.push(step);
        text
    }

    /// How many steps can be undone, and redone.
    pub(crate) fn counts(&self) -> (usize, usize) {
        (self.done.len(), self.undone.len())
    }
}

impl Step {
    fn between(before: &str, after: &str) -> Self {
        let pairs = before.char_indices().zip(after.chars());
        let same = pairs.take_while(|((_, a), b)| a == b).last();
        let at = same.map_or(0, |((at, c), _)| at + c.len_utf8());
        let ends = before[at..].chars().rev().zip(after[at..].chars().rev());
        let tail: usize = ends.take_while(|(a, b)| a == b).map(|(c, _)| c.len_utf8()).sum();
        Self {
            at,
            before: before[at..before.len() - tail].to_owned(),
            after: after[at..after.len() - tail].to_owned(),
        }
    }
}

/// A text with `new` at the place of `old`; `None` where it does not stand there.
fn replaced(text: &str, at: usize, old: &str, new: &str) -> Option<String> {
    let rest = text.get(at..)?.strip_prefix(old)?;
    Some(format!("{}{new}{rest}", &text[..at]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn undo_returns_the_very_bytes(texts in prop::collection::vec("[aé☂\r\n]{0,8}", 1..8)) {
            let mut steps = Steps::default();
            for pair in texts.windows(2) {
                steps.push(&pair[0], &pair[1]);
            }
            let mut changed: Vec<&String> = vec![&texts[0]];
            for text in &texts {
                if Some(&text) != changed.last() {
                    changed.push(text);
                }
            }
            let mut text = changed[changed.len() - 1].clone();
            for before in changed.iter().rev().skip(1) {
                text = steps.undo(&text).unwrap();
                prop_assert_eq!(&text, *before);
            }
            prop_assert!(steps.undo(&text).is_none());
            for after in changed.iter().skip(1) {
                text = steps.redo(&text).unwrap();
                prop_assert_eq!(&text, *after);
            }
            prop_assert!(steps.redo(&text).is_none());
        }
    }

    #[test]
    fn a_new_step_forgets_what_was_undone() {
        let mut steps = Steps::default();
        steps.push("a", "b");
        assert_eq!(steps.undo("b").as_deref(), Some("a"));
        steps.push("a", "c");
        assert_eq!(steps.counts(), (1, 0));
    }
}
