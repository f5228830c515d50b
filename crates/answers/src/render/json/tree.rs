//! A large result as what it is made of: names and tags are borrowed, and the way of each downspout
//! is followed when it is written.

use serde::{Serialize, Serializer};
use wetrun_network::{DownspoutId, Network};
use wetrun_solver::Routes;

/// A value of a result; see [`number_of`](super::number_of) for what is a number.
pub(crate) enum Tree<'a> {
    Null,
    Number(f64),
    Whole(u64),
    Text(&'a str),
    List(Vec<Tree<'a>>),
    /// Keys in the order given.
    Map(Vec<(&'a str, Tree<'a>)>),
    /// The tags of the lines that most of a downspout's water takes, then that of the tank.
    Route(&'a Network, &'a Routes, DownspoutId),
}

impl<'a> Tree<'a> {
    pub(crate) fn map(entries: impl IntoIterator<Item = (&'a str, Self)>) -> Self {
        Self::Map(entries.into_iter().collect())
    }

    /// The value under a key; none where there is no such key.
    pub(crate) fn get(&self, key: &str) -> &Self {
        match self {
            Self::Map(entries) => entries
                .iter()
                .find(|(name, _)| *name == key)
                .map_or(&Self::Null, |(_, value)| value),
            _ => &Self::Null,
        }
    }
}

impl Serialize for Tree<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Null => serializer.serialize_unit(),
            Self::Number(value) => serializer.serialize_f64(*value),
            Self::Whole(value) => serializer.serialize_u64(*value),
            Self::Text(text) => serializer.serialize_str(text),
            Self::List(values) => serializer.collect_seq(values),
            Self::Map(entries) => {
                serializer.collect_map(entries.iter().map(|(key, value)| (key, value)))
            }
            Self::Route(network, routes, downspout) => {
                let route = routes.route(network, *downspout);
                let lines = route.lines.iter().map(|line| network.line(*line).tag.as_str());
                let tank = route.tank.map(|tank| network.tank(tank).tag.as_str());
                serializer.collect_seq(lines.chain(tank))
            }
        }
    }
}
