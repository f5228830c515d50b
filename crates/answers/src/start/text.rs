//! The text of a new site file, with what a stranger must know beside each line.

use super::plan::{Plan, Run, Spot, SpotKind, Spout};
use super::usual::Answers;
use wetrun_units::{Scale, UnitSystem, trimmed};

/// Pipes and what hangs on them.
#[derive(Clone, Debug, Default)]
pub(super) struct Pipes {
    /// Of each downspout, as written.
    pub(super) downspouts: Vec<String>,
    /// Of each line.
    pub(super) lines: Vec<String>,
    /// The overflow's, and its level.
    pub(super) overflow: Option<String>,
    pub(super) overflow_level: i64,
    /// What they were chosen for.
    pub(super) choice: Choice,
    /// Up to where each downspout must hold water, once that is known.
    pub(super) watertight: Vec<i64>,
}

/// What sizes were chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Choice {
    /// To carry the storm.
    #[default]
    Carries,
    /// To carry it with downspouts out of which air rises against the water.
    Vents,
    /// None carries it: these come nearest.
    Nearest,
}

impl Choice {
    /// Why a downspout has its size.
    fn of_downspouts(self) -> &'static str {
        match self {
            Self::Vents => "the least that air rises out of",
            other => other.of_lines(),
        }
    }

    /// Why a line has its size.
    fn of_lines(self) -> &'static str {
        match self {
            Self::Carries | Self::Vents => "the least that carries the storm",
            Self::Nearest => "as near as sizes come: not enough yet",
        }
    }
}

/// Where comments begin beside values.
const COLUMN: usize = 34;

/// The lines of a file.
struct Lines {
    text: String,
    units: UnitSystem,
}

impl Lines {
    fn plain(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A value with a comment beside it.
    fn with(&mut self, line: &str, comment: &str) {
        let gap = COLUMN.saturating_sub(line.chars().count()).max(2);
        self.plain(&format!("{line}{}# {comment}", " ".repeat(gap)));
    }

    /// With its comment in the first of several items only.
    fn first(&mut self, first: bool, line: &str, comment: &str) {
        if first { self.with(line, comment) } else { self.plain(line) }
    }

    fn of(&self, us: &'static str, si: &'static str) -> &'static str {
        match self.units {
            UnitSystem::Us => us,
            UnitSystem::Si => si,
        }
    }
}

/// What runs off a roof: the rest wets it and splashes over. Common practice for roofs, no source.
pub(super) const RUNOFF: f64 = 0.95;

/// The whole file; whoever has a name of the job quotes it into its place.
pub(super) fn site(plan: &Plan, answers: &Answers, pipes: &Pipes, head: &[String]) -> String {
    let mut out = Lines { text: String::new(), units: answers.units };
    top(&mut out, plan, answers, head);
    storm(&mut out, answers);
    roofs(&mut out, plan);
    out.plain("");
    out.plain("downspouts:");
    for (index, spout) in plan.downspouts.iter().enumerate() {
        downspout(&mut out, plan, pipes, index, spout);
    }
    out.plain("");
    out.plain("# Where lines meet, and where they can be opened and drained.");
    out.plain("points:");
    for (index, spot) in plan.points.iter().enumerate() {
        point(&mut out, plan, spot, index == 0);
    }
    out.plain("");
    out.plain("# The buried line. A profile gives its inverts (inside bottoms) and the ground.");
    out.plain("lines:");
    for (index, run) in plan.lines.iter().enumerate() {
        line(&mut out, plan, pipes, index, run);
    }
    tank(&mut out, plan, answers, pipes);
    asked(&mut out, plan);
    out.text
}

fn top(out: &mut Lines, plan: &Plan, answers: &Answers, head: &[String]) {
    for line in head {
        out.plain(line);
    }
    let grid = plan.grid;
    out.plain("wetrun: 1");
    out.plain("name: New site");
    let bare =
        out.of("bare numbers: feet, sizes inches", "bare numbers: metres, sizes millimetres");
    out.with(&format!("units: {}", answers.units.name()), bare);
    out.plain("# Every level is a height above this; mark it on site where it stays.");
    out.plain(&format!("datum: ground beside the building = {}", grid.written(plan.ground)));
    out.plain(&format!(
        "#benchmarks: {{ BM1: {{ level: {}, at: brass pin in the porch slab }} }}",
        grid.written(plan.ground)
    ));
    out.with("revision: A", "of this drawing");
}

