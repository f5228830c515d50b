//! Blocks laid out on pages of paper, with a head and a foot on each.

use super::wrap::wrap;
use super::{Block, Paper, Part};
use crate::draw::font::Weight;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Stroke, Text, fitted};
use wetrun_units::UnitSystem;

const MARGIN_PT: f64 = 36.0;
const HEAD_PT: f64 = 30.0;
const FOOT_PT: f64 = 24.0;
const TEXT_PT: f64 = 8.6;
/// Room to sign in.
const SIGN_PT: f64 = 46.0;
/// Room for the name of a fact.
const NAME_PT: f64 = 104.0;

/// The pages of a paper.
pub(crate) fn pages(paper: &Paper) -> Vec<Drawing> {
    // Once to learn on which page each part begins, once more with those numbers.
    let (_, starts) = lay_out(paper.units, &paper.parts, &[]);
    let (mut pages, _) = lay_out(paper.units, &paper.parts, &starts);
    let count = pages.len();
    for (index, page) in pages.iter_mut().enumerate() {
        frame(page, paper, index + 1, count);
    }
    pages
}

fn lay_out(units: UnitSystem, parts: &[Part], starts: &[usize]) -> (Vec<Drawing>, Vec<usize>) {
    let mut pages: Vec<Drawing> = Vec::new();
    let mut begins = Vec::new();
    for part in parts {
        begins.push(pages.len() + 1);
        let mut flow = Flow::new(units, part);
        // Lines to sign on stand at the foot of the part's first page, whatever else it holds.
        for block in &part.blocks {
            if let Block::Signatures(names) = block {
                flow.signatures(names);
            }
        }
        for (index, block) in part.blocks.iter().enumerate() {
            // A heading goes with the whole of a table that fits a page.
            if let (Block::Heading(_), Some(Block::Table(table))) =
                (block, part.blocks.get(index + 1))
            {
                let height_pt = super::table::height_pt(table, flow.room_pt()) + 30.0;
                if height_pt < flow.bottom_pt() - MARGIN_PT - HEAD_PT {
                    flow.need(height_pt);
                }
            }
            match block {
                Block::Contents => flow.contents(parts, starts),
                Block::Signatures(_) => {}
                block => flow.block(block),
            }
        }
        pages.extend(flow.pages);
    }
    (pages, begins)
}

/// Width and height of a sheet, upright.
fn sheet(units: UnitSystem) -> (f64, f64) {
    match units {
        UnitSystem::Us => (612.0, 792.0),
        UnitSystem::Si => (595.28, 841.89),
    }
}

/// Head, foot and rules of a page.
fn frame(page: &mut Drawing, paper: &Paper, number: usize, count: usize) {
    let right = page.width_pt - MARGIN_PT;
    let top = MARGIN_PT + 8.0;
    let rule = Stroke::solid(Ink::Black, 0.7);
    let room = right - MARGIN_PT;
    let title = page.title.clone();
    let site = fitted(&paper.site, 10.0, Weight::Bold, room * 0.5);
    page.text(Layer::Frame, Text::new(Pt(MARGIN_PT, top), 10.0, site).bold());
    let title = fitted(&title, 9.0, Weight::Book, room * 0.48);
    page.text(Layer::Frame, Text::new(Pt(right, top), 9.0, title).anchored(Anchor::End));
    page.line(Layer::Frame, rule, &[Pt(MARGIN_PT, top + 5.0), Pt(right, top + 5.0)]);

    let y = page.height_pt - MARGIN_PT + 4.0;
    page.line(
        Layer::Frame,
        Stroke::solid(Ink::Rule, 0.5),
        &[Pt(MARGIN_PT, y - 10.0), Pt(right, y - 10.0)],
    );
    let words = fitted(&paper.foot.join("  ·  "), 6.8, Weight::Book, room - 80.0);
    page.text(Layer::Frame, Text::new(Pt(MARGIN_PT, y), 6.8, words).ink(Ink::Grey));
    let number = Text::new(Pt(right, y), 6.8, format!("page {number} of {count}"));
    page.text(Layer::Frame, number.anchored(Anchor::End));
}

/// Where the next block goes.
pub(super) struct Flow {
    pages: Vec<Drawing>,
    title: String,
    width_pt: f64,
    height_pt: f64,
    y: f64,
    /// What is kept free at the foot of this page.
    foot_pt: f64,
}

impl Flow {
    fn new(units: UnitSystem, part: &Part) -> Self {
        let (narrow, long) = sheet(units);
        let (width_pt, height_pt) = if part.wide { (long, narrow) } else { (narrow, long) };
        let title = part.title.clone();
        let (pages, y, foot_pt) = (Vec::new(), 0.0, 0.0);
        let mut flow = Self { pages, title, width_pt, height_pt, y, foot_pt };
        flow.new_page();
        flow
    }

    /// Starts a new page.
    pub(super) fn new_page(&mut self) {
        self.pages.push(Drawing::new(self.title.clone(), self.width_pt, self.height_pt));
        self.y = MARGIN_PT + HEAD_PT;
        self.foot_pt = 0.0;
    }

