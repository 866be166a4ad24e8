//! Mistakes in components: their checks, modes and couplings.

use std::collections::BTreeSet;

use super::alike::{grows_by_name, words_of};
use super::findings::{Findings, Spot};
use super::gather::{Item, Set};
use crate::rubric::model::*;

/// Looks at every component; references only where the component is in force.
pub fn check_all(set: &Set<'_>, findings: &mut Findings<'_>) {
    let cautions = set.known(&set.cautions);
    let steps = set.known(&set.access_steps);
    let repaired: BTreeSet<&str> = set
        .repairs
        .iter()
        .filter(|item| item.in_force)
        .flat_map(|item| {
            std::iter::once(item.value.component.as_str()).chain(item.value.also_renews.iter().map(String::as_str))
        })
        .collect();
    for item in &set.components {
        let (component, spot) = (item.value, &item.spot);
        findings.id(&spot.field("id"), &component.id);
        findings.text(&spot.field("name"), &component.name);
        findings.texts(&spot.field("also_called"), &component.also_called);
        findings.no_repeats(&spot.field("also_called"), &component.also_called);
        findings.text(&spot.field("about"), &component.about);
        findings.no_repeats(&spot.field("opened_by"), &component.opened_by);
        if component.checks.is_empty() {
            findings.lacking(
                &spot.field("checks"),
                format!("`{}` has no check", component.id),
                "add what can be looked at or measured on it",
            );
        }
        for (at, check) in component.checks.iter().enumerate() {
            let spot = spot.field("checks").item(at);
            twice(
                findings,
                &spot,
                "check",
                &check.id,
                component.checks.iter().take(at).map(|c| &c.id),
            );
            look_at_check(findings, &spot, check);
        }
        for (at, mode) in component.modes.iter().enumerate() {
            let spot = spot.field("modes").item(at);
            twice(
                findings,
                &spot,
                "mode",
                &mode.id,
                component.modes.iter().take(at).map(|m| &m.id),
            );
            look_at_mode(findings, &spot, mode);
        }
        for (at, coupling) in component.couplings.iter().enumerate() {
            let spot = spot.field("couplings").item(at);
            findings.above_zero(&spot.field("past"), coupling.past);
            findings.number(
                &spot.field("times"),
                coupling.times,
                coupling.times >= 1.0,
                "of 1 or more",
            );
            findings.text(&spot.field("source"), &coupling.source);
        }
        if item.in_force {
            references(set, findings, item, &steps, &cautions);
            // A repair that could not be read may be the one for it.
            if !repaired.contains(component.id.as_str()) && !set.in_part {
                findings.add(
                    &spot.field("id"),
                    format!("no repair is for `{}`", component.id),
                    format!(
                        "add a repair with `component: \"{}\"`, or name it under `also_renews`",
                        component.id
                    ),
                );
            }
        }
    }
}

fn twice<'a>(
    findings: &mut Findings<'_>,
    spot: &Spot,
    what: &str,
    id: &str,
    mut earlier: impl Iterator<Item = &'a String>,
) {
    findings.id(&spot.field("id"), id);
    if earlier.any(|other| other == id) {
        findings.add(
            &spot.field("id"),
            format!("{what} `{id}` stands twice in this component"),
            "give one of the two another id, or remove it",
        );
    }
}

fn references(
    set: &Set<'_>,
    findings: &mut Findings<'_>,
    item: &Item<'_, Component>,
    steps: &BTreeSet<&str>,
    cautions: &BTreeSet<&str>,
) {
    let (component, spot) = (item.value, &item.spot);
    for (at, id) in component.opened_by.iter().enumerate() {
        findings.known(&spot.field("opened_by").item(at), "access step", id, steps);
    }
    for (at, check) in component.checks.iter().enumerate() {
        let spot = spot.field("checks").item(at).field("cautions");
        for (at, id) in check.cautions.iter().enumerate() {
            findings.known(&spot.item(at), "caution", id, cautions);
        }
    }
    if item.hurt {
        return;
    }
    let own: BTreeSet<&str> = component.checks.iter().map(|check| check.id.as_str()).collect();
    let own_check = format!("check of `{}` called", component.id);
    for (at, coupling) in component.couplings.iter().enumerate() {
        let spot = spot.field("couplings").item(at);
        findings.known(&spot.field("when"), &own_check, &coupling.when, &own);
        let quickens = spot.field("quickens");
        match coupling.quickens.split_once('/') {
            None => findings.known(&quickens, &own_check, &coupling.quickens, &own),
            Some((other, check)) => {
                if let Some(other) = set.component(other) {
                    let checks = other.checks.iter().map(|check| check.id.as_str()).collect();
                    let what = format!("check of `{}` called", other.id);
                    findings.known(&quickens, &what, check, &checks);
                } else {
                    findings.known(&quickens, "component", other, &set.known(&set.components));
                }
            }
        }
    }
    for (at, mode) in component.modes.iter().enumerate() {
        let spot = spot.field("modes").item(at);
        for (at, id) in mode.driven_by.iter().enumerate() {
            findings.known(&spot.field("driven_by").item(at), &own_check, id, &own);
        }
        for (at, happened) in mode.happened.iter().enumerate() {
            let spot = spot.field("happened").item(at).field("check");
            findings.known(&spot, &own_check, &happened.check, &own);
        }
    }
}

