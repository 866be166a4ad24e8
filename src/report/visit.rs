//! One visit of the plan, set out for whoever stands beside the car.

use super::page::Page;
use super::{Subject, words};
use crate::car::{Buying, Car, OwnTorque};
use crate::engine::plan::{Tightening, Visit, Work};
use crate::rubric::{Fixing, Library, NewPart};
use crate::text;

/// The cautions of a visit in words: those of its work and of what is opened.
#[must_use]
pub fn cautions(library: &Library, visit: &Visit) -> Vec<String> {
    visit
        .cautions
        .iter()
        .map(|id| text::clean(library.caution(id).map_or(id.as_str(), |c| c.text.as_str())))
        .collect()
}

/// A part to buy: `2 × self-locking nut M12 (€ 3)`.
#[must_use]
pub fn to_buy(subject: &Subject, part: &NewPart) -> String {
    let mut line = format!("{} × {}", part.count, text::clean(&part.name));
    let mut remarks = Vec::new();
    if part.cost > 0.0 {
        let each = if part.count > 1 { " each" } else { "" };
        remarks.push(format!("about {}{each}", words::money(&subject.car.profile, part.cost)));
    }
    if part.lead_days > 0 {
        remarks.push(format!("{} to come", words::count(part.lead_days as usize, "day")));
    }
    if !remarks.is_empty() {
        line.push_str(&format!(" ({})", remarks.join(", ")));
    }
    line
}

/// A fastener to tighten: what it is, how it is locked, when, and the manual's value, or a blank with the guide marked as one.
#[must_use]
pub fn to_tighten(library: &Library, car: &Car, tightening: &Tightening) -> String {
    let Some(fixing) = fixing_of(library, tightening) else {
        return words::part(library, &tightening.part);
    };
    format!(
        "{}, {}",
        words::part(library, &tightening.part),
        words::to_tighten(fixing, car.torque(&tightening.part, &fixing.name), tightening.guide)
    )
}

/// The fixings of a visit as JSON: the engine's values, the manual's where there is one, and both in words.
///
/// # Errors
/// As [`super::json`].
pub fn tightening_json(subject: &Subject, visit: &Visit) -> Result<serde_json::Value, serde_json::Error> {
    #[derive(serde::Serialize)]
    struct Told<'a> {
        words: String,
        name: &'a str,
        /// The manual's value; it wins over the guide.
        manual: Option<&'a OwnTorque>,
        manual_newton_metres: Option<f64>,
        #[serde(flatten)]
        value: &'a Tightening,
    }
    let Subject { car, library, .. } = subject;
    let told: Vec<Told> = visit
        .tightening
        .iter()
        .map(|value| {
            let name = fixing_of(library, value).map_or("", |f| f.name.as_str());
            let manual = car.torque(&value.part, name);
            Told {
                words: to_tighten(library, car, value),
                name,
                manual,
                manual_newton_metres: manual.map(|own| own.torque.newton_metres()),
                value,
            }
        })
        .collect();
    serde_json::to_value(told)
}

/// How tight the fixings of a piece of work go, for a cell: `castle nut: 45 N·m, your manual's; …`.
#[must_use]
pub fn tightening_cell(subject: &Subject, visit: &Visit, work: &Work) -> String {
    let Subject { car, library, .. } = subject;
    let mut cells: Vec<String> = Vec::new();
    for tightening in &visit.tightening {
        if tightening.repair != work.repair || !work.on.contains(&tightening.part) {
            continue;
        }
        let Some(fixing) = fixing_of(library, tightening) else {
            continue;
        };
        let how = match (car.torque(&tightening.part, &fixing.name), tightening.guide) {
            (Some(own), _) => format!("{}, manual", own.torque),
            (None, Some(guide)) => format!("guide {} dry, not the maker's", words::newton_metres(guide)),
            (None, None) => "from the manual".to_owned(),
        };
        let cell = format!("{}: {how}", text::clean(&fixing.name));
        if !cells.contains(&cell) {
            cells.push(cell);
        }
    }
    cells.join("; ")
}

fn fixing_of<'l>(library: &'l Library, tightening: &Tightening) -> Option<&'l Fixing> {
    library.repair(&tightening.repair)?.fixings.get(tightening.fixing)
}

