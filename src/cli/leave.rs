//! `leave`: a repair that was begun and not finished.

use super::args::Leave;
use super::desk::{Desk, number, pair, part_of, words_of};
use super::done::its_own;
use super::exit::Failure;
use super::found::{self, past_day};
use crate::car::{Car, Change, ExtraWork, OpenJob};
use crate::engine::plan::parts::{fixing_called, left_open, sheared as made_good};
use crate::report::words;
use crate::rubric::{Library, NewPart, PartId, Repair};

/// Records what stands open, or that it no longer does.
pub fn leave(desk: &Desk, asked: &Leave) -> Result<String, Failure> {
    let library = desk.library()?;
    let mut open = desk.write_to(&asked.car)?;
    let car = open.car();
    let part = part_of(car, &library, &asked.part)?;
    let repair = its_own(&library, &part, &asked.repair)?;
    let date = past_day(car, asked.date, desk)?;
    let note = asked.note.as_deref().unwrap_or_default();
    let mut changes = found::looks(car, &library, date, &part, &asked.found, note)?;
    let mut said = found::in_words(&library, date, &changes);
    let name = format!(
        "{} ({})",
        words::repair(&library, &repair.id),
        words::small(&words::part(&library, &part))
    );
    if asked.closed {
        changes.push(Change::Closed(part));
        super::desk::record(&mut open, changes).map_err(|e| Failure::NotFound(e.to_string()))?;
        return Ok(format!("{said}{name} no longer stands open; it is planned anew.\n"));
    }
    let job = open_job(car, &library, asked, repair, &part, date)?;
    let extra: f64 = job.extra.iter().map(|e| e.hours).sum();
    said.push_str(&format!(
        "{name} stands open since {}: the car is not to be driven until it is closed.\n",
        job.since
    ));
    if extra > 0.0 {
        let names: Vec<&str> = job.extra.iter().map(|e| e.what.as_str()).collect();
        said.push_str(&format!(
            "On top of it: {} ({}).\n",
            names.join("; "),
            words::hours(extra)
        ));
    }
    changes.push(Change::Left(job));
    super::desk::record(&mut open, changes)?;
    said.push_str("See when with `tinworm plan CAR`; close it with `tinworm done`.\n");
    Ok(said)
}

fn open_job(
    car: &Car,
    library: &Library,
    asked: &Leave,
    repair: &Repair,
    part: &PartId,
    date: jiff::civil::Date,
) -> Result<OpenJob, Failure> {
    let mut job = left_open(car, library, repair, part, date);
    if let Some(hours) = &asked.hours {
        job.hours_so_far += number("--hours", hours)?;
    }
    if let Some(hours) = &asked.hours_left {
        job.hours_left = Some(number("--hours-left", hours)?);
    }
    for did in &asked.did {
        job.did.push(words_of("--did", did)?);
    }
    if let Some(note) = &asked.note {
        job.note.clone_from(note);
    }
    for text in &asked.sheared {
        job.extra.push(sheared(repair, text)?);
    }
    for text in &asked.extra {
        let (what, hours) = pair("--extra", text)?;
        job.extra.push(ExtraWork {
            what: what.to_owned(),
            hours: number("--extra", hours)?,
            buy: Vec::new(),
        });
    }
    let mut buys = Vec::new();
    for text in &asked.buy {
        buys.push(bought(text)?);
    }
    if !buys.is_empty() {
        match job.extra.last_mut() {
            Some(extra) => extra.buy.extend(buys),
            None => job.extra.push(ExtraWork {
                what: "fit what was missing".to_owned(),
                hours: 0.0,
                buy: buys,
            }),
        }
    }
    Ok(job)
}

/// A sheared fixing: the hours given, else those of cutting it off where the rubric knows them.
fn sheared(repair: &Repair, text: &str) -> Result<ExtraWork, Failure> {
    let (name, hours) = text
        .split_once('=')
        .map_or((text, None), |(name, hours)| (name, Some(hours)));
    let name = name.trim();
    let fixing = fixing_called(repair, name);
    if fixing.is_none() && !repair.fixings.is_empty() && hours.is_none() {
        let known: Vec<&str> = repair.fixings.iter().map(|f| f.name.as_str()).collect();
        return Err(Failure::NotFound(format!(
            "--sheared: `{name}` is no fixing of {}; it has {}. For another one give its hours too: \"{name}=2\"",
            repair.id,
            known.join(", ")
        )));
    }
    let hours = hours.map(|hours| number("--sheared", hours)).transpose()?;
    Ok(made_good(repair, name, hours))
}

/// Reads `pinch bolt=6,3`: name, cost, days.
fn bought(text: &str) -> Result<NewPart, Failure> {
    let (name, rest) = text.split_once('=').map_or((text, ""), |(name, rest)| (name, rest));
    let (cost, days) = rest.split_once(',').unwrap_or((rest, ""));
    let days = days.trim();
    Ok(NewPart {
        name: words_of("--buy", name)?,
        count: 1,
        cost: if cost.trim().is_empty() {
            0.0
        } else {
            number("--buy", cost)?
        },
        lead_days: if days.is_empty() {
            0
        } else {
            days.parse().map_err(|_| {
                Failure::Usage(format!(
                    "--buy: `{days}` is no number of days; write \"pinch bolt=6,3\""
                ))
            })?
        },
    })
}
