//! Tests of the whole program and of the repository itself.
//!
//! * `golden`: every case under `fixtures/ok`, its text and its JSON beside it.
//! * `result`: the JSON result against the site file: continuity, sums, the contract's keys.
//! * `cad`: drawings for CAD, audited and read back.
//! * `cli`: exit statuses, what goes where, colour, width, closed pipes.
//! * `review`: every rule against its notes (`drawings`), the planted mistakes, compare and explain.
//! * `sheet`: what stands on paper against the JSON result.
//! * `browser`: the HTML of every demo in a real browser, on screen and printed.
//! * `desk`: the page of the desk in a real browser, under hands, attacks and other writers.
//! * `worked`: demo sites worked again by the plain formulas.
//! * `size`: sites with open sizes, their text and JSON beside them, and the file written.
//! * `points`: levels as survey points, and points as levels.
//! * `levels`: limits set into the file turn the check; readings, what is written.
//! * `keys`: the keys that rules read and ask for, against the reader.
//! * `validation`: the hydraulics against published pages; `validation_units`: feet and metres.
//! * `agreement`: on random sites (`random_site`) no command holds what another fails.
//! * `attacks`: bad files and arguments: refused by name, and nothing passes.
//! * `mends`: every mend printed on random sites, put into the file.
//! * `review_mends`: advice that is followed holds.
//! * `writing`: files written whole, and never over what is read.
//! * `unflattered`: saying less, or nothing in words, never makes a review better.
//! * `storm`: a storm as it passes, to the contract's keys and beside the steady check.
//! * `flush`: what opening drains does: volumes that close, a column that empties.
//! * `year`: days of rain through the program, to the contract's keys.
//! * `tables`: comma-separated values, read back by the independent `readers`.
//! * `many`: many sites by one run, a line each.
//! * `companions`: completions of shells, and manual pages.
//! * `new`: a new site file by questions, options and answers.
//! * `rain`: published tables of rain, printed and put into site files.
//! * `workbook`: the calculation as formulas, worked out anew by an office suite.
//! * `schema`: the schema of the site file against an independent validator.
//! * `doubt`: how sure a margin is: closed forms, the nearest failure and faults put into the file.
//! * `packages`: what lies in the packages, the same bytes twice.
//! * `passing`: water in motion against closed forms.
//! * `runoff`: how a roof answers its rain, against closed forms of a linear store.
//! * `pictures`: graphs of storms, days and doubts beside their reports.
//! * `tidy`: rules of the repository: crate arrows, opening sentences, no machine paths.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod agreement;
mod attacks;
mod browser;
mod cad;
mod cli;
mod companions;
mod desk;
mod doubt;
mod drawings;
mod flush;
mod golden;
mod keys;
mod levels;
mod many;
mod mends;
mod new;
mod packages;
mod passing;
#[path = "../crates/sheet/tests/support/pdf.rs"]
#[allow(unreachable_pub)]
mod pdf;
mod pictures;
mod points;
mod rain;
mod random_site;
mod readers;
mod result;
mod review;
mod review_mends;
mod runoff;
mod schema;
mod sheet;
mod size;
mod storm;
mod support;
mod tables;
mod tidy;
mod unflattered;
mod validation;
mod validation_units;
mod workbook;
mod worked;
mod writing;
mod year;
