//! Left against right, for every paired part: which first, how sure, and what differs.

use super::page::{Paper, Table, right, wide};
use super::{Subject, cells, words};
use crate::engine::sides::{SideDifference, SidePair};
use crate::rubric::Library;
use crate::text;

/// Which side first, in words, with what is known.
#[must_use]
pub fn verdict(pair: &SidePair) -> String {
    match pair.seen {
        (false, false) => "neither side has been seen".to_owned(),
        (true, false) => "only the left has been seen: look at the right".to_owned(),
        (false, true) => "only the right has been seen: look at the left".to_owned(),
        (true, true) => {
            let mut text = words::sides_sure(pair.first, pair.sure);
            if pair.both_bad {
                text.push_str("; both are bad, each counts for itself");
            }
            text
        }
    }
}

/// A difference between the sides in words.
#[must_use]
pub fn difference(library: &Library, component: &str, differs: &SideDifference) -> String {
    let loss = differs
        .loss
        .map(|share| format!(", {} more lost", text::percent(share)))
        .unwrap_or_default();
    format!(
        "{}: left {}, right {}, worse on the {}{loss}",
        words::small(&words::check(library, component, &differs.check)),
        differs.left,
        differs.right,
        differs.worse.word()
    )
}

/// The sides as text.
#[must_use]
pub fn text(subject: &Subject, pairs: &[SidePair], paper: Paper) -> String {
    let Subject {
        car,
        library,
        assessment,
    } = subject;
    let mut page = super::standing::begin(
        paper,
        subject,
        &format!(
            "Left against right: {} on {}",
            text::clean(&car.profile.name),
            assessment.today
        ),
    );
    page.gap();
    if pairs.is_empty() {
        page.paragraph(0, "This car has no parts that come in pairs.");
        return page.finish();
    }
    let mut table = Table::new(&[wide("part"), right("left"), right("right"), wide("which first")]);
    for pair in pairs {
        let differences: Vec<String> = pair
            .differences
            .iter()
            .map(|d| difference(library, &pair.left.component, d))
            .collect();
        let note = if differences.is_empty() {
            String::new()
        } else {
            format!("unlike each other, look for the cause – {}", differences.join("; "))
        };
        table.row_with_note(
            vec![
                name(library, pair).into(),
                words::points(pair.left_points).into(),
                words::points(pair.right_points).into(),
                verdict(pair).into(),
            ],
            note,
        );
    }
    page.table(&table);
    page.gap();
    page.paragraph(
        0,
        &format!(
            "Exposure in points until {}. Left and right are as seen from the driver's seat.",
            assessment.until
        ),
    );
    page.finish()
}

/// The pair's name without its side: `Track rod end, front`.
#[must_use]
pub fn name(library: &Library, pair: &SidePair) -> String {
    let component = library
        .component(&pair.left.component)
        .map_or(pair.left.component.as_str(), |c| c.name.as_str());
    let mut station = pair.left.station.clone();
    station.side = None;
    let place = if station == crate::rubric::Station::default() {
        String::new()
    } else {
        format!(", {}", station.words().trim_start_matches("whole car, "))
    };
    text::clean(&format!("{component}{place}"))
}

/// The sides as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(subject: &Subject, pairs: &[SidePair]) -> Result<String, serde_json::Error> {
    let rows: Vec<serde_json::Value> = pairs
        .iter()
        .map(|pair| {
            let mut value = serde_json::to_value(pair)?;
            if let Some(object) = value.as_object_mut() {
                object.insert("name".into(), name(subject.library, pair).into());
                object.insert("words".into(), verdict(pair).into());
            }
            Ok(value)
        })
        .collect::<Result<_, serde_json::Error>>()?;
    super::json(&serde_json::json!({
        "car": subject.car.profile.name,
        "today": subject.assessment.today,
        "remark": words::ORDERS_WORK_ONLY,
        "pairs": rows,
    }))
}

/// The sides as CSV.
#[must_use]
pub fn csv(subject: &Subject, pairs: &[SidePair]) -> String {
    let header = [
        "left",
        "right",
        "name",
        "left_exposure",
        "right_exposure",
        "first",
        "sure",
        "words",
        "differences",
    ];
    let rows: Vec<Vec<String>> = pairs
        .iter()
        .map(|pair| {
            let differences: Vec<String> = pair
                .differences
                .iter()
                .map(|d| difference(subject.library, &pair.left.component, d))
                .collect();
            vec![
                pair.left.to_string(),
                pair.right.to_string(),
                cells::guarded(&name(subject.library, pair)),
                cells::rounded(pair.left_points, 3),
                cells::rounded(pair.right_points, 3),
                pair.first.map(|s| s.word().to_owned()).unwrap_or_default(),
                cells::rounded(pair.sure, 3),
                cells::guarded(&verdict(pair)),
                cells::guarded(&differences.join("; ")),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}
