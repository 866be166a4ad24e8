//! How damage grows, learned from the looks at one check.
//!
//! A gamma process with a rate of its own for each part, seen through blurred grades and readings: the model used for wear
//! found at inspections (J. Lawless and M. Crowder, "Covariates and random effects in a gamma process model with application
//! to degradation and failure", Lifetime Data Analysis 10, 2004; J. M. van Noortwijk, "A survey of the application of gamma
//! processes in maintenance", Reliability Engineering & System Safety 94, 2009).
//!
//! Growth is steady on y = φ(d) = ln(1 + (ρ − 1)·d)/ln ρ. Over Δτ units of clock y grows by Gamma(shape R·Δτ/κ, scale κ).
//! The rate R is log-normal about 1/life, or, with a small probability, about a multiple of it: the part has *quickened*.
//! [`Filter`] carries the distribution over a grid of (log R, y) from look to look without sampling, so that a number never
//! changes between two runs; [`Posterior`] is what is known now and answers for any later day.
//!
//! When nothing has been seen the answer is the rubric's usual life; when looks contradict each other the later ones do not
//! erase the earlier ones, and a look that nothing can explain is believed.
//!
//! ```
//! use tinworm::engine::decline::{CarFactor, Filter, Kernels, Observation, Prior, Start};
//! use tinworm::rubric::{LetsGo, Quickened};
//!
//! let usual = Prior { life: 12.0, spread: 0.6, quickened: Quickened::default(), jumpiness: 0.03, quickening: 1.0 };
//! let kernels = Kernels::new();
//! let mut filter = Filter::new(&usual, Start::Unknown, &kernels);
//! filter.observe(&Observation::Grade { edges: [0.1, 0.3, 0.5, 0.75, 1.0], grade: 3, sd: 0.12 }, 0.0);
//! let now = filter.posterior(&CarFactor::none(), &[LetsGo::default()]);
//! assert!(now.past(1.0, 0.0) < now.past(1.0, 3.0));
//! ```

mod draws;
mod filter;
mod gamma_steps;
mod kernels;
mod levels;
mod likelihoods;
mod look;
mod normal;
mod outlook;
mod posterior;
mod prior;
mod quantile;
mod reader;
mod rows;
mod scale;
mod wide;

pub use draws::dealt;
pub use filter::{Filter, Start};
pub use kernels::Kernels;
pub use look::Observation;
pub(crate) use outlook::ByWords;
pub use outlook::{Ask, Outlook};
pub use posterior::Posterior;
pub use prior::{CarFactor, Prior};
