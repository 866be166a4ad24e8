//! What the looks say of a check before the pace of its car is weighed in, and what each rate foretells.
//!
//! Every chance a [`Posterior`] is asked for is Σ weight·answer over the rates: the weights come from the prior and the
//! car's pace, the answers from the looks at the check alone. Answers are kept, so that a pace that changes because
//! something else was looked at costs one sum for each question and nothing is reckoned twice.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::kernels::Ladder;
use super::likelihoods::multiply_rows;
use super::look::Observation;
use super::posterior::Posterior;
use super::prior::{CarFactor, RateGrid, Shape};
use super::reader::Reader;
use super::rows::Row;
use super::scale::Scale;
use super::wide::{dot, sum};
use crate::rubric::LetsGo;

/// Rows that at no pace weigh more than this share of the heaviest are left out, and cells likewise.
const LIGHT: f64 = 1e-6;

/// So many cells are summed once, to be passed over together where none of them is asked for by itself.
pub(super) const BLOCK: usize = 16;

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
    /// The sums of [`BLOCK`] cells after [`BLOCK`] cells of it.
    pub(super) blocks: Vec<f64>,
    pub(super) hump: Hump,
    /// The most that its rate can weigh.
    ceiling: f64,
    /// The rate itself: growth in a unit of clock.
    pub(super) growth: f64,
}

impl RateRow {
    pub(super) fn new(grid: &RateGrid, rate: usize, row: Row, hump: Hump, ceiling: f64) -> RateRow {
        RateRow {
            rate,
            total: row.total(),
            blocks: Vec::new(),
            row,
            hump,
            ceiling,
            growth: grid.log(rate).exp(),
        }
    }
}

/// What is known by the exact words it was asked for. The words come from the car's own file, so that nobody gains by choosing
/// them badly, and a quick hash serves.
pub(crate) type ByWords<T> = HashMap<Box<[u64]>, T, foldhash::fast::FixedState>;

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

/// Answers given before. Days to come are asked about by the clock, which runs a little otherwise whenever a check that quickens this
/// one is looked at: what nobody has asked for a while is forgotten.
#[derive(Debug, Default)]
struct Answers {
    known: ByWords<Answer>,
    /// How many posteriors have been made of this outlook.
    round: u32,
    /// The rows are no longer there to be asked again.
    for_good: bool,
}

#[derive(Debug)]
struct Answer {
    lists: Arc<[f64]>,
    round: u32,
}

/// So many words make one question.
const WORDS: usize = 4;
/// So many rounds a list of questions is kept, which is mostly about one state of the clock,
const ROUNDS_OF_LISTS: u32 = 2;
/// and so many a single one, which comes again as the pace goes to and fro.
const ROUNDS_OF_ONE: u32 = 16;

impl Answers {
    fn get(&mut self, key: &[u64]) -> Option<Arc<[f64]>> {
        let round = self.round;
        let answer = self.known.get_mut(key)?;
        answer.round = round;
        Some(Arc::clone(&answer.lists))
    }

    /// Another posterior is made.
    fn next_round(&mut self) {
        self.round = self.round.wrapping_add(1);
        let round = self.round;
        if !self.for_good {
            self.known.retain(|words, answer| {
                let rounds = if words.len() == WORDS {
                    ROUNDS_OF_ONE
                } else {
                    ROUNDS_OF_LISTS
                };
                round.wrapping_sub(answer.round) <= rounds
            });
        }
    }
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
    answers: Mutex<Answers>,
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
            row.blocks = row.row.cells.chunks(BLOCK).map(sum).collect();
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
            row.blocks = Vec::new();
        }
        self.locked().for_good = true;
        self
    }

    /// What is known at a pace of the car.
    #[must_use]
    pub fn at_pace(self: &Arc<Self>, factor: &CarFactor) -> Posterior {
        self.locked().next_round();
        Posterior::new(Arc::clone(self), factor)
    }

    /// For each question a list: what each row answers, times what it weighs; with `seen` after such a look; then the
    /// first list is those weights.
    pub(super) fn answers(&self, asks: &[Ask], seen: Option<&Observation>) -> Arc<[f64]> {
        // One question alone, the most frequent list, needs no room for its words.
        let (one, many): ([u64; WORDS], Vec<u64>);
        let key = match (asks, seen) {
            ([ask], None) => {
                one = ask.words();
                &one[..]
            }
            _ => {
                let seen = seen.map(Observation::words).into_iter().flatten();
                many = asks.iter().flat_map(|ask| ask.words()).chain(seen).collect();
                &many[..]
            }
        };
        // In a statement of its own: a lock taken in the condition would be held to the end of the block.
        let known = self.locked().get(key);
        if let Some(known) = known {
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
        let mut reader = Reader::new(self, &rows, supposed.is_none());
        let mut lists: Vec<f64> = Vec::with_capacity((asks.len() + 1) * rows.len());
        if supposed.is_some() {
            lists.extend(rows.iter().map(|r| r.total()));
        }
        for ask in asks {
            reader.read(ask, &mut lists);
        }
        let lists: Arc<[f64]> = lists.into();
        let mut answers = self.locked();
        let round = answers.round;
        let answer = answers.known.entry(key.into()).or_insert(Answer { lists, round });
        Arc::clone(&answer.lists)
    }

    fn locked(&self) -> MutexGuard<'_, Answers> {
        self.answers.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Ask {
    pub(crate) fn words(&self) -> [u64; WORDS] {
        match self {
            Ask::Past { damage, ahead } => [1, damage.to_bits(), ahead.to_bits(), 0],
            Ask::Fails { level, ahead } => [2, level.median.to_bits(), level.spread.to_bits(), ahead.to_bits()],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::decline::{Filter, Kernels, Prior, Start};
    use crate::rubric::Quickened;

    /// Day after day other stretches of clock are asked about: they must not heap up, nor must what is forgotten be answered otherwise.
    #[test]
    fn what_nobody_asks_any_more_is_forgotten() {
        let prior = Prior {
            life: 12.0,
            spread: 0.6,
            quickened: Quickened::default(),
            jumpiness: 0.1,
            quickening: 1.0,
        };
        let filter = Filter::new(&prior, Start::New { elapsed: 6.0 }, &Kernels::new());
        let outlook = Arc::new(filter.outlook(&[]));
        let asks = |clock: f64| -> Vec<Ask> {
            let ahead = (1..30).map(|day| f64::from(day) * clock);
            ahead.map(|ahead| Ask::Past { damage: 1.0, ahead }).collect()
        };
        let first = outlook.at_pace(&CarFactor::none()).answers(&asks(0.1));
        for day in 0..100 {
            let posterior = outlook.at_pace(&CarFactor::none());
            let _ = posterior.answers(&asks(0.1 + 0.001 * f64::from(day)));
            let _ = posterior.past(1.0, 0.5 + f64::from(day));
        }
        let kept = outlook.locked().known.len();
        let most = ROUNDS_OF_LISTS + ROUNDS_OF_ONE + 2;
        assert!(kept <= most as usize, "{kept} lists are kept");
        assert_eq!(first, outlook.at_pace(&CarFactor::none()).answers(&asks(0.1)));
        // What has no rows left remembers for good.
        let only = Arc::new(filter.outlook(&[]).only_for(&asks(0.1)));
        for _ in 0..100 {
            let _ = only.at_pace(&CarFactor::none());
        }
        assert_eq!(first, only.at_pace(&CarFactor::none()).answers(&asks(0.1)));
    }
}
