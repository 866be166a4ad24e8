//! Likelihoods of looks over the cells of y, shared by all checks.
//!
//! Most checks are graded by the same bands and the same eye: their looks differ in the grade and in the offset of the survey alone. What such a
//! look is worth in each cell is reckoned once. Readings differ from check to check and are reckoned where they are asked for. The rows of
//! straight lines stand between the cells: for them a look is reckoned at 33 places within each.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::sync::{Arc, PoisonError, RwLock};

use super::kernels::{CELL, CELLS};
use super::look::Observation;
use super::outlook::ByWords;
use super::rows::Row;
use super::scale::Scale;
use super::wide::{dot, multiply};

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

/// Likelihood of a look over the cells.
pub(super) struct LikelihoodTable<'a> {
    seen: &'a Observation,
    scale: Scale,
    offset: f64,
    cells: Arc<[f64]>,
    /// The same with the cells standing at even places from half a cell below theirs to half a cell above.
    between: [OnceCell<Vec<f64>>; BETWEEN + 1],
}

/// So many places within a cell; between two of them a likelihood whose scatter is one cell is straight to one part in 8,000.
const BETWEEN: usize = 32;

impl<'a> LikelihoodTable<'a> {
    pub(super) fn new(seen: &'a Observation, scale: Scale, offset: f64, known: &Likelihoods) -> Self {
        LikelihoodTable {
            seen,
            scale,
            offset,
            cells: known.of(seen, &scale, offset),
            between: [const { OnceCell::new() }; BETWEEN + 1],
        }
    }

    /// The likelihoods at a row's own cells, which may stand between those of the grid.
    pub(super) fn of(&self, row: &Row) -> Cow<'_, [f64]> {
        if row.shift == 0.0 {
            return Cow::Borrowed(self.cells.get(row.first..).unwrap_or(&[]));
        }
        let cells = row.first..row.first + row.cells.len();
        if row.cells.len() <= BETWEEN {
            return cells.map(|i| self.at(i, row.shift)).collect();
        }
        // Straight between two of the places in a cell at which all likelihoods are known.
        let place = (row.shift / CELL + 0.5).clamp(0.0, 1.0) * BETWEEN as f64;
        let below = (place as usize).min(BETWEEN - 1);
        let share = place - below as f64;
        let table = |nth: usize| {
            let shift = (nth as f64 / BETWEEN as f64 - 0.5) * CELL;
            let of_cells = || (0..CELLS).map(|i| self.at(i, shift)).collect();
            let table: &Vec<f64> = self.between[nth].get_or_init(of_cells);
            table.get(cells.clone()).unwrap_or(&[])
        };
        let pairs = table(below).iter().zip(table(below + 1));
        pairs.map(|(low, high)| low + share * (high - low)).collect()
    }

    /// The likelihood in a cell that stands so much above its place.
    fn at(&self, cell: usize, shift: f64) -> f64 {
        let y = cell as f64 * CELL + self.offset + shift;
        self.seen.likelihood(&self.scale, y, y + CELL)
    }

    /// What a row would weigh after the look.
    pub(super) fn chance(&self, row: &Row) -> f64 {
        dot(&row.cells, &self.of(row))
    }

    pub(super) fn multiply(&self, row: &mut Row) {
        let likelihoods = self.of(row);
        multiply(&mut row.cells, &likelihoods);
    }
}

/// Multiplies rows by a look; for posteriors that ask what one more look would say.
pub(super) fn multiply_rows<'a>(
    rows: impl Iterator<Item = &'a mut Row>,
    seen: &Observation,
    scale: Scale,
    known: &Likelihoods,
) {
    let table = LikelihoodTable::new(seen, scale, 0.0, known);
    rows.for_each(|row| table.multiply(row));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows that stand between the cells, as straight lines do: looked up against reckoned cell by cell.
    #[test]
    fn likelihoods_between_cells_are_those_reckoned_there() {
        let scale = Scale::new(1.0);
        let known = Likelihoods::default();
        let mut worst = 0.0f64;
        for seen in [
            Observation::Grade {
                edges: crate::rubric::USUAL_EDGES,
                grade: 3,
                sd: 0.05,
            },
            Observation::Reading { damage: 0.7, sd: 0.02 },
        ] {
            let table = LikelihoodTable::new(&seen, scale, 0.013, &known);
            let most = (0..CELLS).map(|i| table.at(i, 0.0)).fold(0.0, f64::max);
            for shift in [-0.5, -0.31, 0.017, 0.26, 0.499] {
                let row = Row {
                    first: 40,
                    cells: vec![0.01; 100],
                    shift: shift * CELL,
                };
                let got = table.of(&row);
                assert_eq!(got.len(), row.cells.len());
                for (i, got) in (row.first..).zip(got.iter()) {
                    worst = worst.max((got - table.at(i, row.shift)).abs() / most);
                }
            }
        }
        assert!(worst < 1.0 / 8000.0, "{worst}");
    }
}
