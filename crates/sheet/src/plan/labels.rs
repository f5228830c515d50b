//! What is written on the plan, each where there is room, the most important first.

use super::{Detail, HEAD_PT, Page};
use crate::draw::font::Weight;
use crate::draw::place::Taken;
use crate::draw::{Anchor, Drawing, Ink, Layer, Pt, Rect, Text, fitted};
use crate::values::{Class, class, mouth, mouth_name, outcome, over_rim, pipe_name, spills_from};
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId};

pub(super) fn draw(drawing: &mut Drawing, page: &Page<'_>, governs: &[LineId], taken: &mut Taken) {
    let top = if page.detail == Detail::Owner { 0.0 } else { HEAD_PT };
    let foot = if page.detail == Detail::Owner { 0.0 } else { 12.0 };
    let frame = Rect { x: 0.0, y: top, w: drawing.width_pt, h: drawing.height_pt - top - foot };
    if page.detail == Detail::Overview {
        return overview(drawing, page, taken, frame);
    }
    let network = page.input.network;
    let mut left_out: Vec<&str> = Vec::new();
    for id in page.downspouts() {
        if !downspout(drawing, page, id, taken, frame) {
            left_out.push(&network.downspout(id).tag);
        }
    }
    for id in page.tanks() {
        if !tank(drawing, page, id, taken, frame) {
            left_out.push(&network.tank(id).tag);
        }
    }
    let leaks = |id: &PointId| page.input.verdict.escapes_at(*id);
    let (first, rest): (Vec<PointId>, Vec<PointId>) = page.points().partition(leaks);
    let points = |drawing: &mut Drawing, ids: &[PointId], taken: &mut Taken| {
        let lacks = |id: &&PointId| !point(drawing, page, **id, taken, frame);
        ids.iter().filter(lacks).map(|id| network.point(*id).tag.as_str()).collect::<Vec<_>>()
    };
    left_out.extend(points(drawing, &first, taken));
    if page.detail == Detail::Full {
        page.lines().for_each(|id| goes_on(drawing, page, id, taken, frame));
        let (first, rest): (Vec<_>, Vec<_>) = page.lines().partition(|id| governs.contains(id));
        for id in first.into_iter().chain(rest) {
            if !line(drawing, page, id, governs.contains(&id), taken, frame) {
                left_out.push(&network.line(id).tag);
            }
        }
    }
    left_out.extend(points(drawing, &rest, taken));
    say_left_out(drawing, &left_out);
}

/// Tags of tanks, then of as many downspouts as find room.
fn overview(drawing: &mut Drawing, page: &Page<'_>, taken: &mut Taken, frame: Rect) {
    let network = page.input.network;
    let tanks = page.tanks().map(|id| (End::Tank(id), &network.tank(id).tag));
    let downspouts = page.downspouts().map(|id| (End::Downspout(id), &network.downspout(id).tag));
    for (end, tag) in tanks.chain(downspouts) {
        let at = page.at(end);
        let tag = Text::new(at, 6.0, short(tag, 6.0)).bold();
        put(drawing, taken, frame, &[tag], &around(at, 9.0, 6.0, 2.1, 1));
    }
}

/// Where a line leaves the part that is drawn, the tag it goes on to.
fn goes_on(drawing: &mut Drawing, page: &Page<'_>, id: LineId, taken: &mut Taken, frame: Rect) {
    let line = page.input.network.line(id);
    for (hidden, shown) in [(line.from, line.to), (line.to, line.from)] {
        if page.shows(hidden) || !page.shows(shown) {
            continue;
        }
        let way = super::clip(&page.way(id), page.frame);
        let Some(&cut) = (if hidden == line.from { way.first() } else { way.last() }) else {
            continue;
        };
        let tag = format!("to {}", short(page.input.network.end_tag(hidden), page.text_pt));
        let text = Text::new(cut, page.text_pt, tag).ink(Ink::Grey);
        let anchor = if cut.0 < page.at(shown).0 { Anchor::Start } else { Anchor::End };
        let places =
            [-3.0, 3.0 + page.text_pt * 0.8, -10.0].map(|dy| (Pt(cut.0, cut.1 + dy), anchor));
        put(drawing, taken, frame, &[text], &places);
    }
}

