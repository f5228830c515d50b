//! What is wrong in a site file: one typed fact per diagnostic, each at its place.

use crate::path::Path;
use crate::source::{Source, Span};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// How grave a diagnostic is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The file cannot be used as it is.
    Error,
    /// The file is used; a person should look.
    Caution,
}

/// The sort of fault, by a stable name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Code {
    /// The bytes are no YAML text.
    Syntax,
    /// The file asks for more than any site needs.
    Limit,
    /// A key nobody knows.
    UnknownKey,
    /// A key that stands twice.
    DuplicateKey,
    /// A key that is needed.
    MissingKey,
    /// A list or a mapping where one value belongs, or the other way round.
    Shape,
    /// A text that is not the value asked for.
    Value,
    /// A value outside its range.
    Range,
    /// A name that stands for nothing.
    Reference,
    /// A tag used twice.
    TagTwice,
    /// Levels that contradict each other.
    Levels,
    /// A profile that does not fit its line.
    Profile,
    /// Shares that are not the whole.
    Shares,
    /// A pipe that lacks what the friction law needs.
    Pipe,
    /// A wye or tee that does not join three lines.
    Junction,
    /// Lines or overflows that lead nowhere.
    Layout,
}

impl Code {
    /// The stable name, in kebab-case.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Syntax => "syntax",
            Self::Limit => "limit",
            Self::UnknownKey => "unknown-key",
            Self::DuplicateKey => "duplicate-key",
            Self::MissingKey => "missing-key",
            Self::Shape => "shape",
            Self::Value => "value",
            Self::Range => "range",
            Self::Reference => "reference",
            Self::TagTwice => "tag-twice",
            Self::Levels => "levels",
            Self::Profile => "profile",
            Self::Shares => "shares",
            Self::Pipe => "pipe",
            Self::Junction => "junction",
            Self::Layout => "layout",
        }
    }
}

/// A further place that bears on a diagnostic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Bytes of the file's text.
    pub span: Range<usize>,
    /// What stands there.
    pub text: String,
}

/// One thing that is wrong, or worth a look, in a site file.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Diagnostic {
    /// How grave it is.
    pub severity: Severity,
    /// What sort of fault it is.
    pub code: Code,
    /// What is wrong, in one line.
    pub message: String,
    /// What was expected there instead; empty where the message says it.
    pub expected: String,
    /// The key path (`lines.L1.profile[1].level`), empty at the top.
    pub key_path: String,
    /// Bytes of the file's text.
    pub span: Range<usize>,
    /// Line in the file, from 1.
    pub line: usize,
    /// Character in the line, from 1.
    pub column: usize,
    /// The nearest known name, where one is near.
    pub nearest: Option<String>,
    /// Further places that bear on it.
    pub labels: Vec<Label>,
}

impl Diagnostic {
    pub(crate) fn new(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            code,
            message: message.into(),
            expected: String::new(),
            key_path: String::new(),
            span: span.range(),
            line: 0,
            column: 0,
            nearest: None,
            labels: Vec::new(),
        }
    }

    pub(crate) fn caution(mut self) -> Self {
        self.severity = Severity::Caution;
        self
    }

    pub(crate) fn path(mut self, path: &Path<'_>) -> Self {
        self.key_path = path.to_string();
        self
    }

    pub(crate) fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = expected.into();
        self
    }

    pub(crate) fn nearest(mut self, nearest: Option<impl Into<String>>) -> Self {
        self.nearest = nearest.map(Into::into);
        self
    }

    pub(crate) fn label(mut self, span: Span, text: impl Into<String>) -> Self {
        self.labels.push(Label { span: span.range(), text: text.into() });
        self
    }
}

/// Why a site file could not be used: every independent fault in it, in the order of the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagnostics {
    source: Arc<Source>,
    list: Vec<Diagnostic>,
}

impl Diagnostics {
    /// Takes stock of the faults of a source: puts them in order and gives each its position.
    pub(crate) fn new(source: Arc<Source>, mut list: Vec<Diagnostic>) -> Self {
        list.sort_by_key(|diagnostic| (diagnostic.span.start, diagnostic.span.end));
        for diagnostic in &mut list {
            (diagnostic.line, diagnostic.column) = source.position(diagnostic.span.start);
        }
        Self { source, list }
    }

    /// The diagnostics, in the order of the text.
    pub fn list(&self) -> &[Diagnostic] {
        &self.list
    }

    /// The file's name, as the caller gave it.
    pub fn file_name(&self) -> &str {
        &self.source.name
    }

    /// All of it for a reader: message, place, excerpt, what was expected. `colour` adds
    /// terminal styles.
    pub fn render(&self, colour: bool) -> String {
        crate::render::render(&self.source, &self.list, colour)
    }

    pub(crate) fn into_list(self) -> Vec<Diagnostic> {
        self.list
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Diagnostics {}
