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
//! *A survey's offset.* A whole survey may have been graded harder: normal(0, 0.06) in damage, found from the other parts'
//! checks graded before and then (see `one_eye`), and taken off the grades before anything is called a change.

use std::sync::Arc;

use jiff::civil::Date;
use rayon::prelude::*;

use super::clock::{Clocks, attack, day_after, days_between};
use super::clock_table::{ClockTable, interpolate, months};
use super::couplings::{Link, links, order};
use super::decline::{Ask, CarFactor, Filter, Observation, Outlook, Posterior, Prior, Start};
use super::exposure::levels;
use super::lives::{Begin, Life, lives};
use super::memory::{Memory, Path};
use super::one_eye::{PACES as PACES_TRIED, Told, find, offsets_tried};
use super::state::{CarPace, Grader, Spread, SurveyOffset};
use crate::car::Car;
use crate::rubric::{Driver, LetsGo, Library, PartId};

/// Log-sd of the car's pace factor (judgement).
pub const CAR_PACE_SD: f64 = 0.4;
/// Sd of a survey's offset, in damage (judgement).
pub const SURVEY_OFFSET_SD: f64 = 0.06;
/// Offsets are kept to this, in damage: what is less nobody could tell, and it would make every check of a survey be
/// reckoned again for each look at another.
const OFFSET_STEP: f64 = 0.02;
/// How far ahead the tables go, in days: five years.
pub const AHEAD_DAYS: f64 = 1826.0;

/// Questions that the history of a check answers: how likely a look as good or better was,
const AS_GOOD: u64 = 1;
/// how likely the look is at each offset of its survey and pace of the car,
const AT_OFFSETS: u64 = 2;
/// how likely all looks are at each pace of the car,
const BY_PACE: u64 = 3;
/// and at the few paces that a survey's offset is found with.
const BY_PACES_TRIED: u64 = 4;

/// The clocks that have a pace of their own.
const PACES: [&str; 3] = ["wear", "corrosion", "ageing"];

/// Everything reckoned about a car on a day, before it is turned into exposure.
pub(crate) struct Reckoning<'a> {
    pub(crate) today: Date,
    /// The scatter of the grader and what it rests on.
    pub(crate) grader: Grader,
    pub(crate) parts: Vec<PartId>,
    pub(crate) lives: Vec<Life<'a>>,
    pub(crate) states: Vec<LifeState>,
    pub(crate) factors: Vec<CarFactor>,
    pub(crate) pace: Vec<CarPace>,
    pub(crate) offsets: Vec<SurveyOffset>,
    pub(crate) clocks: Clocks,
    pub(crate) memory: &'a Memory,
    /// The watched check's filter as it stood after each look.
    pub(crate) snapshots: Vec<(usize, Date, Filter)>,
    watched: Option<(usize, String)>,
    links: Vec<Vec<Link>>,
    order: Vec<usize>,
}

/// The history of one life as far as it is told.
#[derive(Default)]
pub(crate) struct LifeState {
    pub(crate) path: Option<Path>,
    /// What is known at the end of it, given that it holds at these levels.
    outlook: Option<(Vec<LetsGo>, Arc<Outlook>)>,
    /// Clock passed since the end of the path.
    pending: f64,
    /// Even clock passed since the part was new, for bare steel that slows as it rusts.
    since_new: f64,
    /// Probability, before the newest look, of one as good or better.
    pub(crate) as_good: Option<f64>,
    /// The offset of the survey of each look.
    pub(crate) offsets: Vec<f64>,
}

