//! The kinds of quantity a value can be, and how a person would say them.

/// What a value measures; a size is a length whose bare number is read in small units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A level, a length or a depth of cover: a bare number is in feet or metres.
    Level,
    /// A pipe, gutter or fitting size, or a roughness: a bare number is in inches or millimetres.
    Size,
    /// An area in plan.
    Area,
    /// A volume of water.
    Volume,
    /// A flow of water.
    Flow,
    /// A rain intensity.
    Intensity,
    /// A temperature.
    Temperature,
    /// A difference of two temperatures.
    Warmth,
    /// A part of a whole: 0 to 1, or per cent.
    Fraction,
    /// A fall over a run.
    Slope,
    /// A pressure.
    Pressure,
    /// A speed of water.
    Speed,
    /// A length of time.
    Time,
    /// A weight; a mass stands for its weight.
    Weight,
}

impl Kind {
    /// The kind with its article, as it stands in a message: `a length`.
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Level | Self::Size => "a length",
            Self::Area => "an area",
            Self::Volume => "a volume",
            Self::Flow => "a flow",
            Self::Intensity => "a rain intensity",
            Self::Temperature => "a temperature",
            Self::Warmth => "a difference of temperature",
            Self::Fraction => "a fraction",
            Self::Slope => "a slope",
            Self::Pressure => "a pressure",
            Self::Speed => "a speed",
            Self::Time => "a time",
            Self::Weight => "a weight",
        }
    }

    /// Values of this kind as a person would write them, to show what was expected.
    pub const fn examples(self) -> &'static str {
        match self {
            Self::Level => "`98.6 ft`, `13 ft 6 in` or `30.05 m`",
            Self::Size => "`4 in`, `4 1/2 in` or `110 mm`",
            Self::Area => "`640 sq ft` or `59.5 m2`",
            Self::Volume => "`2500 gal`, `9.5 m3` or `9500 L`",
            Self::Flow => "`38 gpm` or `2.4 L/s`",
            Self::Intensity => "`5.2 in/h` or `130 mm/h`",
            Self::Temperature => "`50 F` or `10 C`",
            Self::Warmth => "`9 F` or `5 C`",
            Self::Fraction => "`0.95` or `95 %`",
            Self::Slope => "`0.5 %`, `1:200` or `1/4 in/ft`",
            Self::Pressure => "`35 kPa` or `5 psi`",
            Self::Speed => "`0.9 m/s` or `3 ft/s`",
            Self::Time => "`15 min` or `24 h`",
            Self::Weight => "`500 lb`, `230 kg` or `2.2 kN`",
        }
    }

    /// Whether a unit of one kind also serves the other: levels and sizes are both lengths.
    pub(crate) const fn same_dimension(self, other: Self) -> bool {
        matches!((self, other), (Self::Level | Self::Size, Self::Level | Self::Size))
            || self as u8 == other as u8
    }
}
