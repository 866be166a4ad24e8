//! The bare scheduling problem: jobs with hours, set-ups shared within a visit, precedence, and a price for each visit.
//!
//! Each job goes into one visit. A visit's jobs and the set-ups they need must fit into its hours; a set-up is paid once per
//! visit (or once at all, for a car whose opened parts stay open). `before` pairs are done in order: the first in an
//! earlier visit or the same one. What is minimised is the sum over jobs of `exposure[visit]`.

/// A job of the problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Hours of the job itself.
    pub hours: f64,
    /// Set-ups it needs, as places in [`Problem::setups`].
    pub setups: Vec<usize>,
    /// Exposure carried if it is done in each visit; never falling.
    pub exposure: Vec<f64>,
    /// The first visit it may be done in.
    pub earliest: usize,
    /// What it costs.
    pub cost: f64,
    /// The visit it is fixed to, if any.
    pub pinned: Option<usize>,
}

/// A scheduling problem.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// Hours of each visit.
    pub visit_hours: Vec<f64>,
    /// Hours of each set-up.
    pub setups: Vec<f64>,
    /// The jobs.
    pub jobs: Vec<Job>,
    /// Pairs (first, second).
    pub before: Vec<(usize, usize)>,
    /// Money that may have been spent in all by each visit; empty when money is no matter.
    pub money: Vec<f64>,
    /// Whether set-ups stay open from visit to visit and are paid once at all.
    pub stays_open: bool,
}

/// Where each job goes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Schedule {
    /// The visit that finishes each job; `None` if it found no place.
    pub visit: Vec<Option<usize>>,
    /// The first visit of each job: earlier than `visit` when it runs over several.
    pub begins: Vec<Option<usize>>,
    /// Sum of exposures of the jobs placed; jobs not placed count their last visit's exposure.
    pub exposure: f64,
    /// Whether it is proven that nothing better exists.
    pub proven: bool,
}
