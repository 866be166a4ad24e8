//! How steady is the grader: agreement of second looks with first ones, and the scatter of grading learned from them.
//!
//! A second look grades some checks again, blind, within days and with no repair between, so that nothing lies between the two grades but the grader. From the pairs follow
//! the share of equal grades, Cohen's kappa (J. Cohen, Psychological Bulletin 70, 1968) and the scatter σ, in damage, that everything else uses.
//!
//! *Kappa.* With disagreement weights v, p the shares of the pairs (i, j), r and c those of the first and of the second grades:
//!
//! ```text
//! κ = 1 − Σ v·p / Σ v·r·c        v = 1 for i ≠ j (plain), |i − j| (linear), (i − j)² (quadratic)
//! ```
//!
//! 1 is full agreement, 0 what chance alone would give, below 0 worse than that. Its large-sample standard error is that of Fleiss, Cohen and
//! Everitt (Psychological Bulletin 72, 1969). There is none when all grades are the same: chance would agree as well.
//!
//! *Scatter.* Both grades blur the same damage d by independent normal(0, σ), d beforehand flat on \[0, 1.25\] (judgement; a quarter beyond the limit is
//! as wide as grade 4's band):
//!
//! ```text
//! P(a, b | σ) = ∫ P(a | d, σ) · P(b | d, σ) dd / 1.25        P(g | d, σ) = Φ((b₍g+1₎ − d)/σ) − Φ((b₍g₎ − d)/σ)
//! ln posterior(σ) = Σ_pairs ln P(a, b | σ) + 20 · Σ_ab P(a, b | σ₀) · ln P(a, b | σ)
//! ```
//!
//! The second sum is what twenty pairs of a grader with the usual σ₀ = 0.12 would say on average: the usual scatter counts as
//! twenty pairs. Its greatest value between 0.02 and 0.6 is the learned σ. Few pairs therefore move it little, and none not at all.
//! Errors of one grader on one part are taken as independent; a part that looks bad for its age will be misjudged the same
//! way twice, so the learned σ is rather too small than too large.

use super::lives::GRADER_SD;
use super::normal::cumulative;
use crate::rubric::USUAL_EDGES;
use crate::units::Grade;

/// How many pairs the usual scatter counts as.
pub const USUAL_COUNTS_AS: f64 = 20.0;
/// Damage is spread evenly up to here beforehand.
const HIGHEST: f64 = 1.25;
/// The scatter is looked for between these.
const SD_FROM: f64 = 0.02;
const SD_TO: f64 = 0.6;

/// A check graded twice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// The inner edges of the check's grade bands, in damage.
    pub edges: [f64; 5],
    /// The first grade.
    pub first: Grade,
    /// The grade of the second look, given blind.
    pub second: Grade,
}

/// One kappa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kappa {
    /// 1 full agreement, 0 no better than chance.
    pub value: f64,
    /// Its large-sample standard error.
    pub error: f64,
}

/// How well second looks agree with first ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// How many pairs.
    pub pairs: usize,
    /// Share of equal grades.
    pub same: f64,
    /// Share of grades no more than one apart.
    pub within_one: f64,
    /// Kappa that counts every difference alike.
    pub plain: Option<Kappa>,
    /// Kappa that counts a difference by its grades.
    pub linear: Option<Kappa>,
    /// Kappa that counts a difference by the square of its grades: the usual one for ordered grades.
    pub quadratic: Option<Kappa>,
}

/// Pairs counted by first and second grade.
pub type Table = [[f64; 6]; 6];

/// Which differences count how much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Every difference alike.
    Plain,
    /// By the grades between.
    Linear,
    /// By the square of the grades between.
    Quadratic,
}

impl Weight {
    fn of(self, apart: usize) -> f64 {
        let apart = apart as f64;
        match self {
            Weight::Plain => f64::from(u8::from(apart > 0.0)),
            Weight::Linear => apart,
            Weight::Quadratic => apart * apart,
        }
    }
}

/// Pairs by first and second grade.
#[must_use]
pub fn table(pairs: &[Pair]) -> Table {
    let mut table = Table::default();
    for pair in pairs {
        count(&mut table, pair);
    }
    table
}

fn count(table: &mut Table, pair: &Pair) {
    if let Some(cell) = table
        .get_mut(pair.first.index())
        .and_then(|row| row.get_mut(pair.second.index()))
    {
        *cell += 1.0;
    }
}

/// Every cell with its row and column.
fn cells(table: &Table) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
    let row = |(i, row): (usize, &'_ [f64; 6])| (*row).into_iter().enumerate().map(move |(j, n)| (i, j, n));
    table.iter().enumerate().flat_map(row)
}

