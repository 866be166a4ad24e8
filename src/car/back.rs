//! What takes a change back: the other half of every undo. Taking back is itself a change, so the journal keeps a line for it.

use super::{Car, Change, Purchase, Survey};

/// What begins a survey, or sets its odometer and note to what they are.
fn begun(survey: &Survey) -> Change {
    Change::Survey {
        date: survey.date,
        odometer_km: survey.odometer_km,
        note: survey.note.clone(),
    }
}

impl Car {
    /// The changes that, applied after `change`, bring back what this car was before it; empty where that would lose nothing or
    /// cannot be.
    ///
    /// The order of looks in a survey is not part of what is brought back; that of repairs is, for their places name them.
    #[must_use]
    pub fn back_of(&self, change: &Change) -> Vec<Change> {
        match change {
            Change::Profile(_) => vec![Change::Profile(Box::new(self.profile.clone()))],
            Change::Part(id, _) | Change::Torque(id, _) | Change::NoTorque(id, _) => {
                vec![Change::Part(
                    id.clone(),
                    self.parts.get(id).cloned().unwrap_or_default(),
                )]
            }
            Change::Survey { date, .. } => {
                let before = self.surveys.iter().find(|s| s.date == *date);
                vec![before.map_or(Change::Unbegun(*date), begun)]
            }
            Change::Unbegun(date) => {
                let before = self.surveys.iter().find(|s| s.date == *date);
                let first = |s: &Survey| {
                    let asks = s.first_look.clone()?;
                    Some(Change::FirstLook {
                        survey: *date,
                        asks: Some(asks),
                    })
                };
                before.map_or_else(Vec::new, |s| [begun(s)].into_iter().chain(first(s)).collect())
            }
            Change::FirstLook { survey, .. } => {
                let before = self.surveys.iter().find(|s| s.date == *survey);
                vec![Change::FirstLook {
                    survey: *survey,
                    asks: before.and_then(|s| s.first_look.clone()),
                }]
            }
            Change::Look { survey, look } => {
                let there = self.surveys.iter().find(|s| s.date == *survey);
                let before = there.and_then(|s| s.look(&look.part, &look.check)).cloned();
                vec![before.map_or_else(
                    || Change::Unlook {
                        survey: *survey,
                        part: look.part.clone(),
                        check: look.check.clone(),
                    },
                    |look| Change::Look { survey: *survey, look },
                )]
            }
            Change::Unlook { survey, part, check } => {
                let there = self.surveys.iter().find(|s| s.date == *survey);
                let before = there.and_then(|s| s.look(part, check)).cloned();
                before.map_or_else(Vec::new, |look| vec![Change::Look { survey: *survey, look }])
            }
            // A first second look stays: there is no change that takes one away.
            Change::SecondLook { survey, second } => {
                let there = self.surveys.iter().find(|s| s.date == *survey);
                let before = there.and_then(|s| {
                    let mut given = s.second_looks.iter();
                    given
                        .find(|l| l.check == second.check && l.part == second.part)
                        .cloned()
                });
                before.map_or_else(Vec::new, |second| {
                    vec![Change::SecondLook {
                        survey: *survey,
                        second,
                    }]
                })
            }
            // What is put away stays so.
            Change::Earlier(_) => Vec::new(),
            Change::Done(done) => vec![Change::Undone(self.repairs.partition_point(|r| r.date <= done.date))],
            Change::Undone(at) => self.done_again(*at),
            Change::Wishes(_) => vec![Change::Wishes(self.wishes.clone())],
            Change::Buy(purchase) => {
                let before = self.progress.purchase(&purchase.part, &purchase.repair, &purchase.name);
                let nothing = || Purchase::new(purchase.part.clone(), &purchase.repair, &purchase.name);
                vec![Change::Buy(before.cloned().unwrap_or_else(nothing))]
            }
            Change::Left(job) => vec![self.opened(&job.part)],
            Change::Closed(part) => self
                .progress
                .open_on(part)
                .map_or_else(Vec::new, |job| vec![Change::Left(job.clone())]),
        }
    }

    /// The changes that take several changes back, in the order in which they are to be applied.
    ///
    /// # Errors
    /// When one of several changes does not fit the car as the ones before it leave it.
    pub fn back_of_all(&self, changes: &[Change]) -> Result<Vec<Change>, super::ChangeError> {
        if let [one] = changes {
            // Whether it fits is told when it is applied.
            return Ok(self.back_of(one));
        }
        let mut car = self.clone();
        let mut back = Vec::new();
        for change in changes {
            let mut of_this = car.back_of(change);
            of_this.append(&mut back);
            back = of_this;
            car.apply(change.clone())?;
        }
        Ok(back)
    }

    /// What puts a repair taken out of the list back into its place: it comes in behind those of its day, so those that stood
    /// behind it are taken out and put in once more.
    fn done_again(&self, at: usize) -> Vec<Change> {
        let Some(done) = self.repairs.get(at) else {
            return Vec::new();
        };
        let behind = self.repairs.iter().skip(at + 1).take_while(|r| r.date == done.date);
        let moved = behind.flat_map(|other| [Change::Undone(at), Change::Done(other.clone())]);
        std::iter::once(Change::Done(done.clone())).chain(moved).collect()
    }

    /// What brings back whether a repair of a part stood open.
    fn opened(&self, part: &crate::rubric::PartId) -> Change {
        match self.progress.open_on(part) {
            Some(job) => Change::Left(job.clone()),
            None => Change::Closed(part.clone()),
        }
    }
}
