//! Reads the text out of a PDF: objects and streams by another library, characters by the
//! `ToUnicode` table of each font (ISO 32000-1, 9.10.3).

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

fn page(document: &Document, id: lopdf::ObjectId) -> String {
    let fonts: BTreeMap<Vec<u8>, Characters> = document
        .get_page_fonts(id)
        .expect("fonts of the page")
        .into_iter()
        .map(|(name, font)| (name, characters(document, font)))
        .collect();
    let content = document.get_page_content(id).expect("content of the page");
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
    for block in text.split("beginbfchar").skip(1) {
        let block = block.split("endbfchar").next().unwrap();
        for line in block.lines().filter(|l| l.starts_with('<')) {
            let hex: Vec<&str> = line.split(['<', '>']).filter(|t| !t.trim().is_empty()).collect();
            let code = u16::from_str_radix(hex[0], 16).expect("a code");
            let units: Vec<u16> = (0..hex[1].len() / 4)
                .map(|i| u16::from_str_radix(&hex[1][4 * i..4 * i + 4], 16).expect("UTF-16"))
                .collect();
            found.insert(code, String::from_utf16(&units).expect("UTF-16"));
        }
    }
    assert!(!text.contains("beginbfrange"), "ranges are not read here");
    found
}
