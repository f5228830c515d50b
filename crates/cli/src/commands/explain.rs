//! `wetrun explain`: one rule of the checklist, or their list.

use crate::outcome::{Answer, Refusal};
use clap::Args;
use wetrun_answers::text;

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
            return Ok(Answer::pass(text::explain::list()));
        };
        text::explain::page(&name).map(Answer::pass)
    }
}
