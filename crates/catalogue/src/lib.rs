//! The catalogue of pipes and fittings: data files that are part of the program, read once.
//!
//! ```
//! let pipe = wetrun_catalogue::pipe("pvc-sch40", "4 in")?;
//! assert!((pipe.inside.to_m() - 0.1023).abs() < 1e-4);
//!
//! // What is not there names what is near.
//! let missing = wetrun_catalogue::pipe("pvc-shc40", "4 in").unwrap_err();
//! assert!(matches!(missing, wetrun_catalogue::NotFound::Type { nearest: Some(near), .. } if near == "pvc-sch40"));
//! # Ok::<(), wetrun_catalogue::NotFound>(())
//! ```

mod read;

use read::catalogue;
use serde::Deserialize;
use std::fmt;
use thiserror::Error;
use wetrun_network::Pipe;
use wetrun_units::{Length, UnitSystem, nearest};

/// A type of pipe: its wall, its joints, and the sizes it is made in.
#[derive(Clone, Debug, PartialEq)]
pub struct PipeType {
    /// Name in the site file (`pvc-sch40`).
    pub name: String,
    /// What it is, in words.
    pub title: String,
    /// The standard that fixes its dimensions.
    pub standard: String,
    /// Equivalent sand roughness of the clean wall.
    pub roughness: Length,
    /// Where the roughness comes from.
    pub roughness_source: String,
    /// Hazen-Williams coefficient, in its usual unit.
    pub c: f64,
    /// Where the coefficient comes from.
    pub c_source: String,
    /// How lengths are joined.
    pub joint: String,
    /// The sizes, the smallest first.
    pub sizes: Vec<PipeSize>,
}

/// One size of a pipe type.
#[derive(Clone, Debug, PartialEq)]
pub struct PipeSize {
    /// Nominal size as the catalogue writes it (`4 in`).
    pub size: String,
    /// Nominal size as a length, which is what sizes are matched by.
    pub nominal: Length,
    /// Outside diameter.
    pub outside: Length,
    /// Least wall.
    pub wall: Length,
    /// Where the dimensions come from.
    pub source: String,
    /// How well they are known.
    pub confidence: Confidence,
}

impl PipeSize {
    /// Inside diameter: outside less two walls.
    pub fn inside(&self) -> Length {
        self.outside - self.wall * 2.0
    }
}

/// A fitting and its loss coefficient.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitting {
    /// Name in the site file (`bend-90`).
    pub name: String,
    /// What it is, in words.
    pub what: String,
    /// Loss coefficient on the velocity head of the pipe it stands in.
    pub k: f64,
    /// The range that published values span, in words.
    pub published: String,
    /// Where the coefficient comes from.
    pub source: String,
    /// How well it is known.
    pub confidence: Confidence,
}

/// How well a number is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Read in the source named.
    Read,
    /// Worked out again from numbers that were read.
    Recomputed,
    /// Common knowledge of the trade, not read.
    Recalled,
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Read => "read",
            Self::Recomputed => "recomputed",
            Self::Recalled => "recalled",
        })
    }
}

/// The catalogue does not have what was asked for.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum NotFound {
    /// No pipe type of this name.
    #[error("no pipe type `{name}`")]
    Type {
        /// The name asked for.
        name: String,
        /// The nearest name there is, where one is near.
        nearest: Option<String>,
    },
    /// The type is not made in this size.
    #[error("`{kind}` is not made in {size}; it is made in {}", sizes.join(", "))]
    Size {
        /// The pipe type.
        kind: String,
        /// The size asked for.
        size: String,
        /// The sizes there are.
        sizes: Vec<String>,
        /// The nearest of them.
        nearest: Option<String>,
    },
}

/// All pipe types, in the order of the catalogue.
pub fn pipe_types() -> &'static [PipeType] {
    &catalogue().pipes
}

/// All fittings, in the order of the catalogue.
pub fn fittings() -> &'static [Fitting] {
    &catalogue().fittings
}

/// The pipe type of a name.
///
/// # Errors
/// [`NotFound::Type`] with the nearest name.
pub fn pipe_type(kind: &str) -> Result<&'static PipeType, NotFound> {
    let types = pipe_types();
    types.iter().find(|t| t.name == kind).ok_or_else(|| NotFound::Type {
        name: kind.to_owned(),
        nearest: nearest(kind, types.iter().map(|t| t.name.as_str())).map(str::to_owned),
    })
}

/// The sizes of a pipe type, the smallest first.
///
/// # Errors
/// [`NotFound::Type`] with the nearest name.
pub fn sizes(kind: &str) -> Result<&'static [PipeSize], NotFound> {
    pipe_type(kind).map(|t| t.sizes.as_slice())
}

/// The pipe of a type and a nominal size written with its unit (`4 in`, `110 mm`).
///
/// # Errors
/// [`NotFound`], naming what is near.
pub fn pipe(kind: &str, size: &str) -> Result<Pipe, NotFound> {
    let sort = pipe_type(kind)?;
    match UnitSystem::Si.read_size(size) {
        Ok(nominal) => sort.pipe(nominal, size),
        Err(_) => Err(sort.no_size(size, None)),
    }
}

