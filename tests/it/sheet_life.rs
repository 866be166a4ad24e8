//! Remaining life of rusting sheet from two exact readings agrees with the corrosion-rate formulas of pressure-equipment
//! inspection: rate = (earlier − now) / years, life = (now − required) / rate.
//!
//! Figures from an inspectors' calculation exercise set (after API 510 and 570): see each line.

use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Prior, Start};
use tinworm::rubric::Quickened;

/// Median years until the required thickness, from two exact readings, with a vague prior and an even pace.
fn life(new: f64, required: f64, earlier: f64, now: f64, years: f64) -> f64 {
    let prior = Prior {
        life: 30.0,
        spread: 2.0,
        quickened: Quickened {
            share: 0.0,
            times: 5.0,
            spread: 0.8,
        },
        jumpiness: 0.0,
        quickening: 1.0,
    };
    let kernels = Kernels::default();
    let reading = |thickness: f64| Observation::Reading {
        damage: (thickness - new) / (required - new),
        sd: 0.002,
    };
    let mut filter = Filter::new(&prior, Start::Unknown, &kernels);
    filter.observe(&reading(earlier), 0.0);
    filter.advance(years);
    filter.observe(&reading(now), 0.0);
    filter
        .posterior(&CarFactor::none(), &[])
        .until(1.0, 0.5)
        .expect("within sight")
}

#[test]
fn two_exact_readings_give_the_inspectors_remaining_life() {
    // Example 6: now 0.198 in, required 0.150 in, rate 0.007 in a year: 6.9 years. Earlier reading ten years before.
    let years = life(0.300, 0.150, 0.268, 0.198, 10.0);
    assert!((years - 6.857).abs() < 0.07 * 1.5, "{years}");
    // Example 7: now 0.211 in, required 0.150 in, rate 0.003 in a year: 20.3 years.
    let years = life(0.300, 0.150, 0.241, 0.211, 10.0);
    assert!((years - 20.33).abs() < 0.5, "{years}");
    // Question 30: now 0.210 in, required 0.150 in, the faster rate 0.010 in a year: 6 years.
    let years = life(0.300, 0.150, 0.270, 0.210, 6.0);
    assert!((years - 6.0).abs() < 0.1, "{years}");
}
