//! From what was seen to what to do first: pure functions of a car, the rubrics and a date.
//!
//! Nothing here opens a file, reads the clock or formats text. The way through:
//! [`assess`](assess::assess) runs every check's [`clock`] and [`decline`] filter and turns damage into [`harm`];
//! [`standing`](standing::standing) ranks the parts, [`sides`] sets left against right, [`plan`] fills the owner's
//! sessions with repairs, [`fixings`] gives guide torques.

pub mod assess;
pub mod clock;
pub mod decline;
pub mod fixings;
pub mod harm;
pub mod history;
pub mod plan;
pub mod sides;
pub mod standing;
pub mod state;

pub use state::*;
