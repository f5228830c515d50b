//! Optional keys that only the review asks for: one line a key, in the struct of its owner.
//!
//! To add a key, add its line here: name, type, and the function that reads it.

use crate::context::Context;
use crate::fields::{Field, Fields};
use crate::keys::{self, Key, Section, Value};
use crate::review_values::{
    device, drawings, duration, is_placeholder, mesh, pipe_cap, sealed_cap, weight,
};
use std::time::Duration;
use wetrun_units::{Area, Intensity, Length, Volume, Weight};

pub use crate::review_values::{Cap, Device};

/// What stands under a key, by the function that reads it.
macro_rules! value {
    (Context::free_text) => {
        Value::Text
    };
    (Context::yes_or_no) => {
        Value::YesNo
    };
    (Context::level) => {
        Value::Amount(keys::LEVEL)
    };
    (Context::height) => {
        Value::Amount(keys::HEIGHT)
    };
    (Context::size) => {
        Value::Amount(keys::SIZE)
    };
    (Context::thickness) => {
        Value::Amount(keys::THICKNESS)
    };
    (Context::area) => {
        Value::Amount(keys::AREA)
    };
    (Context::volume) => {
        Value::Amount(keys::VOLUME)
    };
    (Context::intensity) => {
        Value::Amount(keys::INTENSITY)
    };
    (mesh) => {
        Value::Amount(keys::MESH)
    };
    (duration) => {
        Value::Amount(keys::TIME)
    };
    (weight) => {
        Value::Amount(keys::WEIGHT)
    };
    (drawings) => {
        Value::Texts
    };
    (sealed_cap) => {
        Value::Cap { level: false }
    };
    (pipe_cap) => {
        Value::Cap { level: true }
    };
    (device) => {
        Value::Device(&FirstFlush::SECTION)
    };
    ($section:ident::section) => {
        Value::Section(&$section::SECTION)
    };
}

