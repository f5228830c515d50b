//! Days of measured rain on a site, with what a report sets beside them.

use crate::outcome::Refusal;
use crate::solved::Settled;
use wetrun_facts::Facts;
use wetrun_site::{Code, Diagnostic, Site, Start, Tanks};
use wetrun_units::{Area, Fraction, Volume};
use wetrun_year::{
    Catchment, Date, Order, Plan, Rain, RainUnit, Roof, Shut, Tank, Transfer, Use, Year,
};

/// A run over the days of a rain file.
pub struct Days {
    /// The site.
    pub site: Site,
    /// What the drawing says besides its network.
    pub facts: Facts,
    /// The days of rain.
    pub rain: Rain,
    /// The order of a day.
    pub order: Order,
    /// What came of them.
    pub year: Year,
    /// By the other order.
    pub other: Year,
    /// With every tank open, where one was shut: its tag, and what came of that.
    pub open: Option<(String, Year)>,
    /// What all uses get with one tank of another volume, the others as they are.
    pub sizes: Vec<TankOfSize>,
    /// What more of a tank or of a roof would bring, and what one use costs the others.
    pub worth: Worth,
}

/// What more of something would bring over all days, the rest as it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Worth {
    /// For each tank, in file order, of a quarter of its volume more, and of as much again.
    pub tanks: Vec<Step>,
    /// Of a tenth more of every roof: the area, and what the uses would get more.
    pub roofs: (Area, Volume),
    /// For each use, in file order, on how many days fewer each other use would be short without it.
    pub spares: Vec<Vec<i64>>,
}

/// What a tank would bring that is larger by a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The step.
    pub volume: Volume,
    /// What the uses would get more with the first step, and with the second on top of it.
    pub brings: [Volume; 2],
}

/// A tank of another volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankOfSize {
    /// Its place in the file.
    pub tank: usize,
    /// Its volume.
    pub volume: Volume,
    /// What all uses get.
    pub met: Volume,
}

/// A tank that is shut from one day to another, as somebody writes it.
#[derive(Clone, Debug)]
pub struct Closed {
    /// The tank's tag.
    pub tank: String,
    /// The first day, such as 2024-04-01.
    pub from: String,
    /// The last day.
    pub to: String,
}

/// The volumes tried, as parts of a tank's own.
const SIZES: [f64; 6] = [0.5, 1.0, 1.5, 2.0, 3.0, 4.0];

/// Reads the days of rain from a file's text; `name` is what faults call the file.
///
/// # Errors
/// [`Refusal`] with line and column.
pub fn rain(text: &str, name: &str, unit: Option<RainUnit>) -> Result<Rain, Refusal> {
    wetrun_year::rain::read(text, unit).map_err(|fault| {
        let (line, column, message) = (fault.line, fault.column, fault.message);
        Refusal::because(format_args!("{name}:{line}:{column}: {message}"))
    })
}

impl Days {
    /// Runs the days on a site.
    ///
    /// # Errors
    /// [`Refusal`] where the site has no steady state, a tank lacks what days need, or what is shut
    /// is no tank or no day of the file.
    pub fn new(
        site: Site,
        rain: Rain,
        order: Order,
        closed: Option<Closed>,
    ) -> Result<Self, Refusal> {
        let days = Self::while_wanted(site, rain, order, closed, &|| true)?;
        days.ok_or_else(|| Refusal::because("nobody waits any more"))
    }

    /// The same as long as somebody waits for it: `wanted` is asked between runs.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal likewise.
    pub fn while_wanted(
        site: Site,
        rain: Rain,
        order: Order,
        closed: Option<Closed>,
        wanted: &dyn Fn() -> bool,
    ) -> Result<Option<Self>, Refusal> {
        let settled = Settled::new(site)?;
        let whole = plan(&settled)?;
        let shut = closed.as_ref().map(|closed| shut(&settled.site, &rain, closed)).transpose()?;
        let plan = Plan { shut, ..whole.clone() };
        let other = match order {
            Order::UseLast => Order::UseFirst,
            Order::UseFirst => Order::UseLast,
        };
        let year = wetrun_year::run(&plan, &rain, order, true);
        let other = wetrun_year::run(&plan, &rain, other, false);
        let open =
            closed.map(|closed| (closed.tank, wetrun_year::run(&whole, &rain, order, false)));
        if !wanted() {
            return Ok(None);
        }
        let sizes = sizes(&plan, &rain, order);
        if !wanted() {
            return Ok(None);
        }
        Ok(Some(Self {
            year,
            other,
            open,
            sizes,
            worth: worth(&plan, &rain, order),
            facts: settled.facts,
            site: settled.site,
            rain,
            order,
        }))
    }
}

