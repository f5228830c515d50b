//! Formulas that are worked out as they are written: the text for a workbook, and its value.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A formula and its value.
#[derive(Clone, Debug)]
pub(super) struct Ex {
    pub(super) text: String,
    pub(super) value: f64,
}

/// A condition and whether it holds.
#[derive(Clone, Debug)]
pub(super) struct If {
    text: String,
    holds: bool,
}

/// A number in a formula: as many digits as a workbook keeps.
pub(super) fn n(value: f64) -> Ex {
    let rounded: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    let text = if rounded < 0.0 { format!("({rounded})") } else { rounded.to_string() };
    Ex { text, value: rounded }
}

pub(super) fn pi() -> Ex {
    Ex { text: "PI()".to_owned(), value: std::f64::consts::PI }
}

impl Ex {
    fn of(name: &str, args: &[&Ex], value: f64) -> Self {
        let args: Vec<&str> = args.iter().map(|arg| arg.text.as_str()).collect();
        Self { text: format!("{name}({})", args.join(",")), value }
    }

    fn with(&self, sign: &str, other: &Ex, value: f64) -> Self {
        Self { text: format!("({}{sign}{})", self.text, other.text), value }
    }

    pub(super) fn max(&self, other: &Ex) -> Self {
        Self::of("MAX", &[self, other], self.value.max(other.value))
    }

    pub(super) fn min(&self, other: &Ex) -> Self {
        Self::of("MIN", &[self, other], self.value.min(other.value))
    }

    pub(super) fn abs(&self) -> Self {
        Self::of("ABS", &[self], self.value.abs())
    }

    pub(super) fn root(&self) -> Self {
        Self::of("SQRT", &[self], libm::sqrt(self.value))
    }

    pub(super) fn natural_log(&self) -> Self {
        Self::of("LN", &[self], libm::log(self.value))
    }

    pub(super) fn decimal_log(&self) -> Self {
        Self::of("LOG10", &[self], libm::log10(self.value))
    }

    pub(super) fn sine(&self) -> Self {
        Self::of("SIN", &[self], libm::sin(self.value))
    }

    pub(super) fn cosine(&self) -> Self {
        Self::of("COS", &[self], libm::cos(self.value))
    }

    pub(super) fn power(&self, power: f64) -> Self {
        let by = n(power);
        self.with("^", &by, libm::pow(self.value, by.value))
    }

    pub(super) fn below(&self, other: &Ex) -> If {
        If { text: format!("{}<{}", self.text, other.text), holds: self.value < other.value }
    }

    pub(super) fn at_most(&self, other: &Ex) -> If {
        If { text: format!("{}<={}", self.text, other.text), holds: self.value <= other.value }
    }

    /// The sum of many; 0 of none.
    pub(super) fn sum(parts: impl IntoIterator<Item = Ex>) -> Self {
        parts.into_iter().reduce(|sum, part| sum + part).unwrap_or_else(|| n(0.0))
    }
}

impl If {
    pub(super) fn then(&self, yes: &Ex, no: &Ex) -> Ex {
        Ex {
            text: format!("IF({},{},{})", self.text, yes.text, no.text),
            value: if self.holds { yes.value } else { no.value },
        }
    }
}

macro_rules! operator {
    ($trait:ident, $name:ident, $sign:literal, $op:tt) => {
        impl $trait for Ex {
            type Output = Ex;
            fn $name(self, other: Ex) -> Ex {
                self.with($sign, &other, self.value $op other.value)
            }
        }
        impl $trait<&Ex> for Ex {
            type Output = Ex;
            fn $name(self, other: &Ex) -> Ex {
                self.with($sign, other, self.value $op other.value)
            }
        }
        impl $trait<Ex> for &Ex {
            type Output = Ex;
            fn $name(self, other: Ex) -> Ex {
                self.with($sign, &other, self.value $op other.value)
            }
        }
        impl $trait<&Ex> for &Ex {
            type Output = Ex;
            fn $name(self, other: &Ex) -> Ex {
                self.with($sign, other, self.value $op other.value)
            }
        }
    };
}

operator!(Add, add, "+", +);
operator!(Sub, sub, "-", -);
operator!(Mul, mul, "*", *);
operator!(Div, div, "/", /);

impl Neg for &Ex {
    type Output = Ex;
    fn neg(self) -> Ex {
        Ex { text: format!("(0-{})", self.text), value: 0.0 - self.value }
    }
}
