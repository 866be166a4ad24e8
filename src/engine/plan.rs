//! The work plan: which repairs in which session, so that the exposure carried until each is done is least.
//!
//! [`model`] holds what a plan says, [`problem`] the bare scheduling problem, [`search`] solves it ([`exact`] when it is small),
//! [`bound`] says how far from the best it can be, [`build`] turns a car's assessment into a problem and a solution into a plan that explains itself.
//! [`limits`] says what each limit of the owner costs, [`whatif`] what another plan would change, [`alternatives`] sets the
//! repairs that would do against each other, [`together`] plans several cars on one calendar.

pub mod alternatives;
pub(crate) mod booking;
pub mod bound;
pub mod build;
pub mod calendar;
pub(crate) mod candidates;
mod decode;
pub mod exact;
pub mod limits;
pub mod measure;
pub mod model;
pub(crate) mod offers;
pub mod parts;
pub(crate) mod pose;
pub mod problem;
pub mod search;
pub mod setups;
pub mod together;
pub(crate) mod trouble;
pub(crate) mod visit;
pub mod whatif;

pub use build::plan;
pub use candidates::{Beyond, beyond};
pub use model::*;
