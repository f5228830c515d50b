//! What is wrong with the texts of a drawing.

use wetrun_sheet::draw::{Drawing, Text};

/// Pairs of texts whose boxes overlap.
pub fn overlapping(drawing: &Drawing) -> Vec<(String, String)> {
    let texts: Vec<&Text> = drawing.texts().map(|(_, text)| text).collect();
    let mut found = Vec::new();
    for (index, a) in texts.iter().enumerate() {
        for b in &texts[index + 1..] {
            if a.bounds().overlaps(&b.bounds()) {
                found.push((a.text.clone(), b.text.clone()));
            }
        }
    }
    found
}

/// Texts that stand over the drawing's edge.
pub fn outside(drawing: &Drawing) -> Vec<String> {
    let out = |text: &&Text| {
        let r = text.bounds();
        r.x < -0.5
            || r.y < -0.5
            || r.x + r.w > drawing.width_pt + 0.5
            || r.y + r.h > drawing.height_pt + 0.5
    };
    drawing.texts().map(|(_, t)| t).filter(out).map(|t| t.text.clone()).collect()
}
