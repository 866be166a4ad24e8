//! The plan as a calendar file (iCalendar, RFC 5545): days of work, bookings, and the days to order, ring and soak by.
//!
//! All events take whole days, for the plan knows no hour of the day. An event's identity is made from the car's name, its day
//! and what it is, so that a newer file replaces the events of the same days.

use jiff::civil::Date;

use super::fold::{escaped, folded};
use crate::engine::plan::{Plan, Visit};
use crate::report::{Subject, visit as visit_words, words};
use crate::text::clean;

/// An event of whole days.
struct Event {
    what: &'static str,
    from: Date,
    /// The first day after it.
    to: Date,
    title: String,
    lines: Vec<String>,
    /// Whether the car's owner is free on those days.
    free: bool,
    reminds: bool,
}

/// The calendar file; with `alarms`, days to order, ring and soak by remind at nine in the morning.
#[must_use]
pub fn calendar(subject: &Subject, plan: &Plan, alarms: bool) -> String {
    calendar_of(&[(*subject, plan)], alarms)
}

/// The calendar file of several cars.
#[must_use]
pub fn calendar_of(cars: &[(Subject, &Plan)], alarms: bool) -> String {
    let mut out = String::new();
    let mut line = |text: &str| out.push_str(&folded(text));
    line("BEGIN:VCALENDAR");
    line("VERSION:2.0");
    line("PRODID:-//tinworm//work plan//EN");
    line("CALSCALE:GREGORIAN");
    let all = cars.iter().flat_map(|(subject, plan)| {
        events(subject, plan)
            .into_iter()
            .map(move |event| (subject, plan, event))
    });
    for (subject, plan, event) in all {
        let name = clean(&subject.car.profile.name);
        let made = plan.today.strftime("%Y%m%d");
        let car = identity(&name);
        line("BEGIN:VEVENT");
        let from = event.from.strftime("%Y%m%d");
        line(&format!("UID:{}-{from}-{car}@tinworm.invalid", event.what));
        line(&format!("DTSTAMP:{made}T000000Z"));
        line(&format!("DTSTART;VALUE=DATE:{from}"));
        line(&format!("DTEND;VALUE=DATE:{}", event.to.strftime("%Y%m%d")));
        line(&format!("SUMMARY:{}", escaped(&format!("{name}: {}", event.title))));
        line(&format!("DESCRIPTION:{}", escaped(&event.lines.join("\n"))));
        line(if event.free {
            "TRANSP:TRANSPARENT"
        } else {
            "TRANSP:OPAQUE"
        });
        if alarms && event.reminds {
            line("BEGIN:VALARM");
            line("ACTION:DISPLAY");
            line("TRIGGER:PT9H");
            line(&format!("DESCRIPTION:{}", escaped(&event.title)));
            line("END:VALARM");
        }
        line("END:VEVENT");
    }
    line("END:VCALENDAR");
    out
}

/// A car's name as 16 hexadecimal digits (FNV-1a).
fn identity(name: &str) -> String {
    let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    format!("{hash:016x}")
}

fn next_day(day: Date) -> Date {
    day.tomorrow().unwrap_or(day)
}

fn events(subject: &Subject, plan: &Plan) -> Vec<Event> {
    let mut events = Vec::new();
    for (n, visit) in plan.visits.iter().enumerate() {
        of_visit(subject, n + 1, visit, &mut events);
    }
    if let Some(day) = subject.car.profile.next_survey.filter(|day| *day >= plan.today) {
        events.push(Event {
            what: "survey",
            from: day,
            to: next_day(day),
            title: "look round the whole car".to_owned(),
            lines: vec![words::ORDERS_WORK_ONLY.to_owned()],
            free: false,
            reminds: false,
        });
    }
    // Several visits may share a day to order or soak on: one event for it, with the lines of all.
    let mut joined: Vec<Event> = Vec::new();
    for event in events {
        match joined.iter_mut().find(|e| e.what == event.what && e.from == event.from) {
            Some(same) => same.lines.extend(event.lines),
            None => joined.push(event),
        }
    }
    joined
}

fn of_visit(subject: &Subject, number: usize, visit: &Visit, events: &mut Vec<Event>) {
    let library = subject.library;
    let work = visit.work.iter().map(|w| {
        format!(
            "{}, {}",
            words::repair(library, &w.repair),
            words::stations(if w.on.is_empty() {
                std::slice::from_ref(&w.part)
            } else {
                &w.on
            })
        )
    });
    let mut lines: Vec<String> = work.collect();
    lines.push(words::visit_hours(visit));
    if visit.cost > 0.0 {
        lines.push(format!(
            "costs about {}",
            words::money(&subject.car.profile, visit.cost)
        ));
    }
    if !visit.tools_missing.is_empty() {
        lines.push(format!("tools lacking: {}", clean(&visit.tools_missing.join("; "))));
    }
    let cautions = visit_words::cautions(library, visit);
    lines.extend(cautions.into_iter().map(|caution| format!("! {caution}")));
    lines.push(words::ORDERS_WORK_ONLY.to_owned());
    let reminder = |what, day: Date, title: String, lines: Vec<String>| Event {
        what,
        from: day,
        to: next_day(day),
        title,
        lines,
        free: true,
        reminds: true,
    };
    match &visit.booking {
        Some(booking) => {
            let trade = words::a_trade(&booking.trade);
            events.push(Event {
                what: "booking",
                from: visit.date,
                // The car is back on that day, which is the owner's again.
                to: booking.away_until.max(next_day(visit.date)),
                title: format!("visit {number}, with {trade}"),
                lines,
                free: true,
                reminds: false,
            });
            let ring = format!("ring {trade} for visit {number}");
            let lines = vec![format!("for {}", words::day(visit.date))];
            events.push(reminder("ring", booking.book_by, ring, lines));
        }
        None => {
            let days = std::iter::once(visit.date).chain(visit.runs_on.iter().copied());
            let count = 1 + visit.runs_on.len();
            for (nth, day) in days.enumerate() {
                let title = if count > 1 {
                    format!("visit {number}, day {} of {count}", nth + 1)
                } else {
                    format!("visit {number}")
                };
                events.push(Event {
                    what: "visit",
                    from: day,
                    to: next_day(day),
                    title,
                    lines: lines.clone(),
                    free: false,
                    reminds: false,
                });
            }
        }
    }
    if let Some(day) = visit.order_by {
        let buy = visit.buy.iter().map(|part| visit_words::to_buy(subject, part));
        let head = format!("for visit {number}, {}", words::day(visit.date));
        let lines = std::iter::once(head).chain(buy).collect();
        events.push(reminder("order", day, "order parts by today".to_owned(), lines));
    }
    for soak in &visit.soak {
        let line = format!(
            "visit {number}: {}, {}",
            words::part(library, &soak.part),
            clean(&soak.fixing)
        );
        events.push(reminder("soak", soak.on, "soak threads".to_owned(), vec![line]));
    }
}
