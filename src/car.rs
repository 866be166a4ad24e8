//! One car: its profile, its parts, the surveys of it and the repairs done. Plain data, no file access.
//!
//! [`Car`] is what the store loads and saves; every change to it is a [`Change`], applied by [`Car::apply`].

pub mod back;
pub mod change;
pub mod known;
pub mod part;
pub mod photo;
pub mod profile;
pub mod progress;
pub mod repair;
pub mod round;
pub mod survey;

pub use change::{Change, ChangeError};
pub use known::Earlier;
pub use part::{OwnLimit, OwnTorque, PartNote};
pub use profile::{Budget, Day, DaysOff, Profile, Session, Sessions, Target, Use};
pub use progress::{Buying, ExtraWork, OpenJob, Progress, Purchase};
pub use repair::{RepairDone, TorqueUsed};
pub use survey::{Asked, Look, NotSeen, SecondLook, Seen, Survey};

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::rubric::{Library, PartId};

/// One vehicle with all that is known of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Car {
    /// What it is, where it lives, how it is used.
    pub profile: Profile,
    /// What its owner has said of single parts, beyond what the layout places.
    pub parts: BTreeMap<PartId, PartNote>,
    /// Looks round the car, oldest first.
    pub surveys: Vec<Survey>,
    /// Work done, oldest first.
    pub repairs: Vec<RepairDone>,
    /// What the owner has fixed in the plan.
    pub wishes: Wishes,
    /// Parts on order and work that stands open.
    pub progress: Progress,
    /// What was said until some day and changed on it, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Earlier>,
}

/// What the owner has decided about the plan.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Wishes {
    /// Parts to be planned whatever their standing.
    #[serde(default)]
    pub ticked: Vec<PartId>,
    /// The repair chosen for a part where several compete.
    #[serde(default)]
    pub chosen: BTreeMap<PartId, String>,
    /// Parts whose repair is fixed to a date.
    #[serde(default)]
    pub pinned: BTreeMap<PartId, jiff::civil::Date>,
    /// Parts left out of the plan although their standing asks for it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub dropped: Vec<PartId>,
}

impl Car {
    /// A car that has only a profile.
    #[must_use]
    pub fn new(profile: Profile) -> Car {
        Car {
            profile,
            parts: BTreeMap::new(),
            surveys: Vec::new(),
            repairs: Vec::new(),
            wishes: Wishes::default(),
            progress: Progress::default(),
            earlier: Vec::new(),
        }
    }

    /// The parts on this car: what the layout places and the owner added, less what is removed or not fitted,
    /// in library order, added ones last. Parts of components the library does not know are left out.
    #[must_use]
    pub fn part_ids(&self, library: &Library) -> Vec<PartId> {
        let mut ids = library.placed(&self.profile.layout);
        for (id, note) in &self.parts {
            if note.added && !ids.contains(id) {
                ids.push(id.clone());
            }
        }
        ids.retain(|id| {
            library.component(&id.component).is_some() && self.parts.get(id).is_none_or(|note| !note.not_fitted)
        });
        ids
    }

    /// Everything that changes when a repair is done: the record, and what was wished, bought and open for it.
    ///
    /// Where no cost is given, it is what was paid for the parts.
    #[must_use]
    pub fn finishing(&self, mut done: RepairDone) -> Vec<Change> {
        let (part, repair) = (done.part.clone(), done.repair.clone());
        let used: Vec<&Purchase> = self
            .progress
            .purchases
            .iter()
            .filter(|p| p.part == part && p.repair == repair)
            .collect();
        let paid: f64 = used
            .iter()
            .filter(|p| p.paid_on.is_some())
            .filter_map(|p| p.price)
            .sum();
        if done.cost.is_none() && paid > 0.0 {
            done.cost = Some(paid);
        }
        let mut changes = vec![Change::Done(done)];
        let mut wishes = self.wishes.clone();
        wishes.ticked.retain(|p| *p != part);
        wishes.pinned.remove(&part);
        wishes.chosen.remove(&part);
        wishes.dropped.retain(|p| *p != part);
        if wishes != self.wishes {
            changes.push(Change::Wishes(wishes));
        }
        changes.extend(
            used.into_iter()
                .map(|p| Change::Buy(Purchase::new(part.clone(), &repair, &p.name))),
        );
        if self.progress.open_on(&part).is_some_and(|job| job.repair == repair) {
            changes.push(Change::Closed(part));
        }
        changes
    }

    /// The car's own manual's value for a fixing of a part.
    #[must_use]
    pub fn torque(&self, part: &PartId, fixing: &str) -> Option<&OwnTorque> {
        self.parts.get(part)?.torque(fixing)
    }

    /// The newest look at a check that saw something, with the survey it belongs to.
    #[must_use]
    pub fn last_seen(&self, part: &PartId, check: &str) -> Option<(&Survey, &Look)> {
        self.surveys.iter().rev().find_map(|survey| {
            let look = survey.look(part, check)?;
            look.seen.is_seen().then_some((survey, look))
        })
    }
}
