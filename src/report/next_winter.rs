//! A survey against an earlier one, and how well the forecasts did: as text, JSON and CSV, and as something to read on a screen.

use serde::Serialize;

use super::page::{Page, Paper};
use super::whole::{self, Block, Cell, Section, winter};
use super::{cells, words};
use crate::car::Car;
use crate::engine::next_winter::{BAD, Calibration, Comparison};
use crate::rubric::Library;
use crate::text;

fn set(car: &Car, section: &Section, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&text::clean(&car.profile.name));
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    whole::section_text(&mut page, section);
    page.finish()
}

/// A comparison as text.
#[must_use]
pub fn compared_text(car: &Car, library: &Library, comparison: &Comparison, paper: Paper) -> String {
    set(car, &winter::compared(library, comparison), paper)
}

/// A calibration as text.
#[must_use]
pub fn calibrated_text(car: &Car, calibration: &Calibration, paper: Paper) -> String {
    set(car, &winter::calibrated(calibration), paper)
}

/// A comparison as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn compared_json(car: &Car, library: &Library, comparison: &Comparison) -> Result<String, serde_json::Error> {
    #[derive(Serialize)]
    struct Told<'a> {
        car: &'a str,
        remark: &'static str,
        bad_parts: crate::engine::next_winter::BadParts,
        words: Vec<(String, String)>,
        #[serde(flatten)]
        comparison: &'a Comparison,
    }
    super::json(&Told {
        car: &car.profile.name,
        remark: words::ORDERS_WORK_ONLY,
        bad_parts: crate::engine::next_winter::bad_parts(&comparison.forecasts),
        words: paragraphs(&winter::compared(library, comparison)),
        comparison,
    })
}

/// A calibration as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn calibrated_json(car: &Car, calibration: &Calibration) -> Result<String, serde_json::Error> {
    #[derive(Serialize)]
    struct Told<'a> {
        car: &'a str,
        words: Vec<String>,
        #[serde(flatten)]
        calibration: &'a Calibration,
    }
    super::json(&Told {
        car: &car.profile.name,
        words: winter::verdict(calibration),
        calibration,
    })
}

/// A comparison as CSV: a row for each check that was seen in both surveys or forecast.
#[must_use]
pub fn compared_csv(library: &Library, comparison: &Comparison) -> String {
    let header = [
        "part",
        "check",
        "name",
        "then",
        "now",
        "probability_worse",
        "really_worse",
        "better_without_repair",
        "chance_told_of_4_or_worse",
        "forecast_low",
        "forecast_high",
        "inside",
    ];
    let mut keys: Vec<_> = comparison.moved.iter().map(|m| (&m.part, &m.check)).collect();
    for f in &comparison.forecasts {
        if !keys.contains(&(&f.part, &f.check)) {
            keys.push((&f.part, &f.check));
        }
    }
    let yes = |is: bool| if is { "yes" } else { "no" }.to_owned();
    let rows: Vec<Vec<String>> = keys
        .into_iter()
        .map(|(part, check)| {
            let moved = comparison.moved.iter().find(|m| m.part == *part && m.check == *check);
            let told = comparison
                .forecasts
                .iter()
                .find(|f| f.part == *part && f.check == *check);
            let name = format!(
                "{} – {}",
                words::part(library, part),
                words::check(library, &part.component, check)
            );
            let then = moved.map(|m| m.from).or(told.and_then(|f| f.before));
            let now = moved.map(|m| m.to).or(told.map(|f| f.seen));
            let grade = |g: Option<crate::units::Grade>| g.map(|g| g.to_string()).unwrap_or_default();
            vec![
                part.to_string(),
                check.clone(),
                cells::guarded(&name),
                grade(then),
                grade(now),
                moved.map(|m| cells::rounded(m.probability, 3)).unwrap_or_default(),
                moved.map(|m| yes(m.is_real())).unwrap_or_default(),
                moved.map(|m| yes(m.too_good)).unwrap_or_default(),
                told.map(|f| cells::rounded(f.at_least(BAD), 3)).unwrap_or_default(),
                grade(told.map(|f| f.band().0)),
                grade(told.map(|f| f.band().1)),
                told.map(|f| yes(f.inside())).unwrap_or_default(),
            ]
        })
        .collect();
    cells::csv(&header, &rows)
}

/// A section as headed paragraphs, for a screen.
#[must_use]
pub fn paragraphs(section: &Section) -> Vec<(String, String)> {
    let mut said: Vec<(String, String)> = Vec::new();
    let mut heading = String::new();
    let cell = |cell: &Cell| match cell {
        Cell::Text(text) => text.clone(),
        Cell::Grade(grade) => grade.map_or_else(|| "–".to_owned(), |g| g.to_string()),
        Cell::Bar(bar) => words::points(bar.value),
    };
    for block in &section.blocks {
        match block {
            Block::Heading(text) => heading.clone_from(text),
            Block::Paragraph(text) => said.push((std::mem::take(&mut heading), text.clone())),
            Block::List(lines) => said.push((std::mem::take(&mut heading), lines.join("\n"))),
            Block::Table(table) => {
                let rows = table.rows.iter().map(|row| {
                    let named = row
                        .cells
                        .iter()
                        .zip(&table.columns)
                        .enumerate()
                        .map(|(n, (c, column))| {
                            if n == table.named_by {
                                cell(c)
                            } else {
                                format!("{} {}", column.title, cell(c))
                            }
                        });
                    named.collect::<Vec<_>>().join("; ")
                });
                said.push((table.caption.clone(), rows.collect::<Vec<_>>().join("\n")));
            }
            Block::Facts(_) | Block::Drawing(_) | Block::Photo(_) | Block::Worksheet(_) => {}
        }
    }
    said
}
