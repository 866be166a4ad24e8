//! What the program computes of corrosion and risk, row by row against the tables of standards.
#![allow(clippy::unwrap_used, clippy::panic)]

use tinworm::engine::RiskLevel::{self, High, Low, Medium, Serious};
use tinworm::engine::clock::{attack, climate_ratio};
use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Prior, Start};
use tinworm::engine::harm::{points_a_year, risk_level, weight};
use tinworm::rubric::{CheckKind, Class, Quickened, Severity, builtin};

/// ISO 9224:2012, t^b to 20 years: (metal and exponent's name, b, [(years, table 3)]).
const ATTACK: [(&str, f64, &[(f64, f64)]); 6] = [
    (
        "steel B1",
        0.523,
        &[(2.0, 1.437), (5.0, 2.320), (10.0, 3.334), (15.0, 4.122), (20.0, 4.791)],
    ),
    (
        "steel B2",
        0.575,
        &[(2.0, 1.490), (5.0, 2.523), (10.0, 3.758), (15.0, 4.745), (20.0, 5.599)],
    ),
    ("zinc B1", 0.813, &[(10.0, 6.501), (20.0, 11.422)]),
    ("zinc B2", 0.873, &[(20.0, 13.671)]),
    ("aluminium B1", 0.728, &[(10.0, 5.346), (20.0, 8.854)]),
    ("copper B1", 0.667, &[(20.0, 7.375)]),
];

/// ISO 9224:2012, equation 3, the tangent at 20 years (table 3 prints the power law there, which is less): computed from the formula.
const TANGENT: [(f64, f64, f64); 6] = [
    (0.523, 25.0, 5.418),
    (0.523, 30.0, 6.044),
    (0.523, 50.0, 8.550),
    (0.575, 25.0, 6.404),
    (0.575, 30.0, 7.208),
    (0.575, 50.0, 10.428),
];

#[test]
fn attack_is_that_of_iso_9224() {
    for (metal, exponent, rows) in ATTACK {
        for (years, wanted) in rows {
            let found = attack(*years, exponent);
            assert!(
                (found - wanted).abs() < 0.001,
                "{metal}, {years} years: {found} for {wanted}"
            );
        }
    }
    for (exponent, years, wanted) in TANGENT {
        let found = attack(years, exponent);
        assert!(
            (found - wanted).abs() < 0.001,
            "{exponent}, {years} years: {found} for {wanted}"
        );
        assert!(found > years.powf(exponent), "the tangent is the careful one");
    }
    assert_eq!(
        (attack(0.0, 0.523), attack(-3.0, 0.523), attack(1.0, 0.575)),
        (0.0, 0.0, 1.0)
    );
}

/// Greatest attack on carbon steel, µm: upper limit of the class times t^0.523 (ISO 9223:2012 table 2, ISO 9224:2012 table 3):
/// 1, 2, 5, 10, 15 and 20 years.
const GREATEST: [(&str, [f64; 6]); 6] = [
    ("C1", [1.3, 1.9, 3.0, 4.3, 5.4, 6.2]),
    ("C2", [25.0, 36.0, 58.0, 83.0, 103.0, 120.0]),
    ("C3", [50.0, 72.0, 116.0, 167.0, 206.0, 240.0]),
    ("C4", [80.0, 115.0, 186.0, 267.0, 330.0, 383.0]),
    ("C5", [200.0, 287.0, 464.0, 667.0, 824.0, 958.0]),
    ("CX", [700.0, 1006.0, 1624.0, 2334.0, 2885.0, 3354.0]),
];

#[test]
fn the_shipped_climates_are_the_classes_of_iso_9223() {
    let library = builtin::library();
    let mut below = None;
    for (class, row) in GREATEST {
        let climate = library.climate(class).unwrap();
        for (years, wanted) in [1.0, 2.0, 5.0, 10.0, 15.0, 20.0].into_iter().zip(row) {
            let found = climate.loss_to * attack(years, 0.523);
            let digit = if wanted < 10.0 { 0.051 } else { 0.51 };
            assert!(
                (found - wanted).abs() < digit,
                "{class}, {years} years: {found} for {wanted}"
            );
        }
        // Each class begins where the one below it ends.
        if let Some(below) = below {
            assert_eq!(climate.loss_from, below, "{class}");
        }
        below = Some(climate.loss_to);
        let ratio = (climate.loss_from * climate.loss_to).sqrt() / (25.0f64 * 50.0).sqrt();
        assert!((climate_ratio(library, class) - ratio).abs() < 1e-12, "{class}");
    }
    assert_eq!(climate_ratio(library, "C3"), 1.0);
}

/// Corrosion rates and remaining lives of pressure-equipment inspection (after API 510 and 570), inches and years: from an
/// inspectors' calculation exercise set, its example numbers given, and from questions 29 and 30 of an API 570 exam set.
/// (where, thickness at first, thickness now, years between, required, rate, remaining life)
const SHEET: [(&str, f64, f64, f64, Option<f64>, f64, Option<f64>); 9] = [
    ("example 1", 0.400, 0.260, 20.0, None, 0.007, None),
    ("example 2", 0.750, 0.675, 15.0, None, 0.005, None),
    ("example 3", 0.480, 0.410, 22.0, None, 0.003_18, None),
    ("example 5", 0.565, 0.521, 4.417, None, 0.009_96, None),
    ("example 6", 0.268, 0.198, 10.0, Some(0.150), 0.007, Some(6.9)),
    ("example 7", 0.241, 0.211, 10.0, Some(0.150), 0.003, Some(20.3)),
    ("example 10, short", 0.742, 0.718, 6.0, None, 0.004, None),
    ("question 29", 0.375, 0.255, 20.0, None, 0.006, None),
    ("question 30", 0.270, 0.210, 6.0, Some(0.150), 0.010, Some(6.0)),
];

