//! From what was seen to what to do first: pure functions of a car, the rubrics and a date.
//!
//! Nothing here opens a file, reads the clock or formats text. The way through:
//! [`assess`](assess::assess) runs every check's [`clock`] and [`decline`] filter and turns damage into [`harm`];
//! [`standing`] ranks the parts, [`sides`] sets left against right, [`plan`] fills the owner's
//! sessions with repairs, [`workpace`] learns how long the owner's jobs take, [`fixings`] gives guide torques,
//! [`second_look`] draws what is graded again and [`steadiness`] learns from it how steady the grader is.

pub mod assess;
pub mod change;
pub mod clock;
pub(crate) mod clock_table;
pub(crate) mod couplings;
pub mod decline;
pub mod due;
pub(crate) mod exposure;
pub mod first_look;
pub mod fixings;
pub mod harm;
pub mod history;
pub mod lives;
pub mod memory;
pub mod next_winter;
pub mod normal;
pub(crate) mod one_eye;
pub mod plan;
pub(crate) mod reckon;
pub mod second_look;
pub mod sides;
pub mod standing;
pub mod state;
pub mod steadiness;
pub mod workpace;

pub use state::*;
