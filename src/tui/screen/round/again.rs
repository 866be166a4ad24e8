//! The second look: the checks drawn of the newest survey, graded once more without sight of the first grade.
//!
//! The first grades appear only when all that were drawn have their second one.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Model, draw};
use crate::car::{Change, SecondLook};
use crate::engine::clock::days_between;
use crate::engine::second_look::{Drawn, WITHIN_DAYS, drawn, grade};
use crate::report::{second_look, words};
use crate::rubric::CheckKind;
use crate::tui::desk::{Desk, Keeping, Stop};
use crate::tui::keys::Command;
use crate::tui::screen::{Effect, Over, Then, reading};
use crate::tui::widget::{is_low, para, part_heading, put, put_right_of, row, rule};

use crate::units::Grade;

/// A second look in hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Again {
    drawn: Drawn,
    /// The stop shown.
    at: usize,
    /// Stops passed over in this sitting.
    passed: Vec<usize>,
}

impl Again {
    /// The next stop that is drawn, not graded again and not passed over.
    fn next(drawn: &Drawn, desk: &Desk, passed: &[usize]) -> Option<usize> {
        let left = drawn.left(desk.car.as_ref()?);
        let stops = desk.stops.iter().enumerate();
        let mut open = stops.filter(|(n, stop)| !passed.contains(n) && is_among(&left, stop));
        open.next().map(|(n, _)| n)
    }
}

fn is_among(checks: &[(crate::rubric::PartId, String)], stop: &Stop) -> bool {
    checks
        .iter()
        .any(|(part, check)| *part == stop.part && *check == stop.check)
}

impl Model {
    /// Whether a second look is in hand.
    #[must_use]
    pub fn looks_again(&self) -> bool {
        self.again.is_some()
    }

    /// Begins a second look, or says what keeps it from beginning.
    pub(super) fn look_again(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(car) = &desk.car else { return Vec::new() };
        if let Keeping::ReadOnly(who) = &desk.keeping {
            return vec![Effect::Say(format!("Not kept: {who}"))];
        }
        let Some(drawn) = drawn(car, &desk.library, desk.today) else {
            return vec![Effect::Say(
                "No survey has a grade yet, so there is nothing to grade again.".to_owned(),
            )];
        };
        let Some(at) = Again::next(&drawn, desk, &[]) else {
            return vec![told(desk)];
        };
        if days_between(drawn.survey, desk.today) > f64::from(WITHIN_DAYS) {
            return vec![Effect::Say(format!(
                "The survey of {} is more than {WITHIN_DAYS} days old: look again after the next one.",
                drawn.survey
            ))];
        }
        self.newest = None;
        self.again = Some(Again {
            drawn,
            at,
            passed: Vec::new(),
        });
        Vec::new()
    }

    /// Leaves the second look; says whether there was one.
    pub fn leave_again(&mut self) -> bool {
        self.again.take().is_some()
    }

    /// Does what is asked within a second look.
    pub(super) fn update_again(&mut self, desk: &Desk, command: Command) -> Vec<Effect> {
        let (Some(again), Some(car)) = (&mut self.again, &desk.car) else {
            return Vec::new();
        };
        let Some(stop) = desk.stops.get(again.at) else {
            self.again = None;
            return Vec::new();
        };
        match command {
            Command::Grade(digit) => {
                let survey = car.surveys.iter().find(|s| s.date == again.drawn.survey);
                let first = survey.and_then(|s| s.look(&stop.part, &stop.check)).and_then(grade);
                let (Some(first), Some(second)) = (first, Grade::new(digit)) else {
                    return Vec::new();
                };
                vec![Effect::Record {
                    changes: vec![Change::SecondLook {
                        survey: again.drawn.survey,
                        second: SecondLook {
                            part: stop.part.clone(),
                            check: stop.check.clone(),
                            on: desk.today,
                            first,
                            grade: second,
                        },
                    }],
                    then: Then::LookedAgain,
                }]
            }
            Command::Next => {
                again.passed.push(again.at);
                self.looked_again(desk)
            }
            Command::ReadOn => draw::read_on(desk, again.at),
            _ => Vec::new(),
        }
    }

