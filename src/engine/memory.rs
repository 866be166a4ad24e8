//! What was reckoned of a car before, to be used again where nothing it depends on has changed.
//!
//! The engine's answers depend on nothing but its arguments; a [`Memory`] changes only how long they take. Everything kept
//! stands under the exact numbers it was reckoned from (the prior, the start, every stretch of clock and every look of a
//! check; for a part also the pace of the car and the clock ahead), so that an answer from a memory is the same, bit for
//! bit, as one without it.
//!
//! What one changed look does to the rest of the car: the newest survey's offset, kept to fiftieths, mostly stays, and so does the
//! pace of its own clock, kept to twentieths; where the pace moves, the checks of that clock are weighed again, which costs a sum
//! for each question because the answers of each rate are kept; checks on other clocks are not touched.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use jiff::civil::Date;

use super::decline::{Ask, ByWords, CarFactor, Filter, Kernels, Observation, Outlook, Prior, Start};
use super::state::{LookNext, NoticeReason, PartState};
use crate::car::Seen;
use crate::rubric::{Component, LetsGo, PartId};

/// What was reckoned before; empty to begin with, and let go of when what it was for is gone.
#[derive(Debug, Default)]
pub struct Memory {
    kernels: Arc<Kernels>,
    known: Mutex<ByWords<Kept<Known>>>,
    parts: Mutex<HashMap<PartId, Kept<Box<Judged>>>>,
    run: usize,
    filtered: AtomicUsize,
    judged: AtomicUsize,
}

/// How much had to be reckoned anew, in counts that do not depend on the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Work {
    /// Looks and stretches of clock that went through a filter.
    pub steps: usize,
    /// Parts of which anything was reckoned.
    pub parts: usize,
}

#[derive(Debug)]
struct Kept<T> {
    what: T,
    run: usize,
}

/// What may be known of the history of a check.
#[derive(Debug, Clone)]
enum Known {
    Numbers(Arc<[f64]>),
    Outlook(Arc<Outlook>),
}

/// What was said of a part, and what it was said from.
#[derive(Debug)]
pub(crate) struct Judged {
    pub(crate) from: Grounds,
    pub(crate) component: Component,
    pub(crate) part: PartState,
    pub(crate) looks: Vec<LookNext>,
    pub(crate) notice: Vec<NoticeReason>,
}

/// All that is said of a part depends on, besides its component.
#[derive(Debug, PartialEq)]
pub(crate) struct Grounds {
    pub(crate) today: Date,
    pub(crate) horizon: f64,
    /// The newest look at each check.
    pub(crate) seen: Vec<Option<(Date, Seen)>>,
    /// Histories, paces and clocks, exactly.
    pub(crate) words: Vec<u64>,
}

