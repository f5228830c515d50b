//! DXF of release 12, which every CAD program reads: plain text, the same bytes every time.

use crate::cad::model::{At, Dashes, Entity, Held, Layer, Model};
use std::fmt::Write;
use wetrun_units::{UnitSystem, decimal};

/// The name that this program's own data hang on.
const OWN: &str = "WETRUN";

/// The longest text that a reader of release 12 takes, as written.
const LONGEST: usize = 250;

/// The drawing as the bytes of a file. Places that are not finite are left out with what they belong to.
pub(crate) fn file(model: &Model) -> Vec<u8> {
    let mut out =
        Out { text: String::new(), unit_m: unit_m(model.units), decimals: decimals(model.units) };
    let unit = match model.units {
        UnitSystem::Us => "feet",
        UnitSystem::Si => "millimetres",
    };
    out.pair(999, &safe(&format!("{}: true lengths in {unit}", model.title)));
    out.header(model);
    out.tables();
    out.section("ENTITIES");
    model.entities.iter().for_each(|entity| out.entity(entity));
    out.pair(0, "ENDSEC");
    out.pair(0, "EOF");
    encoded(&out.text)
}

/// Metres in a drawing unit.
const fn unit_m(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => 0.3048,
        UnitSystem::Si => 0.001,
    }
}

/// So many decimals are finer than a micrometre.
const fn decimals(units: UnitSystem) -> usize {
    match units {
        UnitSystem::Us => 7,
        UnitSystem::Si => 4,
    }
}

struct Out {
    text: String,
    unit_m: f64,
    decimals: usize,
}

impl Out {
    /// A group code and its value, a line each.
    fn pair(&mut self, code: u16, value: &str) {
        // Writing to a text cannot fail.
        let _ = write!(self.text, "{code:>3}\r\n{value}\r\n");
    }

    fn number(&mut self, code: u16, metres: f64) {
        let value = decimal(metres / self.unit_m, self.decimals);
        self.pair(code, &value);
    }

    fn place(&mut self, code: u16, place: At) {
        self.number(code, place.x_m);
        self.number(code + 10, place.y_m);
        self.number(code + 20, place.z_m);
    }

    fn section(&mut self, name: &str) {
        self.pair(0, "SECTION");
        self.pair(2, name);
    }

