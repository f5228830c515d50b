//! Days worked by hand, and four years of public daily rain.
//!
//! `data/*.csv`: daily precipitation in millimetres, 2012 to 2015, from the U.S. National Oceanic
//! and Atmospheric Administration, as distributed in `weather.csv` of the npm package
//! vega-datasets 3.2.1 (BSD-3-Clause; the resource is a U.S. Government dataset).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use wetrun_units::{Area, Flow, Fraction, Length, Volume};
use wetrun_year::{Catchment, Date, Order, Plan, Rain, Roof, Tank, Use, Year, rain, run};

/// One roof, one tank, one use.
fn plan(area_m2: f64, wetting_m: f64, volume_m3: f64, start: f64, takes_m3: f64) -> Plan {
    let whole = Fraction::ratio(1.0);
    Plan {
        roofs: vec![Roof {
            area: Area::m2(area_m2),
            runoff: Fraction::ratio(0.9),
            wetting: Length::m(wetting_m),
            to: vec![(0, whole)],
        }],
        downspouts: vec![Catchment { first_flush: Volume::ZERO, to: vec![(0, whole)] }],
        tanks: vec![Tank {
            volume: Volume::m3(volume_m3),
            start: Fraction::ratio(start),
            least: Fraction::ZERO,
            overflow_to: None,
        }],
        transfers: Vec::new(),
        uses: vec![Use {
            takes: Flow::m3_per_s(takes_m3 / 86_400.0),
            from: vec![0],
            months: [true; 12],
        }],
        shut: None,
    }
}

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got} is not {want}");
}

fn balanced(year: &Year) {
    let scale = year.totals.rain.to_m3().max(1e-3);
    near(year.totals.balance.to_m3(), 0.0, 1e-9 * scale);
    for tank in &year.tanks {
        let came = tank.start.to_m3() + tank.received.to_m3();
        let went = tank.given.to_m3() + tank.overflowed.to_m3() + tank.end.to_m3();
        near(came, went, 1e-9 * scale);
    }
}

/// Ten days in exact decimals: 100 m², runoff 0.9, 2.0 m³ that start at 0.5, 0.3 m³ a day.
#[test]
fn ten_days_by_hand() {
    let mm = [0.0, 12.0, 0.0, 25.0, 3.0, 0.0, 0.0, 0.0, 8.0, 0.4];
    let days = mm.iter().map(|mm| Some(Length::m(mm / 1000.0))).collect();
    let rain = Rain { first: Date::read("2024-05-01").unwrap(), days };
    let plan = plan(100.0, 0.0, 2.0, 0.25, 0.3);
    let after = [0.2, 1.08, 0.78, 1.7, 1.67, 1.37, 1.07, 0.77, 1.19, 0.926];
    let before = [0.2, 0.98, 0.68, 2.0, 1.97, 1.67, 1.37, 1.07, 1.49, 1.226];
    for (order, levels, over, met, short) in
        [(Order::UseLast, after, 1.03, 2.9, 1), (Order::UseFirst, before, 0.63, 3.0, 0)]
    {
        let year = run(&plan, &rain, order, true);
        for (day, level) in year.course.iter().zip(levels) {
            near(day.tanks[0].to_m3(), level, 1e-12);
        }
        near(year.totals.caught.to_m3(), 4.356, 1e-12);
        near(year.totals.overflowed.to_m3(), over, 1e-12);
        near(year.totals.used.to_m3(), met, 1e-12);
        assert_eq!(year.uses[0].days_short, short);
        balanced(&year);
    }
}

const SEATTLE: &str = include_str!("data/seattle.csv");
const NEW_YORK: &str = include_str!("data/new-york.csv");

/// 150 m², runoff 0.9, wetting 0.5 mm, 10 m³ half full, 0.4 m³ a day: the recurrence of Jenkins
/// et al. 1978 worked in another language over the same 1461 days.
#[test]
fn four_years_of_public_rain() {
    let plan = plan(150.0, 0.0005, 10.0, 0.5, 0.4);
    let rows = [
        (SEATTLE, Order::UseLast, [556.9155, 412.9705, 140.8100, 8.1350], 457),
        (SEATTLE, Order::UseFirst, [556.9155, 417.7705, 135.6100, 8.5350], 444),
        (NEW_YORK, Order::UseLast, [533.4660, 463.8065, 67.3925, 7.2670], 340),
        (NEW_YORK, Order::UseFirst, [533.4660, 468.2065, 63.3925, 6.8670], 328),
    ];
    for (text, order, [caught, met, over, end], short) in rows {
        let year = run(&plan, &rain::read(text, None).unwrap(), order, false);
        assert_eq!((year.days, year.days_missing, year.months.len()), (1461, 0, 48));
        near(year.totals.caught.to_m3(), caught, 1e-4);
        near(year.totals.used.to_m3(), met, 1e-4);
        near(year.totals.overflowed.to_m3(), over, 1e-4);
        near(year.tanks[0].end.to_m3(), end, 1e-4);
        assert_eq!(year.uses[0].days_short, short);
        balanced(&year);
    }
}

