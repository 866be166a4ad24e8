//! The work plan's reasons and fastenings in words.

use super::{count, day, hours, part, plain, small};
use crate::engine::PartState;
use crate::engine::plan::{Because, Beyond, Booking, HoursSpread, NotPlacedBecause, Visit, Why, beyond};
use crate::rubric::{Fixing, Library, Locking, Repair, Tightened};
use crate::text;

/// Why a repair is in the plan.
#[must_use]
pub fn because(because: Because) -> String {
    match because {
        Because::Exposure => "it carries at least a point until the next survey".to_owned(),
        Because::Law => "the law calls it a major or dangerous deficiency".to_owned(),
        Because::Graded(grade) => format!("a check is graded {grade}"),
        Because::Ticked => "you ticked it".to_owned(),
        Because::StandsOpen => "it was begun and stands open".to_owned(),
    }
}

/// A repair in words: its name, or its id if the rubric has gone.
#[must_use]
pub fn repair(library: &Library, id: &str) -> String {
    plain(library.repair(id).map_or(id, |r| r.name.as_str()))
}

/// Why a treatment is too late for a part, and what can be chosen instead; `None` where it is not.
#[must_use]
pub fn too_late(library: &Library, part: &PartState, repair: &Repair) -> Option<String> {
    let Beyond { check, seen, up_to } = beyond(part, repair)?;
    let others: Vec<String> = library
        .repairs_of(&part.id.component)
        .filter(|other| beyond(part, other).is_none())
        .map(|other| plain(&other.id))
        .collect();
    let others = if others.is_empty() {
        "the rubrics have no other repair for it".to_owned()
    } else {
        format!("choose {} instead", others.join(" or "))
    };
    Some(format!(
        "`{}` serves “{}” up to grade {up_to}, and on {} that is at grade {seen}, so it would only cover it; {others}",
        plain(&repair.id),
        small(&super::check(library, &part.id.component, &check)),
        part.id
    ))
}

/// A trade with its article: `a welder`, `an alignment shop`.
#[must_use]
pub fn a_trade(trade: &str) -> String {
    let trade = plain(trade);
    let article = if trade.to_lowercase().starts_with(['a', 'e', 'i', 'o', 'u']) {
        "an"
    } else {
        "a"
    };
    format!("{article} {trade}")
}

/// With whom a visit is booked, when to ring and when the car is back.
#[must_use]
pub fn booking(booking: &Booking) -> String {
    format!(
        "with {}: book by {}, the car is away until {}",
        a_trade(&booking.trade),
        day(booking.book_by),
        day(booking.away_until)
    )
}

/// Whose hours a visit takes, and how many.
#[must_use]
pub fn visit_hours(visit: &Visit) -> String {
    let HoursSpread { mean, median, high } = visit.hours;
    match &visit.booking {
        Some(booking) => format!(
            "about {} of the {}'s, none of yours",
            hours(mean),
            plain(&booking.trade)
        ),
        None => format!(
            "half the time no more than {}, nine times in ten no more than {}",
            hours(median),
            hours(high)
        ),
    }
}

/// The hours of a visit in a list: no more than these half the time, as [`visit_hours`] says in full.
#[must_use]
pub fn hours_in_list(visit: &Visit) -> String {
    hours(visit.hours.median)
}

/// Stands under a list of visits.
pub const HOURS_OF_LISTS: &str = "Half the time a visit takes no more than the hours listed.";

/// What is said of what is owed after a booking: who does it is between owner and trade.
pub const OWED_AFTER_BOOKING: &str = "agree who does it: no hours of yours are planned for it";

