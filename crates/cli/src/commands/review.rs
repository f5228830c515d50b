//! `wetrun review`: the inspector's checklist, item by item.

use crate::args::Format;
use crate::commands::site_file::{Overrides, SiteFile};
use crate::outcome::{Answer, Refusal, Status};
use crate::render;
use crate::solved::Solved;
use clap::Args;
use wetrun_checks::{Finding, Outcome};

/// Review a drawing against the inspector's checklist: what conforms, what does not, what is
/// not shown, and what a person must decide.
#[derive(Debug, Args)]
pub(crate) struct Review {
    #[command(flatten)]
    site: SiteFile,

    #[command(flatten)]
    overrides: Overrides,

    /// How to write the result.
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    format: Format,

    /// An item that is not shown fails.
    #[arg(long)]
    strict: bool,
}

impl Review {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let mut site = self.site.read()?;
        self.overrides.apply(&mut site)?;
        let solved = Solved::new(site)?;
        let findings = wetrun_checks::review(&solved.judged());
        let status = status(&findings, self.strict);
        let stdout = match self.format {
            Format::Text => render::text::review::review(&solved, &findings, status),
            Format::Json => render::json::review::review(&solved, &findings, status)?,
        };
        Ok(Answer::new(stdout, status))
    }
}

/// Whether any item fails; with `strict` one that is not shown fails too.
fn status(findings: &[Finding], strict: bool) -> Status {
    let fails = |finding: &Finding| match finding.outcome {
        Outcome::Fail => true,
        Outcome::NotShown => strict,
        _ => false,
    };
    if findings.iter().any(fails) { Status::Fail } else { Status::Pass }
}
