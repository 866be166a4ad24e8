//! Mass over y at one rate, and how it moves.

use super::kernels::{CELL, CELLS, Growth, Ladder, Place};
use super::wide::{add_scaled, convolve, sum};

/// Mass over y at one rate: filled cells from `first` on, all of them `shift` above their place.
///
/// `shift` is zero unless the path is a straight line (κ = 0); then it keeps what is less than a cell, so that a line stays a
/// line however often it is moved.
#[derive(Debug, Clone, Default)]
pub(super) struct Row {
    pub(super) first: usize,
    pub(super) cells: Vec<f64>,
    pub(super) shift: f64,
}

impl Row {
    pub(super) fn total(&self) -> f64 {
        sum(&self.cells)
    }

    /// Mass in cells with their index, split over two cells where the row is shifted.
    pub(super) fn for_each_cell(&self, mut f: impl FnMut(usize, f64)) {
        let share = self.shift / CELL;
        for (i, mass) in self.cells.iter().enumerate() {
            let i = i + self.first;
            if share > 0.0 {
                f(i, mass * (1.0 - share));
                f((i + 1).min(CELLS - 1), mass * share);
            } else if share < 0.0 {
                f(i, mass * (1.0 + share));
                f(i.saturating_sub(1), -mass * share);
            } else {
                f(i, *mass);
            }
        }
    }

    /// Adds `weight` times the masses to those of all cells.
    pub(super) fn add_to(&self, cells: &mut [f64], weight: f64) {
        if self.shift == 0.0 {
            add_scaled(cells.get_mut(self.first..).unwrap_or_default(), &self.cells, weight);
        } else {
            self.for_each_cell(|i, mass| cells[i] += weight * mass);
        }
    }

    /// Gives back room that is not needed.
    pub(super) fn tighten(&mut self) {
        if self.cells.capacity() > self.cells.len() + self.cells.len() / 4 {
            self.cells.shrink_to_fit();
        }
    }

    /// Drops thin cells at both ends, below this mass.
    pub(super) fn trim(&mut self, below: f64) {
        let Some(last) = self.cells.iter().rposition(|m| *m > below) else {
            self.cells.clear();
            return;
        };
        self.cells.truncate(last + 1);
        let thin = self.cells.iter().position(|m| *m > below).unwrap_or(0);
        self.cells.drain(..thin);
        self.first += thin;
    }

    /// Moves everything up by exactly `growth`.
    pub(super) fn shift_by(&mut self, growth: f64) {
        let up = self.shift + growth;
        let whole = (up / CELL + 0.5).floor();
        self.shift = up - whole * CELL;
        let last = CELLS - 1;
        let first = self.first as f64 + whole;
        if first >= last as f64 {
            let total = self.total();
            self.cells.clear();
            self.cells.push(total);
            self.first = last;
            self.shift = 0.0;
            return;
        }
        self.first = first.max(0.0) as usize;
        let room = CELLS - self.first;
        if self.cells.len() > room {
            let over: f64 = self.cells[room..].iter().sum();
            self.cells.truncate(room);
            if let Some(end) = self.cells.last_mut() {
                *end += over;
            }
        }
    }
}

/// Room for moving rows, used again and again.
#[derive(Debug)]
pub(super) struct Mover {
    kernel: Vec<f64>,
    out: Vec<f64>,
}

impl Mover {
    pub(super) fn new() -> Mover {
        Mover {
            kernel: Vec::new(),
            out: Vec::new(),
        }
    }

    /// The kernel at a place: first index and mass beyond the grid; the masses are in `self.kernel`.
    fn mix(&mut self, a: Option<(&Growth, f64)>, b: Option<(&Growth, f64)>, stays: f64) -> (usize, f64) {
        let parts = || [a, b].into_iter().flatten();
        let mut first = parts().map(|(g, _)| g.first).min().unwrap_or(0);
        if stays > 0.0 {
            first = 0;
        }
        let end = parts()
            .map(|(g, _)| g.first + g.cells.len())
            .max()
            .unwrap_or(1)
            .max(first + 1);
        self.kernel.clear();
        self.kernel.resize(end - first, 0.0);
        if stays > 0.0 {
            self.kernel[0] += stays;
        }
        let mut beyond = 0.0;
        for (growth, share) in parts() {
            let at = growth.first - first;
            add_scaled(&mut self.kernel[at..], &growth.cells, share);
            beyond += share * growth.beyond;
        }
        (first, beyond)
    }

    /// Moves a row of filled cells.
    pub(super) fn spread(&mut self, row: &mut Row, ladder: &Ladder, place: Place) {
        let total = row.total();
        if row.cells.is_empty() || total <= 0.0 {
            return;
        }
        let (first, beyond) = match place {
            Place::Above => {
                row.cells.clear();
                row.cells.push(total);
                row.first = CELLS - 1;
                return;
            }
            Place::Below(share) => self.mix(Some((ladder.growth(0), share)), None, 1.0 - share),
            Place::Between(rung, share) => self.mix(
                Some((ladder.growth(rung), 1.0 - share)),
                Some((ladder.growth(rung + 1), share)),
                0.0,
            ),
        };
        let length = row.cells.len() + self.kernel.len() - 1;
        self.out.resize(length, 0.0);
        let out = &mut self.out[..];
        convolve(&row.cells, &self.kernel, out);
        row.first += first;
        fold_into(row, out, beyond * total);
        row.trim(1e-14 * total);
    }

    /// A point on the lower edge of a cell, moved: mass `weight` added to the row.
    pub(super) fn spread_point(&mut self, row: &mut Row, edge: usize, weight: f64, ladder: &Ladder, place: Place) {
        let (first, beyond) = match place {
            Place::Above => {
                self.kernel.clear();
                self.kernel.push(0.0);
                (0, 1.0)
            }
            Place::Below(share) => self.mix(Some((ladder.point(0), share)), None, 1.0 - share),
            Place::Between(rung, share) => self.mix(
                Some((ladder.point(rung), 1.0 - share)),
                Some((ladder.point(rung + 1), share)),
                0.0,
            ),
        };
        let mut moved = Row {
            first: edge + first,
            ..Row::default()
        };
        let out: Vec<f64> = self.kernel.iter().map(|k| k * weight).collect();
        fold_into(&mut moved, &out, beyond * weight);
        moved.trim(1e-15 * weight);
        add(row, &moved);
    }
}

/// Puts masses starting at `row.first` into the row; what is past the last cell goes into it.
fn fold_into(row: &mut Row, out: &[f64], beyond: f64) {
    let last = CELLS - 1;
    row.cells.clear();
    if row.first >= last {
        row.first = last;
        row.cells.push(out.iter().sum::<f64>() + beyond);
        return;
    }
    let room = last - row.first;
    let kept = room.min(out.len());
    row.cells.extend_from_slice(&out[..kept]);
    let over = out[kept..].iter().sum::<f64>() + beyond;
    if over > 0.0 {
        row.cells.resize(room, 0.0);
        row.cells.push(over);
    }
}

/// Adds the cells of one row to another.
pub(super) fn add(row: &mut Row, other: &Row) {
    if other.cells.is_empty() {
        return;
    }
    if row.cells.is_empty() {
        row.clone_from(other);
        return;
    }
    let first = row.first.min(other.first);
    let end = (row.first + row.cells.len()).max(other.first + other.cells.len());
    if first < row.first {
        row.cells.splice(0..0, std::iter::repeat_n(0.0, row.first - first));
        row.first = first;
    }
    row.cells.resize(end - first, 0.0);
    for (a, b) in row.cells[other.first - first..].iter_mut().zip(&other.cells) {
        *a += b;
    }
}