/// The share met by stores of 2 to 50 m³, each half full: the same recurrence. More is met by a
/// larger store, and doubling everything changes no share.
#[test]
fn the_share_met_by_larger_stores() {
    let stores = [2.0, 5.0, 10.0, 20.0, 50.0];
    let rows = [
        (SEATTLE, Order::UseLast, [0.4819, 0.6395, 0.7067, 0.7823, 0.9157]),
        (SEATTLE, Order::UseFirst, [0.5464, 0.6578, 0.7149, 0.7878, 0.9163]),
        (NEW_YORK, Order::UseLast, [0.4899, 0.6968, 0.7936, 0.8675, 0.9432]),
        (NEW_YORK, Order::UseFirst, [0.5671, 0.7206, 0.8012, 0.8723, 0.9439]),
    ];
    for (text, order, shares) in rows {
        let rain = rain::read(text, None).unwrap();
        let met = |area: f64, volume: f64, takes: f64| {
            let year = run(&plan(area, 0.0005, volume, 0.5, takes), &rain, order, false);
            year.uses[0].met.to_m3() / year.uses[0].asked.to_m3()
        };
        for (store, share) in stores.into_iter().zip(shares) {
            near(met(150.0, store, 0.4), share, 5e-5);
            near(met(300.0, 2.0 * store, 0.8), met(150.0, store, 0.4), 1e-9);
            assert!(met(170.0, store, 0.4) >= met(150.0, store, 0.4));
            assert!(met(150.0, store * 1.1, 0.4) >= met(150.0, store, 0.4));
        }
    }
}

#[test]
fn a_hundred_years_on_four_tanks_balance() {
    let mut plan = plan(150.0, 0.0005, 10.0, 0.5, 0.4);
    plan.tanks = vec![plan.tanks[0].clone(); 4];
    for tank in 0..3 {
        plan.tanks[tank].overflow_to = Some(tank + 1);
    }
    plan.uses[0].from = vec![3, 2, 1, 0];
    let four = rain::read(SEATTLE, None).unwrap();
    let days = four.days.iter().copied().cycle().take(36_525).collect();
    balanced(&run(&plan, &Rain { first: four.first, days }, Order::UseLast, false));
}

#[test]
fn faults_of_a_rain_file_have_their_place() {
    let rows = [
        ("date,rain_mm\n2024-01-01,1\n2024-01-01,2\n", 3, 1, "twice"),
        ("date,rain_mm\n2024-01-01,-1\n", 2, 12, "cannot be"),
        ("date,rain_mm\n2024-01-01, much\n", 2, 12, "no depth"),
        ("date,rain_mm\n2024-01-01,NaN\n", 2, 12, "no depth"),
        ("date,rain_mm\n2024-02-30,1\n", 2, 1, "no date"),
        ("DATE,PRCP\n2024-01-01,1\n", 1, 6, "--rain-unit"),
        ("date,rain\n2024-01-01,1\n", 1, 1, "no column of rain"),
        ("date,rain_mm,rain_in\n2024-01-01,1,1\n", 1, 6, "both"),
        ("day,rain_mm\n2024-01-01,1\n", 1, 1, "`date`"),
        ("date,rain_mm\n", 1, 1, "no day"),
        ("", 1, 1, "`date`"),
        ("date,rain_in\n2024-01-01,300\n", 2, 12, "2 m"),
        ("date,rain_mm\n2024-01-01,\"1\n", 2, 12, "quotation"),
    ];
    for (text, line, column, words) in rows {
        let error = rain::read(text, None).unwrap_err();
        assert_eq!((error.line, error.column), (line, column), "{text}: {error}");
        assert!(error.message.contains(words), "{text}: {error}");
    }
}

/// 109 tenths are 10.9 mm; a trace is 0; a value that failed its check, an empty cell and an
/// absent row are missing.
#[test]
fn the_public_form() {
    let text = "\"STATION\",\"DATE\",\"PRCP\",\"PRCP_ATTRIBUTES\"\n\
        \"X\",\"2024-01-01\",\"  109\",\",,E\"\n\"X\",\"2024-01-02\",\"    0\",\"T,,E\"\n\
        \"X\",\"2024-01-03\",\"  500\",\",G,E\"\n\"X\",\"2024-01-04\",,\n\"X\",\"2024-01-06\",\"1\",\",,E\"\n";
    let rain = rain::read(text, Some(wetrun_year::RainUnit::TenthMm)).unwrap();
    let mm: Vec<Option<f64>> = rain.days.iter().map(|d| d.map(|d| d.to_m() * 1000.0)).collect();
    let near = |a: Option<f64>, b: f64| (a.unwrap() - b).abs() < 1e-12;
    assert!(near(mm[0], 10.9) && near(mm[1], 0.0) && near(mm[5], 0.1));
    assert_eq!(mm[2..5], [None, None, None]);
}
