//! What may be typed: the commands and the options that all of them share.

use crate::commands::Command;
use crate::outcome::Refusal;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Parser, ValueEnum};
use std::ffi::OsString;

const STATUSES: &str = "Exit status: 0 everything passes, 1 something fails, 2 the input could not \
                        be read or solved.";

/// Checks gravity-fed rainwater pipes that always stand full: how far the water stands below
/// each gutter in the peak storm, and at what rain each downspout spills.
#[derive(Debug, Parser)]
#[command(name = "wetrun", version, max_term_width = 80, after_help = STATUSES)]
pub(crate) struct Args {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,

    /// When to colour the output; `auto` means on a terminal, unless `NO_COLOR` is set.
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub(crate) color: Color,
}

/// When to colour the output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    Auto,
    Always,
    Never,
}

/// How to write the result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    Text,
    Json,
    Csv,
}

/// A parser of values that have names.
pub(crate) fn named<T: Copy + Send + Sync + 'static, const N: usize>(
    all: [(&'static str, T); N],
) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(all.map(|(name, _)| name)).try_map(move |given| {
        let found = all.iter().find(|(name, _)| *name == given);
        found.map(|(_, value)| *value).ok_or("not one of the names")
    })
}

/// What a row of a table is: what was asked for, else the usual.
///
/// # Errors
/// A refusal where it was asked for and no table is written.
pub(crate) fn row<R>(by: Option<R>, format: Format, usual: R) -> Result<R, Refusal> {
    match by {
        Some(_) if format != Format::Csv => {
            Err(Refusal::because("`--by` says what a row of `--format csv` is; add that"))
        }
        by => Ok(by.unwrap_or(usual)),
    }
}

/// A refusal where an argument holds characters that command a terminal or cannot be seen: messages
/// repeat what was typed. The first is the program's name.
pub(crate) fn hidden_characters(args: impl IntoIterator<Item = OsString>) -> Option<Refusal> {
    args.into_iter().skip(1).find_map(|arg| {
        let arg = arg.to_string_lossy();
        let clean = wetrun_site::clean_text(&arg);
        (clean != arg).then(|| {
            Refusal::because(format_args!(
                "the argument `{clean}` holds control characters or others that cannot be seen"
            ))
        })
    })
}

/// How a rod is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Rod {
    /// Decimal feet, to 0.01.
    Ft,
    /// Feet and inches, to 1/8.
    Ftin,
    /// Whole millimetres.
    Mm,
}

impl From<Rod> for wetrun_answers::Rod {
    fn from(rod: Rod) -> Self {
        match rod {
            Rod::Ft => Self::Ft,
            Rod::Ftin => Self::Ftin,
            Rod::Mm => Self::Mm,
        }
    }
}
