//! One survey, one eye: how much harder a whole survey was graded than those before it.
//!
//! The offset o of a survey, normal(0, 0.06) in damage beforehand, is found together with the car's pace A, since a car that goes
//! faster than usual and an eye that grades harder look alike at the second survey. With the checks i of each driver d,
//!
//! ```text
//! ln P(o | looks) = ln prior(o) + Σ_d ln Σ_A prior(A) · Π_i P(looks before | A) · P(look now | A, o, looks before) + constant
//! ```
//!
//! the sum over ln A ~ normal(0, 0.4) by five-point Gauss-Hermite quadrature. What a part is corrected by comes from all
//! *other* parts, as its pace does: its own worse grade can then never excuse itself, nor make its other checks look better.
//! An instrument has no eye: readings neither tell of the offset nor are corrected.

use std::collections::BTreeMap;

/// Offsets tried, in standard deviations of the prior: −3 to 3.
const STEPS: i32 = 9;

/// Points of ln A in standard deviations, and their weights: five-point Gauss-Hermite quadrature for the normal
/// distribution (Abramowitz and Stegun, table 25.10, rescaled).
pub(crate) const PACES: [(f64, f64); 5] = [
    (-2.856_970_013_872_806, 0.011_257_411_327_720_69),
    (-1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_266, 0.222_075_922_005_612_6),
    (2.856_970_013_872_806, 0.011_257_411_327_720_69),
];

/// The offsets tried, for a prior of this standard deviation.
pub(crate) fn offsets_tried(sd: f64) -> Vec<f64> {
    (-STEPS..=STEPS)
        .map(|s| 3.0 * sd * f64::from(s) / f64::from(STEPS))
        .collect()
}

/// What one check tells.
pub(crate) struct Told {
    /// Its part.
    pub(crate) part: usize,
    /// Its driver.
    pub(crate) driver: usize,
    /// ln P(looks before | A) at each of the paces.
    pub(crate) before: Option<Vec<f64>>,
    /// ln P(look now | A, o), pace by pace, each at all offsets; none if it was not graded now and before.
    pub(crate) now: Option<Vec<f64>>,
}

/// The mean offset of a survey.
pub(crate) struct Offset {
    /// From all checks.
    pub(crate) all: f64,
    /// For each part that tells something, from all other parts.
    pub(crate) without: BTreeMap<usize, f64>,
    /// How many checks were graded now and before.
    pub(crate) checks: usize,
}

/// Numbers by driver: sums of logs pace by pace, each at all offsets, or what they come to at each offset.
type Sums = BTreeMap<usize, Vec<f64>>;

fn add(sums: &mut Sums, told: &Told, tried: usize) {
    let sum = sums
        .entry(told.driver)
        .or_insert_with(|| vec![0.0; PACES.len() * tried]);
    for (nth, row) in sum.chunks_mut(tried).enumerate() {
        let before = told.before.as_ref().and_then(|b| b.get(nth)).copied().unwrap_or(0.0);
        row.iter_mut().for_each(|s| *s += before);
    }
    if let Some(now) = &told.now {
        sum.iter_mut().zip(now).for_each(|(s, l)| *s += l);
    }
}

/// Finds the offset, tried at `tried`, whose prior has this standard deviation.
pub(crate) fn find(told: &[Told], tried: &[f64], sd: f64) -> Offset {
    let mut all = Sums::new();
    let mut own: BTreeMap<usize, Sums> = BTreeMap::new();
    for one in told {
        add(&mut all, one, tried.len());
        add(own.entry(one.part).or_default(), one, tried.len());
    }
    let said: Sums = (all.iter())
        .map(|(driver, sum)| (*driver, over_paces(sum, tried.len())))
        .collect();
    let without = own.iter().map(|(part, own)| {
        // A part mostly tells of one or two drivers; what is said of the others stays.
        let mut rest = said.clone();
        for (driver, sum) in own {
            if let (Some(all), Some(rest)) = (all.get(driver), rest.get_mut(driver)) {
                let others: Vec<f64> = all.iter().zip(sum).map(|(a, s)| a - s).collect();
                *rest = over_paces(&others, tried.len());
            }
        }
        (*part, mean(&rest, tried, sd))
    });
    Offset {
        without: without.collect(),
        all: mean(&said, tried, sd),
        checks: told.iter().filter(|one| one.now.is_some()).count(),
    }
}

