//! Running all lives of a car through its surveys: filters, couplings, the car's pace and each survey's offset.
//!
//! *Couplings.* Between two surveys every life's clock is tabulated in steps of at most a month. A life that another check
//! quickens has its step multiplied by `1 + (k − 1)·P(that check is past its level)`, the probability as known at the
//! survey before. Time before the first survey counts as uncoupled: nothing was known then.
//!
//! *The car's pace.* Per driver one factor, log-normal(0, 0.4), multiplies all clocks (a salt-eaten car is salt-eaten
//! everywhere). Its posterior on 31 values is a sum of logs over the checks; each check uses it with its own part left out.
//! A check with a mixed driver counts with its heaviest one.
//!
//! *A survey's offset.* A whole survey may have been graded harder: normal(0, 0.06) in damage, found from the checks seen
//! before and then, and taken off before anything is called a change.

use jiff::civil::Date;
use rayon::prelude::*;

use super::clock::{Clocks, attack, day_after, days_between};
use super::clock_table::{ClockTable, interpolate, months};
use super::couplings::{Link, links, order};
use super::decline::{CarFactor, Filter, Kernels, Observation, Posterior, Prior, Start};
use super::lives::{Begin, Life, lives};
use super::state::{CarPace, Spread, SurveyOffset};
use crate::car::Car;
use crate::rubric::{Driver, LetsGo, Library, PartId};

/// Log-sd of the car's pace factor (judgement).
pub const CAR_PACE_SD: f64 = 0.4;
/// Sd of a survey's offset, in damage (judgement).
pub const SURVEY_OFFSET_SD: f64 = 0.06;
/// How far ahead the tables go, in days: five years.
pub const AHEAD_DAYS: f64 = 1826.0;

/// The clocks that have a pace of their own.
const PACES: [&str; 3] = ["wear", "corrosion", "ageing"];

/// Everything reckoned about a car on a day, before it is turned into exposure.
pub(crate) struct Reckoning<'a> {
    pub(crate) today: Date,
    pub(crate) parts: Vec<PartId>,
    pub(crate) lives: Vec<Life<'a>>,
    pub(crate) states: Vec<LifeState>,
    pub(crate) factors: Vec<CarFactor>,
    pub(crate) pace: Vec<CarPace>,
    pub(crate) offsets: Vec<SurveyOffset>,
    pub(crate) clocks: Clocks,
    pub(crate) kernels: Kernels,
    /// The watched check's filter as it stood after each look.
    pub(crate) snapshots: Vec<(usize, Date, Filter)>,
    watched: Option<(usize, String)>,
    links: Vec<Vec<Link>>,
    order: Vec<usize>,
}

/// The filter of one life and where it stands.
#[derive(Default)]
pub(crate) struct LifeState {
    pub(crate) filter: Option<Filter>,
    /// Clock passed since the filter's state.
    pending: f64,
    /// Even clock passed since the part was new, for bare steel that slows as it rusts.
    since_new: f64,
    /// Probability, before the newest look, of one as good or better.
    pub(crate) as_good: Option<f64>,
    /// The offset of the survey of each look.
    pub(crate) offsets: Vec<f64>,
}

impl LifeState {
    /// How many looks the filter has taken in.
    fn looks_done(&self) -> usize {
        self.offsets.len()
    }
}

/// Which pace a driver follows: 0 wear, 1 corrosion, 2 ageing.
pub(crate) fn pace_of(driver: Driver) -> usize {
    match driver {
        Driver::Wear => 0,
        Driver::Corrosion(_) => 1,
        Driver::Ageing => 2,
        Driver::Mixed {
            wear,
            corrosion,
            ageing,
        } => {
            if wear >= corrosion && wear >= ageing {
                0
            } else if corrosion >= ageing {
                1
            } else {
                2
            }
        }
    }
}

