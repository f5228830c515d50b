//! What the solver refuses to work with.

#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)]

mod support;

use support::*;
use wetrun_network::Network;
use wetrun_solver::{FrictionLaw, NotSolved, Prepared, solve, spill_rains};

/// Each law asks for its own: a pipe may lack what the other needs.
#[test]
fn a_pipe_that_lacks_what_the_law_needs_is_refused() {
    let sketch = Sketch::new().downspout(downspout(3.6, 0.0, 0.0779, 0.0006)).tank(tank(2.5));
    let parts = sketch.line(D(0), T(0), 0.1, 6.0, 0.5).parts;
    for (law, line, lacks) in [
        (FrictionLaw::DarcyWeisbach, true, "the pipe of `L1` gives no roughness"),
        (FrictionLaw::DarcyWeisbach, false, "the pipe of `D1` gives no roughness"),
        (FrictionLaw::HazenWilliams, true, "the pipe of `L1` gives no C"),
        (FrictionLaw::HazenWilliams, false, "the pipe of `D1` gives no C"),
    ] {
        let mut parts = parts.clone();
        let pipe = if line { &mut parts.lines[0].pipe } else { &mut parts.downspouts[0].pipe };
        match law {
            FrictionLaw::DarcyWeisbach => pipe.roughness = None,
            FrictionLaw::HazenWilliams => pipe.c = None,
        }
        let network = Network::build(parts).unwrap();
        for refused in [
            solve(&network, &scenario(law)).unwrap_err(),
            spill_rains(&network, &scenario(law)).unwrap_err(),
            Prepared::new(&network, &scenario(law)).err().unwrap().into(),
        ] {
            assert!(matches!(refused, NotSolved::Lacks(_)));
            assert!(refused.to_string().starts_with(lacks), "{refused}");
        }
        let other = match law {
            FrictionLaw::DarcyWeisbach => FrictionLaw::HazenWilliams,
            FrictionLaw::HazenWilliams => FrictionLaw::DarcyWeisbach,
        };
        assert!(solve(&network, &scenario(other)).is_ok());
    }
}
