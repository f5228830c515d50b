//! Which texts of a sheet hold characters that the embedded font lacks.

use crate::draw::clean;
use crate::draw::font::{Weight, face};
use crate::input::SheetInput;
use crate::paper::Paper;

/// The tags, names and other texts of the input that the sheets cannot print in full, each once,
/// tags first. A text that holds one of those before it is not named again. Where the embedded
/// font lacks a character, the PDF shows a replacement sign; a browser takes one of its own fonts
/// if it has the character.
pub fn unprintable(input: &SheetInput<'_>) -> Vec<String> {
    lacking(texts(input))
}

/// The same of a paper that was made of blocks: the lines on its pages.
pub fn unprintable_paper(paper: &Paper) -> Vec<String> {
    let pages = crate::paper::page::pages(paper);
    let lines = pages.iter().flat_map(|page| page.texts()).map(|(_, text)| text.text.as_str());
    lacking(lines)
}

fn lacking<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for text in texts {
        let text = clean(text);
        let lacks = |c: char| !face(Weight::Book).has(c) || !face(Weight::Bold).has(c);
        let named = found.iter().any(|known| text.contains(known.as_str()));
        if text.chars().any(lacks) && !named {
            found.push(text);
        }
    }
    found
}

/// Every text that comes from outside.
fn texts<'a>(input: &'a SheetInput<'_>) -> impl Iterator<Item = &'a str> {
    let network = input.network;
    let job = &input.job;
    let head = [input.datum(), input.revision(), input.storm_basis()];
    let pairs = job.documents.iter().chain(&input.owner_notes);
    let tags = (network.downspouts().iter().map(|d| &d.tag))
        .chain(network.points().iter().map(|p| &p.tag))
        .chain(network.lines().iter().map(|l| &l.tag))
        .chain(network.tanks().iter().map(|t| &t.tag))
        .chain(input.facts.roofs.iter().map(|r| &r.name));
    let pipes = (network.lines().iter().map(|l| &l.pipe))
        .chain(network.downspouts().iter().map(|d| &d.pipe))
        .flat_map(|pipe| [&pipe.label, &pipe.source]);
    let findings = input
        .findings
        .iter()
        .flat_map(|f| [&f.group, &f.rule, &f.place, &f.value, &f.limit, &f.message, &f.basis]);
    let failures = input.failures.iter().flat_map(|f| [Some(&f.what), f.mend.as_ref()]).flatten();
    let more = input.findings.iter().flat_map(|f| [&f.mend, &f.stated]).flatten();
    let owner = input.owner_texts.iter().flat_map(|t| std::iter::once(&t.heading).chain(&t.lines));
    let texts = [&job.site, &input.freeboard_basis]
        .into_iter()
        .chain(tags)
        .chain(pairs.flat_map(|(name, text)| [name, text]))
        .chain(pipes)
        .chain(input.facts.benchmarks.iter().flat_map(|b| [Some(&b.tag), b.at.as_ref()]).flatten())
        .chain(input.levels.iter().flat_map(|l| [&l.tag, &l.level]))
        .chain(input.coefficients.iter().flat_map(|c| [&c.name, &c.source]))
        .chain(findings)
        .chain(input.upkeep.iter().flat_map(|u| [&u.when, &u.place, &u.work]))
        .chain(&input.cautions)
        .chain(&input.owner_cautions)
        .chain(failures)
        .chain(more)
        .chain(owner)
        .chain([&input.verdict_words]);
    head.into_iter().chain(texts.map(String::as_str))
}