/// Lets the memory that is given back stay with the program. To be called once, when it starts.
///
/// The allocator of most Linux systems returns the end of its memory whenever 128 kB of it are free, and gets it again page by
/// page: some 2,500 pages after each look, a fifth of the time. Once a block so large as this was given back it waits until twice
/// as much is free. Other allocators do not mind.
pub fn keep_freed_memory() {
    const BLOCK: usize = 8 << 20;
    drop(std::hint::black_box(Vec::<u8>::with_capacity(BLOCK)));
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Memory {
    /// Nothing yet.
    #[must_use]
    pub fn new() -> Memory {
        Memory::default()
    }

    /// Another memory, for another car, that shares what holds for all cars: how growth moves damage.
    #[must_use]
    pub fn for_another_car(&self) -> Memory {
        Memory {
            kernels: Arc::clone(&self.kernels),
            ..Memory::default()
        }
    }

    /// What had to be reckoned since the last assessment with this memory began.
    #[must_use]
    pub fn work(&self) -> Work {
        Work {
            steps: self.filtered.load(Ordering::Relaxed),
            parts: self.judged.load(Ordering::Relaxed),
        }
    }

    pub(crate) fn kernels(&self) -> &Kernels {
        &self.kernels
    }

    /// Begins an assessment: what it does not use is forgotten at its end.
    pub(crate) fn begin(&mut self) {
        self.run += 1;
        self.filtered.store(0, Ordering::Relaxed);
        self.judged.store(0, Ordering::Relaxed);
    }

    /// Forgets what was not used since the assessment began.
    pub(crate) fn end(&mut self) {
        let run = self.run;
        lock(&self.known).retain(|_, kept| kept.run == run);
        lock(&self.parts).retain(|_, kept| kept.run == run);
    }

    fn known(&self, key: Vec<u64>, reckon: impl FnOnce() -> Known) -> Known {
        if let Some(kept) = lock(&self.known).get_mut(key.as_slice()) {
            kept.run = self.run;
            return kept.what.clone();
        }
        let what = reckon();
        let kept = Kept {
            what: what.clone(),
            run: self.run,
        };
        lock(&self.known).insert(key.into(), kept);
        what
    }

    /// The change between two looks, from these words.
    pub(crate) fn number(&self, mut words: Vec<u64>, reckon: &dyn Fn() -> f64) -> f64 {
        words.insert(0, CHANGE);
        match self.known(words, || Known::Numbers([reckon()].into())) {
            Known::Numbers(numbers) => numbers.first().copied().unwrap_or(0.0),
            Known::Outlook(_) => 0.0,
        }
    }

    /// What was said of a part on the same grounds, taken out as it must be copied or put back.
    pub(crate) fn part<T>(
        &self,
        id: &PartId,
        component: &Component,
        from: &Grounds,
        copy: impl FnOnce(&Judged) -> T,
    ) -> Option<T> {
        let mut parts = lock(&self.parts);
        let same = |known: &Judged| known.from == *from && known.component == *component;
        let kept = parts.get_mut(id).filter(|kept| same(&kept.what))?;
        kept.run = self.run;
        Some(copy(&kept.what))
    }

    pub(crate) fn keep_part(&self, id: &PartId, judged: Judged) {
        let kept = Kept {
            what: Box::new(judged),
            run: self.run,
        };
        lock(&self.parts).insert(id.clone(), kept);
    }

    /// Counts a part of which something was reckoned.
    pub(crate) fn count_part(&self) {
        self.judged.fetch_add(1, Ordering::Relaxed);
    }
}

/// A stretch of clock, or a look.
#[derive(Debug, Clone)]
enum Step {
    Wait(f64),
    Look(Observation, f64),
}

/// The history of a check. A filter is sent along it only when something is asked that no memory knows.
#[derive(Debug)]
pub(crate) struct Path {
    prior: Prior,
    start: Start,
    steps: Vec<Step>,
    words: Vec<u64>,
    /// A filter that has come so many steps.
    filter: Mutex<Option<(usize, Filter)>>,
}

/// Asks for the answers to a list of questions that follows.
const ASKED: u64 = 4;
/// Begins the words of a change: no prior begins so, whose life would be no number above zero.
const CHANGE: u64 = u64::MAX;
/// Marks the end of a history and begins the question.
const QUESTION: u64 = 9;

impl Path {
    pub(crate) fn new(prior: Prior, start: Start) -> Path {
        let q = prior.quickened;
        let mut words = [
            prior.life,
            prior.spread,
            prior.jumpiness,
            prior.quickening,
            q.share,
            q.times,
            q.spread,
        ]
        .map(f64::to_bits)
        .to_vec();
        match start {
            Start::Unknown => words.push(0),
            Start::New { elapsed } => words.extend([1, elapsed.to_bits()]),
            Start::At { damage } => words.extend([2, damage.to_bits()]),
            Start::Belief { mean, sd } => words.extend([3, mean.to_bits(), sd.to_bits()]),
        }
        Path {
            prior,
            start,
            steps: Vec::new(),
            words,
            filter: Mutex::default(),
        }
    }

    pub(crate) fn advance(&mut self, clock: f64) {
        if clock > 0.0 {
            self.words.extend([1, clock.to_bits()]);
            self.steps.push(Step::Wait(clock));
        }
    }

    pub(crate) fn observe(&mut self, seen: &Observation, offset: f64) {
        self.words.push(2);
        self.words.extend(seen.words());
        self.words.push(offset.to_bits());
        self.steps.push(Step::Look(seen.clone(), offset));
    }

    /// The history, exactly.
    pub(crate) fn words(&self) -> &[u64] {
        &self.words
    }

    fn key(&self, question: &[u64]) -> Vec<u64> {
        let mut key = Vec::with_capacity(self.words.len() + 1 + question.len());
        key.extend(&self.words);
        key.push(QUESTION);
        key.extend(question);
        key
    }

    /// A filter at the end of the path, from where the last one stands.
    fn sent(&self, memory: &Memory, from: Option<(usize, Filter)>) -> Filter {
        let (done, mut filter) = from.unwrap_or_else(|| (0, Filter::new(&self.prior, self.start, memory.kernels())));
        for step in self.steps.iter().skip(done) {
            match step {
                Step::Wait(clock) => filter.advance(*clock),
                Step::Look(seen, offset) => filter.observe(seen, *offset),
            }
            memory.filtered.fetch_add(1, Ordering::Relaxed);
        }
        filter
    }

    /// Asks the filter at the end of the path; it stays there for what comes next.
    pub(crate) fn filter<T>(&self, memory: &Memory, ask: impl FnOnce(&Filter) -> T) -> T {
        let mut place = lock(&self.filter);
        let mut filter = self.sent(memory, place.take());
        filter.tighten();
        let (_, filter) = place.insert((self.steps.len(), filter));
        ask(filter)
    }

    /// Numbers told by the filter at the end of the path.
    pub(crate) fn numbers(
        &self,
        memory: &Memory,
        question: &[u64],
        reckon: impl FnOnce(&Filter) -> Vec<f64>,
    ) -> Arc<[f64]> {
        let key = self.key(question);
        let known = memory.known(key, || Known::Numbers(self.filter(memory, reckon).into()));
        match known {
            Known::Numbers(numbers) => numbers,
            // No question for an outlook asks for numbers.
            Known::Outlook(_) => Arc::new([]),
        }
    }

    /// What is known at the end of the path, given that it still holds at these levels.
    pub(crate) fn outlook(&self, memory: &Memory, holds: &[LetsGo]) -> Option<Arc<Outlook>> {
        let mut question = vec![0];
        for level in holds {
            question.extend([level.median.to_bits(), level.spread.to_bits()]);
        }
        let known = memory.known(self.key(&question), || {
            Known::Outlook(Arc::new(self.filter(memory, |f| f.outlook(holds))))
        });
        match known {
            Known::Outlook(outlook) => Some(outlook),
            Known::Numbers(_) => None,
        }
    }

    /// What these questions are answered at the end of the path, at a pace of the car. The same are asked again; nothing else is kept.
    pub(crate) fn answers(&self, memory: &Memory, factor: &CarFactor, asks: &[Ask]) -> Vec<f64> {
        let mut question = vec![ASKED];
        question.extend(asks.iter().flat_map(|ask| ask.words()));
        let known = memory.known(self.key(&question), || {
            Known::Outlook(Arc::new(self.filter(memory, |f| f.outlook(&[]).only_for(asks))))
        });
        match known {
            Known::Outlook(outlook) => outlook.at_pace(factor).answers(asks),
            Known::Numbers(_) => Vec::new(),
        }
    }

    /// Lets the filter go: nothing more will be asked on this path.
    pub(crate) fn let_go(&self) {
        *lock(&self.filter) = None;
    }
}

/// The weights of a pace, exactly.
pub(crate) fn pace_words(factor: &CarFactor) -> impl Iterator<Item = u64> + '_ {
    factor.log_factors.iter().chain(&factor.weights).map(|x| x.to_bits())
}
