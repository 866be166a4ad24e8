//! What the looks say of a check before the pace of its car is weighed in, and what each rate foretells.
//!
//! Every chance a [`Posterior`] is asked for is Σ weight·answer over the rates: the weights come from the prior and the
//! car's pace, the answers from the looks at the check alone. Answers are kept, so that a pace that changes because
//! something else was looked at costs one sum for each question and nothing is reckoned twice.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::filter::multiply_rows;
use super::kernels::Ladder;
use super::look::Observation;
use super::posterior::Posterior;
use super::prior::{CarFactor, RateGrid, Shape};
use super::reader::Reader;
use super::rows::Row;
use super::scale::Scale;
use super::wide::dot;
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
        let mut reader = Reader::new(self, &rows);
        let mut lists: Vec<f64> = Vec::with_capacity((asks.len() + 1) * rows.len());
        if supposed.is_some() {
            lists.extend(rows.iter().map(|r| r.total()));
        }
        for ask in asks {
            reader.read(ask, &mut lists);
        }
        let lists: Arc<[f64]> = lists.into();
        let mut answers = self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(answers.entry(key.into()).or_insert(lists))
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
