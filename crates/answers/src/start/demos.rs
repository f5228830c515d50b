//! Demo sites, each with a scenario of its own, to start from or to look at.

/// A demo site.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Demo {
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! demos {
    ($($name:literal)*) => {
        &[$(Demo { name: $name, text: include_str!(concat!("../../demos/", $name, ".yaml")) }),*]
    };
}

const DEMOS: &[Demo] = demos! {
    "si-inlet-under-water"
    "si-looks-fine-fails"
    "si-low-eaves"
    "si-over-a-culvert"
    "si-two-tanks-ring"
    "si-vent-below-the-grade"
    "us-hall-hazen-williams"
    "us-hall-low-roof"
    "us-hall-six-downspouts"
    "us-leaf-heads-and-tees"
    "us-tanks-in-cascade"
    "us-tanks-that-meet"
    "us-three-tanks"
};

/// Every demo site, by name.
pub fn demos() -> &'static [Demo] {
    DEMOS
}

/// The demo site of a name.
pub fn demo(name: &str) -> Option<&'static Demo> {
    DEMOS.iter().find(|demo| demo.name == name)
}
