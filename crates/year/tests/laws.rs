//! What holds for any plan: all water is accounted for, more of a tank or a roof never brings less to
//! one use, and what is doubled in everything changes no share.
#![allow(clippy::unwrap_used)]

use proptest::prelude::*;
use wetrun_units::{Area, Flow, Fraction, Length, Volume};
use wetrun_year::{Catchment, Date, Order, Plan, Rain, Roof, Shut, Tank, Transfer, Use, Year, run};

fn share() -> impl Strategy<Value = Fraction> {
    (0.0..=1.0_f64).prop_map(Fraction::ratio)
}

fn volume(most_m3: f64) -> impl Strategy<Value = Volume> {
    (0.1..most_m3).prop_map(Volume::m3)
}

fn rain() -> impl Strategy<Value = Rain> {
    let day = prop_oneof![
        5 => Just(Some(0.0)),
        1 => Just(None),
        4 => (0.0..0.06_f64).prop_map(Some),
    ];
    prop::collection::vec(day, 1..120).prop_map(|days| Rain {
        first: Date::read("2023-11-20").unwrap(),
        days: days.into_iter().map(|day| day.map(Length::m)).collect(),
    })
}

/// Up to four tanks that overflow downhill, with roofs, uses, a transfer and perhaps one tank shut.
fn plan() -> impl Strategy<Value = Plan> {
    (1_usize..=4).prop_flat_map(|tanks| {
        let tank = (volume(8.0), share(), 0.0..0.3_f64, any::<bool>());
        let roof = (10.0..200.0_f64, share(), 0.0..0.002_f64, 0..tanks);
        let wants =
            (0.0..1.0_f64, prop::collection::hash_set(0..tanks, 1..=tanks), any::<[bool; 12]>());
        let moves = (0..tanks, 0..tanks, 0.0..2.0_f64, share(), share(), share());
        (
            prop::collection::vec(tank, tanks),
            prop::collection::vec(roof, 1..4),
            prop::collection::vec(wants, 0..3),
            prop::option::of(moves),
            prop::option::of((0..tanks, 0_usize..40, 0_usize..40)),
            0.0..0.05_f64,
        )
            .prop_map(|(tanks, roofs, uses, moves, shut, flush_m3)| {
                let last = tanks.len() - 1;
                let (from, to): (Vec<_>, Vec<_>) = (roofs.iter().enumerate())
                    .map(|(place, roof)| {
                        let whole = Fraction::ratio(1.0);
                        let roof_of = Roof {
                            area: Area::m2(roof.0),
                            runoff: roof.1,
                            wetting: Length::m(roof.2),
                            to: vec![(place, whole)],
                        };
                        let first_flush = Volume::m3(flush_m3);
                        (roof_of, Catchment { first_flush, to: vec![(roof.3, whole)] })
                    })
                    .unzip();
                let day = |m3: f64| Flow::m3_per_s(m3 / 86_400.0);
                Plan {
                    roofs: from,
                    downspouts: to,
                    tanks: (tanks.into_iter().enumerate())
                        .map(|(place, (volume, start, least, passes))| Tank {
                            volume,
                            start,
                            least: Fraction::ratio(least),
                            overflow_to: (passes && place < last).then_some(place + 1),
                        })
                        .collect(),
                    transfers: (moves.into_iter())
                        .filter(|moves| moves.0 != moves.1)
                        .map(|(from, to, rate, when_below, until, leaves)| Transfer {
                            from,
                            to,
                            rate: day(rate),
                            when_below,
                            until,
                            leaves,
                        })
                        .collect(),
                    uses: (uses.into_iter())
                        .map(|(takes, from, months)| {
                            let mut from: Vec<usize> = from.into_iter().collect();
                            from.sort_unstable();
                            Use { takes: day(takes), from, months }
                        })
                        .collect(),
                    shut: shut.map(|(tank, first, long)| Shut { tank, first, last: first + long }),
                }
            })
    })
}

