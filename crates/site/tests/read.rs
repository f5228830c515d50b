//! A site file read whole: every key of the contract, and what each becomes.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use approx::assert_relative_eq;
use wetrun_network::{DownspoutId, End, JunctionKind, LineId, PointId, TankId};
use wetrun_site::{Code, GutterShape, Losses, PipeOwner, Severity, Site, Start, Tanks, read};
use wetrun_units::{Fraction, Length, UnitSystem};

const FT: f64 = 0.3048;
const IN: f64 = 0.0254;
const GAL: f64 = 231.0 * IN * IN * IN;

const WHOLE: &str = r#"
wetrun: 1
name: Larkspur workshop
units: us
datum: garage slab = 100.00 ft
water: { temperature: 59 F }
losses: hazen-williams
storm:
  intensity: 5.2 in/h
  basis: 25-year 5-minute, county rainfall table
  tanks: empty
targets:
  freeboard: 4 in
roofs:
  north: { area: 640 sq ft, runoff: 0.95, to: D1 }
  south: { area: 900 sq ft, to: { D2: 50 %, D3: 0.5 } }
gutters:
  north-eave: { shape: half-round, width: 6 in, depth: 3, slope: 1:200, length: 38 ft }
downspouts:
  D1:
    outlet: 110.10 ft
    lip: 110.35 ft
    foot: 99.20 ft
    pipe: pvc-sch40 3 in
    leaf_head: 106.20 ft
    gutter: north-eave
    fittings: { bend-90: 1, strainer-basket: 2 }
    k: 0.25
    screen: { open: 60 % }
    at: [12, 30 ft]
  D2: { outlet: 110.10, foot: 99.20, pipe: 'pvc-sch40 3"' }
  D3: { outlet: 110.10, foot: 99.20, pipe: { inside: 102 mm, roughness: 0.0015 mm, c: 150 } }
points:
  W1: { level: 98.60 ft, ground: 100.90 ft, fitting: wye, branch: L3 }
  P1: { level: 97.90 ft, ground: 100.20 ft, drain: 2 in, cleanout: yes }
lines:
  L1:
    from: D1
    to: W1
    pipe: pvc-sch40 4 in
    length: 32 ft
    fittings: { bend-45: 2 }
    k: 0.1
    profile:
      - { at: 0 ft,  level: 99.2 ft, ground: 101.0 ft }
      - { at: 10 ft, level: 98.0 ft }
      - { at: 32 ft, level: 98.61 ft, ground: 100.9 ft }
  L3: { from: D2, to: W1, pipe: pvc-sch40 101.6 mm, length: 10 }
  L4: { from: W1, to: P1, pipe: hdpe-dr17 110 mm, length: 20 }
  L5: { from: P1, to: T1, pipe: pvc-sch40 4 in, length: 50, to_level: 106.3 ft }
  "6": { from: D3, to: P1, pipe: pvc-sch40 4 in, length: 13 ft 6 in, from_level: 99 ft }
tanks:
  T1:
    inlet: 106.20 ft
    overflow: { level: 106.00 ft, pipe: pvc-sch40 4 in, to: 2, k: 1.1 }
    floor: 97.50 ft
    rim: 107.10 ft
    ground: 100.50 ft
    volume: 2500 gal
  2: { inlet: 107, overflow: { level: 105 } }
pipes:
  hdpe-dr17:
    { roughness: 0.0015 mm, c: 150, joint: fused, source: maker's sheet,
      sizes: { 110 mm: { outside: 110 mm, wall: 6.6 mm } } }
