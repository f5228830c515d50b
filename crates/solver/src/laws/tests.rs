//! The fast forms against plain ones: bisection, brute force, differences.

use std::f64::consts::PI;

use super::critical::{energy, flow_at_energy, overflow_flow, overflow_head};
use super::friction::{Friction, G};
use crate::scenario::FrictionLaw;

/// Colebrook-White by bisection on 1/√f, as its source writes it.
fn colebrook_by_bisection(reynolds: f64, relative_roughness: f64) -> f64 {
    let (mut low, mut high) = (0.1_f64, 100.0_f64);
    for _ in 0..200 {
        let x = 0.5 * (low + high);
        if x + 2.0 * (relative_roughness / 3.7 + 2.51 * x / reynolds).log10() > 0.0 {
            high = x;
        } else {
            low = x;
        }
    }
    let x = 0.5 * (low + high);
    1.0 / (x * x)
}

#[test]
fn colebrook_solved_fast_is_colebrook_bisected() {
    let mut worst = 0.0_f64;
    for i in 0..=120 {
        let reynolds = 4000.0 * 10f64.powf(f64::from(i) / 12.0);
        for j in 0..=40 {
            let relative = if j == 0 { 0.0 } else { 1e-8 * (5e6_f64).powf(f64::from(j) / 40.0) };
            let fast = super::friction::friction_factor(reynolds, relative);
            let plain = colebrook_by_bisection(reynolds, relative);
            worst = worst.max((fast / plain - 1.0).abs());
        }
    }
    println!("worst {worst:e}");
    assert!(worst < 1e-14, "{worst:e}");
}

#[test]
fn critical_roundtrip() {
    let mut worst = 0.0_f64;
    let mut worst_d = 0.0_f64;
    for bore in [0.01, 0.1, 1.0] {
        for i in -3000..=120 {
            let flow = 10f64.powf(f64::from(i) / 20.0);
            let c = energy(bore, flow);
            for k in [0.0, 0.5, 3.0] {
                let (h, dh) = overflow_head(bore, k, flow);
                let (q, dq) = overflow_flow(bore, k, h);
                let e = (q / flow - 1.0).abs();
                if e > 1e-12 {
                    println!("{bore} {flow:e} {k} {e:e}");
                }
                worst = worst.max(e);
                worst_d = worst_d.max((dq * dh - 1.0).abs());
                let s = 1e-4;
                let d = (overflow_head(bore, k, flow * (1.0 + s)).0
                    - overflow_head(bore, k, flow * (1.0 - s)).0)
                    / (2.0 * s * flow);
                assert!((d / dh - 1.0).abs() < 1e-6, "{bore} {flow:e} {k} {d:e} {dh:e}");
            }
            let (q, _) = flow_at_energy(bore, c.energy_m);
            worst = worst.max((q / flow - 1.0).abs());
        }
    }
    println!("worst {worst:e} {worst_d:e}");
    assert!(worst < 1e-12 && worst_d < 1e-11);
    let c = energy(0.1, 1e-300);
    println!("{c:?}");
    println!("{:?}", energy(0.1, 1e6));
    println!("{:?}", flow_at_energy(0.1, 1e-300));
    println!("{:?}", flow_at_energy(0.1, 1e12));
    let _ = (PI, G);
}

#[test]
fn slopes() {
    for law in [FrictionLaw::DarcyWeisbach, FrictionLaw::HazenWilliams] {
        for rough in [0.0, 1.5e-6, 1e-3] {
            let f = Friction::new(law, 0.1, rough, 150.0, 1.30629e-6);
            println!(
                "{:?} {:?} {:?} {:?}",
                f.slope(0.0),
                f.slope(1e-300),
                f.slope(0.005),
                f.slope(1e6)
            );
            for i in 0..2000 {
                let q = 1e-6 * 10f64.powf(f64::from(i) / 2000.0 * 7.0);
                let (s, d) = f.slope(q);
                let h = 1e-5 * q;
                let fd = (f.slope(q + h).0 - f.slope(q - h).0) / (2.0 * h);
                assert!((fd / d - 1.0).abs() < 1e-4, "{q:e} {s} {d} {fd}");
            }
        }
    }
    let f = Friction::new(FrictionLaw::DarcyWeisbach, 0.1, 1.5e-6, 150.0, 1.30629e-6);
    let n = 3_000_000;
    let t = std::time::Instant::now();
    let mut sum = 0.0;
    for i in 0..n {
        let (a, b) = f.slope(0.004 + 1e-9 * f64::from(i));
        sum += a + b;
    }
    println!("slope {:?} ns {sum}", t.elapsed().as_nanos() as f64 / f64::from(n));
    let n = 300_000;
    let t = std::time::Instant::now();
    for i in 0..n {
        sum += energy(0.1, 0.004 + 1e-8 * f64::from(i)).energy_m;
    }
    println!("energy {:?} ns {sum}", t.elapsed().as_nanos() as f64 / f64::from(n));
    let t = std::time::Instant::now();
    for i in 0..n {
        sum += flow_at_energy(0.1, 0.04 + 1e-6 * f64::from(i)).0;
    }
    println!("inverse {:?} ns {sum}", t.elapsed().as_nanos() as f64 / f64::from(n));
}

#[test]
fn water() {
    for t in [0.01, 4.0, 10.0, 40.0] {
        println!(
            "{} {} {:e}",
            t,
            super::water::density_kg_per_m3(t),
            super::water::viscosity_m2_per_s(t)
        );
    }
}