impl<'a> Reckoning<'a> {
    /// Runs everything known of a car up to a day.
    pub(crate) fn new(car: &'a Car, library: &'a Library, today: Date) -> Reckoning<'a> {
        Reckoning::watching(car, library, today, None)
    }

    /// The same, keeping the filter of one check as it stood after each look.
    pub(crate) fn watching(
        car: &'a Car,
        library: &'a Library,
        today: Date,
        watched: Option<(&PartId, &str)>,
    ) -> Reckoning<'a> {
        let parts = car.part_ids(library);
        let watched = watched.and_then(|(part, check)| Some((parts.iter().position(|p| p == part)?, check.to_owned())));
        let lives = lives(car, library, &parts, today);
        let links = links(&lives, &parts);
        let order = order(&links);
        let states = lives.iter().map(|_| LifeState::default()).collect();
        let factors = lives.iter().map(|_| CarFactor::prior(CAR_PACE_SD)).collect();
        let clocks = Clocks::new(car, library, today);
        let kernels = Kernels::default();
        let (pace, offsets) = (Vec::new(), Vec::new());
        let mut reckoning = Reckoning {
            today,
            parts,
            lives,
            states,
            factors,
            pace,
            offsets,
            clocks,
            kernels,
            snapshots: Vec::new(),
            watched,
            links,
            order,
        };
        reckoning.run(car);
        reckoning.find_paces();
        reckoning
    }

    /// The present life of a check of a part.
    pub(crate) fn present(&self, part: usize, check: &str) -> Option<usize> {
        self.lives
            .iter()
            .rposition(|l| l.part == part && l.check.id == check && l.end.is_none())
    }

    /// The posterior of a life today, given that it still holds at the levels named.
    pub(crate) fn posterior(&self, life: usize, holds: &[LetsGo]) -> Option<Posterior> {
        let (state, factor) = (self.states.get(life)?, self.factors.get(life)?);
        Some(state.filter.as_ref()?.posterior(factor, holds))
    }

    fn run(&mut self, car: &Car) {
        let mut dates: Vec<Date> = car
            .surveys
            .iter()
            .map(|s| s.date)
            .filter(|d| *d <= self.today)
            .collect();
        // A file written by hand may hold surveys in any order.
        dates.sort();
        dates.dedup();
        let surveys = dates.clone();
        if dates.last() != Some(&self.today) {
            dates.push(self.today);
        }
        let mut before: Option<Date> = None;
        for date in dates {
            self.pass(before, date);
            if surveys.contains(&date) {
                self.survey(date);
            }
            before = Some(date);
        }
        let kernels = &self.kernels;
        self.lives
            .par_iter()
            .zip(&mut self.states)
            .filter(|(life, _)| life.end.is_none())
            .for_each(|(life, state)| {
                settle(life, state, kernels);
            });
    }

    /// Lets time pass for every life from one date to another.
    fn pass(&mut self, from: Option<Date>, to: Date) {
        let Some(from) = from else {
            for (life, state) in self.lives.iter().zip(&mut self.states) {
                if let Some(begin) = life.begin.date() {
                    let even = self.clocks.elapsed(life.check.decline.driver, begin, to);
                    state.since_new = even;
                    state.pending += weathered(life, 0.0, even);
                    start_treated(life, state, &self.kernels);
                }
            }
            return;
        };
        let tables = self.tables(from, to, |life| {
            life.covers(from) || life.begin.date().is_some_and(|d| d > from && d < to)
        });
        for (at, table) in tables.into_iter().enumerate() {
            let (Some(life), Some(state)) = (self.lives.get(at), self.states.get_mut(at)) else {
                continue;
            };
            if let Some(table) = table {
                state.pending += table.units.last().copied().unwrap_or(0.0);
                state.since_new += table.even;
                start_treated(life, state, &self.kernels);
            }
        }
    }

    /// Clock tables over a stretch of dates for the lives chosen, couplings included.
    fn tables(&self, from: Date, to: Date, chosen: impl Fn(&Life) -> bool) -> Vec<Option<ClockTable>> {
        let grid = months(from, to);
        let days: Vec<f64> = grid.iter().map(|d| days_between(from, *d)).collect();
        let mut tables: Vec<Option<ClockTable>> = vec![None; self.lives.len()];
        for &at in &self.order {
            let Some(life) = self.lives.get(at).filter(|l| chosen(l)) else {
                continue;
            };
            let drivers: Vec<(Link, Vec<f64>)> = self
                .links
                .get(at)
                .into_iter()
                .flatten()
                .filter_map(|link| {
                    let by = self.lives.get(link.by).filter(|l| l.covers(from))?;
                    let table = tables.get(link.by)?.as_ref()?;
                    Some((*link, self.chances_past(link.by, by, link.past, table)))
                })
                .collect();
            let since_new = self.states.get(at).map_or(0.0, |s| s.since_new);
            let mut units = vec![0.0];
            let mut sum = 0.0;
            for (step, pair) in grid.windows(2).enumerate() {
                if let [u, v] = pair {
                    let begin = life.begin.date().map_or(*u, |d| d.max(*u));
                    let end = life.end.map_or(*v, |d| d.min(*v));
                    let mut times = 1.0;
                    for (link, chances) in &drivers {
                        let middle = chances
                            .get(step)
                            .zip(chances.get(step + 1))
                            .map_or(0.0, |(a, b)| f64::midpoint(*a, *b));
                        times *= 1.0 + (link.times - 1.0) * middle;
                    }
                    sum += self.clocks.elapsed(life.check.decline.driver, begin, end) * times;
                }
                units.push(weathered(life, since_new, sum));
            }
            if let Some(slot) = tables.get_mut(at) {
                *slot = Some(ClockTable {
                    days: days.clone(),
                    units,
                    even: sum,
                });
            }
        }
        tables
    }

    /// Probability that a life is past a level at each entry of its clock table, as known at the table's first date.
    fn chances_past(&self, at: usize, life: &Life, past: f64, table: &ClockTable) -> Vec<f64> {
        let Some(state) = self.states.get(at) else {
            return Vec::new();
        };
        let own;
        let (filter, pending) = match (&state.filter, life.begin) {
            (Some(filter), _) => (filter, state.pending),
            (None, Begin::New(_)) => {
                own = Filter::new(
                    &Prior::from(&life.check.decline),
                    Start::New { elapsed: state.pending },
                    &self.kernels,
                );
                (&own, 0.0)
            }
            _ => return Vec::new(),
        };
        let none = CarFactor::none();
        let factor = self.factors.get(at).unwrap_or(&none);
        let posterior = filter.posterior(factor, &[]);
        table.units.iter().map(|u| posterior.past(past, pending + u)).collect()
    }

    /// One survey: brings every life seen in it to the day, finds the survey's offset, and looks.
    fn survey(&mut self, date: Date) {
        let kernels = &self.kernels;
        self.lives.par_iter().zip(&mut self.states).for_each(|(life, state)| {
            if life.looks.get(state.looks_done()).is_some_and(|l| l.date == date) {
                settle(life, state, kernels);
            }
        });
        let offset = self.find_offset(date);
        let factors = &self.factors;
        self.lives
            .par_iter()
            .zip(&mut self.states)
            .zip(factors)
            .for_each(|((life, state), factor)| {
                // More than one when two surveys bear the same date.
                while let Some(look) = life.looks.get(state.looks_done()).filter(|l| l.date == date) {
                    let seen_before = state.looks_done() > 0;
                    let Some(filter) = &mut state.filter else { return };
                    if seen_before {
                        state.as_good = Some(filter.chance_of(factor, &as_good(&look.observation), offset));
                    }
                    filter.observe(&look.observation, offset);
                    state.offsets.push(offset);
                }
            });
        if let Some((part, check)) = &self.watched {
            for (at, (life, state)) in self.lives.iter().zip(&self.states).enumerate() {
                let looked = state.looks_done().checked_sub(1).and_then(|nth| life.looks.get(nth));
                let filter = state.filter.as_ref().filter(|_| looked.is_some_and(|l| l.date == date));
                if let Some(filter) = filter.filter(|_| life.part == *part && life.check.id == *check) {
                    self.snapshots.push((at, date, filter.clone()));
                }
            }
        }
    }

    /// The mean offset of a survey, from the checks seen both before and in it.
    fn find_offset(&mut self, date: Date) -> f64 {
        const STEPS: i32 = 9;
        let grid: Vec<f64> = (-STEPS..=STEPS)
            .map(|s| f64::from(s) / f64::from(STEPS) * 3.0 * SURVEY_OFFSET_SD)
            .collect();
        let seen_again: Vec<Vec<f64>> = (&self.lives, &self.states, &self.factors)
            .into_par_iter()
            .filter_map(|(life, state, factor)| {
                let look = life
                    .looks
                    .get(state.looks_done())
                    .filter(|l| l.date == date && state.looks_done() > 0)?;
                let filter = state.filter.as_ref()?;
                Some(
                    filter
                        .chances_at(factor, &look.observation, &grid)
                        .into_iter()
                        .map(|chance| chance.max(1e-300).ln())
                        .collect(),
                )
            })
            .collect();
        if seen_again.is_empty() {
            return 0.0;
        }
        let logs: Vec<f64> = grid
            .iter()
            .enumerate()
            .map(|(at, o)| {
                -0.5 * (o / SURVEY_OFFSET_SD).powi(2) + seen_again.iter().filter_map(|l| l.get(at)).sum::<f64>()
            })
            .collect();
        let weights = normalised(&logs);
        let offset = grid.iter().zip(&weights).map(|(o, w)| o * w).sum();
        self.offsets.push(SurveyOffset {
            date,
            offset,
            checks: seen_again.len(),
        });
        offset
    }

    /// The car's pace per driver, and each life's factor with its own part left out.
    fn find_paces(&mut self) {
        let prior = CarFactor::prior(CAR_PACE_SD);
        let prior_logs: Vec<f64> = prior.weights.iter().map(|w| w.max(1e-300).ln()).collect();
        let told: Vec<Option<Vec<f64>>> = (&self.lives, &self.states)
            .into_par_iter()
            .map(|(life, state)| {
                let tells = state.looks_done() > usize::from(life.begin == Begin::Unknown);
                let filter = state.filter.as_ref().filter(|_| tells)?;
                Some(filter.log_likelihood_by_factor(&prior.log_factors))
            })
            .collect();
        for (pace, driver) in PACES.iter().enumerate() {
            let mut sum = prior_logs.clone();
            let mut checks = 0;
            for (life, logs) in self.lives.iter().zip(&told) {
                if let Some(logs) = logs.as_ref().filter(|_| pace_of(life.check.decline.driver) == pace) {
                    checks += 1;
                    sum.iter_mut().zip(logs).for_each(|(s, l)| *s += l);
                }
            }
            for ((life, logs), factor) in self.lives.iter().zip(&told).zip(&mut self.factors) {
                if pace_of(life.check.decline.driver) == pace {
                    let own = logs.as_deref().unwrap_or(&[]);
                    let rest: Vec<f64> = sum
                        .iter()
                        .enumerate()
                        .map(|(at, s)| s - own.get(at).copied().unwrap_or(0.0))
                        .collect();
                    factor.weights = normalised(&rest);
                }
            }
            let times = quantiles(&prior.log_factors, &normalised(&sum));
            self.pace.push(CarPace { driver, times, checks });
        }
    }

    /// Clock tables of all present lives from today on.
    pub(crate) fn ahead(&self) -> Vec<Option<ClockTable>> {
        self.tables(self.today, day_after(self.today, AHEAD_DAYS), |life| life.end.is_none())
    }
}

