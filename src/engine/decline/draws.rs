//! Draws from a posterior, for ranks and their uncertainty.

use std::sync::Arc;

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::kernels::{CELL, CELLS, Place};
use super::levels::{LevelAhead, chance, let_go_at};
use super::outlook::{Ask, BLOCK, Outlook, RateRow};
use super::posterior::Posterior;
use crate::rubric::LetsGo;

impl Posterior {
    /// `n` equally likely parts as they may be, and what would be answered of each: a list of `n` answers for each question.
    ///
    /// Part k has the rate at the share (k + ½)/n of the distribution of the rate and, among the parts of that rate, the damage at the share
    /// {k·g}, g the golden ratio: points spread over both as evenly as can be. They are listed rate by rate; [`dealt`] mixes them.
    #[must_use]
    pub fn drawn(&self, n: usize, asks: &[Ask]) -> Vec<Vec<f64>> {
        let mut columns: Vec<Vec<f64>> = asks.iter().map(|_| Vec::with_capacity(n)).collect();
        let weights = || self.outlook.rows.iter().zip(&self.counts);
        let all: f64 = weights().map(|(row, count)| row.total * count).sum();
        let asked: Vec<Asked> = asks.iter().map(|ask| Asked::new(self, ask)).collect();
        let mut shares: Vec<f64> = Vec::new();
        let mut picks: Vec<Pick> = Vec::new();
        let mut places: Vec<(f64, Place)> = Vec::new();
        let (mut sum, mut drawn) = (0.0, 0);
        for (row, count) in weights() {
            sum += row.total * count;
            let up_to = ((n as f64 * sum / all.max(1e-300) - 0.5).ceil().max(0.0) as usize).min(n);
            if up_to <= drawn {
                continue;
            }
            shares.clear();
            shares.extend((drawn..up_to).map(|k| (k as f64 * GOLDEN).fract() * row.total));
            shares.sort_by(f64::total_cmp);
            drawn = up_to;
            pick(row, &shares, &mut picks);
            places.clear();
            for (column, ask) in columns.iter_mut().zip(&asked) {
                let log_mean = self.outlook.grid.log(row.rate) + ask.log_ahead;
                // The days come again with the next level.
                let place = match places.iter().find(|(of, _)| *of == log_mean) {
                    Some((_, known)) => *known,
                    None => {
                        let place = self.outlook.ladder.place(log_mean);
                        places.push((log_mean, place));
                        place
                    }
                };
                self.picked(row, ask, (log_mean, place), &picks, column);
            }
        }
        // Rounding may leave the very last ones over; they are like the last that was drawn.
        for column in &mut columns {
            let last = column.last().copied().unwrap_or(0.0);
            column.resize(n, last);
        }
        columns
    }

    /// The answers of the cells picked of a row.
    fn picked(&self, row: &RateRow, ask: &Asked, growth: (f64, Place), picks: &[Pick], column: &mut Vec<f64>) {
        let Outlook { ladder, scale, .. } = &*self.outlook;
        let (log_mean, place) = growth;
        match &ask.what {
            What::Nothing => answer(picks, column, |_| 0.0),
            What::Past { level, moving } if self.outlook.straight || !moving => {
                let up = if *moving { log_mean.exp() } else { 0.0 };
                let level = level - (row.row.shift + up) / CELL;
                answer(picks, column, |cell| ((cell + 1) as f64 - level).clamp(0.0, 1.0));
            }
            What::Past { level, .. } => {
                let growths = place
                    .rungs()
                    .map(|two| two.map(|(rung, share)| (ladder.growth(rung), share)));
                let (whole, part) = (level.max(0.0).floor(), level.max(0.0).fract());
                let passing = |far: usize| match &growths {
                    Some([(a, low), (b, high)]) if far < CELLS => low * a.passing_at(far) + high * b.passing_at(far),
                    _ => 1.0,
                };
                let far = |cell: usize| (CELLS + cell).saturating_sub(whole as usize);
                if part < 1e-6 {
                    answer(picks, column, |cell| passing(far(cell)));
                } else {
                    answer(picks, column, |cell| {
                        let far = far(cell);
                        (1.0 - part) * passing(far) + part * passing(far.saturating_sub(1))
                    });
                }
            }
            What::Fails { level, .. } if self.outlook.straight => {
                let up = log_mean.exp();
                let f = |y: f64| let_go_at(level, scale.damage(y));
                answer(picks, column, |cell| {
                    let y = (cell as f64 + 0.5) * CELL + row.row.shift;
                    chance(f(y + up) - f(y), f(y))
                });
            }
            What::Fails { chances, .. } => {
                let entries = chances.entries;
                let tables = place
                    .rungs()
                    .map(|two| two.map(|(rung, share)| (chances.after(rung, ladder), share)));
                answer(picks, column, |cell| {
                    let let_go = match &tables {
                        Some([(a, low), (b, high)]) => low * entries.at(a, cell) + high * entries.at(b, cell),
                        None => entries.at(chances.at_end(), cell),
                    };
                    let_go.clamp(0.0, 1.0)
                });
            }
        }
    }
}

