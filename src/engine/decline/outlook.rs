//! What the looks say of a check before the pace of its car is weighed in, and what each rate foretells.
//!
//! Every chance a [`Posterior`] is asked for is Σ weight·answer over the rates: the weights come from the prior and the
//! car's pace, the answers from the looks at the check alone. Answers are kept, so that a pace that changes because
//! something else was looked at costs one sum for each question and nothing is reckoned twice.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::filter::multiply_rows;
use super::kernels::{CELL, CELLS, Ladder, Place};
use super::levels::{Entries, chance};
use super::look::Observation;
use super::posterior::Posterior;
use super::prior::{CarFactor, RateGrid, Shape};
use super::rows::Row;
use super::scale::Scale;
use super::wide::{dot, sum};
use crate::rubric::LetsGo;

/// Rows that at no pace weigh more than this share of the heaviest are left out, and cells likewise.
const LIGHT: f64 = 1e-6;

/// Which rates a row stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hump {
    /// Ordinary and quickened alike.
    Both,
    /// Ordinary ones.
    Ordinary,
    /// Quickened ones.
    Quickened,
}

/// Mass over y at one rate.
#[derive(Debug, Clone)]
pub(super) struct RateRow {
    /// Index of the rate.
    pub(super) rate: usize,
    /// The mass.
    pub(super) row: Row,
    /// Its sum.
    pub(super) total: f64,
    pub(super) hump: Hump,
    /// The most that its rate can weigh.
    ceiling: f64,
}

impl RateRow {
    pub(super) fn new(rate: usize, row: Row, hump: Hump, ceiling: f64) -> RateRow {
        RateRow {
            rate,
            total: row.total(),
            row,
            hump,
            ceiling,
        }
    }
}

/// Questions, exactly.
type Words = Box<[u64]>;

/// What a posterior may be asked; the answer is a chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ask {
    /// Whether the damage is this or worse after so many clock units.
    Past {
        /// The damage.
        damage: f64,
        /// Clock units from now.
        ahead: f64,
    },
    /// Whether a part that holds now has let go after so many clock units.
    Fails {
        /// The level at which such parts let go.
        level: LetsGo,
        /// Clock units from now.
        ahead: f64,
    },
}

/// What is known of a check whatever the pace of its car.
#[derive(Debug)]
pub struct Outlook {
    pub(super) scale: Scale,
    pub(super) grid: RateGrid,
    pub(super) ladder: Arc<Ladder>,
    pub(super) shape: Arc<Shape>,
    pub(super) straight: bool,
    pub(super) rows: Vec<RateRow>,
    answers: Mutex<HashMap<Words, Arc<[f64]>>>,
}

impl Outlook {
    pub(super) fn new(
        scale: Scale,
        grid: RateGrid,
        (ladder, shape): (Arc<Ladder>, Arc<Shape>),
        straight: bool,
        mut rows: Vec<RateRow>,
        holding: &[f64],
    ) -> Outlook {
        let held = |row: &RateRow| dot(&row.row.cells, holding.get(row.row.first..).unwrap_or(&[]));
        // If it cannot hold, yet does, the look is nearer the truth than the level.
        if rows.iter().map(held).sum::<f64>() >= 1e-250 {
            for row in &mut rows {
                let by = holding.get(row.row.first..).unwrap_or(&[]);
                super::wide::multiply(&mut row.row.cells, by);
                row.total = row.row.total();
            }
        }
        let most = rows.iter().map(|r| r.total * r.ceiling).fold(0.0, f64::max);
        rows.retain(|r| r.total > 0.0 && r.total * r.ceiling >= LIGHT * most);
        let heaviest = rows.iter().map(|r| r.total).fold(1e-300, f64::max);
        for row in &mut rows {
            row.row.trim((1e-10 * most / row.ceiling).min(1e-5 * row.total));
            row.row.cells.iter_mut().for_each(|m| *m /= heaviest);
            row.row.cells.shrink_to_fit();
            row.total = row.row.total();
        }
        Outlook {
            scale,
            grid,
            ladder,
            shape,
            straight,
            rows,
            answers: Mutex::default(),
        }
    }

