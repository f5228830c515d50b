//! The rain of one return period out of a published table, and a site file that takes its storm from it.

use crate::outcome::Refusal;
use wetrun_rain::RainTable;
use wetrun_rain::frequency::{self, FrequencyTable, Note, Picked, Series, in_words, plainly};
use wetrun_site::{Code, RainText, put_rain};
use wetrun_units::{Fraction, Intensity, Kind, Length, Scale, Time, UnitSystem};

/// The duration that a storm is the mean of, where none is asked for: a gutter fills in minutes.
const USUAL: Time = Time::s(300.0);
/// Significant digits of a depth as it is written into a site file.
const DIGITS: usize = 7;

/// The rain of one return period.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct DesignRain {
    /// What messages call the file.
    pub file: String,
    /// The table.
    pub table: FrequencyTable,
    /// The return period in years.
    pub years: f64,
    /// Its rains.
    pub picked: Picked,
    /// The duration that a storm would take, and its mean intensity; none where none was asked for
    /// and the usual one lies outside the table.
    pub storm: Option<(Time, Intensity)>,
}

/// Reads a table of rain as weather services publish it; `name` is what faults call the file.
///
/// # Errors
/// A refusal with line and column.
pub fn rain_table(bytes: &[u8], name: &str) -> Result<FrequencyTable, Refusal> {
    // Spreadsheets write the sign of degrees in other encodings; every other text is ASCII.
    frequency::read(&String::from_utf8_lossy(bytes)).map_err(|fault| {
        let (line, column, message) = (fault.line, fault.column, fault.message);
        Refusal::because(format_args!("{name}:{line}:{column}: {message}"))
    })
}

impl DesignRain {
    /// The rain of a return period in years, which may be left out where the table has one only;
    /// `duration` is what a storm shall be the mean of, such as `5 min`.
    ///
    /// # Errors
    /// A refusal where the table has no such return period or duration.
    pub fn new(
        table: FrequencyTable,
        file: &str,
        years: Option<f64>,
        duration: Option<&str>,
    ) -> Result<Self, Refusal> {
        let years = match (years, table.years()) {
            (Some(years), _) => years,
            (None, [only]) => *only,
            (None, all) => {
                let all: Vec<String> = all.iter().map(|years| plainly(*years, DIGITS)).collect();
                return Err(Refusal::because(format_args!(
                    "say for which return period, such as `--years 10`: {file} goes from {} to \
                     {} years ({})",
                    all.first().map_or("", String::as_str),
                    all.last().map_or("", String::as_str),
                    all.join(", ")
                )));
            }
        };
        if !(years.is_finite() && years > 0.0) {
            return Err(Refusal::because("--years: a return period is more than 0 years"));
        }
        let picked =
            table.of(years).map_err(|none| Refusal::because(format_args!("{file}: {none}")))?;
        let storm = storm(&picked, file, duration)?;
        Ok(Self { file: file.to_owned(), table, years, picked, storm })
    }

    /// Whether it lies between two columns of the table.
    pub fn interpolated(&self) -> bool {
        !self.table.years().iter().any(|column| (column - self.years).abs() <= 1e-9 * column)
    }

    /// The return period as the table names it: `once in 10 years`, `1/10 a year`.
    pub fn named(&self) -> String {
        let years = plainly(self.years, DIGITS);
        match self.table.series {
            Some(Series::AnnualMaximum) => format!("1/{years} in a year"),
            _ => format!("once in {years} years"),
        }
    }

    /// Where the rains come from, in the words of the file, one after another.
    pub fn source(&self) -> Vec<String> {
        let table = &self.table;
        let place = table.coordinates.as_ref().map(|(lat, lon)| format!("{lat}, {lon}"));
        let said = [&table.edition, &table.station, &table.place, &place];
        let mut said: Vec<String> = said
            .into_iter()
            .flatten()
            .map(|text| wetrun_site::clean_text(text).into_owned())
            .collect();
        if said.is_empty() {
            let name = self.file.rsplit(['/', '\\']).next().unwrap_or_default();
            said.push(wetrun_site::clean_text(name).into_owned());
        }
        if table.series == Some(Series::AnnualMaximum) {
            said.push("annual maximum".to_owned());
        }
        said
    }

    /// The durations that are not used, as their intensities are rounded too coarsely.
    pub fn left_out(&self) -> Vec<String> {
        let left_out = |note: &Note| match note {
            Note::LeftOut { duration, .. } => Some(in_words(*duration)),
            _ => None,
        };
        self.picked.notes.iter().filter_map(left_out).collect()
    }