fn look_at_check(findings: &mut Findings<'_>, spot: &Spot, check: &Check) {
    findings.text(&spot.field("name"), &check.name);
    findings.text(&spot.field("how"), &check.how);
    findings.no_repeats(&spot.field("cautions"), &check.cautions);
    findings.above_zero(&spot.field("minutes"), check.minutes);
    let kind = spot.field("kind");
    match &check.kind {
        CheckKind::Graded(descriptions) => look_at_descriptions(findings, &kind, descriptions),
        CheckKind::Measured(measure) => look_at_measure(findings, &kind, &check.name, measure),
        CheckKind::YesNo(question) => {
            for (name, text) in [
                ("question", &question.question),
                ("yes", &question.yes),
                ("no", &question.no),
            ] {
                findings.text(&kind.field(name), text);
            }
            let (yes, no) = (words_of(&question.yes), words_of(&question.no));
            if yes == no && !yes.is_empty() {
                findings.add(
                    &kind.field("no"),
                    "yes and no are described alike",
                    "say what can be seen in the one case and not in the other",
                );
            }
        }
    }
    look_at_decline(findings, &spot.field("decline"), &check.decline);
    if let Some(edges) = &check.edges {
        for (at, edge) in edges.iter().enumerate() {
            let before = at.checked_sub(1).and_then(|at| edges.get(at)).copied().unwrap_or(0.0);
            findings.number(
                &spot.field("edges").item(at),
                *edge,
                !before.is_finite() || *edge > before,
                &format!("above {before}: the edges of the grades rise"),
            );
        }
    }
    look_at_law(findings, &spot.field("law"), &check.law);
}

fn look_at_descriptions(findings: &mut Findings<'_>, spot: &Spot, descriptions: &[String]) {
    let count = descriptions.len();
    if count != 6 {
        let (much, fix) = if count < 6 {
            (
                "fewer than six",
                "describe each grade from 0, as new, to 5, at the limit",
            )
        } else {
            ("more than six", "keep one description for each grade from 0 to 5")
        };
        findings.lacking(spot, format!("{count} descriptions, {much}"), fix);
    }
    findings.texts(spot, descriptions);
    let words: Vec<String> = descriptions.iter().map(|text| words_of(text)).collect();
    for (at, text) in words.iter().enumerate() {
        let earlier = words.iter().take(at).position(|other| other == text);
        if let (Some(earlier), false) = (earlier, text.is_empty()) {
            findings.add(
                &spot.item(at),
                format!("the descriptions of grades {earlier} and {at} are alike"),
                "say what tells the one from the other",
            );
        }
    }
}

fn look_at_measure(findings: &mut Findings<'_>, spot: &Spot, name: &str, measure: &Measure) {
    for (field, text) in [
        ("unit", &measure.unit),
        ("instrument", &measure.instrument),
        ("source", &measure.source),
    ] {
        findings.text(&spot.field(field), text);
    }
    findings.texts(&spot.field("points"), &measure.points);
    findings.no_repeats(&spot.field("points"), &measure.points);
    findings.above_zero(&spot.field("sd"), measure.sd);
    let (new, limit) = (measure.new, measure.limit);
    if !new.is_finite() || !limit.is_finite() {
        return;
    }
    let spot_of_limit = spot.field("limit");
    let grows = measure.grows.or_else(|| grows_by_name(name));
    if new == limit {
        findings.add(
            &spot_of_limit,
            format!("the limit {limit} equals new"),
            "write the value at which the part is no longer serviceable",
        );
    } else if grows.is_some_and(|grows| grows != (limit > new)) {
        let (side, way) = if grows == Some(true) {
            ("above", "grows")
        } else {
            ("below", "shrinks")
        };
        findings.add(
            &spot_of_limit,
            format!("the limit {limit} is on the wrong side of new, {new}: this quantity {way} as the part wears"),
            format!(
                "write a limit {side} new, or say `grows: {}` if it is meant so",
                limit > new
            ),
        );
    }
    if new != limit && measure.sd.is_finite() && measure.sd > (limit - new).abs() {
        findings.add(
            &spot.field("sd"),
            format!(
                "one reading scatters by {}, more than the whole way from new to limit",
                measure.sd
            ),
            "write the standard deviation of one reading in the unit, or measure with something finer",
        );
    }
}

