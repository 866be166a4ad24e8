//! The worksheet as one HTML page that prints: black on white, no script, nothing from the network. Text of people and files is
//! escaped where it is set.

use maud::{Markup, html};

use super::{Row, Step, StepKind, Worksheet, group};
use crate::report::{html as frame, words};
use crate::rubric::Tightened;

/// Fits A4 and Letter alike: widths are shares of the page, the margin alone is fixed. No text of anybody's comes in here.
pub(in crate::report) const STYLE: &str = "\
@page { margin: 14mm 13mm; }
html { color: #000; background: #fff; font: 10.5pt/1.35 'Liberation Sans', Arial, Helvetica, sans-serif; }
body { max-width: 186mm; margin: 0 auto; padding: 6mm 0; }
@media print { body { max-width: none; padding: 0; } }
h1 { font-size: 16pt; margin: 0 0 1mm; }
h2 { font-size: 12pt; margin: 6mm 0 1.5mm; border-bottom: 0.4mm solid #000; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 3mm 0 1mm; break-after: avoid; }
p { margin: 1mm 0; }
.remark, .small { font-size: 9pt; }
.remark { border: 0.3mm solid #000; padding: 1mm 2mm; }
dl { display: grid; grid-template-columns: 22mm 1fr; margin: 2mm 0; }
dt { font-weight: bold; } dd { margin: 0; }
ul, ol { list-style: none; margin: 1mm 0; padding: 0; }
li { margin: 1mm 0; break-inside: avoid; }
.tick li, .steps > li { position: relative; padding-left: 7mm; }
.box { display: inline-block; width: 3.6mm; height: 3.6mm; border: 0.35mm solid #000; vertical-align: -0.5mm; }
.tick > li > .box, .steps > li > .box { position: absolute; left: 0; top: 0.6mm; }
.steps > li { margin: 2.2mm 0; break-inside: auto; }
.steps > li > b { break-after: avoid; }
.d1 { margin-left: 5mm !important; } .d2 { margin-left: 10mm !important; } .d3 { margin-left: 15mm !important; }
.caution { border-left: 1.2mm solid #000; padding-left: 2mm; margin: 1mm 0; break-inside: avoid; }
.stop { font-weight: bold; }
table { border-collapse: collapse; width: 100%; margin: 1mm 0; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { text-align: left; vertical-align: top; padding: 1mm 1.5mm; border: 0.25mm solid #000; }
th { font-size: 9pt; }
.number { text-align: right; white-space: nowrap; }
.fill { min-width: 22mm; }
.unit { float: right; font-size: 8pt; }
.guide { font-size: 9pt; white-space: nowrap; }
.write { border-bottom: 0.3mm solid #000; height: 9mm; margin: 0 0 1mm; font-size: 9pt; }
";

/// The whole page.
#[must_use]
pub fn page(sheet: &Worksheet) -> String {
    let body = html! {
        header {
            h1 { (sheet.title()) }
            p { b { (sheet.car) } }
            (head(sheet))
        }
        main { (sections(sheet)) }
    };
    frame::page(&format!("{} – {}", sheet.title(), sheet.car), STYLE, &body)
}

/// What stands above the sections.
pub(in crate::report) fn head(sheet: &Worksheet) -> Markup {
    html! {
        p.remark { (sheet.remark) }
        dl { @for (label, line) in sheet.head_lines() { dt { (label) } dd { (line) } } }
    }
}

/// The sections, their headings on the second level.
pub(in crate::report) fn sections(sheet: &Worksheet) -> Markup {
    html! {
        (ready(sheet))
        (tools(sheet))
        (day(sheet))
        (tightening(sheet))
        (looks(sheet))
        (stops(sheet))
        (record(sheet))
    }
}

/// A box to tick.
fn tick() -> Markup {
    html! { span.box {} }
}

fn ticks(lines: &[String]) -> Markup {
    html! { ul.tick { @for line in lines { li { (tick()) (line) } } } }
}

fn ready(sheet: &Worksheet) -> Markup {
    let ready = &sheet.ready;
    let soak: Vec<String> = ready.soak.iter().map(super::SoakLine::line).collect();
    let shear: Vec<String> = ready.shear.iter().map(super::Shear::line).collect();
    html! {
        @if !(ready.buy.is_empty() && ready.renew.is_empty() && soak.is_empty() && shear.is_empty()) {
            section {
                h2 { "Ready before the day" }
                @if let Some(line) = sheet.buy_line() { p { (line) } }
                @if !ready.buy.is_empty() {
                    table {
                        thead { tr { th scope="col" { "In hand" } th scope="col" { "Count" } th scope="col" { "Part" } th scope="col" { "Price, days to come" } } }
                        tbody {
                            @for part in &ready.buy {
                                tr { td { (tick()) } td.number { (part.count) } td { (part.name) } td { (part.remark) } }
                            }
                        }
                    }
                }
                @if !ready.renew.is_empty() {
                    h3 { (super::USED_ONCE) }
                    ul.tick {
                        @for new in &ready.renew {
                            li { (tick()) (new.count) " × " (new.what) " – " (new.places.join("; ")) }
                        }
                    }
                }
                @if !soak.is_empty() { h3 { "Threads to soak" } (ticks(&soak)) }
                @if !shear.is_empty() { h3 { (super::LIKELY_TO_SHEAR) } (ticks(&shear)) }
            }
        }
    }
}

fn tools(sheet: &Worksheet) -> Markup {
    let lines = sheet.tools.lines();
    html! {
        @if !(sheet.tools.lacking.is_empty() && lines.is_empty()) {
            section {
                h2 { "Tools" }
                @if !sheet.tools.lacking.is_empty() {
                    h3 { "Not owned" }
                    ul.tick { @for tool in &sheet.tools.lacking { li { (tick()) b { (tool.line(sheet.number)) } } } }
                }
                @for (label, line) in lines { p { b { (label) ": " } (line) } }
            }
        }
    }
}

fn day(sheet: &Worksheet) -> Markup {
    html! {
        section {
            h2 { (sheet.steps_heading()) }
            @for open in &sheet.already_open { p { b { "Open since an earlier visit: " } (open) } }
            ol.steps { @for step in &sheet.steps { (one_step(sheet, step)) } }
            @for open in &sheet.stays_open { p { b { "Stays open for a later visit: " } (open) } }
        }
    }
}

fn one_step(sheet: &Worksheet, step: &Step) -> Markup {
    let depth = match (step.kind, step.depth) {
        (StepKind::Open, 1) => "d1",
        (StepKind::Open, 2) => "d2",
        (StepKind::Open, d) if d > 2 => "d3",
        _ => "d0",
    };
    html! {
        li class=(depth) {
            (tick())
            b { (step.number) ". " (step.title) }
            @if let Some(hours) = step.hours { " (" (words::hours(hours)) ")" }
            @for caution in &step.cautions { p.caution { b { "! " } (caution) } }
            @if let Some(again) = step.again_line() { p.caution { b { "! " } (again) } }
            @if let Some(support) = &step.support { p { b { "Support: " } (support) } }
            @if !step.undo.is_empty() {
                ul { @for undo in &step.undo { li { b { "Undo: " } (undo.line()) } } }
            }
            @if !step.notes.is_empty() { ul { @for note in &step.notes { li { "· " (note) } } } }
            @if let Some(at) = step.same_as { p { "As in step " (at) "." } }
            @if let Some(line) = step.tighten_line() { p { (tick()) " " (line) } }
            @if let Some(line) = step.go_on_line().filter(|_| sheet.booking.is_none()) { p.stop { (line) } }
        }
    }
}

fn tightening(sheet: &Worksheet) -> Markup {
    html! {
        @if !sheet.tightening.is_empty() {
            section {
                h2 { "Tightening" }
                p.small { (super::ABOUT_TORQUES) }
                @for when in [Tightened::AtOnce, Tightened::AtRideHeight, Tightened::OnTheGround] {
                    @let rows: Vec<&Row> = sheet.tightening.iter().filter(|row| row.when == when).collect();
                    @if !rows.is_empty() {
                        h3 { (group(when)) }
                        table {
                            thead { tr {
                                th scope="col" { "Done" } th scope="col" { "Row" } th scope="col" { "Fixing" }
                                th scope="col" { "Your manual" } th scope="col" { "Guide only" } th scope="col" { "Used" }
                            } }
                            tbody { @for row in rows { (one_row(row)) } }
                        }
                    }
                }
            }
        }
    }
}

fn one_row(row: &Row) -> Markup {
    html! {
        tr {
            td { (tick()) }
            td.number { (row.number) }
            td { (row.what()) @if let Some(lock) = row.lock_line() { br; span.small { (lock) } } }
            td.fill { @if let Some(manual) = &row.manual { b { (manual) } } @else { span.unit { "N·m" } } }
            td.guide { (row.guide_words()) }
            td.fill { span.unit { "N·m" } }
        }
    }
}

fn looks(sheet: &Worksheet) -> Markup {
    let lines: Vec<String> = sheet.looks.iter().map(super::LookThere::line).collect();
    html! {
        @if !lines.is_empty() { section { h2 { "Look at this while it is apart" } (ticks(&lines)) } }
    }
}

fn stops(sheet: &Worksheet) -> Markup {
    html! {
        @if sheet.booking.is_none() {
            section { h2 { "Stopping half-way" } ul { @for line in sheet.stop_lines() { li { "– " (line) } } } }
        }
    }
}

fn record(sheet: &Worksheet) -> Markup {
    html! {
        section {
            h2 { "Write down" }
            @for line in super::RECORD { p.write { (line) } }
            p.small { (sheet.record_line()) }
        }
    }
}
