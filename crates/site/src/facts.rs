//! What a site file shows besides its network, lowered to plain facts.

use crate::review_keys::{Cap, Device};
use crate::site::{self, PlanPoint, Site, TankNotes};
use wetrun_facts::{
    Benchmark, Documents, DownspoutFacts, DrainOutlet, Facts, FirstFlush, Ground, Gutter,
    GutterShape, HoldDown, LineFacts, Place, PointFacts, Roof, Screen, Share, Stated, TankFacts,
    Tolerances, Vent, WaterTest,
};

impl Site {
    /// What the file shows besides the network, without the thresholds of `rules:`: what those are
    /// of, their rules know.
    pub fn facts(&self) -> Facts {
        facts(self)
    }
}

fn facts(site: &Site) -> Facts {
    let review = &site.review;
    Facts {
        units: site.units,
        freeboard: site.targets.freeboard,
        freeboard_given: site.targets.freeboard_given,
        flush_speed: site.targets.flush_speed,
        datum: shown(site.datum.as_ref()),
        benchmarks: site
            .benchmarks
            .iter()
            .map(|b| Benchmark { tag: b.tag.clone(), level: b.level, at: shown(b.at.as_ref()) })
            .collect(),
        storm: Some(site.storm.stated),
        storm_basis: shown(site.storm.basis.as_ref()),
        ordinary_rain: review.ordinary_rain,
        revision: shown(review.revision.as_ref()),
        documents: documents(site),
        ground: ground(site),
        test: review.test.as_ref().map(|t| WaterTest {
            medium: shown(t.medium.as_ref()),
            level: t.level,
            duration: t.duration,
        }),
        tolerances: review
            .tolerances
            .as_ref()
            .map(|t| Tolerances { opening: t.opening, inlet: t.inlet }),
        roofs: site.roofs.iter().map(roof).collect(),
        gutters: site.gutters.iter().map(gutter).collect(),
        downspouts: (0..site.downspouts.len()).map(|i| downspout(site, i)).collect(),
        points: (0..site.points.len()).map(|i| point(site, i)).collect(),
        lines: (0..site.lines.len()).map(|i| line(site, i)).collect(),
        tanks: site.tanks.iter().map(|notes| tank(site, notes)).collect(),
        limits: Vec::new(),
        doubts: site.doubts.clone(),
    }
}

fn stated(text: Option<&String>) -> Option<Stated> {
    Stated::of(text?)
}

/// A text that says something; words that only hold a place say nothing.
fn shown(text: Option<&String>) -> Option<String> {
    wetrun_facts::shown(text?).map(str::to_owned)
}

fn place(at: Option<PlanPoint>) -> Option<Place> {
    at.map(|at| Place { east: at.x, north: at.y })
}

fn roof(roof: &site::Roof) -> Roof {
    let shares = roof.shares.iter().map(|s| Share { to: s.to, share: s.share }).collect();
    Roof { name: roof.tag.clone(), area: roof.area, runoff: roof.runoff, shares }
}

fn documents(site: &Site) -> Documents {
    let Some(documents) = &site.review.documents else { return Documents::default() };
    Documents {
        drawings: documents.drawings.as_ref().and_then(|names| drawings(names)),
        calculation: shown(documents.calculation.as_ref()),
        return_period: shown(documents.return_period.as_ref()),
        storm_duration: documents.storm_duration,
        wet_condition: stated(documents.wet_condition.as_ref()),
        continuous_slope: documents.continuous_slope,
        accepted: stated(documents.accepted.as_ref()),
        designer: stated(documents.designer.as_ref()),
        authority_difference: documents.authority_difference,
        roof_area: documents.roof_area,
        stale_water: stated(documents.stale_water.as_ref()),
        restraint: stated(documents.restraint.as_ref()),
        hold_point: stated(documents.hold_point.as_ref()),
        manual: stated(documents.manual.as_ref()),
        as_built: stated(documents.as_built.as_ref()),
        inspection: stated(documents.inspection.as_ref()),
        labels: stated(documents.labels.as_ref()),
    }
}

fn ground(site: &Site) -> Ground {
    let Some(shown) = &site.review.ground else { return Ground::default() };
    Ground {
        frost_depth: shown.frost_depth,
        water_level: shown.water_level,
        footings: stated(shown.footings.as_ref()),
        services: stated(shown.services.as_ref()),
        bedding: stated(shown.bedding.as_ref()),
    }
}

fn gutter(gutter: &site::Gutter) -> Gutter {
    let shape = match gutter.shape {
        site::GutterShape::HalfRound => GutterShape::HalfRound,
        site::GutterShape::Rectangular | site::GutterShape::Trapezoidal => GutterShape::Rectangular,
    };
    Gutter {
        name: gutter.tag.clone(),
        shape,
        width: gutter.width,
        depth: gutter.depth.unwrap_or(gutter.width * 0.5),
        floor: gutter.review.bottom,
        slope: Some(gutter.slope),
        length: gutter.length,
        assumed: assumed(gutter),
    }
}

