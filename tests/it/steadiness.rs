//! How steady the grader is: published agreement tables, and scatters learned from drawn pairs.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;

use serde_json::Value;
use tinworm::engine::lives::GRADER_SD;
use tinworm::engine::steadiness::{Pair, Table, Weight, agreement, kappa, learned_sd, pair_chances, table};
use tinworm::rubric::USUAL_EDGES;
use tinworm::units::Grade;

fn pair(first: u64, second: u64, edges: [f64; 5]) -> Pair {
    let grade = |digit: u64| Grade::new(u8::try_from(digit).unwrap()).unwrap();
    Pair {
        edges,
        first: grade(first),
        second: grade(second),
    }
}

/// `tests/golden/kappa_tables.csv`; sources in its head.
fn published_tables() -> BTreeMap<String, Table> {
    let mut tables: BTreeMap<String, Table> = BTreeMap::new();
    let file = include_str!("../golden/kappa_tables.csv");
    for line in file.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let [name, first, second, count] = line.split(',').collect::<Vec<_>>()[..] else {
            panic!("{line}")
        };
        let (i, j): (usize, usize) = (first.parse().unwrap(), second.parse().unwrap());
        tables.entry(name.to_owned()).or_default()[i][j] = count.parse().unwrap();
    }
    tables
}

