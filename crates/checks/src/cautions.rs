//! What every review and every sheet says in plain words, whatever the drawing shows.

/// The cautions, one paragraph each.
pub const CAUTIONS: [&str; 7] = [
    "Trenches collapse without warning. Nobody goes into one deeper than waist high unless its \
     sides are sloped or held, and into a shallower one only when a competent person has looked.",
    "Have buried services located before digging: electric, gas, water, sewer, telephone.",
    "Never enter a tank. The air in it may not keep you alive, and those who go in to help die too.",
    "An empty buried tank can float in wet ground. Do not empty it while the ground water is high.",
    "Keep electric pumps, cords and tools on protected circuits and out of standing water.",
    "This water is not for drinking unless it is treated and approved for that.",
    "The local code and a licensed professional decide. This review decides nothing by itself.",
];