fn look_at_decline(findings: &mut Findings<'_>, spot: &Spot, decline: &Decline) {
    findings.above_zero(&spot.field("life"), decline.life);
    findings.text(&spot.field("source"), &decline.source);
    findings.not_below_zero(&spot.field("spread"), decline.spread);
    findings.not_below_zero(&spot.field("jumpiness"), decline.jumpiness);
    findings.above_zero(&spot.field("quickening"), decline.quickening);
    if let Some(exponent) = decline.weathering {
        let fits = exponent > 0.0 && exponent <= 1.0;
        findings.number(&spot.field("weathering"), exponent, fits, "above 0 and at most 1");
    }
    let quickened = spot.field("quickened");
    findings.share(&quickened.field("share"), decline.quickened.share);
    findings.above_zero(&quickened.field("times"), decline.quickened.times);
    findings.not_below_zero(&quickened.field("spread"), decline.quickened.spread);
    if let Driver::Mixed {
        wear,
        corrosion,
        ageing,
    } = decline.driver
    {
        let driver = spot.field("driver");
        for (name, weight) in [("wear", wear), ("corrosion", corrosion), ("ageing", ageing)] {
            findings.not_below_zero(&driver.field(name), weight);
        }
        if wear == 0.0 && corrosion == 0.0 && ageing == 0.0 {
            findings.add(
                &driver,
                "all weights are 0, so that nothing wears it",
                "give at least one of wear, corrosion and ageing a weight above 0",
            );
        }
    }
}

fn look_at_law(findings: &mut Findings<'_>, spot: &Spot, law: &[LawClass]) {
    for (at, class) in law.iter().enumerate() {
        let spot = spot.item(at);
        findings.text(&spot.field("item"), &class.item);
        findings.text(&spot.field("source"), &class.source);
        from_grade(findings, &spot.field("from"), class.from);
        let Some(before) = at.checked_sub(1).and_then(|at| law.get(at)) else {
            continue;
        };
        if class.from <= before.from {
            findings.add(
                &spot.field("from"),
                format!(
                    "this class begins at grade {}, the one before it at {}",
                    class.from, before.from
                ),
                "list the classes from the mildest grade to the worst, each from a later grade",
            );
        }
        let (now, then) = (class_word(class.class), class_word(before.class));
        if class.class < before.class {
            findings.add(
                &spot.field("class"),
                format!("the law class goes down from {then} to {now} as the grade gets worse"),
                "a worse grade is never in a milder class: correct the classes or the grades",
            );
        } else if class.class == before.class {
            findings.add(
                &spot.field("class"),
                format!(
                    "the class {now} is given twice, from grade {} and from grade {}",
                    before.from, class.from
                ),
                "keep the milder grade's line; both item numbers may stand in its `item`",
            );
        }
    }
}

fn class_word(class: Class) -> &'static str {
    match class {
        Class::Minor => "minor",
        Class::Major => "major",
        Class::Dangerous => "dangerous",
    }
}

fn from_grade(findings: &mut Findings<'_>, spot: &Spot, from: crate::units::Grade) {
    if from == crate::units::Grade::NEW {
        findings.add(
            spot,
            "this is true from grade 0 on, of a new part",
            "write a grade from 1 to 5",
        );
    }
}

fn look_at_mode(findings: &mut Findings<'_>, spot: &Spot, mode: &FailureMode) {
    findings.text(&spot.field("what"), &mode.what);
    findings.text(&spot.field("source"), &mode.source);
    findings.no_repeats(&spot.field("driven_by"), &mode.driven_by);
    if mode.driven_by.is_empty() {
        findings.lacking(
            &spot.field("driven_by"),
            format!("no check drives the mode `{}`", mode.id),
            "name the checks whose decline leads to it",
        );
    }
    findings.above_zero(&spot.field("lets_go").field("median"), mode.lets_go.median);
    findings.not_below_zero(&spot.field("lets_go").field("spread"), mode.lets_go.spread);
    for (at, happened) in mode.happened.iter().enumerate() {
        from_grade(findings, &spot.field("happened").item(at).field("from"), happened.from);
    }
}
