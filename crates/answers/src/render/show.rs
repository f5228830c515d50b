//! The units a report is written in: those of the site, or both systems side by side.

use wetrun_units::{Length, Shown, UnitSystem, decimal};

/// The unit system of a report, and whether the other one stands beside it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Show {
    /// The system of the site file.
    pub(crate) main: UnitSystem,
    /// Whether the other system is shown too.
    pub(crate) both: bool,
}

impl Show {
    /// The systems to show, the main one first.
    pub(crate) fn systems(self) -> impl Iterator<Item = UnitSystem> {
        [Some(self.main), self.both.then(|| self.main.other())].into_iter().flatten()
    }

    /// A quantity in a sentence: `6.1 in`, or `6.1 in (155 mm)`.
    pub(crate) fn prose(self, show: impl Fn(UnitSystem) -> Shown) -> String {
        let main = show(self.main);
        if self.both { format!("{main} ({})", show(self.main.other())) } else { main.to_string() }
    }
}

/// A head or a loss of head in a column that is to be added up: feet to 0.001 or metres to
/// 0.0001.
pub(crate) fn head(system: UnitSystem, head: Length) -> Shown {
    match system {
        UnitSystem::Us => Shown { number: decimal(head.to_m() / 0.3048, 3), unit: "ft" },
        UnitSystem::Si => Shown { number: decimal(head.to_m(), 4), unit: "m" },
    }
}
