//! A car as it was known on a day.
//!
//! Surveys, second looks and repairs bear their days. What is said without a day – the profile, the words on parts, the wishes for the plan, the
//! orders – is kept in its earlier forms beside the present one: whenever it changes for the first time on a day, what it was until
//! that day is put away as an [`Earlier`]. Of cars recorded before this was kept, the present words stand in for the earlier ones.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{Car, Change, PartNote, Profile, Progress, Wishes};
use crate::rubric::PartId;

/// What stood until a day and was changed on it; `None` of what was not changed then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Earlier {
    /// The day of the change.
    pub until: Date,
    /// The profile until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<Box<Profile>>,
    /// The owner's words on parts until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parts: Option<BTreeMap<PartId, PartNote>>,
    /// The wishes until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wishes: Option<Wishes>,
    /// Orders and open work until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub progress: Option<Progress>,
}

impl Earlier {
    /// Nothing changed on that day yet.
    #[must_use]
    pub fn new(until: Date) -> Earlier {
        Earlier {
            until,
            profile: None,
            parts: None,
            wishes: None,
            progress: None,
        }
    }

    fn is_empty(&self) -> bool {
        self.profile.is_none() && self.parts.is_none() && self.wishes.is_none() && self.progress.is_none()
    }
}

impl Car {
    /// What must be put away before these changes are made on a day; `None` if they touch nothing without a day of its own, or that is put
    /// away already.
    #[must_use]
    pub fn put_away(&self, changes: &[Change], today: Date) -> Option<Earlier> {
        let mut away = Earlier::new(today);
        let there = self.earlier.iter().find(|e| e.until == today);
        for change in changes {
            match change {
                Change::Profile(_) if there.is_none_or(|e| e.profile.is_none()) => {
                    away.profile = Some(Box::new(self.profile.clone()));
                }
                Change::Part(..) | Change::Torque(..) | Change::NoTorque(..)
                    if there.is_none_or(|e| e.parts.is_none()) =>
                {
                    away.parts = Some(self.parts.clone());
                }
                Change::Wishes(_) if there.is_none_or(|e| e.wishes.is_none()) => {
                    away.wishes = Some(self.wishes.clone())
                }
                Change::Buy(_) | Change::Left(_) | Change::Closed(_) if there.is_none_or(|e| e.progress.is_none()) => {
                    away.progress = Some(self.progress.clone());
                }
                _ => {}
            }
        }
        (!away.is_empty()).then_some(away)
    }

    /// Keeps what was put away; what is kept already for its day stays.
    pub(super) fn keep_earlier(&mut self, away: Earlier) {
        match self.earlier.binary_search_by_key(&away.until, |e| e.until) {
            Ok(at) => {
                if let Some(there) = self.earlier.get_mut(at) {
                    there.profile = there.profile.take().or(away.profile);
                    there.parts = there.parts.take().or(away.parts);
                    there.wishes = there.wishes.take().or(away.wishes);
                    there.progress = there.progress.take().or(away.progress);
                }
            }
            Err(at) => self.earlier.insert(at, away),
        }
    }

    /// The day of the first thing recorded of the car that bears one.
    #[must_use]
    pub fn first_record(&self) -> Option<Date> {
        let surveys = self.surveys.iter().map(|s| s.date);
        let repairs = self.repairs.iter().map(|r| r.date);
        let open = self.progress.open.iter().map(|job| job.since);
        surveys.chain(repairs).chain(open).min()
    }

    /// The car as it was known at the end of a day. What was recorded later of an earlier day counts as known on that day.
    #[must_use]
    pub fn as_known_on(&self, day: Date) -> Car {
        let mut car = self.clone();
        car.surveys.retain(|s| s.date <= day);
        for survey in &mut car.surveys {
            survey.second_looks.retain(|s| s.on <= day);
        }
        car.repairs.retain(|r| r.date <= day);
        let later = || self.earlier.iter().filter(|e| e.until > day);
        if let Some(profile) = later().find_map(|e| e.profile.clone()) {
            car.profile = *profile;
        }
        if let Some(parts) = later().find_map(|e| e.parts.clone()) {
            car.parts = parts;
        }
        if let Some(wishes) = later().find_map(|e| e.wishes.clone()) {
            car.wishes = wishes;
        }
        if let Some(progress) = later().find_map(|e| e.progress.clone()) {
            car.progress = progress;
        }
        car.progress
            .purchases
            .retain(|p| p.paid_on.is_none_or(|paid| paid <= day));
        car.progress.open.retain(|job| job.since <= day);
        car.earlier.retain(|e| e.until <= day);
        car
    }
}
