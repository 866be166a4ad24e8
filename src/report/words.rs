//! One wording for single things, used by the command line and the screens alike.

use jiff::civil::Date;

use crate::car::{ChangeError, NotSeen, Profile, Seen, Use};
use crate::engine::plan::{Because, NotPlacedBecause, Why};
use crate::engine::{
    Cause, CausePoints, ChangeSeen, CheckState, Flag, LookNext, NoticeCause, NoticeReason, PartState, Rank, RiskLevel,
    YearsLeft,
};
use crate::rubric::{
    Check, CheckKind, Class, Component, Driver, Library, Locking, PartId, Severity, Side, Stage, Surface, System,
    Tightened,
};
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

/// A season by its start, as people plan: `spring 2027` for a date in it.
#[must_use]
pub fn season(date: Date) -> String {
    let (name, year) = match date.month() {
        12 => ("winter", date.year()),
        1 | 2 => ("winter", date.year() - 1),
        3..=5 => ("spring", date.year()),
        6..=8 => ("summer", date.year()),
        _ => ("autumn", date.year()),
    };
    format!("{name} {year}")
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
    let what = small(&check(library, &reason.part.component, &reason.check));
    let why = match reason.because {
        NoticeCause::Dangerous(p) => format!("dangerous in law, probability {}", text::percent(p)),
        NoticeCause::AtItsLimit => "graded 5, which by itself is enough".to_owned(),
        NoticeCause::NotLookedAtSinceRepair => "repaired, but nobody has looked at it since".to_owned(),
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

/// Why a part stands where it stands, in one line: what was seen worst, what that quickens, when the limit is reached.
#[must_use]
pub fn reason(library: &Library, state: &PartState, today: Date) -> String {
    let mut pieces: Vec<String> = Vec::new();
    let component = library.component(&state.id.component);
    let leading = state.leading_check();
    if let Some(worst) = &state.worst {
        pieces.push(format!(
            "{} {}",
            small(&check(library, &state.id.component, &worst.check)),
            worst_words(component, state, &worst.check, worst.grade.digit())
        ));
    }
    if let Some(component) = component {
        pieces.extend(quickened_by(library, component, state));
    }
    if let Some(happened) = state
        .causes
        .iter()
        .find(|c| matches!(c.cause, Cause::HasHappened { .. }))
    {
        if let Cause::HasHappened { mode, .. } = &happened.cause
            && let Some(found) = component.and_then(|c| c.modes.iter().find(|m| m.id == *mode))
        {
            pieces.push(small(plain(&found.what).trim_end_matches('.')));
        }
    }
    if let Some(leading) = leading {
        pieces.push(limit_words(library, state, leading, today));
    }
    if let Some(CausePoints {
        cause: Cause::Law(worst),
        ..
    }) = state.causes.iter().find(|c| matches!(c.cause, Cause::Law(_)))
        && *worst > Class::Minor
    {
        pieces.push(format!("may be a {} deficiency in law", class(*worst)));
    }
    if state.checks.iter().any(|c| !c.flags.is_empty()) {
        pieces.push("look again: something does not fit".to_owned());
    }
    pieces.retain(|p| !p.is_empty());
    pieces.join("; ")
}

/// A grade with its description: `5, “split, dry inside”`.
fn worst_words(component: Option<&Component>, state: &PartState, id: &str, digit: u8) -> String {
    let check = component.and_then(|c| c.checks.iter().find(|k| k.id == id));
    let last = state
        .checks
        .iter()
        .find(|c| c.check == id)
        .and_then(|c| c.last.as_ref());
    match check.map(|c| &c.kind) {
        Some(CheckKind::Measured(_)) => match last {
            Some(last) => format!("{digit} ({})", seen(&last.seen, check)),
            None => digit.to_string(),
        },
        Some(CheckKind::Graded(descriptions)) => match descriptions.get(usize::from(digit)) {
            Some(text) => format!("{digit} ({})", small(plain(text).trim_end_matches('.'))),
            None => digit.to_string(),
        },
        Some(CheckKind::YesNo(question)) if digit >= 5 => {
            format!("{digit} ({})", small(plain(&question.yes).trim_end_matches('.')))
        }
        _ => digit.to_string(),
    }
}

/// What a check past its level makes run faster: `play 4× faster since`.
fn quickened_by(library: &Library, component: &Component, state: &PartState) -> Vec<String> {
    let past = |id: &str, level: f64| {
        state
            .checks
            .iter()
            .any(|c| c.check == id && c.last.is_some() && c.damage.mid >= level)
    };
    component
        .couplings
        .iter()
        .filter(|c| past(&c.when, c.past))
        .map(|c| {
            let faster = match c.quickens.split_once('/') {
                Some((other, id)) => {
                    let name = library.component(other).map_or(other, |o| o.name.as_str());
                    format!("{} of the {}", small(&check(library, other, id)), small(&plain(name)))
                }
                None => small(&check(library, &component.id, &c.quickens)),
            };
            format!(
                "{faster} {}× faster since",
                text::figure(c.times).trim_end_matches(".00")
            )
        })
        .collect()
}

/// When the leading check reaches its limit.
fn limit_words(library: &Library, state: &PartState, leading: &CheckState, today: Date) -> String {
    let same = state.worst.as_ref().is_some_and(|w| w.check == leading.check);
    let name = if same {
        String::new()
    } else {
        small(&check(library, &state.id.component, &leading.check)) + " "
    };
    if leading.past_limit_now >= 0.5 {
        return format!("{name}at or past its limit");
    }
    match leading.years_left.mid {
        Some(years) if years <= 2.0 => {
            let days = (years * 365.25).ceil();
            let by = today
                .checked_add(jiff::Span::new().days(i64::from(whole(days))))
                .map_or_else(|_| text::years(Some(years)), |date| format!("by {}", season(date)));
            format!("{name}probably past its limit {by}")
        }
        Some(years) => format!("{name}at its limit in about {}", text::years(Some(years))),
        None if leading.last.is_none() && !same => format!("{name}not seen"),
        None => String::new(),
    }
}

/// A small whole number from a float, without a cast.
fn whole(value: f64) -> i32 {
    format!("{value:.0}").parse().unwrap_or(0)
}

/// Why a repair is in the plan.
#[must_use]
pub fn because(because: Because) -> String {
    match because {
        Because::Exposure => "it carries at least a point until the next survey".to_owned(),
        Because::Law => "the law calls it a major or dangerous deficiency".to_owned(),
        Because::Graded(grade) => format!("a check is graded {grade}"),
        Because::Ticked => "you ticked it".to_owned(),
        Because::Pair => "the other side is done, and one side alone will not do".to_owned(),
    }
}

/// A repair in words: its name, or its id if the rubric has gone.
#[must_use]
pub fn repair(library: &Library, id: &str) -> String {
    plain(library.repair(id).map_or(id, |r| r.name.as_str()))
}

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
        Why::WaitsForMoney(date) => format!("the money is not in hand before {date}"),
        Why::Pinned => "you fixed it to this date".to_owned(),
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

/// A distance in the car's own unit.
#[must_use]
pub fn distance(profile: &Profile, km: f64) -> String {
    format!(
        "{:.0} {}",
        profile.distance_unit.of_km(km),
        profile.distance_unit.sign()
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
    fn a_winter_belongs_to_the_year_it_began_in() {
        assert_eq!(season(jiff::civil::date(2027, 1, 9)), "winter 2026");
        assert_eq!(season(jiff::civil::date(2026, 12, 9)), "winter 2026");
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
