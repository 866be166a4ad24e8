//! What a look says of the damage: likelihood of a grade, a reading or an answer.

use super::normal::{band_over_cell, between, density};
use super::scale::Scale;

/// One look at a check, in damage d (0 new, 1 at the limit).
#[derive(Debug, Clone, PartialEq)]
pub enum Observation {
    /// A grade: Φ((b₍g+1₎ − d)/sd) − Φ((b₍g₎ − d)/sd).
    Grade {
        /// The five inner edges of the six bands, in damage, rising.
        edges: [f64; 5],
        /// The grade, 0 best to 5 worst; larger counts as 5.
        grade: usize,
        /// Scatter of grading, in damage.
        sd: f64,
    },
    /// A reading: normal density, its sd carried to y by φ'.
    Reading {
        /// Damage read.
        damage: f64,
        /// Standard deviation of the reading, in damage.
        sd: f64,
    },
    /// An answer to "is it past its limit?": Φ((d − 1)/sd) for yes.
    PastLimit {
        /// Whether the answer was yes.
        yes: bool,
        /// Scatter of the answer, in damage.
        sd: f64,
    },
}

/// No look is sharper than this, in damage.
const SHARPEST: f64 = 1e-4;

impl Observation {
    /// What sets it apart from others, exactly.
    pub(crate) fn words(&self) -> Vec<u64> {
        match self {
            Observation::Grade { edges, grade, sd } => {
                let mut words = vec![1, *grade as u64, sd.to_bits()];
                words.extend(edges.map(f64::to_bits));
                words
            }
            Observation::Reading { damage, sd } => vec![2, damage.to_bits(), sd.to_bits()],
            Observation::PastLimit { yes, sd } => vec![3, u64::from(*yes), sd.to_bits()],
        }
    }

    /// Likelihood in a cell of y: at its middle if the look is no sharper than the cell, or else averaged over it.
    ///
    /// Sums over middles are exact to a part in 10⁸ for normal curves as wide as a cell; averages would add the cell's own
    /// scatter once more.
    pub(super) fn likelihood(&self, scale: &Scale, from: f64, to: f64) -> f64 {
        match self {
            Observation::Grade { edges, grade, sd } => {
                let grade = (*grade).min(5);
                let lower = grade
                    .checked_sub(1)
                    .and_then(|i| edges.get(i))
                    .copied()
                    .unwrap_or(f64::NEG_INFINITY);
                let upper = edges.get(grade).copied().unwrap_or(f64::INFINITY);
                band_over_cell(lower, upper, sound(*sd), scale.damage(from), scale.damage(to))
            }
            Observation::PastLimit { yes, sd } => {
                let (lower, upper) = if *yes {
                    (1.0, f64::INFINITY)
                } else {
                    (f64::NEG_INFINITY, 1.0)
                };
                band_over_cell(lower, upper, sound(*sd), scale.damage(from), scale.damage(to))
            }
            Observation::Reading { damage, sd } => {
                let (centre, slope) = (scale.y(*damage), scale.slope(*damage));
                let spread = sound(*sd) * slope;
                let (low, high) = ((from - centre) / spread, (to - centre) / spread);
                let width = to - from;
                let per_y = if width <= spread || width < 1e-12 {
                    density(0.5 * (low + high)) / spread
                } else {
                    between(low, high) / width
                };
                per_y * slope
            }
        }
    }
}

fn sound(sd: f64) -> f64 {
    if sd.is_finite() { sd.max(SHARPEST) } else { 10.0 }
}
