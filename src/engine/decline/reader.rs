//! Reads from the rows of an outlook how likely each is past a level or has let go after a growth.
//!
//! Questions come in lists: the same level on day after day, the same days for level after level. What neighbours share is
//! reckoned once and then remembered: where a growth stands on the ladder, the mass that is past a level already, and what a
//! rung of the ladder makes of a row. A slow row stays between the same two rungs for many days.

use std::sync::Arc;

use super::kernels::{CELL, CELLS, Place};
use super::levels::{Entries, LevelAhead, chance};
use super::outlook::{Ask, BLOCK, Outlook, RateRow};
use super::rows::Row;
use super::wide::{dot, sum};
use crate::rubric::LetsGo;

/// Reads one list of questions.
pub(super) struct Reader<'a> {
    outlook: &'a Outlook,
    rows: &'a [&'a Row],
    /// Whether these are the outlook's own, as no look is supposed.
    own: bool,
    /// For each stretch of clock asked about, where the growth of each row stands.
    places: Vec<(u64, Vec<Place>)>,
    /// The levels that the last question was about: the cell it falls in and the one above.
    passes: [Passes; 2],
    /// Rows gathered at the entries of a level's tables.
    gathered: Vec<(Entries, Vec<Row>)>,
    failing: Option<Failing>,
}

/// What rows say of one level of damage.
#[derive(Default)]
struct Passes {
    /// The cell of whose lower edge this is; `None` before any question.
    level: Option<usize>,
    /// Mass of each row past it already.
    over: Vec<f64>,
    rungs: Vec<Rungs>,
}

/// What rows say of one level at which parts let go.
struct Failing {
    level: LetsGo,
    chances: Arc<LevelAhead>,
    gathered: usize,
    rungs: Vec<Rungs>,
}

/// The last two rungs that a row was taken up by, and what came of it.
#[derive(Clone, Copy)]
struct Rungs([(usize, f64); 2]);

impl Default for Rungs {
    fn default() -> Rungs {
        Rungs([(usize::MAX, 0.0); 2])
    }
}

impl Rungs {
    fn at(&mut self, rung: usize, reckon: impl FnOnce() -> f64) -> f64 {
        if let Some((_, known)) = self.0.iter().find(|(of, _)| *of == rung) {
            return *known;
        }
        let value = reckon();
        self.0 = [self.0[1], (rung, value)];
        value
    }

    /// What a place makes of a row, of what each rung makes of it; `above` for beyond the last.
    fn mixed(&mut self, place: Place, mut reckon: impl FnMut(usize) -> f64, above: impl FnOnce() -> f64) -> f64 {
        let Some(rungs) = place.rungs() else { return above() };
        let counting = rungs.into_iter().filter(|(_, share)| *share > 0.0);
        counting
            .map(|(rung, share)| share * self.at(rung, || reckon(rung)))
            .sum()
    }
}

