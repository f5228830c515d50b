//! Numbers as people write them: signs, decimals, exponents and mixed fractions.

use crate::error::Fault;

/// A place in a value's text, moved on as parts are read.
#[derive(Clone, Debug)]
pub(crate) struct Cursor<'a> {
    text: &'a str,
    byte: usize,
}

impl<'a> Cursor<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self { text, byte: 0 }
    }

    pub(crate) fn rest(&self) -> &'a str {
        &self.text[self.byte..]
    }

    /// The place in characters, as messages count it.
    pub(crate) fn at(&self) -> usize {
        self.text[..self.byte].chars().count()
    }

    pub(crate) fn skip(&mut self, bytes: usize) {
        self.byte += bytes;
    }

    pub(crate) fn skip_spaces(&mut self) {
        self.byte = self.text.len() - self.rest().trim_start().len();
    }

    /// Steps over `sign` if it stands here.
    pub(crate) fn take(&mut self, sign: char) -> bool {
        let here = self.rest().starts_with(sign);
        if here {
            self.skip(sign.len_utf8());
        }
        here
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let end = rest.bytes().position(|b| !b.is_ascii_digit()).unwrap_or(rest.len());
        self.skip(end);
        &rest[..end]
    }
}

/// Reads an unsigned number: `4`, `.5`, `1.5e-6`, `1/2`, `4 1/2` or `4-1/2`.
pub(crate) fn number(cursor: &mut Cursor<'_>) -> Result<f64, Fault> {
    let start = cursor.clone();
    let number = unsigned(cursor);
    if matches!(number, Err(Fault::TooLarge | Fault::ZeroBelow)) {
        *cursor = start; // the whole number is at fault
    }
    number
}

fn unsigned(cursor: &mut Cursor<'_>) -> Result<f64, Fault> {
    let start = cursor.clone();
    let whole = cursor.digits();
    let point = cursor.take('.');
    let decimals = if point { cursor.digits() } else { "" };
    if whole.is_empty() && decimals.is_empty() {
        *cursor = start;
        return Err(no_number(cursor.rest()));
    }
    let mut after = cursor.rest().chars();
    if after.next().is_some_and(|c| c == ',' || c == '_')
        && after.next().is_some_and(|c| c.is_ascii_digit())
    {
        return Err(Fault::Comma);
    }
    if point {
        exponent(cursor);
        return decimal(&start, cursor);
    }
    let before = cursor.clone();
    if cursor.take('/') {
        if let Some(below) = denominator(cursor)? {
            return Ok(finite(whole)? / below);
        }
        *cursor = before; // a slash that belongs to no fraction
        return finite(whole);
    }
    if exponent(cursor) {
        return decimal(&start, cursor);
    }
    let whole = finite(whole)?;
    Ok(whole + fraction_after(cursor)?.unwrap_or(0.0))
}

/// The fraction of a mixed number (` 1/2`, `-1/2` or `½`), where one follows.
fn fraction_after(cursor: &mut Cursor<'_>) -> Result<Option<f64>, Fault> {
    let before = cursor.clone();
    let joined = cursor.take('-');
    if !joined {
        cursor.skip_spaces();
    }
    if let Some(part) = cursor.rest().chars().next().and_then(vulgar) {
        cursor.skip(cursor.rest().chars().next().map_or(0, char::len_utf8));
        return Ok(Some(part));
    }
    let above = cursor.digits();
    if !above.is_empty()
        && cursor.take('/')
        && let Some(below) = denominator(cursor)?
    {
        return Ok(Some(finite(above)? / below));
    }
    *cursor = before;
    Ok(None)
}

fn denominator(cursor: &mut Cursor<'_>) -> Result<Option<f64>, Fault> {
    let digits = cursor.digits();
    if digits.is_empty() {
        return Ok(None);
    }
    match finite(digits)? {
        0.0 => Err(Fault::ZeroBelow),
        below => Ok(Some(below)),
    }
}

/// Steps over an exponent (`e-6`); an `e` without digits is left for the unit.
fn exponent(cursor: &mut Cursor<'_>) -> bool {
    let before = cursor.clone();
    if cursor.take('e') || cursor.take('E') {
        let _ = cursor.take('+') || cursor.take('-');
        if !cursor.digits().is_empty() {
            return true;
        }
    }
    *cursor = before;
    false
}

fn decimal(start: &Cursor<'_>, end: &Cursor<'_>) -> Result<f64, Fault> {
    finite(&start.text[start.byte..end.byte])
}

fn finite(digits: &str) -> Result<f64, Fault> {
    match digits.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(Fault::TooLarge),
    }
}

fn vulgar(sign: char) -> Option<f64> {
    Some(match sign {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    })
}

fn no_number(rest: &str) -> Fault {
    let word: String = rest.chars().take_while(|c| !c.is_whitespace()).take(24).collect();
    let plain = word.trim_start_matches(['.', '+', '-']).to_lowercase();
    match plain.as_str() {
        "nan" | "inf" | "infinity" => Fault::NotFinite,
        _ if word.is_empty() => Fault::Empty,
        _ => Fault::NoNumber { found: word },
    }
}