/// Clock units between two points of a life's even clock: the same, but for bare steel of known age, whose rust slows.
fn weathered(life: &Life, since_new: f64, even: f64) -> f64 {
    match (life.check.decline.weathering, life.begin) {
        (Some(exponent), Begin::New(_)) => attack(since_new + even, exponent) - attack(since_new, exponent),
        _ => even,
    }
}

/// Gives a treated life its filter from the day of the treatment.
fn start_treated(life: &Life, state: &mut LifeState, kernels: &Kernels) {
    if let (Begin::Treated(_, damage), None) = (life.begin, &state.filter) {
        state.filter = Some(Filter::new(
            &Prior::from(&life.check.decline),
            Start::At { damage },
            kernels,
        ));
    }
}

/// Brings a life's filter up to date, making it first where there is none.
fn settle(life: &Life, state: &mut LifeState, kernels: &Kernels) {
    match &mut state.filter {
        Some(filter) => filter.advance(state.pending),
        None => {
            let start = match life.begin {
                Begin::Unknown => Start::Unknown,
                Begin::New(_) => Start::New { elapsed: state.pending },
                Begin::Treated(_, damage) => Start::At { damage },
            };
            state.filter = Some(Filter::new(&Prior::from(&life.check.decline), start, kernels));
        }
    }
    state.pending = 0.0;
}

