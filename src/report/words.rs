//! One wording for single things, used by the command line and the screens alike.

mod limits;
mod reason;
mod torque;
mod work;

use jiff::civil::Date;

pub use limits::{
    buying, limit_cost, may_run_over, moved, no_day_to_fix, pace_of_work, points_more, stands_open, target, to_get,
};
pub use reason::reason;
pub use torque::{
    A_GUIDE_ONLY, MANUAL_WINS, condition, fits, hex_kind, how_tight, kilonewtons, newton_metres, outlook, own_torque,
    slip, to_tighten,
};
pub use work::{
    HOURS_OF_LISTS, OWED_AFTER_BOOKING, a_trade, because, booking, fixing, hours_in_list, locking, not_placed, repair,
    tightened, too_late, visit_hours, why,
};

use crate::car::{ChangeError, NotSeen, Profile, Seen, Use};
use crate::engine::{
    Cause, CausePoints, ChangeSeen, Flag, LookNext, NoticeCause, NoticeReason, OdometerFall, Rank, RiskLevel, YearsLeft,
};
use crate::rubric::{Check, CheckKind, Class, Driver, Library, PartId, Severity, Side, Stage, Surface, System};
use crate::text;

/// Stands on everything that orders work.
pub const ORDERS_WORK_ONLY: &str = "This orders work; it never says that a car is safe. The law where the car is driven, a licensed \
     inspector and the car's own manual decide.";

/// Text from a file or a person, made fit for a terminal.
fn plain(text: &str) -> String {
    text::clean(text)
}

/// A text with its first letter small, unless it is an abbreviation.
#[must_use]
pub fn small(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), second) if !second.is_some_and(char::is_uppercase) => {
            first.to_lowercase().collect::<String>() + letters.as_str()
        }
        _ => text.to_owned(),
    }
}

/// A text with its first letter large.
#[must_use]
pub fn large(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().collect::<String>() + letters.as_str())
        .unwrap_or_default()
}

/// `1 part`, `2 parts`.
#[must_use]
pub fn count(n: usize, one: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else if let Some(stem) = one.strip_suffix('y').filter(|s| !s.ends_with(['a', 'e', 'o', 'u'])) {
        format!("{n} {stem}ies")
    } else {
        format!("{n} {one}s")
    }
}

/// A part in words, made fit for a terminal.
#[must_use]
pub fn part(library: &Library, id: &PartId) -> String {
    plain(&library.part_name(id))
}

/// Parts of one component in words: `Tyre, front left and front right`.
#[must_use]
pub fn parts(library: &Library, ids: &[PartId]) -> String {
    match ids {
        [] => String::new(),
        [one] => part(library, one),
        [first, rest @ ..] => {
            let rest: Vec<String> = rest.iter().map(station).collect();
            format!("{} and {}", part(library, first), rest.join(" and "))
        }
    }
}

/// Only where parts sit: `front left and front right`.
#[must_use]
pub fn stations(ids: &[PartId]) -> String {
    ids.iter().map(station).collect::<Vec<String>>().join(" and ")
}

/// Only where a part sits: `front left, upper`.
#[must_use]
pub fn station(id: &PartId) -> String {
    plain(&id.station.words())
}

/// A check in words: its name, or its id if the rubric has gone.
#[must_use]
pub fn check(library: &Library, component: &str, id: &str) -> String {
    plain(library.check(component, id).map_or(id, |c| c.name.as_str()))
}

/// A stage of the walk round the car.
#[must_use]
pub fn stage(stage: Stage) -> &'static str {
    match stage {
        Stage::OnItsWheels => "On its wheels",
        Stage::Cabin => "In the cabin",
        Stage::Bonnet => "Bonnet open",
        Stage::FrontRaised => "Front on stands",
        Stage::RearRaised => "Rear on stands",
        Stage::Underneath => "Underneath",
        Stage::Drive => "Driving, or just after",
    }
}