    /// The same for these questions alone: what the rows hold is given up.
    pub(crate) fn only_for(mut self, asks: &[Ask]) -> Outlook {
        self.answers(asks, None);
        for row in &mut self.rows {
            row.row = Row::default();
        }
        self
    }

    /// What is known at a pace of the car.
    #[must_use]
    pub fn at_pace(self: &Arc<Self>, factor: &CarFactor) -> Posterior {
        Posterior::new(Arc::clone(self), factor)
    }

    /// For each question a list: what each row answers, times what it weighs; with `seen` after such a look; then the
    /// first list is those weights.
    pub(super) fn answers(&self, asks: &[Ask], seen: Option<&Observation>) -> Arc<[f64]> {
        let mut key: Vec<u64> = asks.iter().flat_map(|ask| ask.words()).collect();
        key.extend(seen.map(Observation::words).into_iter().flatten());
        let known = |key: &[u64]| {
            let answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
            answers.get(key).cloned()
        };
        if let Some(known) = known(&key) {
            return known;
        }
        let supposed = seen.map(|seen| {
            let mut rows: Vec<Row> = self.rows.iter().map(|r| r.row.clone()).collect();
            multiply_rows(rows.iter_mut(), seen, self.scale, &self.ladder.likelihoods);
            rows
        });
        let rows: Vec<&Row> = match &supposed {
            Some(rows) => rows.iter().collect(),
            None => self.rows.iter().map(|r| &r.row).collect(),
        };
        let mut gathered: Vec<(Entries, Vec<Row>)> = Vec::new();
        let mut lists: Vec<f64> = Vec::with_capacity((asks.len() + 1) * rows.len());
        if supposed.is_some() {
            lists.extend(rows.iter().map(|r| r.total()));
        }
        for ask in asks {
            match ask {
                Ask::Past { damage, ahead } => self.past(&rows, *damage, *ahead, &mut lists),
                Ask::Fails { level, ahead } => self.fails(&rows, &mut gathered, level, *ahead, &mut lists),
            }
        }
        let lists: Arc<[f64]> = lists.into();
        let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(answers.entry(key.into()).or_insert(lists))
    }

    /// Mass of each row at or past a damage after a growth.
    fn past(&self, rows: &[&Row], damage: f64, ahead: f64, lists: &mut Vec<f64>) {
        let level = self.scale.y(damage) / CELL;
        if level.is_nan() || level <= 0.0 {
            lists.extend(rows.iter().map(|r| r.total()));
            return;
        }
        // The last cell takes everything beyond, so nothing can be said of levels inside it.
        let level = level.min((CELLS - 1) as f64);
        let nearest = level.round();
        let whole = if (level - nearest).abs() < 1e-6 {
            nearest
        } else {
            level.floor()
        };
        let share = (level - whole).max(0.0);
        let moving = ahead > 0.0;
        let log_ahead = if moving { ahead.ln() } else { f64::NEG_INFINITY };
        let whole = whole as usize;
        let of = |(row, at): (&&Row, &RateRow)| {
            let log_mean = self.grid.log(at.rate) + log_ahead;
            if self.straight {
                let up = if moving { log_mean.exp() } else { 0.0 };
                return row_past(row, level - (row.shift + up) / CELL);
            }
            let place = if moving {
                self.ladder.place(log_mean)
            } else {
                Place::Below(0.0)
            };
            let passes = self.row_passes(row, whole, place);
            if share > 0.0 {
                (1.0 - share) * passes + share * self.row_passes(row, whole + 1, place)
            } else {
                passes
            }
        };
        lists.extend(rows.iter().zip(&self.rows).map(of));
    }

