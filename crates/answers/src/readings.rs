//! The readings of a readings file as levels, and which of them are doubted.

use crate::outcome::Refusal;
use crate::site_levels::Level;
use wetrun_design::levels::{Close, LevelRun};
use wetrun_site::{Reading, ReadingNames, Site};
use wetrun_units::{Length, UnitSystem};

/// No closing error should be larger: nobody sets a level more closely (common practice).
const CLOSING_M: f64 = 0.005;

/// A file of levels measured on site, or of rod readings.
#[derive(Clone, Debug)]
pub struct ReadingsFile {
    /// What messages call it.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// A level that was found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Found {
    /// The level.
    pub(crate) level: Length,
    /// The level that it would be with the sign of its reading turned.
    pub(crate) sign_turned: Length,
}

/// A level so far from its design that the reading is doubted.
#[derive(Clone, Debug)]
pub(crate) struct Doubt {
    /// Tag and key of the level.
    pub name: String,
    /// How far it was found above its design.
    pub off: Length,
    /// The level with the sign of the reading turned, where that is near the design.
    pub sign_turned: Option<Length>,
}

/// Whether a run closes on a benchmark.
pub(crate) fn closes(close: &Close) -> bool {
    close.error().to_m().abs() <= CLOSING_M + 1e-9
}

/// A level farther from its design is measured again before anybody goes by it (common practice).
pub(crate) fn doubted_beyond(units: UnitSystem) -> Length {
    match units {
        UnitSystem::Us => Length::m(6.0 * 0.0254),
        UnitSystem::Si => Length::m(0.150),
    }
}

/// What was measured.
pub(crate) struct Measured {
    /// For each level what was found, if it was.
    pub(crate) found: Vec<Option<Found>>,
    /// The points among them that were surveyed: the level, its northing and easting.
    pub(crate) surveyed: Vec<(usize, (Length, Length))>,
}

/// Reads what was measured.
pub(crate) fn read(
    file: &ReadingsFile,
    site: &Site,
    levels: &[Level],
    run: &mut LevelRun,
) -> Result<Measured, Refusal> {
    let names = ReadingNames {
        units: site.units,
        benchmarks: site.benchmarks.iter().map(|b| b.tag.clone()).collect(),
        levels: levels.iter().map(|l| (l.tag.clone(), l.key.clone())).collect(),
    };
    let mut surveyed = Vec::new();
    let readings = if wetrun_site::is_survey_points(&file.bytes, &file.name) {
        let points = wetrun_site::read_survey_points(&file.bytes, &file.name, &names)?;
        for point in &points {
            let Reading::Measured { tag, level, .. } = &point.reading else { continue };
            let index = levels.iter().position(|l| l.tag == *tag && l.key == *level);
            surveyed.extend(index.zip(point.place));
        }
        points.into_iter().map(|point| point.reading).collect()
    } else {
        wetrun_site::read_readings(&file.bytes, &file.name, &names)?
    };
    let mut found = vec![None; levels.len()];
    let mut note = |tag: &str, key: &str, level: Length, sign_turned: Length| {
        if let Some(index) = levels.iter().position(|l| l.tag == tag && l.key == key) {
            found[index] = Some(Found { level, sign_turned });
        }
    };
    let wrong = |error: wetrun_design::levels::RunError| Refusal::because(error).about(&file.name);
    for reading in readings {
        match reading {
            Reading::Backsight { on, rod } => {
                run.backsight(&on, rod).map_err(wrong)?;
            }
            Reading::Turn { name, rod } => {
                run.turn(&name, rod).map_err(wrong)?;
            }
            Reading::Close { on, rod } => {
                run.close(&on, rod).map_err(wrong)?;
            }
            Reading::Rod { tag, level, rod } => {
                let at = |rod| run.foresight(rod).map_err(wrong);
                note(&tag, &level, at(rod)?, at(Length::ZERO - rod)?);
            }
            Reading::Measured { tag, level, found } => {
                note(&tag, &level, found, Length::ZERO - found);
            }
        }
    }
    Ok(Measured { found, surveyed })
}

/// The levels that are doubted.
pub(crate) fn doubts(units: UnitSystem, levels: &[Level], found: &[Option<Found>]) -> Vec<Doubt> {
    let beyond = doubted_beyond(units);
    let far = |off: Length| off.to_m().abs() > beyond.to_m() + 1e-9;
    let each = levels.iter().zip(found).filter_map(|(level, found)| {
        let found = (*found)?;
        let off = found.level - level.design;
        let turned = Some(found.sign_turned).filter(|turned| !far(*turned - level.design));
        far(off).then(|| Doubt { name: level.name(), off, sign_turned: turned })
    });
    each.collect()
}