/// Two lines of text: a bold one and one below it, tried together at each place.
fn put(
    drawing: &mut Drawing,
    taken: &mut Taken,
    frame: Rect,
    lines: &[Text],
    places: &[(Pt, Anchor)],
) -> bool {
    for &(at, anchor) in places {
        let texts: Vec<Text> = lines
            .iter()
            .enumerate()
            .map(|(row, text)| {
                let y = at.1 + row as f64 * text.size_pt * 1.2;
                Text { at: Pt(at.0, y), anchor, ..text.clone() }
            })
            .collect();
        if taken.all_free(frame, &texts) {
            texts.into_iter().for_each(|text| drawing.text(Layer::Label, text));
            return true;
        }
    }
    false
}

fn downspout(
    drawing: &mut Drawing,
    page: &Page<'_>,
    id: DownspoutId,
    taken: &mut Taken,
    frame: Rect,
) -> bool {
    let input = page.input;
    let at = page.at(End::Downspout(id));
    let state = &input.steady.downspouts[id.index()];
    let size = page.text_pt;
    let mut lines =
        vec![Text::new(at, size + 0.6, short(&input.network.downspout(id).tag, size)).bold()];
    if page.detail == Detail::Full {
        let class = class(input, id);
        let ink = if class == Class::Holds { Ink::Black } else { class.ink() };
        let spilled = format!("spills {}", input.units.show_flow(state.spilled));
        let room = format!("headroom {}", input.units.show_height(state.headroom));
        if matches!(class, Class::Gutter | Class::Outlet) {
            lines.push(Text::new(at, size, outcome(input, id)).ink(ink));
        }
        let words = if class == Class::Spills { spilled } else { room };
        lines.push(Text::new(at, size, words).ink(ink));
        if let Some(rain) = spills_from(input, id) {
            let words = format!("spills at {}", input.units.show_intensity(rain));
            lines.push(Text::new(at, size, words).ink(Ink::Grey));
        }
    }
    let up = -0.1 * size - (lines.len() as f64 - 1.0) * 0.6 * size + 0.35 * size;
    let places = around(at, 8.0, size, up, lines.len());
    if put(drawing, taken, frame, &lines, &places) {
        return true;
    }
    if !put(drawing, taken, frame, &lines[..1], &places) {
        // A tag is never left out: it then stands over whatever is there.
        drawing.text(
            Layer::Label,
            Text { at: Pt(at.0 - 7.0, at.1 + 2.0), anchor: Anchor::End, ..lines[0].clone() },
        );
    }
    lines.len() == 1
}

/// Names what has fewer words than it should; all of it stands on the sheets that follow.
fn say_left_out(drawing: &mut Drawing, tags: &[&str]) {
    const MOST: usize = 24;
    if tags.is_empty() {
        return;
    }
    let more = tags.len().saturating_sub(MOST);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let named = tags[..tags.len().min(MOST)].join(", ");
    let words = format!("No room for all labels of {named}{more}: see the calculation sheet.");
    let words = fitted(&words, 6.5, Weight::Book, drawing.width_pt - 180.0);
    let at = Pt(0.0, drawing.height_pt - 3.0);
    drawing.text(Layer::Label, Text::new(at, 6.5, words).ink(Ink::Grey));
}

/// A tag, cut off where it would cross half the plan.
fn short(tag: &str, size_pt: f64) -> String {
    fitted(tag, size_pt, Weight::Bold, 84.0)
}

