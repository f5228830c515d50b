//! Reads the text and the sizes of pages out of a PDF: objects and streams by another library,
//! characters by the `ToUnicode` table of each font (ISO 32000-1, 9.10.3).

use lopdf::content::Content;
use lopdf::{Dictionary, Document, Object};
use std::collections::BTreeMap;

/// Codes of a font and the characters they stand for.
type Characters = BTreeMap<u16, String>;

/// All text of a PDF, page by page, a line for each piece of text.
pub fn pages(bytes: &[u8]) -> Vec<String> {
    let document = Document::load_mem(bytes).expect("a PDF that loads");
    document.get_pages().values().map(|&id| page(&document, id)).collect()
}

/// Width and height of each page in points (ISO 32000-1, 7.7.3.3: `MediaBox`, inheritable).
pub fn sizes(bytes: &[u8]) -> Vec<(f32, f32)> {
    let document = Document::load_mem(bytes).expect("a PDF that loads");
    let size = |id: lopdf::ObjectId| {
        let mut page = document.get_dictionary(id).expect("a page");
        while page.get(b"MediaBox").is_err() {
            let parent = page.get(b"Parent").and_then(Object::as_reference).expect("a parent");
            page = document.get_dictionary(parent).expect("a parent");
        }
        let corners: Vec<f32> = page
            .get_deref(b"MediaBox", &document)
            .and_then(Object::as_array)
            .expect("a box")
            .iter()
            .map(|o| o.as_float().expect("a number"))
            .collect();
        (corners[2] - corners[0], corners[3] - corners[1])
    };
    document.get_pages().values().map(|&id| size(id)).collect()
}

fn page(document: &Document, id: lopdf::ObjectId) -> String {
    let fonts: BTreeMap<Vec<u8>, Characters> = document
        .get_page_fonts(id)
        .expect("fonts of the page")
        .into_iter()
        .map(|(name, font)| (name, characters(document, font)))
        .collect();
    let content = document.get_page_content(id);
    let mut font: Option<&Characters> = None;
    let mut text = String::new();
    for operation in Content::decode(&content).expect("operators").operations {
        match operation.operator.as_str() {
            "Tf" => font = operation.operands[0].as_name().ok().and_then(|n| fonts.get(n)),
            "TJ" | "Tj" => {
                let font = font.expect("a font before text");
                operation.operands.iter().for_each(|o| write(o, font, &mut text));
                text.push('\n');
            }
            _ => {}
        }
    }
    text
}

fn write(object: &Object, font: &Characters, text: &mut String) {
    match object {
        Object::Array(items) => items.iter().for_each(|o| write(o, font, text)),
        Object::String(bytes, _) => {
            for code in bytes.chunks(2) {
                let code = u16::from_be_bytes([code[0], code[1]]);
                text.push_str(font.get(&code).expect("a character for every code"));
            }
        }
        _ => {} // a shift between glyphs
    }
}

fn characters(document: &Document, font: &Dictionary) -> Characters {
    let table = font.get(b"ToUnicode").and_then(Object::as_reference).expect("a ToUnicode table");
    let stream = document.get_object(table).and_then(Object::as_stream).expect("a stream");
    let text = stream.decompressed_content().unwrap_or_else(|_| stream.content.clone());
    let text = String::from_utf8_lossy(&text).into_owned();
    let mut found = Characters::new();
    for (code, character) in entries(&text, "bfchar") {
        found.insert(code[0], String::from_utf16(&character).expect("UTF-16"));
    }
    for (codes, first) in entries(&text, "bfrange") {
        for code in codes[0]..=codes[1] {
            let mut units = first.clone();
            *units.last_mut().expect("a character") += code - codes[0];
            found.insert(code, String::from_utf16(&units).expect("UTF-16"));
        }
    }
    found
}

/// The lines between `begin<kind>` and `end<kind>`: the codes, and the character they stand for.
fn entries(table: &str, kind: &str) -> Vec<(Vec<u16>, Vec<u16>)> {
    let (begin, end) = (format!("begin{kind}"), format!("end{kind}"));
    let blocks = table.split(begin.as_str()).skip(1);
    blocks
        .flat_map(|block| block.split(end.as_str()).next().expect("a block").lines())
        .filter(|line| line.starts_with('<'))
        .map(|line| {
            assert!(!line.contains('['), "lists of characters are not read here");
            let hex = line.split(['<', '>']).filter(|t| !t.trim().is_empty());
            let mut numbers: Vec<Vec<u16>> = hex.map(units).collect();
            let character = numbers.pop().expect("a character");
            (numbers.concat(), character)
        })
        .collect()
}

/// Hexadecimal digits as numbers of 16 bits.
fn units(hex: &str) -> Vec<u16> {
    let quads = hex.as_bytes().chunks(4).map(|quad| std::str::from_utf8(quad).expect("digits"));
    quads.map(|quad| u16::from_str_radix(quad, 16).expect("a code")).collect()
}
