//! `wetrun explain`: one rule of the checklist, or their list.

use crate::outcome::{Answer, Refusal};
use crate::render;
use clap::Args;
use wetrun_units::nearest;

/// Explain a rule of the review: what it checks and why, its threshold with the source, and how
/// to mend what fails it. Without a rule, list them all.
#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// The rule's name, as the review prints it.
    #[arg(value_name = "RULE")]
    rule: Option<String>,
}

impl Explain {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        let Some(name) = self.rule else {
            return Ok(Answer::pass(render::text::explain::list()));
        };
        let Some(rule) = wetrun_checks::rule(&name) else {
            let names = wetrun_checks::rules().iter().map(|rule| rule.name);
            let near = nearest(&name, names);
            let hint = near.map_or(String::new(), |near| format!("; the nearest is `{near}`"));
            let name = name.escape_debug();
            return Err(Refusal::because(format_args!("there is no rule `{name}`{hint}")));
        };
        Ok(Answer::pass(render::text::explain::page(rule)))
    }
}