    /// Width between the margins.
    pub(super) fn room_pt(&self) -> f64 {
        self.width_pt - 2.0 * MARGIN_PT
    }

    fn bottom_pt(&self) -> f64 {
        self.height_pt - MARGIN_PT - FOOT_PT + 8.0 - self.foot_pt
    }

    /// Starts a new page where less than `height_pt` is left; says whether it did.
    pub(super) fn need(&mut self, height_pt: f64) -> bool {
        let full = self.y + height_pt > self.bottom_pt() && self.y > MARGIN_PT + HEAD_PT;
        if full {
            self.new_page();
        }
        full
    }

    /// Moves down.
    pub(super) fn skip(&mut self, height_pt: f64) {
        self.y += height_pt;
    }

    /// The left margin and the current height on the page.
    pub(super) fn here(&self) -> Pt {
        Pt(MARGIN_PT, self.y)
    }

    /// The page being filled.
    pub(super) fn page(&mut self) -> Option<&mut Drawing> {
        self.pages.last_mut()
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Verdict { good, word, sentence } => self.verdict(*good, word, sentence),
            Block::Heading(text) => {
                self.skip(7.0);
                self.need(70.0);
                self.lines(text, 10.5, Weight::Bold, 0.0);
                self.skip(3.0);
            }
            Block::Text(text) => {
                self.lines(text, TEXT_PT, Weight::Book, 0.0);
                self.skip(4.0);
            }
            Block::Formula(text) => {
                self.lines(text, TEXT_PT, Weight::Book, 12.0);
                self.skip(2.0);
            }
            Block::Facts(facts) => self.facts(facts),
            Block::Table(table) => super::table::draw(self, table),
            Block::Figure(drawing) => self.figure(drawing),
            Block::Cautions(cautions) => self.cautions(cautions),
            Block::Signatures(_) | Block::Contents => {}
        }
    }

    fn lines(&mut self, text: &str, size_pt: f64, weight: Weight, indent_pt: f64) {
        let text = crate::draw::clean(text);
        for line in wrap(&text, size_pt, weight, self.room_pt() - indent_pt) {
            self.need(size_pt * 1.35);
            self.skip(size_pt * 1.05);
            let at = Pt(MARGIN_PT + indent_pt, self.y);
            self.write(Text { weight, ..Text::new(at, size_pt, line) });
            self.skip(size_pt * 0.3);
        }
    }

    fn write(&mut self, text: Text) {
        if let Some(page) = self.page() {
            page.text(Layer::Label, text);
        }
    }

    fn verdict(&mut self, good: bool, word: &str, sentence: &str) {
        let room = self.room_pt() - 16.0;
        let lines = wrap(sentence, 11.0, Weight::Book, room);
        let height = 34.0 + lines.len() as f64 * 14.5;
        let (x, y) = (MARGIN_PT, self.y + 4.0);
        let ink = if good { Ink::Ample } else { Ink::Short };
        if let Some(page) = self.page() {
            page.rect(Layer::Frame, Some(ink), None, Rect { x, y, w: 5.0, h: height });
        }
        self.write(Text::new(Pt(x + 16.0, y + 20.0), 19.0, word).bold().ink(ink));
        for (row, line) in lines.into_iter().enumerate() {
            self.write(Text::new(Pt(x + 16.0, y + 39.0 + row as f64 * 14.5), 11.0, line));
        }
        self.skip(height + 18.0);
    }

    /// Many short facts stand in two columns, else one below the other.
    fn facts(&mut self, facts: &[(String, String)]) {
        const MANY: usize = 12;
        let room = self.room_pt() / 2.0 - NAME_PT - 10.0;
        let lines = |text: &str| wrap(&crate::draw::clean(text), TEXT_PT, Weight::Book, room).len();
        if facts.len() < MANY || facts.iter().any(|(_, text)| lines(text) > 2) {
            return self.fact_column(facts);
        }
        let pairs = facts.len().div_ceil(2);
        let (left, right) = facts.split_at(pairs);
        for (index, one) in left.iter().enumerate() {
            let row = [Some(one), right.get(index)];
            let most = row.iter().flatten().map(|(_, text)| lines(text)).max().unwrap_or(1);
            self.need(most as f64 * 11.4 + 2.0);
            let y = self.y;
            for (column, fact) in row.into_iter().enumerate() {
                if let Some((name, text)) = fact {
                    self.y = y;
                    let x = MARGIN_PT + column as f64 * self.room_pt() / 2.0;
                    self.fact(
                        name,
                        &wrap(&crate::draw::clean(text), TEXT_PT, Weight::Book, room),
                        x,
                    );
                }
            }
            self.y = y + most as f64 * 11.4 + 1.6;
        }
        self.skip(4.0);
    }

    fn fact_column(&mut self, facts: &[(String, String)]) {
        for (name, text) in facts {
            let text = crate::draw::clean(text);
            let lines = wrap(&text, TEXT_PT, Weight::Book, self.room_pt() - NAME_PT);
            self.need(lines.len() as f64 * 11.4 + 2.0);
            self.fact(name, &lines, MARGIN_PT);
            self.skip(1.6);
        }
        self.skip(4.0);
    }

    fn fact(&mut self, name: &str, lines: &[String], x: f64) {
        let name = fitted(name, TEXT_PT, Weight::Book, NAME_PT - 6.0);
        self.write(Text::new(Pt(x, self.y + 9.0), TEXT_PT, name).ink(Ink::Grey));
        for line in lines {
            self.skip(11.4);
            self.write(Text::new(Pt(x + NAME_PT, self.y - 2.4), TEXT_PT, line.clone()));
        }
    }

    fn figure(&mut self, drawing: &Drawing) {
        self.need(drawing.height_pt);
        let at = Pt(MARGIN_PT + (self.room_pt() - drawing.width_pt) / 2.0, self.y + 2.0);
        if let Some(page) = self.page() {
            page.place(drawing, at);
        }
        self.skip(drawing.height_pt + 6.0);
    }

    fn cautions(&mut self, cautions: &[String]) {
        for caution in cautions {
            let text = crate::draw::clean(caution);
            let lines = wrap(&text, TEXT_PT, Weight::Book, self.room_pt() - 16.0);
            self.need(lines.len() as f64 * 11.4 + 3.0);
            let (x, y) = (MARGIN_PT + 4.5, self.y + 6.4);
            if let Some(page) = self.page() {
                let points = [Pt(x, y - 4.6), Pt(x + 4.5, y + 3.2), Pt(x - 4.5, y + 3.2)];
                page.polygon(Layer::Mark, None, Some(Stroke::solid(Ink::Black, 0.9)), &points);
            }
            self.write(Text::new(Pt(x, y + 2.2), 6.4, "!").bold().anchored(Anchor::Middle));
            for line in lines {
                self.skip(11.4);
                self.write(Text::new(Pt(MARGIN_PT + 16.0, self.y - 2.4), TEXT_PT, line));
            }
            self.skip(3.0);
        }
    }

    fn signatures(&mut self, names: &[String]) {
        let y = self.bottom_pt() - 14.0;
        let (room, count) = (self.room_pt(), names.len().max(1) as f64);
        let each = room / count;
        for (index, name) in names.iter().enumerate() {
            let x = MARGIN_PT + index as f64 * each;
            if let Some(page) = self.page() {
                let rule = Stroke::solid(Ink::Black, 0.6);
                page.line(Layer::Frame, rule, &[Pt(x, y), Pt(x + each - 18.0, y)]);
            }
            self.write(Text::new(Pt(x, y + 9.0), 7.0, name.clone()).ink(Ink::Grey));
        }
        self.foot_pt = SIGN_PT;
    }

    fn contents(&mut self, parts: &[Part], starts: &[usize]) {
        self.block(&Block::Heading("Sheets".to_owned()));
        // Many sections stand in one line, else the list outgrows its page.
        const MOST_LISTED: usize = 8;
        let is_section = |part: &Part| part.title.starts_with(crate::section::TITLE);
        let mut sections: Vec<&str> =
            parts.iter().filter(|p| is_section(p)).map(|p| p.title.as_str()).collect();
        sections.dedup();
        let many = sections.len() > MOST_LISTED;
        let mut listed: Vec<(String, usize)> = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            let title = if many && is_section(part) {
                format!("{}s of {} routes", crate::section::TITLE, sections.len())
            } else {
                part.title.clone()
            };
            if listed.last().is_none_or(|(last, _)| *last != title) {
                listed.push((title, starts.get(index).copied().unwrap_or(0)));
            }
        }
        let rows = listed.len().div_ceil(2);
        self.need(rows as f64 * 11.5);
        let top = self.y;
        for (index, (title, page)) in listed.iter().enumerate() {
            let y = top + (index % rows + 1) as f64 * 11.5 - 2.0;
            let column = (index / rows) as f64 * (self.room_pt() + 20.0) / 2.0;
            self.entry(title, *page, Pt(MARGIN_PT + column, y));
        }
        self.skip(rows as f64 * 11.5 + 4.0);
    }

    /// A line of the list of sheets.
    fn entry(&mut self, title: &str, number: usize, at: Pt) {
        let right = at.0 + self.room_pt() / 2.0 - 10.0;
        let title = fitted(title, TEXT_PT, Weight::Book, right - at.0 - 34.0);
        let text = Text::new(at, TEXT_PT, title);
        let end = text.left_pt() + text.width_pt();
        self.write(text);
        if let Some(page) = self.page() {
            let dots = Stroke::dashed(Ink::Rule, 0.5, &[0.8, 2.4]);
            page.line(Layer::Frame, dots, &[Pt(end + 4.0, at.1), Pt(right - 14.0, at.1)]);
        }
        let number = Text::new(Pt(right, at.1), TEXT_PT, number.to_string());
        self.write(number.anchored(Anchor::End));
    }
}
