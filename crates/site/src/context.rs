//! The reading of one file: its source, its units, and the faults found so far.

use crate::diagnostic::{Code, Diagnostic, Severity};
use crate::fields::Field;
use crate::source::{Source, Span};
use wetrun_units::{UnitSystem, nearest};

/// What every reader of a section shares.
pub(crate) struct Context<'s> {
    pub(crate) source: &'s Source,
    pub(crate) units: UnitSystem,
    pub(crate) faults: Vec<Diagnostic>,
}

/// No more faults than this are kept of one file: who has a thousand has the wrong file.
pub(crate) const MOST_FAULTS: usize = 1000;

/// A near name is sought for this many faults: the search takes time, and nobody reads on.
const MOST_ADVISED: usize = 200;

impl<'s> Context<'s> {
    pub(crate) fn new(source: &'s Source) -> Self {
        Self { source, units: UnitSystem::Si, faults: Vec::new() }
    }

    /// Whether so much is wrong that nothing more is noted.
    pub(crate) fn is_full(&self) -> bool {
        self.faults.len() >= MOST_FAULTS
    }

    /// Whether any fault found so far is an error.
    pub(crate) fn has_errors(&self) -> bool {
        self.faults.iter().any(|fault| fault.severity == Severity::Error)
    }

    pub(crate) fn report(&mut self, fault: Diagnostic) {
        if !self.is_full() {
            self.faults.push(fault);
        }
    }

    /// Reports a fault of a field's value, with what was expected there.
    pub(crate) fn fault(
        &mut self,
        code: Code,
        field: &Field<'_>,
        message: impl Into<String>,
        expected: impl Into<String>,
    ) {
        let fault = Diagnostic::new(code, field.span(), message);
        self.report(fault.path(&field.path).expected(expected));
    }

    /// Reports a name that stands for nothing, with the nearest that stands for something.
    pub(crate) fn unknown<'n>(
        &mut self,
        code: Code,
        at: (Span, &crate::path::Path<'_>),
        message: String,
        expected: impl Into<String>,
        word: &str,
        known: impl IntoIterator<Item = &'n str>,
    ) {
        if self.is_full() {
            return;
        }
        let fault = Diagnostic::new(code, at.0, message).path(at.1).expected(expected);
        let near = if self.faults.len() < MOST_ADVISED { nearest(word, known) } else { None };
        self.report(fault.nearest(near));
    }
}
