//! How long this owner's jobs take, learned from those done.
//!
//! A job's log-ratio is `r = ln(actual hours / planned hours)`, planned without anything learned. With `n` jobs whose hours were
//! written down,
//!
//! ```text
//! times  = exp( Σ r / (n + 4) )                                        how many times the rubric's hours
//! spread = sqrt( (8·0.25² + Σ (r − ln times)²) / (8 + n) )             log-sd of a job about that
//! ```
//!
//! This is the posterior mean of a normal with known spread under a normal prior about 0 (no difference from the rubric) that is
//! worth four jobs, and the usual mean of a prior variance worth eight jobs and the observed one (shrinkage, as in any text on Bayesian
//! estimation of a normal mean and variance, such as DeGroot 1970, chapter 9). That the priors are worth four and eight
//! jobs, that an untried owner's jobs scatter by 0.25, and that a ratio beyond fourfold is taken as fourfold (a slip of the pen or
//! another job altogether), is judgement.

use crate::car::RepairDone;

/// Jobs that the prior of the mean is worth (judgement).
pub const MEAN_WORTH: f64 = 4.0;
/// Jobs that the prior of the spread is worth (judgement).
pub const SPREAD_WORTH: f64 = 8.0;
/// Log-sd of a home mechanic's hours without any trouble, before anything is learned (judgement).
pub const USUAL_SPREAD: f64 = 0.25;
/// A job counts as at most this many times its planned hours, or one part in as many (judgement).
pub const MOST_TIMES: f64 = 4.0;

/// What earlier jobs say of the hours of later ones.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct WorkPace {
    /// How many times the rubric's hours a job takes.
    pub times: f64,
    /// How many jobs told so.
    pub jobs: usize,
    /// Log-sd of a job's hours about that, threads aside.
    pub spread: f64,
}

impl Default for WorkPace {
    /// Nothing learned yet.
    fn default() -> Self {
        WorkPace {
            times: 1.0,
            jobs: 0,
            spread: USUAL_SPREAD,
        }
    }
}

/// Learns from the repairs done whose hours, planned and actual, are known. Hours that are not above zero say nothing.
#[must_use]
pub fn learn(done: &[RepairDone]) -> WorkPace {
    let ratio = |job: &RepairDone| {
        let (actual, planned) = (job.hours?, job.planned_hours?);
        let ratio = (actual / planned).ln();
        let told = actual > 0.0 && planned > 0.0 && ratio.is_finite();
        told.then(|| ratio.clamp(-MOST_TIMES.ln(), MOST_TIMES.ln()))
    };
    let ratios: Vec<f64> = done.iter().filter_map(ratio).collect();
    let jobs = ratios.len() as f64;
    let mean = ratios.iter().sum::<f64>() / (jobs + MEAN_WORTH);
    let about: f64 = ratios.iter().map(|r| (r - mean).powi(2)).sum();
    WorkPace {
        times: mean.exp(),
        jobs: ratios.len(),
        spread: ((SPREAD_WORTH * USUAL_SPREAD * USUAL_SPREAD + about) / (SPREAD_WORTH + jobs)).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use jiff::civil::date;

    fn job(planned: f64, actual: f64) -> RepairDone {
        RepairDone {
            hours: Some(actual),
            planned_hours: Some(planned),
            ..RepairDone::new(date(2026, 4, 1), "renew", "arm@front-left".parse().unwrap())
        }
    }

    #[test]
    fn nothing_done_is_the_rubrics_own_hours() {
        assert_eq!(learn(&[]), WorkPace::default());
        let untimed = RepairDone::new(date(2026, 4, 1), "renew", "arm@front-left".parse().unwrap());
        assert_eq!(learn(&[untimed, job(0.0, 3.0), job(2.0, 0.0)]), WorkPace::default());
    }

    #[test]
    fn four_jobs_go_half_the_way() {
        // n / (n + 4) = 1/2 in the logarithm: the square root of the ratio.
        let pace = learn(&vec![job(2.0, 4.0); 4]);
        assert!((pace.times - 2.0_f64.sqrt()).abs() < 1e-12, "{pace:?}");
        assert_eq!(pace.jobs, 4);
        // By hand: (8·0.0625 + 4·(ln 2 / 2)²) / 12 = 0.0817036…
        assert!(
            (pace.spread.powi(2) - (0.5 + 4.0 * 0.120_113_25) / 12.0).abs() < 1e-8,
            "{pace:?}"
        );
    }

    #[test]
    fn many_jobs_tell_nearly_everything_and_one_slip_little() {
        let pace = learn(&vec![job(3.0, 3.9); 200]);
        assert!((1.29..1.3).contains(&pace.times), "{pace:?}");
        assert!(pace.spread < 0.06, "{pace:?}");
        // Sixty hours written for six: as if it had been eight.
        assert_eq!(learn(&[job(2.0, 60.0)]), learn(&[job(2.0, 8.0)]));
    }

    #[test]
    fn it_does_not_depend_on_order_or_unit_and_more_hours_never_make_it_faster() {
        let some = [job(2.0, 3.0), job(4.0, 3.0), job(1.0, 1.7)];
        let mut back = some.clone();
        back.reverse();
        assert!((learn(&some).times - learn(&back).times).abs() < 1e-12);
        let minutes: Vec<RepairDone> = some
            .iter()
            .map(|j| job(j.planned_hours.unwrap() * 60.0, j.hours.unwrap() * 60.0))
            .collect();
        assert!((learn(&some).times - learn(&minutes).times).abs() < 1e-12);
        let mut last = 0.0;
        for tenths in 1..200 {
            let times = learn(&[job(2.0, 3.0), job(2.0, f64::from(tenths) / 10.0)]).times;
            assert!(times >= last, "{tenths}");
            last = times;
        }
    }
}
