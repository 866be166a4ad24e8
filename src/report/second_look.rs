//! The second look on paper: the blank sheet of what was drawn, and what the pairs of grades say, in plain words.

use jiff::civil::Date;
use serde::Serialize;

use super::page::{Page, Paper};
use super::sheet::{self, Sheet, Stop};
use super::words;
use crate::car::Car;
use crate::car::round::round;
use crate::engine::Grader;
use crate::engine::lives::GRADER_SD;
use crate::engine::memory::Memory;
use crate::engine::second_look::{Drawn, WITHIN_DAYS, drawn, grader_of, grades_to_be_real, pairs};
use crate::engine::steadiness::{Agreement, Kappa, USUAL_COUNTS_AS, agreement};
use crate::rubric::Library;
use crate::text;

/// What the second looks of a car say.
#[derive(Debug, Clone)]
pub struct SecondLooks {
    /// What is drawn at present, and how many of it are still to be graded again.
    pub drawn: Option<(Drawn, usize)>,
    /// How far the pairs of all surveys agree; `None` without any.
    pub agreement: Option<Agreement>,
    /// The scatter that everything is reckoned with.
    pub grader: Grader,
}

/// What the second looks of a car say, as known on a day.
#[must_use]
pub fn result(car: &Car, library: &Library, today: Date) -> SecondLooks {
    let pairs = pairs(car, library, today);
    SecondLooks {
        drawn: drawn(car, library, today).map(|d| (d.clone(), d.left(car).len())),
        agreement: agreement(&pairs),
        grader: grader_of(&pairs, &Memory::new()),
    }
}

fn blank_sheet<'a>(car: &'a Car, library: &'a Library, drawn: &Drawn) -> Sheet<'a> {
    let left = drawn.left(car);
    let stops = round(car, library)
        .into_iter()
        .filter(|(part, check, _)| left.iter().any(|(p, c)| p == part && *c == check.id));
    Sheet {
        car,
        library,
        stops: stops
            .map(|(part, check, stage)| Stop {
                part,
                check,
                stage,
                before: None,
                due: None,
            })
            .collect(),
        of: None,
        from: None,
        only_due: false,
        first_look: false,
    }
}

/// The blank sheet of what is still to be graded again, as CSV.
#[must_use]
pub fn blank_csv(car: &Car, library: &Library, drawn: &Drawn) -> String {
    sheet::csv(&blank_sheet(car, library, drawn))
}

/// The same as text to print.
#[must_use]
pub fn blank(car: &Car, library: &Library, drawn: &Drawn, brief: bool, paper: Paper) -> String {
    let mut page = Page::new(paper);
    let name = text::clean(&car.profile.name);
    page.heading(&format!("Second look: {name}, survey of {}", drawn.survey));
    page.gap();
    page.line("Date ____-__-__      Light, weather ______________");
    page.gap();
    page.paragraph(
        0,
        &format!(
            "Grade these checks once more, without looking up what you gave them. They were drawn, a tenth of the survey; do not pick. \
             Within {WITHIN_DAYS} days of the survey, before any repair of them."
        ),
    );
    page.paragraph(0, words::ORDERS_WORK_ONLY);
    sheet::boxes(&mut page, &blank_sheet(car, library, drawn), brief);
    page.finish()
}

/// What the second looks say, in sentences.
#[must_use]
pub fn lines(result: &SecondLooks) -> Vec<String> {
    let mut lines = Vec::new();
    match &result.agreement {
        None => lines.push(format!(
            "No check has had a second look yet. Until then your grades are taken to scatter as much as is usual: {} of a life (judgement).",
            text::percent(GRADER_SD)
        )),
        Some(agreement) => {
            lines.push(format!(
                "{} of grades, the first and the second of the same check: the same grade in {}, no more than one apart in {}.",
                words::count(agreement.pairs, "pair"),
                text::percent(agreement.same),
                text::percent(agreement.within_one)
            ));
            lines.push(agreement.quadratic.map_or_else(
                || {
                    "Weighted kappa cannot be told: with these grades chance alone would agree as well.".to_owned()
                },
                |kappa| kappa_in_words(&kappa),
            ));
            lines.push(scatter_in_words(result.grader));
            if (agreement.pairs as f64) < USUAL_COUNTS_AS {
                lines.push(format!(
                    "{} not many: what is usual still counts for more than what you have shown. Every survey's second look adds to them.",
                    if agreement.pairs == 1 { "1 pair is".to_owned() } else { format!("{} pairs are", agreement.pairs) }
                ));
            }
        }
    }
    lines.push(real_in_words(result.grader.sd));
    if let Some((drawn, left)) = &result.drawn {
        lines.push(if *left == 0 {
            format!(
                "All {} drawn of the survey of {} are graded again.",
                drawn.checks.len(),
                drawn.survey
            )
        } else {
            format!(
                "Of the {} drawn of the survey of {}, {left} {} still to be graded again.",
                words::count(drawn.checks.len(), "check"),
                drawn.survey,
                if *left == 1 { "is" } else { "are" }
            )
        });
    }
    lines
}

