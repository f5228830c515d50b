//! The quantities: each a number in its SI unit, reached only through a named accessor.

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $make:ident, $read:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// The zero of this quantity.
            pub const ZERO: Self = Self(0.0);

            /// Makes the quantity from a number in its SI unit, which the name states.
            pub const fn $make(value: f64) -> Self {
                Self(value)
            }

            /// The number in the SI unit that the name states.
            pub const fn $read(self) -> f64 {
                self.0
            }

            /// The greater of two.
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// The lesser of two.
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// Its size without its sign.
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                Self(parts.map(|part| part.0).sum())
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
    };
}

quantity!(
    /// A length, a size or a level above the site's datum, in metres.
    Length, m, to_m
);
quantity!(
    /// An area, in square metres.
    Area, m2, to_m2
);
quantity!(
    /// A volume, in cubic metres.
    Volume, m3, to_m3
);
quantity!(
    /// A flow, in cubic metres per second.
    Flow, m3_per_s, to_m3_per_s
);
quantity!(
    /// A rain intensity, in metres per second (1 mm/h is 1/3.6e6 m/s).
    Intensity, m_per_s, to_m_per_s
);
quantity!(
    /// A speed of water, in metres per second.
    Speed, m_per_s, to_m_per_s
);
quantity!(
    /// A slope: rise over run, without unit.
    Slope, ratio, to_ratio
);
quantity!(
    /// A fraction, 1 being the whole.
    Fraction, ratio, to_ratio
);
quantity!(
    /// A temperature, in degrees Celsius (as on a thermometer, not a difference).
    Temperature, celsius, to_celsius
);
quantity!(
    /// A difference of two temperatures, in kelvins.
    Warmth, k, to_k
);
quantity!(
    /// A pressure, in pascals.
    Pressure, pa, to_pa
);
quantity!(
    /// A length of time, in seconds.
    Time, s, to_s
);
quantity!(
    /// A weight, in newtons.
    Weight, n, to_n
);
