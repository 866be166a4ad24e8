//! The ranked list: what carries most exposure until the next survey, how sure that is, and why.

use jiff::civil::Date;
use serde::Serialize;

use super::page::{Cell, Page, Paper, Table, bar, left, right, wide};
use super::{Subject, cells, words};
use crate::engine::{Assessment, CheckState, PartState};
use crate::rubric::Library;
use crate::text;

/// The parts that are ranked, in their order.
#[must_use]
pub fn ranked(assessment: &Assessment) -> Vec<&PartState> {
    let mut parts: Vec<&PartState> = assessment.parts.iter().filter(|p| p.rank.is_some()).collect();
    parts.sort_by_key(|p| p.rank.map(|r| r.place));
    parts
}

/// The parts of which nothing has been seen, largest exposure under the rubric first.
#[must_use]
pub fn look_first(assessment: &Assessment) -> Vec<&PartState> {
    let mut parts: Vec<&PartState> = assessment.parts.iter().filter(|p| !p.seen).collect();
    parts.sort_by(|a, b| b.points.total_cmp(&a.points));
    parts
}

/// A page with its heading, what the program is for, and the notice if there is one.
pub(super) fn begin(paper: Paper, subject: &Subject, heading: &str) -> Page {
    let mut page = Page::new(paper);
    page.heading(heading);
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    notice(&mut page, subject);
    page
}

/// The notice, and what changed since the last survey: what stands on top of every report of a car.
pub fn notice(page: &mut Page, subject: &Subject) {
    let Subject {
        library, assessment, ..
    } = subject;
    if assessment.notice.is_empty() {
        return;
    }
    page.heading("KEEP OFF THE ROAD until these are repaired and looked at again:");
    for reason in &assessment.notice {
        page.item(0, &words::notice(library, reason));
    }
}

/// How many of the looks worth taking are listed as text.
const LOOKS_SHOWN: usize = 8;

/// The standing as text.
#[must_use]
pub fn text(subject: &Subject, paper: Paper) -> String {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut page = begin(
        paper,
        subject,
        &format!("Standing of {} on {}", text::clean(&car.profile.name), assessment.today),
    );
    page.gap();
    let parts = ranked(assessment);
    if parts.is_empty() {
        page.paragraph(
            0,
            "Nothing has been seen of this car yet, so nothing can be ranked. Print `tinworm sheet CAR`, or fill \
             `tinworm sheet CAR --csv` and give it to `tinworm enter CAR FILE`.",
        );
    } else {
        page.paragraph(
            0,
            &format!(
                "Exposure is the risk carried until {}: severity times probability, and what the law says. Behind each place \
                 stands the range it holds in 8 cases of 10.",
                assessment.until
            ),
        );
        page.gap();
        page.table(&table(subject, &parts));
    }
    look_first_text(&mut page, library, assessment);
    if !assessment.look_next.is_empty() {
        page.heading("Where to look next: what a look would tell most, for its time");
        for next in assessment.look_next.iter().take(LOOKS_SHOWN) {
            page.item(0, &words::look_next(library, next));
        }
    }
    odometer(&mut page, subject);
    changes(&mut page, subject);
    paces(&mut page, assessment);
    page.finish()
}

fn table(subject: &Subject, parts: &[&PartState]) -> Table {
    let Subject {
        library, assessment, ..
    } = subject;
    let largest = parts.iter().map(|p| p.points).fold(0.0, f64::max);
    let mut table = Table::new(&[
        left("place"),
        wide("part"),
        right("grade"),
        right("exposure"),
        left(""),
        right("grades/year"),
        wide("time to the limit"),
    ]);
    for state in parts {
        let pace = state
            .leading_check()
            .map_or(String::new(), |c| text::figure(c.grades_per_year));
        let left_over = soonest(state).map_or(String::new(), |c| words::years_left(&c.years_left));
        let mut note = words::reason(library, state, assessment.today);
        if state.unknown_points >= 0.1 * state.points && state.unknown_points > 0.0 {
            note.push_str(&format!(
                "; {} of it unknown: checks nobody has seen",
                words::points(state.unknown_points)
            ));
        }
        table.row_with_note(
            vec![
                state.rank.map(|r| words::rank_range(&r)).unwrap_or_default().into(),
                words::part(library, &state.id).into(),
                Cell::from(state.worst.as_ref().map(|w| w.grade)),
                words::points(state.points).into(),
                bar(state.points, largest, 10).into(),
                pace.into(),
                left_over.into(),
            ],
            note,
        );
    }
    table
}

