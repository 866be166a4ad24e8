//! Mistakes in repairs, access steps and follow-ups.

use std::collections::BTreeSet;

use super::findings::{Findings, Spot};
use super::gather::Set;
use crate::rubric::model::*;

/// Looks at every repair, access step and follow-up; references only where the item is in force.
pub fn check_all(set: &Set<'_>, findings: &mut Findings<'_>) {
    let known = Known::of(set);
    for item in &set.repairs {
        look_at_repair(findings, &item.spot, item.value);
        if item.in_force {
            references(set, &known, findings, &item.spot, item.value);
            if !item.hurt {
                opened(set, findings, &item.spot, item.value);
            }
        }
    }
    let (steps, cautions) = (&known.steps, &known.cautions);
    for item in &set.access_steps {
        let (step, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &step.id);
        findings.text(&spot.field("name"), &step.name);
        findings.not_below_zero(&spot.field("hours"), step.hours);
        findings.texts(&spot.field("tools"), &step.tools);
        findings.no_repeats(&spot.field("needs"), &step.needs);
        for (name, lines) in [
            ("before_lifting", &step.before_lifting),
            ("open", &step.open),
            ("close", &step.close),
        ] {
            findings.texts(&spot.field(name), lines);
        }
        if let Some(support) = &step.support {
            findings.text(&spot.field("support"), support);
        }
        look_at_halfway(findings, spot, step.halfway.as_ref());
        if item.in_force {
            waits_open(set, findings, spot, step);
            each_known(findings, &spot.field("needs"), "access step", &step.needs, steps);
            each_known(findings, &spot.field("cautions"), "caution", &step.cautions, cautions);
        }
    }
    for item in &set.follow_ups {
        let (follow_up, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &follow_up.id);
        findings.text(&spot.field("name"), &follow_up.name);
        findings.above_zero(&spot.field("hours"), follow_up.hours);
        findings.texts(&spot.field("tools"), &follow_up.tools);
        findings.texts(&spot.field("notes"), &follow_up.notes);
        look_at_buys(findings, &spot.field("buy"), &follow_up.buy);
        look_at_halfway(findings, spot, follow_up.halfway.as_ref());
        if item.in_force {
            each_known(
                findings,
                &spot.field("cautions"),
                "caution",
                &follow_up.cautions,
                cautions,
            );
        }
    }
}

/// The ids a repair may refer to.
struct Known<'a> {
    components: BTreeSet<&'a str>,
    repairs: BTreeSet<&'a str>,
    steps: BTreeSet<&'a str>,
    follow_ups: BTreeSet<&'a str>,
    cautions: BTreeSet<&'a str>,
    threads: BTreeSet<&'a str>,
    classes: BTreeSet<&'a str>,
}

impl<'a> Known<'a> {
    fn of(set: &'a Set<'_>) -> Known<'a> {
        Known {
            components: set.known(&set.components),
            repairs: set.known(&set.repairs),
            steps: set.known(&set.access_steps),
            follow_ups: set.known(&set.follow_ups),
            cautions: set.known(&set.cautions),
            threads: set.known(&set.threads),
            classes: set.known(&set.strength_classes),
        }
    }
}

fn each_known(findings: &mut Findings<'_>, spot: &Spot, what: &str, ids: &[String], known: &BTreeSet<&str>) {
    for (at, id) in ids.iter().enumerate() {
        findings.known(&spot.item(at), what, id, known);
    }
}

fn look_at_repair(findings: &mut Findings<'_>, spot: &Spot, repair: &Repair) {
    findings.id(&spot.field("id"), &repair.id);
    findings.text(&spot.field("name"), &repair.name);
    findings.text(&spot.field("source"), &repair.source);
    findings.above_zero(&spot.field("hours"), repair.hours);
    findings.texts(&spot.field("tools"), &repair.tools);
    findings.texts(&spot.field("notes"), &repair.notes);
    for (name, ids) in [
        ("also_renews", &repair.also_renews),
        ("access", &repair.access),
        ("follow_ups", &repair.follow_ups),
        ("cautions", &repair.cautions),
    ] {
        findings.no_repeats(&spot.field(name), ids);
    }
    if let Some(at) = repair.also_renews.iter().position(|id| *id == repair.component) {
        findings.add(
            &spot.field("also_renews").item(at),
            format!("`{}` is what the repair is for already", repair.component),
            "leave it out here",
        );
    }
    if let Some(specialist) = &repair.specialist {
        let spot = spot.field("specialist");
        findings.text(&spot.field("trade"), &specialist.trade);
        findings.not_below_zero(&spot.field("cost"), specialist.cost);
    }
    look_at_buys(findings, &spot.field("buy"), &repair.buy);
    look_at_halfway(findings, spot, repair.halfway.as_ref());
    for (at, fixing) in repair.fixings.iter().enumerate() {
        let spot = spot.field("fixings").item(at);
        findings.text(&spot.field("name"), &fixing.name);
        at_least_one(findings, &spot.field("count"), fixing.count);
        if let Some(hex) = fixing.hex {
            findings.above_zero(&spot.field("hex"), hex);
        }
        if let Some(held_by) = &fixing.held_by {
            findings.text(&spot.field("held_by"), held_by);
        }
    }
    let none_named = match &repair.kind {
        RepairKind::Renew => false,
        RepairKind::RenewChecks(checks) => checks.is_empty(),
        RepairKind::Treat(resets) => resets.is_empty(),
    };
    if none_named {
        findings.lacking(
            &spot.field("kind"),
            "this repair names no check, so that it does nothing",
            "name the checks it puts right, or write `kind: Renew`",
        );
    }
}