    fn header(&mut self, model: &Model) {
        self.section("HEADER");
        let variable = |out: &mut Self, name: &str, code: u16, value: &str| {
            out.pair(9, name);
            out.pair(code, value);
        };
        variable(self, "$ACADVER", 1, "AC1009");
        variable(self, "$DWGCODEPAGE", 3, "ANSI_1252");
        // Feet or millimetres, and the dashes that go with them.
        let (unit, metric) = match model.units {
            UnitSystem::Us => ("2", "0"),
            UnitSystem::Si => ("4", "1"),
        };
        variable(self, "$INSUNITS", 70, unit);
        variable(self, "$MEASUREMENT", 70, metric);
        variable(self, "$LUNITS", 70, "2");
        variable(self, "$LUPREC", 70, "3");
        variable(self, "$TEXTSTYLE", 7, "STANDARD");
        variable(self, "$PDMODE", 70, "3");
        let (low, high) = extents(model);
        for (name, corner) in
            [("$EXTMIN", low), ("$EXTMAX", high), ("$LIMMIN", low), ("$LIMMAX", high)]
        {
            self.pair(9, name);
            self.number(10, corner.x_m);
            self.number(20, corner.y_m);
            if name.starts_with("$EXT") {
                self.number(30, corner.z_m);
            }
        }
        self.pair(9, "$PDSIZE");
        // A hundredth part of what is shown, whatever that is.
        self.pair(40, "-1.0");
        self.pair(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, rows: usize) {
        self.pair(0, "TABLE");
        self.pair(2, name);
        self.pair(70, &rows.to_string());
    }

    fn tables(&mut self) {
        self.section("TABLES");
        // Dashes and gaps on the ground, in metres.
        let types: [(Dashes, &str, &[f64]); 3] = [
            (Dashes::None, "Solid", &[]),
            (Dashes::Dashed, "Long dashes", &[0.5, -0.15]),
            (Dashes::Dotted, "Short dashes", &[0.12, -0.12]),
        ];
        self.table("LTYPE", types.len());
        for (dashes, words, pattern) in types {
            self.pair(0, "LTYPE");
            self.pair(2, line_type(dashes));
            self.pair(70, "0");
            self.pair(3, words);
            self.pair(72, "65");
            self.pair(73, &pattern.len().to_string());
            self.number(40, pattern.iter().map(|piece| piece.abs()).sum());
            for piece in pattern {
                self.number(49, *piece);
            }
        }
        self.pair(0, "ENDTAB");
        self.table("LAYER", Layer::ALL.len() + 1);
        let layers = Layer::ALL.map(|l| (l.name(), l.colour(), line_type(l.dashes())));
        for (name, colour, dashes) in [("0", 7, line_type(Dashes::None))].into_iter().chain(layers)
        {
            self.pair(0, "LAYER");
            self.pair(2, name);
            self.pair(70, "0");
            self.pair(62, &colour.to_string());
            self.pair(6, dashes);
        }
        self.pair(0, "ENDTAB");
        self.table("STYLE", 1);
        self.pair(0, "STYLE");
        self.pair(2, "STANDARD");
        self.pair(70, "0");
        for (code, value) in [(40, "0.0"), (41, "1.0"), (50, "0.0")] {
            self.pair(code, value);
        }
        self.pair(71, "0");
        self.pair(42, "1.0");
        self.pair(3, "txt");
        self.pair(4, "");
        self.pair(0, "ENDTAB");
        self.table("APPID", 1);
        self.pair(0, "APPID");
        self.pair(2, OWN);
        self.pair(70, "0");
        self.pair(0, "ENDTAB");
        self.pair(0, "ENDSEC");
    }

    fn entity(&mut self, entity: &Entity) {
        if !places(entity).all(finite) {
            return;
        }
        match entity {
            Entity::Path { layer, places, closed, solid, name } => {
                let flat = places.iter().all(|p| p.z_m.abs() <= 0.0);
                let kind = if flat { 0 } else { 8 };
                self.pair(0, "POLYLINE");
                self.pair(8, layer.name());
                if *solid {
                    self.pair(6, line_type(Dashes::None));
                }
                self.pair(66, "1");
                self.place(10, At { x_m: 0.0, y_m: 0.0, z_m: 0.0 });
                self.pair(70, &(kind + u8::from(*closed)).to_string());
                self.own(name);
                for place in places {
                    self.pair(0, "VERTEX");
                    self.pair(8, layer.name());
                    self.place(10, *place);
                    self.pair(70, if flat { "0" } else { "32" });
                }
                self.pair(0, "SEQEND");
                self.pair(8, layer.name());
            }
            Entity::Circle { layer, centre, radius_m } => {
                self.pair(0, "CIRCLE");
                self.pair(8, layer.name());
                self.place(10, *centre);
                self.number(40, *radius_m);
            }
            Entity::Mark { layer, place, name } => {
                self.pair(0, "POINT");
                self.pair(8, layer.name());
                self.place(10, *place);
                self.own(name);
            }
            Entity::Text { layer, place, height_m, turn_deg, held, text } => {
                self.pair(0, "TEXT");
                self.pair(8, layer.name());
                self.place(10, *place);
                self.number(40, *height_m);
                self.pair(1, &safe(text));
                self.pair(50, &decimal(*turn_deg, 4));
                self.pair(7, "STANDARD");
                let side = match held {
                    Held::Left => return,
                    Held::Middle => "1",
                    Held::Right => "2",
                };
                self.pair(72, side);
                self.place(11, *place);
            }
        }
    }

    /// What of the site an entity is, for programs.
    fn own(&mut self, name: &str) {
        if !name.is_empty() {
            self.pair(1001, OWN);
            self.pair(1000, &safe(name));
        }
    }
}

const fn line_type(dashes: Dashes) -> &'static str {
    match dashes {
        Dashes::None => "CONTINUOUS",
        Dashes::Dashed => "WETRUN-DASHED",
        Dashes::Dotted => "WETRUN-DOTTED",
    }
}