/// (table, weight, published, its decimals, recomputed by statsmodels and scikit-learn, standard error recomputed).
///
/// Published: Cohen 1968 as printed in the R package psych; Kundel and Polansky 2003 as in the page of the R package vcdExtra (standard
/// errors .06033 and .04923); the SAS example as in statsmodels' tests (.1380, .1457); Boyd 1982 (Altman 1991)
/// and Hout 1987 from memory; Fleiss, Cohen and Everitt 1969 not seen, recomputed only.
type Row = (&'static str, Weight, Option<(f64, i32)>, f64, Option<f64>);

const KAPPAS: [Row; 14] = [
    ("cohen_1968", Weight::Plain, Some((0.492, 3)), 0.491_525_423_7, None),
    (
        "kundel_polansky_2003",
        Weight::Plain,
        Some((0.3713, 4)),
        0.371_284_865_1,
        Some(0.060_333_2),
    ),
    (
        "kundel_polansky_2003",
        Weight::Linear,
        Some((0.5964, 4)),
        0.596_369_254_5,
        Some(0.049_229_6),
    ),
    (
        "kundel_polansky_2003",
        Weight::Quadratic,
        None,
        0.764_119_601_3,
        Some(0.039_960_9),
    ),
    (
        "sas_3x3",
        Weight::Plain,
        Some((0.4842, 4)),
        0.484_162_895_9,
        Some(0.1380),
    ),
    (
        "sas_3x3",
        Weight::Linear,
        Some((0.4701, 4)),
        0.470_119_521_9,
        Some(0.1457),
    ),
    ("sas_3x3", Weight::Quadratic, None, 0.450_160_771_7, None),
    ("boyd_1982", Weight::Plain, Some((0.4728, 4)), 0.472_789_115_6, None),
    ("boyd_1982", Weight::Linear, Some((0.5684, 4)), 0.568_399_044_2, None),
    ("boyd_1982", Weight::Quadratic, None, 0.671_370_578_0, None),
    ("hout_1987", Weight::Plain, Some((0.129, 3)), 0.129_330_254_3, None),
    ("hout_1987", Weight::Linear, Some((0.237, 3)), 0.237_380_627_6, None),
    ("hout_1987", Weight::Quadratic, None, 0.332_045_586_2, None),
    ("fleiss_cohen_everitt_1969", Weight::Plain, None, 0.428_571_428_6, None),
];

#[test]
fn kappas_are_those_published() {
    let tables = published_tables();
    assert_eq!(tables.len(), 6);
    for (name, weight, published, recomputed, error) in KAPPAS {
        let found = kappa(&tables[name], weight).unwrap();
        assert!(
            (found.value - recomputed).abs() < 1e-9,
            "{name} {weight:?}: {} for {recomputed}",
            found.value
        );
        if let Some((value, decimals)) = published {
            assert!(
                (found.value - value).abs() <= 0.5 * 10f64.powi(-decimals),
                "{name} {weight:?}: {}",
                found.value
            );
        }
        if let Some(error) = error {
            assert!(
                (found.error - error).abs() < 6e-5,
                "{name} {weight:?}: {} for {error}",
                found.error
            );
        }
        let mut turned = Table::default();
        tables[name]
            .iter()
            .enumerate()
            .for_each(|(i, row)| row.iter().enumerate().for_each(|(j, n)| turned[j][i] = *n));
        let turned = kappa(&turned, weight).unwrap();
        assert!((turned.value - found.value).abs() < 1e-12 && (turned.error - found.error).abs() < 1e-12);
    }
}

/// Two independent gradings of parts with damage uniform on [0, 1.1], bands .1 .3 .5 .7 .9: (σ, same grade, within one, kappa, linear,
/// quadratic), computed with scipy.
const AGREEMENTS: [[f64; 6]; 5] = [
    [0.04, 0.795_006, 0.999_979, 0.751_962, 0.887_249, 0.959_986],
    [0.06, 0.696_290, 0.998_091, 0.632_597, 0.832_073, 0.939_723],
    [0.08, 0.609_642, 0.987_301, 0.528_033, 0.779_052, 0.916_899],
    [0.10, 0.539_015, 0.964_048, 0.443_058, 0.728_377, 0.890_030],
    [0.15, 0.420_595, 0.872_354, 0.301_353, 0.612_634, 0.807_690],
];

#[test]
fn agreement_follows_from_the_scatter() {
    for [sd, same, within_one, plain, linear, quadratic] in AGREEMENTS {
        let chances = pair_chances(&[0.1, 0.3, 0.5, 0.7, 0.9], sd, 1.1);
        let share = |apart: usize| -> f64 {
            (0..36)
                .filter(|n| (n / 6usize).abs_diff(n % 6) <= apart)
                .map(|n| chances[n / 6][n % 6])
                .sum()
        };
        for (found, wanted) in [
            (share(5), 1.0),
            (share(0), same),
            (share(1), within_one),
            (kappa(&chances, Weight::Plain).unwrap().value, plain),
            (kappa(&chances, Weight::Linear).unwrap().value, linear),
            (kappa(&chances, Weight::Quadratic).unwrap().value, quadratic),
        ] {
            assert!((found - wanted).abs() < 1e-5, "{sd}: {found} for {wanted}");
        }
    }
}

/// `tests/golden/steadiness.json`: kappas by scikit-learn, scatters by scipy's quadrature and minimisation.
#[test]
fn drawn_pairs_agree_with_scikit_learn_and_scipy() {
    let golden: Value = serde_json::from_str(include_str!("../golden/steadiness.json")).unwrap();
    let cases = golden["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 8);
    for case in cases {
        let edges: Vec<f64> = case["edges"]
            .as_array()
            .unwrap()
            .iter()
            .map(|e| e.as_f64().unwrap())
            .collect();
        let edges: [f64; 5] = edges.try_into().unwrap();
        let pairs: Vec<Pair> = case["pairs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| pair(p[0].as_u64().unwrap(), p[1].as_u64().unwrap(), edges))
            .collect();
        let (agreement, sd) = (agreement(&pairs).unwrap(), learned_sd(&pairs));
        println!(
            "{:3} pairs drawn with {}: quadratic kappa {:.3} ± {:.3}, learned scatter {sd:.4}",
            pairs.len(),
            case["drawn_with"],
            agreement.quadratic.unwrap().value,
            agreement.quadratic.unwrap().error,
        );
        for (name, found) in [
            ("plain", agreement.plain),
            ("linear", agreement.linear),
            ("quadratic", agreement.quadratic),
        ] {
            assert!(
                (found.unwrap().value - case[name].as_f64().unwrap()).abs() < 1e-9,
                "{name}"
            );
        }
        let wanted = case["learned_sd"].as_f64().unwrap();
        assert!((sd / wanted - 1.0).abs() < 1e-3, "{sd} for {wanted}");
    }
}

#[test]
fn no_pairs_leave_the_usual_scatter_and_equal_ones_shrink_it() {
    assert!((learned_sd(&[]) - GRADER_SD).abs() < 1e-4);
    assert!(agreement(&[]).is_none());
    let same: Vec<Pair> = (0..60).map(|n| pair(n % 6, n % 6, USUAL_EDGES)).collect();
    let apart: Vec<Pair> = (0..60).map(|n| pair(n % 4, n % 4 + 2, USUAL_EDGES)).collect();
    let mut before = GRADER_SD;
    for n in [5, 20, 60] {
        let learned = learned_sd(&same[..n]);
        assert!(learned < before, "{n}: {learned}");
        before = learned;
    }
    assert!(
        before > 0.02 && learned_sd(&apart) > 0.2,
        "{before} {}",
        learned_sd(&apart)
    );
    let all = agreement(&same).unwrap();
    assert_eq!((all.pairs, all.same, all.within_one), (60, 1.0, 1.0));
    assert!((all.quadratic.unwrap().value - 1.0).abs() < 1e-12);
    // One grade throughout: chance would agree as well.
    assert!(agreement(&[pair(2, 2, USUAL_EDGES); 7]).unwrap().quadratic.is_none());
    assert_eq!(table(&[pair(1, 4, USUAL_EDGES); 3])[1][4], 3.0);
    // Edges that make no sense are left out rather than believed.
    assert!((learned_sd(&[pair(0, 5, [f64::NAN; 5]); 9]) - GRADER_SD).abs() < 1e-4);
}
