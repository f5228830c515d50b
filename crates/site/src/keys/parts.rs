//! Keys of roofs, of the network's parts, and of what takes water.

use super::*;
use crate::review_keys::{DownspoutReview, LineReview, PointReview, TankReview};

const PIPE_OF: Value = Value::Pipe { keys: &PIPE, open: true };
const FITTINGS: &str = "fittings in it, by name with counts";
const K: &str = "extra loss coefficient on its own velocity head";
const AT: &str = "place in plan";

pub(crate) static ROOF: Section = Section::new(
    "a roof",
    &[&[
        required("area", Value::Amount(AREA), "area in plan"),
        default("runoff", Value::Amount(FRACTION), "1", "part of the rain that runs off")
            .example_is("0.95"),
        required(
            "to",
            Value::Shares,
            "the downspout it drains to, or a share for each of several, such as \
             { D2: 50 %, D3: 50 % }",
        ),
        optional(
            "wetting",
            Value::Amount(RAIN_DEPTH),
            "first depth of a rain that wets it and runs nowhere; that of the storm where left out",
        )
        .example_is("0.5 mm"),
        default(
            "lag",
            Value::Amount(LAG),
            "60 s",
            "how far its runoff lags behind the rain, as of one linear store",
        ),
    ]],
);

pub(crate) static DOWNSPOUT: Section = Section::new(
    "a downspout",
    &[
        &[
            required(
                "outlet",
                Value::Amount(LEVEL),
                "level of the hole in the gutter floor: headroom is measured to it",
            ),
            optional(
                "lip",
                Value::Amount(LEVEL),
                "level where the gutter spills; that of the outlet where left out",
            ),
            required("foot", Value::Amount(LEVEL), "level where it turns into the buried line"),
            required("pipe", PIPE_OF, "its own pipe").example_is("pvc-sch40 3 in"),
            optional(
                "leaf_head",
                Value::Amount(LEVEL),
                "rim of an open leaf head below the gutter; headroom and spill then refer to it",
            ),
            optional("gutter", Value::Tag(&["gutters"]), "the gutter it hangs on"),
            optional("fittings", Value::Fittings, FITTINGS).example_is("{ bend-90: 1 }"),
            default("k", Value::Number(COEFFICIENT), "0", K).example_is("0.5"),
            optional("screen", Value::Section(&SCREEN), "the screen at its top"),
            optional("at", Value::Place, AT),
        ],
        DownspoutReview::KEYS,
    ],
);

pub(crate) static SCREEN: Section = Section::new(
    "a screen",
    &[&[optional(
        "open",
        Value::Amount(FRACTION),
        "free area left at the top; bears on what the outlet can take",
    )
    .example_is("60 %")]],
);

pub(crate) static POINT: Section = Section::new(
    "a point",
    &[
        &[
            required("level", Value::Amount(LEVEL), "invert there"),
            optional("ground", Value::Amount(LEVEL), "ground above it"),
            optional(
                "fitting",
                Value::Choice(&["wye", "tee"]),
                "how three lines come together there: the branch at 45 or at 90 degrees",
            ),
            optional(
                "branch",
                Value::Tag(&["lines"]),
                "the line that comes in at the angle; the one of smallest bore where left out",
            )
            .beside("fitting"),
            optional("drain", Value::Amount(SIZE), "bore of a low-point drain").example_is("2 in"),
            default(
                "drain_k",
                Value::Number(COEFFICIENT),
                "0.7",
                "what the open drain loses, in velocity heads, besides the jet's own: a square \
                 entrance and an open valve",
            ),
            default("cleanout", Value::YesNo, "no", "whether it can be opened"),
            optional("at", Value::Place, AT),
        ],
        PointReview::KEYS,
    ],
);

const ENDS: &[&str] = &["downspouts", "points", "tanks"];

