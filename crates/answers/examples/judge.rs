//! Judges the site files named: one line each, without the program.
//!
//! `cargo run -p wetrun-answers --example judge -- site.yaml`

#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::error::Error;
use wetrun_answers::{Settled, Status, read, section, text};

fn main() -> Result<(), Box<dyn Error>> {
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path)?;
        let settled = match read(&bytes, &path).and_then(Settled::new) {
            Ok(settled) => settled,
            Err(refusal) => {
                eprintln!("{refusal}");
                continue;
            }
        };
        let drawn = settled.worst().map_or(Vec::new(), |worst| section(&settled, worst));
        let word = if settled.status() == Status::Pass { "holds" } else { "fails" };
        println!("{path} {word}; {} bytes of section", drawn.concat().len());
        if let Some(solved) = settled.finish(&|| true)? {
            println!("{}", text::sentence(&solved));
        }
    }
    Ok(())
}
