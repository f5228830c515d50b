//! The result of `wetrun year` as JSON.

use super::{document, number, object};
use crate::days::Days;
use crate::outcome::Refusal;
use serde_json::Value;
use wetrun_units::Volume;
use wetrun_year::Order;

/// The whole result.
pub fn year(report: &Days) -> Result<String, Refusal> {
    result(report).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(report: &Days) -> Result<Value, Refusal> {
    let (site, year) = (&report.site, &report.year);
    let m3 = |volume: Volume| number(volume.to_m3());
    let totals = &year.totals;
    let mut uses = Vec::new();
    for (wants, got) in site.uses.iter().zip(&year.uses) {
        let entry = object([
            ("asked_m3", m3(got.asked)?),
            ("met_m3", m3(got.met)?),
            ("days_short", Value::from(got.days_short)),
            ("longest_short_days", Value::from(got.longest_short)),
        ]);
        uses.push((wants.tag.clone(), entry));
    }
    let mut tanks = Vec::new();
    for (tank, held) in site.network.tanks().iter().zip(&year.tanks) {
        let entry = object([
            ("start_m3", m3(held.start)?),
            ("received_m3", m3(held.received)?),
            ("given_m3", m3(held.given)?),
            ("overflowed_m3", m3(held.overflowed)?),
            ("end_m3", m3(held.end)?),
            ("days_empty", Value::from(held.days_empty)),
        ]);
        tanks.push((tank.tag.clone(), entry));
    }
    let months = year.months.iter().map(|month| {
        Ok(object([
            ("month", Value::from(format!("{:04}-{:02}", month.year, month.month))),
            ("rain_m3", m3(month.rain)?),
            ("caught_m3", m3(month.caught)?),
            ("overflowed_m3", m3(month.overflowed)?),
            ("asked_m3", m3(month.asked)?),
            ("met_m3", m3(month.met)?),
            ("end_m3", m3(month.end)?),
        ]))
    });
    let months: Vec<Value> = months.collect::<Result<_, Refusal>>()?;
    let sizes = report.sizes.iter().map(|size| {
        Ok(object([
            ("tank", Value::from(site.network.tanks()[size.tank].tag.clone())),
            ("volume_m3", m3(size.volume)?),
            ("met_m3", m3(size.met)?),
        ]))
    });
    let sizes: Vec<Value> = sizes.collect::<Result<_, Refusal>>()?;
    let order = match report.order {
        Order::UseLast => "use-last",
        Order::UseFirst => "use-first",
    };
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(site.name.clone())),
        ("order", Value::from(order)),
        ("days", Value::from(year.days)),
        ("days_missing", Value::from(year.days_missing)),
        (
            "totals",
            object([
                ("rain_m3", m3(totals.rain)?),
                ("caught_m3", m3(totals.caught)?),
                ("lost_m3", m3(totals.lost)?),
                ("used_m3", m3(totals.used)?),
                ("overflowed_m3", m3(totals.overflowed)?),
                ("balance_m3", m3(totals.balance)?),
            ]),
        ),
        ("uses", object(uses)),
        ("tanks", object(tanks)),
        ("months", Value::from(months)),
        ("sizes", Value::from(sizes)),
    ]))
}