impl<'a> Reader<'a> {
    pub(super) fn new(outlook: &'a Outlook, rows: &'a [&'a Row], own: bool) -> Reader<'a> {
        Reader {
            outlook,
            rows,
            own,
            places: Vec::new(),
            passes: Default::default(),
            gathered: Vec::new(),
            failing: None,
        }
    }

    /// Adds to the list what each row answers.
    pub(super) fn read(&mut self, ask: &Ask, lists: &mut Vec<f64>) {
        match ask {
            Ask::Past { damage, ahead } => self.past(*damage, *ahead, lists),
            Ask::Fails { level, ahead } => self.fails(level, *ahead, lists),
        }
    }

    /// Which of the stretches of clock this is.
    fn stretch(&mut self, ahead: f64) -> usize {
        let key = ahead.to_bits();
        if let Some(known) = self.places.iter().position(|(of, _)| *of == key) {
            return known;
        }
        let (grid, ladder) = (&self.outlook.grid, &self.outlook.ladder);
        let places = if ahead > 0.0 {
            let log_ahead = ahead.ln();
            let place = |at: &RateRow| ladder.place(grid.log(at.rate) + log_ahead);
            self.outlook.rows.iter().map(place).collect()
        } else {
            vec![Place::Below(0.0); self.rows.len()]
        };
        self.places.push((key, places));
        self.places.len() - 1
    }

    /// Mass of each row at or past a damage after a growth.
    fn past(&mut self, damage: f64, ahead: f64, lists: &mut Vec<f64>) {
        let level = self.outlook.scale.y(damage) / CELL;
        if level.is_nan() || level <= 0.0 {
            lists.extend(self.rows.iter().map(|r| r.total()));
            return;
        }
        // The last cell takes everything beyond, so nothing can be said of levels inside it.
        let level = level.min((CELLS - 1) as f64);
        if self.outlook.straight {
            self.straight_past(level, ahead, lists);
            return;
        }
        let nearest = level.round();
        let whole = if (level - nearest).abs() < 1e-6 {
            nearest
        } else {
            level.floor()
        };
        let share = (level - whole).max(0.0);
        let whole = whole as usize;
        let stretch = self.stretch(ahead);
        let places = &self.places[stretch].1;
        let ladder = &self.outlook.ladder;
        for (nth, at) in [whole, whole + 1].into_iter().enumerate() {
            let counts = if nth == 0 { 1.0 - share } else { share };
            if counts <= 0.0 {
                continue;
            }
            let Passes { level, over, rungs } = &mut self.passes[nth];
            let under = |row: &Row| at.saturating_sub(row.first).min(row.cells.len());
            if *level != Some(at) {
                *level = Some(at);
                *rungs = vec![Rungs::default(); self.rows.len()];
                *over = self.rows.iter().map(|row| sum(&row.cells[under(row)..])).collect();
            }
            let mut answers = self.rows.iter().zip(places).zip(over.iter().zip(rungs));
            let answer = |((row, place), (over, rungs)): ((&&Row, &Place), (&f64, &mut Rungs))| {
                let under = &row.cells[..under(row)];
                let from = (CELLS + row.first).saturating_sub(at);
                let passing = |rung: usize| ladder.growth(rung).passed(under, from);
                over + rungs.mixed(*place, passing, || sum(under))
            };
            if nth == 0 {
                lists.extend(answers.by_ref().map(answer).map(|mass| counts * mass));
            } else {
                let begun = lists.len() - self.rows.len();
                for (sum, mass) in lists[begun..].iter_mut().zip(answers.by_ref().map(answer)) {
                    *sum += counts * mass;
                }
            }
        }
    }

    fn straight_past(&self, level: f64, ahead: f64, lists: &mut Vec<f64>) {
        lists.extend(self.rows.iter().zip(&self.outlook.rows).map(|(row, at)| {
            let level = level - (row.shift + at.growth * ahead.max(0.0)) / CELL;
            row_past(row, if self.own { &at.blocks } else { &[] }, level)
        }));
    }

    /// Mass of each row that holds now and has let go after a growth.
    fn fails(&mut self, level: &LetsGo, ahead: f64, lists: &mut Vec<f64>) {
        if ahead.is_nan() || ahead <= 0.0 {
            lists.extend(self.rows.iter().map(|_| 0.0));
            return;
        }
        let ladder = &self.outlook.ladder;
        if self.outlook.straight {
            self.straight_fails(level, ahead, lists);
            return;
        }
        let failing = match self.failing.take() {
            Some(known) if known.level == *level => known,
            _ => self.failing_at(level),
        };
        let stretch = self.stretch(ahead);
        let failing = self.failing.insert(failing);
        let chances = &failing.chances;
        let rows = &self.gathered[failing.gathered].1;
        let places = &self.places[stretch].1;
        lists.extend(
            rows.iter()
                .zip(places)
                .zip(&mut failing.rungs)
                .map(|((row, place), rungs)| {
                    let weighted = |table: &[f64]| dot(&row.cells, table.get(row.first..).unwrap_or(&[]));
                    let after = |rung: usize| weighted(chances.after(rung, ladder));
                    rungs.mixed(*place, after, || weighted(chances.at_end()))
                }),
        );
    }

    fn failing_at(&mut self, level: &LetsGo) -> Failing {
        let chances = self.outlook.ladder.level(level, &self.outlook.scale);
        Failing {
            level: *level,
            gathered: self.gathered_at(chances.entries),
            chances,
            rungs: vec![Rungs::default(); self.rows.len()],
        }
    }

    /// Where the rows stand that are gathered at these entries.
    fn gathered_at(&mut self, entries: Entries) -> usize {
        if let Some(known) = self.gathered.iter().position(|(of, _)| *of == entries) {
            return known;
        }
        let rows = self.rows.iter().map(|r| entries.gathered(r)).collect();
        self.gathered.push((entries, rows));
        self.gathered.len() - 1
    }

    fn straight_fails(&mut self, level: &LetsGo, ahead: f64, lists: &mut Vec<f64>) {
        let chances = self.outlook.ladder.level(level, &self.outlook.scale);
        let step = chances.entries.step;
        let gathered = self.gathered_at(chances.entries);
        let gathered = &self.gathered[gathered].1;
        let rows = self.rows.iter().zip(gathered);
        lists.extend(rows.zip(&self.outlook.rows).map(|((row, gathered), at)| {
            let (now, then) = (row.shift / CELL, (row.shift + at.growth * ahead) / CELL);
            let let_go = |i: usize, moved: f64| between_cells(&chances.let_go, i as f64 + moved);
            let chance = |i: usize| {
                let f = let_go(i, now);
                chance(let_go(i, then) - f, f)
            };
            // Beyond this cell all have let go after the growth: what holds there now lets go, whatever F is now.
            let sure = ((CELLS - 1) as f64 - then).ceil().max(0.0) as usize;
            if step * (gathered.first + gathered.cells.len()) < sure {
                let entries = gathered.cells.iter().zip(gathered.first..);
                return entries.map(|(mass, entry)| mass * chance(step * entry)).sum();
            }
            let split = sure.saturating_sub(row.first).min(row.cells.len());
            let (near, far) = row.cells.split_at(split);
            let near = near.iter().zip(row.first..).map(|(mass, i)| mass * chance(i));
            near.sum::<f64>() + sum(far)
        }));
    }
}

/// Mass of a row of filled cells at or above a level, in cells; of the cell it falls into what lies above. With the sums of
/// its blocks, if they are known.
fn row_past(row: &Row, blocks: &[f64], level: f64) -> f64 {
    let from = level - row.first as f64;
    if from <= 0.0 {
        return sum(&row.cells);
    }
    let within = from.floor() as usize;
    let Some(mass) = row.cells.get(within) else { return 0.0 };
    let above = row.cells.get(within + 1..).unwrap_or(&[]);
    let in_cell = mass * (within as f64 + 1.0 - from);
    let block = (within + 1).div_ceil(BLOCK);
    match blocks.get(block..) {
        Some(blocks) => {
            let near = above.get(..BLOCK * block - within - 1).unwrap_or(above);
            in_cell + sum(near) + sum(blocks)
        }
        None => in_cell + sum(above),
    }
}

/// A table over cells, straight between their middles.
fn between_cells(table: &[f64], place: f64) -> f64 {
    let place = place.clamp(0.0, (CELLS - 1) as f64);
    let cell = place.floor();
    let share = place - cell;
    let at = |i: usize| table.get(i.min(CELLS - 1)).copied().unwrap_or(1.0);
    at(cell as usize) * (1.0 - share) + at(cell as usize + 1) * share
}
