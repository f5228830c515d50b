//! Answers about a site, from its text: whether it holds, what it would take, and how it is drawn.
//!
//! Everything that a program, a page or another language needs between the text of a site file and
//! a report, in parts that can be called apart: [`read`], [`Settled::new`] (a few milliseconds),
//! [`section`] and [`plan`], then [`Settled::finish`], [`Review`] and [`Set::print`], which can be called off
//! between their stages. Nothing here reads a file or the clock, or prints.
//!
//! ```
//! use wetrun_answers::{Settled, Status, json, read};
//!
//! let text = "
//! wetrun: 1
//! units: si
//! name: Shed
//! storm: { intensity: 90 mm/h, basis: '5 min, 10 years' }
//! downspouts:
//!   D1: { outlet: 3.00, foot: 0.50, pipe: pvc-sch40 4 in }
//! roofs:
//!   R1: { area: 60 m2, to: D1 }
//! lines:
//!   M1: { from: D1, to: T1, length: 20 m, pipe: pvc-sch40 4 in }
//! tanks:
//!   T1: { inlet: 2.60 }
//! ";
//! let settled = Settled::new(read(text.as_bytes(), "shed.yaml")?)?;
//! assert_eq!(settled.status(), Status::Pass);
//!
//! // What takes longer, while somebody waits for it.
//! let solved = settled.finish(&|| true)?.ok_or("called off")?;
//! assert!(solved.spill_rains.downspouts[0].is_some());
//! println!("{}", json::check::check(&solved)?);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod as_built;
mod comparison;
mod days;
mod design_rain;
mod difference;
mod doubt;
mod edit;
mod facts;
mod flush;
mod hand;
mod level_report;
mod level_rules;
pub mod many;
mod mends;
mod outcome;
pub mod pieces;
mod read;
mod readings;
mod render;
mod review;
mod rod;
mod screen;
mod screen_sheets;
mod set_up;
mod sheets;
mod site_levels;
mod sizing;
mod solved;
mod start;
mod storm;
mod survey;
mod workbook;

pub use as_built::GoOn;
pub use comparison::{Comparison, Turn};
pub use days::{Closed, Days, Step, TankOfSize, Worth, rain};
pub use design_rain::{DesignRain, rain_table};
pub use difference::Change;
pub use doubt::Doubted;
pub use edit::{levels, moved};
pub use flush::{Alone, Cure, Flush, FlushAsked, FlushRun, Gulp, Inflow};
pub use hand::{Grip, Move, grips_of, moved_by_hand, typed_by_hand};
pub use level_report::{Report, Sights};
pub use outcome::{Refusal, Status};
pub use read::{Overrides, read};
pub use readings::ReadingsFile;
pub use render::csv::check::CheckRow;
pub use render::csv::compare::CompareRow;
pub use render::csv::doubt::DoubtRow;
pub use render::csv::flush::FlushRow;
pub use render::csv::size::SizeRow;
pub use render::csv::storm::StormRow;
pub use render::csv::{LevelRow, Points, YearRow};
pub use render::todo::Todo;
pub use render::{csv, json, paper, text};
pub use review::Review;
pub use rod::Rod;
pub use screen::{Handle, ScreenPlan, ScreenSection, Sort, screen_plan, screen_section};
pub use screen_sheets::{
    ScreenBlock, ScreenSheet, doubt_sheet, flush_sheet, storm_sheet, year_sheet,
};
pub use set_up::SetUp;
pub use sheets::{Printed, Set, plan, section};
pub use site_levels::Level;
pub use sizing::{Sized, Tell};
pub use solved::{Settled, Solved};
pub use start::{
    Demo, Draft, NoDraft, Question, answered, demo, demos, draft, given, modeline, questions, usual,
};
pub use storm::{Storm, Told, length_of_time};
pub use wetrun_design::size::Progress;
pub use wetrun_doubt::Asked;
pub use wetrun_motion::Watch;
pub use wetrun_sheet::draw::{Ink, Pt};
pub use wetrun_sheet::{FONT_FAMILY, Format, Held, Medium, Room, fonts};
pub use wetrun_site::Brief;
pub use wetrun_year::{Order as DayOrder, RainUnit};
pub use workbook::workbook;
