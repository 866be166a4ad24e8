//! What another plan would change, and what else would do for a part.

use jiff::civil::Date;

use super::page::{Page, Paper, Table, left, right, wide};
use super::{Subject, words};
use crate::car::Profile;
use crate::engine::plan::Plan;
use crate::engine::plan::alternatives::Alternative;
use crate::engine::plan::whatif::{Difference, Moved};
use crate::rubric::PartId;
use crate::text;

/// How many pieces of work are told apart.
const MOST_TOLD: usize = 12;

/// The exposure in a sentence.
#[must_use]
pub fn exposure(difference: &Difference) -> String {
    let (was, is) = (
        words::points(difference.exposure_before),
        words::points(difference.exposure_after),
    );
    let more = difference.points();
    if more.abs() < 0.005 {
        format!("The exposure would stay at {was}.")
    } else {
        let share = if difference.exposure_before > 0.0 {
            let times = difference.exposure_after / difference.exposure_before;
            if times > 2.0 {
                format!(" ({times:.0} times as much)")
            } else {
                format!(" ({})", crate::text::percent(more.abs() / difference.exposure_before))
            }
        } else {
            String::new()
        };
        let word = if more > 0.0 { "more" } else { "less" };
        format!(
            "The exposure would be {is} and not {was}: {} {word}{share}.",
            words::points(more.abs())
        )
    }
}

/// What else differs, the last day, hours and money, in a sentence; empty when nothing does.
#[must_use]
pub fn rest(profile: &Profile, difference: &Difference) -> String {
    let day = |day: Option<Date>| day.map_or_else(|| "–".to_owned(), text::day);
    let money = |amount| words::money(profile, amount);
    let (last, hours) = (
        [difference.ends_after, difference.ends_before].map(day),
        [difference.hours_after, difference.hours_before].map(words::hours),
    );
    let pay = [difference.cost_after, difference.cost_before].map(money);
    let told = [
        ("last work ", last, ""),
        ("", hours, " of yours on average"),
        ("", pay, " to pay"),
    ];
    let parts: Vec<String> = (told.iter())
        .filter(|(_, [is, was], _)| is != was)
        .map(|(before, [is, was], after)| format!("{before}{is} and not {was}{after}"))
        .collect();
    if parts.is_empty() {
        return String::new();
    }
    format!("{}.", words::large(&parts.join("; ")))
}

/// Why the order differs, in a sentence: the work that carries most more, and what is wrong with it. Empty when none does.
#[must_use]
pub fn because(subject: &Subject, difference: &Difference) -> String {
    let Some(worst) = difference.moves.first().filter(|m| m.points >= 0.005) else {
        return String::new();
    };
    let until = worst.after.unwrap_or(difference.until);
    let state = subject.assessment.part(&worst.part);
    let reason = state.map(|s| words::reason(subject.library, s, subject.assessment.today));
    let reason = reason.filter(|r| !r.is_empty());
    let reason = reason.map_or_else(String::new, |r| {
        format!(", because of the {}: {r}", part(subject, worst))
    });
    format!(
        "This order carries {} points more until {}{reason}.",
        words::points(worst.points),
        words::day(until)
    )
}

fn part(subject: &Subject, moved: &Moved) -> String {
    words::small(&words::part(subject.library, &moved.part))
}

fn date(day: Option<Date>) -> String {
    day.map_or_else(|| "–".to_owned(), |d| d.to_string())
}

/// The difference as text.
#[must_use]
pub fn text(subject: &Subject, difference: &Difference, other: &Plan, paper: Paper) -> String {
    let mut page = super::standing::begin(paper, subject, "What it would change; nothing is kept");
    page.gap();
    table(&mut page, subject, difference);
    page.gap();
    page.paragraph(0, &exposure(difference));
    for sentence in [because(subject, difference)] {
        if !sentence.is_empty() {
            page.paragraph(0, &sentence);
        }
    }
    if !difference.moves.is_empty() {
        page.heading("What moves");
        for moved in difference.moves.iter().take(MOST_TOLD) {
            page.item(0, &words::moved(subject.library, moved));
        }
        if difference.moves.len() > MOST_TOLD {
            page.item(0, &format!("and {} more", difference.moves.len() - MOST_TOLD));
        }
    }
    if !other.visits.is_empty() {
        page.heading("The visits it would make");
        let mut visits = Table::new(&[left("day"), right("hours"), right("cost"), wide("work")]);
        for visit in &other.visits {
            let work: Vec<String> = visit
                .work
                .iter()
                .map(|w| words::parts(subject.library, &w.on))
                .collect();
            visits.row(vec![
                visit.date.to_string().into(),
                words::hours_in_list(visit).into(),
                words::money(&subject.car.profile, visit.cost).into(),
                work.join("; ").into(),
            ]);
        }
        page.table(&visits);
        page.gap();
        page.paragraph(0, words::HOURS_OF_LISTS);
    }
    page.finish()
}

