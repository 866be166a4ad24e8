//! The grading sheet: to print and fill with a pencil, or as CSV to fill and give back.
//!
//! Unless it is asked for, the last grade does not stand there: whoever grades shall not be led by what was seen before.

pub mod choose;
pub mod html;

pub use choose::{Sheet, Stop, Wanted, Zone, sheet};

use super::cells;
use super::page::{Page, Paper};
use super::words;
use crate::car::{Car, NotSeen, Seen};
use crate::rubric::{Check, CheckKind, PartId};
use crate::text;

/// The columns of the CSV sheet. `enter` needs `part`, `check` and `grade_or_reading`; the others help whoever fills it.
pub const COLUMNS: [&str; 12] = [
    "stage",
    "part",
    "check",
    "name",
    "kind",
    "unit",
    "points",
    "new",
    "limit",
    "grade_or_reading",
    "not_seen",
    "note",
];

/// New value and limit of a measured check on a part: the owner's own where given, else the rubric's.
#[must_use]
pub fn limits(car: &Car, part: &PartId, check: &Check) -> Option<(f64, f64)> {
    let CheckKind::Measured(measure) = &check.kind else {
        return None;
    };
    let own = car
        .parts
        .get(part)
        .and_then(|note| note.limits.iter().find(|l| l.check == check.id));
    Some(match own {
        Some(own) => (own.new.unwrap_or(measure.new), own.limit),
        None => (measure.new, measure.limit),
    })
}