fittings:
  strainer-basket: { k: 1.9, source: maker's test }
prices: { pvc-sch40: { 3 in: 4.10, 4 in: 5.60 }, hdpe-dr17: { 110 mm: 9 } }
benchmarks: { BM1: { level: 100.00 ft, at: brass pin, porch slab } }
rules: { cover-depth: { limit: 300 mm, reason: no vehicles, basis: site visit } }
"#;

fn site(text: &str) -> Site {
    read(text, "site.yaml").unwrap_or_else(|faults| panic!("{faults}"))
}

fn faults(text: &str) -> Vec<(Code, String)> {
    let faults = read(text, "site.yaml").expect_err(text);
    faults.list().iter().map(|fault| (fault.code, fault.key_path.clone())).collect()
}

#[test]
fn the_head_and_the_small_sections() {
    let site = site(WHOLE);
    assert_eq!(site.name, "Larkspur workshop");
    assert_eq!(site.units, UnitSystem::Us);
    assert_eq!(site.datum.as_deref(), Some("garage slab = 100.00 ft"));
    assert_relative_eq!(site.water_temperature.to_celsius(), 15.0, epsilon = 1e-12);
    assert_eq!(site.losses, Losses::HazenWilliams);
    assert_relative_eq!(site.storm.intensity.to_m_per_s(), 5.2 * IN / 3600.0);
    assert_eq!(site.storm.tanks, Tanks::Empty);
    assert!(site.storm.basis.as_deref().is_some_and(|basis| basis.starts_with("25-year")));
    assert_relative_eq!(site.targets.freeboard.to_m(), 4.0 * IN);
    assert!(site.targets.freeboard_given);
    let gutter = site.gutter_of(DownspoutId::new(0)).unwrap();
    assert_eq!((gutter.tag.as_str(), gutter.shape), ("north-eave", GutterShape::HalfRound));
    assert_relative_eq!(gutter.width.to_m(), 6.0 * IN);
    assert_relative_eq!(gutter.depth.unwrap().to_m(), 3.0 * IN);
    assert_relative_eq!(gutter.slope.to_ratio(), 0.005);
    assert_relative_eq!(gutter.length.unwrap().to_m(), 38.0 * FT);
    assert_eq!(site.benchmarks[0].at.as_deref(), Some("brass pin, porch slab"));
    assert_relative_eq!(site.benchmarks[0].level.to_m(), 100.0 * FT);
    assert_eq!(site.rules[0].limit, "300 mm");
    let three = site.network.downspouts()[0].pipe.clone();
    assert_relative_eq!(site.price_per_metre(&three).unwrap(), 4.10 / FT);
    assert!(site.open_pipes().is_empty());
}

#[test]
fn downspouts_and_their_catchments() {
    let site = site(WHOLE);
    let [d1, d2, d3] = site.network.downspouts() else { panic!() };
    assert_relative_eq!(d1.outlet.to_m(), 110.10 * FT);
    assert_relative_eq!(d1.lip.to_m(), 110.35 * FT);
    assert_relative_eq!(d1.foot.to_m(), 99.20 * FT);
    assert_relative_eq!(d1.leaf_head.unwrap().to_m(), 106.20 * FT);
    assert_relative_eq!(d1.total_k(), 0.25 + 2.0 * 1.9 + d1.fittings[0].k);
    assert_relative_eq!(d1.catchment.to_m2(), 640.0 * 0.95 * FT * FT, max_relative = 1e-14);
    assert_relative_eq!(d2.catchment.to_m2(), 450.0 * FT * FT, max_relative = 1e-14);
    assert_relative_eq!(d3.catchment.to_m2(), 450.0 * FT * FT, max_relative = 1e-14);
    assert_eq!(d2.lip, d2.outlet);
    assert_eq!(
        (d1.pipe.label.as_str(), d2.pipe.label.as_str()),
        ("pvc-sch40 3 in", "pvc-sch40 3 in")
    );
    assert_eq!(d3.pipe.label, "inside 102 mm");
    assert_relative_eq!(d3.pipe.inside.to_m(), 0.102);
    assert_relative_eq!(d3.pipe.roughness.unwrap().to_m(), 1.5e-6);
    assert_eq!(d3.pipe.c, Some(150.0));
    let notes = &site.downspouts[0];
    assert_relative_eq!(notes.screen_open.unwrap().to_ratio(), 0.6);
    assert!(notes.lip_given && !site.downspouts[1].lip_given);
    assert_relative_eq!(notes.at.unwrap().x.to_m(), 12.0 * FT);
    assert_relative_eq!(notes.at.unwrap().y.to_m(), 30.0 * FT);
}

#[test]
fn lines_their_ends_and_profiles() {
    let site = site(WHOLE);
    let lines = site.network.lines();
    let ends = |index: usize| (lines[index].from, lines[index].to);
    assert_eq!(ends(0), (End::Downspout(DownspoutId::new(0)), End::Point(PointId::new(0))));
    assert_eq!(ends(3), (End::Point(PointId::new(1)), End::Tank(TankId::new(0))));
    assert_eq!(lines[4].tag, "6");
    let levels: Vec<f64> = lines[0].profile.iter().map(|s| s.level.to_m() / FT).collect();
    assert_relative_eq!(levels[..], [99.2, 98.0, 98.6], max_relative = 1e-12); // the end's own
    assert_relative_eq!(lines[0].profile[0].ground.unwrap().to_m(), 101.0 * FT);
    assert_eq!(lines[0].profile[2].at, lines[0].length);
    assert!(site.lines[0].profile_given && !site.lines[1].profile_given);
    let straight = |index: usize| {
        let [from, to] = lines[index].profile.as_slice() else { panic!() };
        (from.level.to_m() / FT, to.level.to_m() / FT, to.at.to_m() / FT)
    };
    let close = |found: (f64, f64, f64), wanted: [f64; 3]| {
        assert_relative_eq!([found.0, found.1, found.2][..], wanted[..], max_relative = 1e-12);
    };
    close(straight(1), [99.2, 98.6, 10.0]);
    close(straight(3), [97.9, 106.3, 50.0]);
    close(straight(4), [99.0, 97.9, 13.5]);
    assert_eq!(lines[1].pipe.label, "pvc-sch40 4 in");
    let own = &lines[2].pipe;
    assert_eq!((own.label.as_str(), own.joint.as_str()), ("hdpe-dr17 110 mm", "fused"));
    assert_relative_eq!(own.inside.to_m(), 0.0968, max_relative = 1e-12);
    assert_eq!(own.source, "maker's sheet");
    assert_eq!(lines[0].fittings[0].count, 2);
}

#[test]
fn points_and_tanks() {
    let site = site(WHOLE);
    let points = site.network.points();
    let junction = points[0].fitting.unwrap();
    assert_eq!((junction.kind, junction.branch), (JunctionKind::Wye, LineId::new(1)));
    assert!(points[1].cleanout && !points[0].cleanout);
    assert_relative_eq!(points[1].drain.unwrap().to_m(), 2.0 * IN);
    let [first, second] = site.network.tanks() else { panic!() };
    let overflow = first.overflow.as_ref().unwrap();
    assert_eq!((overflow.to, overflow.k), (Some(TankId::new(1)), 1.1));
    assert_relative_eq!(overflow.level.to_m(), 106.0 * FT);
    assert_eq!(overflow.pipe.as_ref().unwrap().label, "pvc-sch40 4 in");
    assert_relative_eq!(first.volume.unwrap().to_m3(), 2500.0 * GAL);
    assert_relative_eq!(first.rim.unwrap().to_m(), 107.1 * FT);
    let overflow = second.overflow.as_ref().unwrap();
    assert_eq!((overflow.to, overflow.k, overflow.pipe.is_none()), (None, 0.5, true));
    assert_eq!(second.tag, "2");
}

const SMALL: &str = "
wetrun: 1
name: Garden hut
units: si
storm: { intensity: 100 }
downspouts: { D1: { outlet: 2.4, foot: 0.1, pipe: pvc-sch40 3 in } }
lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 3 in, length: 8 } }
tanks: { T1: { inlet: 1.5 } }
";

