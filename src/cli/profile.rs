//! The flags of a profile, laid over one.

use jiff::civil::Date;

use super::args::{DriveSide, ProfileFlags, Unit};
use super::desk::{meant, number, words_of};
use super::exit::Failure;
use crate::car::{Day, DaysOff, Profile, Session, Sessions, Target, Use};
use crate::rubric::{ALWAYS, Library, Side};
use crate::units::{DistanceUnit, parse_decimal};

/// Lays flags over a profile.
///
/// # Errors
/// The first flag that does not fit, with what would.
pub fn apply(flags: &ProfileFlags, profile: &mut Profile, library: &Library) -> Result<(), Failure> {
    if flags.built.is_some() {
        profile.built = flags.built;
    }
    for layout in &flags.layout {
        put_piece(profile, library, &piece(library, layout)?);
    }
    if let Some(side) = flags.drive_side {
        profile.drive_side = match side {
            DriveSide::Left => Side::Left,
            DriveSide::Right => Side::Right,
        };
    }
    if let Some(unit) = flags.unit {
        profile.distance_unit = match unit {
            Unit::Km => DistanceUnit::Kilometres,
            Unit::Miles => DistanceUnit::Miles,
        };
    }
    if let Some(yearly) = &flags.yearly {
        profile.yearly_km = profile.distance_unit.to_km(number("--yearly", yearly)?);
    }
    if let Some(months) = &flags.salted {
        profile.salted_months = salted(months)?;
    }
    if let Some(times) = &flags.salt_factor {
        let times = number("--salt-factor", times)?;
        if !(1.0..=20.0).contains(&times) {
            return Err(Failure::Usage(format!("--salt-factor: {times} is outside 1 to 20")));
        }
        profile.salt_factor = times;
    }
    if let Some(climate) = &flags.climate {
        profile.climate = climate_id(library, climate)?;
    }
    if let Some(storage) = &flags.storage {
        profile.storage = storage_id(library, storage)?;
    }
    if flags.laid_up {
        profile.in_use = Use::LaidUp;
    }
    if flags.in_use {
        profile.in_use = Use::InUse;
    }
    if flags.next_survey.is_some() {
        profile.next_survey = flags.next_survey;
    }
    calendar(flags, &mut profile.sessions)?;
    budget(flags, profile)?;
    for tool in &flags.tool {
        let tool = words_of("--tool", tool)?;
        if !profile.tools.contains(&tool) {
            profile.tools.push(tool);
        }
    }
    Ok(())
}

/// Puts a piece into a layout in place of the other pieces of its choice.
pub fn put_piece(profile: &mut Profile, library: &Library, id: &str) {
    let choice = library.layout(id).map(|p| p.choice.as_str());
    profile
        .layout
        .retain(|old| library.layout(old).map(|p| p.choice.as_str()) != choice && old != id);
    profile.layout.push(id.to_owned());
}

/// The piece that `CHOICE=PIECE`, or a piece alone, names.
fn piece(library: &Library, text: &str) -> Result<String, Failure> {
    let (choice, id) = match text.split_once('=') {
        Some((choice, id)) => (Some(choice.trim()), id.trim()),
        None => (None, text.trim()),
    };
    if let Some(choice) = choice
        && !library.choices().contains(&choice)
    {
        let hint = meant(choice, library.choices());
        return Err(Failure::Usage(format!(
            "--layout: there is no choice `{choice}`{hint}; the choices are {}",
            library.choices().join(", ")
        )));
    }
    let pieces: Vec<&str> = library
        .all()
        .layouts
        .iter()
        .filter(|p| p.choice != ALWAYS && choice.is_none_or(|c| p.choice == c))
        .map(|p| p.id.as_str())
        .collect();
    if pieces.contains(&id) {
        return Ok(id.to_owned());
    }
    let hint = meant(id, pieces.iter().copied());
    Err(Failure::Usage(format!(
        "--layout: there is no piece `{id}`{}{hint}; there are {}",
        choice.map(|c| format!(" of {c}")).unwrap_or_default(),
        pieces.join(", ")
    )))
}

