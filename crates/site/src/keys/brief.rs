//! Keys of a brief: what a new site file is made from.

use super::*;

/// A brief: a dozen answers, in the order they are asked for.
pub static BRIEF: Section = Section::new(
    "a brief",
    &[&[
        optional(
            "units",
            UNITS,
            "feet, inches and gallons (us), or metres, millimetres and litres (si)",
        ),
        optional("name", Value::Name, "name of the job"),
        optional(
            "eaves",
            Value::Texts,
            "heights of the gutters' outlets (the holes in their floors) above the ground beside \
             the building: one for all downspouts, or one for each with commas between",
        )
        .example_is("10 ft, 12 ft 6 in"),
        optional("downspouts", Value::Number(DOWNSPOUTS), "how many downspouts").example_is("3"),
        optional("spacing", Value::Amount(LENGTH), "how far apart they come down along the wall")
            .example_is("24 ft"),
        optional(
            "roof",
            Value::Amount(AREA),
            "area of the roof in plan that drains to all of them together, in equal parts",
        ),
        optional(
            "rain",
            Value::Amount(INTENSITY),
            "peak rain that the pipes must carry: that of 5 minutes, as a gutter fills in minutes",
        ),
        optional("tank", Value::Amount(VOLUME), "volume of the tank up to its overflow"),
        optional(
            "inlet",
            Value::Amount(LEVEL),
            "height of the tank's inlet (the inside bottom of the pipe where it enters) above the \
             same ground",
        )
        .example_is("7 ft 6 in"),
        optional(
            "distance",
            Value::Amount(LENGTH),
            "how far the pipe runs from the last downspout to the tank",
        )
        .example_is("30 ft"),
        optional(
            "depth",
            Value::Amount(LENGTH),
            "how deep the buried line begins, from the ground to the inside bottom of the pipe",
        )
        .example_is("2 ft"),
        optional("pipes", Value::Name, "type of the pipes, of the catalogue (`wetrun list pipes`)")
            .example_is("pvc-sch40"),
    ]],
);