#[test]
fn two_exact_readings_give_the_inspectors_rates_and_lives() {
    let kernels = Kernels::new();
    for (where_, first, now, years, required, rate, life) in SHEET {
        // Where the source asks for no life, the limit lies so that what was lost is most of the way: the grid is 0.01 fine.
        let required = required.unwrap_or(now - 0.2 * (first - now));
        let new = first + 0.3 * (first - now);
        let reading = |thickness: f64| Observation::Reading {
            damage: (thickness - new) / (required - new),
            sd: 0.001,
        };
        let prior = Prior {
            life: 30.0,
            spread: 2.0,
            quickened: Quickened {
                share: 0.0,
                ..Quickened::default()
            },
            jumpiness: 0.0,
            quickening: 1.0,
        };
        let mut filter = Filter::new(&prior, Start::Unknown, &kernels);
        filter.observe(&reading(first), 0.0);
        filter.advance(years);
        filter.observe(&reading(now), 0.0);
        let known = filter.posterior(&CarFactor::none(), &[]);
        let found = known.rate(0.5) * (new - required);
        assert!((found / rate - 1.0).abs() < 0.02, "{where_}: {found} a year for {rate}");
        if let Some(life) = life {
            let found = known.until(1.0, 0.5).unwrap();
            assert!((found / life - 1.0).abs() < 0.02, "{where_}: {found} years for {life}");
        }
    }
}

/// Rusted areas of the photographs of ISO 4628-3, per cent, Ri 1 to Ri 5 (from memory; Ri 5 is 40 to 50), with the grade of ASTM
/// D610-08 table 1 for that area: upper limits of its grades 10 to 1, per cent, included.
const RI: [(f64, u8); 5] = [(0.05, 8), (0.5, 6), (1.0, 6), (8.0, 4), (40.0, 1)];
const D610: [f64; 10] = [0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 16.0, 33.0, 50.0];

/// The grade of ASTM D610 for a rusted area: 10 less the limits it exceeds.
fn d610(area: f64) -> u8 {
    10 - u8::try_from(D610.iter().filter(|limit| area > **limit).count()).unwrap()
}

/// The program computes no rusted area: it is the yardstick of a graded check, in words. The words must be those areas.
#[test]
fn the_rubric_of_surface_rust_uses_the_areas_of_iso_4628_3() {
    for (area, grade) in [
        (0.01, 10),
        (0.02, 9),
        (0.1, 8),
        (0.5, 6),
        (1.0, 6),
        (8.0, 4),
        (10.0, 4),
        (45.0, 1),
        (51.0, 0),
    ] {
        assert_eq!(d610(area), grade, "{area} %");
    }
    let library = builtin::library();
    let check = library.check("cross-brace", "finish").unwrap();
    let CheckKind::Graded(words) = &check.kind else {
        panic!("graded")
    };
    for (nth, (area, astm)) in RI.iter().enumerate() {
        let words = &words[nth + 1];
        assert!(
            words.contains(&format!("{area} %")) && words.contains(&format!("Ri {}", nth + 1)),
            "{words}"
        );
        assert_eq!(d610(*area), *astm);
    }
    assert!(words[0].contains("Ri 0"));
    for told in ["8 % grade 4", "40 % grade 1"] {
        assert!(check.how.contains(told), "{}", check.how);
    }
}

/// MIL-STD-882E table III, rows A to E, columns I to IV (its row F, eliminated, cannot be reached: a probability is never nil), with a
/// probability inside each level of its Appendix A, table A-II, and the lowest of each level.
const MATRIX: [([f64; 2], [RiskLevel; 4]); 5] = [
    ([0.5, 1e-1], [High, High, Serious, Medium]),
    ([0.05, 1e-2], [High, High, Serious, Medium]),
    ([0.005, 1e-3], [High, Serious, Medium, Low]),
    ([1e-4, 1e-6], [Serious, Medium, Medium, Low]),
    ([1e-7, 0.0], [Medium, Medium, Medium, Low]),
];

#[test]
fn the_risk_matrix_is_table_iii_cell_by_cell() {
    let severities = [
        Severity::Catastrophic,
        Severity::Critical,
        Severity::Marginal,
        Severity::Negligible,
    ];
    for (probabilities, row) in MATRIX {
        for (severity, level) in severities.into_iter().zip(row) {
            for p in probabilities {
                assert_eq!(risk_level(severity, p), level, "{severity:?} at {p}");
            }
        }
    }
    // One decade a step, as the standard's money thresholds (10 M, 1 M, 100 k); COM(2012) 382, Annex I.
    assert_eq!(severities.map(weight), [1000.0, 100.0, 10.0, 1.0]);
    assert_eq!(
        [Class::Minor, Class::Major, Class::Dangerous].map(points_a_year),
        [1.0, 10.0, 40.0]
    );
}
