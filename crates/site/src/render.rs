//! Diagnostics as a person reads them: message, place, excerpt, what was expected, key path.

use crate::diagnostic::{Diagnostic, Severity};
use crate::source::Source;
use annotate_snippets::{AnnotationKind, Level, Origin, Renderer, Snippet, renderer::DecorStyle};
use std::ops::Range;

/// More than this many are counted, not shown.
const SHOWN: usize = 100;
/// A longer line is shown by the part around the fault only, in bytes to each side.
const REACH: usize = 60;
const LONG_LINE: usize = 200;

/// Renders the diagnostics of a source, one after the other.
pub(crate) fn render(source: &Source, list: &[Diagnostic], colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = renderer.decor_style(DecorStyle::Ascii).term_width(100);
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
        text.push_str(&format!("{}: {errors} error{plural}\n", source.name));
    }
    text
}

fn one(renderer: &Renderer, source: &Source, diagnostic: &Diagnostic) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Caution => Level::WARNING.with_name("caution"),
    };
    let mut group = level.primary_title(&*diagnostic.message).id(diagnostic.code.name()).element(
        Origin::path(&*source.name)
            .line(diagnostic.line.max(1))
            .char_column(diagnostic.column.max(1)),
    );
    let mut seen = Vec::new();
    let places = std::iter::once((&diagnostic.span, &diagnostic.expected, AnnotationKind::Primary))
        .chain(diagnostic.labels.iter().map(|l| (&l.span, &l.text, AnnotationKind::Context)));
    for (span, text, kind) in places {
        let window = Window::around(source, span);
        let annotation = kind.span(window.span.clone());
        let annotation = if text.is_empty() { annotation } else { annotation.label(&**text) };
        seen.push((window, annotation));
    }
    for (window, annotation) in seen {
        group = group
            .element(Snippet::source(window.text).line_start(window.line).annotation(annotation));
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

/// The line of a span, cut where it is long.
struct Window {
    text: String,
    line: usize,
    span: Range<usize>,
}

impl Window {
    fn around(source: &Source, span: &Range<usize>) -> Self {
        let (line, _) = source.position(span.start);
        let whole = source.line(line);
        let start = span.start.clamp(whole.start, whole.end);
        let end = span.end.clamp(start, whole.end);
        if whole.len() <= LONG_LINE {
            let text = crate::clean::keep_width(&source.text[whole.clone()]);
            return Self { text, line, span: start - whole.start..end - whole.start };
        }
        let from = floor(source, start.saturating_sub(REACH).max(whole.start));
        let to = floor(source, (start + 2 * REACH).min(whole.end));
        let cut = crate::clean::keep_width(&source.text[from..to]);
        let lead = if from > whole.start { "..." } else { "" };
        let tail = if to < whole.end { "..." } else { "" };
        let at = start - from + lead.len();
        let length = end.min(to) - start.min(to);
        Self { text: format!("{lead}{cut}{tail}"), line, span: at..at + length }
    }
}

fn floor(source: &Source, byte: usize) -> usize {
    (0..=byte).rev().find(|&b| source.text.is_char_boundary(b)).unwrap_or(0)
}
