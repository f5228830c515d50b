//! A workbook as the bytes of an .xlsx file: XML parts in a ZIP archive, nothing compressed, no clock.
//!
//! Office Open XML (ECMA-376, parts 1 and 2) as far as numbers, texts and formulas need it.

use super::book::{Book, Cell, Holds, Sheet, letters};
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::result::ZipError;
use zip::write::{SimpleFileOptions, ZipWriter};
use zip::{CompressionMethod, DateTime};

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n";
const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";

/// The file.
///
/// # Errors
/// Where the archive would be too large.
pub(super) fn bytes(book: &Book) -> Result<Vec<u8>, ZipError> {
    let mut archive = Archive(ZipWriter::new(Cursor::new(Vec::new())));
    archive.add("[Content_Types].xml", &types(book))?;
    archive.add("_rels/.rels", &relations(&[("officeDocument", "xl/workbook.xml")]))?;
    archive.add("xl/workbook.xml", &workbook(book))?;
    let sheets: Vec<String> =
        (1..=book.sheets.len()).map(|number| format!("worksheets/sheet{number}.xml")).collect();
    let mut parts: Vec<(&str, &str)> =
        sheets.iter().map(|path| ("worksheet", path.as_str())).collect();
    parts.push(("styles", "styles.xml"));
    archive.add("xl/_rels/workbook.xml.rels", &relations(&parts))?;
    archive.add("xl/styles.xml", &styles())?;
    for (sheet, path) in book.sheets.iter().zip(&sheets) {
        archive.add(&format!("xl/{path}"), &worksheet(sheet))?;
    }
    archive.finish()
}

fn types(book: &Book) -> String {
    let sheet = "application/vnd.openxmlformats-officedocument.spreadsheetml";
    let mut out = format!(
        "{HEAD}<Types xmlns=\"{PACKAGE}/content-types\"><Default Extension=\"rels\" \
         ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default \
         Extension=\"xml\" ContentType=\"application/xml\"/><Override PartName=\"/xl/workbook.xml\" \
         ContentType=\"{sheet}.sheet.main+xml\"/><Override PartName=\"/xl/styles.xml\" \
         ContentType=\"{sheet}.styles+xml\"/>"
    );
    for number in 1..=book.sheets.len() {
        let _ = write!(
            out,
            "<Override PartName=\"/xl/worksheets/sheet{number}.xml\" \
             ContentType=\"{sheet}.worksheet+xml\"/>"
        );
    }
    out + "</Types>"
}

fn relations(parts: &[(&str, &str)]) -> String {
    let mut out = format!("{HEAD}<Relationships xmlns=\"{PACKAGE}/relationships\">");
    for (number, (kind, target)) in parts.iter().enumerate() {
        let _ = write!(
            out,
            "<Relationship Id=\"rId{}\" Type=\"{OFFICE}/{kind}\" Target=\"{target}\"/>",
            number + 1
        );
    }
    out + "</Relationships>"
}

fn workbook(book: &Book) -> String {
    let mut out = format!("{HEAD}<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets>");
    for (number, sheet) in book.sheets.iter().enumerate() {
        let (name, id) = (sheet.name, number + 1);
        let _ = write!(out, "<sheet name=\"{name}\" sheetId=\"{id}\" r:id=\"rId{id}\"/>");
    }
    // Whoever opens it works the formulas out anew.
    out + "</sheets><calcPr calcId=\"0\" fullCalcOnLoad=\"1\"/></workbook>"
}