    /// What is not as it is printed, or less well known, a sentence each.
    pub fn notes(&self) -> Vec<String> {
        let mut told = Vec::new();
        let years = plainly(self.years, DIGITS);
        if self.table.series == Some(Series::AnnualMaximum) {
            told.push(format!(
                "the table counts the heaviest rain of each year: {years} years stands for 1/{years} \
                 in a year, taken as printed and not converted to a partial-duration series"
            ));
        }
        if self.interpolated() {
            told.push(format!(
                "{years} years lies between two columns: interpolated in the logarithms of depth \
                 and years"
            ));
        }
        told.extend(self.table.cautions.iter().cloned());
        let left_out = self.left_out();
        if !left_out.is_empty() {
            told.push(format!(
                "left out, as their intensities are rounded by more than 5 %: {}; the table of \
                 depths has them finer",
                left_out.join(", ")
            ));
        }
        let units = self.table.units;
        for note in &self.picked.notes {
            match note {
                Note::LeftOut { .. } => {}
                Note::Raised { duration, printed, taken } => told.push(format!(
                    "{}: {} is printed, less than in the shorter rain within the rounding of its \
                     digits; {} is taken",
                    in_words(*duration),
                    written(units, *printed),
                    written(units, *taken)
                )),
                Note::Coarse { duration, rounding } => told.push(format!(
                    "{}: the printed digits may be {} % off",
                    in_words(*duration),
                    percent(*rounding)
                )),
            }
        }
        told
    }

    /// The text of a site file with these rains as its `rainfall`, and a storm that takes its
    /// intensity from them; comments and all other keys stay. `name` is what faults call it.
    ///
    /// # Errors
    /// A refusal where no duration is there to take, or the file would be none that could be read.
    pub fn put_into(&self, text: &[u8], name: &str) -> Result<String, Refusal> {
        let Some((duration, _)) = self.storm else {
            return Err(outside(&self.picked, &self.file, USUAL));
        };
        let before = std::str::from_utf8(text)
            .map_err(|_| Refusal::because(format_args!("{name}: not a text file in UTF-8")))?;
        let depth =
            |row: &frequency::Row| (in_words(row.duration), written(self.table.units, row.depth));
        let rain = RainText {
            source: self.source().join("; "),
            years: plainly(self.years, DIGITS),
            depths: self.picked.rows.iter().map(depth).collect(),
            duration: in_words(duration),
        };
        let after = put_rain(before, &rain).map_err(|error| {
            // What is no YAML is told where it ceases to be.
            let wrong = wetrun_site::read(text, name).err();
            let wrong = wrong.filter(|found| found.list().iter().any(|f| f.code == Code::Syntax));
            wrong.map_or_else(|| Refusal::because(format_args!("{name}: {error}")), Refusal::from)
        })?;
        if let Err(wrong) = wetrun_site::read(after.as_bytes(), name) {
            // What was wrong before is told where it stands in the file as it is.
            let old = wetrun_site::read(text, name).err();
            return Err(old.unwrap_or(wrong).into());
        }
        Ok(after)
    }
}

/// A depth as it is written into a site file.
fn written(units: UnitSystem, depth: Length) -> String {
    let scale = Scale::of(&units.show_size(depth));
    format!("{} {}", plainly(scale.number(depth.to_m()), DIGITS), scale.unit)
}

fn percent(part: Fraction) -> String {
    plainly(part.to_ratio() * 100.0, 2)
}

/// The duration of a storm and its mean intensity.
fn storm(
    picked: &Picked,
    file: &str,
    duration: Option<&str>,
) -> Result<Option<(Time, Intensity)>, Refusal> {
    let asked = match duration {
        None => None,
        Some(text) => {
            let time = UnitSystem::Si.read_time(text).map_err(|error| {
                Refusal::because(format_args!(
                    "--duration `{}`: {error}; expected {} such as `5 min`",
                    text.escape_debug(),
                    Kind::Time.with_article()
                ))
            })?;
            Some(time)
        }
    };
    let rows: Vec<_> = picked.rows.iter().map(|row| (row.duration, row.depth)).collect();
    let table =
        RainTable::new(&rows).map_err(|error| Refusal::because(format_args!("{file}: {error}")))?;
    let time = asked.unwrap_or(USUAL);
    match (table.intensity(time), asked) {
        (Ok(intensity), _) => Ok(Some((time, intensity))),
        (Err(_), None) => Ok(None),
        (Err(_), Some(asked)) => Err(outside(picked, file, asked)),
    }
}

fn outside(picked: &Picked, file: &str, asked: Time) -> Refusal {
    let ends = [picked.rows.first(), picked.rows.last()];
    let [from, to] = ends.map(|row| row.map_or(String::new(), |row| in_words(row.duration)));
    Refusal::because(format_args!(
        "a storm of {} lies outside {file}, which goes from {from} to {to}: give another \
         `--duration`",
        in_words(asked)
    ))
}
