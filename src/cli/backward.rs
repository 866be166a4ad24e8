//! `--on`: looking back. Which verbs can, and how the output says so in its first line.

use jiff::civil::Date;

use super::args::{Form, PlanOf, Verb};
use super::desk::Desk;
use super::exit::Failure;

/// How an output says as on which day the car is seen.
#[derive(Debug, Clone, Copy)]
pub enum Faced {
    /// It is seen as it is now, or the output says so itself.
    Itself,
    /// By a line above it.
    Line(Date),
    /// By a sentence beside it: its form has no room for a line.
    Beside(Date),
}

impl Faced {
    /// The output with what stands above it, or the sentence said beside it.
    #[must_use]
    pub fn over(self, desk: &Desk, text: String) -> String {
        match self {
            Faced::Itself => text,
            Faced::Line(day) => format!("{}\n{text}", sentence(day)),
            Faced::Beside(day) => {
                desk.say(&sentence(day));
                text
            }
        }
    }
}

fn sentence(day: Date) -> String {
    format!("As known on {day}: what is recorded of later days is left out.")
}

/// How the output of a verb says as on which day the car is seen.
///
/// # Errors
/// When the verb does not look at a car as it was.
pub fn faced(desk: &Desk, verb: Option<&Verb>) -> Result<Faced, Failure> {
    let Some(day) = desk.past_day() else {
        return Ok(Faced::Itself);
    };
    let of = |form: &Form| {
        if form.json || form.csv {
            Faced::Beside(day)
        } else {
            Faced::Line(day)
        }
    };
    match verb {
        Some(Verb::Standing { all: true, .. } | Verb::Plan(PlanOf { all: true, .. })) => Err(Failure::Usage(
            "--on goes with one car at a time, not with --all".to_owned(),
        )),
        Some(
            Verb::Standing { form, .. }
            | Verb::Sides { form, .. }
            | Verb::Decline { form, .. }
            | Verb::Parts { form, .. },
        ) => Ok(of(form)),
        Some(Verb::Plan(asked)) => Ok(of(&asked.form)),
        Some(Verb::Compare(asked)) => Ok(of(&asked.form)),
        Some(Verb::Calibration { form, .. }) if form.json => Ok(Faced::Beside(day)),
        Some(Verb::Calibration { .. }) => Ok(Faced::Line(day)),
        Some(Verb::Worksheet(wanted)) if wanted.html || wanted.json => Ok(Faced::Beside(day)),
        Some(Verb::Worksheet(_)) => Ok(Faced::Line(day)),
        Some(Verb::Report(_)) => Ok(Faced::Itself),
        _ => Err(Failure::Usage(
            "--on goes with standing, sides, decline, plan, parts, worksheet, report, compare and calibration"
                .to_owned(),
        )),
    }
}