fn table(page: &mut Page, subject: &Subject, difference: &Difference) {
    let money = |amount| words::money(&subject.car.profile, amount);
    let mut table = Table::new(&[left("what"), right("as it is"), right("then")]);
    for (what, was, is) in [
        (
            "exposure",
            words::points(difference.exposure_before),
            words::points(difference.exposure_after),
        ),
        ("last work", date(difference.ends_before), date(difference.ends_after)),
        (
            "back on the road",
            date(difference.back_before),
            date(difference.back_after),
        ),
        (
            "your hours on average",
            words::hours(difference.hours_before),
            words::hours(difference.hours_after),
        ),
        ("to pay", money(difference.cost_before), money(difference.cost_after)),
    ] {
        table.row(vec![what.into(), was.into(), is.into()]);
    }
    page.table(&table);
}

/// The work of an alternative in words.
#[must_use]
pub fn work(subject: &Subject, alternative: &Alternative) -> String {
    let library = subject.library;
    let work: Vec<String> = alternative
        .work
        .iter()
        .map(|(repair, on)| {
            format!(
                "{} ({})",
                words::small(&words::repair(library, repair)),
                words::station(on)
            )
        })
        .collect();
    words::large(&work.join("; "))
}

/// Alternatives as headings and paragraphs, for a narrow page.
#[must_use]
pub fn paragraphs(subject: &Subject, all: &[Alternative]) -> Vec<(String, String)> {
    let about = |alternative: &Alternative| {
        let d = &alternative.difference;
        let exposure = if alternative.planned {
            format!("Exposure {}.", words::points(d.exposure_after))
        } else {
            exposure(d)
        };
        let planned = if alternative.planned { " (planned)" } else { "" };
        (
            format!("{}{planned}", work(subject, alternative)),
            format!(
                "{exposure} The whole plan then takes {} of yours on average and {}, and ends on {}.",
                words::hours(d.hours_after),
                words::money(&subject.car.profile, d.cost_after),
                date(d.ends_after)
            ),
        )
    };
    if all.is_empty() {
        return vec![(String::new(), "The rubrics have no repair for it.".to_owned())];
    }
    all.iter().map(about).collect()
}

/// Alternatives as text.
#[must_use]
pub fn alternatives(subject: &Subject, part: &PartId, all: &[Alternative], paper: Paper) -> String {
    let name = words::part(subject.library, part);
    let mut page = super::standing::begin(
        paper,
        subject,
        &format!("What would do for the {}", words::small(&name)),
    );
    page.gap();
    if all.is_empty() {
        page.paragraph(
            0,
            &format!("The rubrics have no repair for the {}.", words::small(&name)),
        );
        return page.finish();
    }
    page.paragraph(
        0,
        "Hours on average, money and exposure of the whole plan with each: so what it shares with other work counts, and what it renews besides.",
    );
    let mut table = Table::new(&[
        left(""),
        right("hours"),
        right("to pay"),
        right("exposure"),
        left("last work"),
        wide("work"),
    ]);
    for alternative in all {
        let d = &alternative.difference;
        table.row(vec![
            if alternative.planned { "planned" } else { "" }.into(),
            words::hours(d.hours_after).into(),
            words::money(&subject.car.profile, d.cost_after).into(),
            words::points(d.exposure_after).into(),
            date(d.ends_after).into(),
            work(subject, alternative).into(),
        ]);
    }
    page.table(&table);
    page.gap();
    for alternative in all.iter().filter(|a| !a.planned) {
        let commands: Vec<String> = alternative
            .wishes
            .chosen
            .iter()
            .filter(|(id, repair)| subject.car.wishes.chosen.get(*id) != Some(*repair))
            .filter(|(id, repair)| alternative.work.iter().any(|(r, on)| r == *repair && on == *id))
            .map(|(id, repair)| format!("`tinworm choose CAR {id} {repair}`"))
            .collect();
        if !commands.is_empty() {
            page.item(0, &format!("{}: {}", work(subject, alternative), commands.join(", ")));
        }
    }
    page.finish()
}