/// A system of the car.
#[must_use]
pub fn system(system: System) -> &'static str {
    match system {
        System::Steering => "steering",
        System::FrontSuspension => "front suspension",
        System::RearSuspension => "rear suspension",
        System::Driveline => "driveline",
        System::Brakes => "brakes",
        System::Wheels => "wheels and tyres",
        System::Structure => "structure",
        System::Fuel => "fuel",
        System::Exhaust => "exhaust",
        System::Engine => "engine mounts",
    }
}

/// A class of the law.
#[must_use]
pub fn class(class: Class) -> &'static str {
    match class {
        Class::Minor => "minor",
        Class::Major => "major",
        Class::Dangerous => "dangerous",
    }
}

/// A severity with its number.
#[must_use]
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Catastrophic => "I catastrophic",
        Severity::Critical => "II critical",
        Severity::Marginal => "III marginal",
        Severity::Negligible => "IV negligible",
    }
}

/// A risk level of MIL-STD-882E.
#[must_use]
pub fn risk(level: RiskLevel) -> &'static str {
    match level {
        RiskLevel::Low => "low",
        RiskLevel::Medium => "medium",
        RiskLevel::Serious => "serious",
        RiskLevel::High => "high",
    }
}

/// What wears a check.
#[must_use]
pub fn driver(driver: Driver) -> String {
    match driver {
        Driver::Wear => "distance driven".to_owned(),
        Driver::Corrosion(Surface::Bare) => "rust on bare metal".to_owned(),
        Driver::Corrosion(Surface::Coated) => "rust under paint or coating".to_owned(),
        Driver::Ageing => "age".to_owned(),
        Driver::Mixed {
            wear,
            corrosion,
            ageing,
        } => {
            let named = [(wear, "distance"), (corrosion, "rust"), (ageing, "age")];
            let parts: Vec<&str> = named.iter().filter(|(w, _)| *w > 0.0).map(|(_, n)| *n).collect();
            parts.join(" and ")
        }
    }
}

/// The unit in which a check's life is counted.
#[must_use]
pub fn life_unit(driver: Driver) -> &'static str {
    match driver {
        Driver::Wear => "× 10,000 km",
        Driver::Corrosion(_) => "years of the reference climate",
        Driver::Ageing => "years",
        Driver::Mixed { .. } => "mixed units",
    }
}

/// Why a check was not seen.
#[must_use]
pub fn not_seen(why: NotSeen) -> &'static str {
    why.words()
}

/// What was seen, in the check's own terms: `grade 3`, `inner 3.2, outer 4.1 mm`, `yes`, `not seen: covered`.
#[must_use]
pub fn seen(seen: &Seen, check: Option<&Check>) -> String {
    match seen {
        Seen::Grade(grade) => format!("grade {grade}"),
        Seen::Answer(true) => "yes".to_owned(),
        Seen::Answer(false) => "no".to_owned(),
        Seen::Not(why) => format!("not seen: {}", why.words()),
        Seen::Reading(values) => {
            let measure = match check.map(|c| &c.kind) {
                Some(CheckKind::Measured(measure)) => Some(measure),
                _ => None,
            };
            let points = measure.map_or(&[][..], |m| m.points.as_slice());
            let texts: Vec<String> = values
                .iter()
                .enumerate()
                .map(|(n, v)| match points.get(n) {
                    Some(point) => format!("{} {v}", plain(point)),
                    None => format!("{v}"),
                })
                .collect();
            let unit = measure.map_or(String::new(), |m| format!(" {}", plain(&m.unit)));
            texts.join(", ") + &unit
        }
    }
}

/// A place with its 80 % range: `3 (2–5)`, or only the place when the range is one place.
#[must_use]
pub fn rank_range(rank: &Rank) -> String {
    if rank.best == rank.worst {
        rank.place.to_string()
    } else {
        format!("{} ({}–{})", rank.place, rank.best, rank.worst)
    }
}

/// Time until the limit with its spread: `2.5 years (8 months – 7.1 years)`.
#[must_use]
pub fn years_left(left: &YearsLeft) -> String {
    let mid = text::years(left.mid);
    if matches!(left.late, Some(late) if late <= 0.0) || (left.soon.is_none() && left.mid.is_none()) {
        return mid;
    }
    let (soon, late) = (text::years(left.soon), text::years(left.late));
    if soon == mid && mid == late {
        mid
    } else {
        format!("{mid} ({soon} – {late})")
    }
}

