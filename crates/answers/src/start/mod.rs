//! A new site file from a dozen answers: laid out, sized, and written with what a stranger must know.

mod demos;
mod grid;
mod plan;
mod sizes;
mod text;
mod usual;

pub use demos::{Demo, demo, demos};
pub use usual::{Question, answered, given, questions, usual};

use crate::outcome::{Refusal, Status};
use crate::read::read;
use crate::render::wrap::wrap;
use crate::solved::{Settled, Solved};
use plan::Plan;
use text::Pipes;
use usual::Answers;
use wetrun_site::Brief;
use wetrun_site::edit::replace_value;

/// A new site file.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Draft {
    /// Its text.
    pub text: String,
    /// The first line of its check.
    pub verdict: String,
    /// Whether it holds.
    pub status: Status,
    /// What stands in the way where no size works, and what would mend it.
    pub fails: Option<(String, Vec<String>)>,
    /// The keys that nobody answered, and what was taken for them.
    pub assumed: Vec<(&'static str, String)>,
}

/// Why there is no draft.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub enum NoDraft {
    /// An answer does not go with the others.
    Answer {
        /// Its key.
        key: &'static str,
        /// Why not, naming the key.
        why: Refusal,
    },
    /// No state was found, or something else stands in the way.
    Refused(Refusal),
}

impl From<Refusal> for NoDraft {
    fn from(why: Refusal) -> Self {
        Self::Refused(why)
    }
}

impl From<NoDraft> for Refusal {
    fn from(none: NoDraft) -> Self {
        match none {
            NoDraft::Answer { why, .. } | NoDraft::Refused(why) => why,
        }
    }
}

/// The line of a site file that names its schema for editors, ending with a new line.
pub fn modeline(schema: &str) -> String {
    format!("# yaml-language-server: $schema={schema}\n")
}

/// Makes a site file from a brief. `schema` is the path of a schema for editors.
///
/// Where no size of the pipes works the file is written all the same, with the nearest sizes, and
/// says in its head what stands in the way.
///
/// # Errors
/// [`NoDraft`] where no wet line can be laid between the answers, or no state was found.
pub fn draft(brief: &Brief, schema: Option<&str>) -> Result<Draft, NoDraft> {
    let answers = Answers::of(brief)?;
    let plan = Plan::new(&answers).map_err(|below| {
        let least = answers.units.up().show_level(below.least);
        let why = Refusal::because(format_args!(
            "inlet: it would lie no higher than the buried line, whose pipes then do not stand full; \
             with these answers it must be {least} above the ground at least"
        ));
        NoDraft::Answer { key: "inlet", why }
    })?;
    let chosen = sizes::choose(&plan, &answers)?;
    let head = head(&answers.assumed, chosen.fails.as_ref(), schema);
    let written = |pipes: &Pipes| {
        let text = text::site(&plan, &answers, pipes, &head);
        replace_value(&text, &["name"], &answers.name).map_err(Refusal::because)
    };
    let mut pipes = chosen.pipes;
    let settled = Settled::new(read(written(&pipes)?.as_bytes(), "new site")?)?;
    // Up to the storm's level and the freeboard above it, but never above the opening.
    let freeboard = settled.site.targets.freeboard;
    let stands = settled.steady.downspouts.iter().zip(&plan.downspouts);
    pipes.watertight = stands
        .map(|(state, spout)| {
            plan.grid.steps_up(state.standing_level + freeboard).min(spout.outlet)
        })
        .collect();
    let text = written(&pipes)?;
    let solved = Solved::new(read(text.as_bytes(), "new site")?)?;
    Ok(Draft {
        verdict: crate::text::sentence(&solved),
        status: solved.status(),
        text,
        fails: chosen.fails,
        assumed: answers.assumed,
    })
}

fn head(
    assumed: &[(&'static str, String)],
    fails: Option<&(String, Vec<String>)>,
    schema: Option<&str>,
) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(path) = schema {
        lines.push(modeline(path).trim_end().to_owned());
    }
    let mut say = |words: &str| match words {
        "" => lines.push("#".to_owned()),
        words => {
            // Room for the sign and its blank on every line.
            let text = wrap(words, 2, 2);
            lines.extend(text.lines().map(|line| format!("# {}", line.trim_start())));
        }
    };
    if let Some((why, mends)) = fails {
        say(&format!("THIS DOES NOT WORK YET: {why}"));
        for mend in mends {
            say(&format!("- it would do to {mend}"));
        }
        say("");
    }
    say(
        "A wet rainwater system: rain runs down the downspouts, through a buried line that always \
         stands full, and up into the tank, driven by nothing but the difference of height.",
    );
    say("");
    say(
        "Made from a few answers, for flat ground: set every level as it is on site. `wetrun check` \
         says how far the water stays below each gutter in the storm, and `wetrun review` what an \
         inspector will ask for. A line that begins with # and a key, without a blank, is asked for \
         by the review and known to nobody but you: write what is true and take its # away, or \
         delete it.",
    );
    if !assumed.is_empty() {
        let list: Vec<String> =
            assumed.iter().map(|(key, text)| format!("{key} ({text})")).collect();
        say("");
        say(&format!("Nobody answered these, so the usual is taken: {}.", list.join(", ")));
    }
    lines
}
