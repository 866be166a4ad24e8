//! The blank grading sheet: to print and fill with a pencil, or as CSV to fill and give back.
//!
//! The last grade stands on neither: whoever grades shall not be led by what was seen before.

use super::cells;
use super::page::{Page, Paper};
use super::words;
use crate::car::round::round;
use crate::car::{Car, NotSeen};
use crate::rubric::{Check, CheckKind, Library, PartId, Stage};
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

/// The sheet as CSV.
#[must_use]
pub fn csv(car: &Car, library: &Library) -> String {
    csv_of(car, library, round(car, library))
}

/// The same for some checks only.
pub(super) fn csv_of(car: &Car, library: &Library, stops: Vec<(PartId, &Check, Stage)>) -> String {
    let rows: Vec<Vec<String>> = stops
        .into_iter()
        .map(|(part, check, stage)| {
            let (kind, unit, points) = match &check.kind {
                CheckKind::Graded(_) => ("grade 0 to 5", String::new(), String::new()),
                CheckKind::YesNo(_) => ("yes or no", String::new(), String::new()),
                CheckKind::Measured(measure) => ("reading", measure.unit.clone(), measure.points.join("; ")),
            };
            let (new, limit) = limits(car, &part, check).unzip();
            vec![
                words::stage(stage).to_owned(),
                part.to_string(),
                check.id.clone(),
                cells::guarded(&format!("{} – {}", library.part_name(&part), check.name)),
                kind.to_owned(),
                cells::guarded(&unit),
                cells::guarded(&points),
                cells::number(new),
                cells::number(limit),
                String::new(),
                String::new(),
                String::new(),
            ]
        })
        .collect();
    cells::csv(&COLUMNS, &rows)
}

/// The sheet as text to print: a box for each check, how to look, and what each grade looks like.
#[must_use]
pub fn text(car: &Car, library: &Library, brief: bool, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("Grading sheet: {}", text::clean(&car.profile.name)));
    page.gap();
    page.line(&format!(
        "Date ____-__-__      Odometer __________ {}      Light, weather ______________",
        car.profile.distance_unit.sign()
    ));
    page.gap();
    page.paragraph(
        0,
        "Grade 0 is as new, 5 at or past the limit; take the description that fits best, and the worse of two when in doubt. \
         Left and right are as seen from the driver's seat. Leave the box empty if you did not look; if you could not see \
         it, write why: C covered, R out of reach, T tool or helper missing, L left for later.",
    );
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    let stops = round(car, library);
    if stops.is_empty() {
        page.gap();
        page.paragraph(
            0,
            "There is nothing to look at: no part of this car's layout is in the rubrics.",
        );
    }
    boxes(&mut page, car, library, stops, brief);
    page.finish()
}

/// A box for each of some checks, under their stages and parts.
pub(super) fn boxes(page: &mut Page, car: &Car, library: &Library, stops: Vec<(PartId, &Check, Stage)>, brief: bool) {
    let mut at_stage = None;
    let mut at_part: Option<PartId> = None;
    for (part, check, stage) in stops {
        if at_stage != Some(stage) {
            page.heading(&words::stage(stage).to_uppercase());
            at_stage = Some(stage);
            at_part = None;
        }
        if at_part.as_ref() != Some(&part) {
            page.gap();
            page.line(&format!("{}  [{part}]", words::part(library, &part)));
            at_part = Some(part.clone());
        }
        check_box(page, car, library, &part, check, brief);
    }
}

fn check_box(page: &mut Page, car: &Car, library: &Library, part: &PartId, check: &Check, brief: bool) {
    let name = format!("{} [{}]", text::clean(&check.name), check.id);
    match &check.kind {
        CheckKind::Graded(_) => page.hanging(2, "[   ] ", &name),
        CheckKind::YesNo(_) => page.hanging(2, "[   ] ", &format!("{name}, yes or no")),
        CheckKind::Measured(measure) => {
            let blanks = if measure.points.is_empty() {
                format!("________ {}", text::clean(&measure.unit))
            } else {
                let blanks: Vec<String> = measure
                    .points
                    .iter()
                    .map(|p| format!("{} ______", text::clean(p)))
                    .collect();
                format!("{} {}", blanks.join("  "), text::clean(&measure.unit))
            };
            page.hanging(2, "[   ] ", &format!("{name}  {blanks}"));
        }
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
