//! What a screen shows of a settled site: a section with its handles, the plan with its places.

use crate::hand::{Grip, Held as Grips, grips};
use crate::render::sheet::bare;
use crate::solved::{Settled, Solved};
use wetrun_design::levels::SetPoint;
use wetrun_network::{DownspoutId, End, LineEnd, LineId, Network, OpeningKind, PointId};
use wetrun_sheet::draw::Pt;
use wetrun_sheet::{Held, Mark, Room, SheetInput, Spot, svg_element};

/// A long section for a screen.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct ScreenSection {
    /// What it shows, in words.
    pub title: String,
    /// Its panels, each an SVG element for a page that brings its own fonts.
    pub panels: Vec<String>,
    /// The levels on it that a hand can move.
    pub handles: Vec<Handle>,
    /// What draws the next one alike.
    pub held: Held,
    /// Points of the panels for a metre of height.
    pub pt_per_m: f64,
    /// Width and height of a panel in points.
    pub size_pt: (f64, f64),
}

/// A level on a section that a hand can move.
#[derive(Clone, Debug)]
pub struct Handle {
    /// The level.
    pub grip: Grip,
    /// The panel it stands on.
    pub panel: usize,
    /// Where, in points.
    pub at: Pt,
}

/// A sheet of the plan for a screen.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct ScreenPlan {
    /// The sheet, an SVG element likewise.
    pub svg: String,
    /// Width and height in points.
    pub size_pt: (f64, f64),
    /// Downspouts, points and tanks by tag.
    pub places: Vec<(Sort, String, Pt)>,
    /// Lines by tag, each with its way.
    pub ways: Vec<(String, Vec<Pt>)>,
    /// Points for a metre on site, where it is drawn from coordinates.
    pub pt_per_m: Option<f64>,
}

/// What a tag stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    /// A downspout.
    Downspout,
    /// A point.
    Point,
    /// A tank.
    Tank,
}

/// The long section of a downspout's route with its handles; nothing where it reaches no tank.
pub fn screen_section(
    settled: &Settled,
    downspout: DownspoutId,
    room: Room,
    held: Option<Held>,
) -> Option<ScreenSection> {
    let view = wetrun_sheet::section_view(&bare(settled), downspout, room, held)?;
    let network = &settled.site.network;
    let mark = |at: Grips| view.marks.iter().find(|mark| is(mark, at, network));
    let on = |grip: Grip| {
        let mark = mark(grip.at)?;
        Some(Handle { grip, panel: mark.panel, at: mark.at })
    };
    let handles = grips(&settled.site, |at| mark(at).is_some());
    Some(ScreenSection {
        title: view.panels.first().map(|d| d.title.clone()).unwrap_or_default(),
        panels: view.panels.iter().map(svg_element).collect(),
        handles: handles.into_iter().filter_map(on).collect(),
        held: view.held,
        pt_per_m: view.pt_per_m(),
        size_pt: view.panels.first().map_or((1.0, 1.0), |d| (d.width_pt, d.height_pt)),
    })
}

/// Whether a mark of the drawing is that of a level.
fn is(mark: &Mark, level: Grips, network: &Network) -> bool {
    let station = |id: LineId, index: usize| mark.spot == Spot::Station(id, index);
    let opening = |id: PointId, kind: OpeningKind| {
        let this = network.point(id).opening.is_some_and(|opening| opening.kind == kind);
        this && mark.spot == Spot::Opening(id)
    };
    match level {
        Grips::Gutter(id) => mark.spot == Spot::Outlet(id),
        Grips::Set(at) => match at {
            SetPoint::Inlet(id) => mark.spot == Spot::Inlet(id),
            SetPoint::Overflow(id) => mark.spot == Spot::Overflow(id),
            SetPoint::Opening(id) if network.downspout(id).leaf_head.is_some() => {
                mark.spot == Spot::LeafHead(id)
            }
            SetPoint::Opening(id) => mark.spot == Spot::Outlet(id),
            SetPoint::Foot(id) => mark.spot == Spot::Foot(id),
            SetPoint::Point(id) => mark.spot == Spot::Point(id),
            SetPoint::End(id, LineEnd::From) => station(id, 0),
            SetPoint::End(id, LineEnd::To) => {
                station(id, network.line(id).profile.len().saturating_sub(1))
            }
            SetPoint::Station(id, index) => station(id, index),
            SetPoint::Vent(id) => opening(id, OpeningKind::Vent),
            SetPoint::Cap(id) => opening(id, OpeningKind::Cap),
            SetPoint::DrainOutlet(_) => false,
        },
    }
}

/// The plan of a solved site with the places of what it shows.
pub fn screen_plan(solved: &Solved) -> Vec<ScreenPlan> {
    let network = &solved.site.network;
    let input = SheetInput { spill_rains: &solved.spill_rains, ..bare(solved) };
    let views = wetrun_sheet::plan_view(&input);
    let plan = |view: wetrun_sheet::PlanView| ScreenPlan {
        svg: svg_element(&view.drawing),
        size_pt: (view.drawing.width_pt, view.drawing.height_pt),
        places: view
            .places
            .into_iter()
            .map(|(end, at)| (sort(end), network.end_tag(end).to_owned(), at))
            .collect(),
        ways: view.ways.into_iter().map(|(id, way)| (network.line(id).tag.clone(), way)).collect(),
        pt_per_m: view.scale.map(|scale| scale.pt_per_m),
    };
    views.into_iter().map(plan).collect()
}

fn sort(end: End) -> Sort {
    match end {
        End::Downspout(_) => Sort::Downspout,
        End::Point(_) => Sort::Point,
        End::Tank(_) => Sort::Tank,
    }
}
