//! Values that no file of a car may hold: numbers that are not finite, months that do not exist, and the like.
//!
//! The same rules hold for a change before it is recorded and for a file when it is read, so that what was accepted can
//! always be read again.

use std::collections::BTreeSet;

use crate::car::{
    Change, Earlier, Look, OpenJob, OwnTorque, PartNote, Profile, Progress, Purchase, RepairDone, Seen, Survey, photo,
};
use crate::units::Torque;

/// What is wrong with a change, if anything.
pub(super) fn of_change(change: &Change) -> Result<(), String> {
    match change {
        Change::Profile(profile) => of_profile(profile),
        Change::Part(id, note) => of_note(note).map_err(|what| format!("{id}: {what}")),
        Change::Torque(id, own) => of_torque(own).map_err(|what| format!("{id}: {what}")),
        Change::Survey { odometer_km, .. } => amount("the odometer", *odometer_km),
        Change::Look { look, .. } => of_look(look),
        Change::Done(done) => of_repair(done),
        Change::Buy(purchase) => of_purchase(purchase),
        Change::Left(job) => of_open(job),
        Change::Earlier(away) => of_earlier(away),
        Change::NoTorque(..)
        | Change::Unbegun(_)
        | Change::FirstLook { .. }
        | Change::Unlook { .. }
        | Change::SecondLook { .. }
        | Change::Undone(_)
        | Change::Wishes(_)
        | Change::Closed(_) => Ok(()),
    }
}

/// What is wrong with a profile, if anything.
pub(super) fn of_profile(profile: &Profile) -> Result<(), String> {
    amount("yearly_km", Some(profile.yearly_km))?;
    amount("salt_factor", Some(profile.salt_factor))?;
    amount("the hours of a session", Some(profile.sessions.hours))?;
    for (day, hours) in &profile.sessions.hours_on {
        amount(&format!("the hours of a {}", day.word()), Some(*hours))?;
    }
    for session in &profile.sessions.listed {
        amount(
            &format!("the hours of the session of {}", session.date),
            Some(session.hours),
        )?;
    }
    if let Some(off) = profile.sessions.days_off.iter().find(|off| off.to < off.from) {
        return Err(format!(
            "days off from {} to {} end before they begin",
            off.from, off.to
        ));
    }
    finite("the money in hand", profile.budget.in_hand)?;
    finite("the money per month", profile.budget.per_month)?;
    match profile.salted_months.iter().find(|m| !(1..=12).contains(*m)) {
        Some(month) => Err(format!("{month} is no month; salted_months are 1 to 12")),
        None => Ok(()),
    }
}

/// What is wrong with the word on a part, if anything.
pub(super) fn of_note(note: &PartNote) -> Result<(), String> {
    for own in &note.limits {
        finite(&format!("the limit of {}", own.check), own.limit)?;
        if let Some(new) = own.new {
            finite(&format!("the new value of {}", own.check), new)?;
        }
    }
    let mut named = BTreeSet::new();
    for own in &note.torques {
        of_torque(own)?;
        if !named.insert(own.fixing.as_str()) {
            return Err(format!("the torque of {} stands here twice", own.fixing));
        }
    }
    Ok(())
}

fn of_torque(own: &OwnTorque) -> Result<(), String> {
    torque(&own.fixing, &own.torque)
}

fn torque(fixing: &str, torque: &Torque) -> Result<(), String> {
    let name = format!("the torque of {fixing}");
    let values = torque.up_to.iter().chain(&torque.angles);
    for value in std::iter::once(&torque.value).chain(values) {
        finite(&name, *value)?;
        if *value <= 0.0 {
            return Err(format!("{name} is {value}; it must be above zero"));
        }
    }
    match torque.up_to.filter(|to| *to <= torque.value) {
        Some(to) => Err(format!(
            "{name} goes from {} to {to}; write the lower one first",
            torque.value
        )),
        None => Ok(()),
    }
}

