//! From the tree of a file to a [`Site`]: every section read, then joined to a network.

use crate::context::Context;
use crate::diagnostic::{Code, Diagnostic};
use crate::document::Document;
use crate::fields::{Field, Fields};
use crate::junctions;
use crate::nodes::{self, Shared};
use crate::path::Path;
use crate::pipes::Types;
use crate::review_keys::SiteReview;
use crate::site::{OpenPipe, PipeOwner, Roof, Share, Site};
use crate::tags::{self, Tagged, Tags};
use crate::{head, lines};
use wetrun_network::{
    Downspout, DownspoutId, End, LineId, Network, Parts, Point, PointId, Problem, Tank, TankId,
};
use wetrun_units::{Area, Fraction, Length};

const KEYS: &[&str] = &[
    "wetrun",
    "name",
    "units",
    "datum",
    "water",
    "losses",
    "storm",
    "targets",
    "roofs",
    "gutters",
    "downspouts",
    "points",
    "lines",
    "tanks",
    "pipes",
    "fittings",
    "prices",
    "benchmarks",
    "rules",
];

/// Reads the tree of a document; on faults, all of them.
pub(crate) fn site(document: Document) -> Result<Site, (Document, Vec<Diagnostic>)> {
    let mut cx = Context::new(&document.source);
    let read = sections(&mut cx, &document);
    let faults = cx.faults;
    match read {
        Some(site) if faults.iter().all(|f| f.severity == crate::Severity::Caution) => {
            let cautions = crate::Diagnostics::new(document.source.clone(), faults).into_list();
            Ok(Site { cautions, document, ..site })
        }
        _ => Err((document, faults)),
    }
}