impl LifeState {
    /// How many looks the path has taken in.
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
    pub(crate) fn new(car: &'a Car, library: &'a Library, today: Date, memory: &'a Memory) -> Reckoning<'a> {
        Reckoning::watching(car, library, today, memory, None)
    }

    /// The same, keeping the filter of one check as it stood after each look.
    pub(crate) fn watching(
        car: &'a Car,
        library: &'a Library,
        today: Date,
        memory: &'a Memory,
        watched: Option<(&PartId, &str)>,
    ) -> Reckoning<'a> {
        let parts = car.part_ids(library);
        let watched = watched.and_then(|(part, check)| Some((parts.iter().position(|p| p == part)?, check.to_owned())));
        let grader = super::second_look::grader(car, library, today, memory);
        let lives = lives(car, library, &parts, today, grader.sd);
        let links = links(&lives, &parts);
        let order = order(&links);
        let states = lives.iter().map(|_| LifeState::default()).collect();
        let factors = lives.iter().map(|_| CarFactor::prior(CAR_PACE_SD)).collect();
        let clocks = Clocks::new(car, library, today);
        let (pace, offsets) = (Vec::new(), Vec::new());
        let mut reckoning = Reckoning {
            today,
            grader,
            parts,
            lives,
            states,
            factors,
            pace,
            offsets,
            clocks,
            memory,
            snapshots: Vec::new(),
            watched,
            links,
            order,
        };
        reckoning.run(car);
        reckoning.find_paces();
        reckoning.look_out();
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
        let outlook = match &state.outlook {
            Some((of, outlook)) if of.as_slice() == holds => Arc::clone(outlook),
            _ => state.path.as_ref()?.outlook(self.memory, holds)?,
        };
        Some(outlook.at_pace(factor))
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
        for (life, state) in self.lives.iter().zip(&mut self.states) {
            if life.end.is_none() {
                settle(life, state);
            }
        }
    }

