//! What a filled sheet would change, before anything is written.

use jiff::civil::Date;

use super::{Filled, ReadLook};
use crate::car::{Car, Look, Survey};
use crate::report::page::{Page, Paper, Table, left, right, wide};
use crate::report::words;
use crate::rubric::Library;
use crate::text;

/// What a row does to the survey of its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effect<'c> {
    /// The survey says nothing of that check yet.
    New,
    /// It says something else.
    Changed(&'c Look),
    /// It says so already.
    Same,
}

/// What a row does to a survey, where there is one of its day.
#[must_use]
pub fn effect<'c>(survey: Option<&'c Survey>, row: &ReadLook) -> Effect<'c> {
    match survey.and_then(|s| s.look(&row.look.part, &row.look.check)) {
        None => Effect::New,
        Some(old) if says_the_same(old, &row.look) => Effect::Same,
        Some(old) => Effect::Changed(old),
    }
}

fn says_the_same(a: &Look, b: &Look) -> bool {
    a.seen == b.seen && a.note.trim() == b.note.trim()
}

/// The newest survey before a day, when every row says just what it says: most likely a sheet that was filled in from it.
#[must_use]
pub fn copied_from(car: &Car, date: Date, filled: &Filled) -> Option<Date> {
    let before = car.surveys.iter().rfind(|s| s.date < date)?;
    let same = |row: &ReadLook| {
        let old = before.look(&row.look.part, &row.look.check);
        old.is_some_and(|old| says_the_same(old, &row.look))
    };
    (filled.looks.len() > 1 && filled.looks.iter().all(same)).then_some(before.date)
}

/// What the sheet would change, as text.
#[must_use]
pub fn text(car: &Car, library: &Library, date: Date, filled: &Filled, paper: Paper) -> String {
    let survey = car.surveys.iter().find(|s| s.date == date);
    let mut page = Page::new(paper);
    page.heading(&format!("What this sheet would do to the survey of {date}"));
    page.gap();
    let mut table = Table::new(&[
        right("line"),
        left("does"),
        wide("part and check"),
        wide("before"),
        wide("now"),
    ]);
    let (mut new, mut changed, mut same) = (0, 0, 0);
    for row in &filled.looks {
        let look = &row.look;
        let check = library.check(&look.part.component, &look.check);
        let told = |look: &Look| match look.note.trim() {
            "" => words::seen(&look.seen, check),
            note => format!("{}; {}", words::seen(&look.seen, check), text::clean(note)),
        };
        let (does, before) = match effect(survey, row) {
            Effect::Same => {
                same += 1;
                continue;
            }
            Effect::New => {
                new += 1;
                ("new", earlier(car, library, date, look).unwrap_or_default())
            }
            Effect::Changed(old) => {
                changed += 1;
                ("changed", told(old))
            }
        };
        table.row(vec![
            row.line.to_string().into(),
            does.into(),
            format!(
                "{}, {}",
                words::part(library, &look.part),
                words::small(&words::check(library, &look.part.component, &look.check))
            )
            .into(),
            before.into(),
            told(look).into(),
        ]);
    }
    if !table.is_empty() {
        page.table(&table);
        page.gap();
    }
    page.paragraph(
        0,
        &format!(
            "{new} new, {changed} changed, {same} the same; {} left empty: not looked at. Nothing has been written.",
            words::count(filled.empty, "row")
        ),
    );
    page.finish()
}

/// What the newest survey before says, with its day.
fn earlier(car: &Car, library: &Library, date: Date, look: &Look) -> Option<String> {
    let surveys = car.surveys.iter().rev().filter(|s| s.date < date);
    let (on, old) = surveys
        .filter_map(|s| Some((s.date, s.look(&look.part, &look.check)?)))
        .next()?;
    let check = library.check(&look.part.component, &look.check);
    Some(format!("{} on {on}", words::seen(&old.seen, check)))
}