/// Why a visit stands where it stands.
#[must_use]
pub fn why(library: &Library, why: &Why) -> String {
    match why {
        Why::TakesAway(share) => format!("it takes away {} of the whole car's exposure", text::percent(*share)),
        Why::EndsNotice(id) => format!("it takes the notice off the {}", small(&part(library, id))),
        Why::SharesStep(step, n) => {
            let name = library.access_step(step).map_or(step.as_str(), |s| s.name.as_str());
            format!("{} share “{}”, paid for once", count(*n, "repair"), small(&plain(name)))
        }
        Why::SharesFollowUp(follow_up, n) => {
            let name = library
                .follow_up(follow_up)
                .map_or(follow_up.as_str(), |f| f.name.as_str());
            format!("“{}” is done once for {}", small(&plain(name)), count(*n, "repair"))
        }
        Why::After(second, first) => format!(
            "“{}” comes after “{}”",
            small(&repair(library, second)),
            small(&repair(library, first))
        ),
        Why::WaitsForParts(date) => format!("parts are not in hand before {date}"),
        Why::WaitsForTrade(trade, date) => format!("the {} has no day before {date}", plain(trade)),
        Why::SharesBooking(n) => format!("{} share one booking", count(*n, "repair")),
        Why::WaitsForMoney(date) => format!("the money is not in hand before {date}"),
        Why::Pinned => "you fixed it to this date".to_owned(),
        Why::StandsOpen => "it was begun and the car stands open, so it is closed as soon as it can be".to_owned(),
        Why::Last => "little danger and little hurry: it fills what is left".to_owned(),
    }
}

/// Why a repair found no place.
#[must_use]
pub fn not_placed(because: NotPlacedBecause) -> &'static str {
    match because {
        NotPlacedBecause::NoRepair => "no rubric has a repair for it; add one to your own rubrics, or ask a workshop",
        NotPlacedBecause::NoSession => "the calendar has no session; give weekdays with `tinworm set CAR --sessions`",
        NotPlacedBecause::NoMoney => {
            "the budget does not reach it within the years planned; `tinworm set CAR --budget`"
        }
        NotPlacedBecause::NoRoom => "it fits in none of the sessions planned for; make sessions longer",
        NotPlacedBecause::WaitsForUnplaced => "another repair must come first, and that one has no place",
        NotPlacedBecause::PinnedDay => {
            "the day it is fixed to is too early for its parts, its specialist or the money, or is taken; `tinworm pin`"
        }
        NotPlacedBecause::Dropped => "you left it out; `tinworm drop CAR PART --off` takes it back into the plan",
        NotPlacedBecause::CalendarEnds => {
            "the calendar ends before its parts are in hand or its specialist has a day; give more sessions with `tinworm set CAR --sessions`"
        }
    }
}

/// When a fastener gets its final torque.
#[must_use]
pub fn tightened(when: Tightened) -> &'static str {
    match when {
        Tightened::AtOnce => "at once",
        Tightened::AtRideHeight => "only at ride height, the car's weight on its wheels",
        Tightened::OnTheGround => "with the wheel on the ground",
    }
}

/// How a fastener is locked, and what must be new.
#[must_use]
pub fn locking(locking: Locking) -> Option<&'static str> {
    match locking {
        Locking::Plain => None,
        Locking::SelfLocking => Some("self-locking, always new"),
        Locking::SplitPin => Some("new split pin"),
        Locking::UsedOnce => Some("used once, always new"),
        Locking::LockNut => Some("with a lock nut"),
        Locking::TabWasher => Some("new tab washer"),
    }
}

/// A fastener: its size, how it is locked and held, when it is tightened, and the guide torque in N·m marked as one.
#[must_use]
pub fn fixing(fixing: &Fixing, guide: Option<f64>) -> String {
    let line = fastener(fixing);
    match guide {
        Some(guide) => format!("{line}; guide {guide:.0} N·m dry, not the maker's: your manual's value wins"),
        None => format!("{line}; torque from your manual"),
    }
}

/// A fastener without a torque.
pub(super) fn fastener(fixing: &Fixing) -> String {
    let mut line = plain(&fixing.name);
    if fixing.count > 1 {
        line.push_str(&format!(" × {}", fixing.count));
    }
    if let Some(thread) = &fixing.thread {
        line.push_str(&format!(", {}", plain(thread)));
        if let Some(class) = &fixing.class {
            line.push_str(&format!(" class {}", plain(class)));
        }
    }
    if let Some(hex) = fixing.hex {
        line.push_str(&format!(", {hex} mm across flats"));
    }
    if let Some(lock) = locking(fixing.locking) {
        line.push_str(&format!(", {lock}"));
    }
    if let Some(held) = &fixing.held_by {
        line.push_str(&format!(", held by {}", plain(held)));
    }
    line.push_str(&format!(": {}", tightened(fixing.tightened)));
    line
}