fn accounted(year: &Year) -> Result<(), TestCaseError> {
    let scale = year.totals.rain.to_m3().max(1.0);
    prop_assert!(year.totals.balance.to_m3().abs() <= 1e-9 * scale, "{:?}", year.totals);
    for tank in &year.tanks {
        let came = tank.start.to_m3() + tank.received.to_m3();
        let went = tank.given.to_m3() + tank.overflowed.to_m3() + tank.end.to_m3();
        prop_assert!((came - went).abs() <= 1e-9 * scale, "{tank:?}");
        prop_assert!(tank.end.to_m3() >= -1e-12 && tank.given.to_m3() >= -1e-12, "{tank:?}");
    }
    for wants in &year.uses {
        prop_assert!(wants.met.to_m3() <= wants.asked.to_m3() + 1e-9, "{wants:?}");
        prop_assert!(wants.longest_short <= wants.days_short);
    }
    let months: f64 = year.months.iter().map(|month| month.met.to_m3()).sum();
    prop_assert!((months - year.totals.used.to_m3()).abs() <= 1e-9 * scale);
    Ok(())
}

fn cases() -> ProptestConfig {
    let long = std::env::var_os("WETRUN_LONG").is_some();
    ProptestConfig::with_cases(if long { 20_000 } else { 300 })
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn all_water_is_accounted_for(plan in plan(), rain in rain()) {
        for order in [Order::UseLast, Order::UseFirst] {
            accounted(&run(&plan, &rain, order, true))?;
        }
    }

    #[test]
    fn what_is_doubled_in_everything_changes_no_share(plan in plan(), rain in rain()) {
        let mut twice = plan.clone();
        twice.roofs.iter_mut().for_each(|roof| roof.area = roof.area * 2.0);
        twice.tanks.iter_mut().for_each(|tank| tank.volume = tank.volume * 2.0);
        twice.uses.iter_mut().for_each(|wants| wants.takes = wants.takes * 2.0);
        twice.transfers.iter_mut().for_each(|moves| moves.rate = moves.rate * 2.0);
        let flush = |spout: &mut Catchment| spout.first_flush = spout.first_flush * 2.0;
        twice.downspouts.iter_mut().for_each(flush);
        for order in [Order::UseLast, Order::UseFirst] {
            let (one, two) = (run(&plan, &rain, order, false), run(&twice, &rain, order, false));
            let (one, two) = (one.totals, two.totals);
            for (a, b) in [(one.used, two.used), (one.overflowed, two.overflowed)] {
                prop_assert!((2.0 * a.to_m3() - b.to_m3()).abs() < 1e-9 * (1.0 + one.rain.to_m3()));
            }
        }
    }

    /// One tank and one use: without a second the rules of transfers and shares do not come in.
    #[test]
    fn more_of_a_tank_or_a_roof_never_brings_less(
        rain in rain(),
        area in 10.0..200.0_f64,
        volume in 0.5..20.0_f64,
        takes in 0.05..1.0_f64,
        start_m3 in 0.0..0.5_f64,
        more in 1.0..3.0_f64,
    ) {
        let met = |area: f64, volume: f64, order: Order| {
            let whole = Fraction::ratio(1.0);
            let plan = Plan {
                roofs: vec![Roof {
                    area: Area::m2(area),
                    runoff: Fraction::ratio(0.9),
                    wetting: Length::m(0.0005),
                    to: vec![(0, whole)],
                }],
                downspouts: vec![Catchment { first_flush: Volume::ZERO, to: vec![(0, whole)] }],
                tanks: vec![Tank {
                    volume: Volume::m3(volume),
                    start: Fraction::ratio(start_m3 / volume),
                    least: Fraction::ZERO,
                    overflow_to: None,
                }],
                transfers: Vec::new(),
                uses: vec![Use {
                    takes: Flow::m3_per_s(takes / 86_400.0),
                    from: vec![0],
                    months: [true; 12],
                }],
                shut: None,
            };
            run(&plan, &rain, order, false).totals.used.to_m3()
        };
        for order in [Order::UseLast, Order::UseFirst] {
            let own = met(area, volume, order);
            prop_assert!(met(area, volume * more, order) >= own - 1e-9);
            prop_assert!(met(area * more, volume, order) >= own - 1e-9);
        }
    }
}