/// Sets one visit.
pub fn text(page: &mut Page, subject: &Subject, number: usize, visit: &Visit) {
    let Subject { car, library, .. } = subject;
    page.heading(&match &visit.booking {
        Some(booking) => format!(
            "Visit {number}: {}, with {}",
            words::day(visit.date),
            words::a_trade(&booking.trade)
        ),
        None => format!("Visit {number}: {}", words::day(visit.date)),
    });
    runs_on(page, visit);
    if let Some(booking) = &visit.booking {
        page.hanging(0, "Book by     ", &words::day(booking.book_by));
        page.hanging(
            0,
            "Away        ",
            &format!(
                "from {} until {}; nothing of yours is planned in between",
                words::day(visit.date),
                words::day(booking.away_until)
            ),
        );
    }
    for warning in cautions(library, visit) {
        page.hanging(0, "! ", &warning);
    }
    let why: Vec<String> = visit.why.iter().map(|w| words::why(library, w)).collect();
    if !why.is_empty() {
        page.hanging(0, "Why here    ", &(words::large(&why.join("; ")) + "."));
    }
    page.hanging(0, "Hours       ", &words::visit_hours(visit));
    if let Some(over) = words::may_run_over(visit) {
        page.hanging(0, "! ", &(over + "."));
    }
    list(page, "Work", visit.work.iter().map(|w| work(library, w)));
    list(
        page,
        "Open",
        visit.access.iter().map(|step| {
            let name = library
                .access_step(&step.step)
                .map_or(step.step.as_str(), |s| s.name.as_str());
            format!(
                "{}, {} ({})",
                text::clean(name),
                step.station.words(),
                words::hours(step.hours)
            )
        }),
    );
    if let Some(date) = visit.order_by {
        page.hanging(0, "Order by    ", &words::day(date));
    }
    list(page, "Buy", visit.buy.iter().map(|p| to_buy(subject, p)));
    let said = visit.parts.iter().filter(|b| b.status != Buying::ToBuy);
    list(
        page,
        "Status",
        said.map(|b| {
            format!(
                "{} × {} ({}): {}",
                b.count,
                text::clean(&b.name),
                words::small(&words::part(library, &b.part)),
                words::to_get(b)
            )
        }),
    );
    if visit.cost > 0.0 {
        let money = |amount| words::money(&car.profile, amount);
        let bill = visit.booking.as_ref().filter(|b| b.labour > 0.0);
        let bill = bill.map_or_else(String::new, |b| {
            format!(", of it {} for the {}'s work", money(b.labour), text::clean(&b.trade))
        });
        page.hanging(0, "Cost        ", &format!("about {}{bill}", money(visit.cost)));
    }
    if !visit.tools.is_empty() {
        page.hanging(0, "Tools       ", &text::clean(&visit.tools.join(", ")));
    }
    if !visit.tools_missing.is_empty() {
        page.hanging(0, "You lack    ", &text::clean(&visit.tools_missing.join(", ")));
    }
    list(
        page,
        "Soak",
        visit.soak.iter().map(|soak| {
            let grade = soak.grade.map_or("not graded".to_owned(), |g| format!("graded {g}"));
            let advice = soak
                .grade
                .and_then(|g| library.thread_grade(g))
                .map(|t| format!("; {}", text::clean(&t.advice)))
                .unwrap_or_default();
            format!(
                "from {}: {}, {} ({grade}, about {:.0} min of trouble to expect){advice}",
                soak.on,
                words::part(library, &soak.part),
                text::clean(&soak.fixing),
                soak.minutes
            )
        }),
    );
    list(
        page,
        "Tighten",
        visit.tightening.iter().map(|t| to_tighten(library, car, t)),
    );
    list(
        page,
        "Then",
        visit.follow_ups.iter().map(|owed| {
            let name = library
                .follow_up(&owed.follow_up)
                .map_or(owed.follow_up.as_str(), |f| f.name.as_str());
            let agree = visit
                .booking
                .as_ref()
                .map_or_else(String::new, |_| format!("; {}", words::OWED_AFTER_BOOKING));
            format!(
                "{}, {} ({}){agree}",
                text::clean(name),
                owed.station.words(),
                words::hours(owed.hours)
            )
        }),
    );
    list(
        page,
        "While there",
        visit.while_in_there.iter().map(|offer| {
            let side = if offer.other_side {
                "; the other side is done"
            } else {
                ""
            };
            format!(
                "{} ({}): {} more here, {} less opening than by itself{side}; take it with `tinworm tick CAR {}`",
                words::repair(library, &offer.repair),
                words::part(library, &offer.part),
                words::hours(offer.hours),
                words::hours(offer.saves),
                offer.part
            )
        }),
    );
    page.hanging(
        0,
        "After it    ",
        &format!(
            "{} points of exposure are left until the next survey",
            words::points(visit.left_after)
        ),
    );
}

fn runs_on(page: &mut Page, visit: &Visit) {
    if visit.runs_on.is_empty() {
        return;
    }
    let days: Vec<String> = visit.runs_on.iter().map(ToString::to_string).collect();
    let days = days.join(", ");
    page.paragraph(
        0,
        &match &visit.booking {
            Some(_) => format!("It takes the car from your sessions of {days} too."),
            None => format!("It runs on over {days}; the car stays off the road in between."),
        },
    );
}

fn work(library: &Library, work: &Work) -> String {
    let mut line = format!(
        "{}: {}",
        words::parts(library, &work.on),
        words::small(&words::repair(library, &work.repair))
    );
    line.push_str(&format!(" – {}", words::hours(work.hours)));
    if let Some(trade) = &work.trade {
        line.push_str(&format!(" of the {}'s", text::clean(trade)));
    }
    line.push_str(&format!(
        ", takes away {} points; {}",
        words::points(work.points),
        words::because(work.because)
    ));
    let others: Vec<String> = work
        .covers
        .iter()
        .filter(|p| !work.on.contains(p))
        .map(|p| words::part(library, p))
        .collect();
    if !others.is_empty() {
        line.push_str(&format!("; also {}", words::small(&others.join("; "))));
    }
    if !work.instead.is_empty() {
        let names: Vec<String> = work
            .instead
            .iter()
            .map(|id| {
                format!(
                    "{} (`tinworm choose CAR {} {id}`)",
                    words::small(&words::repair(library, id)),
                    work.part
                )
            })
            .collect();
        line.push_str(&format!("; would do instead: {}", names.join(", ")));
    }
    for note in library.repair(&work.repair).map_or(&[][..], |r| r.notes.as_slice()) {
        line.push_str(&format!("\n· {}", text::clean(note)));
    }
    line
}

/// A label with items under it, or nothing when there are none.
fn list(page: &mut Page, label: &str, items: impl Iterator<Item = String>) {
    for (n, item) in items.enumerate() {
        let mark = if n == 0 { label } else { "" };
        page.hanging(0, &format!("{mark:<12}"), &item);
    }
}
