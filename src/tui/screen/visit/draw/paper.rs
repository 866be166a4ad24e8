//! The worksheet's own sections on the screen: what must be ready, tools, the day step by step, the tightening table, what to
//! look at, and when one may stop.

use super::{Of, Sheet};
use crate::engine::plan::Visit;
use crate::report::worksheet::{self, Row, Step, StepKind, Worksheet};
use crate::report::{Subject, words};
use crate::rubric::Tightened;
use crate::text;

/// Cells of the table's column of fixings.
const FIXING: usize = 36;
/// Below so many cells there is no room for a table.
const NARROW: usize = 60;
/// Cells of its column of the manual's values.
const MANUAL: usize = 13;

/// Puts the worksheet under what can be acted on.
pub(super) fn put(sheet: &mut Sheet<'_>, visit: &Visit) {
    let desk = sheet.desk;
    if let (Some(car), Some(says)) = (&desk.car, desk.says()) {
        let subject = Subject {
            car,
            library: &desk.library,
            assessment: &says.assessment,
        };
        let nth = says.plan.visits.iter().position(|v| std::ptr::eq(v, visit));
        if let Some(made) = nth.and_then(|nth| worksheet::worksheet(&subject, &says.plan, nth)) {
            ready(sheet, &made);
            tools(sheet, &made);
            day(sheet, &made);
            tightening(sheet, &made);
            looks(sheet, &made);
            stops(sheet, &made);
        }
    }
    sheet.put("", desk.theme.text(), None);
    sheet.put(words::ORDERS_WORK_ONLY, desk.theme.dim(), None);
}

/// The bill of a booking, and what must be ready.
fn ready(sheet: &mut Sheet<'_>, made: &Worksheet) {
    if let Some((booking, bill)) = made.booking.as_ref().and_then(|b| Some((b, b.bill.as_ref()?))) {
        sheet.heading(&format!("The {}'s bill, about {bill} without parts", booking.trade));
    }
    let ready = &made.ready;
    let (plain, dim) = (sheet.desk.theme.text(), sheet.desk.theme.dim());
    if ready.buy.is_empty() && ready.renew.is_empty() && ready.soak.is_empty() && ready.shear.is_empty() {
        return;
    }
    sheet.heading("Ready before the day");
    if let Some(line) = made.buy_line() {
        sheet.put(&line, plain, None);
    }
    for part in &ready.buy {
        let remark = if part.remark.is_empty() {
            String::new()
        } else {
            format!(" ({})", part.remark)
        };
        sheet.item(&format!("{} × {}{remark}", part.count, part.name));
    }
    if !ready.renew.is_empty() {
        sheet.put(worksheet::USED_ONCE, dim, None);
    }
    for new in &ready.renew {
        sheet.item(&format!("{} × {} – {}", new.count, new.what, new.places.join("; ")));
    }
    if !ready.soak.is_empty() {
        sheet.put("Threads to soak:", dim, None);
    }
    for (n, soak) in ready.soak.iter().enumerate() {
        sheet.item_of(&soak.line(), Of::Soak(n));
    }
    if !ready.shear.is_empty() {
        sheet.put(worksheet::LIKELY_TO_SHEAR, dim, None);
    }
    for shear in &ready.shear {
        sheet.item(&shear.line());
    }
}

fn tools(sheet: &mut Sheet<'_>, made: &Worksheet) {
    let lines = made.tools.lines();
    if made.tools.lacking.is_empty() && lines.is_empty() {
        return;
    }
    sheet.heading("Tools");
    for tool in &made.tools.lacking {
        sheet.caution(&format!("You do not own: {}", tool.line(made.number)));
    }
    for (label, line) in lines {
        sheet.item(&format!("{label}: {line}"));
    }
}

fn day(sheet: &mut Sheet<'_>, made: &Worksheet) {
    sheet.heading(&made.steps_heading());
    for open in &made.already_open {
        sheet.item(&format!("Open since an earlier visit: {open}"));
    }
    for step in &made.steps {
        one_step(sheet, made, step);
    }
    for open in &made.stays_open {
        sheet.item(&format!("Stays open for a later visit: {open}"));
    }
}