/// Kappa and what it means.
fn kappa_in_words(kappa: &Kappa) -> String {
    format!(
        "Weighted kappa {:.2} (standard error {:.2}): {}. It is 1 for full agreement and 0 for what chance alone would give; a difference \
         counts by its square (Cohen 1968; the word is that of Landis and Koch 1977).",
        kappa.value,
        kappa.error,
        agreement_word(kappa.value)
    )
}

/// The words of J. R. Landis and G. G. Koch, The measurement of observer agreement for categorical data, Biometrics 33, 1977, for kappa.
#[must_use]
pub fn agreement_word(kappa: f64) -> &'static str {
    match kappa {
        k if k < 0.0 => "poor agreement",
        k if k <= 0.2 => "slight agreement",
        k if k <= 0.4 => "fair agreement",
        k if k <= 0.6 => "moderate agreement",
        k if k <= 0.8 => "substantial agreement",
        _ => "almost perfect agreement",
    }
}

/// The learned scatter beside the usual one.
#[must_use]
pub fn scatter_in_words(grader: Grader) -> String {
    let against = if grader.sd < GRADER_SD * 0.97 {
        "steadier than"
    } else if grader.sd > GRADER_SD * 1.03 {
        "less steady than"
    } else {
        "as steady as"
    };
    format!(
        "One grade of yours scatters by {:.3} of a life from new to the limit: {against} the usual {GRADER_SD:.3}, which counts as {USUAL_COUNTS_AS} \
         pairs. Every forecast, change and explanation is reckoned with it.",
        grader.sd
    )
}

/// From which difference on a change is called real.
#[must_use]
pub fn real_in_words(sd: f64) -> String {
    let needed = grades_to_be_real(sd);
    let mut groups: Vec<(Option<u8>, Vec<String>)> = Vec::new();
    for (from, grades) in needed.iter().enumerate() {
        match groups.iter_mut().find(|(g, _)| g == grades) {
            Some((_, from_grades)) => from_grades.push(from.to_string()),
            None => groups.push((*grades, vec![from.to_string()])),
        }
    }
    let said: Vec<String> = groups
        .iter()
        .map(|(grades, from)| {
            let from = match from.split_last() {
                Some((last, [])) => format!("grade {last}"),
                Some((last, rest)) => format!("grades {} and {last}", rest.join(", ")),
                None => String::new(),
            };
            match grades {
                Some(n) => format!("{} from {from}", words::count(usize::from(*n), "grade")),
                None => format!("no number of grades from {from}"),
            }
        })
        .collect();
    format!(
        "With that scatter a part must have got worse by this much between two surveys before it is called a real change: {}.",
        said.join("; ")
    )
}

/// What the second looks say, as text.
#[must_use]
pub fn text(car: &Car, result: &SecondLooks, paper: Paper) -> String {
    let mut page = Page::new(paper);
    page.heading(&format!("Second looks at {}", text::clean(&car.profile.name)));
    for line in lines(result) {
        page.item(0, &line);
    }
    page.finish()
}

#[derive(Serialize)]
struct Shown<'a> {
    car: &'a str,
    drawn_from: Option<Date>,
    drawn: usize,
    left: usize,
    pairs: usize,
    same: Option<f64>,
    within_one: Option<f64>,
    kappa_quadratic: Option<f64>,
    kappa_quadratic_error: Option<f64>,
    kappa_linear: Option<f64>,
    kappa_plain: Option<f64>,
    scatter: f64,
    usual_scatter: f64,
    grades_to_be_real: [Option<u8>; 5],
    words: Vec<String>,
}

/// What the second looks say, as JSON.
///
/// # Errors
/// As [`super::json`].
pub fn json(car: &Car, result: &SecondLooks) -> Result<String, serde_json::Error> {
    let agreement = result.agreement.as_ref();
    let kappa = |of: fn(&Agreement) -> Option<Kappa>| agreement.and_then(of);
    super::json(&Shown {
        car: &car.profile.name,
        drawn_from: result.drawn.as_ref().map(|(d, _)| d.survey),
        drawn: result.drawn.as_ref().map_or(0, |(d, _)| d.checks.len()),
        left: result.drawn.as_ref().map_or(0, |(_, left)| *left),
        pairs: result.grader.pairs,
        same: agreement.map(|a| a.same),
        within_one: agreement.map(|a| a.within_one),
        kappa_quadratic: kappa(|a| a.quadratic).map(|k| k.value),
        kappa_quadratic_error: kappa(|a| a.quadratic).map(|k| k.error),
        kappa_linear: kappa(|a| a.linear).map(|k| k.value),
        kappa_plain: kappa(|a| a.plain).map(|k| k.value),
        scatter: result.grader.sd,
        usual_scatter: GRADER_SD,
        grades_to_be_real: grades_to_be_real(result.grader.sd),
        words: lines(result),
    })
}
