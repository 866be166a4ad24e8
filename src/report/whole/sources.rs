//! What the report's work asks to take care of, and what its numbers rest on.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{Section, Table, words_in};
use crate::engine::plan::Plan;
use crate::report::{Subject, words};
use crate::text::clean;

/// The cautions of every visit and of every look that is asked for, each once.
pub(super) fn cautions(subject: &Subject, plan: &Plan) -> Section {
    let Subject {
        library, assessment, ..
    } = subject;
    let mut asked: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for (n, visit) in plan.visits.iter().enumerate() {
        for id in &visit.cautions {
            asked.entry(id).or_default().insert(format!("visit {}", n + 1));
        }
    }
    let next = assessment.look_next.iter().map(|n| (&n.part, n.check.as_str()));
    let first = plan
        .look_first
        .iter()
        .flat_map(|l| l.checks.iter().map(|c| (&l.part, c.as_str())));
    for (part, check) in next.chain(first) {
        if let Some(check) = library.check(&part.component, check) {
            for id in &check.cautions {
                asked.entry(id).or_default().insert("looks".to_owned());
            }
        }
    }
    let mut section = Section::new("cautions", "Cautions");
    let mut table = Table::new(
        "Cautions of the work and the looks in this report",
        &[words_in("caution"), words_in("where")],
    );
    for (id, places) in asked {
        let said = library.caution(id).map_or(id, |c| c.text.as_str());
        let places: Vec<String> = places.into_iter().collect();
        table.row(vec![clean(said).into(), places.join(", ").into()]);
    }
    section.table(table);
    section
}

/// Every `source` within a value.
fn gather(value: &serde_json::Value, found: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (name, field) in fields {
                match field.as_str() {
                    Some(source) if name == "source" && !source.is_empty() => {
                        found.insert(clean(source));
                    }
                    _ => gather(field, found),
                }
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| gather(item, found)),
        _ => {}
    }
}

/// What the rubrics of this car's parts and its owner's own values rest on.
pub(super) fn sources(subject: &Subject) -> Section {
    let Subject { car, library, .. } = subject;
    let mut rest: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut note = |value: serde_json::Result<serde_json::Value>, name: String| {
        let mut found = BTreeSet::new();
        // A value that cannot be written has no source to show.
        gather(&value.unwrap_or_default(), &mut found);
        for source in found {
            rest.entry(source).or_default().insert(name.clone());
        }
    };
    let mut components: Vec<&str> = Vec::new();
    for id in car.part_ids(library) {
        if let Some(component) = library.component(&id.component)
            && !components.contains(&component.id.as_str())
        {
            components.push(&component.id);
            let name = words::small(&clean(&component.name));
            note(serde_json::to_value(component), name.clone());
            for repair in library.repairs_of(&component.id) {
                note(serde_json::to_value(repair), name.clone());
            }
        }
    }
    note(
        serde_json::to_value(library.climate(&car.profile.climate)),
        "climate".to_owned(),
    );
    note(
        serde_json::to_value(library.storage(&car.profile.storage)),
        "how the car is kept".to_owned(),
    );
    for (part, own) in &car.parts {
        note(serde_json::to_value(own), format!("your own word on {part}"));
    }
    let mut section = Section::new("sources", "Sources");
    section.say(
        "Every number of the rubrics names where it is from; where nobody has published one, it says judgement or common practice. \
         Grades are yours. Torques in a worksheet are your manual's where you entered them; guides are marked.",
    );
    let mut table = Table::new(
        "What the numbers for this car rest on",
        &[words_in("source"), words_in("used for")],
    );
    for (source, names) in rest {
        let shown: Vec<&str> = names.iter().take(6).map(String::as_str).collect();
        let more = match names.len().saturating_sub(6) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        table.row(vec![source.into(), format!("{}{more}", shown.join(", ")).into()]);
    }
    section.table(table);
    section
}