fn storm(out: &mut Lines, answers: &Answers) {
    let scale = Scale::of(&answers.units.show_intensity(answers.rain));
    let rain = format!("{} {}", trimmed(scale.number(answers.rain.to_m_per_s()), 4), scale.unit);
    out.plain("");
    out.plain("# The peak rain that the pipes must carry. Take it from a table of the place:");
    out.plain("#   wetrun rain TABLE --years 25 --write THIS-FILE");
    out.plain("storm:");
    out.with(&format!("  intensity: {rain}"), "of 5 minutes: a gutter fills in minutes");
    out.with("  #basis: 25-year 5-minute", "where that comes from; printed");
    out.with(
        out.of("#ordinary_rain: 0.8 in/h", "#ordinary_rain: 20 mm/h"),
        "a shower that comes several times a year",
    );
    out.plain("");
    out.with(
        out.of("targets: { freeboard: 4 in }", "targets: { freeboard: 100 mm }"),
        "the water stays so far below each gutter",
    );
}

fn roofs(out: &mut Lines, plan: &Plan) {
    let scale = Scale::of(&out.units.show_area(plan.roof));
    // On a keyboard there is no raised 2.
    let unit = scale.unit.replace('²', "2");
    let area = format!("{} {unit}", trimmed(scale.number(plan.roof.to_m2()), 3));
    out.plain("");
    out.plain("# Areas in plan (as on a map, not along the slope), and where each drains.");
    out.plain("roofs:");
    for (index, spout) in plan.downspouts.iter().enumerate() {
        let (tag, to) = (index + 1, &spout.tag);
        let line = format!("  R{tag}: {{ area: {area}, runoff: {RUNOFF}, to: {to} }}");
        out.plain(&line);
    }
    let apart = plan.downspouts.first().zip(plan.downspouts.get(1));
    let length = apart.map_or(plan.grid.round(20.0, 6.0), |(a, b)| (b.at.0 - a.at.0).max(1));
    let size = out.of("width: 6 in, depth: 3 in", "width: 150 mm, depth: 75 mm");
    out.plain("# Gutters as they are; then say at each downspout which one it hangs on. Their");
    out.plain("# length is what drains to one outlet.");
    out.plain("#gutters:");
    let length = plan.grid.written(length);
    out.plain(&format!("#  eave: {{ shape: half-round, {size}, length: {length} }}"));
}

fn downspout(out: &mut Lines, plan: &Plan, pipes: &Pipes, index: usize, spout: &Spout) {
    let (grid, first) = (plan.grid, index == 0);
    out.plain(&format!("  {}:", spout.tag));
    let level = |key: &str, steps: i64| format!("    {key}: {}", grid.written(steps));
    out.first(first, &level("outlet", spout.outlet), "the hole in the gutter's floor");
    let lip = spout.outlet + grid.round(0.2, 0.06);
    out.first(first, &level("#lip", lip), "where the gutter spills, if above it");
    out.first(first, &level("foot", spout.foot), "where it turns into the buried line");
    let pipe = pipes.downspouts.get(index).map_or("?", String::as_str);
    out.first(first, &format!("    pipe: {pipe}"), pipes.choice.of_downspouts());
    out.first(first, "    fittings: { bend-45: 2 }", "from the gutter back to the wall");
    if let Some(&tight) = pipes.watertight.get(index) {
        let comment = "joints hold water up to here: by the storm";
        out.first(first, &level("watertight_to", tight), comment);
    }
    out.plain(&level("ground", plan.ground));
    if first {
        out.with("    cleanout: yes", "it opens at its foot, to rod the line");
    }
    out.first(first, "    #gutter: eave", "the gutter it hangs on");
    out.first(first, "    #screen: { open: 60 % }", "free area left at its top");
    out.plain(&format!("    at: {}", place(plan, spout.at)));
}

fn place(plan: &Plan, at: (i64, i64)) -> String {
    format!("[{}, {}]", plan.grid.written(at.0), plan.grid.written(at.1))
}