/// Cohen's kappa of a table of counts; `None` without pairs, or when chance alone would always agree.
///
/// # Example
/// Cohen 1968, 200 pairs in three classes: 0.492.
/// ```
/// use tinworm::engine::steadiness::{Weight, kappa};
/// let mut table = [[0.0; 6]; 6];
/// table[0][..3].copy_from_slice(&[88.0, 14.0, 18.0]);
/// table[1][..3].copy_from_slice(&[10.0, 40.0, 10.0]);
/// table[2][..3].copy_from_slice(&[2.0, 6.0, 12.0]);
/// assert!((kappa(&table, Weight::Plain).unwrap().value - 0.4915).abs() < 1e-4);
/// ```
#[must_use]
pub fn kappa(table: &Table, weight: Weight) -> Option<Kappa> {
    let all: f64 = cells(table).map(|(_, _, n)| n).sum();
    if all.is_nan() || all <= 0.0 {
        return None;
    }
    let (mut first, mut second) = ([0.0; 6], [0.0; 6]);
    for (i, j, n) in cells(table) {
        if let (Some(r), Some(c)) = (first.get_mut(i), second.get_mut(j)) {
            *r += n / all;
            *c += n / all;
        }
    }
    let of = |shares: &[f64; 6], i: usize| shares.get(i).copied().unwrap_or(0.0);
    // Agreement weights w = 1 − v/v_max; any v_max gives the same kappa and the same error.
    let most = weight.of(5);
    let agree = |i: usize, j: usize| 1.0 - weight.of(i.abs_diff(j)) / most;
    let (mut seen, mut by_chance) = (0.0, 0.0);
    for (i, j, n) in cells(table) {
        seen += agree(i, j) * n / all;
        by_chance += agree(i, j) * of(&first, i) * of(&second, j);
    }
    let left = 1.0 - by_chance;
    if left < 1e-12 {
        return None;
    }
    let value = (seen - by_chance) / left;
    let mean_of_row = |i: usize| (0..6).map(|j| agree(i, j) * of(&second, j)).sum::<f64>();
    let mean_of_column = |j: usize| (0..6).map(|i| agree(i, j) * of(&first, i)).sum::<f64>();
    let squares: f64 = cells(table)
        .map(|(i, j, n)| n / all * (agree(i, j) - (mean_of_row(i) + mean_of_column(j)) * (1.0 - value)).powi(2))
        .sum();
    let variance = (squares - (value - by_chance * (1.0 - value)).powi(2)) / (all * left * left);
    Some(Kappa {
        value,
        error: variance.max(0.0).sqrt(),
    })
}

/// How well second looks agree with first ones; `None` without any.
#[must_use]
pub fn agreement(pairs: &[Pair]) -> Option<Agreement> {
    if pairs.is_empty() {
        return None;
    }
    let table = table(pairs);
    let share = |apart: usize| {
        let near = cells(&table)
            .filter(|(i, j, _)| i.abs_diff(*j) <= apart)
            .map(|(_, _, n)| n);
        near.sum::<f64>() / pairs.len() as f64
    };
    Some(Agreement {
        pairs: pairs.len(),
        same: share(0),
        within_one: share(1),
        plain: kappa(&table, Weight::Plain),
        linear: kappa(&table, Weight::Linear),
        quadratic: kappa(&table, Weight::Quadratic),
    })
}

/// P(first grade, second grade) of a part whose damage is spread evenly on \[0, `highest`\], graded twice with scatter `sd`.
#[must_use]
pub fn pair_chances(edges: &[f64; 5], sd: f64, highest: f64) -> Table {
    const CELLS: u16 = 500;
    let sd = sd.max(1e-3);
    let mut table = Table::default();
    for cell in 0..CELLS {
        let damage = (f64::from(cell) + 0.5) / f64::from(CELLS) * highest;
        let mut grades = [0.0; 6];
        let mut below = 0.0;
        for (grade, edge) in grades.iter_mut().zip(edges.iter().copied().chain([f64::INFINITY])) {
            let up_to = cumulative((edge - damage) / sd);
            *grade = (up_to - below).max(0.0);
            below = up_to;
        }
        for (row, first) in table.iter_mut().zip(grades) {
            for (chance, second) in row.iter_mut().zip(grades) {
                *chance += first * second / f64::from(CELLS);
            }
        }
    }
    table
}

/// The scatter of grading, in damage, that a grader's second looks speak for: the usual 0.12 without any.
///
/// Pairs whose edges do not rise are left out.
#[must_use]
pub fn learned_sd(pairs: &[Pair]) -> f64 {
    let usual = pair_chances(&USUAL_EDGES, GRADER_SD, HIGHEST).map(|row| row.map(|p| USUAL_COUNTS_AS * p));
    let mut counted: Vec<([f64; 5], Table)> = vec![(USUAL_EDGES, usual)];
    for pair in pairs {
        let rising = pair.edges.is_sorted() && pair.edges.iter().all(|e| e.is_finite());
        match counted.iter_mut().find(|(edges, _)| *edges == pair.edges) {
            Some((_, table)) => count(table, pair),
            None if rising => {
                let mut table = Table::default();
                count(&mut table, pair);
                counted.push((pair.edges, table));
            }
            None => {}
        }
    }
    let log_posterior = |log_sd: f64| -> f64 {
        let one = |(edges, table): &([f64; 5], Table)| {
            let chances = pair_chances(edges, log_sd.exp(), HIGHEST);
            let logs = cells(table).zip(cells(&chances)).filter(|((_, _, n), _)| *n > 0.0);
            logs.map(|((_, _, n), (_, _, p))| n * p.max(1e-300).ln()).sum::<f64>()
        };
        counted.iter().map(one).sum()
    };
    highest_point(log_posterior, SD_FROM.ln(), SD_TO.ln()).exp()
}

/// Where a function is greatest: the best of even steps, then golden sections round it.
fn highest_point(of: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    const STEPS: u8 = 40;
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let step = (to - from) / f64::from(STEPS);
    let best = (0..=STEPS)
        .map(|n| from + f64::from(n) * step)
        .map(|x| (x, of(x)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(from, |(x, _)| x);
    let (mut low, mut high) = ((best - step).max(from), (best + step).min(to));
    let inner = |low: f64, high: f64| (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    for _ in 0..30 {
        let (a, b) = inner(low, high);
        if of(a) < of(b) {
            low = a;
        } else {
            high = b;
        }
    }
    f64::midpoint(low, high)
}
