//! The catalogue as text.

use crate::render::show::Show;
use crate::render::table::{Cells, TITLE, Table};
use crate::render::wrap::{width, wrap};
use wetrun_catalogue::{Confidence, Fitting, PipeType, fittings as all_fittings, pipe_types};
use wetrun_units::{Shown, UnitSystem, decimal};

/// All pipe types, each with its sizes.
pub fn pipes() -> String {
    let mut out: Vec<String> = pipe_types().iter().map(pipe_type).collect();
    out.push(legend(
        "The bore is the largest the standard allows: outside less two walls of the least thickness.",
    ));
    out.join("\n")
}

/// All fittings.
pub fn fittings() -> String {
    let widest = |text: fn(&Fitting) -> &str| {
        all_fittings().iter().map(|f| width(text(f))).max().unwrap_or(0)
    };
    let (names, ranges) = (widest(|f| &f.name), widest(|f| &f.published));
    let mut out = format!(
        "{TITLE}{:<names$}      k  {:<ranges$}  what it is, and where k comes from{TITLE:#}\n",
        "FITTINGS", "published"
    );
    for fitting in all_fittings() {
        let k = decimal(fitting.k, 2);
        let row = format!("{:<names$}{k:>7}  {:<ranges$}  ", fitting.name, fitting.published);
        let taken = width(&row);
        let source = format!("{} ({})", fitting.source, fitting.confidence);
        let what = wrap(&fitting.what, taken, taken);
        let source = wrap(&source, taken, taken);
        out.push_str(&format!("{row}{what}\n{}{source}\n", " ".repeat(taken)));
    }
    out.push('\n');
    out.push_str(&legend(
        "k multiplies the velocity head of the pipe the fitting stands in. Sources differ widely: \
         the range that published values span stands beside the value used. A job's own \
         coefficients go into the site file under `fittings:`.",
    ));
    out
}

fn pipe_type(sort: &PipeType) -> String {
    let mut out = format!("{TITLE}{}{TITLE:#}  {}, {}\n", sort.name, sort.title, sort.standard);
    let joint = format!(
        "{} joints, roughness {}, C {}",
        sort.joint,
        UnitSystem::Si.show_roughness(sort.roughness),
        decimal(sort.c, 0)
    );
    out.push_str(&format!("  {}\n", wrap(&joint, 2, 2)));
    let show = Show { main: UnitSystem::Si, both: false };
    let mm = |unit| move |_| Shown { number: String::new(), unit };
    let mut table = Table::new("  size", show)
        .column("outside", mm("mm"))
        .column("wall", mm("mm"))
        .column("bore", mm("mm"))
        .column("bore", mm("in"))
        .plain_column("known");
    for size in &sort.sizes {
        let cells = Cells::new(show)
            .number(|_| in_mm(size.outside.to_m()))
            .number(|_| in_mm(size.wall.to_m()))
            .number(|_| in_mm(size.inside().to_m()))
            .number(|_| UnitSystem::Us.show_size(size.inside()))
            .plain(size.confidence.to_string());
        table.row(size.size.as_str(), cells, anstyle::Style::new());
    }
    out.push_str(&table.render());
    let mut sources: Vec<&str> = sort.sizes.iter().map(|s| s.source.as_str()).collect();
    sources.dedup();
    sources.sort_unstable();
    sources.dedup();
    for source in sources {
        out.push_str(&format!("  source: {}\n", wrap(source, 10, 10)));
    }
    out
}

fn in_mm(length_m: f64) -> Shown {
    Shown { number: decimal(length_m * 1000.0, 2), unit: "mm" }
}

/// What the words of the last column mean.
fn legend(first: &str) -> String {
    let words = format!(
        "{first} {}: taken from the source named; {}: worked out again from numbers that were read; \
         {}: common knowledge of the trade, to be confirmed before relying on it.",
        Confidence::Read,
        Confidence::Recomputed,
        Confidence::Recalled
    );
    wrap(&words, 0, 0) + "\n"
}
