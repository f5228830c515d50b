//! Placement of labels in the open drawing: the first free place among a few, or none.

use super::{Anchor, Pt, Rect, Text};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// A drawing is looked through in upright bands this wide, about a short label, pt.
const BAND_PT: f64 = 24.0;
/// No drawing is wider than so many bands on either side; what is counts as standing at the edge.
const MOST_BANDS: f64 = 1e4;

/// What is taken already, by the bands that it reaches into.
#[derive(Clone, Debug, Default)]
pub(crate) struct Taken {
    bands: BTreeMap<i32, Vec<Rect>>,
}

impl Taken {
    /// Keeps a box free of labels.
    pub(crate) fn keep(&mut self, rect: Rect) {
        for band in bands(rect) {
            self.bands.entry(band).or_default().push(rect);
        }
    }

    /// Takes the first of the texts that overlaps nothing and lies within `frame`.
    pub(crate) fn first_free(
        &mut self,
        frame: Rect,
        candidates: impl IntoIterator<Item = Text>,
    ) -> Option<Text> {
        for text in candidates {
            let bounds = text.bounds();
            if self.is_free(frame, bounds) {
                self.keep(with_air(bounds));
                return Some(text);
            }
        }
        None
    }

    /// Puts a text at the first of the places where it overlaps nothing and lies within `frame`.
    pub(crate) fn first_place(
        &mut self,
        frame: Rect,
        text: &Text,
        places: impl IntoIterator<Item = (Pt, Anchor)>,
    ) -> Option<Text> {
        let width_pt = text.width_pt();
        for (at, anchor) in places {
            let bounds = text.bounds_at(at, anchor, width_pt);
            if self.is_free(frame, bounds) {
                self.keep(with_air(bounds));
                return Some(Text { at, anchor, ..text.clone() });
            }
        }
        None
    }

    /// Takes all of the texts where each of them is free and inside; else none.
    pub(crate) fn all_free(&mut self, frame: Rect, texts: &[Text]) -> bool {
        // Lines of one label stand closer than other labels may.
        let free = texts.iter().all(|text| self.is_free(frame, text.bounds()));
        if free {
            texts.iter().for_each(|text| self.keep(with_air(text.bounds())));
        }
        free
    }

    fn is_free(&self, frame: Rect, bounds: Rect) -> bool {
        if !contains(frame, bounds) {
            return false;
        }
        let here = bands(bounds).filter_map(|band| self.bands.get(&band));
        !here.flatten().any(|taken| taken.overlaps(&bounds))
    }
}

/// The bands that a box reaches into.
fn bands(rect: Rect) -> RangeInclusive<i32> {
    let (a, b) = (rect.x, rect.x + rect.w);
    #[allow(clippy::cast_possible_truncation)]
    let band = |x: f64| (x / BAND_PT).floor().clamp(-MOST_BANDS, MOST_BANDS) as i32;
    band(a.min(b))..=band(a.max(b))
}

/// Words side by side stand as far apart as words in a sentence.
fn with_air(r: Rect) -> Rect {
    const AIR_PT: f64 = 2.0;
    Rect { x: r.x - AIR_PT, w: r.w + 2.0 * AIR_PT, ..r }
}

fn contains(frame: Rect, inner: Rect) -> bool {
    inner.x >= frame.x
        && inner.y >= frame.y
        && inner.x + inner.w <= frame.x + frame.w
        && inner.y + inner.h <= frame.y + frame.h
}
