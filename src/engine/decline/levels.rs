//! The levels at which parts let go, and the chance of having passed one after a growth.
//!
//! That chance is smooth in y on the scale of the level's own spread. It is kept at every fourth cell where the spread is
//! four cells wide and more, at every second where it is narrower, and cubics run between (Lagrange's, through four
//! entries). Their error is at most 0.032·(step/spread)⁴, a few parts in 100,000.

use std::sync::OnceLock;

use super::kernels::{CELL, CELLS, Ladder};
use super::normal;
use super::rows::Row;
use super::scale::Scale;
use super::wide::dot;
use crate::rubric::LetsGo;

/// F of a level over the cells, and for each rung the chance that a part that holds now has let go after the growth.
#[derive(Debug)]
pub(super) struct LevelAhead {
    /// F at the cells.
    pub(super) let_go: Vec<f64>,
    pub(super) entries: Entries,
    at_end: Vec<f64>,
    after: Box<[OnceLock<Vec<f64>>]>,
}

impl LevelAhead {
    pub(super) fn new(level: &LetsGo, scale: &Scale, rungs: usize) -> LevelAhead {
        let let_go = let_go(level, scale);
        let last = let_go.last().copied().unwrap_or(1.0);
        let spread = level.spread * level.median * scale.slope(level.median) / CELL;
        let entries = Entries::new(if spread >= 16.0 {
            4
        } else if spread >= 6.0 {
            2
        } else {
            1
        });
        let at = |cell: usize| let_go.get(cell).copied().unwrap_or(last);
        let at_end = entries.cells().map(|y| chance(last - at(y), at(y))).collect();
        LevelAhead {
            let_go,
            entries,
            at_end,
            after: (0..rungs).map(|_| OnceLock::new()).collect(),
        }
    }

    /// (E F(y + growth) − F(y)) / (1 − F(y)) at the entries of a rung.
    pub(super) fn after(&self, rung: usize, ladder: &Ladder) -> &[f64] {
        let rung = rung.min(self.after.len() - 1);
        self.after[rung].get_or_init(|| {
            let growth = ladder.growth(rung);
            let last = self.let_go.last().copied().unwrap_or(1.0);
            let mut ends = self.let_go.clone();
            ends.resize(2 * CELLS + self.entries.step, last);
            self.entries
                .cells()
                .map(|y| {
                    let f = ends[y];
                    let moved = dot(&growth.cells, &ends[y + growth.first..]) + growth.beyond * last;
                    chance(moved - f, f)
                })
                .collect()
        })
    }

    /// The same when everything has gone to the end of the grid.
    pub(super) fn at_end(&self) -> &[f64] {
        &self.at_end
    }
}

/// Cells at even steps that stand for all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Entries {
    pub(super) step: usize,
    count: usize,
}

impl Entries {
    pub(super) fn new(step: usize) -> Entries {
        Entries {
            step,
            count: (CELLS - 1).div_ceil(step) + 1,
        }
    }

    fn cells(self) -> impl Iterator<Item = usize> {
        (0..self.count).map(move |nth| nth * self.step)
    }

    /// The first of the four entries a cell is read from, and what each counts.
    #[inline]
    fn reading(self, cell: usize) -> (usize, [f64; 4]) {
        // Steps are 1, 2 or 4: shifts are far quicker than divisions.
        let shift = self.step.trailing_zeros();
        let first = (cell >> shift).saturating_sub(1).min(self.count.saturating_sub(4));
        let t = (cell - (first << shift)) as f64 / self.step as f64;
        let (a, b, c, d) = (t, t - 1.0, t - 2.0, t - 3.0);
        (
            first,
            [b * c * d / -6.0, a * c * d / 2.0, a * b * d / -2.0, a * b * c / 6.0],
        )
    }

    /// What a table of entries says of a cell.
    #[inline]
    pub(super) fn at(self, table: &[f64], cell: usize) -> f64 {
        if self.step == 1 {
            return table.get(cell).copied().unwrap_or(1.0);
        }
        let (first, weights) = self.reading(cell);
        let of = table.get(first..).unwrap_or(&[]);
        weights.iter().zip(of).map(|(w, x)| w * x).sum()
    }

    /// A row gathered at the entries: its sum over a table of entries is that of the row over the cells.
    pub(super) fn gathered(self, row: &Row) -> Row {
        if self.step == 1 || row.cells.is_empty() {
            return row.clone();
        }
        let (first, _) = self.reading(row.first);
        let (end, _) = self.reading(row.first + row.cells.len() - 1);
        let mut cells = vec![0.0; end + 4 - first];
        for (i, mass) in row.cells.iter().enumerate() {
            let (at, weights) = self.reading(row.first + i);
            for (cell, weight) in cells[at - first..].iter_mut().zip(weights) {
                *cell += mass * weight;
            }
        }
        Row {
            first,
            cells,
            shift: 0.0,
        }
    }
}

/// Share of those that hold that have let go: `gained`/(1 − F), 1 where nothing can hold.
pub(super) fn chance(gained: f64, f: f64) -> f64 {
    if 1.0 - f < 1e-12 {
        1.0
    } else {
        (gained / (1.0 - f)).clamp(0.0, 1.0)
    }
}

/// F over the cells: log-normal distribution function of the damage, averaged over each cell.
///
/// The last cell takes everything beyond, however far: what has come there has let go, so F is 1 in it. Were it less, a
/// part that goes there at once would be less likely to let go the worse it is now.
pub(super) fn let_go(level: &LetsGo, scale: &Scale) -> Vec<f64> {
    const PARTS: usize = 4;
    let inside = |i: usize| {
        let inside = (0..PARTS).map(|p| {
            let y = (i as f64 + (p as f64 + 0.5) / PARTS as f64) * CELL;
            let_go_at(level, scale.damage(y))
        });
        inside.sum::<f64>() / PARTS as f64
    };
    (0..CELLS - 1).map(inside).chain([1.0]).collect()
}

/// F at a damage.
pub(super) fn let_go_at(level: &LetsGo, damage: f64) -> f64 {
    if damage <= 0.0 {
        return 0.0;
    }
    normal::below((damage / level.median.max(1e-6)).ln() / level.spread.max(1e-4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gathered_rows_sum_as_they_did() {
        let level = LetsGo {
            median: 1.1,
            spread: 0.2,
        };
        let scale = Scale::new(1.0);
        let wanted = let_go(&level, &scale);
        for step in [1, 2, 4] {
            let entries = Entries::new(step);
            let table: Vec<f64> = entries.cells().map(|c| wanted.get(c).copied().unwrap_or(1.0)).collect();
            for first in [0, 1, 57, 110, 380] {
                let row = Row {
                    first,
                    cells: vec![0.05; 20],
                    shift: 0.0,
                };
                let plain = dot(&row.cells, &wanted[first..]);
                let gathered = entries.gathered(&row);
                let got = dot(&gathered.cells, &table[gathered.first..]);
                assert!((got - plain).abs() < 2e-5, "{step} {first}: {got} for {plain}");
                let read = entries.at(&table, first + 3);
                assert!((read - wanted[first + 3]).abs() < 5e-5, "{step} {first}");
            }
        }
    }
}
