//! `wetrun year`: days of measured rain through roofs, tanks and uses.

use crate::commands::site_file::SiteFile;
use crate::outcome::{Answer, Refusal};
use crate::render;
use clap::{Args, ValueEnum};
use std::path::PathBuf;
use wetrun_site::{Code, Diagnostic, Site, Start, Tanks};
use wetrun_units::{Fraction, Volume};
use wetrun_year::{
    Catchment, Date, Order, Plan, Rain, RainUnit, Roof, Shut, Tank, Transfer, Use, Year,
};

/// Run days of measured rain through roofs, tanks and uses: how much is caught, how much runs
/// over, how often a use goes short, and what another size of tank would change.
#[derive(Debug, Args)]
pub(crate) struct YearArgs {
    #[command(flatten)]
    pub(super) site: SiteFile,

    /// The days of rain: comma-separated, a column `date` and one of rain.
    #[arg(long, value_name = "FILE")]
    rain: PathBuf,

    /// The unit of a column `PRCP`, as the file was ordered.
    #[arg(long, value_name = "UNIT")]
    rain_unit: Option<Unit>,

    /// Whether uses come last in a day (the cautious order) or first.
    #[arg(long, value_name = "ORDER", default_value = "use-last")]
    order: DayOrder,

    /// A tank that is shut from one day to another: its water stays, and what would have come to
    /// it runs to the ground.
    #[arg(long, value_name = "TANK", requires = "from", requires = "to")]
    without: Option<String>,

    /// The first day it is shut, such as 2024-04-01.
    #[arg(long, value_name = "DATE", requires = "without")]
    from: Option<String>,

    /// The last day it is shut.
    #[arg(long, value_name = "DATE", requires = "without")]
    to: Option<String>,

    /// How to write the result; `csv` is a table of months.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: YearFormat,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Unit {
    Mm,
    TenthMm,
    In,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum DayOrder {
    UseLast,
    UseFirst,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum YearFormat {
    Text,
    Json,
    Csv,
}

/// A run with what the report sets beside it.
pub(crate) struct Report {
    pub(crate) site: Site,
    pub(crate) rain: Rain,
    pub(crate) order: Order,
    pub(crate) year: Year,
    /// By the other order.
    pub(crate) other: Year,
    /// With every tank open, where one was shut.
    pub(crate) open: Option<(String, Year)>,
    /// What all uses get with one tank of another volume, the others as they are.
    pub(crate) sizes: Vec<Size>,
}

/// A tank of another volume.
pub(crate) struct Size {
    pub(crate) tank: usize,
    pub(crate) volume: Volume,
    pub(crate) met: Volume,
}

/// The volumes tried, as parts of a tank's own.
const SIZES: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 3.0, 4.0];

impl YearArgs {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let site = self.site.read()?;
        let name = self.rain.display().to_string();
        let bytes = SiteFile { path: self.rain.clone() }.bytes()?;
        let text = String::from_utf8(bytes)
            .map_err(|_| Refusal::because(format_args!("{name}: not a text file in UTF-8")))?;
        let unit = self.rain_unit.map(|unit| match unit {
            Unit::Mm => RainUnit::Mm,
            Unit::TenthMm => RainUnit::TenthMm,
            Unit::In => RainUnit::In,
        });
        let rain = wetrun_year::rain::read(&text, unit).map_err(|fault| {
            let (line, column, message) = (fault.line, fault.column, fault.message);
            Refusal::because(format_args!("{name}:{line}:{column}: {message}"))
        })?;
        let (order, other) = match self.order {
            DayOrder::UseLast => (Order::UseLast, Order::UseFirst),
            DayOrder::UseFirst => (Order::UseFirst, Order::UseLast),
        };
        let whole = plan(&site)?;
        let shut = self.shut(&site, &rain)?;
        let plan = Plan { shut, ..whole.clone() };
        let report = Report {
            year: wetrun_year::run(&plan, &rain, order, false),
            other: wetrun_year::run(&plan, &rain, other, false),
            open: (self.without.clone().filter(|_| shut.is_some()))
                .map(|tag| (tag, wetrun_year::run(&whole, &rain, order, false))),
            sizes: sizes(&plan, &rain, order),
            site,
            rain,
            order,
        };
        let stdout = match self.format {
            YearFormat::Text => render::text::year::year(&report),
            YearFormat::Json => render::json::year::year(&report)?,
            YearFormat::Csv => render::csv::months(&report)?,
        };
        Ok(Answer::pass(stdout))
    }

