//! The yardsticks: what can be looked at on a car, how it is graded, how it declines, what it may do, how it is put right.
//!
//! [`model`] holds the plain types of the rubric files, [`parse`] reads one file, [`check`] finds every mistake in a
//! whole set, [`builtin`] is the set that ships with the program, and [`Library`] is a checked set ready for use.

pub mod builtin;
pub mod check;
pub mod fasteners;
pub mod library;
pub mod model;
pub mod parse;
pub mod station;

pub use check::load;
pub use library::Library;
pub use model::*;
pub use parse::{Mistake, SourceText};
pub use station::{Axle, PartId, Side, Station};
