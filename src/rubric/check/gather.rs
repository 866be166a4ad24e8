//! Laying the items of all files over each other.

use std::collections::{BTreeMap, BTreeSet};

use super::findings::{Findings, Spot};
use crate::rubric::model::*;
use crate::rubric::parse::Reading;

/// One item of one file.
pub struct Item<'a, T> {
    pub value: &'a T,
    pub id: String,
    pub spot: Spot,
    /// Not replaced by a later file.
    pub in_force: bool,
    /// Something in it could not be read, so that what seems to be missing may only be unread.
    pub hurt: bool,
}

/// The items of all files, in the order of the files.
pub struct Set<'a> {
    pub components: Vec<Item<'a, Component>>,
    pub repairs: Vec<Item<'a, Repair>>,
    pub access_steps: Vec<Item<'a, AccessStep>>,
    pub follow_ups: Vec<Item<'a, FollowUp>>,
    pub layouts: Vec<Item<'a, LayoutPiece>>,
    pub usual_cars: Vec<Item<'a, UsualCar>>,
    pub thread_grades: Vec<Item<'a, ThreadGrade>>,
    pub threads: Vec<Item<'a, Thread>>,
    pub strength_classes: Vec<Item<'a, StrengthClass>>,
    pub climates: Vec<Item<'a, Climate>>,
    pub storages: Vec<Item<'a, Storage>>,
    pub cautions: Vec<Item<'a, Caution>>,
    /// Ids of what could not be read: of unknown kind, taken to exist.
    pub unread: BTreeSet<&'a str>,
    /// Whether anything could not be read, so that nothing can be said to be missing.
    pub in_part: bool,
}

impl<'a> Set<'a> {
    /// Gathers the items and notes ids that stand twice in one file.
    pub fn of(readings: &'a [Reading], findings: &mut Findings<'_>) -> Set<'a> {
        macro_rules! list {
            ($name:ident, $item:ident => $id:expr) => {
                gather(
                    readings,
                    stringify!($name),
                    |file| &file.$name,
                    |$item| $id,
                    findings,
                )
            };
        }
        Set {
            in_part: readings
                .iter()
                .any(|reading| reading.unread || !reading.hurt.is_empty()),
            components: list!(components, it => it.id.clone()),
            repairs: list!(repairs, it => it.id.clone()),
            access_steps: list!(access_steps, it => it.id.clone()),
            follow_ups: list!(follow_ups, it => it.id.clone()),
            layouts: list!(layouts, it => it.id.clone()),
            usual_cars: list!(usual_cars, it => it.id.clone()),
            thread_grades: list!(thread_grades, it => it.grade.to_string()),
            threads: list!(threads, it => it.id.clone()),
            strength_classes: list!(strength_classes, it => it.id.clone()),
            climates: list!(climates, it => it.id.clone()),
            storages: list!(storages, it => it.id.clone()),
            cautions: list!(cautions, it => it.id.clone()),
            unread: readings
                .iter()
                .flat_map(|reading| reading.unread_ids.iter().map(String::as_str))
                .collect(),
        }
    }

    /// The component in force with an id, when all of it could be read.
    pub fn component(&self, id: &str) -> Option<&'a Component> {
        let item = self.components.iter().find(|item| item.in_force && item.id == id)?;
        (!item.hurt && !self.unread.contains(id)).then_some(item.value)
    }

    /// The ids in force of one list, and those of what could not be read.
    pub fn known<'b, T>(&'b self, list: &'b [Item<'a, T>]) -> BTreeSet<&'b str> {
        list.iter()
            .map(|item| item.id.as_str())
            .chain(self.unread.iter().copied())
            .collect()
    }

    /// All items in force as one file. A replaced item's successor takes its place in the order.
    pub fn merged(&self) -> RubricFile {
        RubricFile {
            schema: RUBRIC_SCHEMA,
            components: merge(&self.components),
            repairs: merge(&self.repairs),
            access_steps: merge(&self.access_steps),
            follow_ups: merge(&self.follow_ups),
            layouts: merge(&self.layouts),
            usual_cars: merge(&self.usual_cars),
            thread_grades: merge(&self.thread_grades),
            threads: merge(&self.threads),
            strength_classes: merge(&self.strength_classes),
            climates: merge(&self.climates),
            storages: merge(&self.storages),
            cautions: merge(&self.cautions),
        }
    }
}

fn gather<'a, T>(
    readings: &'a [Reading],
    list: &str,
    of: impl Fn(&'a RubricFile) -> &'a Vec<T>,
    id: impl Fn(&T) -> String,
    findings: &mut Findings<'_>,
) -> Vec<Item<'a, T>> {
    let mut items: Vec<Item<'a, T>> = Vec::new();
    let mut latest: BTreeMap<String, usize> = BTreeMap::new();
    for (file, reading) in readings.iter().enumerate() {
        for (at, value) in of(&reading.file).iter().enumerate() {
            let spot = Spot {
                file,
                path: format!("{list}[{at}]"),
            };
            let id = id(value);
            if let Some(earlier) = latest.insert(id.clone(), items.len()).and_then(|at| items.get_mut(at)) {
                earlier.in_force = false;
                if earlier.spot.file == file {
                    let line = findings.line(&earlier.spot);
                    let named = spot.field(if list == "thread_grades" { "grade" } else { "id" });
                    findings.add(
                        &named,
                        format!("`{id}` stands twice in {list}, first on line {line}"),
                        "give one of the two another id, or remove it",
                    );
                }
            }
            items.push(Item {
                value,
                id,
                hurt: reading.hurt.contains(&spot.path),
                spot,
                in_force: true,
            });
        }
    }
    items
}

fn merge<T: Clone>(items: &[Item<'_, T>]) -> Vec<T> {
    let mut seen = BTreeSet::new();
    items
        .iter()
        .filter(|item| seen.insert(item.id.as_str()))
        .filter_map(|first| items.iter().find(|item| item.in_force && item.id == first.id))
        .map(|item| item.value.clone())
        .collect()
}
