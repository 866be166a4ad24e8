//! Likelihoods of looks over the cells of y, shared by all checks.
//!
//! Most checks are graded by the same bands and the same eye: their looks differ in the grade and in the offset of the survey alone. What such a
//! look is worth in each cell is reckoned once. Readings differ from check to check and are reckoned where they are asked for.

use std::sync::{Arc, PoisonError, RwLock};

use super::kernels::{CELL, CELLS};
use super::look::Observation;
use super::outlook::ByWords;
use super::scale::Scale;

/// No more looks than this are kept.
const KEPT: usize = 2000;

/// Likelihoods in every cell, by the words of the look, its scale and offset.
type Known = ByWords<Arc<[f64]>>;

/// The likelihoods of looks met so far.
#[derive(Debug, Default)]
pub(super) struct Likelihoods {
    known: RwLock<Known>,
}

impl Likelihoods {
    /// The likelihood of a look in every cell, the cells `offset` above their place.
    pub(super) fn of(&self, seen: &Observation, scale: &Scale, offset: f64) -> Arc<[f64]> {
        let reckon = || -> Arc<[f64]> {
            (0..CELLS)
                .map(|cell| {
                    let y = cell as f64 * CELL + offset;
                    seen.likelihood(scale, y, y + CELL)
                })
                .collect()
        };
        if matches!(seen, Observation::Reading { .. }) {
            return reckon();
        }
        let mut key = seen.words();
        key.extend([scale.quickening().to_bits(), offset.to_bits()]);
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(found) = known.get(key.as_slice()) {
            return Arc::clone(found);
        }
        drop(known);
        let likelihoods = reckon();
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        if known.len() < KEPT {
            known.insert(key.into(), Arc::clone(&likelihoods));
        }
        likelihoods
    }
}
