//! From the tree of a file to a [`Site`]: every section read, then joined to a network.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic, Diagnostics};
use crate::document::Document;
use crate::fields::{Field, Fields};
use crate::keys::SITE;
use crate::nodes::{self, Shared};
use crate::path::Path;
use crate::pipe_types::Types;
use crate::review_keys::SiteReview;
use crate::site::{OpenPipe, PipeOwner, Site};
use crate::source::Span;
use crate::tags::{Tagged, Tags};
use crate::{doubts, head, junctions, layout, lines, rainfall, roofs, uses};
use std::sync::Arc;
use wetrun_network::{DownspoutId, End, LineId, Network, Parts, PointId, TankId};

/// Reads the tree of a document.
///
/// # Errors
/// Every fault found.
pub(crate) fn site(document: &Arc<Document>) -> Result<Site, Vec<Diagnostic>> {
    let mut cx = Context::new(&document.source);
    let read = sections(&mut cx, document);
    match read {
        Some(site) if !cx.has_errors() => {
            let faults = Diagnostics::new(Arc::clone(&document.source), cx.faults);
            Ok(Site { cautions: faults.into_list(), ..site })
        }
        _ => Err(cx.faults),
    }
}

fn sections(cx: &mut Context<'_>, document: &Arc<Document>) -> Option<Site> {
    let top = Field { node: &document.root, key_at: Span::NOWHERE, path: Path::ROOT };
    let root = Fields::open(cx, &top, &SITE)?;
    if !head::version(cx, &root) {
        return None;
    }
    let name = root.require(cx, "name", "the name of the job").and_then(|field| cx.name(&field));
    cx.units = head::units(cx, &root);
    let datum = root.get("datum").and_then(|field| cx.free_text(&field));
    let water_temperature = head::water(cx, &root);
    let losses = head::losses(cx, &root);
    let rainfall = rainfall::rainfall(cx, &root);
    let storm = head::storm(cx, &root, rainfall.as_ref());
    let targets = head::targets(cx, &root);
    let gutters = head::gutters(cx, &root);
    let types = Types::read(cx, root.get("pipes"));
    let own_fittings = head::own_fittings(cx, &root);
    let prices = head::prices(cx, &root, &types);
    let benchmarks = head::benchmarks(cx, &root);
    let rules = head::rules(cx, &root);
    let review = SiteReview::read(cx, &root);

    let sections = ["downspouts", "points", "lines", "tanks"].map(|key| root.get(key));
    let [downspouts, points, lines, tanks] = &sections;
    let downspouts = section(cx, downspouts, "downspouts by tag");
    let points = section(cx, points, "points by tag");
    let lines = section(cx, lines, "lines by tag");
    let tanks = section(cx, tanks, "tanks by tag");
    if downspouts.is_empty() && !cx.has_errors() {
        let fault = Diagnostic::new(Code::MissingKey, root.at, "there is no downspout to judge");
        cx.report(fault.expected("`downspouts:` with one at least; is the file cut off?"));
    }
    let mut tags = Tags::default();
    tags.add(cx, &downspouts, |index| Tagged::Downspout(DownspoutId::new(index)));
    tags.add(cx, &points, |index| Tagged::Point(PointId::new(index)));
    tags.add(cx, &lines, |index| Tagged::Line(LineId::new(index)));
    tags.add(cx, &tanks, |index| Tagged::Tank(TankId::new(index)));
    let shared =
        Shared { losses, types: &types, fittings: &own_fittings, gutters: &gutters, tags: &tags };

    // An item with a fault keeps its place as a stand-in, so that every id means what it says.
    let downspouts_read = items(cx, &downspouts, |cx, entry| nodes::downspout(cx, entry, &shared));
    let points_read = items(cx, &points, nodes::point);
    let tanks_read = items(cx, &tanks, |cx, entry| nodes::tank(cx, entry, &shared));
    let level_of = |end: End| match end {
        End::Downspout(id) => downspouts_read.get(id.index())?.as_ref()?.foot,
        End::Point(id) => points_read.get(id.index())?.as_ref()?.level,
        End::Tank(id) => tanks_read.get(id.index())?.as_ref()?.inlet,
    };
    let lines_read = items(cx, &lines, |cx, entry| lines::line(cx, entry, &shared, level_of));
    if cx.is_full() {
        return None;
    }
    let roofs = roofs::roofs(cx, &root, &tags, storm.wetting);
    let uses = uses::uses(cx, &root, &tags);
    let transfers = uses::transfers(cx, &root, &tags);

    let mut parts = Parts::default();
    let mut open_pipes = Vec::new();
    let mut downspout_notes = Vec::new();
    for (index, read) in downspouts_read.into_iter().enumerate() {
        let read = read.unwrap_or_default();
        let owner = PipeOwner::Downspout(DownspoutId::new(index));
        let tag = read.downspout.tag.clone();
        open_pipes.extend(read.open.map(|candidates| OpenPipe { owner, tag, candidates }));
        parts.downspouts.push(read.downspout);
        downspout_notes.push(read.notes);
    }
    let (mut line_notes, mut all_joined) = (Vec::new(), true);
    for (index, read) in lines_read.into_iter().enumerate() {
        let read = read.unwrap_or_default();
        all_joined &= read.joined;
        let owner = PipeOwner::Line(LineId::new(index));
        let tag = read.line.tag.clone();
        open_pipes.extend(read.open.map(|candidates| OpenPipe { owner, tag, candidates }));
        parts.lines.push(read.line);
        line_notes.push(read.notes);
    }
    let (mut point_notes, mut told) = (Vec::new(), Vec::new());
    for (index, read) in points_read.into_iter().enumerate() {
        let mut read = read.unwrap_or_default();
        told.extend(read.junction.map(|junction| (PointId::new(index), junction)));
        read.point.opening = nodes::opening(&read.notes.review);
        parts.points.push(read.point);
        point_notes.push(read.notes);
    }
    let mut tank_notes = Vec::new();
    for read in tanks_read {
        let read = read.unwrap_or_default();
        parts.tanks.push(read.tank);
        tank_notes.push(read.notes);
    }
    for roof in &roofs {
        for share in &roof.shares {
            let catchment = &mut parts.downspouts[share.to.index()].catchment;
            *catchment = *catchment + roof.catchment(share);
        }
    }
    let doubts = doubts::doubts(cx, &root, &tags, &parts.lines);
    if all_joined {
        junctions::resolve(cx, &mut parts, &told, &tags, &open_pipes);
    }
    layout::overflows(cx, &parts, &tanks);
    let network = match Network::build(parts) {
        Ok(network) => network,
        Err(problems) => {
            if all_joined {
                layout::ways_to_tanks(cx, &problems, &downspouts);
            }
            if !cx.has_errors() {
                layout::unforeseen(cx, &problems);
            }
            return None;
        }
    };
    Some(Site {
        name: name?,
        units: cx.units,
        datum,
        water_temperature,
        losses,
        rainfall,
        storm,
        targets,
        roofs,
        gutters,
        network,
        downspouts: downspout_notes,
        points: point_notes,
        lines: line_notes,
        tanks: tank_notes,
        uses,
        transfers,
        open_pipes,
        own_pipes: types.all(),
        own_fittings,
        prices,
        benchmarks,
        rules,
        doubts,
        review,
        cautions: Vec::new(),
        document: Arc::clone(document),
    })
}

/// Each item of a section, as long as faults are still noted: the rest would only take memory.
fn items<'c, 'f, T>(
    cx: &mut Context<'c>,
    section: &'f [Field<'f>],
    read: impl Fn(&mut Context<'c>, &'f Field<'f>) -> Option<T>,
) -> Vec<Option<T>> {
    section.iter().map_while(|entry| (!cx.is_full()).then(|| read(cx, entry))).collect()
}

fn section<'f>(cx: &mut Context<'_>, field: &'f Option<Field<'f>>, what: &str) -> Vec<Field<'f>> {
    field.as_ref().and_then(|field| field.entries(cx, what)).unwrap_or_default()
}
