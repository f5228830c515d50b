//! Coordinates as text, the same on every machine.

/// A coordinate with two places at the most, trailing zeros dropped, with a plain minus.
pub fn coordinate(value_pt: f64) -> String {
    let text = format!("{value_pt:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        assert_eq!(coordinate(10.0), "10");
        assert_eq!(coordinate(-0.001), "0");
        assert_eq!(coordinate(100.0), "100");
        assert_eq!(coordinate(1.256), "1.26");
    }
}
