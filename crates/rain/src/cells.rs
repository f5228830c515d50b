//! A row of comma-separated values as cells, each with its place on the line.

/// One cell of a row: quotes taken off, blanks around it trimmed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// The character of the line that the cell starts at, from 1.
    pub start: usize,
    /// The character that its text starts at, behind blanks; that of its quotation mark, if quoted.
    pub column: usize,
    /// Its text.
    pub text: String,
}

/// The cells of a row; there is always one at least.
///
/// # Errors
/// The character, from 1, of a quotation mark that is not closed on the line.
///
/// # Example
/// ```
/// let row = wetrun_rain::cells(r#"5-min:, "0,4", "#)?;
/// assert_eq!((row[1].column, row[1].text.as_str()), (9, "0,4"));
/// assert_eq!(row[2].text, "");
/// # Ok::<(), usize>(())
/// ```
pub fn cells(row: &str) -> Result<Vec<Cell>, usize> {
    let mut found = Vec::new();
    let mut cell = Cell { start: 1, column: 1, text: String::new() };
    let (mut quoted_at, mut blank) = (None, true);
    let mut chars = row.chars().enumerate().peekable();
    while let Some((index, c)) = chars.next() {
        match (c, quoted_at.is_some()) {
            ('"', true) if chars.peek().is_some_and(|(_, next)| *next == '"') => {
                cell.text.push('"');
                chars.next();
            }
            ('"', true) => quoted_at = None,
            ('"', false) if blank => quoted_at = Some(index + 1),
            (',', false) => {
                let at = index + 2;
                let next = Cell { start: at, column: at, text: String::new() };
                found.push(std::mem::replace(&mut cell, next));
                blank = true;
                continue;
            }
            (c, _) => cell.text.push(c),
        }
        blank &= c.is_whitespace();
        if blank {
            cell.column = index + 2;
        }
    }
    found.push(cell);
    if let Some(column) = quoted_at {
        return Err(column);
    }
    for cell in &mut found {
        cell.text = cell.text.trim().to_owned();
    }
    Ok(found)
}
