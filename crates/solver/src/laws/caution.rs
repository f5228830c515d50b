//! A law used outside the range it was found for, said in words.

use core::fmt;

/// Why a value of a law is to be read with caution. The value itself is still given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caution {
    /// Hazen-Williams at a speed outside about 0.9 to 3 m/s.
    HazenWilliamsSpeed {
        /// Mean speed in the pipe.
        speed_m_per_s: f64,
        /// Least speed the formula is quoted for.
        least_m_per_s: f64,
        /// Greatest speed the formula is quoted for.
        most_m_per_s: f64,
    },
    /// Hazen-Williams in a bore of 50 mm or less.
    HazenWilliamsBore {
        /// Bore of the pipe.
        bore_m: f64,
        /// Bores above this are meant.
        least_m: f64,
    },
    /// Colebrook-White with a wall rougher than a twentieth of the bore.
    RelativeRoughness {
        /// Roughness ÷ bore.
        ratio: f64,
        /// Greatest ratio the equation is known for.
        most: f64,
    },
    /// A flow between laminar and turbulent, where no law is sure.
    Transition {
        /// Reynolds number.
        reynolds: f64,
        /// Reynolds number from which it is turbulent.
        turbulent_from: f64,
    },
    /// A combining loss asked for with a share that no combining flow has.
    BranchShare {
        /// Branch flow ÷ combined flow.
        share: f64,
    },
    /// Water outside 0 to 40 °C.
    WaterTemperature {
        /// Temperature of the water.
        celsius: f64,
    },
    /// A downspout filled to a share outside the range of its formula.
    FillingDegree {
        /// Filled share of the bore's area.
        degree: f64,
        /// Least share the formula is given for.
        least: f64,
        /// Greatest share the formula is given for.
        most: f64,
    },
    /// A gutter longer or steeper than the table of its source covers.
    GutterTable {
        /// Length ÷ water depth.
        slenderness: f64,
        /// Slope of the sole.
        slope: f64,
    },
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HazenWilliamsSpeed { speed_m_per_s, least_m_per_s, most_m_per_s } => write!(
                f,
                "Hazen-Williams is meant for about {least_m_per_s} to {most_m_per_s} m/s; here the \
                 water runs at {speed_m_per_s:.2} m/s, and below that range the formula loses too \
                 little head"
            ),
            Self::HazenWilliamsBore { bore_m, least_m } => write!(
                f,
                "Hazen-Williams is meant for bores above {:.0} mm; this one is {:.1} mm",
                least_m * 1000.0,
                bore_m * 1000.0
            ),
            Self::RelativeRoughness { ratio, most } => write!(
                f,
                "Colebrook-White is known up to a roughness of {most} bores; this wall has {ratio:.3}"
            ),
            Self::Transition { reynolds, .. } => write!(
                f,
                "the flow is between laminar and turbulent (Reynolds number {reynolds:.0}), where \
                 the loss is a smooth bridge between two laws"
            ),
            Self::BranchShare { share } => {
                f.write_str(
                    "the combining loss is known for 0 to 100 % of the flow from the branch",
                )?;
                if *share > 0.0 {
                    write!(f, "; here it is {:.1} %", share * 100.0)
                } else {
                    f.write_str("; here the streams do not combine")
                }
            }
            Self::WaterTemperature { celsius } => {
                write!(f, "water is taken between 0 and 40 °C; {celsius:.1} °C is outside")
            }
            Self::FillingDegree { degree, least, most } => write!(
                f,
                "the downspout formula is given for filling degrees of {least:.2} to {most:.2}; \
                 {degree:.2} is outside"
            ),
            Self::GutterTable { slenderness, slope } => write!(
                f,
                "the table for long gutters ends at 500 water depths and a slope of 1 %; this \
                 gutter has {slenderness:.0} and {:.2} %",
                slope * 100.0
            ),
        }
    }
}
