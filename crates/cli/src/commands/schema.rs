//! `wetrun schema`: the site file as a JSON Schema, for editors.

use crate::outcome::{Answer, Refusal};
use clap::Args;
use wetrun_answers::json;

/// Print a JSON Schema (draft-07) of the site file, with what every key means.
///
/// Save it beside the site file and name it in the file's first line: an editor with a YAML server
/// then completes and explains every key.
///
/// # yaml-language-server: $schema=./wetrun.schema.json
#[derive(Debug, Args)]
pub(crate) struct Schema {}

impl Schema {
    pub(crate) fn run(self) -> Result<Answer, Refusal> {
        Ok(Answer::pass(json::schema::schema()))
    }
}