fn sections(cx: &mut Context<'_>, document: &Document) -> Option<Site> {
    let top =
        Field { node: &document.root, key_at: crate::source::Span::new(0, 0), path: Path::ROOT };
    let root = Fields::open(cx, &top, "a site file", &[KEYS, SiteReview::KEYS])?;
    if !head::version(cx, &root) {
        return None;
    }
    let name = root.require(cx, "name", "the name of the job").and_then(|field| cx.name(&field));
    cx.units = head::units(cx, &root);
    let datum = root.get("datum").and_then(|field| cx.free_text(&field));
    let water_temperature = head::water(cx, &root);
    let losses = head::losses(cx, &root);
    let storm = head::storm(cx, &root);
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
    let mut tags = Tags::default();
    tags.add(cx, &downspouts, |index| Tagged::Downspout(DownspoutId::new(index)));
    tags.add(cx, &points, |index| Tagged::Point(PointId::new(index)));
    tags.add(cx, &lines, |index| Tagged::Line(LineId::new(index)));
    tags.add(cx, &tanks, |index| Tagged::Tank(TankId::new(index)));
    let shared =
        Shared { losses, types: &types, fittings: &own_fittings, gutters: &gutters, tags: &tags };

    // An item with a fault keeps its place as a stand-in, so that every id means what it says.
    let downspouts_read: Vec<_> =
        downspouts.iter().map(|entry| nodes::downspout(cx, entry, &shared)).collect();
    let points_read: Vec<_> = points.iter().map(|entry| nodes::point(cx, entry)).collect();
    let tanks_read: Vec<_> = tanks.iter().map(|entry| nodes::tank(cx, entry, &shared)).collect();
    let has_level = |field: &Field<'_>, key: &str| {
        field.node.get(key).is_some_and(|e| matches!(e.node.value, crate::tree::Value::Text(_)))
    };
    let level_of = |end: End| -> Option<Length> {
        match end {
            End::Downspout(id) => {
                let read = downspouts_read.get(id.index())?.as_ref()?;
                has_level(downspouts.get(id.index())?, "foot").then_some(read.downspout.foot)
            }
            End::Point(id) => {
                let read = points_read.get(id.index())?.as_ref()?;
                has_level(points.get(id.index())?, "level").then_some(read.point.level)
            }
            End::Tank(id) => {
                let (tank, _) = tanks_read.get(id.index())?.as_ref()?;
                has_level(tanks.get(id.index())?, "inlet").then_some(tank.inlet)
            }
        }
    };
    let lines_read: Vec<_> =
        lines.iter().map(|entry| lines::line(cx, entry, &shared, level_of)).collect();
    let roofs = roofs(cx, &root, &tags);

    let mut parts = Parts::default();
    let mut open_pipes = Vec::new();
    let mut notes = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut whole = true;
    for (index, read) in downspouts_read.into_iter().enumerate() {
        let Some(read) = read else {
            whole = false;
            parts.downspouts.push(no_downspout());
            continue;
        };
        if let Some(candidates) = read.open {
            let owner = PipeOwner::Downspout(DownspoutId::new(index));
            open_pipes.push(OpenPipe { owner, tag: read.downspout.tag.clone(), candidates });
        }
        parts.downspouts.push(read.downspout);
        notes.0.push(read.notes);
    }
    for (index, read) in lines_read.into_iter().enumerate() {
        let Some(read) = read else {
            whole = false;
            continue;
        };
        whole &= read.joined;
        if let Some(candidates) = read.open {
            let owner = PipeOwner::Line(LineId::new(index));
            open_pipes.push(OpenPipe { owner, tag: read.line.tag.clone(), candidates });
        }
        parts.lines.push(read.line);
        notes.2.push(read.notes);
    }
    let mut junctions_told = Vec::new();
    for (index, read) in points_read.into_iter().enumerate() {
        let Some(read) = read else {
            parts.points.push(no_point());
            continue;
        };
        if let Some(junction) = read.junction {
            junctions_told.push((PointId::new(index), junction));
        }
        parts.points.push(read.point);
        notes.1.push(read.notes);
    }
    for read in tanks_read {
        let Some((tank, tank_notes)) = read else {
            parts.tanks.push(no_tank());
            continue;
        };
        parts.tanks.push(tank);
        notes.3.push(tank_notes);
    }
    for roof in &roofs {
        for share in &roof.shares {
            let catchment = &mut parts.downspouts[share.to.index()].catchment;
            *catchment = *catchment
                + Area::m2(roof.area.to_m2() * roof.runoff.to_ratio() * share.share.to_ratio());
        }
    }
    if whole {
        junctions::resolve(cx, &mut parts, &junctions_told, &tags, &open_pipes);
        layout(cx, &parts, [&downspouts, &tanks]);
    }
    overflow_cautions(cx, &parts, &tanks);
    if cx.faults.iter().any(|fault| fault.severity == crate::Severity::Error) {
        return None;
    }
    let network = match Network::build(parts) {
        Ok(network) => network,
        Err(problems) => {
            for problem in problems {
                let message = problem.to_string();
                cx.report(Diagnostic::new(Code::Layout, top.key_at, message));
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
        storm,
        targets,
        roofs,
        gutters,
        network,
        downspouts: notes.0,
        points: notes.1,
        lines: notes.2,
        tanks: notes.3,
        open_pipes,
        own_pipes: types.all(),
        own_fittings,
        prices,
        benchmarks,
        rules,
        review,
        cautions: Vec::new(),
        document: document.clone(),
    })
}

fn section<'f>(cx: &mut Context<'_>, field: &'f Option<Field<'f>>, what: &str) -> Vec<Field<'f>> {
    field.as_ref().and_then(|field| field.entries(cx, what)).unwrap_or_default()
}

