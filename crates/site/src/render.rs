//! Diagnostics as a person reads them: message, place, excerpt, what was expected, key path.

use crate::clean::keep_width;
use crate::context::MOST_FAULTS;
use crate::diagnostic::{Diagnostic, Severity};
use crate::source::Source;
use annotate_snippets::{
    Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet, renderer::DecorStyle,
};
use std::ops::Range;

/// More than this many are counted, not shown.
const SHOWN: usize = 100;
/// Columns of a terminal.
const WIDTH: usize = 80;
/// A longer line is shown by the part around the fault only, in bytes to each side.
const REACH: usize = 60;
const LONG_LINE: usize = 200;
/// Marks further apart than this, in bytes, stand in excerpts of their own.
const LONG_BLOCK: usize = 20_000;

/// Renders the diagnostics of a source, one after the other.
pub(crate) fn render(source: &Source, list: &[Diagnostic], colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = renderer.decor_style(DecorStyle::Ascii).term_width(WIDTH);
    let mut text = String::new();
    for diagnostic in list.iter().take(SHOWN) {
        text.push_str(&one(&renderer, source, diagnostic));
        text.push_str("\n\n");
    }
    let errors = list.iter().filter(|d| d.severity == Severity::Error).count();
    if list.len() > SHOWN {
        text.push_str(&format!("... and {} more\n", list.len() - SHOWN));
    }
    if errors > 0 {
        let plural = if errors == 1 { "" } else { "s" };
        let at_least = if list.len() >= MOST_FAULTS { "at least " } else { "" };
        text.push_str(&format!("{}: {at_least}{errors} error{plural}\n", source.name));
    }
    text
}

fn one(renderer: &Renderer, source: &Source, diagnostic: &Diagnostic) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Caution => Level::WARNING.with_name("caution"),
    };
    let title = level.primary_title(&*diagnostic.message).id(diagnostic.code.name());
    let mut group = Group::with_title(title);
    // What was expected stands beside the mark where there is room, else below.
    let expected = &*diagnostic.expected;
    let beside = diagnostic.column + diagnostic.span.len() + expected.len() + 20 <= WIDTH;
    let label = match expected {
        "" => String::new(),
        expected if beside => format!("expected {expected}"),
        _ => String::new(),
    };
    let excerpts = excerpts(source, diagnostic, &label);
    for excerpt in &excerpts {
        group = match excerpt.cut_column {
            // The excerpt cannot tell the column where its line is cut.
            Some(column) => group
                .element(Origin::path(&*source.name).line(excerpt.line).char_column(column))
                .element(excerpt.snippet()),
            None => group.element(excerpt.snippet().path(&*source.name)),
        };
    }
    if !beside && !expected.is_empty() {
        let note = wrapped(expected, WIDTH - 20);
        group = group.element(Level::NOTE.with_name("expected").message(note));
    }
    if !diagnostic.key_path.is_empty() {
        group = group.element(Level::NOTE.with_name("key").message(&*diagnostic.key_path));
    }
    if let Some(nearest) = &diagnostic.nearest {
        group =
            group.element(Level::HELP.message(format!("the nearest known name is `{nearest}`")));
    }
    renderer.render(&[group])
}

/// Lines of the file with what is marked in them.
struct Excerpt<'d> {
    text: String,
    line: usize,
    marks: Vec<(Range<usize>, &'d str, AnnotationKind)>,
    /// The true column of the mark, where the line is cut.
    cut_column: Option<usize>,
}

impl<'d> Excerpt<'d> {
    fn snippet(&self) -> Snippet<'_, Annotation<'_>> {
        let marks = self.marks.iter().map(|(span, text, kind)| {
            let mark = kind.span(span.clone());
            if text.is_empty() { mark } else { mark.label(*text) }
        });
        Snippet::source(&*self.text).line_start(self.line).annotations(marks)
    }

    /// The line of a mark, cut where it is long.
    fn of_line(source: &Source, span: &Range<usize>, text: &'d str, kind: AnnotationKind) -> Self {
        let (line, column) = source.position(span.start);
        let whole = source.line(line);
        let start = span.start.clamp(whole.start, whole.end);
        let end = span.end.clamp(start, whole.end);
        if whole.len() <= LONG_LINE {
            let marks = vec![(start - whole.start..end - whole.start, text, kind)];
            let text = keep_width(&source.text[whole]);
            return Self { text, line, marks, cut_column: None };
        }
        let from = floor(source, start.saturating_sub(REACH).max(whole.start));
        let to = floor(source, (start + 2 * REACH).min(whole.end));
        let lead = if from > whole.start { "..." } else { "" };
        let tail = if to < whole.end { "..." } else { "" };
        let at = start - from + lead.len();
        let marks = vec![(at..at + (end.min(to) - start.min(to)), text, kind)];
        let text = format!("{lead}{}{tail}", keep_width(&source.text[from..to]));
        Self { text, line, marks, cut_column: Some(column) }
    }
}

/// One excerpt for a diagnostic's marks where they stand near each other, else one for each.
fn excerpts<'d>(
    source: &Source,
    diagnostic: &'d Diagnostic,
    expected: &'d str,
) -> Vec<Excerpt<'d>> {
    let primary = (&diagnostic.span, expected, AnnotationKind::Primary);
    let labels = diagnostic.labels.iter().map(|l| (&l.span, &*l.text, AnnotationKind::Context));
    let marks: Vec<_> = std::iter::once(primary).chain(labels).collect();
    let first = marks.iter().map(|mark| mark.0.start).min().unwrap_or_default();
    let last = marks.iter().map(|mark| mark.0.end).max().unwrap_or_default();
    let line = source.position(first).0;
    let block = source.line(line).start..source.line(source.position(last).0).end;
    let long = source.text[block.clone()].lines().any(|line| line.len() > LONG_LINE);
    if marks.len() == 1 || long || block.len() > LONG_BLOCK {
        let each = |(span, text, kind)| Excerpt::of_line(source, span, text, kind);
        return marks.into_iter().map(each).collect();
    }
    let within = |byte: usize| byte.clamp(block.start, block.end) - block.start;
    let shift = |span: &Range<usize>| within(span.start)..within(span.end);
    let marks = marks.into_iter().map(|(span, text, kind)| (shift(span), text, kind)).collect();
    let text: Vec<String> = source.text[block].split('\n').map(keep_width).collect();
    vec![Excerpt { text: text.join("\n"), line, marks, cut_column: None }]
}

/// Breaks a text at spaces into lines of about `width` characters.
fn wrapped(text: &str, width: usize) -> String {
    let (mut out, mut used) = (String::new(), 0);
    for word in text.split(' ') {
        let length = word.chars().count();
        if used > 0 {
            let fits = used + length < width;
            out.push(if fits { ' ' } else { '\n' });
            used = if fits { used + 1 } else { 0 };
        }
        out.push_str(word);
        used += length;
    }
    out
}

fn floor(source: &Source, byte: usize) -> usize {
    (0..=byte).rev().find(|&b| source.text.is_char_boundary(b)).unwrap_or(0)
}
