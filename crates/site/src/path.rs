//! Key paths: how a reader names a place in a site file.

use std::fmt;

/// A place by its keys, each step hung on the one above.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Path<'p> {
    above: Option<&'p Path<'p>>,
    step: Step<'p>,
}

#[derive(Clone, Copy, Debug)]
enum Step<'p> {
    Root,
    Key(&'p str),
    Index(usize),
}

impl<'p> Path<'p> {
    pub(crate) const ROOT: Path<'static> = Path { above: None, step: Step::Root };

    pub(crate) fn key(&'p self, key: &'p str) -> Self {
        Self { above: Some(self), step: Step::Key(key) }
    }

    pub(crate) fn index(&'p self, index: usize) -> Self {
        Self { above: Some(self), step: Step::Index(index) }
    }

    /// The last key of the path.
    pub(crate) fn name(&self) -> &'p str {
        match self.step {
            Step::Key(key) => key,
            _ => "",
        }
    }
}

impl fmt::Display for Path<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(above) = self.above {
            write!(f, "{above}")?;
        }
        let first = self.above.is_none_or(|above| matches!(above.step, Step::Root));
        match self.step {
            Step::Root => Ok(()),
            Step::Key(key) if first => f.write_str(key),
            Step::Key(key) => write!(f, ".{key}"),
            Step::Index(index) => write!(f, "[{index}]"),
        }
    }
}