/// A pace: `0.8 grades a year`.
#[must_use]
pub fn pace(grades_per_year: f64) -> String {
    format!("{} grades a year", text::figure(grades_per_year))
}

/// Exposure in points.
#[must_use]
pub fn points(points: f64) -> String {
    text::figure(points)
}

/// Hours: `4.5 h`, `25 min`.
#[must_use]
pub fn hours(hours: f64) -> String {
    let minutes = hours * 60.0;
    if minutes < 0.5 {
        "0 min".to_owned()
    } else if minutes < 55.0 {
        format!("{minutes:.0} min")
    } else {
        format!("{hours:.1} h")
    }
}

/// Money with its sign.
#[must_use]
pub fn money(profile: &Profile, amount: f64) -> String {
    format!("{} {amount:.0}", plain(&profile.budget.currency))
}

/// A day with its weekday: `Saturday 2026-03-14`.
#[must_use]
pub fn day(date: Date) -> String {
    format!("{} {date}", crate::car::Day::of(date).word())
}

/// Driven or not.
#[must_use]
pub fn in_use(used: Use) -> &'static str {
    match used {
        Use::InUse => "in use",
        Use::LaidUp => "laid up",
    }
}

/// The season of a date, as people plan: `spring 2027`, `winter 2026/27`.
#[must_use]
pub fn season(date: Date) -> String {
    let year = date.year();
    let winter = |began: i16| format!("winter {began}/{:02}", (began + 1).rem_euclid(100));
    match date.month() {
        12 => winter(year),
        1 | 2 => winter(year - 1),
        3..=5 => format!("spring {year}"),
        6..=8 => format!("summer {year}"),
        _ => format!("autumn {year}"),
    }
}

/// How far the pace rests on this part's own looks: 0 the rubric's usual life, 1 own looks.
#[must_use]
pub fn rests_on(share: f64) -> &'static str {
    if share < 0.15 {
        "the rubric's usual life"
    } else if share < 0.4 {
        "mostly the usual life, a little your own looks"
    } else if share < 0.7 {
        "the usual life and your own looks"
    } else if share < 0.9 {
        "mostly your own looks"
    } else {
        "your own looks"
    }
}

/// Which side first and how sure: `almost certainly the left`, `more likely the left`, `no telling`.
#[must_use]
pub fn sides_sure(first: Option<Side>, sure: f64) -> String {
    let Some(side) = first.filter(|_| sure >= 0.55) else {
        return "no telling".to_owned();
    };
    let how = if sure >= 0.95 {
        "almost certainly"
    } else if sure >= 0.8 {
        "very likely"
    } else if sure >= 0.65 {
        "more likely"
    } else {
        "perhaps"
    };
    format!("{how} the {}", side.word())
}

/// A flag.
#[must_use]
pub fn flag(flag: Flag) -> &'static str {
    match flag {
        Flag::BetterWithoutRepair => {
            "better than before without a repair: was something done, or was the earlier look wrong?"
        }
        Flag::ImplausiblePace => "far faster than such parts go: look or measure again",
    }
}

/// A change between two looks: `2 → 4 since 2025-10-04, real`.
#[must_use]
pub fn change(change: &ChangeSeen) -> String {
    let says = if change.from == change.to && !change.is_real() {
        "no change that can be told from a grader's scatter"
    } else if change.is_real() {
        "a real change"
    } else {
        "may be only the grader's scatter"
    };
    format!(
        "{} → {} from {} to {}: {says} ({})",
        change.from,
        change.to,
        change.from_date,
        change.to_date,
        text::percent(change.probability)
    )
}

/// One reason to keep the car off the road.
#[must_use]
pub fn notice(library: &Library, reason: &NoticeReason) -> String {
    if let NoticeCause::StandsOpen(since) = reason.because {
        return format!(
            "{}: begun and not finished, open since {since} – {}",
            part(library, &reason.part),
            small(&repair(library, &reason.check))
        );
    }
    let what = small(&check(library, &reason.part.component, &reason.check));
    let why = match reason.because {
        NoticeCause::Dangerous(p) => format!("dangerous in law, probability {}", text::percent(p)),
        NoticeCause::AtItsLimit => "graded 5, which by itself is enough".to_owned(),
        NoticeCause::NotLookedAtSinceRepair => "repaired, but nobody has looked at it since".to_owned(),
        NoticeCause::StandsOpen(since) => format!("open since {since}"),
    };
    format!("{}: {what} – {why}", part(library, &reason.part))
}