fn one_step(sheet: &mut Sheet<'_>, made: &Worksheet, step: &Step) {
    let (plain, dim) = (sheet.desk.theme.text(), sheet.desk.theme.dim());
    let hours = step
        .hours
        .map_or_else(String::new, |h| format!(" ({})", words::hours(h)));
    let of = step.work.filter(|_| step.kind == StepKind::Repair).map(Of::Work);
    sheet.put(&format!("{}. {}{hours}", step.number, step.title), plain, of);
    for caution in &step.cautions {
        sheet.caution(caution);
    }
    if let Some(again) = step.again_line() {
        sheet.caution(&again);
    }
    if let Some(support) = &step.support {
        sheet.put(&format!("   Support: {support}"), plain, None);
    }
    for undo in &step.undo {
        let row = made.tightening.iter().find(|row| row.number == undo.row);
        let of = row.map(|row| Of::Tighten(row.place));
        sheet.put(&format!("   Undo: {}", undo.line()), plain, of);
    }
    for note in &step.notes {
        sheet.put(&format!("   {note}"), dim, None);
    }
    if let Some(at) = step.same_as {
        sheet.put(&format!("   As in step {at}."), dim, None);
    }
    if let Some(line) = step.tighten_line() {
        sheet.put(&format!("   {}.", words::large(&line)), plain, None);
    }
    if let Some(line) = step.go_on_line().filter(|_| made.booking.is_none()) {
        sheet.put(&format!("   {line}"), plain, None);
    }
}

fn tightening(sheet: &mut Sheet<'_>, made: &Worksheet) {
    if made.tightening.is_empty() {
        return;
    }
    let dim = sheet.desk.theme.dim();
    sheet.heading(&format!("Tightening; {}", words::MANUAL_WINS));
    sheet.put(worksheet::ABOUT_TORQUES, dim, None);
    let mut last: Option<Tightened> = None;
    for row in &made.tightening {
        if last != Some(row.when) {
            sheet.put(
                &format!("{}:", worksheet::group(row.when)),
                sheet.desk.theme.text(),
                None,
            );
            if sheet.width >= NARROW {
                sheet.exact(&table_line("row", "fixing", "your manual", "guide only"), dim, None);
            }
            last = Some(row.when);
        }
        one_row(sheet, row);
    }
}

fn one_row(sheet: &mut Sheet<'_>, row: &Row) {
    let (plain, dim) = (sheet.desk.theme.text(), sheet.desk.theme.dim());
    let manual = row.manual.as_deref().unwrap_or("______ N·m");
    // A value too long for its column gets a line of its own: no figure is ever cut.
    let (manual, alone) = match text::width(manual) > MANUAL {
        true => ("below", Some(manual)),
        false => (manual, None),
    };
    let guide = match (row.guide, &row.manual) {
        (_, Some(_)) => String::new(),
        (Some(guide), None) => format!("{guide:.0} N·m dry"),
        (None, None) => "none".to_owned(),
    };
    let of = Some(Of::Tighten(row.place));
    if sheet.width < NARROW {
        let manual = row.manual.as_deref().unwrap_or("______ N·m");
        let guide = if guide.is_empty() {
            guide
        } else {
            format!("; guide only: {guide}")
        };
        let line = format!("{}. {}; your manual: {manual}{guide}", row.number, row.what());
        sheet.put(&line, plain, of);
        if let Some(lock) = row.lock_line() {
            sheet.put(&lock, dim, None);
        }
        return;
    }
    for (n, line) in text::wrap(&row.what(), FIXING).into_iter().enumerate() {
        if n == 0 {
            sheet.exact(&table_line(&row.number.to_string(), &line, manual, &guide), plain, of);
        } else {
            sheet.exact(&table_line("", &line, "", ""), plain, of);
        }
    }
    if let Some(value) = alone {
        sheet.put(&format!("     your manual: {value}"), plain, of);
    }
    if let Some(lock) = row.lock_line() {
        for line in text::wrap(&lock, FIXING) {
            sheet.exact(&table_line("", &line, "", ""), dim, None);
        }
    }
}

fn table_line(number: &str, fixing: &str, manual: &str, guide: &str) -> String {
    let line = format!(
        "{}  {}  {}  {guide}",
        text::fit(number, 3),
        text::fit(fixing, FIXING),
        text::fit(manual, MANUAL)
    );
    line.trim_end().to_owned()
}

fn looks(sheet: &mut Sheet<'_>, made: &Worksheet) {
    if made.looks.is_empty() {
        return;
    }
    sheet.heading("Look at this while it is apart");
    for look in &made.looks {
        sheet.item(&look.line());
    }
}

fn stops(sheet: &mut Sheet<'_>, made: &Worksheet) {
    if made.booking.is_some() {
        return;
    }
    sheet.heading("Stopping half-way");
    for line in made.stop_lines() {
        sheet.item(&line);
    }
}
