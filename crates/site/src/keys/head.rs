//! Keys of the file's top and of its small sections.

use super::*;
use crate::review_keys::{GutterReview, SiteReview};

/// The whole file.
pub static SITE: Section = Section::new("a site file", &[SITE_KEYS, SiteReview::KEYS]);

const SITE_KEYS: &[Key] = &[
    required("wetrun", Value::Version, "version of the format"),
    required("name", Value::Name, "name of the job"),
    required("units", UNITS, "how bare numbers are read and reports written"),
    optional("datum", Value::Text, "what levels are measured from; printed on every sheet")
        .example_is("slab = 100.00 ft"),
    optional("water", Value::Section(&WATER), "the water, which sets density and viscosity"),
    default(
        "losses",
        Value::Choice(&["darcy-weisbach", "hazen-williams"]),
        "darcy-weisbach",
        "law of friction",
    ),
    optional("rainfall", Value::Section(&RAINFALL), "the rain table of the place"),
    required("storm", Value::Section(&STORM), "the rain that the system must carry"),
    optional("targets", Value::Section(&TARGETS), "what counts as enough"),
    optional("roofs", Value::Items(&ROOF), "roofs by tag: the areas that drain to downspouts"),
    optional("gutters", Value::Items(&GUTTER), "gutters by tag"),
    required(
        "downspouts",
        Value::Items(&DOWNSPOUT),
        "downspouts by tag: where water comes down from a gutter and turns into a buried line",
    ),
    optional(
        "points",
        Value::Items(&POINT),
        "points by tag: anywhere lines meet, bend in level, drain or can be opened",
    ),
    optional("lines", Value::Items(&LINE), "buried lines by tag"),
    optional("tanks", Value::Items(&TANK), "tanks by tag"),
    optional("pipes", Value::Items(&PIPE_TYPE), "the job's own pipe types, by name"),
    optional("fittings", Value::Items(&FITTING), "the job's own fittings, by name"),
    optional(
        "prices",
        Value::Prices,
        "prices by pipe type and size, for a foot (us) or a metre (si), in any currency",
    ),
    optional("benchmarks", Value::Items(&BENCHMARK), "known levels by tag, for the rod"),
    optional("rules", Value::Items(&RULE), "the job's own thresholds, by rule of the review"),
    optional("uses", Value::Items(&USE), "what takes water from the tanks, by name, in order"),
    optional("transfers", Value::Items(&TRANSFER), "pumps from tank to tank, by name, in order"),
    optional("doubts", Value::Section(&DOUBTS), "how well the numbers are known"),
];

pub(crate) static WATER: Section = Section::new(
    "`water`",
    &[&[default("temperature", Value::Amount(TEMPERATURE), "10 C", "temperature of the water")]],
);

pub(crate) static RAINFALL: Section = Section::new(
    "`rainfall`",
    &[&[
        optional("source", Value::Text, "where the depths come from; printed")
            .example_is("county table, station 12"),
        optional("years", Value::Number(YEARS), "return period of the depths in years")
            .example_is("25"),
        required(
            "depths",
            Value::Depths,
            "depths of rain by duration, the shortest first, never falling",
        ),
    ]],
);

pub(crate) static COURSE_RAIN: Section = Section::new(
    "a rain of the course",
    &[&[
        required("at", Value::Amount(MOMENT), "when it begins"),
        required("rain", Value::Amount(INTENSITY), "how hard it rains until the next begins"),
    ]],
);

pub(crate) static COURSE_NESTED: Section = Section::new(
    "`course`",
    &[&[
        required("nested", Value::Amount(BURST), "the whole duration of the blocks"),
        default("step", Value::Amount(BURST), "5 min", "the duration of a block"),
    ]],
);

pub(crate) static STORM: Section = Section::new(
    "`storm`",
    &[&[
        optional(
            "intensity",
            Value::Amount(INTENSITY),
            "peak rain that the system must carry; or `from` and `duration` in its place",
        ),
        optional(
            "from",
            Value::Choice(&["rainfall"]),
            "takes the peak rain from the rain table of the place: the mean of `duration`",
        ),
        optional(
            "duration",
            Value::Amount(BURST),
            "the duration of the rain table that the peak rain is the mean of",
        ),
        optional("basis", Value::Text, "where the peak rain comes from; printed")
            .example_is("25-year 5-minute, county table"),
        default(
            "tanks",
            Value::Choice(&["full", "empty"]),
            "full",
            "how the tanks stand in the storm: at their overflows, or below every inlet",
        ),
        default(
            "wetting",
            Value::Amount(RAIN_DEPTH),
            "0",
            "first depth of a rain that wets the roofs and runs nowhere",
        )
        .example_is("0.5 mm"),
        optional(
            "course",
            Value::Course { rain: &COURSE_RAIN, nested: &COURSE_NESTED },
            "how the rain passes; where left out it falls for 15 minutes",
        ),
    ]],
)
.either(&[&["intensity"], &["from", "duration"]]);

pub(crate) static TARGETS: Section = Section::new(
    "`targets`",
    &[&[
        default(
            "freeboard",
            Value::Amount(HEIGHT),
            "100 mm",
            "how far the standing level must stay below the opening",
        )
        .example_is("4 in"),
        optional(
            "max_velocity",
            Value::Amount(SPEED),
            "the most speed in a line that carries water, which `wetrun size` keeps to",
        ),
        optional(
            "min_velocity",
            Value::Amount(SPEED),
            "the least speed in a line that carries water, which `wetrun size` keeps to",
        ),
        default(
            "flush_velocity",
            Value::Amount(SPEED),
            "0.7 m/s",
            "the speed on the full bore that carries silt, which `wetrun flush` asks for",
        )
        .example_is("2.5 ft/s"),
    ]],
);

pub(crate) static GUTTER: Section = Section::new(
    "a gutter",
    &[
        &[
            required(
                "shape",
                Value::Choice(&["half-round", "rectangular", "trapezoidal"]),
                "shape of its section",
            ),
            required("width", Value::Amount(SIZE), "width across the top"),
            optional("depth", Value::Amount(SIZE), "depth"),
            default("slope", Value::Amount(SLOPE), "0", "fall along it").example_is("1:200"),
            optional("length", Value::Amount(LENGTH), "length that drains to one outlet"),
        ],
        GutterReview::KEYS,
    ],
);

pub(crate) static FITTING: Section = Section::new(
    "a fitting",
    &[&[
        required(
            "k",
            Value::Number(COEFFICIENT),
            "loss coefficient on the velocity head of the pipe it stands in",
        ),
        optional("source", Value::Text, "where the coefficient comes from"),
        optional("title", Value::Text, "what it is, in words"),
        optional("confidence", Value::Text, "how well its source is known"),
    ]],
);

pub(crate) static BENCHMARK: Section = Section::new(
    "a benchmark",
    &[&[
        required("level", Value::Amount(LEVEL), "its level"),
        optional("at", Value::Text, "what and where it is").example_is("brass pin, porch slab"),
    ]],
);

pub(crate) static RULE: Section = Section::new(
    "a rule",
    &[&[
        required("limit", Value::Limit, "the threshold, with its unit"),
        required("reason", Value::Text, "why this job's threshold differs; printed")
            .example_is("no vehicles"),
        optional("basis", Value::Text, "what it rests on; printed"),
    ]],
);
