//! The desk: one site on one local page that answers while a level is moved.
//!
//! A [`Desk`] listens on the loopback and hands out one page. The page holds no truth of its own: it
//! draws what it gets, and everything done on it is a change of a value in the text of the site
//! file, made and judged by the crates that the command line uses. Files are read and written by
//! whoever calls, through [`Files`]: the server knows no path.

mod answer;
mod ask;
mod begin;
mod calls;
mod delta;
mod diff;
mod door;
mod files;
mod fresh;
mod further;
mod inks;
mod lines;
mod merge;
mod page;
mod piece;
mod put;
mod server;
mod session;
mod steps;
mod waiting_room;

pub use files::{Files, Stamp};
pub use server::{Desk, DeskError};