/// Roofs and the shares of each for its downspouts.
fn roofs(cx: &mut Context<'_>, root: &Fields<'_>, tags: &Tags<'_>) -> Vec<Roof> {
    let mut roofs = Vec::new();
    let Some(section) = root.get("roofs") else { return roofs };
    for entry in section.entries(cx, "roofs by tag").unwrap_or_default() {
        let tag = cx.tag(&entry);
        let known: &[&[&'static str]] = &[&["area", "runoff", "to"]];
        let Some(fields) = Fields::open(cx, &entry, "a roof", known) else { continue };
        let area = fields
            .require(cx, "area", "the area in plan, such as `640 sq ft` or `59.5 m2`")
            .and_then(|field| cx.area(&field));
        let runoff = match fields.get("runoff") {
            Some(field) => cx.fraction(&field),
            None => Some(Fraction::ratio(1.0)),
        };
        let shares = fields
            .require(cx, "to", "a downspout, or shares such as { D2: 50 %, D3: 50 % }")
            .and_then(|field| shares(cx, &field, tags));
        if let (Some(area), Some(runoff), Some(shares)) = (area, runoff, shares) {
            roofs.push(Roof { tag, area, runoff, shares });
        }
    }
    roofs
}

fn shares(cx: &mut Context<'_>, field: &Field<'_>, tags: &Tags<'_>) -> Option<Vec<Share>> {
    const EXPECTED: &str = "the tag of a downspout";
    if let crate::tree::Value::Text(_) = field.node.value {
        let to = tags.refer(cx, field, EXPECTED, tags::downspout)?;
        return Some(vec![Share { to, share: Fraction::ratio(1.0) }]);
    }
    let entries = field.entries(cx, "a downspout, or shares such as { D2: 50 %, D3: 50 % }")?;
    let mut shares = Vec::with_capacity(entries.len());
    let mut sound = true;
    for entry in &entries {
        let at = entry.key_at;
        let to = tags.find(cx, at, entry, entry.path.name(), EXPECTED, tags::downspout);
        match (to, cx.fraction(entry)) {
            (Some(to), Some(share)) => shares.push(Share { to, share }),
            (None, Some(share)) => {
                sound = false; // it still counts towards the whole
                shares.push(Share { to: DownspoutId::new(0), share });
            }
            _ => return None,
        }
    }
    let sum: f64 = shares.iter().map(|share| share.share.to_ratio()).sum();
    if (sum - 1.0).abs() > 0.001 + 1e-12 {
        let message = format!(
            "the shares sum to {}, not to 100 %",
            cx.units.show_fraction(Fraction::ratio(sum))
        );
        cx.fault(Code::Shares, field, message, "shares that sum to 100 %");
        return None;
    }
    sound.then_some(shares)
}

/// Reports what the network finds in its layout: no way to a tank, overflows in a circle.
fn layout(cx: &mut Context<'_>, parts: &Parts, [downspouts, tanks]: [&[Field<'_>]; 2]) {
    let find = |entries: &[Field<'_>], tag: &str| {
        let entry = entries.iter().find(|entry| entry.path.name() == tag)?;
        Some((entry.key_at, entry.path.to_string()))
    };
    for problem in Network::build(parts.clone()).err().unwrap_or_default() {
        let (place, expected) = match &problem {
            Problem::NoWayToTank { tag } => {
                (find(downspouts, tag), "lines that lead from it to a tank")
            }
            Problem::OverflowCircle { tags } => (
                tags.first().and_then(|tag| find(tanks, tag)),
                "one overflow of them at least `to: ground`",
            ),
            _ => continue, // reported where the values were read
        };
        if let Some((at, path)) = place {
            let fault = Diagnostic::new(Code::Layout, at, problem.to_string()).expected(expected);
            cx.report(Diagnostic { key_path: path, ..fault });
        }
    }
}

/// An overflow into a tank whose own overflow, and so its water, stands higher.
fn overflow_cautions(cx: &mut Context<'_>, parts: &Parts, entries: &[Field<'_>]) {
    for (tank, entry) in parts.tanks.iter().zip(entries) {
        let Some(overflow) = &tank.overflow else { continue };
        let Some(to) = overflow.to.and_then(|to| parts.tanks.get(to.index())) else { continue };
        let Some(water) = to.overflow.as_ref().map(|o| o.level) else { continue };
        if water > overflow.level {
            let message = format!(
                "`{}` overflows at {} into `{}`, whose water stands at {}",
                tank.tag,
                cx.units.show_level(overflow.level),
                to.tag,
                cx.units.show_level(water)
            );
            let fault = Diagnostic::new(Code::Levels, entry.key_at, message).caution();
            cx.report(fault.path(&entry.path).expected("an overflow above the other's water"));
        }
    }
}

fn no_downspout() -> Downspout {
    Downspout {
        tag: String::new(),
        outlet: Length::ZERO,
        lip: Length::ZERO,
        foot: Length::ZERO,
        leaf_head: None,
        pipe: Default::default(),
        fittings: Vec::new(),
        k: 0.0,
        catchment: Area::ZERO,
    }
}

fn no_point() -> Point {
    Point {
        tag: String::new(),
        level: Length::ZERO,
        ground: None,
        fitting: None,
        drain: None,
        cleanout: false,
    }
}

fn no_tank() -> Tank {
    Tank {
        tag: String::new(),
        inlet: Length::ZERO,
        overflow: None,
        floor: None,
        rim: None,
        ground: None,
        volume: None,
    }
}