fn point(out: &mut Lines, plan: &Plan, spot: &Spot, first: bool) {
    let grid = plan.grid;
    out.plain(&format!("  {}:", spot.tag));
    out.first(first, &format!("    level: {}", grid.written(spot.level)), "invert there");
    out.first(first, &format!("    ground: {}", grid.written(plan.ground)), "ground above it");
    let cap = "sealed: a level would be an opening";
    match &spot.kind {
        SpotKind::Wye { branch } => {
            out.first(first, "    fitting: wye", "the branch comes in at 45 degrees");
            out.plain(&format!("    branch: {branch}"));
            out.plain("    cleanout: yes");
            out.first(first, "    cap: sealed", cap);
        }
        SpotKind::Opening => {
            out.plain("    cleanout: yes");
            out.first(first, "    cap: sealed", cap);
        }
        SpotKind::Low => {
            let drain = out.of("    drain: 2 in", "    drain: 50 mm");
            out.with(drain, "the low point: it empties the line");
            let outlet = grid.written(spot.level - grid.round(0.5, 0.15));
            let line = format!("    #drain_outlet: {{ level: {outlet}, to: swale }}");
            out.plain(
                "    # Where the drain runs out, below the invert; pumped out where none is:",
            );
            out.plain(&line);
            out.plain("    cleanout: yes");
            out.first(first, "    cap: sealed", cap);
        }
    }
    out.plain(&format!("    at: {}", place(plan, spot.at)));
}

fn line(out: &mut Lines, plan: &Plan, pipes: &Pipes, index: usize, run: &Run) {
    let (grid, first) = (plan.grid, index == 0);
    out.plain(&format!("  {}:", run.tag));
    out.plain(&format!("    from: {}", run.from));
    out.plain(&format!("    to: {}", run.to));
    let pipe = pipes.lines.get(index).map_or("?", String::as_str);
    out.first(first, &format!("    pipe: {pipe}"), pipes.choice.of_lines());
    let length = grid.written(run.length);
    let along = if run.riser { "straight up from the low point" } else { "along the pipe" };
    out.first(first || run.riser, &format!("    length: {length}"), along);
    match run.fittings {
        "" => out.with("    k: 0", "no fittings"),
        fittings => out.plain(&format!("    fittings: {fittings}")),
    }
    out.plain("    profile:");
    let ground = format!(", ground: {}", grid.written(plan.ground));
    let end = if run.riser { "" } else { ground.as_str() };
    for (at, level, ground) in [(0, run.ends[0], ground.as_str()), (run.length, run.ends[1], end)] {
        out.plain(&format!(
            "      - {{ at: {}, level: {}{ground} }}",
            grid.written(at),
            grid.written(level)
        ));
    }
}

fn tank(out: &mut Lines, plan: &Plan, answers: &Answers, pipes: &Pipes) {
    let grid = plan.grid;
    let level = |key: &str, steps: i64| format!("    {key}: {}", grid.written(steps));
    let stands = plan.inlet > plan.ground + grid.round(2.0, 0.6);
    out.plain("");
    out.plain("tanks:");
    out.plain("  T1:");
    out.with(&level("inlet", plan.inlet), "inside bottom of the pipe where it enters");
    let pipe = pipes.overflow.as_ref().map_or(String::new(), |pipe| format!(", pipe: {pipe}"));
    let overflow = grid.written(pipes.overflow_level);
    out.plain("    # Low and wide enough that a full tank stays below the inlet in the storm.");
    out.plain(&format!("    overflow: {{ level: {overflow}{pipe} }}"));
    let scale = Scale::of(&answers.units.show_volume(answers.tank));
    let volume = format!("{} {}", trimmed(scale.number(answers.tank.to_m3()), 1), scale.unit);
    out.with(&format!("    volume: {volume}"), "up to the overflow");
    out.plain(&level("ground", plan.ground));
    let floor = plan.ground.min(pipes.overflow_level - grid.round(3.0, 1.0));
    match stands {
        true => {
            out.with(&level("floor", plan.ground), "it stands on the ground; change this if not");
            out.plain("    buried: no");
        }
        false => {
            out.with(&level("#floor", floor), "inside floor");
            out.with("    #buried: yes", "then what holds it down when it is empty:");
            out.plain(
                "    #hold_down: { outside: 10 m3, weight: 900 kg, plan: 6 m2, cover: 0.5 m }",
            );
        }
    }
    out.with(&level("#rim", plan.inlet + grid.round(1.0, 0.3)), "top of the wall");
    let distance = out.of("    #overflow_distance: 13 ft", "    #overflow_distance: 4 m");
    out.with(distance, "of the overflow's end from the building");
    out.with("    base: slab, flexible joints", "proposed: its base, how pipes join it");
    out.with("    access: locked lid, warning", "proposed: who gets in; never alone");
    out.plain(&format!("    at: {}", place(plan, plan.tank_at)));
}

