//! A car's profile and its parts, as its owner gave them.

use super::page::{Page, Paper, Table, left, wide};
use super::words;
use crate::car::{Car, Profile};
use crate::rubric::Library;
use crate::text;

/// The profile as text, each line with the flag that sets it.
#[must_use]
pub fn text(car: &Car, library: &Library, paper: Paper) -> String {
    let profile = &car.profile;
    let mut page = Page::new(paper);
    page.heading(&text::clean(&profile.name));
    let mut table = Table::new(&[left("what"), wide("value"), left("set with")]);
    for (what, value, flag) in lines(profile, library) {
        table.row(vec![what.into(), text::clean(&value).into(), flag.into()]);
    }
    page.table(&table);
    page.gap();
    page.paragraph(
        0,
        &format!(
            "{}, {}, {} done. See the parts with `tinworm part CAR`.",
            words::count(car.part_ids(library).len(), "part"),
            words::count(car.surveys.len(), "survey"),
            words::count(car.repairs.len(), "repair")
        ),
    );
    page.finish()
}

/// What is said of a car: what it is, its value, and the flag that sets it.
pub(super) fn lines(profile: &Profile, library: &Library) -> Vec<(&'static str, String, &'static str)> {
    let date = |d: Option<jiff::civil::Date>| d.map_or_else(|| "not given".to_owned(), |d| d.to_string());
    let pieces: Vec<String> = profile
        .layout
        .iter()
        .map(|id| match library.layout(id) {
            Some(piece) => format!("{}={id} ({})", piece.choice, words::small(&piece.name)),
            None => format!("{id} (not in the rubrics)"),
        })
        .collect();
    let months: Vec<String> = profile.salted_months.iter().map(ToString::to_string).collect();
    let named = |id: &str, name: Option<&str>| name.map_or_else(|| id.to_owned(), |n| format!("{id} ({n})"));
    vec![
        ("built", date(profile.built), "--built"),
        ("layout", pieces.join(", "), "--layout"),
        ("driver sits", profile.drive_side.word().to_owned(), "--drive-side"),
        ("odometer in", profile.distance_unit.sign().to_owned(), "--unit"),
        ("a year", words::distance(profile, profile.yearly_km), "--yearly"),
        (
            "salted months",
            format!(
                "{} (each counts {} times)",
                or_none(&months.join(", ")),
                profile.salt_factor
            ),
            "--salted, --salt-factor",
        ),
        (
            "climate",
            named(
                &profile.climate,
                library.climate(&profile.climate).map(|c| c.name.as_str()),
            ),
            "--climate",
        ),
        (
            "storage",
            named(
                &profile.storage,
                library.storage(&profile.storage).map(|s| s.name.as_str()),
            ),
            "--storage",
        ),
        ("use", words::in_use(profile.in_use).to_owned(), "--laid-up, --in-use"),
        ("next survey", date(profile.next_survey), "--next-survey"),
        ("sessions", weekly(profile), "--sessions, --session-hours"),
        (
            "single sessions",
            listed(
                profile
                    .sessions
                    .listed
                    .iter()
                    .map(|s| format!("{} {} h", s.date, s.hours)),
            ),
            "--session-on",
        ),
        ("no session before", date(profile.sessions.from), "--from"),
        (
            "not free",
            listed(
                profile.sessions.except.iter().map(ToString::to_string).chain(
                    profile
                        .sessions
                        .days_off
                        .iter()
                        .map(|off| format!("{}..{}", off.from, off.to)),
                ),
            ),
            "--not-free, --free",
        ),
        (
            "days that matter",
            listed(
                profile
                    .sessions
                    .targets
                    .iter()
                    .map(|t| format!("{}={}", t.name, t.date)),
            ),
            "--target",
        ),
        ("budget", budget(profile), "--budget, --budget-per-month"),
        ("tools", or_none(&profile.tools.join("; ")), "--tool"),
    ]
}

/// The weekly sessions: `Wednesday 2.5 h, Saturday 6 h`, or `Saturday, Sunday, 6 h` where all are alike.
#[must_use]
pub fn weekly(profile: &Profile) -> String {
    let sessions = &profile.sessions;
    if sessions.hours_on.is_empty() {
        let days: Vec<&str> = sessions.weekdays.iter().map(|d| d.word()).collect();
        return format!("{}, {} h", or_none(&days.join(", ")), sessions.hours);
    }
    let of = |day: &crate::car::Day| {
        let own = sessions.hours_on.iter().find(|(on, _)| on == day);
        format!("{} {} h", day.word(), own.map_or(sessions.hours, |(_, hours)| *hours))
    };
    listed(sessions.weekdays.iter().map(of))
}

fn listed(items: impl Iterator<Item = String>) -> String {
    or_none(&items.collect::<Vec<_>>().join(", "))
}

fn budget(profile: &Profile) -> String {
    if !profile.budget.limited {
        return "no limit".to_owned();
    }
    let since = profile.budget.since.map(|d| format!(" on {d}")).unwrap_or_default();
    format!(
        "{} in hand{since}, {} a month",
        words::money(profile, profile.budget.in_hand),
        words::money(profile, profile.budget.per_month)
    )
}

fn or_none(text: &str) -> String {
    if text.is_empty() {
        "none".to_owned()
    } else {
        text.to_owned()
    }
}

/// The parts as text: each with what its owner said of it.
#[must_use]
pub fn parts_text(car: &Car, library: &Library, paper: Paper) -> String {
    let mut page = Page::new(paper);
    let fitted = car.part_ids(library);
    let mut table = Table::new(&[left("part"), wide("name"), wide("your word on it")]);
    for id in &fitted {
        table.row(vec![
            id.to_string().into(),
            words::part(library, id).into(),
            note_words(car, library, id).into(),
        ]);
    }
    for id in car.parts.keys().filter(|id| !fitted.contains(id)) {
        table.row(vec![
            id.to_string().into(),
            words::part(library, id).into(),
            note_words(car, library, id).into(),
        ]);
    }
    if table.is_empty() {
        page.paragraph(
            0,
            "This car has no parts: its layout places none that the rubrics know.",
        );
    } else {
        page.table(&table);
    }
    page.finish()
}

fn note_words(car: &Car, library: &Library, id: &crate::rubric::PartId) -> String {
    let Some(note) = car.parts.get(id) else {
        return String::new();
    };
    let mut said = Vec::new();
    if library.component(&id.component).is_none() {
        said.push("not in the rubrics".to_owned());
    }
    if note.added {
        said.push("added".to_owned());
    }
    if note.not_fitted {
        said.push("not fitted".to_owned());
    }
    if let Some(date) = note.fitted {
        said.push(format!("fitted {date}"));
    }
    for limit in &note.limits {
        let new = limit.new.map(|n| format!("new {n}, ")).unwrap_or_default();
        said.push(format!(
            "{}: {new}limit {} ({})",
            words::small(&words::check(library, &id.component, &limit.check)),
            limit.limit,
            text::clean(&limit.source)
        ));
    }
    for own in &note.torques {
        said.push(format!("{} {}", text::clean(&own.fixing), words::own_torque(own)));
    }
    if !note.note.is_empty() {
        said.push(text::clean(&note.note));
    }
    said.join("; ")
}
