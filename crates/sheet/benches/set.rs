//! Times the printed set of a site of 300 lines; the target is two seconds.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../tests/support/mod.rs"]
mod support;

use std::time::Instant;
use wetrun_sheet::{Medium, render};
use wetrun_units::UnitSystem;

fn main() {
    let case = support::comb(150);
    for format in [Medium::Pdf, Medium::Html, Medium::Svg] {
        let input = case.input(UnitSystem::Us);
        let start = Instant::now();
        let bytes = render(&input, format).unwrap();
        println!(
            "{format:?}: {:.0} ms, {} kB",
            start.elapsed().as_secs_f64() * 1e3,
            bytes.len() / 1000
        );
    }
}
