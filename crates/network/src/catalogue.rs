//! The catalogue of pipes and fittings: data files of the repository, read once.