/// What the review asks for beyond the drawing: what is proposed stands, the rest is a comment.
fn asked(out: &mut Lines, plan: &Plan) {
    let grid = plan.grid;
    let lowest = plan.downspouts.iter().map(|spout| spout.outlet).min().unwrap_or(plan.ground);
    out.plain("");
    out.plain("# Proof before the trench is closed: filled up to the lowest opening.");
    out.plain(&format!(
        "test: {{ medium: water, level: {}, duration: 20 min }}",
        grid.written(lowest)
    ));
    out.with(
        out.of(
            "tolerances: { opening: 3/8 in, inlet: 3/8 in }",
            "tolerances: { opening: 10 mm, inlet: 10 mm }",
        ),
        "of levels, as laid",
    );
    out.plain("");
    out.plain("# What holds wherever an item does not say it itself.");
    out.plain("defaults:");
    out.plain("  downspouts:");
    let leaf = out.of("    leaf_mesh: 3/16 in", "    leaf_mesh: 5 mm");
    out.with(leaf, "screen at the gutter");
    out.with(out.of("    insect_mesh: 0.04 in", "    insect_mesh: 1 mm"), "no mosquitoes in");
    let hole = out.of("    #outlet_size: 3 in", "    #outlet_size: 100 mm");
    out.with(hole, "bore of the hole in the gutter's floor");
    let (volume, cap) = (out.of("5 gal", "20 L"), grid.written(plan.ground + grid.round(0.3, 0.1)));
    out.plain("    # What keeps back the first water, and its cap if it lies in the ground:");
    let ground = grid.written(plan.ground);
    out.plain(&format!("    #first_flush: {{ volume: {volume}, cap: {cap}, ground: {ground} }}"));
    out.with("    #frost: drained before frost", "how what stands in them does not freeze");
    out.plain("  tanks:");
    out.plain(out.of("    inlet_mesh: 0.04 in", "    inlet_mesh: 1 mm"));
    out.plain(out.of("    overflow_mesh: 0.04 in", "    overflow_mesh: 1 mm"));
    out.with("    #frost: insulated riser", "how the riser is kept from freezing");
    out.plain("  lines:");
    out.with("    #vehicles: no", "whether any cross it");
    out.plain("");
    out.plain("# The ground. Have services marked before you dig; shore or slope the trench.");
    out.plain("ground:");
    out.with(out.of("  #frost_depth: 1 ft", "  #frost_depth: 0.3 m"), "0 where it does not freeze");
    let water = grid.written(plan.ground - grid.round(10.0, 3.0));
    out.with(&format!("  #water_level: {water}"), "the highest ground water");
    let clear = out.of("  #footings: 6 ft clear", "  #footings: 2 m clear");
    out.with(clear, "how the trench keeps clear of them");
    out.with("  #services: located and drawn", "cables, gas, water, and how far off they are");
    out.with("  bedding: sand, marker tape", "proposed: under and over the pipe");
    out.plain("");
    out.plain("# What the drawings state, and the printed set shows. Proposed: change or delete");
    out.plain("# what will not be done.");
    out.plain("documents:");
    for (line, comment) in PROPOSED {
        out.with(&format!("  {line}"), comment);
    }
    out.plain("  # Only you know these, and an inspector will hold you to them.");
    out.with("  #return_period: 25 years", "of the design storm");
    out.with("  #continuous_slope: no", "whether the local code asks for it");
    out.with("  #designer: licence number", "or the exemption");
    let least = out.of("  #authority_difference: 0 ft", "  #authority_difference: 0 m");
    out.with(least, "of opening over inlet, by the authority");
    let roof = out.of("  #roof_area: 1000 sq ft", "  #roof_area: 100 m2");
    out.with(roof, "as measured, all roofs together");
    out.with("  #stale_water: drained", "what becomes of water that stood long");
}

const PROPOSED: &[(&str, &str)] = &[
    ("drawings: [plan, sections]", "what `wetrun sheet` prints"),
    ("calculation: A", "the revision it was made for"),
    ("storm_duration: 5 min", "what the intensity is the mean of"),
    ("wet_condition: on this sheet", "that the pipes stand full"),
    ("restraint: thrust blocks", "how bends, riser and caps are held"),
    ("hold_point: inspector, at test", "who sees it before the trench is closed"),
    ("as_built: levels, test record", "what comes back after the work"),
    ("manual: the owner's page", "for the owner"),
    ("inspection: every 12 months", "how often"),
    ("labels: not drinking water", "at every tap, and kept apart"),
];