#[test]
fn what_a_file_may_leave_out() {
    let site = site(SMALL);
    assert_relative_eq!(site.water_temperature.to_celsius(), 10.0);
    assert_relative_eq!(site.targets.freeboard.to_m(), 0.1);
    assert!(!site.targets.freeboard_given && site.roofs.is_empty() && site.cautions.is_empty());
    assert_eq!((site.losses, site.storm.tanks), (Losses::DarcyWeisbach, Tanks::Full));
    assert_relative_eq!(site.storm.intensity.to_m_per_s(), 0.1 / 3600.0);
    assert_eq!(site.network.downspouts()[0].catchment.to_m2(), 0.0);
    assert!(site.network.tanks()[0].overflow.is_none());
    let dry = SMALL.replace("intensity: 100", "intensity: 0");
    assert_eq!(read(dry, "x").unwrap().storm.intensity.to_m_per_s(), 0.0);
}

#[test]
fn open_sizes_are_listed_and_built_with_the_largest() {
    let open = SMALL
        .replace("to: T1, pipe: pvc-sch40 3 in", "to: T1, pipe: { type: pvc-sch40, size: any }")
        .replace(
            "foot: 0.1, pipe: pvc-sch40 3 in",
            "foot: 0.1, pipe: { type: pvc-sch40, size: [4 in, 76.2 mm] }",
        );
    let site = site(&open);
    let [downspout, line] = site.open_pipes() else { panic!() };
    assert_eq!(downspout.owner, PipeOwner::Downspout(DownspoutId::new(0)));
    let labels: Vec<_> = downspout.candidates.iter().map(|p| p.label.as_str()).collect();
    assert_eq!(labels, ["pvc-sch40 3 in", "pvc-sch40 4 in"]);
    assert_eq!((line.tag.as_str(), line.candidates.len() >= 6), ("L1", true));
    assert_eq!(site.network.downspouts()[0].pipe.label, "pvc-sch40 4 in");
    let largest = line.candidates.last().unwrap();
    assert_eq!(&site.network.lines()[0].pipe, largest);
}