/// The seen check that reaches its limit first.
#[must_use]
pub fn soonest(state: &PartState) -> Option<&CheckState> {
    let key = |c: &CheckState| c.years_left.mid.unwrap_or(f64::MAX);
    state.checks.iter().filter(|c| c.last.is_some()).min_by(|a, b| {
        key(a)
            .total_cmp(&key(b))
            .then(b.past_limit_now.total_cmp(&a.past_limit_now))
    })
}

fn look_first_text(page: &mut Page, library: &Library, assessment: &Assessment) {
    let unseen = look_first(assessment);
    if unseen.is_empty() {
        return;
    }
    page.heading(&format!(
        "Look first: nothing has been seen of {} (exposure under the rubric alone)",
        words::count(unseen.len(), "part")
    ));
    let mut table = Table::new(&[right("exposure"), wide("part"), wide("checks")]);
    for state in unseen {
        let names: Vec<String> = state
            .checks
            .iter()
            .map(|c| words::small(&words::check(library, &state.id.component, &c.check)))
            .collect();
        table.row(vec![
            words::points(state.points).into(),
            words::part(library, &state.id).into(),
            names.join(", ").into(),
        ]);
    }
    page.table(&table);
}

fn changes(page: &mut Page, subject: &Subject) {
    if let Some((newest, lines)) = change_lines(subject) {
        page.heading(&format!("What changed at the survey of {newest}"));
        for line in &lines {
            page.item(0, line);
        }
    }
}

/// What changed at the newest survey that saw something again, in sentences, the surest change first.
pub(super) fn change_lines(subject: &Subject) -> Option<(Date, Vec<String>)> {
    let Subject {
        library, assessment, ..
    } = subject;
    let newest = assessment
        .parts
        .iter()
        .flat_map(|p| p.checks.iter().filter_map(|c| c.change.map(|k| k.to_date)))
        .max()?;
    let mut lines = Vec::new();
    let mut same = 0;
    for state in &assessment.parts {
        for check in &state.checks {
            match check.change {
                Some(change) if change.to_date == newest && (change.from != change.to || change.is_real()) => {
                    lines.push((
                        change.probability,
                        format!(
                            "{}, {}: {}",
                            words::part(library, &state.id),
                            words::small(&words::check(library, &state.id.component, &check.check)),
                            words::change(&change)
                        ),
                    ));
                }
                Some(change) if change.to_date == newest => same += 1,
                _ => {}
            }
        }
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut lines: Vec<String> = lines.into_iter().map(|(_, line)| line).collect();
    if same > 0 {
        lines.push(format!("{} graded as before", words::count(same, "check")));
    }
    for offset in &assessment.survey_offsets {
        if offset.date == newest && offset.offset.abs() >= 0.02 {
            let how = if offset.offset > 0.0 { "harder" } else { "milder" };
            lines.push(format!(
                "this survey was graded {how} throughout than those before, by {} of a life (from {}); that much was \
                 taken out before any change was called real",
                text::percent(offset.offset.abs()),
                words::count(offset.checks, "check")
            ));
        }
    }
    if assessment.grader.pairs > 0 {
        lines.push(words::small(&super::second_look::scatter_in_words(assessment.grader)));
    }
    Some((newest, lines))
}

/// What is asked about the odometer.
fn odometer(page: &mut Page, subject: &Subject) {
    let profile = &subject.car.profile;
    if subject.assessment.odometer_falls.is_empty() {
        return;
    }
    page.heading("The odometer ran backwards");
    for fall in &subject.assessment.odometer_falls {
        page.item(0, &words::odometer_fall(profile, fall));
    }
}

fn paces(page: &mut Page, assessment: &Assessment) {
    let lines = pace_lines(assessment);
    if lines.is_empty() {
        return;
    }
    page.heading(PACES);
    for line in &lines {
        page.item(0, line);
    }
}

/// Stands above the car's paces.
pub(super) const PACES: &str = "How fast this car declines, against the rubrics' usual pace";

/// The car's paces in sentences.
pub(super) fn pace_lines(assessment: &Assessment) -> Vec<String> {
    assessment
        .pace
        .iter()
        .filter(|p| p.checks > 0)
        .map(|pace| {
            format!(
                "{}: {} times ({} to {}), told by {}",
                pace.driver,
                text::figure(pace.times.mid),
                text::figure(pace.times.low),
                text::figure(pace.times.high),
                words::count(pace.checks, "check")
            )
        })
        .collect()
}

#[derive(Serialize)]
struct Row<'a> {
    name: String,
    reason: String,
    causes_in_words: Vec<String>,
    #[serde(flatten)]
    state: &'a PartState,
}

