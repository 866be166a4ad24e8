//! The bare scheduling problem: jobs with hours, set-ups shared within a visit, precedence, and a price for each visit.
//!
//! Each job goes into one visit. A visit's jobs and the set-ups they need must fit into its hours; a set-up is paid once per
//! visit (or once at all, for a car whose opened parts stay open: then in the first visit that uses it). `before` pairs are
//! done in order: the first in an earlier visit or the same one. What is minimised is the sum over jobs of
//! `exposure[visit]`.
//!
//! The finer points, the same for every solver here:
//!
//! * **Bookings.** A job may be done by somebody else, of one trade. A visit is either the owner's or a booking with one trade,
//!   for the car is in one place: all jobs of a visit have the same [`Job::with`]. A booking's jobs fit into
//!   [`Problem::booking_hours`] instead of the visit's own hours, which it takes whole, and need no set-ups. A pair of jobs
//!   in different hands is therefore done in different visits. Money, pins and the rules below hold for both kinds; a
//!   booked job that runs on does so over bookings with its trade.
//! * **Long jobs.** A job whose hours and set-ups are more than the whole of visit `k` may begin in `k` as the last thing
//!   done there, if its set-ups fit and some time is left; it takes all that is left, all of the visits that follow, and
//!   what it needs of the visit that completes it. Only in that last one may other jobs use the rest (they pay for
//!   their own set-ups unless these stay open). Nothing else is done in between. [`Schedule::visit`] is the visit
//!   that completes it; [`Job::earliest`], [`Job::pinned`] and the money count where it begins, since its parts must be in hand.
//! * **Money.** All jobs begun up to and including visit `k` cost together no more than `money[k]`, and later work never
//!   takes a later visit's sum below what is already spent. A job that costs nothing needs no money.
//! * **No place.** A job that fits nowhere is left out and counts its last tabulated exposure; so is every job that must
//!   come after it.
//! * **Circles in `before`.** Pairs are taken in the order given; one that would close a circle, names a job that does
//!   not exist, or pairs a job with itself is ignored.
//! * **Odd numbers.** Negative hours and costs count as 0; a job or set-up whose hours are not finite finds no place.
//!   A set-up number that does not exist is ignored. Beyond 128 set-ups the rest are counted to the jobs one by one, unshared.
//!   An exposure table shorter than the calendar goes on with its last value.

/// A job of the problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Hours of the job itself: the owner's, or those of the trade it is booked with.
    pub hours: f64,
    /// The trade it is booked with, by any number of its own; `None` for the owner's work.
    pub with: Option<usize>,
    /// Set-ups it needs, as places in [`Problem::setups`]; of no account for a booked job.
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
    /// Hours of a booking made at each visit, until the next one; a visit without a number has none.
    pub booking_hours: Vec<f64>,
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
