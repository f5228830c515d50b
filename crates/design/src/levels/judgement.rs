//! What judges a state that a search tries: the verdict, and the rules that levels can turn.

use super::drawn::Drawn;
use wetrun_network::Network;
use wetrun_solver::Steady;
use wetrun_verdict::Verdict;

/// Judges the states of a search over levels.
pub trait Judgement: std::fmt::Debug + Send + Sync {
    /// The one verdict.
    fn verdict(&self, network: &Network, steady: &Steady) -> Verdict;

    /// The rules that can turn by levels and do not pass: once for each place where they do not.
    fn broken(&self, _moved: &Drawn, _steady: &Steady) -> Vec<Broken> {
        Vec::new()
    }
}

/// A rule that does not pass at a place.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Broken {
    /// The rule's name.
    pub rule: &'static str,
    /// The tag of the place.
    pub at: String,
    /// Whether it fails there; else the drawing lacks what the rule now asks for.
    pub fails: bool,
}

/// What is broken `after` and was not, or not as badly, `before`.
pub fn turned(before: &[Broken], after: &[Broken]) -> Vec<Broken> {
    let mut before: Vec<&Broken> = before.iter().collect();
    let mut turned = Vec::new();
    // Failures first, so that a failure that stays is not taken for one of the others.
    for broken in after.iter().filter(|b| b.fails).chain(after.iter().filter(|b| !b.fails)) {
        let known = before
            .iter()
            .position(|b| b.rule == broken.rule && b.at == broken.at && (b.fails || !broken.fails));
        match known {
            Some(index) => drop(before.swap_remove(index)),
            None => turned.push(broken.clone()),
        }
    }
    turned
}

#[cfg(test)]
mod tests {
    use super::*;

    fn broken(rule: &'static str, at: &str, fails: bool) -> Broken {
        Broken { rule, at: at.to_owned(), fails }
    }

    #[test]
    fn what_was_broken_before_has_not_turned() {
        let before = [broken("cover", "L1", true), broken("hump-vent", "P1", false)];
        assert_eq!(turned(&before, &before), []);
        assert_eq!(turned(&before, &[]), []);
        let second = [before[0].clone(), broken("cover", "L1", true)];
        assert_eq!(turned(&before, &second), [broken("cover", "L1", true)], "a second place");
        let worse = [broken("hump-vent", "P1", true)];
        assert_eq!(turned(&before, &worse), worse, "not shown before, fails now");
    }
}