fn look_at_halfway(findings: &mut Findings<'_>, spot: &Spot, halfway: Option<&Halfway>) {
    if let Some(halfway) = halfway {
        let spot = spot.field("halfway");
        findings.text(&spot.field("what"), &halfway.what);
        findings.text(&spot.field("source"), &halfway.source);
    }
}

/// What may wait open cannot need something that may not: that one is open too.
fn waits_open(set: &Set<'_>, findings: &mut Findings<'_>, spot: &Spot, step: &AccessStep) {
    if !step.halfway.as_ref().is_some_and(|h| h.may_wait) {
        return;
    }
    let refused = |id: &&String| {
        let needed = set.access_steps.iter().find(|item| item.in_force && item.id == **id);
        needed.is_some_and(|item| item.value.halfway.as_ref().is_some_and(|h| !h.may_wait))
    };
    if let Some(needed) = step.needs.iter().find(refused) {
        findings.add(
            &spot.field("halfway").field("may_wait"),
            format!("`{}` may wait open, but `{needed}`, which it needs, may not", step.id),
            "say the same of both",
        );
    }
}

fn look_at_buys(findings: &mut Findings<'_>, spot: &Spot, buys: &[NewPart]) {
    for (at, part) in buys.iter().enumerate() {
        let spot = spot.item(at);
        findings.text(&spot.field("name"), &part.name);
        at_least_one(findings, &spot.field("count"), part.count);
        findings.not_below_zero(&spot.field("cost"), part.cost);
    }
}

fn at_least_one(findings: &mut Findings<'_>, spot: &Spot, count: u32) {
    if count == 0 {
        findings.add(spot, "a count of 0", "write 1 or more, or remove the item");
    }
}

fn references(set: &Set<'_>, known: &Known<'_>, findings: &mut Findings<'_>, spot: &Spot, repair: &Repair) {
    findings.known(
        &spot.field("component"),
        "component",
        &repair.component,
        &known.components,
    );
    each_known(
        findings,
        &spot.field("also_renews"),
        "component",
        &repair.also_renews,
        &known.components,
    );
    each_known(
        findings,
        &spot.field("access"),
        "access step",
        &repair.access,
        &known.steps,
    );
    each_known(
        findings,
        &spot.field("follow_ups"),
        "follow-up",
        &repair.follow_ups,
        &known.follow_ups,
    );
    each_known(
        findings,
        &spot.field("cautions"),
        "caution",
        &repair.cautions,
        &known.cautions,
    );
    for (at, after) in repair.after.iter().enumerate() {
        let spot = spot.field("after").item(at).field("repair");
        findings.known(&spot, "repair", &after.repair, &known.repairs);
    }
    for (at, fixing) in repair.fixings.iter().enumerate() {
        let spot = spot.field("fixings").item(at);
        if let Some(thread) = &fixing.thread {
            findings.known(&spot.field("thread"), "thread", thread, &known.threads);
        }
        if let Some(class) = &fixing.class {
            findings.known(&spot.field("class"), "strength class", class, &known.classes);
        }
    }
    let Some(component) = set.component(&repair.component) else {
        return;
    };
    let checks: BTreeSet<&str> = component.checks.iter().map(|check| check.id.as_str()).collect();
    let what = format!("check of `{}` called", component.id);
    for (at, fixing) in repair.fixings.iter().enumerate() {
        if let Some(minutes) = fixing.cut_off {
            findings.above_zero(&spot.field("fixings").item(at).field("cut_off"), minutes);
        }
        if let Some(check) = &fixing.graded_by {
            let spot = spot.field("fixings").item(at).field("graded_by");
            findings.known(&spot, &what, check, &checks);
        }
    }
    match &repair.kind {
        RepairKind::Renew => {}
        RepairKind::RenewChecks(named) => {
            findings.no_repeats(&spot.field("kind"), named);
            each_known(findings, &spot.field("kind"), &what, named, &checks);
        }
        RepairKind::Treat(resets) => {
            for (at, reset) in resets.iter().enumerate() {
                let spot = spot.field("kind").item(at);
                findings.known(&spot.field("check"), &what, &reset.check, &checks);
                if reset.up_to.is_some_and(|up_to| up_to < reset.to) {
                    findings.add(
                        &spot.field("up_to"),
                        "this treatment serves only grades better than the one it leaves",
                        "write the worst grade it may find, no better than `to`",
                    );
                }
            }
        }
    }
}

/// A repair must open one of the steps that open the way to its component.
fn opened(set: &Set<'_>, findings: &mut Findings<'_>, spot: &Spot, repair: &Repair) {
    let Some(component) = set.component(&repair.component) else {
        return;
    };
    let mut reached: Vec<&str> = repair.access.iter().map(String::as_str).collect();
    let mut at = 0;
    while let Some(id) = reached.get(at).copied() {
        at += 1;
        let step = set.access_steps.iter().find(|item| item.in_force && item.id == id);
        // What could not be read may need anything.
        if set.unread.contains(id) || step.is_some_and(|item| item.hurt) {
            return;
        }
        for needed in step.map_or(&[][..], |item| &item.value.needs) {
            if !reached.contains(&needed.as_str()) {
                reached.push(needed);
            }
        }
    }
    if !component.opened_by.is_empty() && !component.opened_by.iter().any(|step| reached.contains(&step.as_str())) {
        let list: Vec<String> = component.opened_by.iter().map(|id| format!("`{id}`")).collect();
        findings.add(
            &spot.field("access"),
            format!("no access step of `{}` opens the way to `{}`", repair.id, component.id),
            format!("add one of {} to its `access`", list.join(", ")),
        );
    }
}