/// ln Σ_A prior(A)·exp(sum) at each offset.
fn over_paces(sum: &[f64], tried: usize) -> Vec<f64> {
    let logs = PACES.map(|(_, weight)| weight.ln());
    let at = |offset: usize| {
        let terms = || {
            sum.chunks(tried)
                .zip(logs)
                .filter_map(|(row, w)| Some(row.get(offset)? + w))
        };
        let top = terms().fold(f64::NEG_INFINITY, f64::max);
        top + terms().map(|t| (t - top).exp()).sum::<f64>().ln()
    };
    (0..tried).map(at).collect()
}

/// The posterior mean, from what each driver says at each offset.
fn mean(said: &Sums, tried: &[f64], sd: f64) -> f64 {
    let mut logs: Vec<f64> = tried.iter().map(|o| -0.5 * (o / sd).powi(2)).collect();
    for one in said.values() {
        logs.iter_mut().zip(one).for_each(|(log, said)| *log += said);
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (mut weights, mut sum) = (0.0, 0.0);
    for (offset, log) in tried.iter().zip(&logs) {
        let weight = (log - top).exp();
        weights += weight;
        sum += weight * offset;
    }
    if weights > 0.0 { sum / weights } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SD: f64 = 0.06;

    /// A check whose look is normal about o + s·ln A with standard deviation 0.1, seen at 0.15.
    fn seen(part: usize, driver: usize, slope: f64) -> Told {
        let now = PACES.iter().flat_map(|(z, _)| {
            offsets_tried(SD)
                .into_iter()
                .map(move |o| -0.5 * ((0.15 - o - slope * 0.4 * z) / 0.1).powi(2))
        });
        Told {
            part,
            driver,
            before: None,
            now: Some(now.collect()),
        }
    }

    /// Without a pace the posterior of normal looks is known: mean n·0.15/0.01 / (n/0.01 + 1/0.0036).
    #[test]
    fn normal_looks_give_the_mean_of_the_textbook() {
        for n in [1, 2, 4] {
            let told: Vec<Told> = (0..n).map(|part| seen(part, 1, 0.0)).collect();
            let found = find(&told, &offsets_tried(SD), SD);
            let mean = |n: f64| n * 0.15 / 0.01 / (n / 0.01 + 1.0 / 0.0036);
            assert!(
                (found.all - mean(n as f64)).abs() < 0.002,
                "{} {}",
                found.all,
                mean(n as f64)
            );
            for offset in found.without.values() {
                assert!((offset - mean(n as f64 - 1.0)).abs() < 0.002, "{offset}");
            }
        }
    }

    /// Looks that a pace explains as well: with n looks normal about o + s·ln A the sum o + s·ln A is known to 0.1/√n, and the two share
    /// it as their variances, 0.0036 against (0.4·s)².
    #[test]
    fn a_fast_car_shares_what_an_eye_would_else_explain() {
        let (n, slope) = (16, 0.15);
        let told: Vec<Told> = (0..n).map(|part| seen(part, 1, slope)).collect();
        let found = find(&told, &offsets_tried(SD), SD).all;
        let wanted = 0.15 * 0.0036 / (0.0036 + 0.0036 + 0.01 / 16.0);
        assert!((found - wanted).abs() < 0.01, "{found} for {wanted}");
        assert!(find(&[], &offsets_tried(SD), SD).all.abs() < 1e-12);
    }
}
