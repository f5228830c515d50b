//! The inks of the sheets as the page's colours, and what each is in the dark.

use std::fmt::Write;
use wetrun_answers::Ink;

/// Every ink, what the styles call it, and what it is on dark paper.
const INKS: [(Ink, &str, &str); 12] = [
    (Ink::White, "paper", "#16191b"),
    (Ink::Black, "ink", "#ececec"),
    (Ink::Grey, "grey", "#a3a8ab"),
    (Ink::Rule, "rule", "#565c60"),
    (Ink::Pale, "pale", "#212528"),
    (Ink::Earth, "earth", "#c49a64"),
    (Ink::Soil, "soil", "#2a2620"),
    (Ink::Storm, "storm", "#74b4ea"),
    (Ink::Water, "water", "#1d3a52"),
    (Ink::Short, "short", "#ff8f85"),
    (Ink::Thin, "thin", "#e3b35a"),
    (Ink::Ample, "ample", "#7fcf9f"),
];

/// Rules that name the inks, and turn drawings dark where the page is.
pub(crate) fn styles() -> String {
    let (mut light, mut dark, mut drawn) = (String::new(), String::new(), String::new());
    for (ink, name, in_the_dark) in INKS {
        let hex = ink.hex();
        let _ = write!(light, "--{name}:{hex};");
        let _ = write!(dark, "--{name}:{in_the_dark};");
        for way in ["fill", "stroke"] {
            let _ = writeln!(drawn, "svg [{way}=\"{hex}\"]{{{way}:var(--{name})}}");
        }
    }
    format!(":root{{{light}}}\n@media (prefers-color-scheme:dark){{\n:root{{{dark}}}\n{drawn}}}\n")
}
