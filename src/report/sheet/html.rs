//! The sheet as one HTML page that prints: black on white, no script, nothing from the network. Every check is a row with
//! boxes to tick, in a table of its part; text of people and files is escaped where it is set.

use maud::{Markup, html};

use super::choose::{Sheet, Stop, due_words};
use super::{letter, limits};
use crate::car::{NotSeen, Seen};
use crate::report::{html as frame, words};
use crate::rubric::{CheckKind, Measure, PartId, Stage};
use crate::text::clean;

/// Fits A4 and Letter alike: widths are shares of the page, the margin alone is fixed. No text of anybody's comes in here.
const STYLE: &str = "\
@page { margin: 12mm 11mm; }
html { color: #000; background: #fff; font: 9pt/1.3 'Liberation Sans', Arial, Helvetica, sans-serif; }
body { max-width: 190mm; margin: 0 auto; padding: 6mm 0; }
@media print { body { max-width: none; padding: 0; } }
h1 { font-size: 15pt; margin: 0 0 2mm; }
h2 { font-size: 12pt; margin: 6mm 0 2mm; border-bottom: 0.4mm solid #000; break-after: avoid; }
p { margin: 1mm 0; }
.fields { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: 4mm; margin: 2mm 0 3mm; }
.fields p { border-bottom: 0.3mm solid #000; height: 8mm; margin: 0; }
.remark { border: 0.3mm solid #000; padding: 1mm 2mm; }
table { border-collapse: collapse; table-layout: fixed; width: 100%; margin: 0 0 3mm; }
caption { text-align: left; padding: 1.5mm 0 0.7mm; break-after: avoid; }
.name { width: 23%; } .reasons { width: 11%; }
thead { display: table-header-group; }
tbody { break-inside: avoid; }
th, td { text-align: left; vertical-align: top; padding: 0.8mm 1mm; border: 0.25mm solid #000; overflow-wrap: break-word; hyphens: auto; }
thead th { font-size: 8pt; }
td { font-size: 7.5pt; line-height: 1.2; }
.how { font-weight: normal; font-size: 7.5pt; line-height: 1.2; }
.id { font-weight: normal; font-size: 7.5pt; }
.caution { font-weight: normal; font-size: 7.5pt; border-left: 1mm solid #000; padding-left: 1mm; }
.box { display: inline-block; width: 3.4mm; height: 3.4mm; border: 0.3mm solid #000; vertical-align: -0.5mm; text-align: center; line-height: 3.2mm; font-size: 9pt; font-weight: bold; }
.digit { font-size: 10pt; font-weight: bold; }
.reason { display: inline-block; white-space: nowrap; margin: 0 1mm 0.6mm 0; }
.reading { display: inline-block; white-space: nowrap; margin: 1mm 4mm 1mm 0; font-size: 9pt; }
.line { display: inline-block; min-width: 20mm; border-bottom: 0.3mm solid #000; text-align: center; }
.note { height: 5mm; }
";

/// The whole page; `brief` leaves out how to look and what the grades look like.
#[must_use]
pub fn page(sheet: &Sheet, brief: bool) -> String {
    let unit = sheet.car.profile.distance_unit.sign();
    let body = html! {
        header {
            h1 { (sheet.title()) }
            div.fields { p { "Date" } p { "Odometer, " (unit) } p { "Light, weather" } }
            @for said in sheet.preface() { p.remark { (said) } }
        }
        main {
            @if sheet.stops.is_empty() { p { (sheet.empty()) } }
            @for (stage, parts) in grouped(sheet) {
                section {
                    h2 { (words::stage(stage)) }
                    @for (part, stops) in parts { (of_part(sheet, part, &stops, brief)) }
                }
            }
        }
    };
    frame::page(&sheet.title(), STYLE, &body)
}

type OfStage<'s, 'l> = (Stage, Vec<(&'s PartId, Vec<&'s Stop<'l>>)>);

/// The stops by stage and part, in the order of the round.
fn grouped<'s, 'l>(sheet: &'s Sheet<'l>) -> Vec<OfStage<'s, 'l>> {
    let mut stages: Vec<OfStage> = Vec::new();
    for stop in &sheet.stops {
        match stages.last_mut() {
            Some((stage, parts)) if *stage == stop.stage => match parts.last_mut() {
                Some((part, stops)) if **part == stop.part => stops.push(stop),
                _ => parts.push((&stop.part, vec![stop])),
            },
            _ => stages.push((stop.stage, vec![(&stop.part, vec![stop])])),
        }
    }
    stages
}

fn of_part(sheet: &Sheet, part: &PartId, stops: &[&Stop], brief: bool) -> Markup {
    html! {
        table {
            caption { b { (words::part(sheet.library, part)) } " " span.id { "[" (part) "]" } }
            thead { tr {
                th.name scope="col" { "Check" }
                @for digit in 0..6 { th scope="col" { (grade_head(digit)) } }
                th.reasons scope="col" { "Not seen" }
            } }
            @for stop in stops { (of_check(sheet, stop, brief)) }
        }
    }
}

fn grade_head(digit: usize) -> &'static str {
    match digit {
        0 => "0, as new",
        1 => "1",
        2 => "2",
        3 => "3",
        4 => "4",
        _ => "5, at the limit",
    }
}

fn of_check(sheet: &Sheet, stop: &Stop, brief: bool) -> Markup {
    let check = stop.check;
    let seen = stop.before.as_ref().map(|look| &look.seen);
    let note = stop.before.as_ref().map(|look| clean(&look.note)).unwrap_or_default();
    html! {
        tbody {
            tr {
                th scope="row" {
                    (clean(&check.name)) " " span.id { "[" (check.id) "]" }
                    @if let Some(due) = stop.due { p.how { "Due: " (due_words(due, sheet.from.is_none())) "." } }
                    @if !brief {
                        p.how { (clean(&check.how)) }
                        @for caution in check.cautions.iter().filter_map(|id| sheet.library.caution(id)) {
                            p.caution { "! " (clean(&caution.text)) }
                        }
                    }
                }
                @match &check.kind {
                    CheckKind::Graded(descriptions) => {
                        @for (digit, description) in descriptions.iter().enumerate() {
                            td {
                                (tick(&format!("grade {digit}"), matches!(seen, Some(Seen::Grade(g)) if g.index() == digit)))
                                " " span.digit { (digit) }
                                @if !brief { " " (clean(description)) }
                            }
                        }
                    }
                    CheckKind::YesNo(question) => {
                        @for (answer, word, means) in [(true, "yes", &question.yes), (false, "no", &question.no)] {
                            td colspan="3" {
                                (tick(word, matches!(seen, Some(Seen::Answer(a)) if *a == answer)))
                                " " span.digit { (word) }
                                @if !brief { " " (clean(means)) }
                            }
                        }
                    }
                    CheckKind::Measured(measure) => { td colspan="6" { (reading(sheet, stop, measure, seen, brief)) } }
                }
                td {
                    @for why in NotSeen::ALL {
                        span.reason {
                            (tick(why.words(), matches!(seen, Some(Seen::Not(w)) if *w == why)))
                            " " (letter(why))
                        }
                        " "
                    }
                }
            }
            tr { td.note colspan="8" { "Note: " (note) } }
        }
    }
}

/// A box to tick, ticked where that was seen.
fn tick(what: &str, ticked: bool) -> Markup {
    let label = if ticked {
        format!("ticked box: {what}")
    } else {
        format!("box to tick: {what}")
    };
    html! { span.box role="img" aria-label=(label) { @if ticked { "×" } } }
}

fn reading(sheet: &Sheet, stop: &Stop, measure: &Measure, seen: Option<&Seen>, brief: bool) -> Markup {
    let unit = clean(&measure.unit);
    let points: Vec<String> = if measure.points.is_empty() {
        vec![String::new()]
    } else {
        measure.points.iter().map(|p| clean(p)).collect()
    };
    let value = |at: usize| match seen {
        Some(Seen::Reading(values)) => values.get(at).map(f64::to_string),
        _ => None,
    };
    html! {
        @for (at, point) in points.iter().enumerate() {
            span.reading {
                @if !point.is_empty() { (point) " " }
                span.line { @if let Some(value) = value(at) { (value) } @else { "\u{a0}" } }
                " " (unit)
            }
            " "
        }
        @if !brief {
            @if let Some((new, limit)) = limits(sheet.car, &stop.part, stop.check) {
                br;
                "With " (words::small(&clean(&measure.instrument))) ". New " (new) ", limit " (limit) " " (unit) "."
                @if measure.ask_manual { " The limit depends on the car's design: ask its own manual." }
            }
        }
    }
}
