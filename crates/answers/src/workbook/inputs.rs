//! What a workbook starts from: the storm, the water, units, roofs, and each pipe's friction.

use super::book::{Look, Sheet};
use super::ex::{Ex, n, pi};
use crate::solved::Solved;
use wetrun_network::Pipe;
use wetrun_solver::FrictionLaw;
use wetrun_solver::laws::{
    COLEBROOK_ROUGH, COLEBROOK_SMOOTH, G, HAZEN_WILLIAMS, HAZEN_WILLIAMS_RADIUS,
    HAZEN_WILLIAMS_SLOPE, LAMINAR, LAMINAR_TO, TURBULENT_FROM, water,
};
use wetrun_units::{Area, Intensity, Length, Scale, Shown, UnitSystem};

/// Cells that everything refers to.
pub(super) struct Inputs {
    pub(super) g: Ex,
    pub(super) viscosity: Ex,
    /// A unit of the file's lengths, sizes, in metres.
    pub(super) length: Ex,
    pub(super) size: Ex,
    rain: Ex,
    area: Ex,
    pub(super) freeboard: Ex,
    pub(super) units: UnitSystem,
    pub(super) law: FrictionLaw,
}

/// Units of a file, as they head columns.
pub(super) struct Names {
    pub(super) length: &'static str,
    pub(super) size: &'static str,
    pub(super) area: &'static str,
}

pub(super) fn names(units: UnitSystem) -> Names {
    match units {
        UnitSystem::Us => Names { length: "ft", size: "in", area: "sq ft" },
        UnitSystem::Si => Names { length: "m", size: "mm", area: "m2" },
    }
}

/// A unit of lengths and of sizes, in metres.
pub(super) fn metres(units: UnitSystem) -> (f64, f64) {
    let metres = |shown: Shown| 1.0 / Scale::of(&shown).number(1.0);
    (metres(units.show_level(Length::ZERO)), metres(units.show_size(Length::ZERO)))
}

/// Writes the sheet of inputs.
pub(super) fn inputs(solved: &Solved) -> (Sheet, Inputs) {
    let units = solved.site.units;
    let mut sheet = Sheet::new("Inputs", &[34.0, 16.0, 10.0, 60.0], 1);
    sheet.heads(0, &["input", "value", "unit", "what it is"]);
    let mut row = 0;
    let mut put = |name: &str, value: f64, unit: &str, words: &str, look: Look| {
        row += 1;
        sheet.text(row, 0, name, Look::Plain);
        let ex = sheet.number(row, 1, value, look);
        sheet.text(row, 2, unit, Look::Note);
        sheet.text(row, 3, words, Look::Note);
        ex
    };
    let (length_m, size_m) = metres(units);
    let area_m2 = 1.0 / Scale::of(&units.show_area(Area::ZERO)).number(1.0);
    let rain_scale = Scale::of(&units.show_intensity(Intensity::ZERO));
    let (rain_m_per_s, rain_unit) = (1.0 / rain_scale.number(1.0), rain_scale.unit);
    let scenario = &solved.scenario;
    let basis = solved.site.storm.basis.clone().unwrap_or_default();
    let rain = scenario.intensity.to_m_per_s() / rain_m_per_s;
    let rain = put("rain intensity", rain, rain_unit, &basis, Look::Input);
    let freeboard = solved.facts.freeboard.to_m() / length_m;
    let name = names(units).length;
    let freeboard =
        put("freeboard", freeboard, name, "the water stays so far below each opening", Look::Input);
    let warm = format!("of water at {}", units.show_temperature(scenario.temperature));
    let viscosity = water::viscosity(scenario.temperature).to_m2_per_s();
    let viscosity = put("kinematic viscosity", viscosity, "m2/s", &warm, Look::Input);
    let g = put("gravity", G, "m/s2", "standard", Look::Plain);
    let length = put("a unit of length or level", length_m, "m", name, Look::Plain);
    let size = put("a unit of size", size_m, "m", names(units).size, Look::Plain);
    let area = put("a unit of area", area_m2, "m2", names(units).area, Look::Plain);
    let unit = put("a unit of rain", rain_m_per_s, "m/s", rain_unit, Look::Plain);
    let rain = rain * unit;
    let law = scenario.law;
    (sheet, Inputs { g, viscosity, length, size, rain, area, freeboard, units, law })
}

