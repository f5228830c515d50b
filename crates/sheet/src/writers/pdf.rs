//! Drawings as the pages of one PDF: text stays text, fonts are embedded as subsets.

use crate::draw::font::{self, Weight};
use crate::draw::{Drawing, Path, Shape, Text};
use krilla::Document;
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{Path as PdfPath, PathBuilder, Point};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};

/// Why a PDF could not be written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the PDF could not be written: {what}")]
pub struct PdfError {
    /// What the writer said.
    pub what: String,
}

/// The pages as one PDF. A page whose title differs from the one before gets a bookmark.
pub(crate) fn file(title: &str, pages: &[Drawing]) -> Result<Vec<u8>, PdfError> {
    let fonts = Fonts { book: load(Weight::Book)?, bold: load(Weight::Bold)? };
    let mut document = Document::new();
    let mut outline = Outline::new();
    let mut last_title: Option<&str> = None;
    for (index, page) in pages.iter().enumerate() {
        let size = PageSettings::from_wh(page.width_pt as f32, page.height_pt as f32)
            .ok_or_else(|| PdfError { what: format!("page {} has no size", index + 1) })?;
        let mut pdf_page = document.start_page_with(size);
        let mut surface = pdf_page.surface();
        for shape in &page.shapes {
            match shape {
                Shape::Path(_, path) => draw_path(&mut surface, path),
                Shape::Text(_, text) => draw_text(&mut surface, &fonts, text),
            }
        }
        surface.finish();
        pdf_page.finish();
        if last_title != Some(&page.title) {
            let top = XyzDestination::new(index, Point::from_xy(0.0, 0.0));
            outline.push_child(OutlineNode::new(page.title.clone(), top));
            last_title = Some(&page.title);
        }
    }
    document.set_outline(outline);
    let title = crate::draw::clean(title);
    document.set_metadata(Metadata::new().title(title).language("en".to_owned()));
    document.finish().map_err(|error| PdfError { what: format!("{error:?}") })
}

struct Fonts {
    book: Font,
    bold: Font,
}

fn load(weight: Weight) -> Result<Font, PdfError> {
    Font::new(font::file(weight).to_vec().into(), 0)
        .ok_or_else(|| PdfError { what: "the embedded font cannot be read".to_owned() })
}

fn colour(ink: crate::draw::Ink) -> rgb::Color {
    let [r, g, b] = ink.rgb();
    rgb::Color::new(r, g, b)
}

fn fill(ink: crate::draw::Ink) -> Fill {
    Fill { paint: colour(ink).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

fn draw_path(surface: &mut Surface<'_>, path: &Path) {
    let Some(outline) = pdf_path(path) else { return };
    surface.set_fill(path.fill.map(fill));
    surface.set_stroke(path.stroke.map(|stroke| Stroke {
        paint: colour(stroke.ink).into(),
        width: stroke.width_pt as f32,
        miter_limit: 4.0,
        line_cap: LineCap::Butt,
        line_join: LineJoin::Miter,
        opacity: NormalizedF32::ONE,
        dash: (!stroke.dash.is_empty()).then(|| StrokeDash {
            array: stroke.dash.iter().map(|&d| d as f32).collect(),
            offset: 0.0,
        }),
    }));
    surface.draw_path(&outline);
}

fn pdf_path(path: &Path) -> Option<PdfPath> {
    let mut builder = PathBuilder::new();
    for (index, p) in path.points.iter().enumerate() {
        let (x, y) = (round(p.0), round(p.1));
        if index == 0 {
            builder.move_to(x, y);
        } else {
            builder.line_to(x, y);
        }
    }
    if path.closed {
        builder.close();
    }
    builder.finish()
}

fn draw_text(surface: &mut Surface<'_>, fonts: &Fonts, text: &Text) {
    let face = font::face(text.weight);
    let glyphs: Vec<KrillaGlyph> = text
        .text
        .char_indices()
        .map(|(start, c)| {
            let glyph = face.glyph(c);
            let range = start..start + c.len_utf8();
            KrillaGlyph::new(
                GlyphId::new(glyph.id),
                glyph.advance_em as f32,
                0.0,
                0.0,
                0.0,
                range,
                None,
            )
        })
        .collect();
    let font = if text.weight == Weight::Bold { &fonts.bold } else { &fonts.book };
    surface.set_fill(Some(fill(text.ink)));
    surface.set_stroke(None);
    let start = Point::from_xy(round(text.left_pt()), round(text.at.1));
    surface.draw_glyphs(start, &glyphs, font.clone(), &text.text, text.size_pt as f32, false);
}

/// To 1/1000 pt, so that a last bit that differs between machines never reaches the file.
fn round(value_pt: f64) -> f32 {
    ((value_pt * 1000.0).round() / 1000.0) as f32
}