pub(crate) static LINE: Section = Section::new(
    "a line",
    &[
        &[
            required("from", Value::Tag(ENDS), "where it starts: a downspout, a point or a tank"),
            required("to", Value::Tag(ENDS), "where it ends: a downspout, a point or a tank")
                .example_is("T1"),
            required("pipe", PIPE_OF, "its pipe"),
            required("length", Value::Amount(LENGTH), "length along the pipe"),
            optional("fittings", Value::Fittings, FITTINGS),
            default("k", Value::Number(COEFFICIENT), "0", K).example_is("1.1"),
            optional(
                "profile",
                Value::Stations(&STATION),
                "inverts along it and the ground above, from its start to its end",
            ),
            optional(
                "from_level",
                Value::Amount(LEVEL),
                "invert at its start; the foot's, the point's or the inlet's where left out",
            ),
            optional(
                "to_level",
                Value::Amount(LEVEL),
                "invert at its end; the foot's, the point's or the inlet's where left out",
            ),
        ],
        LineReview::KEYS,
    ],
);

pub(crate) static STATION: Section = Section::new(
    "a station",
    &[&[
        required("at", Value::Amount(HEIGHT), "distance from the line's start"),
        required("level", Value::Amount(LEVEL), "invert there"),
        optional("ground", Value::Amount(LEVEL), "ground above it"),
    ]],
);

pub(crate) static TANK: Section = Section::new(
    "a tank",
    &[
        &[
            required("inlet", Value::Amount(LEVEL), "invert of the inlet pipe where it enters"),
            optional("overflow", Value::Section(&OVERFLOW), "its overflow"),
            optional("floor", Value::Amount(LEVEL), "inside floor"),
            optional("rim", Value::Amount(LEVEL), "top of the wall"),
            optional("ground", Value::Amount(LEVEL), "ground beside it"),
            optional("volume", Value::Amount(VOLUME), "volume to the overflow"),
            optional("at", Value::Place, AT),
            optional(
                "start",
                Value::Start,
                "how it stands when a storm or a year begins: a level, or a share of the volume",
            ),
            default(
                "least",
                Value::Amount(FRACTION),
                "0",
                "share of the volume that its outlet cannot take",
            )
            .example_is("5 %"),
        ],
        TankReview::KEYS,
    ],
)
.taken(GROUND);

/// What an overflow's `to` calls the ground.
pub(crate) const GROUND: &str = "ground";

pub(crate) static OVERFLOW: Section = Section::new(
    "an overflow",
    &[&[
        required(
            "level",
            Value::Amount(LEVEL),
            "invert of the overflow: the water level of a full tank at rest",
        ),
        optional(
            "pipe",
            Value::Pipe { keys: &PIPE, open: false },
            "its pipe, for the rise of the water above that level; no rise where left out",
        ),
        default("to", Value::TankOrGround, "ground", "where it runs: a tank, or the ground"),
        default("k", Value::Number(COEFFICIENT), "0.5", "its entrance loss coefficient"),
    ]],
);

pub(crate) static USE: Section = Section::new(
    "a use",
    &[&[
        required("takes", Value::Amount(FLOW), "what it takes").example_is("120 gal/d"),
        required("from", Value::Tanks, "the tank it takes it from, or a list of several"),
        optional("months", Value::Months, "the months in which it takes water; all where left out"),
    ]],
);

pub(crate) static TRANSFER: Section = Section::new(
    "a transfer",
    &[&[
        required("from", Value::Tag(&["tanks"]), "the giving tank").example_is("T1"),
        required("to", Value::Tag(&["tanks"]), "the receiving tank").example_is("T2"),
        required("rate", Value::Amount(FLOW), "its flow while it runs"),
        default(
            "when_below",
            Value::Amount(FRACTION),
            "100 %",
            "it starts where the receiving tank holds less than this share",
        )
        .example_is("60 %"),
        default(
            "until",
            Value::Amount(FRACTION),
            "100 %",
            "it stops where the receiving tank holds this share",
        ),
        optional(
            "leaves",
            Value::Amount(FRACTION),
            "it stops where the giving tank holds this share; that tank's `least` where left out",
        )
        .example_is("10 %"),
    ]],
);
