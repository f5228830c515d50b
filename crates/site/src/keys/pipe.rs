//! Keys of pipes: one that stands at a key, and the job's own types.

use super::*;

pub(crate) static PIPE: Section = Section::new(
    "a pipe",
    &[&[
        optional("type", Value::Name, "its type, of the catalogue or of `pipes:`")
            .example_is("pvc-sch40"),
        optional(
            "size",
            Value::Sizes,
            "its nominal size, a list of sizes to choose from, or `any`",
        ),
        optional("inside", Value::Amount(BORE), "inside diameter, in place of type and size")
            .example_is("102 mm"),
        optional(
            "roughness",
            Value::Amount(THICKNESS),
            "equivalent sand roughness, which darcy-weisbach needs",
        )
        .example_is("0.0015 mm"),
        optional(
            "c",
            Value::Number(HAZEN_WILLIAMS),
            "Hazen-Williams coefficient, which hazen-williams needs",
        )
        .example_is("150"),
    ]],
)
.either(&[&["type", "size"], &["inside"]]);

pub(crate) static PIPE_TYPE: Section = Section::new(
    "a pipe type",
    &[&[
        optional("title", Value::Text, "what it is, in words"),
        optional("roughness", Value::Amount(THICKNESS), "equivalent sand roughness")
            .example_is("0.0015 mm"),
        optional("c", Value::Number(HAZEN_WILLIAMS), "Hazen-Williams coefficient")
            .example_is("150"),
        optional("joint", Value::Text, "how lengths are joined").example_is("fused"),
        optional("source", Value::Text, "where its numbers come from").example_is("maker's sheet"),
        optional("confidence", Value::Text, "how well its source is known"),
        optional("standard", Value::Text, "the standard it is made to"),
        required("sizes", Value::Items(&PIPE_SIZE), "its sizes, by nominal size")
            .example_is("{ 4 in: { outside: 4.5 in, wall: 0.237 in } }"),
    ]],
);

pub(crate) static PIPE_SIZE: Section = Section::new(
    "a pipe size",
    &[&[
        optional("outside", Value::Amount(SIZE), "outside diameter").example_is("110 mm"),
        optional("wall", Value::Amount(THICKNESS), "thickness of the wall").example_is("6.6 mm"),
        optional("inside", Value::Amount(BORE), "inside diameter").example_is("97 mm"),
        optional("source", Value::Text, "where its numbers come from"),
        optional("confidence", Value::Text, "how well its source is known"),
    ]],
)
.one_of(&[&["outside", "wall"], &["inside"]]);
