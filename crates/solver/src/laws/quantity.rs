//! Quantities that only the laws speak of.

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $make:ident, $read:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Makes the quantity from a number in its SI unit, which the name states.
            pub const fn $make(value: f64) -> Self {
                Self(value)
            }

            /// The number in the SI unit that the name states.
            pub const fn $read(self) -> f64 {
                self.0
            }
        }
    };
}

quantity!(
    /// A density, in kilograms per cubic metre.
    Density, kg_per_m3, to_kg_per_m3
);
quantity!(
    /// A kinematic viscosity, in square metres per second.
    Viscosity, m2_per_s, to_m2_per_s
);
quantity!(
    /// A span of time, in seconds.
    Time, s, to_s
);
quantity!(
    /// A force or a weight, in newtons.
    Force, n, to_n
);
quantity!(
    /// A weight for each unit of volume, in newtons per cubic metre.
    UnitWeight, n_per_m3, to_n_per_m3
);
