//! tinworm: look, grade, forecast, rank, plan and repair a corroded project car, and look again after the winter.
//!
//! The house, from the ground up; dependencies point upwards only:
//!
//! | room | what it holds |
//! |---|---|
//! | [`text`], [`units`] | cleaning and width of text; grades, distances, numbers typed by people |
//! | [`picture`] | photos as bytes: their kind, their limits, small copies |
//! | [`rubric`] | the yardsticks: components, checks, failure modes, repairs, layouts; reading and checking them |
//! | [`car`] | one car's profile, parts, surveys, repairs done: plain data |
//! | [`engine`] | clocks, decline, harm, standing, sides, plan: pure functions of a car, the rubrics and a date |
//! | [`store`] | journal, snapshots, locks: the only place that touches data files |
//! | [`report`] | one wording for everything that is shown |
//! | [`cli`], [`tui`] | the command line and the terminal screens |

#![forbid(unsafe_code)]

pub mod car;
pub mod cli;
pub mod demo;
pub mod engine;
pub mod picture;
pub mod report;
pub mod rubric;
pub mod store;
pub mod text;
pub mod tui;
pub mod units;