/// Fonts, fills and formats, in the order of [`super::book::Look`].
fn styles() -> String {
    let fonts = "<fonts count=\"5\"><font><sz val=\"10\"/><name val=\"Arial\"/></font>\
        <font><b/><sz val=\"13\"/><name val=\"Arial\"/></font>\
        <font><b/><sz val=\"10\"/><name val=\"Arial\"/></font>\
        <font><sz val=\"10\"/><color rgb=\"FF1F4E8C\"/><name val=\"Arial\"/></font>\
        <font><i/><sz val=\"10\"/><color rgb=\"FF5A5A5A\"/><name val=\"Arial\"/></font></fonts>";
    let fills = "<fills count=\"5\"><fill><patternFill patternType=\"none\"/></fill>\
        <fill><patternFill patternType=\"gray125\"/></fill>\
        <fill><patternFill patternType=\"solid\"><fgColor rgb=\"FFE8E8E8\"/></patternFill></fill>\
        <fill><patternFill patternType=\"solid\"><fgColor rgb=\"FFFFF6D5\"/></patternFill></fill>\
        <fill><patternFill patternType=\"solid\"><fgColor rgb=\"FFF3E3DF\"/></patternFill></fill></fills>";
    let formats = "<numFmts count=\"3\"><numFmt numFmtId=\"164\" formatCode=\"0.000\"/>\
        <numFmt numFmtId=\"165\" formatCode=\"0.000000\"/>\
        <numFmt numFmtId=\"166\" formatCode=\"0.0E+00\"/></numFmts>";
    // Format, font, fill.
    let looks = [
        (0, 0, 0),
        (0, 1, 0),
        (0, 2, 2),
        (0, 3, 3),
        (0, 0, 4),
        (164, 0, 0),
        (165, 0, 0),
        (166, 4, 0),
        (0, 4, 0),
    ];
    let mut out = format!(
        "{HEAD}<styleSheet xmlns=\"{MAIN}\">{formats}{fonts}{fills}<borders count=\"1\"><border>\
         <left/><right/><top/><bottom/><diagonal/></border></borders><cellStyleXfs count=\"1\"><xf \
         numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/></cellStyleXfs><cellXfs \
         count=\"{}\">",
        looks.len()
    );
    for (format, font, fill) in looks {
        let wrap = match fill {
            2 => "<alignment vertical=\"top\" wrapText=\"1\"/>",
            _ => "",
        };
        let _ = write!(
            out,
            "<xf numFmtId=\"{format}\" fontId=\"{font}\" fillId=\"{fill}\" borderId=\"0\" xfId=\"0\" \
             applyNumberFormat=\"1\" applyFont=\"1\" applyFill=\"1\" applyAlignment=\"1\">{wrap}</xf>"
        );
    }
    out + "</cellXfs><cellStyles count=\"1\"><cellStyle name=\"Normal\" xfId=\"0\" builtinId=\"0\"/>\
           </cellStyles></styleSheet>"
}

fn worksheet(sheet: &Sheet) -> String {
    let mut out = format!(
        "{HEAD}<worksheet xmlns=\"{MAIN}\"><sheetPr><pageSetUpPr fitToPage=\"1\"/></sheetPr><sheetViews><sheetView workbookViewId=\"0\">"
    );
    if sheet.heads > 0 {
        let (split, top) = (sheet.heads, sheet.heads + 1);
        let _ = write!(
            out,
            "<pane ySplit=\"{split}\" topLeftCell=\"A{top}\" activePane=\"bottomLeft\" state=\"frozen\"/>"
        );
    }
    out.push_str("</sheetView></sheetViews>");
    if !sheet.widths.is_empty() {
        out.push_str("<cols>");
        for (number, width) in sheet.widths.iter().enumerate() {
            let number = number + 1;
            let _ = write!(
                out,
                "<col min=\"{number}\" max=\"{number}\" width=\"{width}\" customWidth=\"1\"/>"
            );
        }
        out.push_str("</cols>");
    }
    out.push_str("<sheetData>");
    let mut open = None;
    for (&(row, column), cell) in &sheet.cells {
        if open != Some(row) {
            if open.is_some() {
                out.push_str("</row>");
            }
            let _ = write!(out, "<row r=\"{}\">", row + 1);
            open = Some(row);
        }
        one(&mut out, row, column, cell);
    }
    if open.is_some() {
        out.push_str("</row>");
    }
    // On paper as wide as the sheet, lying on its side.
    out + "</sheetData><pageSetup orientation=\"landscape\" fitToWidth=\"1\" fitToHeight=\"0\"/></worksheet>"
}

fn one(out: &mut String, row: u32, column: u32, cell: &Cell) {
    let place = format!("{}{}", letters(column), row + 1);
    let look = cell.look as u8;
    let _ = match &cell.holds {
        Holds::Text(text) => write!(
            out,
            "<c r=\"{place}\" s=\"{look}\" t=\"inlineStr\"><is><t xml:space=\"preserve\">{}</t></is></c>",
            escaped(text)
        ),
        Holds::Number(value) => write!(out, "<c r=\"{place}\" s=\"{look}\"><v>{value}</v></c>"),
        Holds::Formula(ex) => write!(
            out,
            "<c r=\"{place}\" s=\"{look}\"><f>{}</f><v>{}</v></c>",
            escaped(&ex.text),
            ex.value
        ),
    };
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // What XML has no place for.
            '\u{0}'..='\u{8}'
            | '\u{b}'
            | '\u{c}'
            | '\u{e}'..='\u{1f}'
            | '\u{fffe}'
            | '\u{ffff}' => {
                out.push('\u{fffd}');
            }
            c => out.push(c),
        }
    }
    out
}

/// An archive whose files are stored as they are, on the first day that the format knows.
struct Archive(ZipWriter<Cursor<Vec<u8>>>);

impl Archive {
    fn add(&mut self, name: &str, content: &str) -> Result<(), ZipError> {
        let as_is = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Stored)
            .last_modified_time(DateTime::default());
        self.0.start_file(name, as_is)?;
        self.0.write_all(content.as_bytes())?;
        Ok(())
    }

    fn finish(self) -> Result<Vec<u8>, ZipError> {
        Ok(self.0.finish()?.into_inner())
    }
}
