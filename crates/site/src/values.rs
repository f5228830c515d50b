//! Single values of the file as quantities in SI, each checked for its range.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::fields::Field;
use crate::keys::{self, LONGEST_NAME, LONGEST_TEXT, MOST_COUNT};
use crate::source::Span;
use wetrun_network::limits;
use wetrun_units::{
    Area, Fault, Fraction, Intensity, Kind, Length, Slope, Speed, Temperature, UnitSystem,
    ValueError, Volume, nearest,
};

/// Ranges beyond which a value is a slip, in SI. They keep every sum of the solver finite.
mod range {
    pub(super) const LENGTH_M: f64 = 1e5;
    pub(super) const SIZE_M: std::ops::RangeInclusive<f64> = 1e-3..=50.0;
    pub(super) const AREA_M2: std::ops::RangeInclusive<f64> = 1e-6..=1e9;
    pub(super) const VOLUME_M3: std::ops::RangeInclusive<f64> = 1e-6..=1e9;
}

impl Context<'_> {
    /// A level: any height above or below the datum.
    pub(crate) fn level(&mut self, field: &Field<'_>) -> Option<Length> {
        let level = self.value(field, Kind::Level, UnitSystem::read_level)?;
        let fits = limits::LEVEL.contains(&level);
        self.within(fits, field, level, "a level", keys::LEVEL.range)
    }

    /// A length that must be positive.
    pub(crate) fn length(&mut self, field: &Field<'_>) -> Option<Length> {
        let length = self.value(field, Kind::Level, UnitSystem::read_level)?;
        let fits = limits::LENGTH.contains(&length);
        self.within(fits, field, length, "a length", keys::LENGTH.range)
    }

    /// A distance or height that may be zero.
    pub(crate) fn height(&mut self, field: &Field<'_>) -> Option<Length> {
        let length = self.value(field, Kind::Level, UnitSystem::read_level)?;
        let fits = (0.0..=range::LENGTH_M).contains(&length.to_m());
        self.within(fits, field, length, "this length", keys::HEIGHT.range)
    }

    /// A size, positive: a bore, a width.
    pub(crate) fn size(&mut self, field: &Field<'_>) -> Option<Length> {
        let size = self.value(field, Kind::Size, UnitSystem::read_size)?;
        let fits = range::SIZE_M.contains(&size.to_m());
        self.within(fits, field, size, "a size", keys::SIZE.range)
    }

    /// A bore.
    pub(crate) fn bore(&mut self, field: &Field<'_>) -> Option<Length> {
        let bore = self.value(field, Kind::Size, UnitSystem::read_size)?;
        let fits = limits::BORE.contains(&bore);
        self.within(fits, field, bore, "a bore", keys::BORE.range)
    }

    /// A wall's thickness or roughness: zero or more.
    pub(crate) fn thickness(&mut self, field: &Field<'_>) -> Option<Length> {
        let size = self.value(field, Kind::Size, UnitSystem::read_size)?;
        let fits = (0.0..=*range::SIZE_M.end()).contains(&size.to_m());
        self.within(fits, field, size, "this size", keys::THICKNESS.range)
    }

    /// An area, positive.
    pub(crate) fn area(&mut self, field: &Field<'_>) -> Option<Area> {
        let area = self.value(field, Kind::Area, UnitSystem::read_area)?;
        let fits = range::AREA_M2.contains(&area.to_m2());
        self.within(fits, field, area, "an area", keys::AREA.range)
    }

    /// A depth of rain: a bare number in millimetres or inches, 0 or more.
    pub(crate) fn rain_depth(&mut self, field: &Field<'_>) -> Option<Length> {
        let depth = self.value(field, Kind::Size, UnitSystem::read_size)?;
        let fits = (0.0..=1.0).contains(&depth.to_m());
        self.within(fits, field, depth, "a depth of rain", keys::RAIN_DEPTH.range)
    }

    /// A volume, positive.
    pub(crate) fn volume(&mut self, field: &Field<'_>) -> Option<Volume> {
        let volume = self.value(field, Kind::Volume, UnitSystem::read_volume)?;
        let fits = range::VOLUME_M3.contains(&volume.to_m3());
        self.within(fits, field, volume, "a volume", keys::VOLUME.range)
    }

    /// A rain intensity, zero or more.
    pub(crate) fn intensity(&mut self, field: &Field<'_>) -> Option<Intensity> {
        let rain = self.value(field, Kind::Intensity, UnitSystem::read_intensity)?;
        let fits = limits::RAIN.contains(&rain);
        self.within(fits, field, rain, "a rain intensity", keys::INTENSITY.range)
    }

    /// A water temperature.
    pub(crate) fn temperature(&mut self, field: &Field<'_>) -> Option<Temperature> {
        let warm = self.value(field, Kind::Temperature, UnitSystem::read_temperature)?;
        // 104 F is 40 C but for the last bit of a double.
        let fits = (-1e-9..=40.0 + 1e-9).contains(&warm.to_celsius());
        let warm = Temperature::celsius(warm.to_celsius().clamp(0.0, 40.0));
        self.within(fits, field, warm, "the water", keys::TEMPERATURE.range)
    }

    /// A fraction from 0 to 1.
    pub(crate) fn fraction(&mut self, field: &Field<'_>) -> Option<Fraction> {
        let part = self.value(field, Kind::Fraction, UnitSystem::read_fraction)?;
        let fits = (0.0..=1.0).contains(&part.to_ratio());
        self.within(fits, field, part, "a fraction", keys::FRACTION.range)
    }

    /// A speed of water, positive.
    pub(crate) fn speed(&mut self, field: &Field<'_>) -> Option<Speed> {
        let speed = self.value(field, Kind::Speed, UnitSystem::read_speed)?;
        let fits = speed.to_m_per_s() > 0.0 && speed.to_m_per_s() <= 100.0;
        self.within(fits, field, speed, "this speed", keys::SPEED.range)
    }

    /// A slope, zero or more.
    pub(crate) fn slope(&mut self, field: &Field<'_>) -> Option<Slope> {
        let slope = self.value(field, Kind::Slope, UnitSystem::read_slope)?;
        let fits = (0.0..=10.0).contains(&slope.to_ratio());
        self.within(fits, field, slope, "this slope", keys::SLOPE.range)
    }

    /// A plain number without unit, zero or more: a loss coefficient, a price.
    pub(crate) fn number(&mut self, field: &Field<'_>, what: &str) -> Option<f64> {
        let text = field.text(self, what)?;
        match text.trim().parse::<f64>() {
            Ok(number) if keys::COEFFICIENT.holds(number) => Some(number),
            Ok(number) if number.is_finite() => {
                let message = format!("`{}` is outside its range", short(text));
                self.fault(
                    Code::Range,
                    field,
                    message,
                    format!("{what}: {}", keys::COEFFICIENT.words),
                );
                None
            }
            _ => {
                let message = format!("`{}` is no number", short(text));
                self.fault(Code::Value, field, message, format!("{what}: a number without unit"));
                None
            }
        }
    }

    /// How many: a whole number.
    pub(crate) fn count(&mut self, field: &Field<'_>) -> Option<u32> {
        let text = field.text(self, "a whole number")?;
        match text.trim().parse::<u32>() {
            Ok(count) if count <= MOST_COUNT => Some(count),
            _ => {
                let message = format!("`{}` is no count", short(text));
                self.fault(
                    Code::Value,
                    field,
                    message,
                    format!("a whole number from 0 to {MOST_COUNT}"),
                );
                None
            }
        }
    }

    /// Yes or no.
    pub(crate) fn yes_or_no(&mut self, field: &Field<'_>) -> Option<bool> {
        match field.text(self, "yes or no")?.trim() {
            "yes" | "Yes" | "YES" | "true" | "True" | "TRUE" => Some(true),
            "no" | "No" | "NO" | "false" | "False" | "FALSE" => Some(false),
            other => {
                let message = format!("`{}` is neither yes nor no", short(other));
                self.fault(Code::Value, field, message, "`yes` or `no`");
                None
            }
        }
    }

    /// One word of a fixed choice.
    pub(crate) fn choice<T: Copy>(&mut self, field: &Field<'_>, words: &[(&str, T)]) -> Option<T> {
        let listed: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
        let expected = listed.join(" or ");
        let text = field.text(self, &expected)?.trim();
        let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
        if found.is_none() {
            let message = format!("`{}` is no choice for `{}`", short(text), field.path.name());
            let known = words.iter().map(|(word, _)| *word);
            let at = (field.span(), &field.path);
            self.unknown(Code::Value, at, message, expected, text, known);
        }
        found
    }

    /// A unit system.
    pub(crate) fn unit_system(&mut self, field: &Field<'_>) -> Option<UnitSystem> {
        self.choice(field, &UnitSystem::ALL.map(|system| (system.name(), system)))
    }

    /// Free text in one line.
    pub(crate) fn free_text(&mut self, field: &Field<'_>) -> Option<String> {
        let text = field.text(self, "a text")?.trim();
        self.no_longer(field.span(), field, text, LONGEST_TEXT)
    }

    /// A short text: a name.
    pub(crate) fn name(&mut self, field: &Field<'_>) -> Option<String> {
        let text = field.text(self, "a name")?.trim();
        self.no_longer(field.span(), field, text, LONGEST_NAME)
    }

    /// The tag that is a field's own key.
    pub(crate) fn tag(&mut self, field: &Field<'_>) -> String {
        let tag = field.path.name();
        if tag.trim() != tag || tag.chars().any(unseen) {
            let message = "this name has blanks around it, or characters that nobody can see";
            let fault = Diagnostic::new(Code::Value, field.key_at, message).path(&field.path);
            self.report(fault.expected("a name that can be told from others by looking at it"));
        }
        self.no_longer(field.key_at, field, tag, LONGEST_NAME).unwrap_or_default()
    }

    fn no_longer(
        &mut self,
        at: Span,
        field: &Field<'_>,
        text: &str,
        longest: usize,
    ) -> Option<String> {
        let fault = if text.trim().is_empty() {
            "this text is empty".to_owned()
        } else if text.chars().nth(longest).is_some() {
            format!("this text is longer than {longest} characters")
        } else {
            return Some(text.to_owned());
        };
        let expected = format!("a text of 1 to {longest} characters");
        self.report(Diagnostic::new(Code::Value, at, fault).path(&field.path).expected(expected));
        None
    }

    /// A value of a kind; its range is the caller's business.
    pub(crate) fn value<T>(
        &mut self,
        field: &Field<'_>,
        kind: Kind,
        read: impl Fn(UnitSystem, &str) -> Result<T, ValueError>,
    ) -> Option<T> {
        if self.is_full() {
            return None; // the file is refused, and nobody reads on
        }
        let expected = format!("{} such as {}", kind.with_article(), kind.examples());
        let text = field.text(self, &expected)?;
        read(self.units, text).map_err(|error| self.bad_value(field, text, &error, expected)).ok()
    }

    fn bad_value(&mut self, field: &Field<'_>, text: &str, error: &ValueError, expected: String) {
        let whole = field.span();
        // Escapes of a quoted text shift its characters: then the whole text is marked.
        let marked = if self.source.slice(whole) == text {
            let skipped: usize = text.chars().take(error.at).map(char::len_utf8).sum();
            let start = whole.range().start + skipped;
            Span::new(start, whole.range().end.saturating_sub(start))
        } else {
            whole
        };
        let near = match &error.fault {
            Fault::UnknownUnit { nearest: Some(unit), .. } => Some(*unit),
            Fault::UnknownUnit { unit, nearest: None } => nearest(unit, ["mm", "m", "in", "ft"]),
            _ => None,
        };
        let code = match error.fault {
            Fault::NotFinite | Fault::TooLarge => Code::Range,
            _ => Code::Value,
        };
        let fault = Diagnostic::new(code, marked, error.to_string());
        self.report(fault.path(&field.path).expected(expected).nearest(near));
    }

    /// The value where it fits its range; else that is reported.
    pub(crate) fn within<T>(
        &mut self,
        fits: bool,
        field: &Field<'_>,
        value: T,
        what: &str,
        range: &str,
    ) -> Option<T> {
        if fits {
            return Some(value);
        }
        let message = format!("{what} cannot be `{}`", short(self.source.slice(field.span())));
        self.fault(Code::Range, field, message, range);
        None
    }
}

/// Whether a character leaves no mark of its own. Control characters have become U+FFFD before.
fn unseen(c: char) -> bool {
    let joins =
        matches!(c, '\u{ad}' | '\u{34f}' | '\u{115f}' | '\u{1160}' | '\u{17b4}'..='\u{17b5}');
    let selects =
        matches!(c, '\u{180b}'..='\u{180f}' | '\u{fe00}'..='\u{fe0f}' | '\u{e0000}'..='\u{e0fff}');
    joins || selects || c == '\u{fffd}' || c == '\u{3164}' || (c.is_whitespace() && c != ' ')
}

/// A text short enough for a message.
pub(crate) fn short(text: &str) -> String {
    const LONGEST: usize = 40;
    let text = crate::clean_text(text.trim());
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.into_owned(),
    }
}
