//! Looking back: a survey against an earlier one, and how well the forecasts did on this car.

use super::model::{Cell, Section, Table, numbers_in, words_in};
use crate::engine::next_winter::{BadParts, Bin, Calibration, Comparison, Event, Forecast, Moved, Share, bad_parts};
use crate::report::words;
use crate::rubric::{Library, PartId};
use crate::text::percent;

/// Fewer looks than this say nothing firm of a share (judgement).
const FEW: usize = 30;

/// What stands under every number about forecasts.
const NOT_INDEPENDENT: &str = "Checks of one car share its winter and its grader's eye, so all of this is less certain than so many checks \
                               of as many cars would be.";

fn name(library: &Library, part: &PartId, check: &str) -> String {
    format!(
        "{}, {}",
        words::part(library, part),
        words::small(&words::check(library, &part.component, check))
    )
}

/// A survey against an earlier one.
#[must_use]
pub fn compared(library: &Library, comparison: &Comparison) -> Section {
    let Comparison { from, to, moved, .. } = comparison;
    let mut section = Section::new("next-winter", format!("The survey of {to} against that of {from}"));
    let count = |of: fn(&Moved) -> bool| moved.iter().filter(|m| of(m)).count();
    let real = count(Moved::is_real);
    if moved.is_empty() {
        section.say("No check was seen in both surveys without a repair between them.");
    } else {
        section.say(format!(
            "{} seen in both, with no repair between: {} graded worse, {} the same, {} better. {} really got worse, which means: with at least 9 \
             chances of 10 by more than your own scatter of {:.3} of a life explains.",
            were(moved.len(), "check"),
            count(|m| m.to > m.from),
            count(|m| m.to == m.from),
            count(|m| m.to < m.from),
            words::large(&words::count(real, "check")),
            comparison.grader.sd
        ));
    }
    for (n, what) in [
        (
            comparison.only_then,
            "seen only in the earlier survey, or repaired since",
        ),
        (comparison.only_now, "seen only in the later survey, or new since"),
    ] {
        if n > 0 {
            section.say(format!("{} {what}.", were(n, "check")));
        }
    }
    if let Some(offset) = comparison.offset.as_ref().filter(|o| o.offset.abs() >= 0.02) {
        section.say(format!(
            "The later survey was graded {} throughout than those before, by {} of a life; that much was taken off.",
            if offset.offset > 0.0 { "harder" } else { "milder" },
            percent(offset.offset.abs())
        ));
    }
    section.table(grown(library, "Really worse", moved.iter().filter(|m| m.is_real())));
    let unsure = moved.iter().filter(|m| m.to > m.from && !m.is_real());
    section.table(grown(library, "Graded worse, but it may be only your scatter", unsure));
    let better: Vec<String> = moved
        .iter()
        .filter(|m| m.too_good)
        .map(|m| {
            format!(
                "{}: {} → {}. Was something done that is not recorded, or was one of the two looks wrong?",
                name(library, &m.part, &m.check),
                m.from,
                m.to
            )
        })
        .collect();
    if !better.is_empty() {
        section.head("Better without a repair");
        section.list(better);
    }
    let repaired: Vec<String> = comparison
        .repaired
        .iter()
        .map(|done| {
            let before = done
                .before
                .map_or_else(|| "not seen".to_owned(), |g| format!("grade {g}"));
            let after = done
                .after
                .map_or_else(|| "not looked at since".to_owned(), |g| format!("grade {g}"));
            format!(
                "{}, {}, {}: {before} before, {after}",
                words::day(done.date),
                words::small(&words::repair(library, &done.repair)),
                words::part(library, &done.part)
            )
        })
        .collect();
    if !repaired.is_empty() {
        section.head("Repaired between, by their worst check");
        section.list(repaired);
    }
    foretold(&mut section, library, comparison);
    section
}

fn were(n: usize, one: &str) -> String {
    format!(
        "{} {}",
        words::large(&words::count(n, one)),
        if n == 1 { "was" } else { "were" }
    )
}

fn grown<'m>(library: &Library, caption: &str, moved: impl Iterator<Item = &'m Moved>) -> Table {
    let mut table = Table::new(
        caption,
        &[
            words_in("part and check"),
            numbers_in("then"),
            numbers_in("now"),
            numbers_in("sure"),
        ],
    );
    let mut moved: Vec<&Moved> = moved.collect();
    moved.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| b.to.cmp(&a.to)));
    for m in moved {
        table.row(vec![
            name(library, &m.part, &m.check).into(),
            Cell::Grade(Some(m.from)),
            Cell::Grade(Some(m.to)),
            percent(m.probability).into(),
        ]);
    }
    table
}

/// Forecasts held against what was seen.
fn foretold(section: &mut Section, library: &Library, comparison: &Comparison) {
    let forecasts = &comparison.forecasts;
    section.head(format!(
        "What was forecast on {} from what was known then",
        words::day(comparison.from)
    ));
    if forecasts.is_empty() {
        section.say("Nothing that was seen then has been seen again, so no forecast can be held against anything.");
        return;
    }
    section.say(of_bad_parts(&bad_parts(forecasts)));
    let inside = forecasts.iter().filter(|f| f.inside()).count();
    let promised = forecasts.iter().map(Forecast::promised).sum::<f64>() / forecasts.len() as f64;
    section.say(format!(
        "{inside} of {} fell within the band forecast for 8 cases of 10; whole grades make the bands a little wider, so that they promised {}.",
        words::count(forecasts.len(), "look"),
        percent(promised)
    ));
    let mut outside = Table::new(
        "Otherwise than forecast",
        &[
            words_in("part and check"),
            numbers_in("then"),
            words_in("forecast"),
            numbers_in("seen"),
        ],
    );
    for f in forecasts.iter().filter(|f| !f.inside()) {
        let (low, high) = f.band();
        let band = if low == high {
            format!("{low}")
        } else {
            format!("{low} to {high}")
        };
        outside.row(vec![
            name(library, &f.part, &f.check).into(),
            Cell::Grade(f.before),
            band.into(),
            Cell::Grade(Some(f.seen)),
        ]);
    }
    section.table(outside);
}

