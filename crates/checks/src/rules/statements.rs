//! Rules that ask for one statement about the whole drawing, made, denied or not shown: one row each.

use super::prelude::*;

/// Makes a module with its `RULE` of every row: the statement (which is the key too), what it is
/// about, and what every rule says of itself.
macro_rules! statements {
    ($($(#[$doc:meta])* $module:ident = $part:ident.$statement:ident, $about:literal, {
        $($field:ident: $value:expr,)*
    })*) => {$(
        $(#[$doc])*
        pub(crate) mod $module {
            use super::*;

            /// The rule.
            pub(crate) const RULE: Rule = Rule {
                $($field: $value,)*
                limit: None,
                keys: concat!(stringify!($part), ".", stringify!($statement)),
                judge: |rule, input| {
                    let statement = input.facts.$part.$statement.as_ref();
                    vec![stated(rule, input, "site", (statement, rule.keys), $about)]
                },
            };
        }
    )*};
}

statements! {
    /// Designer: somebody who may do so answers for the design.
    designer = documents.designer, "designer or exemption", {
        name: "designer",
        section: Section::Documents,
        checks: "The licence of the designer, or the exemption that makes one needless, is stated.",
        why: "Many places want a competent designer for all but small outdoor systems; a calculation \
              does not replace one.",
        threshold: "a licence or an exemption is cited",
        source: Source {
            text: "UPC 2018 chapter 16: licensed or competent designer, with exemptions",
            confidence: Confidence::Read,
        },
        mend: "have a person who may answer for the design sign it, or cite the exemption",
    }
    /// Restraint: bends, risers and caps cannot move.
    restraint = documents.restraint, "restraint of bends, riser and caps", {
        name: "restraint",
        section: Section::Watertight,
        checks: "Bends, the riser and caps are held so that they cannot move or pull apart.",
        why: "A full column pushes on every bend and cap; unsupported pipe strains its fittings and the tank wall.",
        threshold: "a statement of how they are held",
        source: Source {
            text: "makers' installation guides: support and restrain pipe at bends",
            confidence: Confidence::Read,
        },
        mend: "show blocks, straps or anchors at bends, riser and caps",
    }
    /// Hold point: somebody sees the test before the trench is closed.
    hold_point = documents.hold_point, "hold point before the trench is closed", {
        name: "hold-point",
        section: Section::Watertight,
        checks: "The drawing says who must see the test, and that the trench stays open until then.",
        why: "A leak is cheap to find only while the trench is open.",
        threshold: "a statement of what is seen, and by whom",
        source: Source {
            text: "plumbing codes: work stays open until inspected",
            confidence: Confidence::Recalled,
        },
        mend: "write the hold point and its witness on the drawing",
    }
    /// Footings: the trench keeps clear of them.
    footings = ground.footings, "clearance from footings", {
        name: "footings",
        section: Section::Ground,
        checks: "The trench keeps clear of the zone that carries the footings, and reactive clay is noted.",
        why: "A trench beside a footing takes away what it stands on; a leak in reactive clay moves it.",
        threshold: "a statement of the clearance",
        source: Source {
            text: "building inspection articles on downspouts and footings",
            confidence: Confidence::Read,
        },
        mend: "move the trench, or have the crossing designed",
    }
    /// Services: the trench keeps apart from what else is buried.
    services = ground.services, "buried services located", {
        name: "services",
        section: Section::Ground,
        checks: "The trench keeps its distance from sewer, water, gas and electric lines, and from tree roots.",
        why: "A dig into a live service kills; roots find a weeping joint.",
        threshold: "a statement that they were located, and the distances",
        source: Source { text: "local separation rules", confidence: Confidence::CommonPractice },
        mend: "have the services located and draw them",
    }
    /// Bedding: the pipe lies on its whole length and is marked.
    bedding = ground.bedding, "bedding and marker", {
        name: "bedding",
        section: Section::Ground,
        checks: "The pipe is bedded over its whole length, and marked with tape or tracer.",
        why: "Pipe laid on spoil settles into sags that hold sludge and humps that hold air.",
        threshold: "a statement of bedding and marker",
        source: Source {
            text: "a city plumbing code: support over the whole length",
            confidence: Confidence::Read,
        },
        mend: "draw the bedding and the marker tape",
    }
    /// Manual: the owner gets one.
    manual = documents.manual, "manual for the owner", {
        name: "manual",
        section: Section::Handover,
        checks: "A manual says how often to clean, drain and flush, and where the valves are.",
        why: "A wet system works as long as its screens, drain and flush-out are used.",
        threshold: "a manual is supplied",
        source: Source {
            text: "IRC 2018 P2911: operation and maintenance manual supplied",
            confidence: Confidence::Read,
        },
        mend: "write the manual and hand it over",
    }
    /// As built: measured levels and the test record come back before approval.
    as_built = documents.as_built, "as-built levels and test record", {
        name: "as-built",
        section: Section::Handover,
        checks: "As-built levels and the record of the water test are returned before approval.",
        why: "A few centimetres at the inlet or a gutter are the margin; only measured levels prove it.",
        threshold: "a statement that they are returned",
        source: Source {
            text: "one state's rules for the highest class of use: the designer's inspection report",
            confidence: Confidence::Read,
        },
        mend: "ask for as-built levels and run them through the same calculation",
    }
    /// Inspection interval: somebody looks again.
    inspection_interval = documents.inspection, "inspection interval", {
        name: "inspection-interval",
        section: Section::Handover,
        checks: "How often the system is inspected is stated.",
        why: "Screens tear, drains block, tanks settle; none of it shows indoors.",
        threshold: "an interval is stated",
        source: Source {
            text: "one state's rules: 12 months for medium exposure",
            confidence: Confidence::Read,
        },
        mend: "state an interval",
    }
    /// Labels: nobody drinks this water by mistake.
    labels = documents.labels, "labels and separation from drinking water", {
        name: "labels",
        section: Section::Handover,
        checks: "Outlets are labelled, and where the water is plumbed indoors it is kept apart from drinking water.",
        why: "Rainwater is not drinking water unless it is treated and approved.",
        threshold: "a statement of labels and separation",
        source: Source {
            text: "IPC 2018 chapter 13: non-potable outlets are marked",
            confidence: Confidence::Recalled,
        },
        mend: "label the outlets and show the backflow protection",
    }
}