/// Left, right, above and below a mark.
fn around(at: Pt, gap: f64, size: f64, up: f64, rows: usize) -> Vec<(Pt, Anchor)> {
    let above = at.1 - gap - (rows as f64 - 1.0) * size * 1.2;
    let below = at.1 + gap + size * 0.8;
    vec![
        (Pt(at.0 - gap, at.1 + up), Anchor::End),
        (Pt(at.0, above), Anchor::Middle),
        (Pt(at.0, below), Anchor::Middle),
        (Pt(at.0 + gap, at.1 + up), Anchor::Start),
        (Pt(at.0 - gap, above), Anchor::End),
        (Pt(at.0 + gap, above), Anchor::Start),
        (Pt(at.0 - gap, below), Anchor::End),
        (Pt(at.0 + gap, below), Anchor::Start),
    ]
}

fn tank(
    drawing: &mut Drawing,
    page: &Page<'_>,
    id: TankId,
    taken: &mut Taken,
    frame: Rect,
) -> bool {
    let input = page.input;
    let at = page.at(End::Tank(id));
    let size = page.text_pt;
    let mut lines =
        vec![Text::new(at, size + 0.6, short(&input.network.tank(id).tag, size)).bold()];
    if page.detail == Detail::Full {
        let words =
            format!("takes {}", input.units.show_flow(input.steady.tanks[id.index()].inflow));
        lines.push(Text::new(at, size, words));
        if let Some(over) = over_rim(input, id) {
            let words = format!("over its rim {}", input.units.show_flow(over));
            lines.push(Text::new(at, size, words).bold().ink(Ink::Short));
        }
        if let Some(level) = input.steady.tanks[id.index()].water_level {
            lines.push(
                Text::new(at, size, format!("water {}", input.units.show_level(level)))
                    .ink(Ink::Grey),
            );
        }
    }
    let up = 0.35 * size - (lines.len() as f64 - 1.0) * 0.6 * size;
    let mut places = vec![(Pt(at.0 + 13.0, at.1 + up), Anchor::Start)];
    places.extend(around(at, 13.0, size, up, lines.len()));
    or_first(drawing, taken, frame, &lines, &places)
}

/// All lines, or at least the first; says whether all found room.
fn or_first(
    drawing: &mut Drawing,
    taken: &mut Taken,
    frame: Rect,
    lines: &[Text],
    places: &[(Pt, Anchor)],
) -> bool {
    if put(drawing, taken, frame, lines, places) {
        return true;
    }
    put(drawing, taken, frame, &lines[..1], places) && lines.len() == 1
}

fn point(
    drawing: &mut Drawing,
    page: &Page<'_>,
    id: PointId,
    taken: &mut Taken,
    frame: Rect,
) -> bool {
    let point = page.input.network.point(id);
    let at = page.at(End::Point(id));
    let size = page.text_pt;
    let mut lines = vec![Text::new(at, size, short(&point.tag, size)).bold()];
    if page.detail == Detail::Owner {
        let vent = page.input.vent(id).is_some();
        let all = [(point.drain.is_some(), "drain"), (point.cleanout, "cleanout"), (vent, "vent")];
        let words: Vec<&str> = all.iter().filter(|has| has.0).map(|has| has.1).collect();
        if words.is_empty() {
            return true;
        }
        lines.push(Text::new(at, size, words.join(", ")));
    } else if let Some(mouth) = mouth(page.input, id) {
        let (units, name) = (page.input.units, mouth_name(mouth.opening.kind));
        if let Some(flow) = mouth.escapes {
            let words = format!("{name} lets {} out", units.show_flow(flow));
            lines.push(Text::new(at, size, words).bold().ink(Ink::Short));
        } else {
            let words = format!("{name}: headroom {}", units.show_height(mouth.headroom));
            lines.push(Text::new(at, size, words));
        }
        if let Some(rain) = mouth.from {
            let words = format!("lets out at {}", units.show_intensity(rain));
            lines.push(Text::new(at, size, words).ink(Ink::Grey));
        }
    }
    let gap = 6.0;
    let up = 0.35 * size;
    let mut places = around(at, gap, size, up, lines.len());
    places.rotate_left(1);
    or_first(drawing, taken, frame, &lines, &places)
}

