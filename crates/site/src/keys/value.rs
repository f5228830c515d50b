//! What can stand under a key.

use super::{Amount, Range, Section};
use wetrun_units::{Kind, UnitSystem};

/// What stands under a key.
#[derive(Clone, Copy, Debug)]
pub enum Value {
    /// The version of the format, 1.
    Version,
    /// A quantity with its unit, or a bare number.
    Amount(Amount),
    /// The same, or the keys of a section that say more.
    AmountOr(Amount, &'static Section),
    /// A number without unit.
    Number(Range),
    /// The same, or the keys of a section that say more.
    NumberOr(Range, &'static Section),
    /// `yes` or `no`.
    YesNo,
    /// Free text.
    Text,
    /// A short text.
    Name,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// The tag of something in one of these sections.
    Tag(&'static [&'static str]),
    /// The tag of a tank, or `ground`.
    TankOrGround,
    /// The tag of a tank, or a list of several.
    Tanks,
    /// Keys of the format.
    Section(&'static Section),
    /// Items by names of the file's own, each with keys of the format.
    Items(&'static Section),
    /// A list of items, two at least.
    Stations(&'static Section),
    /// `TYPE SIZE`, or the keys of a pipe; `open` is whether its size may be left open.
    Pipe {
        /// The keys.
        keys: &'static Section,
        /// Whether the size may be left open.
        open: bool,
    },
    /// A nominal size, a list of sizes, or `any`.
    Sizes,
    /// Fittings by name, with counts.
    Fittings,
    /// The tag of a downspout, or a share for each of several.
    Shares,
    /// Prices by pipe type and size.
    Prices,
    /// Depths of rain by duration.
    Depths,
    /// A list of rains that begin one after another, `nested`, or the keys of what is laid from the
    /// rain table.
    Course {
        /// The keys of a rain of the list.
        rain: &'static Section,
        /// The keys of what is laid from the rain table.
        nested: &'static Section,
    },
    /// Months by number.
    Months,
    /// A level, or a share of a volume with its `%`.
    Start,
    /// A place in plan: two lengths.
    Place,
    /// A text, or a list of texts.
    Texts,
    /// `sealed`, or where `level` says so also a level.
    Cap {
        /// Whether a level may stand there.
        level: bool,
    },
    /// `no`, or the keys of a device.
    Device(&'static Section),
    /// A threshold of whatever kind its rule has.
    Limit,
}

impl Value {
    /// A value as it may stand in a file of a unit system.
    #[must_use]
    pub fn example(&self, units: UnitSystem) -> &'static str {
        match self {
            Self::Version => "1",
            Self::Amount(amount) | Self::AmountOr(amount, _) => of_kind(amount.kind, units),
            Self::Number(_) | Self::NumberOr(..) => "1.5",
            Self::YesNo => "yes",
            Self::Text | Self::Texts => "sheet 3",
            Self::Name => "Boat shed",
            Self::Choice(words) => words.first().copied().unwrap_or_default(),
            Self::Tag(_) | Self::Shares => "D1",
            Self::TankOrGround => "ground",
            Self::Tanks => "T1",
            Self::Section(_) | Self::Items(_) | Self::Device(_) => "{}",
            Self::Stations(_) => "[]",
            Self::Pipe { .. } => "pvc-sch40 4 in",
            Self::Sizes => "4 in",
            Self::Fittings => "{ bend-45: 2 }",
            Self::Prices => "{ pvc-sch40: { 3 in: 4.10, 4 in: 5.60 } }",
            Self::Depths => match units {
                UnitSystem::Us => "{ 5 min: 0.44 in, 10 min: 0.70 in }",
                UnitSystem::Si => "{ 5 min: 11 mm, 10 min: 18 mm }",
            },
            Self::Course { .. } => "nested",
            Self::Months => "[5, 6, 7, 8, 9]",
            Self::Start => "60 %",
            Self::Place => match units {
                UnitSystem::Us => "[12 ft, 30 ft]",
                UnitSystem::Si => "[4 m, 9 m]",
            },
            Self::Cap { .. } => "sealed",
            Self::Limit => match units {
                UnitSystem::Us => "12 in",
                UnitSystem::Si => "300 mm",
            },
        }
    }
}

fn of_kind(kind: Kind, units: UnitSystem) -> &'static str {
    let (us, si) = match kind {
        Kind::Level => ("98.60 ft", "30.05 m"),
        Kind::Size => ("4 in", "110 mm"),
        Kind::Area => ("640 sq ft", "59.5 m2"),
        Kind::Volume => ("2500 gal", "9.5 m3"),
        Kind::Flow => ("8 gpm", "30 L/min"),
        Kind::Intensity => ("5.2 in/h", "130 mm/h"),
        Kind::Temperature => ("50 F", "10 C"),
        Kind::Warmth => ("9 F", "5 C"),
        Kind::Fraction => ("95 %", "95 %"),
        Kind::Slope => ("1:200", "1:200"),
        Kind::Pressure => ("5 psi", "35 kPa"),
        Kind::Speed => ("3 ft/s", "0.9 m/s"),
        Kind::Time => ("5 min", "5 min"),
        Kind::Weight => ("500 lb", "230 kg"),
    };
    match units {
        UnitSystem::Us => us,
        UnitSystem::Si => si,
    }
}
