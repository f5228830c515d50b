//! The pieces whose blocking cuts several downspouts off from every tank.

use super::entry;
use crate::render::table::TITLE;
use crate::render::wrap::wrap;
use crate::solved::Solved;
use std::collections::BTreeMap;
use wetrun_network::{DownspoutId, Piece};

/// So many sets of downspouts are listed.
const LISTED: usize = 6;
/// So many tags of a list are named.
const NAMED: usize = 8;

/// What must not block, where two downspouts or more hang on it.
pub(crate) fn list(solved: &Solved) -> String {
    let network = &solved.site.network;
    let cuts = network.cut_pieces();
    let mut sets: BTreeMap<Vec<DownspoutId>, Vec<&str>> = BTreeMap::new();
    // The largest sets first; longer lists than are shown need not be sorted out.
    let mut pieces: Vec<_> = cuts.iter().filter(|c| c.cuts_off.len() > 1).collect();
    pieces.sort_by_key(|c| std::cmp::Reverse(c.cuts_off.len()));
    for cut in pieces.iter().take(LISTED * 50) {
        let mut set = cut.cuts_off.to_vec();
        set.sort_unstable();
        sets.entry(set).or_default().push(match cut.piece {
            Piece::Line(id) => &network.line(id).tag,
            Piece::Point(id) => &network.point(id).tag,
            Piece::Foot(id) => &network.downspout(id).tag,
        });
    }
    let looped = network.on_a_loop();
    let looped = network.lines().iter().zip(looped).filter(|(_, on_a_loop)| *on_a_loop);
    let looped: Vec<&str> = looped.map(|(line, _)| line.tag.as_str()).collect();
    if sets.is_empty() && looped.is_empty() {
        return String::new();
    }
    let mut sets: Vec<_> = sets.into_iter().collect();
    sets.sort_by_key(|(set, _)| std::cmp::Reverse(set.len()));
    let mut out = format!("{TITLE}ONE BLOCKED PIECE CUTS OFF{TITLE:#}\n");
    let rows: Vec<(String, String)> = sets
        .iter()
        .take(LISTED)
        .map(|(set, pieces)| {
            let all = set.len() == network.downspouts().len();
            let tags: Vec<&str> = set.iter().map(|d| network.downspout(*d).tag.as_str()).collect();
            let who = match set.len() {
                2 if all => "both downspouts".to_owned(),
                many if all => format!("all {many} downspouts"),
                _ => named(&tags),
            };
            (named(pieces), who)
        })
        .collect();
    let widest = rows.iter().map(|(pieces, _)| pieces.chars().count()).max().unwrap_or(0);
    for (pieces, who) in &rows {
        out.push_str(&entry(pieces, (widest + 4).min(40), who));
    }
    if sets.is_empty() {
        out.push_str("  no two downspouts\n");
    }
    if sets.len() > LISTED {
        out.push_str("  and others that cut off fewer\n");
    }
    if !looped.is_empty() {
        let words = format!("Water has two ways round by {}.", named(&looped));
        out.push_str(&format!("  {}\n", wrap(&words, 2, 2)));
    }
    out
}

fn named(tags: &[&str]) -> String {
    if tags.len() <= NAMED {
        return tags.join(", ");
    }
    format!("{} and {} more", tags[..NAMED - 1].join(", "), tags.len() + 1 - NAMED)
}