#[test]
fn a_branch_is_told_or_plain_from_the_bores() {
    let tee = |l2: &str, more: &str| {
        format!(
            "wetrun: 1\nname: a\nunits: si\nstorm: {{ intensity: 100 }}\n\
             downspouts:\n  D1: {{ outlet: 2.4, foot: 0.1, pipe: pvc-sch40 3 in }}\n  \
             D2: {{ outlet: 2.4, foot: 0.1, pipe: pvc-sch40 3 in }}\n\
             points: {{ W1: {{ level: 0, fitting: tee{more} }} }}\n\
             lines:\n  L1: {{ from: D1, to: W1, pipe: pvc-sch40 4 in, length: 8 }}\n  \
             L2: {{ from: D2, to: W1, pipe: {l2}, length: 8 }}\n  \
             L3: {{ from: W1, to: T1, pipe: pvc-sch40 4 in, length: 8 }}\n\
             tanks: {{ T1: {{ inlet: 1.5 }} }}\n"
        )
    };
    let branch = |text: &str| site(text).network.points()[0].fitting.unwrap().branch;
    assert_eq!(branch(&tee("pvc-sch40 3 in", "")), LineId::new(1));
    assert_eq!(branch(&tee("pvc-sch40 3 in", ", branch: L1")), LineId::new(0));
    let error = [(Code::Junction, "points.W1.fitting".to_owned())];
    assert_eq!(faults(&tee("pvc-sch40 4 in", "")), error);
    assert_eq!(faults(&tee("pvc-sch40 6 in", "")), error);
    assert_eq!(faults(&tee("{ type: pvc-sch40, size: [3 in, 2 in] }", "")), error);
}

#[test]
fn an_overflow_uphill_is_a_caution() {
    let text = SMALL.replace(
        "{ T1: { inlet: 1.5 } }",
        "\n  T1: { inlet: 1.5, overflow: { level: 1.4, to: T2 } }\n  T2: { inlet: 1.5, overflow: { level: 1.45 } }",
    );
    let site = site(&text);
    let [caution] = site.cautions.as_slice() else { panic!() };
    assert_eq!((caution.severity, caution.line), (Severity::Caution, 9));
    assert!(site.render_cautions(false).starts_with("caution[levels]: `T1` overflows at 1.400 m"));
}

#[test]
fn only_what_the_law_needs_is_required_of_a_pipe() {
    let with = |law: &str, pipe: &str| {
        format!("{SMALL}losses: {law}\n")
            .replace("to: T1, pipe: pvc-sch40 3 in", &format!("to: T1, pipe: {pipe}"))
    };
    assert!(read(with("darcy-weisbach", "{ inside: 80, roughness: 0 }"), "x").is_ok());
    assert!(read(with("hazen-williams", "{ inside: 80 mm, c: 150 }"), "x").is_ok());
    let lacks = |text: String| faults(&text)[0].1.clone();
    assert_eq!(lacks(with("hazen-williams", "{ inside: 80, roughness: 0 }")), "lines.L1.pipe.c");
    assert_eq!(lacks(with("darcy-weisbach", "{ inside: 80, c: 150 }")), "lines.L1.pipe.roughness");
}