/// The places of an entity; of a text both ends, about.
fn places(entity: &Entity) -> impl Iterator<Item = At> {
    let all: Vec<At> = match entity {
        Entity::Path { places, .. } => places.clone(),
        Entity::Circle { centre, radius_m, .. } => {
            let moved = |by: f64| At { x_m: centre.x_m + by, y_m: centre.y_m + by, ..*centre };
            vec![moved(-radius_m), moved(*radius_m)]
        }
        Entity::Mark { place, .. } => vec![*place],
        Entity::Text { place, height_m, turn_deg, held, text, .. } => {
            let width_m = crate::cad::model::width_m(text, *height_m);
            let (before, behind) = match held {
                Held::Left => (0.0, width_m),
                Held::Middle => (-width_m / 2.0, width_m / 2.0),
                Held::Right => (-width_m, 0.0),
            };
            let turn = turn_deg.to_radians();
            let (cos, sin) = (libm::cos(turn), libm::sin(turn));
            let corner = |along: f64, up: f64| At {
                x_m: place.x_m + along * cos - up * sin,
                y_m: place.y_m + along * sin + up * cos,
                ..*place
            };
            vec![corner(before, 0.0), corner(behind, *height_m)]
        }
    };
    all.into_iter()
}

fn finite(place: At) -> bool {
    place.x_m.is_finite() && place.y_m.is_finite() && place.z_m.is_finite()
}

/// The corners of all that is drawn.
fn extents(model: &Model) -> (At, At) {
    let all: Vec<At> = model.entities.iter().flat_map(places).filter(|p| finite(*p)).collect();
    let corner = |least: fn(f64, f64) -> f64| {
        let of = |pick: fn(&At) -> f64| all.iter().map(pick).reduce(least).unwrap_or(0.0);
        At { x_m: of(|p| p.x_m), y_m: of(|p| p.y_m), z_m: of(|p| p.z_m) }
    };
    (corner(f64::min), corner(f64::max))
}

/// A text that no reader takes for a code: `%%`, `^` and `\U+` show as themselves or nearly. Characters
/// that the code page lacks stand as their numbers. What is too long ends in dots.
fn safe(text: &str) -> String {
    let mut out = String::new();
    let (mut before, mut length) = (' ', 0);
    let mut chars = crate::draw::clean(text).chars().collect::<Vec<_>>().into_iter().peekable();
    while let Some(c) = chars.next() {
        let next = chars.peek().copied();
        let piece = match c {
            '−' => "-".to_owned(),
            // Two of them begin a code of the plainest text.
            '%' if before == '%' => " %".to_owned(),
            '^' => "^ ".to_owned(),
            '\\' if matches!(next, Some('U' | 'u' | 'M' | 'm')) => "\\ ".to_owned(),
            c if byte(c).is_some() => c.to_string(),
            '\0'..='\u{ffff}' => format!("\\U+{:04X}", u32::from(c)),
            _ => "\\U+FFFD".to_owned(),
        };
        length += piece.chars().count();
        if length > LONGEST {
            out.push_str("...");
            break;
        }
        out.push_str(&piece);
        before = c;
    }
    out
}

/// The text in the code page that the header names.
fn encoded(text: &str) -> Vec<u8> {
    text.chars().map(|c| byte(c).unwrap_or(b'?')).collect()
}

/// A character in the code page 1252: Latin 1, but for 32 places.
fn byte(c: char) -> Option<u8> {
    const FROM_80: [char; 32] = [
        '€', '\0', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\0', 'Ž', '\0', '\0',
        '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\0', 'ž', 'Ÿ',
    ];
    match c {
        '\r' | '\n' | ' '..='~' | '\u{a0}'..='\u{ff}' => u8::try_from(u32::from(c)).ok(),
        '\0' => None,
        c => {
            let at = FROM_80.iter().position(|known| *known == c)?;
            u8::try_from(at + 0x80).ok()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{byte, safe};

    #[test]
    fn a_text_holds_no_codes() {
        assert_eq!(safe("4 in × 2 – ⌀ é"), "4 in × 2 – \\U+2300 é");
        assert_eq!(safe("30 %, %%u, %%%%o"), "30 %, % %u, % % % %o");
        assert_eq!(safe("a^Jb\\P\n0\nEOF \\U+0041"), "a^ Jb\\P 0 EOF \\ U+0041");
        assert_eq!(safe("\u{1F600}"), "\\U+FFFD");
        let long = safe(&"⌀".repeat(300));
        assert!(long.len() <= 253 && long.ends_with("\\U+2300..."), "{long}");
    }

    /// As the code page's own table says.
    #[test]
    fn characters_have_their_places_in_the_code_page() {
        for (c, place) in
            [('A', 0x41), ('€', 0x80), ('–', 0x96), ('Ÿ', 0x9f), ('×', 0xd7), ('ÿ', 0xff)]
        {
            assert_eq!(byte(c), Some(place), "{c}");
        }
        assert_eq!([byte('\0'), byte('\u{81}'), byte('⌀')], [None; 3]);
    }
}
