//! A drawing as SVG text.

use crate::draw::font::{self, Weight};
use crate::draw::number::coordinate;
use crate::draw::{Anchor, Drawing, Ink, Layer, Path, Shape, Stroke, Text};
use base64::prelude::{BASE64_STANDARD, Engine};
use std::fmt::Write;

/// The family name under which the embedded font travels.
pub(crate) const FAMILY: &str = "DejaVu Sans Condensed";

/// The ink of text that says nothing of its own.
const TEXT_INK: Ink = Ink::Black;

/// The drawing as an `<svg>` element that stands in an HTML page: no fonts, no header.
pub(crate) fn element(drawing: &Drawing) -> String {
    let (w, h) = (coordinate(drawing.width_pt), coordinate(drawing.height_pt));
    let title = escape(&drawing.title);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{title}\">\n"
    );
    body(&mut svg, drawing);
    svg.push_str("</svg>\n");
    svg
}

/// The drawings below one another in one SVG file of their own, fonts included.
pub(crate) fn file(title: &str, drawings: &[Drawing]) -> String {
    const GAP_PT: f64 = 18.0;
    let widest_pt = drawings.iter().map(|d| d.width_pt).fold(1.0, f64::max);
    let width_pt = widest_pt + 2.0 * GAP_PT;
    let height_pt = drawings.iter().map(|d| d.height_pt + GAP_PT).sum::<f64>() + GAP_PT;
    let (w, h) = (coordinate(width_pt), coordinate(height_pt));
    let mut svg = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}pt\" height=\"{h}pt\" viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n<style>{}</style>\n<rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n",
        escape(title),
        font_faces()
    );
    let mut top_pt = GAP_PT;
    for drawing in drawings {
        let _ = writeln!(svg, "<g transform=\"translate({GAP_PT} {})\">", coordinate(top_pt));
        let _ = writeln!(svg, "<title>{}</title>", escape(&drawing.title));
        body(&mut svg, drawing);
        svg.push_str("</g>\n");
        top_pt += drawing.height_pt + GAP_PT;
    }
    svg.push_str("</svg>\n");
    svg
}

/// `@font-face` rules that carry the font itself, so that nothing is asked of the outside.
pub(crate) fn font_faces() -> String {
    let rule = |weight: Weight, number: u32| {
        let data = BASE64_STANDARD.encode(font::file(weight));
        format!(
            "@font-face{{font-family:\"{FAMILY}\";font-weight:{number};src:url(data:font/ttf;base64,{data})}}"
        )
    };
    format!("{}{}", rule(Weight::Book, 400), rule(Weight::Bold, 700))
}

/// Text made safe inside an element or a quoted attribute.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in crate::draw::clean(text).chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            _ => safe.push(c),
        }
    }
    safe
}

fn body(svg: &mut String, drawing: &Drawing) {
    let family = format!("'{FAMILY}','DejaVu Sans',sans-serif");
    // Most text is black: it takes its ink from here.
    let ink = TEXT_INK.hex();
    let _ = writeln!(
        svg,
        "<g font-family=\"{family}\" font-kerning=\"none\" fill=\"{ink}\" xml:space=\"preserve\">"
    );
    let mut open: Option<Layer> = None;
    for shape in &drawing.shapes {
        let (Shape::Path(layer, _) | Shape::Text(layer, _)) = shape;
        if open != Some(*layer) {
            if open.is_some() {
                svg.push_str("</g>\n");
            }
            let _ = writeln!(svg, "<g class=\"{}\">", layer.name());
            open = Some(*layer);
        }
        match shape {
            Shape::Path(_, path) => path_element(svg, path),
            Shape::Text(_, text) => text_element(svg, text),
        }
    }
    if open.is_some() {
        svg.push_str("</g>\n");
    }
    svg.push_str("</g>\n");
}

fn path_element(svg: &mut String, path: &Path) {
    svg.push_str("<path d=\"");
    for (index, p) in path.points.iter().enumerate() {
        let command = if index == 0 { 'M' } else { 'L' };
        let _ = write!(svg, "{command}{} {}", coordinate(p.0), coordinate(p.1));
    }
    svg.push_str(if path.closed { "Z\"" } else { "\"" });
    match path.fill {
        Some(ink) => {
            let _ = write!(svg, " fill=\"{}\"", ink.hex());
        }
        None => svg.push_str(" fill=\"none\""),
    }
    if let Some(Stroke { ink, width_pt, dash }) = path.stroke {
        let _ = write!(svg, " stroke=\"{}\" stroke-width=\"{}\"", ink.hex(), coordinate(width_pt));
        if !dash.is_empty() {
            let dashes: Vec<String> = dash.iter().map(|&d| coordinate(d)).collect();
            let _ = write!(svg, " stroke-dasharray=\"{}\"", dashes.join(" "));
        }
    }
    svg.push_str("/>\n");
}

fn text_element(svg: &mut String, text: &Text) {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let weight = if text.weight == Weight::Bold { " font-weight=\"700\"" } else { "" };
    let ink =
        if text.ink == TEXT_INK { String::new() } else { format!(" fill=\"{}\"", text.ink.hex()) };
    // The length holds the measured width where a viewer does not take the embedded font.
    let _ = writeln!(
        svg,
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"{ink}{anchor}{weight}>{}</text>",
        coordinate(text.at.0),
        coordinate(text.at.1),
        coordinate(text.size_pt),
        coordinate(text.width_pt()),
        escape(&text.text)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_is_only_text() {
        assert_eq!(escape("<script>\u{1b}]]>\"'&"), "&lt;script&gt; ]]&gt;&quot;&#39;&amp;");
    }
}
