//! What the Python package `wetrun` calls: many sites checked by one call, on all cores.
//!
//! Results cross as JSON: the Python side reads them with its own reader. A site that is wrong is no
//! exception here; the Python side decides what becomes of it.

/// The module `wetrun._native`.
#[pyo3::pymodule]
mod _native {
    use pyo3::exceptions::PyValueError;
    use pyo3::prelude::*;
    use pyo3::pybacked::PyBackedBytes;
    use wetrun_answers::many::{each, guarded};
    use wetrun_answers::{Overrides, Refusal, Solved, json, read};
    use wetrun_site::Tanks;

    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");

    /// For each text whether it was answered, and the JSON of its result, or of what is wrong with it.
    #[pyfunction]
    fn check(
        py: Python<'_>,
        texts: Vec<PyBackedBytes>,
        names: Vec<String>,
        storm: Option<String>,
        tanks: Option<String>,
        spill_rains: bool,
        workers: usize,
    ) -> PyResult<Vec<(bool, String)>> {
        let tanks = match tanks.as_deref() {
            None => None,
            Some("full") => Some(Tanks::Full),
            Some("empty") => Some(Tanks::Empty),
            Some(other) => {
                let message =
                    format!("tanks: `{}` is neither `full` nor `empty`", other.escape_debug());
                return Err(PyValueError::new_err(message));
            }
        };
        let overrides = Overrides { rain: storm, tanks };
        let refused = |refusal: Refusal| {
            PyValueError::new_err(refusal.to_string().trim_start_matches('-').to_owned())
        };
        overrides.sound().map_err(refused)?;
        let one = |index: usize| -> Result<String, Refusal> {
            let (Some(text), Some(name)) = (texts.get(index), names.get(index)) else {
                return Err(Refusal::because("a text without a name"));
            };
            guarded(|| {
                let mut site = read(text, name)?;
                overrides.apply(&mut site)?;
                let solved = match spill_rains {
                    true => Solved::new(site)?,
                    false => Solved::without_spill_rains(site)?,
                };
                json::check::check(&solved)
            })
        };
        let answered = |index| match one(index) {
            Ok(found) => (true, found),
            Err(refusal) => (false, json::many::refused(&refusal)),
        };
        Ok(py.detach(|| each(texts.len(), workers, answered)))
    }
}