/// A climate by id, in any case.
///
/// # Errors
/// When there is none such; lists those there are.
pub fn climate_id(library: &Library, text: &str) -> Result<String, Failure> {
    let known: Vec<&str> = library.all().climates.iter().map(|c| c.id.as_str()).collect();
    id_among("--climate", text, &known)
}

/// A storage by id, in any case.
///
/// # Errors
/// When there is none such; lists those there are.
pub fn storage_id(library: &Library, text: &str) -> Result<String, Failure> {
    let known: Vec<&str> = library.all().storages.iter().map(|s| s.id.as_str()).collect();
    id_among("--storage", text, &known)
}

fn id_among(flag: &str, text: &str, known: &[&str]) -> Result<String, Failure> {
    let found = known.iter().find(|k| k.eq_ignore_ascii_case(text.trim()));
    found.map(|k| (*k).to_owned()).ok_or_else(|| {
        let hint = meant(text, known.iter().copied());
        Failure::Usage(format!(
            "{flag}: there is no `{text}`{hint}; there are {}",
            known.join(", ")
        ))
    })
}

/// Reads months: `11-3`, `12,1,2`, `none`.
///
/// # Errors
/// When something is no month.
pub fn salted(text: &str) -> Result<Vec<u8>, Failure> {
    if text.trim().eq_ignore_ascii_case("none") {
        return Ok(Vec::new());
    }
    let month = |word: &str| -> Result<u8, Failure> {
        match word.trim().parse::<u8>() {
            Ok(month @ 1..=12) => Ok(month),
            _ => Err(Failure::Usage(format!(
                "--salted: `{}` is no month; write numbers 1 to 12, as in 11-3 or 12,1,2",
                word.trim()
            ))),
        }
    };
    let mut months = Vec::new();
    for item in text.split(',') {
        match item.split_once('-') {
            None => months.push(month(item)?),
            Some((first, last)) => {
                let (mut at, last) = (month(first)?, month(last)?);
                months.push(at);
                while at != last {
                    at = at % 12 + 1;
                    months.push(at);
                }
            }
        }
    }
    months.sort_unstable();
    months.dedup();
    Ok(months)
}