    /// The second look at a check is on disk, or it was passed over: goes on, and at the end tells how far the grades agree.
    pub fn looked_again(&mut self, desk: &Desk) -> Vec<Effect> {
        let Some(again) = &mut self.again else {
            return Vec::new();
        };
        match Again::next(&again.drawn, desk, &again.passed) {
            Some(at) => {
                again.at = at;
                Vec::new()
            }
            None => {
                let passed = again.passed.len();
                self.again = None;
                if passed == 0 {
                    vec![told(desk)]
                } else {
                    vec![Effect::Say(format!(
                        "{} left for later; A goes on with the second look.",
                        words::large(&words::count(passed, "check"))
                    ))]
                }
            }
        }
    }

    /// Draws the check to be graded again.
    pub(super) fn view_again(&self, again: &Again, desk: &Desk, area: Rect, buf: &mut Buffer) {
        let theme = &desk.theme;
        let (Some(stop), Some(car)) = (desk.stops.get(again.at), &desk.car) else {
            return;
        };
        let Some(check) = desk.check_at(stop) else { return };
        let total = again.drawn.checks.len();
        let done = total - again.drawn.left(car).len();
        let number = done + 1;
        let counts = [
            format!(
                "  check {number} of {total}, drawn from the survey of {}",
                again.drawn.survey
            ),
            format!("  check {number} of {total}"),
        ];
        let fits = |count: &&String| crate::text::width(count) + 20 < usize::from(area.width);
        let count = counts.iter().find(fits).unwrap_or(&counts[1]);
        let pieces = [("Second look, blind", theme.accent()), (count.as_str(), theme.text())];
        let taken = row(buf, area, 1, 0, &pieces);
        put_right_of(buf, area, 0, taken + 1, &[words::stage(stop.stage)], theme.dim());
        let side = Rect::new(area.x + 1, area.y, area.width.saturating_sub(2), area.height);
        let low = is_low(area);
        let mut dy = if low { 1 } else { 2 };
        part_heading(buf, side, dy, (&desk.library, &stop.part, &check.name), &[], theme);
        dy += 1;
        let foot: u16 = if low { 1 } else { 2 };
        if !low {
            let needed = draw::answers_height(check, side.width);
            let room = area.height.saturating_sub(4 + needed + foot).max(2);
            let place = Rect::new(side.x, side.y + dy, side.width, room).intersection(area);
            dy += draw::explained(desk, check, None, place, buf);
            rule(buf, area, dy, "", theme.rule(), theme.title());
            dy += 1;
        }
        let answers =
            Rect::new(side.x, side.y + dy, side.width, area.height.saturating_sub(dy + foot)).intersection(area);
        if let CheckKind::Graded(descriptions) = &check.kind {
            draw::descriptions(desk, None, descriptions, answers, buf);
        }
        let last = Rect::new(side.x, area.bottom().saturating_sub(foot), side.width, foot).intersection(area);
        let whole = "Grade what you see, not what you remember. The first grades come when all are done.";
        let fits = crate::text::width(whole) <= usize::from(last.width);
        let said = if fits {
            whole
        } else {
            "Grade what you see, not from memory."
        };
        put(buf, last, 0, 0, said, theme.text());
        para(buf, last, 1, "The survey's grades stay what they are.", theme.dim());
    }
}

/// What the second looks say, as a text over the screen; the newest pairs stand at its end.
fn told(desk: &Desk) -> Effect {
    let mut said = Vec::new();
    if let Some(car) = &desk.car {
        let result = second_look::result(car, &desk.library, desk.today);
        said.extend(
            second_look::lines(&result)
                .into_iter()
                .map(|line| (String::new(), line)),
        );
        if let Some((drawn, _)) = &result.drawn {
            let survey = car.surveys.iter().find(|s| s.date == drawn.survey);
            let pairs = drawn.checks.iter().filter_map(|(part, check)| {
                let second = survey?.second_look(part, check)?;
                Some(format!(
                    "{}, {}: {} at first, {} now",
                    words::part(&desk.library, part),
                    words::small(&words::check(&desk.library, &part.component, check)),
                    second.first,
                    second.grade
                ))
            });
            said.push((
                format!("Survey of {}", drawn.survey),
                pairs.collect::<Vec<_>>().join("\n"),
            ));
        }
    }
    Effect::Over(Box::new(Over::Reading(reading::Model::new(
        "How steadily you grade",
        said,
    ))))
}