/// The pipe of a type and a nominal size given as a length; sizes match within 0.1 mm.
///
/// # Errors
/// [`NotFound`], naming what is near.
pub fn pipe_of_size(kind: &str, nominal: Length) -> Result<Pipe, NotFound> {
    let size_mm = (nominal.to_m() * 1e4).round() / 10.0;
    pipe_type(kind)?.pipe(nominal, &format!("{size_mm} mm"))
}

/// The fitting of a name.
pub fn fitting(name: &str) -> Option<&'static Fitting> {
    fittings().iter().find(|f| f.name == name)
}

impl PipeType {
    /// The pipe of this type whose nominal size is within 0.1 mm of `nominal`; `asked` is the
    /// size as the asker wrote it, for the message.
    ///
    /// # Errors
    /// [`NotFound::Size`] with the sizes there are.
    pub fn pipe(&self, nominal: Length, asked: &str) -> Result<Pipe, NotFound> {
        const SAME_M: f64 = 1e-4;
        self.sizes
            .iter()
            .find(|s| (s.nominal.to_m() - nominal.to_m()).abs() <= SAME_M)
            .map(|size| self.pipe_in(size))
            .ok_or_else(|| self.no_size(asked, Some(nominal)))
    }

    /// The pipe of this type in one of its sizes.
    pub fn pipe_in(&self, size: &PipeSize) -> Pipe {
        Pipe {
            label: format!("{} {}", self.name, size.size),
            kind: self.name.clone(),
            size: size.size.clone(),
            inside: size.inside(),
            outside: Some(size.outside),
            roughness: Some(self.roughness),
            c: Some(self.c),
            joint: self.joint.clone(),
            source: size.source.clone(),
        }
    }

    fn no_size(&self, asked: &str, nominal: Option<Length>) -> NotFound {
        let apart = |s: &PipeSize| nominal.map(|n| (s.nominal.to_m() - n.to_m()).abs());
        let near = self.sizes.iter().filter(|s| apart(s).is_some());
        NotFound::Size {
            kind: self.name.clone(),
            size: asked.to_owned(),
            sizes: self.sizes.iter().map(|s| s.size.clone()).collect(),
            nearest: near
                .min_by(|a, b| apart(a).partial_cmp(&apart(b)).unwrap_or(std::cmp::Ordering::Equal))
                .map(|s| s.size.clone()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_data_files_read_without_a_fault() {
        let catalogue = super::read::read().unwrap();
        assert!(catalogue.pipes.len() >= 8 && catalogue.fittings.len() >= 20);
        for sort in &catalogue.pipes {
            let rising = sort.sizes.windows(2).all(|w| w[0].nominal < w[1].nominal);
            assert!(rising, "{}: sizes must rise", sort.name);
            for size in &sort.sizes {
                assert!(
                    size.wall.to_m() * 8.0 < size.outside.to_m(),
                    "{} {}",
                    sort.name,
                    size.size
                );
            }
        }
    }

    /// Bores of ASTM D1785 schedule 40, of a summary of D3034 and of a maker's EN 1401 table.
    #[test]
    fn bores_are_those_of_the_published_tables() {
        for (kind, size, inside_mm) in [
            ("pvc-sch40", "1 1/2 in", 40.89),
            ("pvc-sch40", "3 in", 77.93),
            ("pvc-sch40", "4 in", 102.26),
            ("pvc-sch40", "6 in", 154.05),
            ("pvc-sdr35", "4 in", 100.97),
            ("pvc-sdr35", "6 in", 150.24),
            ("pvc-d2729", "4 in", 103.3),
            ("pvc-en1401-sn4", "110 mm", 103.6),
            ("pvc-en1401-sn8", "160 mm", 150.6),
            ("pvc-en1401-sn8", "400 mm", 376.6),
        ] {
            let pipe = pipe(kind, size).unwrap();
            let error_mm = pipe.inside.to_m() * 1e3 - inside_mm;
            assert!(error_mm.abs() < 0.06, "{kind} {size}: {error_mm}");
            assert_eq!(pipe.label, format!("{kind} {size}"));
        }
    }

    #[test]
    fn sizes_match_by_value() {
        let by_text = pipe("pvc-sch40", "4 in").unwrap();
        assert_eq!(pipe_of_size("pvc-sch40", Length::m(0.1016)).unwrap(), by_text);
        assert_eq!(pipe("pvc-sch40", "101.6 mm").unwrap(), by_text);
        assert_eq!(pipe("pvc-sch40", "4\"").unwrap(), by_text);
    }

    #[test]
    fn what_is_missing_names_what_is_near() {
        assert!(matches!(pipe("pvc-shc40", "4 in"),
            Err(NotFound::Type { nearest: Some(near), .. }) if near == "pvc-sch40"));
        assert!(matches!(pipe("pvc-sch40", "4 1/2 in"),
            Err(NotFound::Size { nearest: Some(near), .. }) if near == "4 in"));
        assert!(matches!(pipe("copper", "5 in"), Err(NotFound::Type { nearest: None, .. })));
        assert!(fitting("bend-90").is_some() && fitting("bend-91").is_none());
    }
}
