//! The first half of the report: state, plan view, standing, decline, sides.

use super::chart;
use super::drawing;
use super::model::{Bar, Block, Cell, Section, Table, numbers_in, words_in};
use crate::engine::history::series;
use crate::engine::memory::Memory;
use crate::engine::sides::sides as pairs_of;
use crate::engine::{PartState, Spread};
use crate::report::{Subject, profile, sides as side_words, standing as ranking, words};
use crate::text;

/// How many changes since the survey before are listed, the surest first.
const CHANGES: usize = 20;

/// What the car is, and how much of it has been seen.
pub(super) fn state(subject: &Subject) -> Section {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut section = Section::new("state", "State of the car");
    let parts = assessment.parts.len();
    let unseen = assessment.parts.iter().filter(|p| !p.seen).count();
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |name: &str, said: String| facts.push((name.to_owned(), said));
    let last = car.surveys.last();
    fact(
        "last survey",
        last.map_or_else(|| "none yet".to_owned(), |s| s.date.to_string()),
    );
    if let Some(km) = car.surveys.iter().rev().find_map(|s| s.odometer_km) {
        fact("odometer", words::distance(&car.profile, km));
    }
    fact(
        "parts",
        if unseen == 0 {
            format!("{}, something seen of each", words::count(parts, "part"))
        } else {
            format!("{}; nothing has been seen of {unseen}", words::count(parts, "part"))
        },
    );
    let worst = assessment
        .parts
        .iter()
        .filter_map(|p| p.worst.as_ref())
        .map(|w| w.grade);
    if let Some(worst) = worst.max() {
        let of = assessment
            .parts
            .iter()
            .filter(|p| p.worst.as_ref().is_some_and(|w| w.grade == worst))
            .count();
        fact("worst grade seen", format!("{worst}, on {}", words::count(of, "part")));
    }
    let total: f64 = assessment.parts.iter().map(|p| p.points).sum();
    let unknown: f64 = assessment.parts.iter().map(|p| p.unknown_points).sum();
    fact(
        "exposure",
        format!(
            "{} points until {}, {} of them from checks nobody has seen",
            words::points(total),
            assessment.until,
            words::points(unknown)
        ),
    );
    // Money, tools and free days are not the car's.
    for (name, said, _) in profile::lines(&car.profile, library).into_iter().take(9) {
        fact(name, text::clean(&said));
    }
    section.blocks.push(Block::Facts(facts));
    if let Some((date, mut lines)) = ranking::change_lines(subject) {
        let more = lines.len().saturating_sub(CHANGES);
        if more > 1 {
            lines.truncate(CHANGES);
            lines.push(format!("and {more} more, less sure; History shows every look"));
        }
        section.head(format!("What changed at the survey of {date}"));
        section.list(lines);
    }
    let paces = ranking::pace_lines(assessment);
    if !paces.is_empty() {
        section.head(ranking::PACES);
        section.list(paces);
    }
    section
}

/// The car from above.
pub(super) fn plan_view(subject: &Subject) -> Section {
    let mut section = Section::new("plan-view", "The car from above");
    if !subject.assessment.parts.is_empty() {
        section.say(
            "Each zone shows the worst grade seen there: 0 as new, 5 at or past the limit. Left and right are as seen from the \
             driver's seat. A zone is no better than what was looked at in it.",
        );
        section.blocks.push(Block::Drawing(drawing::plan_view(subject)));
    }
    section
}

/// The 10 and 90 % points of a part's exposure.
fn spread(state: &PartState) -> Spread {
    let mut draws: Vec<f32> = state.draws.iter().copied().filter(|d| d.is_finite()).collect();
    draws.sort_by(f32::total_cmp);
    let at = |share: usize| draws.get((draws.len().saturating_sub(1)) * share / 10).copied();
    Spread {
        low: at(1).map_or(state.points, f64::from),
        mid: state.points,
        high: at(9).map_or(state.points, f64::from),
    }
}

