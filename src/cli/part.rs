//! `part`: what the owner says of single parts.

mod torques;

use super::args::Part;
use super::desk::{self, Desk, meant, no_such_part, number, pair};
use super::exit::Failure;
use crate::car::{Car, Change, OwnLimit, PartNote};
use crate::report::{json, profile, words};
use crate::rubric::{CheckKind, Library, Measure, PartId};

/// Lists a car's parts, or changes what is said of one.
pub fn part(desk: &Desk, asked: Part) -> Result<String, Failure> {
    let library = desk.library()?;
    let Some(text) = &asked.part else {
        let car = desk.look_at(&asked.car)?;
        if asked.form.json {
            let parts: Vec<serde_json::Value> = car
                .part_ids(&library)
                .iter()
                .map(|id| serde_json::json!({"part": id, "name": words::part(&library, id), "note": car.parts.get(id)}))
                .collect();
            return Ok(json(&parts)?);
        }
        return Ok(profile::parts_text(&car, &library, desk.paper));
    };
    let id: PartId = text
        .trim()
        .parse()
        .map_err(|e: crate::rubric::station::StationError| Failure::NotFound(e.to_string()))?;
    let car = desk.look_at(&asked.car)?;
    let wanted = |car: &Car| -> Result<_, Failure> {
        let old = car.parts.get(&id).cloned().unwrap_or_default();
        let note = noted(desk, &asked, car, &library, &id, old.clone())?;
        let torques = torques::asked(&asked, car, &library, &id)?;
        let mut changes = Vec::new();
        if note != old {
            changes.push(Change::Part(id.clone(), note.clone()));
        }
        changes.extend(torques.changes.iter().cloned());
        Ok((note, torques, changes))
    };
    let (mut note, mut torques, changes) = wanted(&car)?;
    if !changes.is_empty() {
        // Another program may have changed it in between: what counts is what it is once nobody else can write.
        let mut open = desk.write_to(&asked.car)?;
        let (_, now, changes) = wanted(open.car())?;
        torques = now;
        super::desk::record(&mut open, changes)?;
        note = open.car().parts.get(&id).cloned().unwrap_or_default();
    }
    for warning in &torques.warnings {
        desk.say(&format!("careful: {warning}"));
    }
    if asked.form.json {
        return Ok(json(
            &serde_json::json!({"part": id, "name": words::part(&library, &id), "note": note, "warnings": torques.warnings}),
        )?);
    }
    let state = if note.not_fitted {
        "not fitted"
    } else if note.added {
        "added by you"
    } else if library.placed(&car.profile.layout).contains(&id) {
        "placed by the layout"
    } else {
        "not on this car"
    };
    let mut said = format!("{} [{id}]: {state}", words::part(&library, &id));
    if let Some(date) = note.fitted {
        said.push_str(&format!(", fitted {date}"));
    }
    for limit in &note.limits {
        let new = limit.new.map(|n| format!(", new {n}")).unwrap_or_default();
        said.push_str(&format!(
            "\n  {}: limit {}{new} ({})",
            limit.check,
            limit.limit,
            crate::text::clean(&limit.source)
        ));
    }
    for line in torques::lines(&library, &id, &note) {
        said.push_str(&format!("\n  {line}"));
    }
    if !note.note.is_empty() {
        said.push_str(&format!("\n  {}", crate::text::clean(&note.note)));
    }
    Ok(said + "\n")
}

fn noted(
    desk: &Desk,
    asked: &Part,
    car: &Car,
    library: &Library,
    id: &PartId,
    mut note: PartNote,
) -> Result<PartNote, Failure> {
    let placed = library.placed(&car.profile.layout).contains(id);
    if library.component(&id.component).is_none() {
        let known = library.components().iter().map(|c| c.id.as_str());
        let hint = meant(&id.component, known);
        return Err(Failure::NotFound(format!(
            "the rubrics have no component `{}`{hint}",
            id.component
        )));
    }
    if !placed && !note.added && !asked.add {
        let said = no_such_part(&car.part_ids(library), library, id);
        return Err(Failure::NotFound(format!("{said}; --add puts it on the car")));
    }
    if asked.add {
        if placed && !note.not_fitted {
            return Err(Failure::Data(format!(
                "{id} is on this car already: its layout places it"
            )));
        }
        note.not_fitted = false;
        note.added = !placed;
    }
    if asked.is_fitted {
        note.not_fitted = false;
    }
    if asked.not_fitted || (asked.remove && placed) {
        note.not_fitted = true;
        note.added = false;
    } else if asked.remove {
        return Ok(PartNote::default());
    }
    if let Some(text) = &asked.fitted {
        note.fitted = fitted(desk, car, text)?;
    }
    for text in &asked.limit {
        let (check, value) = pair("--limit", text)?;
        let measure = measured(library, id, check)?;
        let new = asked
            .new_value
            .iter()
            .filter_map(|t| pair("--new-value", t).ok())
            .find(|(c, _)| *c == check)
            .map(|(_, value)| number("--new-value", value))
            .transpose()?;
        let limit = number("--limit", value)?;
        let from = new.unwrap_or(measure.new);
        if (limit > from) != (measure.limit > measure.new) || limit == from {
            return Err(Failure::Data(format!(
                "--limit: {limit} {unit} stands on the wrong side of new ({from} {unit}); the rubric goes from {} to {} {unit}",
                measure.new,
                measure.limit,
                unit = measure.unit
            )));
        }
        note.limits.retain(|l| l.check != check);
        note.limits.push(OwnLimit {
            check: check.to_owned(),
            new,
            limit,
            source: asked.source.clone().unwrap_or_else(|| "owner's word".to_owned()),
        });
    }
    for text in &asked.new_value {
        let (check, _) = pair("--new-value", text)?;
        if !note.limits.iter().any(|l| l.check == check) {
            return Err(Failure::Usage(format!(
                "--new-value: give --limit {check}=VALUE with it"
            )));
        }
    }
    for check in &asked.no_limit {
        if !note.limits.iter().any(|l| l.check == *check) {
            return Err(Failure::NotFound(format!(
                "--no-limit: `{check}` has no limit of your own"
            )));
        }
        note.limits.retain(|l| l.check != *check);
    }
    if let Some(text) = &asked.note {
        note.note = text.trim().to_owned();
    }
    Ok(note)
}

fn fitted(desk: &Desk, car: &Car, text: &str) -> Result<Option<jiff::civil::Date>, Failure> {
    if text.trim().eq_ignore_ascii_case("unknown") {
        return Ok(None);
    }
    let date: jiff::civil::Date = text
        .trim()
        .parse()
        .map_err(|_| Failure::Usage(format!("--fitted: `{text}` is no day; write 2021-04-10, or unknown")))?;
    if date > desk.today {
        return Err(Failure::Data(format!("--fitted: {date} is in the future")));
    }
    if let Some(built) = car.profile.built.filter(|b| date < *b) {
        return Err(Failure::Data(format!(
            "--fitted: {date} is before the car was built ({built})"
        )));
    }
    Ok(Some(date))
}

fn measured<'l>(library: &'l Library, id: &PartId, check: &str) -> Result<&'l Measure, Failure> {
    match &desk::check(library, &id.component, check)?.kind {
        CheckKind::Measured(measure) => Ok(measure),
        _ => Err(Failure::Data(format!(
            "--limit: {check} of {id} is not measured, so it has no limit to replace"
        ))),
    }
}
