//! Reads the catalogue's data files, which are part of the program.

use crate::{Confidence, Fitting, PipeSize, PipeType};
use serde::Deserialize;
use serde_yaml::Mapping;
use std::sync::OnceLock;
use wetrun_units::{Length, UnitSystem};

#[derive(Debug, Default)]
pub(crate) struct Catalogue {
    pub(crate) pipes: Vec<PipeType>,
    pub(crate) fittings: Vec<Fitting>,
}

/// The data files are part of the program, and a test reads them without a fault; a program
/// whose files were broken all the same would have an empty catalogue.
pub(crate) fn catalogue() -> &'static Catalogue {
    static CATALOGUE: OnceLock<Catalogue> = OnceLock::new();
    CATALOGUE.get_or_init(|| read().unwrap_or_default())
}

pub(crate) fn read() -> Result<Catalogue, String> {
    Ok(Catalogue {
        pipes: each(include_str!("../data/pipes.yaml"), pipe_type_of)?,
        fittings: each(include_str!("../data/fittings.yaml"), fitting_of)?,
    })
}

/// Reads a mapping of rows in the order of the file.
fn each<Row, T>(text: &str, make: fn(String, Row) -> Result<T, String>) -> Result<Vec<T>, String>
where
    Row: for<'de> Deserialize<'de>,
{
    let rows: Mapping = serde_yaml::from_str(text).map_err(|e| e.to_string())?;
    rows.into_iter()
        .map(|(key, value)| {
            let name: String = serde_yaml::from_value(key).map_err(|e| e.to_string())?;
            let row = serde_yaml::from_value(value).map_err(|e| format!("{name}: {e}"))?;
            make(name, row)
        })
        .collect()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TypeRow {
    title: String,
    standard: String,
    roughness: String,
    roughness_source: String,
    c: f64,
    c_source: String,
    joint: String,
    source: String,
    confidence: Confidence,
    sizes: Mapping,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SizeRow {
    outside: String,
    wall: String,
    source: Option<String>,
    confidence: Option<Confidence>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FittingRow {
    what: String,
    k: f64,
    published: String,
    source: String,
    confidence: Confidence,
}

fn pipe_type_of(name: String, row: TypeRow) -> Result<PipeType, String> {
    let mut sizes = Vec::with_capacity(row.sizes.len());
    for (key, value) in row.sizes {
        let size: String = serde_yaml::from_value(key).map_err(|e| e.to_string())?;
        let own: SizeRow = serde_yaml::from_value(value).map_err(|e| format!("{name}: {e}"))?;
        sizes.push(PipeSize {
            nominal: known(&size)?,
            size,
            outside: known(&own.outside)?,
            wall: known(&own.wall)?,
            source: own.source.unwrap_or_else(|| row.source.clone()),
            confidence: own.confidence.unwrap_or(row.confidence),
        });
    }
    Ok(PipeType {
        roughness: known(&row.roughness)?,
        name,
        title: row.title,
        standard: row.standard,
        roughness_source: row.roughness_source,
        c: row.c,
        c_source: row.c_source,
        joint: row.joint,
        sizes,
    })
}

fn fitting_of(name: String, row: FittingRow) -> Result<Fitting, String> {
    Ok(Fitting {
        name,
        what: row.what,
        k: row.k,
        published: row.published,
        source: row.source,
        confidence: row.confidence,
    })
}

fn known(text: &str) -> Result<Length, String> {
    UnitSystem::Si.read_size(text).map_err(|e| format!("`{text}`: {e}"))
}