/// Writes the roofs; gives what each downspout is asked to take, m³/s.
pub(super) fn roofs(solved: &Solved, inputs: &Inputs) -> (Sheet, Vec<Ex>) {
    let site = &solved.site;
    let mut sheet = Sheet::new("Roofs", &[20.0, 20.0, 14.0, 10.0, 10.0, 14.0], 1);
    let area = format!("area, {}", names(inputs.units).area);
    sheet.heads(0, &["roof", "drains to", &area, "runoff", "share", "water, m3/s"]);
    let mut each = vec![Vec::new(); site.network.downspouts().len()];
    let mut row = 0;
    for roof in &site.roofs {
        for share in &roof.shares {
            row += 1;
            sheet.text(row, 0, &roof.tag, Look::Plain);
            sheet.text(row, 1, &site.network.downspout(share.to).tag, Look::Plain);
            let unit = inputs.area.value;
            let area = sheet.number(row, 2, roof.area.to_m2() / unit, Look::Input);
            let runoff = sheet.number(row, 3, roof.runoff.to_ratio(), Look::Input);
            let part = sheet.number(row, 4, share.share.to_ratio(), Look::Input);
            let water = area * &inputs.area * runoff * part * &inputs.rain;
            each[share.to.index()].push(sheet.formula(row, 5, &water, Look::Small));
        }
    }
    (sheet, each.into_iter().map(Ex::sum).collect())
}

/// What a pipe's flow costs.
#[derive(Clone, Debug)]
pub(super) struct Cost {
    /// Head lost to friction per metre.
    pub(super) slope: Ex,
    /// The velocity head of the full bore.
    pub(super) velocity_head: Ex,
    /// The bore in metres, and its area.
    pub(super) bore: Ex,
    pub(super) area: Ex,
}

/// The sheet of friction, a row a pipe.
pub(super) struct Friction {
    pub(super) sheet: Sheet,
    row: u32,
}

impl Friction {
    pub(super) fn new(inputs: &Inputs) -> Self {
        let names = names(inputs.units);
        let mut sheet = Sheet::new("Friction", &[18.0], 1);
        sheet.widths.extend([13.0; 22]);
        let bore = format!("bore, {}", names.size);
        let mut heads = vec!["pipe".to_owned(), "flow, m3/s".to_owned(), bore];
        match inputs.law {
            FrictionLaw::DarcyWeisbach => {
                heads.push(format!("roughness, {}", names.size));
                let more = [
                    "bore, m",
                    "area, m2",
                    "speed, m/s",
                    "Reynolds Re",
                    "Re or 4000",
                    "p",
                    "q",
                    "z, first",
                    "z, second",
                    "z, third",
                    "f, turbulent",
                    "f Re2 there",
                    "its slope",
                    "f Re2",
                    "f",
                    "friction, m/m",
                    "velocity head, m",
                    "left of Colebrook-White",
                ];
                heads.extend(more.map(str::to_owned));
            }
            FrictionLaw::HazenWilliams => {
                let more = [
                    "C",
                    "bore, m",
                    "area, m2",
                    "speed, m/s",
                    "friction, m/m",
                    "velocity head, m",
                    "left of Hazen-Williams, m/s",
                ];
                heads.extend(more.map(str::to_owned));
            }
        }
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        sheet.heads(0, &heads);
        Self { sheet, row: 0 }
    }

    /// A pipe with a flow of 0 or more.
    pub(super) fn pipe(&mut self, inputs: &Inputs, name: &str, pipe: &Pipe, flow: &Ex) -> Cost {
        self.row += 1;
        let (row, sheet) = (self.row, &mut self.sheet);
        sheet.text(row, 0, name, Look::Plain);
        let flow = sheet.formula(row, 1, flow, Look::Small);
        let bore = sheet.number(row, 2, pipe.inside.to_m() / inputs.size.value, Look::Input);
        let (wall, look) = match inputs.law {
            FrictionLaw::DarcyWeisbach => {
                let roughness = pipe.roughness.unwrap_or_default().to_m();
                (roughness / inputs.size.value, Look::Input)
            }
            FrictionLaw::HazenWilliams => (pipe.c.unwrap_or_default(), Look::Input),
        };
        let wall = sheet.number(row, 3, wall, look);
        let bore = sheet.formula(row, 4, &(bore * &inputs.size), Look::Small);
        let area = sheet.formula(row, 5, &(pi() / n(4.0) * &bore * &bore), Look::Small);
        let speed = sheet.formula(row, 6, &(&flow / &area), Look::Small);
        let head = &speed * &speed / (n(2.0) * &inputs.g);
        let (slope, velocity_head) = match inputs.law {
            FrictionLaw::HazenWilliams => {
                let at_one =
                    n(HAZEN_WILLIAMS) * &wall * (&bore / n(4.0)).power(HAZEN_WILLIAMS_RADIUS);
                let slope = (&speed / &at_one).power(1.0 / HAZEN_WILLIAMS_SLOPE);
                let slope = sheet.formula(row, 7, &slope, Look::Small);
                let head = sheet.formula(row, 8, &head, Look::Small);
                let left = &speed - at_one * slope.power(HAZEN_WILLIAMS_SLOPE);
                sheet.formula(row, 9, &left, Look::Residual);
                (slope, head)
            }
            FrictionLaw::DarcyWeisbach => {
                let slope = darcy(sheet, row, inputs, &bore, &wall, &speed);
                (slope, sheet.formula(row, 20, &head, Look::Small))
            }
        };
        Cost { slope, velocity_head, bore, area }
    }
}

