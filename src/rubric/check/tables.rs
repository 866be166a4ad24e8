//! Mistakes in layouts and in the tables of threads, classes, climates, storages and cautions.

use std::collections::BTreeSet;

use super::findings::{Findings, Spot};
use super::gather::Set;
use crate::rubric::model::*;
use crate::units::Grade;

/// Looks at every layout piece and table line.
pub fn check_all(set: &Set<'_>, findings: &mut Findings<'_>) {
    let components = set.known(&set.components);
    let pieces = set.known(&set.layouts);
    for item in &set.layouts {
        let (piece, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &piece.id);
        findings.id(&spot.field("choice"), &piece.choice);
        findings.text(&spot.field("name"), &piece.name);
        look_at_places(findings, &spot.field("places"), &piece.places);
        for (at, placement) in piece.places.iter().enumerate().filter(|_| item.in_force) {
            let spot = spot.field("places").item(at);
            findings.known(&spot.field("component"), "component", &placement.component, &components);
            findings.no_repeats(&spot.field("with"), &placement.with);
            for (at, id) in placement.with.iter().enumerate() {
                findings.known(&spot.field("with").item(at), "piece of layout", id, &pieces);
            }
        }
    }
    usual_cars(set, findings);
    thread_grades(set, findings);
    for item in &set.threads {
        let (thread, spot) = (item.value, &item.spot);
        findings.sign(&spot.field("id"), &thread.id);
        findings.above_zero(&spot.field("diameter"), thread.diameter);
        findings.above_zero(&spot.field("pitch"), thread.pitch);
        if thread.pitch.is_finite() && thread.diameter > 0.0 && thread.pitch >= thread.diameter {
            findings.add(
                &spot.field("pitch"),
                format!("a pitch of {} mm on a thread of {} mm", thread.pitch, thread.diameter),
                "write the distance from crest to crest in millimetres",
            );
        }
        if let Some((diameter, pitch)) = sizes_of(&thread.id)
            && (diameter != thread.diameter || pitch.is_some_and(|pitch| pitch != thread.pitch))
        {
            findings.add(
                &spot.field("id"),
                format!(
                    "`{}` is given as {} mm by {} mm",
                    thread.id, thread.diameter, thread.pitch
                ),
                "correct the id or the sizes: torques are reckoned from them",
            );
        }
    }
    for item in &set.strength_classes {
        let (class, spot) = (item.value, &item.spot);
        findings.sign(&spot.field("id"), &class.id);
        findings.above_zero(&spot.field("proof"), class.proof);
        findings.above_zero(&spot.field("proof_large"), class.proof_large);
        findings.text(&spot.field("source"), &class.source);
    }
    for item in &set.climates {
        let (climate, spot) = (item.value, &item.spot);
        findings.sign(&spot.field("id"), &climate.id);
        findings.text(&spot.field("name"), &climate.name);
        findings.text(&spot.field("source"), &climate.source);
        // The factor is a geometric mean, which a lower limit of 0 would make 0.
        findings.above_zero(&spot.field("loss_from"), climate.loss_from);
        findings.number(
            &spot.field("loss_to"),
            climate.loss_to,
            !climate.loss_from.is_finite() || climate.loss_to > climate.loss_from,
            &format!("above loss_from, {}", climate.loss_from),
        );
    }
    for item in &set.storages {
        let (storage, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &storage.id);
        findings.text(&spot.field("name"), &storage.name);
        findings.text(&spot.field("source"), &storage.source);
        findings.above_zero(&spot.field("corrosion"), storage.corrosion);
        findings.above_zero(&spot.field("ageing"), storage.ageing);
    }
    for item in &set.cautions {
        findings.id(&item.spot.field("id"), &item.value.id);
        findings.text(&item.spot.field("text"), &item.value.text);
        findings.text(&item.spot.field("source"), &item.value.source);
    }
}

fn look_at_places(findings: &mut Findings<'_>, spot: &Spot, places: &[Placement]) {
    let mut taken = Vec::new();
    for (at, placement) in places.iter().enumerate() {
        let spot = spot.item(at).field("at");
        if placement.at.is_empty() {
            findings.lacking(
                &spot,
                format!("`{}` is placed nowhere", placement.component),
                "name its stations, for example `front-left`, or remove it",
            );
        }
        for (at, station) in placement.at.iter().enumerate() {
            // Two placements never meet where each asks for pieces the other does not.
            let meet = |with: &&[String]| {
                with.is_empty() || placement.with.is_empty() || with.iter().any(|id| placement.with.contains(id))
            };
            let part = (&placement.component, station);
            if taken.iter().any(|(other, with)| *other == part && meet(with)) {
                findings.add(
                    &spot.item(at),
                    format!("`{}@{station}` is placed twice in this piece", placement.component),
                    "place it once, or give each a place of its own: `front-left/upper`",
                );
            }
            taken.push((part, placement.with.as_slice()));
        }
    }
}