/// What is wrong with what was put away, if anything.
pub(super) fn of_earlier(away: &Earlier) -> Result<(), String> {
    away.profile.as_ref().map_or(Ok(()), |profile| of_profile(profile))?;
    let words = away.parts.iter().flatten();
    words
        .into_iter()
        .try_for_each(|(part, note)| of_note(note).map_err(|what| format!("{part}: {what}")))?;
    away.progress.as_ref().map_or(Ok(()), of_progress)
}

/// What is wrong with a survey, if anything.
pub(super) fn of_survey(survey: &Survey) -> Result<(), String> {
    amount("the odometer", survey.odometer_km)?;
    let mut seen = BTreeSet::new();
    for look in &survey.looks {
        of_look(look)?;
        if !seen.insert((&look.part, look.check.as_str())) {
            return Err(format!("{} of {} stands here twice", look.check, look.part));
        }
    }
    let mut seen_again = BTreeSet::new();
    for second in &survey.second_looks {
        if !seen_again.insert((&second.part, second.check.as_str())) {
            return Err(format!(
                "the second look at {} of {} stands here twice",
                second.check, second.part
            ));
        }
    }
    Ok(())
}

/// What is wrong with a list of repairs, if anything.
pub(super) fn of_repairs(done: &[RepairDone]) -> Result<(), String> {
    done.iter().try_for_each(of_repair)?;
    match done.windows(2).find(|pair| matches!(pair, [a, b] if a.date > b.date)) {
        Some([_, late]) => Err(format!(
            "the repair of {} stands after a later one; put them in order of date",
            late.date
        )),
        _ => Ok(()),
    }
}

fn of_look(look: &Look) -> Result<(), String> {
    if let Some(name) = look.photos.iter().find(|name| !photo::is_name(name)) {
        return Err(format!("{} of {}: {}", look.check, look.part, photo::no_name(name)));
    }
    let Seen::Reading(values) = &look.seen else {
        return Ok(());
    };
    if values.is_empty() {
        return Err(format!("the reading of {} on {} has no value", look.check, look.part));
    }
    values
        .iter()
        .try_for_each(|value| finite(&format!("the reading of {} on {}", look.check, look.part), *value))
}

fn of_repair(done: &RepairDone) -> Result<(), String> {
    let of = |what: &str| format!("the {what} of {} on {}", done.repair, done.date);
    amount(&of("odometer"), done.odometer_km)?;
    amount(&of("hours"), done.hours)?;
    amount(&of("cost"), done.cost)?;
    amount(&of("planned hours"), done.planned_hours)?;
    done.torques
        .iter()
        .try_for_each(|used| torque(&used.fixing, &used.torque))
}

/// What is wrong with what is bought and open, if anything.
pub(super) fn of_progress(progress: &Progress) -> Result<(), String> {
    progress.purchases.iter().try_for_each(of_purchase)?;
    progress.open.iter().try_for_each(of_open)
}

fn of_purchase(purchase: &Purchase) -> Result<(), String> {
    amount(&format!("the price of {}", purchase.name), purchase.price)
}

fn of_open(job: &OpenJob) -> Result<(), String> {
    let of = |what: &str| format!("the {what} of {}", job.repair);
    amount(&of("hours so far"), Some(job.hours_so_far))?;
    amount(&of("hours left"), job.hours_left)?;
    for extra in &job.extra {
        amount(&format!("the hours of “{}”", extra.what), Some(extra.hours))?;
        for bought in &extra.buy {
            amount(&format!("the cost of {}", bought.name), Some(bought.cost))?;
        }
    }
    Ok(())
}

fn finite(name: &str, value: f64) -> Result<(), String> {
    if value.is_finite() {
        Ok(())
    } else {
        Err(format!("{name} is {value}; write a finite number"))
    }
}

fn amount(name: &str, value: Option<f64>) -> Result<(), String> {
    match value {
        None => Ok(()),
        Some(value) => {
            finite(name, value)?;
            if value < 0.0 {
                return Err(format!("{name} is {value}; it cannot be below zero"));
            }
            Ok(())
        }
    }
}
