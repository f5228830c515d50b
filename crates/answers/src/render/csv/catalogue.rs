//! The catalogue as tables, with the source of every row.

use super::{guarded, written};
use crate::outcome::Refusal;
use wetrun_catalogue::{fittings as all_fittings, pipe_types};
use wetrun_units::Length;

/// Every size of every pipe type.
pub fn pipes() -> Result<String, Refusal> {
    let header = [
        "type",
        "size",
        "outside_m",
        "wall_m",
        "inside_m",
        "roughness_m",
        "c",
        "joint",
        "title",
        "standard",
        "roughness_source",
        "c_source",
        "source",
        "confidence",
    ];
    let rows = pipe_types().iter().flat_map(|sort| {
        sort.sizes.iter().map(move |size| {
            [
                guarded(&sort.name),
                guarded(&size.size),
                metres(size.outside),
                metres(size.wall),
                metres(size.inside()),
                metres(sort.roughness),
                sort.c.to_string(),
                guarded(&sort.joint),
                guarded(&sort.title),
                guarded(&sort.standard),
                guarded(&sort.roughness_source),
                guarded(&sort.c_source),
                guarded(&size.source),
                size.confidence.to_string(),
            ]
        })
    });
    written(header, rows)
}

/// Every fitting; a loss coefficient has no unit.
pub fn fittings() -> Result<String, Refusal> {
    let rows = all_fittings().iter().map(|fitting| {
        [
            guarded(&fitting.name),
            fitting.k.to_string(),
            guarded(&fitting.what),
            guarded(&fitting.published),
            guarded(&fitting.source),
            fitting.confidence.to_string(),
        ]
    });
    written(["fitting", "k", "what", "published", "source", "confidence"], rows)
}

/// To a ten-millionth of a metre: roughnesses are a few of them.
fn metres(length: Length) -> String {
    wetrun_units::decimal(length.to_m(), 7)
}
