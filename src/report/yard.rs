//! The parts of all cars, ranked together.

use jiff::civil::Date;
use serde::Serialize;

use super::page::{Cell, Page, Paper, Table, bar, left, right, wide};
use super::{Subject, cells, standing, words};
use crate::engine::plan::together::COMPARED_OVER_DAYS;
use crate::text;
use crate::units::Grade;

/// How many parts are shown as text.
const SHOWN: usize = 60;

/// A part of one of the cars.
#[derive(Debug, Clone, Serialize)]
pub struct YardPart {
    /// Its place among the parts of all cars; 0 until they are ranked.
    pub place: usize,
    /// The name of its car's folder.
    pub car: String,
    /// The part.
    pub part: String,
    /// In words.
    pub name: String,
    /// The worst grade seen.
    pub grade: Option<Grade>,
    /// Exposure in a year from today.
    pub exposure: f64,
    /// Its place on its own car, which is ranked until that car's own next survey.
    pub place_on_car: usize,
    /// How many reasons keep its car off the road.
    pub notice: usize,
    /// Why it stands where it does.
    pub reason: String,
}

/// A car that could not be read.
#[derive(Debug, Clone, Serialize)]
pub struct Unread {
    /// The name of its folder.
    pub car: String,
    /// Why.
    pub trouble: String,
}

/// The parts of all cars.
#[derive(Debug, Clone, Serialize)]
pub struct Yard {
    /// The day.
    pub today: Date,
    /// How many cars were read.
    pub cars: usize,
    /// How many of them nothing has been seen of.
    pub unseen: usize,
    /// What this is for.
    pub remark: &'static str,
    /// The parts seen, the largest exposure first.
    pub ranked: Vec<YardPart>,
    /// The cars that could not be read.
    pub unread: Vec<Unread>,
}

/// What is kept of one car: nothing but what is shown.
#[must_use]
pub fn parts_of(name: &str, subject: &Subject) -> Vec<YardPart> {
    let says = subject.assessment;
    standing::ranked(says)
        .into_iter()
        .map(|state| YardPart {
            place: 0,
            car: name.to_owned(),
            part: state.id.to_string(),
            name: words::part(subject.library, &state.id),
            grade: state.worst.as_ref().map(|w| w.grade),
            exposure: state.exposure.at(COMPARED_OVER_DAYS),
            place_on_car: state.rank.map_or(0, |r| r.place),
            notice: says.notice.len(),
            reason: words::reason(subject.library, state, says.today),
        })
        .collect()
}

/// Ranks the parts of all cars: the largest exposure first, cars and their parts in their own order where it is equal.
#[must_use]
pub fn ranked(today: Date, cars: Vec<Vec<YardPart>>, unread: Vec<Unread>) -> Yard {
    let count = cars.len();
    let unseen = cars.iter().filter(|parts| parts.is_empty()).count();
    let mut ranked: Vec<YardPart> = cars.into_iter().flatten().collect();
    ranked.sort_by(|a, b| b.exposure.total_cmp(&a.exposure));
    for (at, part) in ranked.iter_mut().enumerate() {
        part.place = at + 1;
    }
    Yard {
        today,
        cars: count,
        unseen,
        remark: words::ORDERS_WORK_ONLY,
        ranked,
        unread,
    }
}

/// The list as text.
#[must_use]
pub fn text(yard: &Yard, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!(
        "Standing of {} on {}",
        words::count(yard.cars, "car"),
        yard.today
    ));
    page.paragraph(0, yard.remark);
    page.gap();
    page.paragraph(
        0,
        "Exposure is the risk carried in a year from today, the same stretch for every car; on its own a car is ranked until its own \
         next survey, so that places may differ.",
    );
    if yard.unseen > 0 {
        page.paragraph(
            0,
            &format!(
                "Nothing has been seen of {}: they are not ranked, which does not make them good.",
                words::count(yard.unseen, "car")
            ),
        );
    }
    if yard.ranked.is_empty() {
        return page.finish();
    }
    let largest = yard.ranked.iter().map(|p| p.exposure).fold(0.0, f64::max);
    let mut table = Table::new(&[
        right("place"),
        left("car"),
        wide("part"),
        right("grade"),
        right("exposure"),
        left(""),
        right("on its car"),
    ]);
    for part in yard.ranked.iter().take(SHOWN) {
        let mut note = part.reason.clone();
        if part.notice > 0 {
            note.push_str("; keep this car off the road");
        }
        table.row_with_note(
            vec![
                part.place.to_string().into(),
                text::clean(&part.car).into(),
                part.name.clone().into(),
                Cell::from(part.grade),
                words::points(part.exposure).into(),
                bar(part.exposure, largest, 10).into(),
                part.place_on_car.to_string().into(),
            ],
            note,
        );
    }
    page.gap();
    page.table(&table);
    if yard.ranked.len() > SHOWN {
        page.gap();
        page.paragraph(
            0,
            &format!(
                "And {} more; --csv and --json give all.",
                words::count(yard.ranked.len() - SHOWN, "part")
            ),
        );
    }
    page.finish()
}

/// The list as CSV.
#[must_use]
pub fn csv(yard: &Yard) -> String {
    let header = [
        "place",
        "car",
        "part",
        "name",
        "grade",
        "exposure",
        "place_on_car",
        "notice",
        "reason",
    ];
    let rows: Vec<Vec<String>> = yard
        .ranked
        .iter()
        .map(|part| {
            vec![
                part.place.to_string(),
                cells::guarded(&part.car),
                part.part.clone(),
                cells::guarded(&part.name),
                part.grade.map(|g| g.to_string()).unwrap_or_default(),
                cells::rounded(part.exposure, 3),
                part.place_on_car.to_string(),
                part.notice.to_string(),
                cells::guarded(&part.reason),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}
