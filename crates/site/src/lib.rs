//! The site file: read with places, every fault collected, lowered to a network.
//!
//! [`read`] turns the bytes of a site file into a [`Site`] or into [`Diagnostics`] that name
//! every independent fault with file, line, column, key path and what was expected.

mod brief;
mod clean;
mod comments;
mod context;
mod course;
mod diagnostic;
mod document;
mod doubts;
pub mod edit;
mod facts;
mod fields;
mod flow;
mod head;
mod junctions;
pub mod keys;
mod layout;
mod leaves;
mod lines;
mod lower;
mod nodes;
mod outline;
mod path;
mod pipe_types;
mod pipes;
mod points;
mod rain_edit;
mod rainfall;
mod read;
mod readings;
mod render;
pub mod review_keys;
mod review_values;
mod roofs;
mod shown;
mod site;
mod source;
mod syntax;
mod tags;
mod tree;
mod uses;
mod values;

pub use brief::{Brief, MOST_DOWNSPOUTS, read_brief};
pub use clean::clean_text;
pub use course::StormCourse;
pub use diagnostic::{Code, Diagnostic, Diagnostics, Label, Severity};
pub use document::Place;
pub use nodes::OVERFLOW_K;
pub use outline::{Outline, Written};
pub use points::{SurveyPoint, is_survey_points, read_survey_points};
pub use rain_edit::{RainText, put_rain};
pub use rainfall::Rainfall;
pub use read::{LARGEST_BYTES, read};
pub use readings::{Reading, ReadingNames, read_readings};
pub use site::{
    Benchmark, DownspoutNotes, Gutter, GutterShape, LineNotes, Losses, OpenPipe, OwnFitting,
    PipeOwner, PlanPoint, PointNotes, Price, Roof, RuleLimit, Share, Site, Start, Storm, TankNotes,
    Tanks, Targets, Transfer, Use,
};