    fn shut(&self, site: &Site, rain: &Rain) -> Result<Option<Shut>, Refusal> {
        let Some(tag) = &self.without else { return Ok(None) };
        let tanks = site.network.tanks();
        let tank = tanks.iter().position(|tank| &tank.tag == tag);
        let tank = tank.ok_or_else(|| {
            Refusal::because(format_args!("--without: no tank has the tag `{tag}`"))
        })?;
        let day = |name: &str, text: &Option<String>| {
            let text = text.as_deref().unwrap_or_default();
            Date::read(text).map(|date| date.days_since(rain.first)).ok_or_else(|| {
                Refusal::because(format_args!("{name} `{text}` is no date such as 2024-07-31"))
            })
        };
        let (first, last) = (day("--from", &self.from)?, day("--to", &self.to)?);
        let inside = usize::try_from(last).is_ok_and(|_| first < rain.days.len() as i64);
        if last < first || !inside {
            let why = "--from and --to name no day of the rain file";
            return Err(Refusal::because(why));
        }
        let count = |day: i64| usize::try_from(day.max(0)).unwrap_or(0);
        Ok(Some(Shut { tank, first: count(first), last: count(last) }))
    }
}

/// What the days run through, from a site and its steady routes.
fn plan(site: &Site) -> Result<Plan, Refusal> {
    let network = &site.network;
    let tanks = tanks(site)?;
    let scenario = crate::solved::scenario(site);
    let steady = wetrun_solver::solve(network, &scenario).map_err(crate::solved::not_solved)?;
    let ways = wetrun_year::ways(network, &steady);
    let flush = site.downspouts.iter().map(|notes| match &notes.review.first_flush {
        Some(wetrun_site::review_keys::Device::Is(device)) => device.volume.unwrap_or_default(),
        _ => Volume::ZERO,
    });
    let roofs = site.roofs.iter().map(|roof| Roof {
        area: roof.area,
        runoff: roof.runoff,
        wetting: roof.wetting,
        to: roof.shares.iter().map(|share| (share.to.index(), share.share)).collect(),
    });
    let transfers = site.transfers.iter().map(|transfer| Transfer {
        from: transfer.from.index(),
        to: transfer.to.index(),
        rate: transfer.rate,
        when_below: transfer.when_below,
        until: transfer.until,
        leaves: transfer.leaves.unwrap_or(tanks[transfer.from.index()].least),
    });
    let uses = site.uses.iter().map(|wants| Use {
        takes: wants.takes,
        from: wants.from.iter().map(|tank| tank.index()).collect(),
        months: wants.months,
    });
    Ok(Plan {
        roofs: roofs.collect(),
        downspouts: flush
            .zip(ways)
            .map(|(first_flush, to)| Catchment { first_flush, to })
            .collect(),
        transfers: transfers.collect(),
        uses: uses.collect(),
        tanks,
        shut: None,
    })
}

/// The tanks, or every one of them that the days cannot run through.
fn tanks(site: &Site) -> Result<Vec<Tank>, Refusal> {
    let mut faults = Vec::new();
    let mut tanks = Vec::new();
    for (tank, notes) in site.network.tanks().iter().zip(&site.tanks) {
        let mut refuse = |message: &str, expected: &str| {
            let at = ["tanks", tank.tag.as_str()];
            let fault: Diagnostic = site.fault_at(&at, Code::MissingKey, message, expected);
            faults.push(fault);
        };
        let Some(volume) = tank.volume else {
            refuse("days of rain need this tank's volume", "`volume:`, such as `2500 gal`");
            continue;
        };
        let top = tank.overflow.as_ref().map(|overflow| overflow.level);
        let start = match (notes.start, tank.floor, top) {
            (None, ..) => Fraction::ratio(match site.storm.tanks {
                Tanks::Full => 1.0,
                Tanks::Empty => 0.0,
            }),
            (Some(Start::Share(share)), ..) => share,
            (Some(Start::Level(level)), Some(floor), Some(top)) if top > floor => {
                Fraction::ratio((level - floor).to_m() / (top - floor).to_m())
            }
            (Some(Start::Level(_)), ..) => {
                refuse(
                    "a start given as a level needs the floor and the overflow",
                    "`floor:` and `overflow.level:`, or a share such as `start: 60 %`",
                );
                continue;
            }
        };
        let overflow_to = tank.overflow.as_ref().and_then(|overflow| overflow.to);
        let overflow_to = overflow_to.map(|to| to.index());
        tanks.push(Tank { volume, start, least: notes.least, overflow_to });
    }
    if faults.is_empty() { Ok(tanks) } else { Err(Refusal(site.diagnostics(faults).render(true))) }
}

fn sizes(plan: &Plan, rain: &Rain, order: Order) -> Vec<Size> {
    let all = (0..plan.tanks.len()).flat_map(|tank| SIZES.map(|part| (tank, part)));
    all.map(|(tank, part)| {
        let mut other = plan.clone();
        let volume = plan.tanks[tank].volume * part;
        other.tanks[tank].volume = volume;
        let met = wetrun_year::run(&other, rain, order, false).totals.used;
        Size { tank, volume, met }
    })
    .collect()
}