#[test]
fn places_lead_back_to_the_file() {
    let site = site(WHOLE);
    let slice = |keys: &[&str]| WHOLE[site.place(keys).unwrap().bytes].to_owned();
    assert_eq!(slice(&["lines", "L1", "profile", "1", "level"]), "98.0 ft");
    assert_eq!(slice(&["tanks", "T1", "overflow", "level"]), "106.00 ft");
    assert_eq!(slice(&["downspouts", "D2", "pipe"]), "'pvc-sch40 3\"'");
    let place = site.place(&["downspouts", "D1", "outlet"]).unwrap();
    assert_eq!((place.line, place.column), (21, 13));
    assert!(site.place(&["downspouts", "D9"]).is_none());
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_do_no_harm() {
    let text = format!("\u{feff}{}", WHOLE.replace('\n', "\r\n"));
    let (ours, plain) = (site(&text), site(WHOLE));
    assert_eq!(ours.network, plain.network);
    let bad = text.replace("inlet: 106.20 ft", "inlet: 106.20 psi");
    let faults = read(bad, "x").unwrap_err();
    assert_eq!((faults.list()[0].line, faults.list()[0].column), (54, 19));
}

#[test]
fn anchors_and_merges_are_read() {
    let text = SMALL.replace(
        "lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 3 in, length: 8 } }",
        "lines:\n  L1: &l { from: D1, to: T1, pipe: &p pvc-sch40 3 in, length: 8 }\n  L2: { <<: *l, length: 9 }\n  L3: { from: D1, to: T1, pipe: *p, length: 10 }",
    );
    let site = site(&text);
    let lengths: Vec<f64> = site.network.lines().iter().map(|l| l.length.to_m()).collect();
    assert_eq!(lengths, [8.0, 9.0, 10.0]);
}

/// The keys for water over time, worked out by hand: 1 gal is 231 in³ and 1 in 25.4 mm.
#[test]
fn starts_uses_and_transfers() {
    let text = "wetrun: 1\nname: Two tanks\nunits: us\n\
        storm: { intensity: 5 in/h, wetting: 0.5 mm }\n\
        roofs:\n  \
          a: { area: 100 sq ft, to: D1 }\n  b: { area: 100 sq ft, to: D1, wetting: 0.1 }\n\
        downspouts: { D1: { outlet: 12, foot: 1, pipe: pvc-sch40 3 in } }\n\
        lines: { L1: { from: D1, to: T1, pipe: pvc-sch40 3 in, length: 20 ft } }\n\
        tanks:\n  T1: { inlet: 8, overflow: { level: 7.5 }, volume: 500 gal, start: 7, least: 5 % }\n  \
          T2: { inlet: 8, volume: 500 gal, start: 60 % }\n\
        uses:\n  house: { takes: 120 gal/d, from: [T2, T1] }\n  \
          garden: { takes: 450 L/d, from: T1, months: [5, 12] }\n\
        transfers: { shed: { from: T1, to: T2, rate: 0.5 m3/d, when_below: 60 %, leaves: 0.1 } }\n";
    let site = wetrun_site::read(text, "x").unwrap_or_else(|faults| panic!("{faults}"));
    let near = |a: f64, b: f64| assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} {b}");
    near(site.roofs[0].wetting.to_m(), 0.0005);
    near(site.roofs[1].wetting.to_m(), 0.00254);
    assert_eq!(site.tanks[0].start, Some(Start::Level(Length::m(7.0 * 0.3048))));
    assert_eq!(site.tanks[1].start, Some(Start::Share(Fraction::ratio(0.6))));
    near(site.tanks[0].least.to_ratio(), 0.05);
    near(site.uses[0].takes.to_m3_per_s() * 86400.0, 120.0 * 231.0 * 0.0254 * 0.0254 * 0.0254);
    assert_eq!(site.uses[0].from.iter().map(|t| t.index()).collect::<Vec<_>>(), [1, 0]);
    near(site.uses[1].takes.to_m3_per_s() * 86400.0, 0.45);
    let months: Vec<usize> = (0..12).filter(|m| site.uses[1].months[*m]).collect();
    assert_eq!(months, [4, 11]);
    let shed = &site.transfers[0];
    near(shed.rate.to_m3_per_s() * 86400.0, 0.5);
    assert_eq!((shed.until.to_ratio(), shed.leaves), (1.0, Some(Fraction::ratio(0.1))));
}
