//! The catalogue as JSON.

use super::{document, number, object};
use crate::outcome::Refusal;
use serde_json::Value;
use wetrun_catalogue::{PipeSize, PipeType, fittings as all_fittings, pipe_types};

/// All pipe types, keyed by name.
pub fn pipes() -> Result<String, Refusal> {
    let types = pipe_types().iter().map(|t| Ok((t.name.clone(), pipe_type(t)?)));
    let types = object(types.collect::<Result<Vec<_>, Refusal>>()?);
    Ok(document(&object([("wetrun", Value::from(1)), ("pipes", types)])))
}

/// All fittings, keyed by name.
pub fn fittings() -> Result<String, Refusal> {
    let mut entries = Vec::new();
    for fitting in all_fittings() {
        let row = object([
            ("what", Value::from(fitting.what.as_str())),
            ("k", number(fitting.k)?),
            ("published", Value::from(fitting.published.as_str())),
            ("source", Value::from(fitting.source.as_str())),
            ("confidence", Value::from(fitting.confidence.to_string())),
        ]);
        entries.push((fitting.name.clone(), row));
    }
    Ok(document(&object([("wetrun", Value::from(1)), ("fittings", object(entries))])))
}

fn pipe_type(sort: &PipeType) -> Result<Value, Refusal> {
    let sizes = sort.sizes.iter().map(|s| Ok((s.size.clone(), pipe_size(s)?)));
    Ok(object([
        ("title", Value::from(sort.title.as_str())),
        ("standard", Value::from(sort.standard.as_str())),
        ("roughness_m", number(sort.roughness.to_m())?),
        ("roughness_source", Value::from(sort.roughness_source.as_str())),
        ("c", number(sort.c)?),
        ("c_source", Value::from(sort.c_source.as_str())),
        ("joint", Value::from(sort.joint.as_str())),
        ("sizes", object(sizes.collect::<Result<Vec<_>, Refusal>>()?)),
    ]))
}

fn pipe_size(size: &PipeSize) -> Result<Value, Refusal> {
    Ok(object([
        ("outside_m", number(size.outside.to_m())?),
        ("wall_m", number(size.wall.to_m())?),
        ("inside_m", number(size.inside().to_m())?),
        ("source", Value::from(size.source.as_str())),
        ("confidence", Value::from(size.confidence.to_string())),
    ]))
}