    /// Mass of a row that is at or past the lower edge of cell `level` after a growth.
    fn row_passes(&self, row: &Row, level: usize, place: Place) -> f64 {
        let split = level.saturating_sub(row.first).min(row.cells.len());
        let (under, over) = row.cells.split_at(split);
        let over = sum(over);
        let from = (CELLS + row.first).saturating_sub(level);
        let passing = |rung: usize| self.ladder.growth(rung).passed(under, from);
        over + match place {
            Place::Below(share) if share <= 0.0 => 0.0,
            Place::Below(share) => share * passing(0),
            Place::Between(rung, share) => (1.0 - share) * passing(rung) + share * passing(rung + 1),
            Place::Above => sum(under),
        }
    }

    /// Mass of each row that holds now and has let go after a growth.
    fn fails(
        &self,
        rows: &[&Row],
        gathered: &mut Vec<(Entries, Vec<Row>)>,
        level: &LetsGo,
        ahead: f64,
        lists: &mut Vec<f64>,
    ) {
        if ahead.is_nan() || ahead <= 0.0 {
            lists.extend(rows.iter().map(|_| 0.0));
            return;
        }
        let chances = self.ladder.level(level, &self.scale);
        let log_ahead = ahead.ln();
        if self.straight {
            lists.extend(rows.iter().zip(&self.rows).map(|(row, at)| {
                let up = (self.grid.log(at.rate) + log_ahead).exp();
                let (now, then) = (row.shift / CELL, (row.shift + up) / CELL);
                let cells = row.cells.iter().zip(row.first..);
                cells
                    .map(|(mass, i)| {
                        let f = between_cells(&chances.let_go, i as f64 + now);
                        mass * chance(between_cells(&chances.let_go, i as f64 + then) - f, f)
                    })
                    .sum::<f64>()
            }));
            return;
        }
        let entries = chances.entries;
        if !gathered.iter().any(|(of, _)| *of == entries) {
            gathered.push((entries, rows.iter().map(|r| entries.gathered(r)).collect()));
        }
        let Some((_, rows)) = gathered.iter().find(|(of, _)| *of == entries) else {
            return;
        };
        lists.extend(rows.iter().zip(&self.rows).map(|(row, at)| {
            let weighted = |table: &[f64]| dot(&row.cells, table.get(row.first..).unwrap_or(&[]));
            match self.ladder.place(self.grid.log(at.rate) + log_ahead) {
                Place::Below(share) => share * weighted(chances.after(0, &self.ladder)),
                Place::Between(rung, share) => {
                    (1.0 - share) * weighted(chances.after(rung, &self.ladder))
                        + share * weighted(chances.after(rung + 1, &self.ladder))
                }
                Place::Above => weighted(chances.at_end()),
            }
        }));
    }
}

impl Ask {
    pub(crate) fn words(&self) -> [u64; 4] {
        match self {
            Ask::Past { damage, ahead } => [1, damage.to_bits(), ahead.to_bits(), 0],
            Ask::Fails { level, ahead } => [2, level.median.to_bits(), level.spread.to_bits(), ahead.to_bits()],
        }
    }
}

/// Mass of a row of filled cells at or above a level, in cells; the last cell counts whole.
fn row_past(row: &Row, level: f64) -> f64 {
    row.cells
        .iter()
        .enumerate()
        .map(|(i, mass)| mass * ((i + row.first + 1) as f64 - level).clamp(0.0, 1.0))
        .sum()
}

/// A table over cells, straight between their middles.
pub(super) fn between_cells(table: &[f64], place: f64) -> f64 {
    let place = place.clamp(0.0, (CELLS - 1) as f64);
    let cell = place.floor();
    let share = place - cell;
    let at = |i: usize| table.get(i.min(CELLS - 1)).copied().unwrap_or(1.0);
    at(cell as usize) * (1.0 - share) + at(cell as usize + 1) * share
}