fn calendar(flags: &ProfileFlags, sessions: &mut Sessions) -> Result<(), Failure> {
    if flags
        .sessions
        .iter()
        .any(|text| text.trim().eq_ignore_ascii_case("none"))
    {
        sessions.weekdays.clear();
        sessions.hours_on.clear();
    } else if !flags.sessions.is_empty() {
        let mut days = Vec::new();
        let mut own: Vec<(Day, f64)> = Vec::new();
        for text in &flags.sessions {
            words_of("--sessions", text)?;
            let (mut here, mut all_hours) = (Vec::new(), None);
            for word in text.split([' ', ',', ';']).filter(|w| !w.is_empty()) {
                let hours = word.strip_suffix(['h', 'H']).and_then(|n| parse_decimal(n).ok());
                match (hours, day(word)) {
                    (Some(hours), _) => all_hours = Some(session_hours(hours)?),
                    (None, Some(day)) => here.push(day),
                    (None, None) => {
                        return Err(Failure::Usage(format!(
                            "--sessions: `{word}` is neither a day of the week nor hours; write \"Saturday 6h\" or \"Sat,Sun 4h\""
                        )));
                    }
                }
            }
            if let Some(hours) = all_hours {
                sessions.hours = hours;
                own.retain(|(day, _)| !here.contains(day));
                own.extend(here.iter().map(|day| (*day, hours)));
            }
            days.extend(here);
        }
        days.sort_unstable();
        days.dedup();
        if !days.is_empty() {
            sessions.weekdays = days;
        }
        own.retain(|(_, hours)| *hours != sessions.hours);
        own.sort_by_key(|(day, _)| *day);
        sessions.hours_on = own;
    }
    if let Some(hours) = &flags.session_hours {
        sessions.hours = session_hours(number("--session-hours", hours)?)?;
        sessions.hours_on.clear();
    }
    for text in &flags.session_on {
        let session = listed("--session-on", text)?;
        sessions.listed.retain(|s| s.date != session.date);
        if session.hours > 0.0 {
            sessions.listed.push(session);
        }
    }
    sessions.listed.sort_by_key(|s| s.date);
    if flags.from.is_some() {
        sessions.from = flags.from;
    }
    for text in &flags.not_free {
        let off = days_off(text)?;
        if off.from == off.to {
            sessions.except.retain(|d| *d != off.from);
            sessions.except.push(off.from);
        } else {
            sessions.days_off.retain(|d| d.from != off.from);
            sessions.days_off.push(off);
        }
    }
    for date in &flags.free {
        sessions.except.retain(|d| d != date);
        sessions.days_off.retain(|d| d.from != *date);
    }
    sessions.except.sort_unstable();
    sessions.days_off.sort_unstable_by_key(|off| off.from);
    for text in &flags.target {
        let (name, date) = text
            .rsplit_once('=')
            .map_or((text.as_str(), None), |(n, d)| (n, Some(d)));
        let name = name.trim();
        if name.is_empty() {
            return Err(Failure::Usage(format!("--target: `{text}` needs a name, =, and a day")));
        }
        let there = sessions.targets.len();
        sessions.targets.retain(|t| t.name != name);
        match date {
            Some(date) => sessions.targets.push(Target {
                name: name.to_owned(),
                date: date_of("--target", date)?,
            }),
            None if sessions.targets.len() == there => {
                return Err(Failure::NotFound(format!(
                    "--target: there is no `{name}` to take back; write \"{name}=2027-10-31\" to set one"
                )));
            }
            None => {}
        }
    }
    sessions.targets.sort_by_key(|t| t.date);
    Ok(())
}

/// Reads `2026-12-24`, or `2026-12-24..2027-01-03`.
///
/// # Errors
/// When it is neither, or ends before it begins.
pub fn days_off(text: &str) -> Result<DaysOff, Failure> {
    let (from, to) = text.split_once("..").unwrap_or((text, text));
    let (from, to) = (date_of("--not-free", from)?, date_of("--not-free", to)?);
    if to < from {
        return Err(Failure::Usage(format!(
            "--not-free: {from}..{to} ends before it begins"
        )));
    }
    Ok(DaysOff { from, to })
}

/// Reads `2026-12-24=8h`.
///
/// # Errors
/// When it is no day and hours.
pub fn listed(flag: &str, text: &str) -> Result<Session, Failure> {
    let (date, hours) = super::desk::pair(flag, text)?;
    let hours = number(flag, hours.trim_end_matches(['h', 'H', ' ']))?;
    if hours > 24.0 {
        return Err(Failure::Usage(format!("{flag}: a day has 24 hours")));
    }
    Ok(Session {
        date: date_of(flag, date)?,
        hours,
    })
}

/// Reads a day of a flag.
///
/// # Errors
/// When it is none.
pub fn date_of(flag: &str, text: &str) -> Result<Date, Failure> {
    let wrong = |_| {
        Failure::Usage(format!(
            "{flag}: `{}` is no day; a day is written 2026-03-14",
            text.trim()
        ))
    };
    text.trim().parse().map_err(wrong)
}

fn session_hours(hours: f64) -> Result<f64, Failure> {
    if (0.25..=24.0).contains(&hours) {
        Ok(hours)
    } else {
        Err(Failure::Usage(format!(
            "a session of {hours} hours is not between a quarter of an hour and a day"
        )))
    }
}

/// A day of the week by its name or the beginning of it.
fn day(word: &str) -> Option<Day> {
    let word = word.to_lowercase();
    let word = word.strip_suffix('s').filter(|w| w.ends_with("day")).unwrap_or(&word);
    (word.len() >= 2)
        .then(|| Day::ALL.into_iter().find(|d| d.word().to_lowercase().starts_with(word)))
        .flatten()
}

