//! What a gutter stores over a depth: plan area and volume of its section times its length.

use crate::scene::{GutterShape, GutterStore};

/// A gutter's part of one downspout, in SI.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Gutter {
    shape: GutterShape,
    width_m: f64,
    bottom_m: f64,
    depth_m: f64,
    length_m: f64,
}

impl Gutter {
    pub(crate) fn new(store: &GutterStore) -> Self {
        Self {
            shape: store.shape,
            width_m: store.width.to_m(),
            bottom_m: store.bottom.to_m(),
            depth_m: store.depth.to_m(),
            length_m: store.length.to_m(),
        }
    }

    /// Volume below a depth of water of 0 or more, and the plan area of its surface.
    pub(crate) fn store(&self, water_m: f64) -> (f64, f64) {
        let within = water_m.min(self.depth_m);
        let (section, width) = self.section(within);
        let (section, width) = if water_m > self.depth_m {
            (section + self.width_m * (water_m - self.depth_m), self.width_m)
        } else {
            (section, width)
        };
        (section * self.length_m, width * self.length_m)
    }

    /// Area of the section below a depth, and the width of its surface.
    fn section(&self, water_m: f64) -> (f64, f64) {
        match self.shape {
            GutterShape::Rectangular => (self.width_m * water_m, self.width_m),
            GutterShape::Trapezoidal => {
                let lean = (self.width_m - self.bottom_m) / self.depth_m;
                let width = self.bottom_m + lean * water_m;
                (0.5 * (self.bottom_m + width) * water_m, width)
            }
            GutterShape::HalfRound => {
                // The circle through both lips and the sole.
                let (half, depth) = (0.5 * self.width_m, self.depth_m);
                let radius = (half * half + depth * depth) / (2.0 * depth);
                let over = radius - water_m;
                let chord = (water_m * (2.0 * radius - water_m)).max(0.0).sqrt();
                let angle = libm::atan2(chord, over);
                (radius * radius * angle - over * chord, 2.0 * chord)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods)]

    use super::*;

    fn gutter(shape: GutterShape, width_m: f64, depth_m: f64) -> Gutter {
        Gutter { shape, width_m, bottom_m: 0.5 * width_m, depth_m, length_m: 1.0 }
    }

    /// Litres for each metre at depth ÷ radius of 1/4, 1/2, 3/4 and 1, worked outside the project.
    #[test]
    fn half_round_gutters_hold_what_the_table_says() {
        for (width, litres) in
            [(0.125, [0.8854, 2.3992, 4.2033, 6.1359]), (0.150, [1.2749, 3.4548, 6.0528, 8.8357])]
        {
            let gutter = gutter(GutterShape::HalfRound, width, 0.5 * width);
            for (quarter, expected) in (1..).zip(litres) {
                let (m3, _) = gutter.store(0.125 * width * f64::from(quarter));
                assert!((1e3 * m3 - expected).abs() < 5e-5, "{width} {quarter}: {m3}");
            }
        }
    }

    #[test]
    fn the_surface_is_what_the_volume_grows_by() {
        for shape in [GutterShape::HalfRound, GutterShape::Rectangular, GutterShape::Trapezoidal] {
            let gutter = gutter(shape, 0.15, 0.06);
            for water in [0.01, 0.03, 0.055, 0.08] {
                let (low, high) = (gutter.store(water - 1e-6).0, gutter.store(water + 1e-6).0);
                let surface = gutter.store(water).1;
                assert!(((high - low) / 2e-6 - surface).abs() < 1e-6, "{shape:?} {water}");
            }
            assert_eq!(gutter.store(0.0).0, 0.0);
        }
    }
}