fn line(
    drawing: &mut Drawing,
    page: &Page<'_>,
    id: LineId,
    governs: bool,
    taken: &mut Taken,
    frame: Rect,
) -> bool {
    let input = page.input;
    let line = input.network.line(id);
    let state = &input.steady.lines[id.index()];
    let way = super::clip(&page.way(id), page.frame);
    let size = page.text_pt;
    let size_name = if line.pipe.size.is_empty() {
        pipe_name(input.units, &line.pipe)
    } else {
        line.pipe.size.clone()
    };
    let full = format!("{}  {size_name} × {}", line.tag, input.units.show_length(line.length));
    let flow = input
        .units
        .show_flow(wetrun_units::Flow::m3_per_s(state.flow.to_m3_per_s().abs()))
        .to_string();
    let text = |words: String| {
        let text = Text::new(Pt(0.0, 0.0), size, words);
        if governs { text.bold() } else { text }
    };
    let (name, tag) = (text(full), text(short(&line.tag, size)));
    let flow = text(flow).ink(Ink::Storm);
    // The most level piece first: words stand best over and under it.
    let slope = |w: &[Pt]| (w[1].1 - w[0].1).abs() / (w[1].0 - w[0].0).abs().max(1e-6);
    let mut pieces: Vec<&[Pt]> = way.windows(2).collect();
    pieces.sort_by(|a, b| slope(a).total_cmp(&slope(b)));
    for piece in pieces {
        let labelled = if slope(piece) < 0.15 {
            over_and_under(drawing, taken, frame, piece, [&name, &tag, &flow])
        } else {
            let blocks = [
                vec![name.clone(), flow.clone()],
                vec![tag.clone(), flow.clone()],
                vec![tag.clone()],
            ];
            let placed = blocks
                .iter()
                .position(|b| put(drawing, taken, frame, b, &beside(piece, size, b.len())));
            placed.map(|block| block == 0)
        };
        if let Some(whole) = labelled {
            return whole;
        }
    }
    false
}

/// The name over a level piece and the flow under it; only the tag where the name has no room.
/// Nothing where not even that has; else whether all of it had.
fn over_and_under(
    drawing: &mut Drawing,
    taken: &mut Taken,
    frame: Rect,
    piece: &[Pt],
    [name, tag, flow]: [&Text; 3],
) -> Option<bool> {
    let middle = Pt((piece[0].0 + piece[1].0) / 2.0, (piece[0].1 + piece[1].1) / 2.0);
    let at = |y: f64| (Pt(middle.0, y), Anchor::Middle);
    let above = [0.0, 1.5, 3.0, 8.0].map(|up| at(middle.1 - 3.6 - up));
    let below = [0.0, 1.5, 3.0].map(|down| at(middle.1 + 3.6 + name.size_pt * 0.76 + down));
    let mut put_one = |text: &Text, places: &[(Pt, Anchor)]| {
        put(drawing, taken, frame, std::slice::from_ref(text), places)
    };
    let whole = put_one(name, &above);
    let named = whole || put_one(tag, &above) || put_one(tag, &below);
    named.then(|| put_one(flow, &below) && whole)
}

/// Places for a block of lines beside a slanting piece, near its middle first.
fn beside(piece: &[Pt], size: f64, rows: usize) -> Vec<(Pt, Anchor)> {
    let high = (rows as f64 - 1.0) * size * 1.2;
    let around = |part: f64| {
        let x = piece[0].0 + (piece[1].0 - piece[0].0) * part;
        let y = piece[0].1 + (piece[1].1 - piece[0].1) * part;
        [
            (Pt(x + 5.0, y - 1.0 - high), Anchor::Start),
            (Pt(x - 5.0, y - 1.0 - high), Anchor::End),
            (Pt(x + 5.0, y + 1.0 + size * 0.76), Anchor::Start),
            (Pt(x - 5.0, y + 1.0 + size * 0.76), Anchor::End),
        ]
    };
    [0.5, 0.35, 0.65, 0.25, 0.75].into_iter().flat_map(around).collect()
}
