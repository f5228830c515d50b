//! What a drawing for CAD is made of: lines, marks and texts at their true places, on layers by meaning.

use wetrun_units::UnitSystem;

/// What things belong to; a CAD program can switch each off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Layer {
    /// Inverts of buried pipes in a section: true lengths.
    Pipe,
    /// Crowns of their bores.
    Crown,
    /// Downspouts, vents and open caps.
    Upright,
    /// Ground.
    Ground,
    /// The storm grade line, and the standing level in a downspout.
    StormGrade,
    /// The level of the water between storms.
    Rest,
    /// Tanks; their widths are symbols.
    Tank,
    /// Levels: a mark where each stands, and its number.
    Levels,
    /// Names, values and notes.
    Text,
    /// Rules and leaders.
    Frame,
    /// Inverts of buried pipes in the plan, in three dimensions.
    PlanPipe,
    /// Marks of downspouts, points and tanks in the plan.
    PlanMarks,
    /// Levels in the plan, at their heights.
    PlanLevels,
    /// Names in the plan.
    PlanText,
    /// A plan that is not to scale, where the site gives no places.
    Scheme,
}

impl Layer {
    /// All of them.
    pub(crate) const ALL: [Self; 15] = [
        Self::Pipe,
        Self::Crown,
        Self::Upright,
        Self::Ground,
        Self::StormGrade,
        Self::Rest,
        Self::Tank,
        Self::Levels,
        Self::Text,
        Self::Frame,
        Self::PlanPipe,
        Self::PlanMarks,
        Self::PlanLevels,
        Self::PlanText,
        Self::Scheme,
    ];

    /// Its name: own to this program, so that it mixes with nobody's layers.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Pipe => "WETRUN-PIPE",
            Self::Crown => "WETRUN-CROWN",
            Self::Upright => "WETRUN-UPRIGHT",
            Self::Ground => "WETRUN-GROUND",
            Self::StormGrade => "WETRUN-STORM-GRADE",
            Self::Rest => "WETRUN-REST",
            Self::Tank => "WETRUN-TANK",
            Self::Levels => "WETRUN-LEVELS",
            Self::Text => "WETRUN-TEXT",
            Self::Frame => "WETRUN-FRAME",
            Self::PlanPipe => "WETRUN-PLAN-PIPE",
            Self::PlanMarks => "WETRUN-PLAN-MARKS",
            Self::PlanLevels => "WETRUN-PLAN-LEVELS",
            Self::PlanText => "WETRUN-PLAN-TEXT",
            Self::Scheme => "WETRUN-SCHEME",
        }
    }

    /// Its colour, by the numbers that every CAD program has; 7 is black or white.
    pub(crate) const fn colour(self) -> u8 {
        match self {
            Self::Pipe | Self::Text | Self::PlanPipe | Self::PlanText => 7,
            Self::Crown | Self::Frame => 8,
            Self::Upright | Self::Tank | Self::PlanMarks => 6,
            Self::Ground => 34,
            Self::StormGrade => 5,
            Self::Rest => 4,
            Self::Levels | Self::PlanLevels => 94,
            Self::Scheme => 9,
        }
    }

    /// How its lines are broken.
    pub(crate) const fn dashes(self) -> Dashes {
        match self {
            Self::StormGrade => Dashes::Dashed,
            Self::Rest => Dashes::Dotted,
            _ => Dashes::None,
        }
    }
}

/// How lines are broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Dashes {
    /// Not at all.
    None,
    /// Long dashes.
    Dashed,
    /// Short dashes.
    Dotted,
}

/// A place, in metres: to the right, up the drawing, and in height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct At {
    pub(crate) x_m: f64,
    pub(crate) y_m: f64,
    pub(crate) z_m: f64,
}

/// A place in the plane of the drawing.
pub(crate) const fn at(x_m: f64, y_m: f64) -> At {
    At { x_m, y_m, z_m: 0.0 }
}

/// Which part of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Held {
    Left,
    Middle,
    Right,
}

/// A thing on the drawing. `name` is what of the site it is, for programs: `L1`, `T1 inlet`.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Entity {
    /// Straight pieces from place to place.
    Path { layer: Layer, places: Vec<At>, closed: bool, solid: bool, name: String },
    /// A circle.
    Circle { layer: Layer, centre: At, radius_m: f64 },
    /// The place of a level.
    Mark { layer: Layer, place: At, name: String },
    /// One line of text, as high as a capital, turned against the clock.
    Text { layer: Layer, place: At, height_m: f64, turn_deg: f64, held: Held, text: String },
}

/// A drawing for CAD.
#[derive(Clone, Debug)]
pub(crate) struct Model {
    /// Its own name for the file.
    pub(crate) title: String,
    /// In feet or in millimetres.
    pub(crate) units: UnitSystem,
    /// What is on it, in order.
    pub(crate) entities: Vec<Entity>,
}

impl Model {
    /// Straight pieces; nothing where there are fewer than two places.
    pub(crate) fn path(&mut self, layer: Layer, places: Vec<At>, name: &str) {
        if places.len() > 1 {
            let name = name.to_owned();
            self.entities.push(Entity::Path { layer, places, closed: false, solid: false, name });
        }
    }

    /// A closed outline.
    pub(crate) fn outline(&mut self, layer: Layer, places: Vec<At>, name: &str) {
        let name = name.to_owned();
        self.entities.push(Entity::Path { layer, places, closed: true, solid: false, name });
    }

    /// A straight piece that is never broken, whatever its layer.
    pub(crate) fn tick(&mut self, layer: Layer, from: At, to: At) {
        let (places, name) = (vec![from, to], String::new());
        self.entities.push(Entity::Path { layer, places, closed: false, solid: true, name });
    }

    /// The place of a level.
    pub(crate) fn mark(&mut self, layer: Layer, place: At, name: String) {
        self.entities.push(Entity::Mark { layer, place, name });
    }

    /// A level text.
    pub(crate) fn text(&mut self, layer: Layer, place: At, height_m: f64, text: &str) {
        self.held(layer, place, height_m, Held::Left, text);
    }

    /// A level text, held elsewhere.
    pub(crate) fn held(&mut self, layer: Layer, place: At, height_m: f64, held: Held, text: &str) {
        self.turned(layer, place, (height_m, 0.0), held, text);
    }

    /// A text of a height, turned by so many degrees.
    pub(crate) fn turned(
        &mut self,
        layer: Layer,
        place: At,
        (height_m, turn_deg): (f64, f64),
        held: Held,
        text: &str,
    ) {
        if !text.trim().is_empty() {
            let text = text.to_owned();
            self.entities.push(Entity::Text { layer, place, height_m, turn_deg, held, text });
        }
    }
}

/// Width of a text in the plainest font of CAD programs, about.
pub(crate) fn width_m(text: &str, height_m: f64) -> f64 {
    text.chars().count() as f64 * height_m * 0.95
}

/// A text that is not longer than so many characters: its middle is left out.
pub(crate) fn cut(text: &str, most: usize) -> String {
    let chars: Vec<char> = text.chars().collect();
    if chars.len() <= most {
        return text.to_owned();
    }
    let kept = most.saturating_sub(3);
    let head: String = chars[..kept.div_ceil(2)].iter().collect();
    let tail: String = chars[chars.len() - kept / 2..].iter().collect();
    format!("{head}...{tail}")
}
