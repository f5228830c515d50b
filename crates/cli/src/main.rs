//! The program `wetrun`: reads its arguments, runs one command, writes what came of it.

mod args;
mod as_built;
mod commands;
mod difference;
mod facts;
mod files;
mod level_rules;
mod mends;
mod outcome;
mod readings;
mod render;
mod rod;
mod site_levels;
mod solved;

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let args = args::Args::parse();
    let done = commands::run(args.command);
    outcome::write(done, args.color).into()
}