/// A usual car takes one piece of every choice.
fn usual_cars(set: &Set<'_>, findings: &mut Findings<'_>) {
    let pieces = set.known(&set.layouts);
    let choice_of = |id: &str| {
        let piece = set.layouts.iter().find(|item| item.in_force && item.id == id)?;
        Some(piece.value.choice.as_str())
    };
    let choices: BTreeSet<&str> = set
        .layouts
        .iter()
        .filter(|item| item.in_force && item.value.choice != ALWAYS)
        .map(|item| item.value.choice.as_str())
        .collect();
    for item in &set.usual_cars {
        let (car, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &car.id);
        findings.text(&spot.field("name"), &car.name);
        if !item.in_force {
            continue;
        }
        let spot = spot.field("layout");
        let mut made = BTreeSet::new();
        for (at, id) in car.layout.iter().enumerate() {
            findings.known(&spot.item(at), "piece of layout", id, &pieces);
            if let Some(choice) = choice_of(id)
                && !made.insert(choice)
            {
                findings.add(
                    &spot.item(at),
                    format!("`{id}` is a second piece of the choice `{choice}`"),
                    "keep one piece of each choice",
                );
            }
        }
        let open: Vec<&str> = choices.difference(&made).copied().collect();
        // A piece misspelt is one mistake, not two.
        let known = car.layout.iter().all(|id| pieces.contains(id.as_str()));
        if known && !open.is_empty() && !set.in_part {
            findings.lacking(
                &spot,
                format!("no piece of {}", open.join(", ")),
                "name one piece of every choice",
            );
        }
    }
}

/// Diameter and pitch from a thread's name, `M12x1.25`; the coarse pitch need not be named.
fn sizes_of(id: &str) -> Option<(f64, Option<f64>)> {
    let sizes = id.strip_prefix('M')?;
    match sizes.split_once('x') {
        Some((diameter, pitch)) => Some((diameter.parse().ok()?, Some(pitch.parse().ok()?))),
        None => Some((sizes.parse().ok()?, None)),
    }
}

/// Either no thread grades at all or one line for each grade.
fn thread_grades(set: &Set<'_>, findings: &mut Findings<'_>) {
    let cautions = set.known(&set.cautions);
    for item in &set.thread_grades {
        let (grade, spot) = (item.value, &item.spot);
        findings.number(
            &spot.field("core_lost"),
            grade.core_lost,
            (0.0..1.0).contains(&grade.core_lost),
            "from 0 to below 1: the share of the core's diameter that is gone",
        );
        for (at, step) in grade.ladder.iter().enumerate() {
            let spot = spot.field("ladder").item(at);
            findings.text(&spot.field("what"), &step.what);
            findings.text(&spot.field("source"), &step.source);
            findings.no_repeats(&spot.field("cautions"), &step.cautions);
            for (at, id) in step.cautions.iter().enumerate().filter(|_| item.in_force) {
                findings.known(&spot.field("cautions").item(at), "caution", id, &cautions);
            }
        }
        findings.share(&spot.field("seizes"), grade.seizes);
        findings.share(&spot.field("shears"), grade.shears);
        findings.not_below_zero(&spot.field("minutes"), grade.minutes);
        findings.text(&spot.field("advice"), &grade.advice);
        findings.text(&spot.field("source"), &grade.source);
    }
    let Some(last) = set.thread_grades.last().filter(|_| !set.in_part) else {
        return;
    };
    let missing: Vec<String> = Grade::ALL
        .iter()
        .filter(|grade| !set.thread_grades.iter().any(|item| item.value.grade == **grade))
        .map(ToString::to_string)
        .collect();
    if !missing.is_empty() {
        let list = Spot {
            file: last.spot.file,
            path: "thread_grades".to_owned(),
        };
        findings.add(
            &list,
            format!("thread grades without a line: {}", missing.join(", ")),
            "give each grade from 0 to 5 its line",
        );
    }
}
