//! Typed indices: a downspout's number can never be taken for a line's.

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// The id of the `index`-th item in file order.
            pub const fn new(index: usize) -> Self {
                Self(index as u32)
            }

            /// The place in file order, from 0.
            pub const fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id!(
    /// A downspout of a network, by its place in the file.
    DownspoutId
);
id!(
    /// A point of a network, by its place in the file.
    PointId
);
id!(
    /// A buried line of a network, by its place in the file.
    LineId
);
id!(
    /// A tank of a network, by its place in the file.
    TankId
);
id!(
    /// A place where lines end: the downspouts, then the points, then the tanks of a network.
    PlaceId
);
