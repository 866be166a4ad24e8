//! The worksheet as text that prints well: 80 columns, boxes to tick, lines to fill.

use super::{Row, Step, StepKind, Worksheet, group};
use crate::report::page::{Page, Paper};
use crate::report::words;
use crate::rubric::Tightened;

/// No line is longer, whatever the terminal, so that it can be printed.
const WIDEST: usize = 80;

/// What is left to be filled in by hand.
const BLANK: &str = "________";

/// The worksheet as text.
#[must_use]
pub fn text(sheet: &Worksheet, paper: Paper) -> String {
    let paper = Paper {
        width: paper.width.min(WIDEST),
        ..paper
    };
    let mut page = Page::new(paper);
    head(&mut page, sheet);
    ready(&mut page, sheet);
    tools(&mut page, sheet);
    section(&mut page, &sheet.steps_heading());
    open_since(&mut page, sheet);
    for step in &sheet.steps {
        set_step(&mut page, sheet, step);
    }
    for open in &sheet.stays_open {
        page.hanging(0, "Stays open for a later visit: ", open);
    }
    tightening(&mut page, sheet);
    looks(&mut page, sheet);
    stops(&mut page, sheet);
    record(&mut page, sheet);
    page.finish()
}

fn head(page: &mut Page, sheet: &Worksheet) {
    page.heading(&sheet.title());
    page.paragraph(0, &sheet.car);
    page.paragraph(0, &sheet.remark);
    page.gap();
    for line in sheet.head_lines() {
        page.hanging(0, &format!("{:<9}", line.0), &line.1);
    }
}

/// A heading with a line under it, which shows on paper too.
fn section(page: &mut Page, title: &str) {
    page.heading(title);
    page.line(&"─".repeat(crate::text::width(title)));
}

fn ready(page: &mut Page, sheet: &Worksheet) {
    let ready = &sheet.ready;
    if ready.buy.is_empty() && ready.renew.is_empty() && ready.soak.is_empty() && ready.shear.is_empty() {
        return;
    }
    section(page, "Ready before the day");
    if let Some(line) = sheet.buy_line() {
        page.paragraph(0, &line);
    }
    for part in &ready.buy {
        let remark = if part.remark.is_empty() {
            String::new()
        } else {
            format!(" ({})", part.remark)
        };
        page.hanging(0, "[ ] ", &format!("{} × {}{remark}", part.count, part.name));
    }
    if !ready.renew.is_empty() {
        page.gap();
        page.paragraph(0, super::USED_ONCE);
    }
    for new in &ready.renew {
        page.hanging(
            0,
            "[ ] ",
            &format!("{} × {} – {}", new.count, new.what, new.places.join("; ")),
        );
    }
    if !ready.soak.is_empty() {
        page.gap();
        page.paragraph(0, "Threads to soak:");
    }
    for soak in &ready.soak {
        page.hanging(0, "[ ] ", &soak.line());
    }
    if !ready.shear.is_empty() {
        page.gap();
        page.paragraph(0, super::LIKELY_TO_SHEAR);
    }
    for shear in &ready.shear {
        page.hanging(0, "[ ] ", &shear.line());
    }
}

fn tools(page: &mut Page, sheet: &Worksheet) {
    let tools = &sheet.tools;
    let lines = tools.lines();
    if tools.lacking.is_empty() && lines.is_empty() {
        return;
    }
    section(page, "Tools");
    for lacking in &tools.lacking {
        page.hanging(0, "[ ] not owned: ", &lacking.line(sheet.number));
    }
    for (label, line) in lines {
        page.hanging(0, &format!("{label}: "), &line);
    }
}

fn open_since(page: &mut Page, sheet: &Worksheet) {
    for open in &sheet.already_open {
        page.hanging(0, "Open since an earlier visit: ", open);
    }
}

fn set_step(page: &mut Page, sheet: &Worksheet, step: &Step) {
    page.gap();
    let indent = if step.kind == StepKind::Open {
        2 * step.depth.min(4)
    } else {
        0
    };
    let hours = step
        .hours
        .map_or_else(String::new, |h| format!(" ({})", words::hours(h)));
    page.hanging(
        indent,
        &format!("[ ] {:>2}. ", step.number),
        &format!("{}{hours}", step.title),
    );
    let inner = indent + 8;
    for caution in &step.cautions {
        page.hanging(inner, "! ", caution);
    }
    if let Some(again) = step.again_line() {
        page.hanging(inner, "! ", &again);
    }
    if let Some(support) = &step.support {
        page.hanging(inner, "Support: ", support);
    }
    for undo in &step.undo {
        page.hanging(inner, "undo  ", &undo.line());
    }
    for note in &step.notes {
        page.hanging(inner, "· ", note);
    }
    if let Some(at) = step.same_as {
        page.paragraph(inner, &format!("As in step {at}."));
    }
    if let Some(line) = step.tighten_line() {
        page.hanging(inner, "[ ] ", &line);
    }
    if let Some(line) = step.go_on_line().filter(|_| sheet.booking.is_none()) {
        page.paragraph(inner, &line);
    }
}

fn tightening(page: &mut Page, sheet: &Worksheet) {
    if sheet.tightening.is_empty() {
        return;
    }
    section(page, "Tightening");
    page.paragraph(0, super::ABOUT_TORQUES);
    let mut last: Option<Tightened> = None;
    for row in &sheet.tightening {
        if last != Some(row.when) {
            page.gap();
            page.paragraph(0, &format!("{}:", group(row.when)));
            last = Some(row.when);
        }
        set_row(page, row);
    }
}

fn set_row(page: &mut Page, row: &Row) {
    page.hanging(0, &format!("[ ] {:>2}. ", row.number), &row.what());
    let manual = match &row.manual {
        Some(value) => format!("manual {value}"),
        None => format!("manual {BLANK} N·m"),
    };
    let line = format!("        {manual:<21}   {:<20}   used {BLANK}", row.guide_words());
    if crate::text::width(&line) <= page.paper().width {
        page.line(&line);
    } else {
        page.paragraph(8, &format!("{manual}; {}; used {BLANK}", row.guide_words()));
    }
    if let Some(lock) = row.lock_line() {
        page.hanging(8, "", &lock);
    }
}

fn looks(page: &mut Page, sheet: &Worksheet) {
    if sheet.looks.is_empty() {
        return;
    }
    section(page, "Look at this while it is apart");
    for look in &sheet.looks {
        page.hanging(0, "[ ] ", &look.line());
    }
}

fn stops(page: &mut Page, sheet: &Worksheet) {
    if sheet.booking.is_some() {
        return;
    }
    section(page, "Stopping half-way");
    for line in sheet.stop_lines() {
        page.item(0, &line);
    }
}

fn record(page: &mut Page, sheet: &Worksheet) {
    section(page, "Write down");
    for line in super::RECORD {
        page.line(&format!(
            "{line:<24} {}",
            "_".repeat(page.paper().width.saturating_sub(25))
        ));
        page.gap();
    }
    page.paragraph(0, &sheet.record_line());
}
