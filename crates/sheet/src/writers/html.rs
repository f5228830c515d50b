//! The set as one self-contained HTML page: fonts and drawings inside, no script, no requests.
//! The screen gets a layout that fits its width; paper gets the pages of the printed set.

use super::svg;
use crate::draw::{Drawing, clean};
use crate::paper::{Block, Column, Paper, Part, RowKind, Table};
use maud::{Markup, PreEscaped, html};
use wetrun_units::UnitSystem;

/// The page asks for nothing and runs nothing: a browser holds it to that.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:";

/// Tables turn into cards where the screen is narrow, drawings scroll in a box of their own.
const STYLE: &str = "
*{box-sizing:border-box}
body{margin:0;background:#fff;color:#1a1a1a;font:16px/1.45 'DejaVu Sans Condensed',sans-serif;overflow-wrap:anywhere}
main{max-width:64rem;margin:0 auto;padding:1rem 1.1rem 3rem}
h1{font-size:1.6rem;line-height:1.2;margin:.6rem 0 .2rem}
h2{font-size:1.2rem;margin:2.6rem 0 .6rem;padding-top:.5rem;border-top:2px solid #1a1a1a}
h3{font-size:1rem;margin:1.6rem 0 .4rem}
.where{color:#5c5f61;font-size:.85rem;margin:0}
.verdict{border-left:6px solid #2c6e49;padding:.2rem 0 .2rem .9rem;margin:1.2rem 0}
.verdict.bad{border-color:#a81c1c}
.verdict strong{display:block;font-size:1.45rem;color:#2c6e49}
.verdict.bad strong{color:#a81c1c}
.formula{margin:.2rem 0 .2rem 1rem}
dl{display:grid;grid-template-columns:minmax(7rem,11rem) 1fr;gap:.15rem 1rem;margin:.8rem 0}
dt{color:#5c5f61}dd{margin:0}
figure{margin:1rem 0;overflow-x:auto}
figure svg{display:block;width:100%;min-width:44rem;height:auto}
figure.small svg{min-width:31rem}
table{border-collapse:collapse;width:100%;margin:.6rem 0 1rem;font-size:.86rem;overflow-wrap:normal}
.rows{overflow-x:auto}
th,td{text-align:left;vertical-align:top;padding:.25rem .5rem;border-bottom:1px solid #d9dbdc}
th{vertical-align:bottom;border-bottom:1.5px solid #1a1a1a}
th small{display:block;font-weight:400;color:#5c5f61}
.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}
tr.total td{font-weight:700;border-top:1px solid #1a1a1a}
tr.group td{font-weight:700;padding-top:.9rem}
ul.cautions{padding-left:1.2rem}
ul.cautions li{margin:.3rem 0}
.sign{display:flex;gap:1.5rem;flex-wrap:wrap;margin-top:3rem}
.sign div{flex:1 1 11rem;border-top:1px solid #1a1a1a;font-size:.8rem;color:#5c5f61;padding-top:.2rem}
nav a{display:block;color:inherit;padding:.15rem 0}
footer{margin-top:3rem;border-top:1px solid #b4b8ba;padding-top:.5rem;font-size:.8rem;color:#5c5f61}
@media screen and (max-width:46rem){
table,tbody,tr,td{display:block;width:auto}
thead{display:none}
tr{border-bottom:1.5px solid #b4b8ba;padding:.4rem 0}
td{border:0;padding:.05rem 0;display:flex;justify-content:space-between;gap:1rem;text-align:right;white-space:normal;overflow-wrap:anywhere}
td[data-name]::before{content:attr(data-name);color:#5c5f61;text-align:left;flex:0 0 42%}
td:empty{display:none}
td:first-child{font-weight:700}
tr.group td{display:block;text-align:left}
dl{grid-template-columns:1fr}dd{margin-bottom:.4rem}
table.narrow{display:table;width:100%;font-size:.8rem}
.narrow thead{display:table-header-group}
.narrow tbody{display:table-row-group}
.narrow tr{display:table-row}
.narrow th,.narrow td{display:table-cell;padding:.25rem .3rem .25rem 0;border-bottom:1px solid #d9dbdc;text-align:left}
.narrow .n{text-align:right}
.narrow td.n{white-space:nowrap}
.narrow th.n{white-space:normal}
.narrow td[data-name]::before{content:none}
.narrow .more{display:none}
}
.paper{display:none}
@media print{
main{display:none}
.paper{display:block}
.sheet{overflow:hidden}
.sheet+.sheet{break-before:page}
.sheet svg{display:block}
}
";

/// The page: the parts for the screen, the pages of the printed set for paper.
pub(crate) fn file(paper: &Paper, pages: &[Drawing]) -> String {
    let site = clean(&paper.site);
    let foot = clean(&paper.foot.join(" · "));
    let style = svg::font_faces() + STYLE + &paper_style(paper.units);
    let page = html! {
        (PreEscaped("<!doctype html>\n"))
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width,initial-scale=1";
                title { (site) }
                link rel="icon" href="data:,";
                style { (PreEscaped(style)) }
            }
            body {
                main {
                    h1 { (site) }
                    p.where { (foot) }
                    @for (index, part) in paper.parts.iter().enumerate() {
                        section id={ "part-" (index) } {
                            @if index > 0 {
                                h2 { (clean(&part.title)) }
                            }
                            @for block in &part.blocks {
                                (markup(block, &paper.parts))
                            }
                        }
                    }
                    footer { (foot) }
                }
                div.paper aria-hidden="true" {
                    @for page in pages {
                        @let turned = if page.width_pt > page.height_pt { "wide" } else { "tall" };
                        div class={ "sheet " (turned) } { (PreEscaped(svg::element(page))) }
                    }
                }
            }
        }
    };
    page.into_string()
}

/// Sheets of the set's own size without margins. A sheet's box ends a little before the paper
/// does, since a browser that rounds the paper down would else begin another; nothing is drawn
/// so near the edge.
fn paper_style(units: UnitSystem) -> String {
    let (name, width, height, short) = match units {
        UnitSystem::Us => ("letter", "8.5in", "11in", ".04in"),
        UnitSystem::Si => ("A4", "210mm", "297mm", "1mm"),
    };
    let sheet = |class: &str, turn: &str, width: &str, height: &str| {
        format!(
            "@page {class}{{size:{name} {turn};margin:0}}@media print{{.{class}{{page:{class};height:calc({height} - {short})}}.{class} svg{{width:{width};height:{height}}}}}"
        )
    };
    sheet("tall", "portrait", width, height) + &sheet("wide", "landscape", height, width)
}

fn markup(block: &Block, parts: &[Part]) -> Markup {
    html! {
        @match block {
            Block::Verdict { good, word, sentence } => {
                p class=(if *good { "verdict" } else { "verdict bad" }) {
                    strong { (clean(word)) } " " (clean(sentence))
                }
            }
            Block::Heading(text) => { h3 { (clean(text)) } }
            Block::Text(text) => { p { (clean(text)) } }
            Block::Formula(text) => { p.formula { (clean(text)) } }
            Block::Facts(facts) => {
                dl {
                    @for (name, text) in facts {
                        dt { (clean(name)) }
                        dd { (clean(text)) }
                    }
                }
            }
            Block::Table(table) => { (table_markup(table)) }
            Block::Figure(drawing) => {
                figure class=[(drawing.width_pt < 600.0).then_some("small")] tabindex="0" {
                    (PreEscaped(svg::element(drawing)))
                }
            }
            Block::Cautions(cautions) => {
                ul.cautions {
                    @for caution in cautions { li { (clean(caution)) } }
                }
            }
            Block::Signatures(names) => {
                div.sign {
                    @for name in names { div { (clean(name)) } }
                }
            }
            Block::Contents => { (contents(parts)) }
        }
    }
}

/// Parts that follow one another under one title are listed once.
fn contents(parts: &[Part]) -> Markup {
    let mut listed: Vec<_> = parts.iter().enumerate().skip(1).collect();
    listed.dedup_by(|(_, next), (_, last)| next.title == last.title);
    html! {
        nav {
            h3 { "Sheets" }
            @for (index, part) in listed {
                a href={ "#part-" (index) } { (clean(&part.title)) }
            }
        }
    }
}

fn table_markup(table: &Table) -> Markup {
    let narrow = table.columns.iter().any(|column| column.narrow);
    let class = |column: &Column| match (column.numbers, narrow && !column.narrow) {
        (true, true) => Some("n more"),
        (true, false) => Some("n"),
        (false, true) => Some("more"),
        (false, false) => None,
    };
    let name = |column: &Column| match column.unit.as_str() {
        "" => clean(&column.name),
        unit => clean(&format!("{}, {unit}", column.name)),
    };
    let row_class = |kind: RowKind| match kind {
        RowKind::Plain => None,
        RowKind::Total => Some("total"),
        RowKind::Group => Some("group"),
    };
    html! {
        div.rows {
            table class=[narrow.then_some("narrow")] {
                thead {
                    tr {
                        @for column in &table.columns {
                            th class=[class(column)] {
                                (clean(&column.name))
                                @if !column.unit.is_empty() { small { (clean(&column.unit)) } }
                            }
                        }
                    }
                }
                tbody {
                    @for row in &table.rows {
                        tr class=[row_class(row.kind)] {
                            @if row.kind == RowKind::Group {
                                td colspan=(table.columns.len()) { (clean(&row.cells[0])) }
                            } @else {
                                @for (column, cell) in table.columns.iter().zip(&row.cells) {
                                    td class=[class(column)] data-name=(name(column)) { (clean(cell)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