fn shut(site: &Site, rain: &Rain, closed: &Closed) -> Result<Shut, Refusal> {
    let tank = site.network.tanks().iter().position(|tank| tank.tag == closed.tank);
    let tank = tank.ok_or_else(|| {
        Refusal::because(format_args!("--without: no tank has the tag `{}`", closed.tank))
    })?;
    let day = |name: &str, text: &str| {
        Date::read(text).map(|date| date.days_since(rain.first)).ok_or_else(|| {
            Refusal::because(format_args!("{name} `{text}` is no date such as 2024-07-31"))
        })
    };
    let (first, last) = (day("--from", &closed.from)?, day("--to", &closed.to)?);
    if last < first || last < 0 || first >= rain.days.len() as i64 {
        return Err(Refusal::because("--from and --to name no day of the rain file"));
    }
    let count = |day: i64| usize::try_from(day.max(0)).unwrap_or(0);
    Ok(Shut { tank, first: count(first), last: count(last) })
}

/// What the days run through, from a site and its steady routes.
fn plan(settled: &Settled) -> Result<Plan, Refusal> {
    let site = &settled.site;
    let tanks = tanks(site)?;
    let ways = wetrun_year::ways(&site.network, &settled.steady);
    let flush = settled.facts.downspouts.iter().map(|shown| {
        shown.first_flush.as_ref().and_then(|device| device.volume).unwrap_or_default()
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
    if faults.is_empty() { Ok(tanks) } else { Err(site.diagnostics(faults).into()) }
}

fn sizes(plan: &Plan, rain: &Rain, order: Order) -> Vec<TankOfSize> {
    let all = (0..plan.tanks.len()).flat_map(|tank| SIZES.map(|part| (tank, part)));
    all.map(|(tank, part)| {
        let mut other = plan.clone();
        let volume = plan.tanks[tank].volume * part;
        other.tanks[tank].volume = volume;
        let met = wetrun_year::run(&other, rain, order, false).totals.used;
        TankOfSize { tank, volume, met }
    })
    .collect()
}

fn worth(plan: &Plan, rain: &Rain, order: Order) -> Worth {
    let base = wetrun_year::run(plan, rain, order, false);
    let with = |change: &dyn Fn(&mut Plan)| {
        let mut other = plan.clone();
        change(&mut other);
        wetrun_year::run(&other, rain, order, false)
    };
    let tanks = (0..plan.tanks.len()).map(|tank| {
        let step = plan.tanks[tank].volume * 0.25;
        let larger = |steps: f64| {
            let volume = plan.tanks[tank].volume + step * steps;
            with(&|plan| plan.tanks[tank].volume = volume).totals.used
        };
        let [one, two] = [1.0, 2.0].map(larger);
        Step { volume: step, brings: [one - base.totals.used, two - one] }
    });
    let area: Area = plan.roofs.iter().map(|roof| roof.area * 0.1).sum();
    let wider = with(&|plan| plan.roofs.iter_mut().for_each(|roof| roof.area = roof.area * 1.1));
    let spares = (0..plan.uses.len()).map(|without| {
        let spared = with(&|plan| plan.uses[without].takes = Default::default());
        let short = |year: &Year, of: usize| year.uses[of].days_short as i64;
        (0..plan.uses.len()).map(|of| short(&base, of) - short(&spared, of)).collect()
    });
    Worth {
        tanks: tanks.collect(),
        roofs: (area, wider.totals.used - base.totals.used),
        spares: spares.collect(),
    }
}
