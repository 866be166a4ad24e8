//! Is a change between two looks real, or the grader's own scatter?
//!
//! Each look alone, damage spread evenly on [0, 2] beforehand, gives a density of damage; the survey's offset is taken
//! off first. The change is real if P(later > earlier) ≥ 0.9 with both densities independent. The forecast's own rule
//! that damage never shrinks is left out on purpose: it would call every change real.

use super::decline::Observation;
use super::lives::Life;
use super::normal::cumulative;
use super::state::ChangeSeen;

const CELLS: u16 = 800;
const TOP: f64 = 2.0;

/// The change between the two newest looks of a life; `None` with fewer than two.
/// `keep` is asked for what was reckoned before under the same words.
pub(crate) fn change_between(
    life: &Life,
    offsets: &[f64],
    keep: impl FnOnce(Vec<u64>, &dyn Fn() -> f64) -> f64,
) -> Option<ChangeSeen> {
    let [.., from, to] = life.looks.as_slice() else {
        return None;
    };
    let offset = |back: usize| {
        offsets
            .len()
            .checked_sub(back)
            .and_then(|at| offsets.get(at))
            .copied()
            .unwrap_or(0.0)
    };
    let (a, b) = (offset(2), offset(1));
    let mut words = from.observation.words();
    words.push(a.to_bits());
    words.extend(to.observation.words());
    words.push(b.to_bits());
    let probability = keep(words, &|| chance_grown(&from.observation, a, &to.observation, b));
    Some(ChangeSeen {
        from_date: from.date,
        from: from.grade,
        to_date: to.date,
        to: to.grade,
        probability,
    })
}

/// P(damage at the later look > damage at the earlier), from the two looks alone.
#[must_use]
pub fn chance_grown(earlier: &Observation, earlier_offset: f64, later: &Observation, later_offset: f64) -> f64 {
    let (a, b) = (density(earlier, earlier_offset), density(later, later_offset));
    let mut below = 0.0;
    let mut chance = 0.0;
    for (x, y) in a.iter().zip(&b) {
        chance += y * (below + x / 2.0);
        below += x;
    }
    // Sums of rounded shares may pass 1 by their last digit.
    chance.clamp(0.0, 1.0)
}

/// Likelihood of a look over even cells of damage, scaled to sum to one.
fn density(seen: &Observation, offset: f64) -> Vec<f64> {
    let likelihood = |d: f64| {
        let d = d + offset;
        match seen {
            Observation::Grade { edges, grade, sd } => {
                let upper = edges.get(*grade).map_or(1.0, |e| cumulative((e - d) / sd));
                let lower = grade
                    .checked_sub(1)
                    .and_then(|g| edges.get(g))
                    .map_or(0.0, |e| cumulative((e - d) / sd));
                (upper - lower).max(0.0)
            }
            Observation::Reading { damage, sd } => (-0.5 * ((damage - d) / sd.max(0.003)).powi(2)).exp(),
            Observation::PastLimit { yes, sd } => {
                let past = 1.0 - cumulative((1.0 - d) / sd);
                if *yes { past } else { 1.0 - past }
            }
        }
    };
    let mut cells: Vec<f64> = (0..CELLS)
        .map(|c| likelihood((f64::from(c) + 0.5) / f64::from(CELLS) * TOP))
        .collect();
    let sum: f64 = cells.iter().sum();
    if sum > 0.0 {
        cells.iter_mut().for_each(|c| *c /= sum);
    } else {
        cells.fill(1.0 / f64::from(CELLS));
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rubric::USUAL_EDGES;

    fn grade(grade: usize) -> Observation {
        Observation::Grade {
            edges: USUAL_EDGES,
            grade,
            sd: 0.12,
        }
    }

    #[test]
    fn one_grade_may_be_scatter_and_two_are_real() {
        assert!((chance_grown(&grade(2), 0.0, &grade(2), 0.0) - 0.5).abs() < 1e-9);
        let one = chance_grown(&grade(1), 0.0, &grade(2), 0.0);
        let two = chance_grown(&grade(1), 0.0, &grade(3), 0.0);
        assert!(one > 0.75 && one < 0.9, "{one}");
        assert!(two > 0.97, "{two}");
        assert!(chance_grown(&grade(3), 0.0, &grade(1), 0.0) < 0.03);
    }

    /// Two readings with normal scatter: P = Φ(Δ / √(σ₁² + σ₂²)), here Φ(0.1 / 0.0707…) = Φ(1.41421) = 0.92135 (tables of
    /// the normal distribution).
    #[test]
    fn readings_agree_with_the_normal_law() {
        let reading = |damage| Observation::Reading { damage, sd: 0.05 };
        let p = chance_grown(&reading(0.5), 0.0, &reading(0.6), 0.0);
        assert!((p - 0.921_350).abs() < 1e-3, "{p}");
    }

    #[test]
    fn a_survey_graded_harder_throughout_makes_its_changes_less_real() {
        let plain = chance_grown(&grade(1), 0.0, &grade(3), 0.0);
        let harder = chance_grown(&grade(1), 0.0, &grade(3), 0.1);
        assert!(harder < plain);
    }
}