/// The ranked list, what to look at first and next.
pub(super) fn standing(subject: &Subject) -> Section {
    let Subject {
        library, assessment, ..
    } = subject;
    let mut section = Section::new("standing", "Standing: what comes first");
    let ranked = ranking::ranked(assessment);
    if ranked.is_empty() {
        section.say("Nothing has been seen of this car yet, so nothing can be ranked.");
    } else {
        section.say(format!(
            "Exposure is the risk carried until {}: severity times probability, and what the law says. Behind each place stands \
             the range it holds in 8 cases of 10; so does the thin line across each bar.",
            assessment.until
        ));
    }
    let spreads: Vec<Spread> = ranked.iter().map(|s| spread(s)).collect();
    let scale = spreads.iter().map(|s| s.high.max(s.mid)).fold(0.0, f64::max);
    let mut table = Table::new(
        "Parts by exposure",
        &[
            words_in("place"),
            words_in("part"),
            numbers_in("grade"),
            numbers_in("exposure"),
            words_in("with its spread"),
            numbers_in("grades a year"),
            words_in("time to the limit"),
        ],
    );
    table.named_by = 1;
    for (state, spread) in ranked.iter().zip(&spreads) {
        let mut note = words::reason(library, state, assessment.today);
        if state.unknown_points >= 0.1 * state.points && state.unknown_points > 0.0 {
            note.push_str(&format!(
                "; {} of it unknown: checks nobody has seen",
                words::points(state.unknown_points)
            ));
        }
        let pace = state.leading_check().map(|c| text::figure(c.grades_per_year));
        table.row_with_note(
            vec![
                state.rank.map(|r| words::rank_range(&r)).unwrap_or_default().into(),
                words::part(library, &state.id).into(),
                state.worst.as_ref().map(|w| w.grade).into(),
                words::points(state.points).into(),
                Cell::Bar(Bar {
                    value: spread.mid,
                    low: spread.low,
                    high: spread.high,
                    scale,
                }),
                pace.unwrap_or_default().into(),
                ranking::soonest(state)
                    .map(|c| words::years_left(&c.years_left))
                    .unwrap_or_default()
                    .into(),
            ],
            note,
        );
    }
    section.table(table);
    unseen(&mut section, subject);
    section
}

fn unseen(section: &mut Section, subject: &Subject) {
    let Subject {
        library, assessment, ..
    } = subject;
    let unseen = ranking::look_first(assessment);
    if !unseen.is_empty() {
        section.head("Look at these first");
        let mut table = Table::new(
            format!(
                "Nothing has been seen of {}; the exposure is that of the rubric alone",
                words::count(unseen.len(), "part")
            ),
            &[words_in("part"), numbers_in("exposure"), words_in("checks")],
        );
        for state in unseen {
            let names: Vec<String> = state
                .checks
                .iter()
                .map(|c| words::small(&words::check(library, &state.id.component, &c.check)))
                .collect();
            table.row(vec![
                words::part(library, &state.id).into(),
                words::points(state.points).into(),
                names.join(", ").into(),
            ]);
        }
        section.table(table);
    }
    if !assessment.look_next.is_empty() {
        section.head("Where to look next: what a look would tell most, for its time");
        let next = assessment.look_next.iter().take(8);
        section.list(next.map(|n| words::look_next(library, n)).collect());
    }
}

/// How far ahead the charts look.
const YEARS: f64 = 5.0;

/// The decline of the first parts of the standing.
pub(super) fn decline(subject: &Subject, charts: usize) -> Section {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut section = Section::new("decline", "Decline of the first parts");
    let mut drawings = Vec::new();
    let memory = Memory::new();
    for state in ranking::ranked(assessment).into_iter().take(charts) {
        let Some(says) = state.leading_check() else { continue };
        let Some(check) = library.check(&state.id.component, &says.check) else {
            continue;
        };
        if let Some(series) = series(car, library, assessment.today, &state.id, &says.check, YEARS, &memory) {
            let drawn = chart::decline(library, &state.id, check, says, &series);
            drawings.push(Block::Drawing(drawn));
        }
    }
    if !drawings.is_empty() {
        section.say(
            "For each, the check that says most about it. Damage is 0 when new and 1 at the limit. The shaded band holds 8 cases \
             of 10, the line in it the median; the broken line is the limit. A digit is a grade seen, a dotted line a repair, the \
             thin upright line today.",
        );
        section.blocks.extend(drawings);
    }
    section
}

/// Left against right.
pub(super) fn sides(subject: &Subject) -> Section {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut section = Section::new("sides", "Left against right");
    let mut table = Table::new(
        format!("Exposure of paired parts until {}", assessment.until),
        &[
            words_in("part"),
            numbers_in("left"),
            numbers_in("right"),
            words_in("which first"),
        ],
    );
    for pair in pairs_of(car, library, assessment) {
        let differences: Vec<String> = pair
            .differences
            .iter()
            .map(|d| side_words::difference(library, &pair.left.component, d))
            .collect();
        let note = if differences.is_empty() {
            String::new()
        } else {
            format!("unlike each other, look for the cause – {}", differences.join("; "))
        };
        table.row_with_note(
            vec![
                side_words::name(library, &pair).into(),
                words::points(pair.left_points).into(),
                words::points(pair.right_points).into(),
                side_words::verdict(&pair).into(),
            ],
            note,
        );
    }
    section.table(table);
    section
}