/// A look worth taking: `Boot, track rod end, front left: would move its exposure by 3.2 in 2 min; never seen`.
#[must_use]
pub fn look_next(library: &Library, next: &LookNext) -> String {
    let last = next
        .last_seen
        .map_or_else(|| "never seen".to_owned(), |date| format!("last seen {date}"));
    format!(
        "{}, {}: would move its exposure by about {} points, takes {:.0} min; {last}",
        part(library, &next.part),
        small(&check(library, &next.part.component, &next.check)),
        points(next.moves),
        next.minutes
    )
}

/// A cause of exposure: `may happen (12 %): the stud pulls out of its socket`.
#[must_use]
pub fn cause(library: &Library, component: &str, cause: &CausePoints) -> String {
    let what = |mode: &str| {
        let found = library
            .component(component)
            .and_then(|c| c.modes.iter().find(|m| m.id == mode));
        small(plain(found.map_or(mode, |m| m.what.as_str())).trim_end_matches('.'))
    };
    match &cause.cause {
        Cause::MayHappen {
            mode,
            severity: grave,
            probability,
        } => format!(
            "{} may happen until the next survey: {} (severity {})",
            text::percent(*probability),
            what(mode),
            severity(*grave)
        ),
        Cause::HasHappened { mode, severity: grave } => {
            format!("has happened: {} (severity {})", what(mode), severity(*grave))
        }
        Cause::Law(worst) => format!("may be a {} deficiency in law", class(*worst)),
    }
}

/// A distance in the car's own unit.
#[must_use]
pub fn distance(profile: &Profile, km: f64) -> String {
    format!(
        "{:.0} {}",
        profile.distance_unit.of_km(km),
        profile.distance_unit.sign()
    )
}

/// What is asked when the odometer ran backwards.
#[must_use]
pub fn odometer_fall(profile: &Profile, fall: &OdometerFall) -> String {
    format!(
        "{} on {} after {} on {}: was one of them misread, or the instrument changed? Until that is put right, the stretch \
         between counts at the yearly distance.",
        distance(profile, fall.to_km),
        fall.to_date,
        distance(profile, fall.from_km),
        fall.from_date
    )
}

/// Why a change was refused.
#[must_use]
pub fn refused(error: &ChangeError) -> String {
    plain(&error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn certainty_about_sides_is_graded_in_words() {
        assert_eq!(sides_sure(Some(Side::Left), 0.99), "almost certainly the left");
        assert_eq!(sides_sure(Some(Side::Right), 0.7), "more likely the right");
        assert_eq!(sides_sure(Some(Side::Left), 0.5), "no telling");
        assert_eq!(sides_sure(None, 0.99), "no telling");
    }

    #[test]
    fn a_winter_names_both_its_years() {
        assert_eq!(season(jiff::civil::date(2027, 1, 9)), "winter 2026/27");
        assert_eq!(season(jiff::civil::date(2026, 12, 9)), "winter 2026/27");
        assert_eq!(season(jiff::civil::date(2027, 3, 1)), "spring 2027");
    }

    #[test]
    fn time_left_names_its_spread_once() {
        let left = |soon, mid, late| years_left(&YearsLeft { soon, mid, late });
        assert_eq!(left(Some(0.0), Some(0.0), Some(0.0)), "past it");
        assert_eq!(left(None, None, None), "over 60 years");
        assert_eq!(
            left(Some(1.0), Some(2.5), None),
            "2.5 years (12 months – over 60 years)"
        );
    }

    #[test]
    fn counting_makes_plurals() {
        assert_eq!(count(1, "repair"), "1 repair");
        assert_eq!(count(3, "survey"), "3 surveys");
        assert_eq!(count(0, "body"), "0 bodies");
    }
}