/// Parts forecast to be bad, in a sentence.
fn of_bad_parts(bad: &BadParts) -> String {
    let first = match bad.forecast {
        0 => "No part was forecast to reach grade 4 or worse.".to_owned(),
        n => format!(
            "Of {} forecast to reach grade 4 or worse, {} did ({} of them there already when last looked at).",
            words::count(n, "part"),
            bad.came,
            match bad.already {
                1 => "1 was".to_owned(),
                n => format!("{n} were"),
            }
        ),
    };
    let others = match (bad.others, bad.others_came) {
        (0, _) => String::new(),
        (n, 0) => format!(" Of the other {n}, none did."),
        (n, came) => format!(" Of the other {n}, {came} did all the same."),
    };
    first + &others
}

/// How well the forecasts did on this car, in sentences: the words before the numbers.
#[must_use]
pub fn verdict(calibration: &Calibration) -> Vec<String> {
    let mut lines = vec![of_bad_parts(&calibration.bad_parts)];
    let Share { of, low, high, .. } = calibration.inside;
    lines.push(if of < FEW {
        format!(
            "Only {} can be held against a forecast so far: too few to say whether the forecasts promise too much.",
            words::count(of, "look")
        )
    } else if high < calibration.promised {
        "The forecasts were too sure of themselves on this car: more fell outside the bands than they promise. Take them wider than they are drawn."
            .to_owned()
    } else if low > calibration.promised {
        "The forecasts were less sure of themselves than they could be on this car: more fell inside the bands than they promise.".to_owned()
    } else {
        "The bands held about as much as they promise.".to_owned()
    });
    for (event, what) in [
        (&calibration.bad, "a check comes to grade 4 or worse"),
        (&calibration.worse, "a check gets at least a grade worse"),
    ] {
        lines.push(of_event(event, what));
    }
    lines
}

fn of_event(event: &Event, what: &str) -> String {
    let rare = event.came.count.min(event.came.of.saturating_sub(event.came.count));
    if event.came.of == 0 {
        format!("Whether {what}: nothing to hold it against.")
    } else if rare == 0 {
        let all = if event.came.count == 0 {
            "never happened"
        } else {
            "always happened"
        };
        format!(
            "Whether {what}: it {all} in {}, so the chances told cannot be judged.",
            words::count(event.came.of, "look")
        )
    } else {
        let how = if event.brier < event.brier_of_base {
            "told more than always saying how often it happened"
        } else {
            "told no more than always saying how often it happened"
        };
        let few = if rare < 10 {
            format!(", but with {rare} on the rarer side that may be chance")
        } else {
            String::new()
        };
        format!("Whether {what}: the chances {how}{few}.")
    }
}

/// How well the forecasts did on this car.
#[must_use]
pub fn calibrated(calibration: &Calibration) -> Section {
    let mut section = Section::new("calibration", "How well the forecasts did on this car");
    for line in verdict(calibration) {
        section.say(line);
    }
    section.say(NOT_INDEPENDENT);
    let mut pairs = Table::new(
        "Surveys held against forecasts",
        &[words_in("forecast on"), words_in("survey of"), numbers_in("checks")],
    );
    for (made, due, checks) in &calibration.pairs {
        pairs.row(vec![
            made.to_string().into(),
            due.to_string().into(),
            checks.to_string().into(),
        ]);
    }
    section.table(pairs);
    let inside = &calibration.inside;
    section.say(format!(
        "Inside the band for 8 cases of 10: {} of {}, {}; in the long run between {} and {} (95 %, Wilson 1927). Whole grades make the bands wider: they \
         promised {}.",
        inside.count,
        inside.of,
        percent(inside.share()),
        percent(inside.low),
        percent(inside.high),
        percent(calibration.promised)
    ));
    for (event, caption, what) in [
        (
            &calibration.bad,
            "Chance told of grade 4 or worse, and what came",
            "grade 4 or worse",
        ),
        (
            &calibration.worse,
            "Chance told of at least a grade worse, and what came",
            "at least a grade worse",
        ),
    ] {
        section.table(bins(caption, &event.bins));
        if event.came.of > 0 {
            section.say(format!(
                "Brier score for {what}: {:.3}; always saying {} scores {:.3}; 0 is best (Brier 1950).",
                event.brier,
                percent(event.came.share()),
                event.brier_of_base
            ));
        }
    }
    section
}

fn bins(caption: &str, bins: &[Bin]) -> Table {
    let mut table = Table::new(
        caption,
        &[
            words_in("chance told"),
            numbers_in("looks"),
            numbers_in("mean told"),
            numbers_in("came"),
            words_in("in the long run"),
        ],
    );
    for bin in bins {
        table.row(vec![
            format!("{} to {}", percent(bin.from), percent(bin.to)).into(),
            bin.came.of.to_string().into(),
            percent(bin.told).into(),
            bin.came.count.to_string().into(),
            format!("{} to {}", percent(bin.came.low), percent(bin.came.high)).into(),
        ]);
    }
    table
}