    /// Lets time pass for every life from one date to another.
    fn pass(&mut self, from: Option<Date>, to: Date) {
        let Some(from) = from else {
            for (life, state) in self.lives.iter().zip(&mut self.states) {
                if let Some(begin) = life.begin.date() {
                    let even = self.clocks.elapsed(life.check.decline.driver, begin, to);
                    state.since_new = even;
                    state.pending += weathered(life, 0.0, even);
                    start_treated(life, state);
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
                start_treated(life, state);
            }
        }
    }

    /// Clock tables over a stretch of dates for the lives chosen, couplings included.
    fn tables(&self, from: Date, to: Date, chosen: impl Fn(&Life) -> bool) -> Vec<Option<ClockTable>> {
        let grid = months(from, to);
        let days: Vec<f64> = grid.iter().map(|d| days_between(from, *d)).collect();
        let mut tables: Vec<Option<ClockTable>> = vec![None; self.lives.len()];
        // What several lives ask for: the steps of each clock over the whole stretch, and each driver's chances.
        let mut clocks: Vec<(Driver, Vec<f64>)> = Vec::new();
        let mut told: Vec<(usize, f64, Vec<f64>)> = Vec::new();
        for &at in &self.order {
            let Some(life) = self.lives.get(at).filter(|l| chosen(l)) else {
                continue;
            };
            let driver = life.check.decline.driver;
            let steps = |begin: Date, end: Date| -> Vec<f64> {
                let pairs = grid.windows(2).filter_map(|pair| Some((*pair.first()?, *pair.last()?)));
                pairs
                    .map(|(u, v)| self.clocks.elapsed(driver, u.max(begin), v.min(end)))
                    .collect()
            };
            let begin = life.begin.date().map_or(from, |d| d.max(from));
            let end = life.end.map_or(to, |d| d.min(to));
            let mut steps = if (begin, end) == (from, to) {
                match clocks.iter().find(|(of, _)| *of == driver) {
                    Some((_, steps)) => steps.clone(),
                    None => {
                        let steps = steps(from, to);
                        clocks.push((driver, steps.clone()));
                        steps
                    }
                }
            } else {
                steps(begin, end)
            };
            for link in self.links.get(at).into_iter().flatten() {
                let Some(by) = self.lives.get(link.by).filter(|l| l.covers(from)) else {
                    continue;
                };
                let Some(table) = tables.get(link.by).and_then(Option::as_ref) else {
                    continue;
                };
                let place = match told
                    .iter()
                    .position(|(by, past, _)| *by == link.by && *past == link.past)
                {
                    Some(place) => place,
                    None => {
                        told.push((
                            link.by,
                            link.past,
                            self.chances_past((link.by, by), link.past, from, table),
                        ));
                        told.len() - 1
                    }
                };
                let chances = told.get(place).map_or(&[][..], |(_, _, chances)| chances);
                for (step, pair) in steps.iter_mut().zip(chances.windows(2)) {
                    if let [a, b] = pair {
                        *step *= 1.0 + (link.times - 1.0) * f64::midpoint(*a, *b);
                    }
                }
            }
            let since_new = self.states.get(at).map_or(0.0, |s| s.since_new);
            let mut units = vec![0.0];
            let mut sum = 0.0;
            for step in steps {
                sum += step;
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
    fn chances_past(&self, (at, life): (usize, &Life), past: f64, from: Date, table: &ClockTable) -> Vec<f64> {
        let Some(state) = self.states.get(at) else {
            return Vec::new();
        };
        let own;
        let (path, pending) = match (&state.path, life.begin) {
            (Some(path), _) => (path, state.pending),
            (None, Begin::New(_)) => {
                let elapsed = state.pending;
                own = Path::new(Prior::from(&life.check.decline), Start::New { elapsed });
                (&own, 0.0)
            }
            _ => return Vec::new(),
        };
        let none = CarFactor::none();
        let factor = self.factors.get(at).unwrap_or(&none);
        let asks: Vec<Ask> = (table.units.iter())
            .map(|units| Ask::Past {
                damage: past,
                ahead: pending + units,
            })
            .collect();
        // From today on the clock runs a little otherwise after every look at what quickens this check, and others are asked.
        if from == self.today {
            let outlook = path.outlook(self.memory, &[]);
            return outlook.map_or_else(Vec::new, |outlook| outlook.at_pace(factor).answers(&asks));
        }
        path.answers(self.memory, factor, &asks)
    }

    /// One survey: brings every life seen in it to the day, finds the survey's offset, and looks.
    fn survey(&mut self, date: Date) {
        for (life, state) in self.lives.iter().zip(&mut self.states) {
            if life.looks.get(state.looks_done()).is_some_and(|l| l.date == date) {
                settle(life, state);
            }
        }
        let offsets = self.find_offset(date);
        let memory = self.memory;
        (&self.lives, &mut self.states, &self.factors)
            .into_par_iter()
            .for_each(|(life, state, factor)| {
                // More than one when two surveys bear the same date.
                while let Some(look) = life.looks.get(state.looks_done()).filter(|l| l.date == date) {
                    let seen_before = state.looks_done() > 0;
                    let Some(path) = &mut state.path else { return };
                    // An instrument has no eye.
                    let offset = match look.observation {
                        Observation::Reading { .. } => 0.0,
                        _ => offsets.get(life.part).copied().unwrap_or(0.0),
                    };
                    if seen_before {
                        let as_good = as_good(&look.observation);
                        let mut question = vec![AS_GOOD, offset.to_bits()];
                        question.extend(as_good.words());
                        let chance = path.numbers(memory, &question, |f| vec![f.chance_of(factor, &as_good, offset)]);
                        state.as_good = chance.first().copied();
                    }
                    path.observe(&look.observation, offset);
                    state.offsets.push(offset);
                }
            });
        if let Some((part, check)) = &self.watched {
            for (at, (life, state)) in self.lives.iter().zip(&mut self.states).enumerate() {
                let looked = state.looks_done().checked_sub(1).and_then(|nth| life.looks.get(nth));
                let path = state.path.as_ref().filter(|_| looked.is_some_and(|l| l.date == date));
                if let Some(path) = path.filter(|_| life.part == *part && life.check.id == *check) {
                    self.snapshots.push((at, date, path.filter(memory, Filter::clone)));
                }
            }
        }
    }

    /// The mean offset of a survey for each part, from the checks of all other parts graded both before and in it, to the
    /// nearest fiftieth.
    fn find_offset(&mut self, date: Date) -> Vec<f64> {
        let tried = offsets_tried(SURVEY_OFFSET_SD);
        let paces = PACES_TRIED.map(|(z, _)| z * CAR_PACE_SD);
        let memory = self.memory;
        let graded = |o: &Observation| !matches!(o, Observation::Reading { .. });
        let told: Vec<Told> = (&self.lives, &self.states)
            .into_par_iter()
            .filter_map(|(life, state)| {
                let done = state.looks_done();
                let look = life
                    .looks
                    .get(done)
                    .filter(|l| l.date == date && done > 0 && graded(&l.observation));
                let tells = done > usize::from(life.begin == Begin::Unknown);
                let path = state.path.as_ref().filter(|_| tells || look.is_some())?;
                let before =
                    tells.then(|| path.numbers(memory, &[BY_PACES_TRIED], |f| f.log_likelihood_by_factor(&paces)));
                let now = look.map(|look| {
                    let mut question = vec![AT_OFFSETS];
                    question.extend(look.observation.words());
                    path.numbers(memory, &question, |filter| {
                        let chances = filter.chances_at(&paces, &look.observation, &tried);
                        chances.into_iter().map(|chance| chance.max(1e-300).ln()).collect()
                    })
                });
                Some(Told {
                    part: life.part,
                    driver: pace_of(life.check.decline.driver),
                    before: before.map(|b| b.to_vec()),
                    now: now.map(|n| n.to_vec()),
                })
            })
            .collect();
        if told.iter().all(|one| one.now.is_none()) {
            return Vec::new();
        }
        let found = find(&told, &tried, SURVEY_OFFSET_SD);
        let kept = |offset: f64| (offset / OFFSET_STEP).round() * OFFSET_STEP;
        self.offsets.push(SurveyOffset {
            date,
            offset: kept(found.all),
            checks: found.checks,
        });
        let of_part = |part: usize| kept(found.without.get(&part).copied().unwrap_or(found.all));
        (0..self.parts.len()).map(of_part).collect()
    }

    /// The car's pace per driver, and each life's factor with its own part left out.
    fn find_paces(&mut self) {
        let prior = CarFactor::prior(CAR_PACE_SD);
        let prior_logs: Vec<f64> = prior.weights.iter().map(|w| w.max(1e-300).ln()).collect();
        let memory = self.memory;
        let told: Vec<Option<Arc<[f64]>>> = (&self.lives, &self.states)
            .into_par_iter()
            .map(|(life, state)| {
                let tells = state.looks_done() > usize::from(life.begin == Begin::Unknown);
                let path = state.path.as_ref().filter(|_| tells)?;
                Some(path.numbers(memory, &[BY_PACE], |f| f.log_likelihood_by_factor(&prior.log_factors)))
            })
            .collect();
        for (pace, driver) in PACES.iter().enumerate() {
            let mut sum = prior_logs.clone();
            let mut checks = 0;
            for (life, logs) in self.lives.iter().zip(&told) {
                if let Some(logs) = logs.as_ref().filter(|_| pace_of(life.check.decline.driver) == pace) {
                    checks += 1;
                    sum.iter_mut().zip(logs.iter()).for_each(|(s, l)| *s += l);
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
                    *factor = CarFactor::rounded(&prior.log_factors, &normalised(&rest));
                }
            }
            let times = quantiles(&prior.log_factors, &normalised(&sum));
            self.pace.push(CarPace { driver, times, checks });
        }
    }

    /// Looks out from the end of every present path. Of the filters only those are needed any more that other checks' clocks ahead
    /// will ask.
    fn look_out(&mut self) {
        let memory = self.memory;
        let mut asked = vec![false; self.lives.len()];
        for link in self.links.iter().flatten() {
            if let Some(asked) = asked.get_mut(link.by) {
                *asked = true;
            }
        }
        (&self.lives, &mut self.states, &asked)
            .into_par_iter()
            .for_each(|(life, state, asked)| {
                let Some(path) = &state.path else { return };
                if life.end.is_none() {
                    let holds = levels(life.component, &life.check.id);
                    state.outlook = path.outlook(memory, &holds).map(|outlook| (holds, outlook));
                }
                if !asked {
                    path.let_go();
                }
            });
    }

    /// Clock tables of all present lives from today on.
    pub(crate) fn ahead(&self) -> Vec<Option<ClockTable>> {
        let tables = self.tables(self.today, day_after(self.today, AHEAD_DAYS), |life| life.end.is_none());
        self.states
            .iter()
            .filter_map(|state| state.path.as_ref())
            .for_each(Path::let_go);
        tables
    }
}

/// Clock units between two points of a life's even clock: the same, but for bare steel of known age, whose rust slows.
fn weathered(life: &Life, since_new: f64, even: f64) -> f64 {
    match (life.check.decline.weathering, life.begin) {
        (Some(exponent), Begin::New(_)) => attack(since_new + even, exponent) - attack(since_new, exponent),
        _ => even,
    }
}

/// Begins the path of a treated life on the day of the treatment.
fn start_treated(life: &Life, state: &mut LifeState) {
    if let (Begin::Treated(_, damage), None) = (life.begin, &state.path) {
        state.path = Some(Path::new(Prior::from(&life.check.decline), Start::At { damage }));
    }
}

/// Brings a life's path up to date, beginning it where there is none.
fn settle(life: &Life, state: &mut LifeState) {
    match &mut state.path {
        Some(path) => path.advance(state.pending),
        None => {
            let start = match life.begin {
                Begin::Unknown => Start::Unknown,
                Begin::New(_) => Start::New { elapsed: state.pending },
                Begin::Treated(_, damage) => Start::At { damage },
            };
            state.path = Some(Path::new(Prior::from(&life.check.decline), start));
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