/// Puts what is said of each cell picked into a column, as often as it was drawn.
fn answer(picks: &[Pick], column: &mut Vec<f64>, of: impl Fn(usize) -> f64) {
    for pick in picks {
        let answer = of(pick.cell);
        column.extend(std::iter::repeat_n(answer, pick.times));
    }
}

/// The golden ratio, less one.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// The cells in which these masses from the first cell on, rising, are reached.
fn pick(row: &RateRow, shares: &[f64], picks: &mut Vec<Pick>) {
    picks.clear();
    let mut left = shares;
    let mut sum = 0.0;
    let mut cell = row.row.first;
    for (cells, total) in row.row.cells.chunks(BLOCK).zip(&row.blocks) {
        let after = sum + total;
        if left.first().is_some_and(|next| *next < after) {
            for (cell, mass) in (cell..).zip(cells) {
                sum += mass;
                let times = left.iter().take_while(|share| **share < sum).count();
                if times > 0 {
                    picks.push(Pick { cell, times });
                    left = left.get(times..).unwrap_or(&[]);
                }
            }
        }
        sum = after;
        cell += cells.len();
    }
    // Rounding may leave the very last ones over.
    if !left.is_empty() {
        let times = left.len();
        picks.push(Pick {
            cell: cell.saturating_sub(1),
            times,
        });
    }
}

/// A cell of a row, and how many of the parts drawn are in it.
struct Pick {
    cell: usize,
    times: usize,
}

/// A question, ready to be asked of row after row.
struct Asked {
    log_ahead: f64,
    what: What,
}

enum What {
    /// Nothing can have let go in no time.
    Nothing,
    Past {
        /// In cells.
        level: f64,
        moving: bool,
    },
    Fails {
        level: LetsGo,
        chances: Arc<LevelAhead>,
    },
}

impl Asked {
    fn new(of: &Posterior, ask: &Ask) -> Asked {
        let Outlook { scale, ladder, .. } = &*of.outlook;
        let (ahead, what) = match ask {
            Ask::Past { damage, ahead } => {
                let level = (scale.y(*damage) / CELL).min((CELLS - 1) as f64);
                let moving = *ahead > 0.0;
                (ahead, What::Past { level, moving })
            }
            Ask::Fails { ahead, .. } if ahead.is_nan() || *ahead <= 0.0 => (ahead, What::Nothing),
            Ask::Fails { level, ahead } => {
                let chances = ladder.level(level, scale);
                (ahead, What::Fails { level: *level, chances })
            }
        };
        let log_ahead = if *ahead > 0.0 { ahead.ln() } else { f64::NEG_INFINITY };
        Asked { log_ahead, what }
    }
}

/// The numbers below `n` in an order that the seed decides.
#[must_use]
pub fn dealt(n: u32, seed: u64) -> Vec<u32> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut order: Vec<u32> = (0..n).collect();
    for last in (1..order.len()).rev() {
        // The upper half of a product: even to one part in four billion.
        let other = (u64::from(random.next_u32()) * (last as u64 + 1)) >> 32;
        order.swap(last, usize::try_from(other).unwrap_or(last));
    }
    order
}