/// An observation that stands for one as good or better.
fn as_good(seen: &Observation) -> Observation {
    const FAR: f64 = 1e6;
    match seen {
        Observation::Grade { edges, grade, sd } => {
            let up_to = edges.get(*grade).copied().unwrap_or(FAR);
            Observation::Grade {
                edges: [up_to, FAR, FAR, FAR, FAR],
                grade: 0,
                sd: *sd,
            }
        }
        Observation::Reading { damage, sd } => Observation::Grade {
            edges: [*damage, FAR, FAR, FAR, FAR],
            grade: 0,
            sd: *sd,
        },
        Observation::PastLimit { yes: true, sd } => Observation::Grade {
            edges: [FAR; 5],
            grade: 0,
            sd: *sd,
        },
        Observation::PastLimit { yes: false, .. } => seen.clone(),
    }
}

/// Weights that sum to one, from their logs.
fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / sum).collect()
}

/// 10, 50 and 90 % points of exp(x) for weights on a rising grid of x.
fn quantiles(xs: &[f64], weights: &[f64]) -> Spread {
    let mut middles = Vec::with_capacity(weights.len());
    let mut sum = 0.0;
    for w in weights {
        middles.push(sum + w / 2.0);
        sum += w;
    }
    let at = |p: f64| interpolate(&middles, xs, p).exp();
    Spread {
        low: at(0.1),
        mid: at(0.5),
        high: at(0.9),
    }
}