fn budget(flags: &ProfileFlags, profile: &mut Profile) -> Result<(), Failure> {
    match flags.budget.as_deref().map(str::trim) {
        Some(text) if text.eq_ignore_ascii_case("none") => profile.budget.limited = false,
        Some(text) => {
            profile.budget.in_hand = number("--budget", text)?;
            profile.budget.limited = true;
        }
        None => {}
    }
    if let Some(text) = &flags.budget_per_month {
        profile.budget.per_month = number("--budget-per-month", text)?;
        profile.budget.limited = true;
    }
    if let Some(sign) = &flags.currency {
        let sign = words_of("--currency", sign)?;
        if sign.chars().count() > 8 {
            return Err(Failure::Usage(
                "--currency: this is no sign of money; write €, £, $, kr or the like".to_owned(),
            ));
        }
        profile.budget.currency = sign;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn salted_months_may_run_over_the_new_year() {
        assert_eq!(salted("11-3").unwrap(), [1, 2, 3, 11, 12]);
        assert_eq!(salted("12,1, 2").unwrap(), [1, 2, 12]);
        assert_eq!(salted("4-4").unwrap(), [4]);
        assert_eq!(salted("none").unwrap(), [] as [u8; 0]);
        for bad in ["", "0", "13", "11-", "winter"] {
            assert!(salted(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn days_are_known_by_their_beginning() {
        assert_eq!(day("Sat"), Some(Day::Saturday));
        assert_eq!(day("sundays"), Some(Day::Sunday));
        assert_eq!(day("tu"), Some(Day::Tuesday));
        assert_eq!(day("s"), None);
        assert_eq!(day("someday"), None);
    }

    #[test]
    fn sessions_take_days_and_hours_in_any_order() {
        let flags = ProfileFlags {
            sessions: vec!["Sat,Sun 4,5h".replace("4,5", "4.5"), "6h Monday".to_owned()],
            ..ProfileFlags::default()
        };
        let mut sessions = Sessions::default();
        calendar(&flags, &mut sessions).unwrap();
        assert_eq!(sessions.weekdays, [Day::Monday, Day::Saturday, Day::Sunday]);
        assert_eq!(sessions.hours, 6.0);
        assert_eq!(sessions.hours_on, [(Day::Saturday, 4.5), (Day::Sunday, 4.5)]);
        let flags = ProfileFlags {
            sessions: vec!["none".to_owned()],
            session_on: vec!["2026-12-24=8h".to_owned(), "2026-12-20 = 3".to_owned()],
            not_free: vec!["2026-12-25..2027-01-03".to_owned(), "2026-12-19".to_owned()],
            target: vec!["before the salt=2027-10-31".to_owned()],
            ..ProfileFlags::default()
        };
        calendar(&flags, &mut sessions).unwrap();
        assert!(sessions.weekdays.is_empty() && sessions.hours_on.is_empty());
        assert_eq!(sessions.listed.iter().map(|s| s.hours).collect::<Vec<_>>(), [3.0, 8.0]);
        assert_eq!(
            (sessions.days_off.len(), sessions.except.len(), sessions.targets.len()),
            (1, 1, 1)
        );
        let flags = ProfileFlags {
            free: vec![jiff::civil::date(2026, 12, 25)],
            target: vec!["before the salt".to_owned()],
            session_on: vec!["2026-12-24=0".to_owned()],
            ..ProfileFlags::default()
        };
        calendar(&flags, &mut sessions).unwrap();
        assert_eq!(
            (sessions.days_off.len(), sessions.targets.len(), sessions.listed.len()),
            (0, 0, 1)
        );
        for (bad, target) in [("2027-01-03..2026-12-25", "a=2027-01-01"), ("2026-12-24", "nothing")] {
            let flags = ProfileFlags {
                not_free: vec![bad.to_owned()],
                target: vec![target.to_owned()],
                ..ProfileFlags::default()
            };
            assert!(calendar(&flags, &mut sessions.clone()).is_err(), "{bad}");
        }
    }
}