/// The standing as JSON: every value of the engine, with names and reasons in words.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject) -> Result<String, serde_json::Error> {
    super::json(&value(subject)?)
}

/// The standing as a value.
///
/// # Errors
/// As [`super::json`].
pub(super) fn value(subject: &Subject) -> Result<serde_json::Value, serde_json::Error> {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let rows = |parts: Vec<&'_ PartState>| -> Result<serde_json::Value, serde_json::Error> {
        let rows: Vec<Row> = parts
            .into_iter()
            .map(|state| Row {
                name: words::part(library, &state.id),
                reason: words::reason(library, state, assessment.today),
                causes_in_words: state
                    .causes
                    .iter()
                    .map(|c| words::cause(library, &state.id.component, c))
                    .collect(),
                state,
            })
            .collect();
        serde_json::to_value(rows)
    };
    let notice: Vec<serde_json::Value> = assessment
        .notice
        .iter()
        .map(|n| Ok(serde_json::json!({"reason": serde_json::to_value(n)?, "words": words::notice(library, n)})))
        .collect::<Result<_, serde_json::Error>>()?;
    let look_next: Vec<serde_json::Value> = assessment
        .look_next
        .iter()
        .map(|n| Ok(serde_json::json!({"look": serde_json::to_value(n)?, "words": words::look_next(library, n)})))
        .collect::<Result<_, serde_json::Error>>()?;
    Ok(serde_json::json!({
        "car": car.profile.name,
        "today": assessment.today,
        "until": assessment.until,
        "remark": words::ORDERS_WORK_ONLY,
        "notice": notice,
        "ranked": rows(ranked(assessment))?,
        "look_first": rows(look_first(assessment))?,
        "look_next": look_next,
        "pace": assessment.pace,
        "survey_offsets": assessment.survey_offsets,
        "grader": assessment.grader,
        "odometer_falls": assessment.odometer_falls,
    }))
}

/// The standing as CSV, the ranked parts first, then those to look at first.
#[must_use]
pub fn csv(subject: &Subject) -> String {
    let Subject {
        library, assessment, ..
    } = subject;
    let header = [
        "place",
        "best",
        "worst",
        "part",
        "name",
        "grade",
        "check",
        "exposure",
        "unknown",
        "grades_per_year",
        "years_left_10",
        "years_left_50",
        "years_left_90",
        "risk",
        "reason",
    ];
    let rows: Vec<Vec<String>> = ranked(assessment)
        .into_iter()
        .chain(look_first(assessment))
        .map(|state| {
            let rank =
                |of: fn(&crate::engine::Rank) -> usize| state.rank.map(|r| of(&r).to_string()).unwrap_or_default();
            let soonest = soonest(state);
            let years = |of: fn(&CheckState) -> Option<f64>| {
                soonest.and_then(of).map(|y| cells::rounded(y, 2)).unwrap_or_default()
            };
            vec![
                rank(|r| r.place),
                rank(|r| r.best),
                rank(|r| r.worst),
                state.id.to_string(),
                cells::guarded(&words::part(library, &state.id)),
                state.worst.as_ref().map(|w| w.grade.to_string()).unwrap_or_default(),
                state.worst.as_ref().map(|w| w.check.clone()).unwrap_or_default(),
                cells::rounded(state.points, 3),
                cells::rounded(state.unknown_points, 3),
                state
                    .leading_check()
                    .map(|c| cells::rounded(c.grades_per_year, 3))
                    .unwrap_or_default(),
                years(|c| c.years_left.soon),
                years(|c| c.years_left.mid),
                years(|c| c.years_left.late),
                words::risk(state.risk).to_owned(),
                cells::guarded(&words::reason(library, state, assessment.today)),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}
