//! A site from its text, and what may replace the file's storm for one answer.

use crate::outcome::Refusal;
use wetrun_network::limits;
use wetrun_site::{Site, Tanks};
use wetrun_units::{Intensity, UnitSystem};

/// Reads a site file; `name` is what messages call it.
///
/// # Errors
/// Every fault of the file, each at its place.
pub fn read(bytes: &[u8], name: &str) -> Result<Site, Refusal> {
    wetrun_site::read(bytes, name).map_err(Refusal::from)
}

/// What replaces the file's storm for one answer.
#[derive(Clone, Debug, Default)]
pub struct Overrides {
    /// Rain in place of the file's, such as `6 in/h`.
    pub rain: Option<String>,
    /// How the tanks stand.
    pub tanks: Option<Tanks>,
}

impl Overrides {
    /// Whether the rain is one, in whatever units a site has.
    ///
    /// # Errors
    /// A refusal where it is none.
    pub fn sound(&self) -> Result<(), Refusal> {
        self.rain_in(UnitSystem::Si).map(|_| ())
    }

    fn rain_in(&self, units: UnitSystem) -> Result<Option<Intensity>, Refusal> {
        let Some(text) = &self.rain else { return Ok(None) };
        let wrong = |why: &dyn std::fmt::Display| {
            Refusal::because(format_args!("--storm `{}`: {why}", text.escape_debug()))
        };
        let rain = units.read_intensity(text).map_err(|error| wrong(&error))?;
        if !limits::RAIN.contains(&rain) {
            return Err(wrong(&"a rain intensity is 0 or more, at most 360000 mm/h"));
        }
        Ok(Some(rain))
    }

    /// Puts the overrides in place.
    ///
    /// # Errors
    /// A refusal where the rain is none.
    pub fn apply(&self, site: &mut Site) -> Result<(), Refusal> {
        if let Some(rain) = self.rain_in(site.units)? {
            site.storm.intensity = rain;
            site.storm.basis = Some("given for this run".to_owned());
        }
        if let Some(tanks) = self.tanks {
            site.storm.tanks = tanks;
        }
        Ok(())
    }
}