/// Darcy-Weisbach with Colebrook-White told explicitly: `z + ln(p + z) = q` by two steps of the
/// iteration of Fritsch, Shafer and Crowley (1973); what is left of the implicit form stands beside.
fn darcy(sheet: &mut Sheet, row: u32, inputs: &Inputs, bore: &Ex, wall: &Ex, speed: &Ex) -> Ex {
    let (one, two, ln10) = (n(1.0), n(2.0), n(std::f64::consts::LN_10));
    let relative = (wall * &inputs.size / bore).min(&one);
    let re = sheet.formula(row, 7, &(speed * bore / &inputs.viscosity), Look::Small);
    let (laminar_to, turbulent_from) = (n(LAMINAR_TO), n(TURBULENT_FROM));
    let at = sheet.formula(row, 8, &re.max(&turbulent_from), Look::Small);
    let p = &at * &relative * &ln10 / n(2.0 * COLEBROOK_SMOOTH * COLEBROOK_ROUGH);
    let p = sheet.formula(row, 9, &p, Look::Small);
    let q = sheet.formula(
        row,
        10,
        &(&at * &ln10 / n(2.0 * COLEBROOK_SMOOTH)).natural_log(),
        Look::Small,
    );
    let mut z = sheet.formula(row, 11, &(&q - n(0.2)), Look::Small);
    for column in [12, 13] {
        let w = &p + &z;
        let r = &q - &z - w.natural_log();
        let v = (&one + &w) * (&one + &w + n(2.0 / 3.0) * &r);
        let step = &w * &r * (&v - n(0.5) * &r) / ((&one + &w) * (&v - &r));
        z = sheet.formula(row, column, &(&z + step), Look::Small);
    }
    let root = &ln10 / &two / &z;
    let f = sheet.formula(row, 14, &(&root * &root), Look::Small);
    let end = sheet.formula(row, 15, &(&f * &at * &at), Look::Small);
    let w = &p + &z;
    let rate = &two * &f * &at * &w / (&one + &w);
    let rate = sheet.formula(row, 16, &rate, Look::Small);
    // The bridge between Re 2000 and 4000: a cubic that meets both laws in value and slope.
    let (start, width) = (n(LAMINAR * LAMINAR_TO), n(TURBULENT_FROM - LAMINAR_TO));
    let t = (&re - &laminar_to) / &width;
    let rise = &end - &start;
    let (from, to) = (n(LAMINAR) * &width, &rate * &width);
    let c2 = n(3.0) * &rise - &two * &from - &to;
    let c3 = &from + &to - &two * &rise;
    let bridge = start + &t * (&from + &t * (c2 + &t * c3));
    let laminar = n(LAMINAR) * &re;
    let f_re2 =
        re.at_most(&laminar_to).then(&laminar, &re.below(&turbulent_from).then(&bridge, &end));
    let f_re2 = sheet.formula(row, 17, &f_re2, Look::Small);
    let f = re.at_most(&n(0.0)).then(&n(0.0), &(&f_re2 / (&re * &re)));
    let f = sheet.formula(row, 18, &f, Look::Small);
    let scale = &inputs.viscosity * &inputs.viscosity / (&two * &inputs.g * bore * bore * bore);
    let slope = sheet.formula(row, 19, &(scale * &f_re2), Look::Small);
    let inner = &relative / n(COLEBROOK_ROUGH) + n(COLEBROOK_SMOOTH) / (&re * f.root());
    let left = &one / f.root() + &two * inner.decimal_log();
    let left = re.below(&turbulent_from).then(&n(0.0), &left);
    sheet.formula(row, 21, &left, Look::Residual);
    slope
}