/// Keys of a gutter that the file does not give and that would make it carry less.
fn assumed(gutter: &site::Gutter) -> Vec<&'static str> {
    let sole = gutter.shape == site::GutterShape::Trapezoidal;
    let missing = [
        ("depth", gutter.depth.is_none()),
        ("length", gutter.length.is_none()),
        ("bottom", sole && gutter.review.bottom.is_none()),
    ];
    missing.into_iter().filter(|(_, missing)| *missing).map(|(key, _)| key).collect()
}

/// The drawings of the set that are named.
fn drawings(names: &[String]) -> Option<Vec<String>> {
    let named: Vec<String> = names.iter().filter_map(|name| shown(Some(name))).collect();
    (!named.is_empty()).then_some(named)
}

fn downspout(site: &Site, index: usize) -> DownspoutFacts {
    let notes = &site.downspouts[index];
    let shown = &notes.review;
    let default = site.review.defaults.as_ref().and_then(|all| all.downspouts.as_ref());
    let leaf_mesh = shown.leaf_mesh.or(default.and_then(|all| all.leaf_mesh));
    DownspoutFacts {
        at: place(notes.at),
        gutter: notes.gutter,
        lip_given: notes.lip_given,
        losses_shown: notes.losses_given,
        outlet_size: shown.outlet_size.or(default.and_then(|all| all.outlet_size)),
        screen: (notes.screen_given || leaf_mesh.is_some())
            .then_some(Screen { open: notes.screen_open, mesh: leaf_mesh }),
        insect_mesh: shown.insect_mesh.or(default.and_then(|all| all.insect_mesh)),
        first_flush: device(
            shown.first_flush.as_ref().or(default.and_then(|all| all.first_flush.as_ref())),
        ),
        no_first_flush: none(
            shown.first_flush.as_ref().or(default.and_then(|all| all.first_flush.as_ref())),
        ),
        watertight_to: shown.watertight_to,
        cleanout: shown.cleanout.or(default.and_then(|all| all.cleanout)),
        ground: shown.ground,
        frost: stated(shown.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
    }
}

fn device(shown: Option<&Device>) -> Option<FirstFlush> {
    match shown? {
        Device::Is(shown) => {
            Some(FirstFlush { volume: shown.volume, cap: shown.cap, ground: shown.ground })
        }
        Device::None => None,
    }
}

fn none(shown: Option<&Device>) -> bool {
    shown == Some(&Device::None)
}

fn point(site: &Site, index: usize) -> PointFacts {
    let notes = &site.points[index];
    let shown = &notes.review;
    let default = site.review.defaults.as_ref().and_then(|all| all.points.as_ref());
    let cap = shown.cap.or(default.and_then(|all| all.cap));
    PointFacts {
        at: place(notes.at),
        cleanout: notes.cleanout,
        vent: shown.vent.as_ref().map(|v| Vent { level: v.level, mesh: v.mesh }),
        cap: match cap {
            Some(Cap::At(level)) => Some(level),
            _ => None,
        },
        cap_sealed: cap == Some(Cap::Sealed),
        drain_outlet: shown
            .drain_outlet
            .as_ref()
            .map(|d| DrainOutlet { level: d.level, to: stated(d.to.as_ref()) }),
        drain_k: notes.drain_k,
        first_flush: device(shown.first_flush.as_ref()),
    }
}

fn line(site: &Site, index: usize) -> LineFacts {
    let notes = &site.lines[index];
    let default = site.review.defaults.as_ref().and_then(|all| all.lines.as_ref());
    LineFacts {
        losses_shown: notes.losses_given,
        profile_shown: notes.profile_given,
        vehicles: notes.review.vehicles.or(default.and_then(|all| all.vehicles)),
        frost: stated(notes.review.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
    }
}

fn tank(site: &Site, notes: &TankNotes) -> TankFacts {
    let shown = &notes.review;
    let default = site.review.defaults.as_ref().and_then(|all| all.tanks.as_ref());
    TankFacts {
        at: place(notes.at),
        inlet_mesh: shown.inlet_mesh.or(default.and_then(|all| all.inlet_mesh)),
        overflow_mesh: shown.overflow_mesh.or(default.and_then(|all| all.overflow_mesh)),
        discharge: shown.overflow_distance,
        base: stated(shown.base.as_ref().or(default.and_then(|all| all.base.as_ref()))),
        access: stated(shown.access.as_ref().or(default.and_then(|all| all.access.as_ref()))),
        frost: stated(shown.frost.as_ref().or(default.and_then(|all| all.frost.as_ref()))),
        buried: shown.buried.or(default.and_then(|all| all.buried)),
        hold_down: shown.hold_down.as_ref().map(|hold| HoldDown {
            outside: hold.outside,
            weight: hold.weight,
            plan: hold.plan,
            cover: hold.cover,
        }),
    }
}