/// Makes a struct of optional keys, the table of them, and the readers of them all.
macro_rules! review_keys {
    ($(#[doc = $doc:literal] $name:ident {
        $(#[doc = $key_doc:literal] $key:ident: $type:ty = $($read:ident)::+,)*
    })*) => {$(
        #[doc = $doc]
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $name {
            $(#[doc = $key_doc] pub $key: Option<$type>,)*
        }

        impl $name {
            /// Its keys.
            pub(crate) const KEYS: &'static [Key] =
                &[$(keys::review(stringify!($key), value!($($read)::+), $key_doc)),*];

            /// These keys and no others, in a mapping of their own.
            #[allow(dead_code)]
            const SECTION: Section = Section::new($doc.trim_ascii(), &[Self::KEYS]);

            #[allow(unused_variables)]
            pub(crate) fn read(cx: &mut Context<'_>, fields: &Fields<'_>) -> Self {
                Self {
                    $($key: fields
                        .get(stringify!($key))
                        .filter(|field| !is_placeholder(field))
                        .and_then(|field| $($read)::+(cx, &field)),)*
                }
            }

            /// Reads a mapping of its own that holds these keys and no others.
            #[allow(dead_code)]
            pub(crate) fn section(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Self> {
                let what = format!("`{}`", field.path.name());
                let fields = Fields::open_as(cx, field, &Self::SECTION, &what)?;
                Some(Self::read(cx, &fields))
            }
        }
    )*};
}

review_keys! {
    /// Of the site as a whole.
    SiteReview {
        /// Revision of the drawing, in words.
        revision: String = Context::free_text,
        /// A rain that falls several times a year.
        ordinary_rain: Intensity = Context::intensity,
        /// What the set of documents holds and states.
        documents: Documents = Documents::section,
        /// Ground, frost, and what is buried nearby.
        ground: Ground = Ground::section,
        /// The water test before the trench is closed.
        test: Test = Test::section,
        /// How far levels may come out from the drawing.
        tolerances: Tolerances = Tolerances::section,
        /// What holds for all of a kind that say nothing else themselves.
        defaults: Defaults = Defaults::section,
    }
    /// What holds for all of a kind that say nothing else themselves.
    Defaults {
        /// Of downspouts.
        downspouts: DownspoutDefaults = DownspoutDefaults::section,
        /// Of points.
        points: PointDefaults = PointDefaults::section,
        /// Of lines.
        lines: LineReview = LineReview::section,
        /// Of tanks.
        tanks: TankDefaults = TankDefaults::section,
    }
    /// What holds for all downspouts.
    DownspoutDefaults {
        /// Bore of the hole in the gutter floor.
        outlet_size: Length = Context::size,
        /// Opening of the leaf screen's mesh.
        leaf_mesh: Length = mesh,
        /// Opening of the insect mesh at its top.
        insect_mesh: Length = mesh,
        /// A device that keeps back the first water of a storm.
        first_flush: Device = device,
        /// Whether it can be opened at its foot.
        cleanout: bool = Context::yes_or_no,
        /// How its standing water is kept from freezing.
        frost: String = Context::free_text,
    }
    /// What holds for all points.
    PointDefaults {
        /// The caps of cleanouts, all sealed.
        cap: Cap = sealed_cap,
    }
    /// What holds for all tanks.
    TankDefaults {
        /// Opening of the insect mesh at the inlet.
        inlet_mesh: Length = mesh,
        /// Opening of the insect mesh at the overflow.
        overflow_mesh: Length = mesh,
        /// The base, and how pipes are joined to the tank.
        base: String = Context::free_text,
        /// Access, its warning, and the drain.
        access: String = Context::free_text,
        /// How the riser is kept from freezing.
        frost: String = Context::free_text,
        /// Whether it stands in the ground.
        buried: bool = Context::yes_or_no,
    }
    /// What the set of documents holds and states; `no` or `none` denies a statement.
    Documents {
        /// Names of the drawings.
        drawings: Vec<String> = drawings,
        /// The revision that the calculation was made for.
        calculation: String = Context::free_text,
        /// Return period of the design storm.
        return_period: String = Context::free_text,
        /// How long the storm's intensity is an average over.
        storm_duration: Duration = duration,
        /// Whether the drawing declares that the pipes stand full.
        wet_condition: String = Context::free_text,
        /// Whether the local code asks for continuous slope.
        continuous_slope: bool = Context::yes_or_no,
        /// The written acceptance of the wet condition.
        accepted: String = Context::free_text,
        /// Licence of the designer, or the exemption.
        designer: String = Context::free_text,
        /// Least difference of opening and inlet that the authority asks for; 0 for none.
        authority_difference: Length = Context::height,
        /// Roof area as measured.
        roof_area: Area = Context::area,
        /// What becomes of the stale water of the full line.
        stale_water: String = Context::free_text,
        /// How bends, risers and caps are held.
        restraint: String = Context::free_text,
        /// What is seen before the trench is closed, and by whom.
        hold_point: String = Context::free_text,
        /// The manual for the owner.
        manual: String = Context::free_text,
        /// As-built levels and the test record.
        as_built: String = Context::free_text,
        /// How often the system is inspected.
        inspection: String = Context::free_text,
        /// Labels, and separation from drinking water.
        labels: String = Context::free_text,
    }
    /// Ground, frost, and what is buried nearby.
    Ground {
        /// Depth to which the ground freezes; 0 where it does not.
        frost_depth: Length = Context::height,
        /// The highest ground-water level.
        water_level: Length = Context::level,
        /// How the trench keeps clear of footings.
        footings: String = Context::free_text,
        /// Other buried services, and how the trench keeps apart from them.
        services: String = Context::free_text,
        /// Bedding and marker.
        bedding: String = Context::free_text,
    }
    /// The water test before the trench is closed.
    Test {
        /// What the pipes are tested with.
        medium: String = Context::free_text,
        /// The level the test is held at.
        level: Length = Context::level,
        /// How long it is held.
        duration: Duration = duration,
    }
    /// How far levels may come out from the drawing.
    Tolerances {
        /// Of a gutter outlet or leaf head.
        opening: Length = Context::thickness,
        /// Of a tank inlet.
        inlet: Length = Context::thickness,
    }
    /// Of a gutter.
    GutterReview {
        /// Width of the sole of a trapezoidal gutter.
        bottom: Length = Context::size,
    }
    /// Of a downspout.
    DownspoutReview {
        /// Bore of the hole in the gutter floor; the pipe's bore where not given.
        outlet_size: Length = Context::size,
        /// Opening of the leaf screen's mesh.
        leaf_mesh: Length = mesh,
        /// Opening of the insect mesh at its top.
        insect_mesh: Length = mesh,
        /// A device that keeps back the first water of a storm.
        first_flush: Device = device,
        /// Level up to which its parts are drawn as watertight pipe.
        watertight_to: Length = Context::level,
        /// Whether it can be opened at its foot.
        cleanout: bool = Context::yes_or_no,
        /// Ground at its foot.
        ground: Length = Context::level,
        /// How its standing water is kept from freezing.
        frost: String = Context::free_text,
    }
    /// Of a point.
    PointReview {
        /// A vent that stands there.
        vent: Vent = Vent::section,
        /// The cap of its cleanout: a level, or sealed.
        cap: Cap = pipe_cap,
        /// Where its drain runs out.
        drain_outlet: DrainOutlet = DrainOutlet::section,
        /// A device that keeps back the first water of a storm.
        first_flush: Device = device,
    }
    /// Of a line.
    LineReview {
        /// Whether vehicles cross it.
        vehicles: bool = Context::yes_or_no,
        /// How it is kept from freezing.
        frost: String = Context::free_text,
    }
    /// Of a tank.
    TankReview {
        /// Opening of the insect mesh at its inlet.
        inlet_mesh: Length = mesh,
        /// Opening of the insect mesh at its overflow.
        overflow_mesh: Length = mesh,
        /// How far from the building its overflow runs out.
        overflow_distance: Length = Context::height,
        /// Its base, and how pipes are joined to it.
        base: String = Context::free_text,
        /// Access, its warning, and the drain.
        access: String = Context::free_text,
        /// How its riser is kept from freezing.
        frost: String = Context::free_text,
        /// Whether it stands in the ground.
        buried: bool = Context::yes_or_no,
        /// What holds it down when it is empty.
        hold_down: HoldDown = HoldDown::section,
    }
    /// A device that keeps back the first water of a storm.
    FirstFlush {
        /// The water it keeps back.
        volume: Volume = Context::volume,
        /// Level of the cap it is emptied by, where it lies in the ground.
        cap: Length = Context::level,
        /// Ground where that cap comes out.
        ground: Length = Context::level,
    }
    /// A vent at a point.
    Vent {
        /// Level of its open top.
        level: Length = Context::level,
        /// Opening of its insect mesh.
        mesh: Length = mesh,
    }
    /// Where a low-point drain runs out.
    DrainOutlet {
        /// Level of its outlet.
        level: Length = Context::level,
        /// Where the water goes.
        to: String = Context::free_text,
    }
    /// What holds a buried tank down when it is empty.
    HoldDown {
        /// Volume of the whole tank on the outside.
        outside: Volume = Context::volume,
        /// Its weight when empty, with what is fixed to it.
        weight: Weight = weight,
        /// Plan area that carries soil.
        plan: Area = Context::area,
        /// Depth of soil above it.
        cover: Length = Context::height,
    }
}
