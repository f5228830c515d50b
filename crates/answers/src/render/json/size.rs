//! The result of `wetrun size` as JSON.

use super::{document, maybe, number, object};
use crate::outcome::{Refusal, Status};
use crate::sizing::{CostBasis, Sized};
use serde_json::Value;

/// The whole result. Where none works, `cost` is null and the worst margin is that of the sizes
/// that come nearest.
pub fn size(sized: &Sized) -> Result<String, Refusal> {
    result(sized).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(sized: &Sized) -> Result<Value, Refusal> {
    let chosen = sized.chosen();
    let nearest = sized.none().and_then(|none| none.nearest.as_ref());
    let sizes = match chosen {
        Some(chosen) => (sized.site.open_pipes().iter().enumerate())
            .map(|(index, open)| {
                let label = chosen.design.pipe(&sized.problem, index).label.as_str();
                (open.tag.clone(), Value::from(label))
            })
            .collect(),
        None => Vec::new(),
    };
    let bound = match (chosen, sized.none()) {
        (Some(chosen), _) => Some(chosen.lower_bound),
        (None, none) => none.map(|none| none.lower_bound).filter(|bound| bound.is_finite()),
    };
    let proven = chosen.map(|c| c.proven).or(sized.none().map(|n| n.proven)).unwrap_or(false);
    let basis = match sized.cost {
        CostBasis::Prices { .. } => "prices",
        CostBasis::WallMass => "wall-mass",
    };
    let worst = sized.worst();
    let design = chosen.map(|chosen| &chosen.design).or(nearest);
    let margin = worst.and_then(|d| design.map(|design| design.margins[d.index()].to_m()));
    let tag = worst.map(|d| sized.problem.network.downspout(d).tag.as_str());
    Ok(object([
        ("wetrun", Value::from(1)),
        ("outcome", Value::from(if chosen.is_some() { "chosen" } else { "none-works" })),
        ("chosen", object(sizes)),
        ("cost", maybe(chosen.map(|chosen| chosen.design.cost))?),
        ("cost_basis", Value::from(basis)),
        ("lower_bound", bound.map_or(Ok(Value::Null), number)?),
        ("proven", Value::from(proven)),
        ("worst_margin_m", maybe(margin)?),
        ("worst_downspout", tag.map_or(Value::Null, Value::from)),
        ("verdict", Value::from(if sized.status() == Status::Pass { "pass" } else { "fail" })),
    ]))
}
