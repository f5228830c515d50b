//! Moments and lengths of time in words.

use wetrun_units::{Scale, Time, UnitSystem, Volume, decimal};

/// A moment of a storm: minutes and seconds, hours before them where there are any.
pub(crate) fn moment(at: Time) -> String {
    let all = at.to_s().round().max(0.0) as u64;
    let (hours, minutes, seconds) = (all / 3600, all / 60 % 60, all % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}

/// The same in a sentence.
pub(crate) fn at(at: Time) -> String {
    format!("at {}", moment(at))
}

/// A length of time: seconds below two minutes, then minutes, then hours.
pub(crate) fn length(time: Time) -> String {
    let seconds = time.to_s();
    if seconds < 9.95 {
        format!("{} s", decimal(seconds, 1).trim_end_matches(".0"))
    } else if seconds < 119.5 {
        format!("{} s", decimal(seconds, 0))
    } else if seconds < 7170.0 {
        let minutes = (seconds / 60.0).floor();
        let rest = seconds - 60.0 * minutes;
        let whole = rest < 0.5 || seconds >= 1200.0;
        if whole {
            format!("{} min", decimal(seconds / 60.0, 0))
        } else {
            format!("{minutes} min {} s", decimal(rest, 0))
        }
    } else {
        format!("{} h", decimal(seconds / 3600.0, 1).trim_end_matches(".0"))
    }
}

/// A volume, with a decimal where it is small.
pub(crate) fn volume(units: UnitSystem, volume: Volume) -> String {
    let shown = units.show_volume(volume);
    let number = Scale::of(&shown).number(volume.to_m3());
    if number.abs() < 9.95 && number != 0.0 {
        format!("{} {}", decimal(number, 1), shown.unit)
    } else {
        shown.to_string()
    }
}