/// What a look says, as `enter` reads it back: the cell of the grade or reading, and the reason for not having seen.
#[must_use]
pub fn cells_of(seen: &Seen, check: &Check) -> (String, String) {
    let value = match seen {
        Seen::Not(why) => return (String::new(), why.words().to_owned()),
        Seen::Grade(grade) => grade.to_string(),
        Seen::Answer(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Seen::Reading(values) => match &check.kind {
            CheckKind::Measured(measure) if !measure.points.is_empty() => {
                let named = measure.points.iter().zip(values);
                named.map(|(p, v)| format!("{p} {v}")).collect::<Vec<_>>().join("; ")
            }
            _ => values.iter().map(f64::to_string).collect::<Vec<_>>().join("; "),
        },
    };
    (value, String::new())
}

/// The sheet as CSV (RFC 4180). Where only what is due was asked for, a last column says why.
#[must_use]
pub fn csv(sheet: &Sheet) -> String {
    let Sheet { car, library, .. } = sheet;
    let rows: Vec<Vec<String>> = sheet
        .stops
        .iter()
        .map(|stop| {
            let (part, check) = (&stop.part, stop.check);
            let (kind, unit, points) = match &check.kind {
                CheckKind::Graded(_) => ("grade 0 to 5", String::new(), String::new()),
                CheckKind::YesNo(_) => ("yes or no", String::new(), String::new()),
                CheckKind::Measured(measure) => ("reading", measure.unit.clone(), measure.points.join("; ")),
            };
            let (new, limit) = limits(car, part, check).unzip();
            let before = stop.before.as_ref();
            let (value, reason) = before.map(|look| cells_of(&look.seen, check)).unwrap_or_default();
            let mut row = vec![
                words::stage(stop.stage).to_owned(),
                part.to_string(),
                check.id.clone(),
                cells::guarded(&format!("{} – {}", library.part_name(part), check.name)),
                kind.to_owned(),
                cells::guarded(&unit),
                cells::guarded(&points),
                cells::number(new),
                cells::number(limit),
                // A number is no formula, whatever its sign; several of them might be taken for one.
                if value.parse::<f64>().is_ok() {
                    value
                } else {
                    cells::guarded(&value)
                },
                reason,
                before.map(|look| cells::kept(&look.note)).unwrap_or_default(),
            ];
            if sheet.only_due {
                let why = |due| choose::due_words(due, sheet.from.is_none());
                row.push(stop.due.map(why).unwrap_or_default());
            }
            row
        })
        .collect();
    let mut header = COLUMNS.to_vec();
    if sheet.only_due {
        header.push("due");
    }
    cells::csv_to_fill(&header, &rows)
}

/// The sheet as text to print: a box for each check, how to look, and what each grade looks like.
#[must_use]
pub fn text(sheet: &Sheet, brief: bool, paper: Paper) -> String {
    let car = sheet.car;
    let mut page = Page::new(paper);
    page.heading(&sheet.title());
    page.gap();
    page.line(&format!(
        "Date ____-__-__      Odometer __________ {}      Light, weather ______________",
        car.profile.distance_unit.sign()
    ));
    page.gap();
    for said in sheet.preface() {
        page.paragraph(0, &said);
    }
    if sheet.stops.is_empty() {
        page.gap();
        page.paragraph(0, sheet.empty());
    }
    boxes(&mut page, sheet, brief);
    page.finish()
}

/// A box for each check of a sheet, under their stages and parts.
pub(super) fn boxes(page: &mut Page, sheet: &Sheet, brief: bool) {
    let library = sheet.library;
    let mut at_stage = None;
    let mut at_part: Option<&PartId> = None;
    for stop in &sheet.stops {
        if at_stage != Some(stop.stage) {
            page.heading(&words::stage(stop.stage).to_uppercase());
            at_stage = Some(stop.stage);
            at_part = None;
        }
        if at_part != Some(&stop.part) {
            page.gap();
            page.line(&format!("{}  [{}]", words::part(library, &stop.part), stop.part));
            at_part = Some(&stop.part);
        }
        check_box(page, sheet, stop, brief);
    }
}

fn check_box(page: &mut Page, sheet: &Sheet, stop: &Stop, brief: bool) {
    let Sheet { car, library, .. } = sheet;
    let (part, check) = (&stop.part, stop.check);
    let name = format!("{} [{}]", text::clean(&check.name), check.id);
    // What is filled in stands in the box, a reason by its letter.
    let mark = match stop.before.as_ref().map(|look| &look.seen) {
        Some(Seen::Grade(grade)) => format!("[ {grade} ] "),
        Some(Seen::Answer(yes)) => if *yes { "[yes] " } else { "[no ] " }.to_owned(),
        Some(Seen::Not(why)) => format!("[ {} ] ", letter(*why)),
        Some(Seen::Reading(_)) | None => "[   ] ".to_owned(),
    };
    match &check.kind {
        CheckKind::Graded(_) => page.hanging(2, &mark, &name),
        CheckKind::YesNo(_) => page.hanging(2, &mark, &format!("{name}, yes or no")),
        CheckKind::Measured(measure) => {
            let unit = text::clean(&measure.unit);
            let blanks = match stop.before.as_ref().map(|look| &look.seen) {
                Some(seen @ Seen::Reading(_)) => words::seen(seen, Some(check)),
                _ if measure.points.is_empty() => format!("________ {unit}"),
                _ => {
                    let points = measure.points.iter();
                    let blanks: Vec<String> = points.map(|p| format!("{} ______", text::clean(p))).collect();
                    format!("{} {unit}", blanks.join("  "))
                }
            };
            page.hanging(2, &mark, &format!("{name}  {blanks}"));
        }
    }
    if let Some(due) = stop.due {
        page.paragraph(8, &format!("Due: {}.", choose::due_words(due, sheet.from.is_none())));
    }
    if let Some(note) = stop
        .before
        .as_ref()
        .map(|look| look.note.trim())
        .filter(|n| !n.is_empty())
    {
        page.paragraph(8, &format!("Note: {}", text::clean(note)));
    }
    if brief {
        return;
    }
    page.paragraph(8, &text::clean(&check.how));
    for caution in check.cautions.iter().filter_map(|id| library.caution(id)) {
        page.hanging(8, "! ", &text::clean(&caution.text));
    }
    match &check.kind {
        CheckKind::Graded(descriptions) => {
            for (digit, description) in descriptions.iter().enumerate() {
                page.hanging(8, &format!("{digit}  "), &text::clean(description));
            }
        }
        CheckKind::YesNo(question) => {
            page.paragraph(8, &text::clean(&question.question));
            page.hanging(8, "yes  ", &text::clean(&question.yes));
            page.hanging(8, "no   ", &text::clean(&question.no));
        }
        CheckKind::Measured(measure) => {
            let (new, limit) = limits(car, part, check).unwrap_or((measure.new, measure.limit));
            let ask = if measure.ask_manual {
                " The limit depends on the car's design: ask its own manual."
            } else {
                ""
            };
            page.paragraph(
                8,
                &format!(
                    "With {}. New {new}, limit {limit} {}.{ask}",
                    words::small(&text::clean(&measure.instrument)),
                    text::clean(&measure.unit)
                ),
            );
        }
    }
}

/// The letter that a reason for not having seen is written by.
#[must_use]
pub fn letter(why: NotSeen) -> char {
    match why {
        NotSeen::Covered => 'C',
        NotSeen::OutOfReach => 'R',
        NotSeen::NoTool => 'T',
        NotSeen::Later => 'L',
    }
}

/// The reasons for not having seen, as they may be written on a sheet.
#[must_use]
pub fn not_seen_from(text: &str) -> Option<NotSeen> {
    let text: String = text
        .trim()
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match text.as_str() {
        "c" | "covered" => Some(NotSeen::Covered),
        "r" | "out of reach" | "no reach" => Some(NotSeen::OutOfReach),
        "t" | "tool or helper missing" | "no tool" | "no helper" | "tool missing" | "helper missing" => {
            Some(NotSeen::NoTool)
        }
        "l" | "left for later" | "later" => Some(NotSeen::Later),
        _ => None,
    }
}
