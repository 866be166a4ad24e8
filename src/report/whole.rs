//! The report of a whole car: where it stands, what comes first, what the plan does about it, and what all that rests on.
//!
//! One model of sections and blocks, set three ways: [`html`] as one self-contained page that prints, [`text`] for a terminal
//! or a plain file, [`markdown`] for a notebook. No face says anything that the others do not; a drawing carries its
//! alternative text and the values it shows.

mod after;
mod chart;
mod drawing;
mod front;
pub mod html;
pub mod markdown;
mod model;
pub mod photos;
mod sources;
mod text_face;
pub mod winter;

pub use model::*;
pub(super) use text_face::section as section_text;
pub use text_face::text;

use super::{Subject, words};
use crate::engine::next_winter;
use crate::engine::plan::Plan;
use crate::text::clean;

/// What a report may leave out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// Of how many parts of the standing the decline is drawn.
    pub charts: usize,
    /// Whether the worksheet of every visit is in it.
    pub worksheets: bool,
}

impl Default for Choice {
    fn default() -> Self {
        Choice {
            charts: 6,
            worksheets: true,
        }
    }
}

/// The report of a car on the day of its assessment.
#[must_use]
pub fn report(subject: &Subject, plan: &Plan, choice: Choice) -> Report {
    let car = clean(&subject.car.profile.name);
    let mut sections = vec![
        front::state(subject),
        front::plan_view(subject),
        front::standing(subject),
        front::decline(subject, choice.charts),
        front::sides(subject),
        after::plan(subject, plan),
    ];
    if choice.worksheets {
        sections.extend(after::worksheets(subject, plan));
    }
    sections.push(after::history(subject));
    sections.extend(looking_back(subject));
    sections.push(sources::cautions(subject, plan));
    sections.push(sources::sources(subject));
    sections.retain(|section| !section.blocks.is_empty());
    Report {
        title: format!("Report on {car}"),
        made: subject.assessment.today,
        remark: words::ORDERS_WORK_ONLY.to_owned(),
        notice: subject
            .assessment
            .notice
            .iter()
            .map(|reason| words::notice(subject.library, reason))
            .collect(),
        sections,
    }
}

/// The newest survey against the one before it, and how well the forecasts did; nothing while there are no two surveys.
fn looking_back(subject: &Subject) -> Vec<Section> {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let today = assessment.today;
    let mut sections = Vec::new();
    if let Ok((from, to)) = next_winter::two_surveys(car, None, None, today) {
        let comparison = next_winter::compare(car, library, from, to, today);
        sections.push(winter::compared(library, &comparison));
    }
    if let Some(calibration) = next_winter::calibration(car, library, today) {
        sections.push(winter::calibrated(&calibration));
    }
    sections
}
