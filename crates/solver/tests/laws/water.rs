//! Density and viscosity of water.

use wetrun_solver::laws::{Caution, water};
use wetrun_units::Temperature;

use crate::printed::{agrees, off_by};

/// The table of §2: IAPWS-95 density and IAPWS 2008 viscosity at 101.325 kPa. Library
/// (`iapws` 1.5.5). Our density comes from IAPWS SR6-08, which keeps within 4e-5 kg/m³ of
/// IAPWS-95 here: at the most one unit of the last digit printed.
#[test]
fn density_and_viscosity() {
    for (celsius, density, dynamic_mpa_s, kinematic_mm2_per_s) in [
        (0.01, "999.8438", "1.79113", "1.79141"),
        (2.0, "999.9430", "1.67352", "1.67361"),
        (4.0, "999.9749", "1.56729", "1.56733"),
        (5.0, "999.9666", "1.51817", "1.51822"),
        (8.0, "999.8510", "1.38472", "1.38493"),
        (10.0, "999.7025", "1.30590", "1.30629"),
        (12.0, "999.5003", "1.23404", "1.23466"),
        (15.0, "999.1026", "1.13757", "1.13859"),
        (18.0, "998.5986", "1.05267", "1.05415"),
        (20.0, "998.2072", "1.00160", "1.00340"),
        (25.0, "997.0476", "0.89002", "0.89266"),
        (30.0, "995.6495", "0.79722", "0.80071"),
        (35.0, "994.0333", "0.71913", "0.72344"),
        (40.0, "992.2164", "0.65273", "0.65785"),
    ] {
        let temperature = Temperature::celsius(celsius);
        let row = format!("§2, {celsius} °C");
        let found = water::density(temperature).to_kg_per_m3();
        off_by(&row, found, density, 1.0);
        let kinematic = water::viscosity(temperature).to_m2_per_s();
        agrees(&row, kinematic * 1e6, kinematic_mm2_per_s);
        agrees(&row, kinematic * found * 1e3, dynamic_mpa_s);
    }
}

/// Handbook viscosities (Maurer 2023, table 2.1; read) differ from IAPWS by −3.2 % to +2.6 %:
/// the scatter that a coarse table has, and no closer.
#[test]
fn handbook_viscosity_is_near() {
    for (celsius, handbook) in
        [(10.0, 1.311e-6), (15.0, 1.154e-6), (20.0, 1.023e-6), (30.0, 0.8210e-6), (40.0, 0.6751e-6)]
    {
        let found = water::viscosity(Temperature::celsius(celsius)).to_m2_per_s();
        assert!((found / handbook - 1.0).abs() < 0.033, "{celsius} °C: {found:e}");
    }
}

#[test]
fn range() {
    assert_eq!(water::range(Temperature::celsius(0.0)), None);
    assert_eq!(water::range(Temperature::celsius(40.0)), None);
    let hot = water::range(Temperature::celsius(41.0));
    assert_eq!(hot, Some(Caution::WaterTemperature { celsius: 41.0 }));
}
