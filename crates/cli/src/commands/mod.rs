//! The commands, one file each.

mod check;
mod companions;
mod compare;
mod desk;
mod doubt;
mod explain;
mod flush;
mod levels;
mod list;
mod many;
mod new;
mod rain;
mod review;
mod schema;
mod sheet;
mod site_file;
mod size;
mod storm;
mod year;

use crate::outcome::{Answer, Refusal};
use clap::Subcommand;

/// A command and its own arguments.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    New(Box<new::New>),
    Check(check::Check),
    Review(review::Review),
    Explain(explain::Explain),
    Compare(compare::Compare),
    List(list::List),
    Sheet(sheet::Sheet),
    Size(size::Size),
    Levels(levels::Levels),
    Storm(storm::StormArgs),
    Flush(flush::FlushArgs),
    Year(year::YearArgs),
    Desk(desk::DeskArgs),
    Doubt(doubt::Doubt),
    Rain(rain::Rain),
    Schema(schema::Schema),
    Completions(companions::Completions),
    Man(companions::Man),
}

/// Runs a command.
pub(crate) fn run(command: Command) -> Result<Answer, Refusal> {
    let file = match &command {
        Command::Check(check) => check.name(),
        Command::Review(review) => Some(review.site.name()),
        Command::Sheet(sheet) => Some(sheet.site.name()),
        Command::Size(size) => Some(size.site.name()),
        Command::Levels(levels) => Some(levels.site.name()),
        Command::Desk(desk) => Some(desk.name()),
        Command::Doubt(doubt) => Some(doubt.site.name()),
        Command::Storm(storm) => Some(storm.site.name()),
        Command::Flush(flush) => Some(flush.site.name()),
        // Two files, each named where it is read, or none.
        Command::New(_)
        | Command::Compare(_)
        | Command::Explain(_)
        | Command::List(_)
        | Command::Year(_)
        | Command::Rain(_)
        | Command::Schema(_)
        | Command::Completions(_)
        | Command::Man(_) => None,
    };
    let done = match command {
        Command::New(new) => new.run(),
        Command::Check(check) => check.run(),
        Command::Review(review) => review.run(),
        Command::Explain(explain) => explain.run(),
        Command::Compare(compare) => compare.run(),
        Command::List(list) => list.run(),
        Command::Sheet(sheet) => sheet.run(),
        Command::Size(size) => size.run(),
        Command::Levels(levels) => levels.run(),
        Command::Storm(storm) => storm.run(),
        Command::Flush(flush) => flush.run(),
        Command::Year(year) => year.run(),
        Command::Desk(desk) => desk.run(),
        Command::Doubt(doubt) => doubt.run(),
        Command::Rain(rain) => rain.run(),
        Command::Schema(schema) => schema.run(),
        Command::Completions(completions) => completions.run(),
        Command::Man(man) => man.run(),
    };
    done.map_err(|refusal| match &file {
        Some(file) => refusal.about(file),
        None => refusal,
    })
}
