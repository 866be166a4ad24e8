//! Every way in which what is known of a car may change. The journal keeps a line for each.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{
    Asked, Car, Earlier, Look, OpenJob, OwnTorque, PartNote, Profile, Purchase, RepairDone, SecondLook, Survey, Wishes,
};
use crate::rubric::PartId;

/// One change to a car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Change {
    /// The profile is replaced.
    Profile(Box<Profile>),
    /// The owner's word on a part is replaced; an empty note removes it.
    Part(PartId, PartNote),
    /// The car's own manual's value for a fixing of a part, in the place of an earlier one.
    Torque(PartId, OwnTorque),
    /// The manual's value for the fixing of that name is taken away.
    NoTorque(PartId, String),
    /// A survey is begun, or its odometer and note are replaced.
    Survey {
        /// The day.
        date: Date,
        /// Odometer in kilometres.
        odometer_km: Option<f64>,
        /// Remark.
        note: String,
    },
    /// A survey that has no look yet is taken back as if it had not been begun.
    Unbegun(Date),
    /// The checks that a survey asks as a first look are replaced; none is a whole round.
    FirstLook {
        /// The survey's day.
        survey: Date,
        /// The checks; empty while they are not chosen yet.
        asks: Option<Vec<Asked>>,
    },
    /// A look is added to a survey, or replaces the one of the same check.
    Look {
        /// The survey's day.
        survey: Date,
        /// The look.
        look: Look,
    },
    /// A look is taken back.
    Unlook {
        /// The survey's day.
        survey: Date,
        /// The part.
        part: PartId,
        /// The check.
        check: String,
    },
    /// A check of a survey was graded a second time, blind; replaces an earlier second look at it, never the look.
    SecondLook {
        /// The survey's day.
        survey: Date,
        /// The second look.
        second: SecondLook,
    },
    /// A repair was done.
    Done(RepairDone),
    /// The repair done that stands at this place in the list is taken back.
    Undone(usize),
    /// The owner's wishes for the plan are replaced.
    Wishes(Wishes),
    /// What is said of a part to buy is replaced; a purchase that says nothing takes it away.
    Buy(Purchase),
    /// A repair was begun and not finished, or more is known of one.
    Left(OpenJob),
    /// The repair of a part no longer stands open.
    Closed(PartId),
    /// What is about to change is put away as it stood.
    Earlier(Box<Earlier>),
}

/// Why a change does not fit a car.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ChangeError {
    /// A look names a survey that was not begun.
    #[error("there is no survey of {0}; begin it first")]
    NoSurvey(Date),
    /// A survey that is to be taken back has looks.
    #[error("the survey of {0} has looks; take them back first")]
    HasLooks(Date),
    /// There is no tightening value to take away.
    #[error("{0} has no tightening value of your own for `{1}`")]
    NoTorque(PartId, String),
    /// There is no repair at that place in the list.
    #[error("there is no repair number {0} to take back")]
    NoRepair(usize),
    /// Nothing stands open on that part.
    #[error("no repair of {0} stands open")]
    NotOpen(PartId),
}

impl Car {
    /// Applies one change.
    ///
    /// # Errors
    /// When it names a survey or a repair that is not there; the car is then as it was.
    pub fn apply(&mut self, change: Change) -> Result<(), ChangeError> {
        match change {
            Change::Profile(profile) => self.profile = *profile,
            Change::Part(id, note) => {
                if note == PartNote::default() {
                    self.parts.remove(&id);
                } else {
                    self.parts.insert(id, note);
                }
            }
            Change::Torque(id, own) => {
                let torques = &mut self.parts.entry(id).or_default().torques;
                match torques.iter_mut().find(|t| t.fixing == own.fixing) {
                    Some(old) => *old = own,
                    None => torques.push(own),
                }
            }
            Change::NoTorque(id, fixing) => {
                let note = self.parts.get_mut(&id).filter(|note| note.torque(&fixing).is_some());
                let Some(note) = note else {
                    return Err(ChangeError::NoTorque(id, fixing));
                };
                note.torques.retain(|t| t.fixing != fixing);
                if *note == PartNote::default() {
                    self.parts.remove(&id);
                }
            }
            Change::Survey {
                date,
                odometer_km,
                note,
            } => match self.surveys.binary_search_by_key(&date, |s| s.date) {
                Ok(at) => {
                    if let Some(survey) = self.surveys.get_mut(at) {
                        survey.odometer_km = odometer_km;
                        survey.note = note;
                    }
                }
                Err(at) => {
                    let mut survey = Survey::new(date, odometer_km);
                    survey.note = note;
                    self.surveys.insert(at, survey);
                }
            },
            Change::Unbegun(date) => {
                let survey = self.survey_mut(date)?;
                if !survey.looks.is_empty() || !survey.second_looks.is_empty() {
                    return Err(ChangeError::HasLooks(date));
                }
                self.surveys.retain(|s| s.date != date);
            }
            Change::FirstLook { survey, asks } => self.survey_mut(survey)?.first_look = asks,
            Change::Look { survey, look } => {
                let survey = self.survey_mut(survey)?;
                match survey
                    .looks
                    .iter_mut()
                    .find(|l| l.check == look.check && l.part == look.part)
                {
                    Some(old) => *old = look,
                    None => survey.looks.push(look),
                }
            }
            Change::Unlook { survey, part, check } => {
                self.survey_mut(survey)?
                    .looks
                    .retain(|l| l.check != check || l.part != part);
            }
            Change::SecondLook { survey, second } => {
                let given = &mut self.survey_mut(survey)?.second_looks;
                match given
                    .iter_mut()
                    .find(|s| s.check == second.check && s.part == second.part)
                {
                    Some(old) => *old = second,
                    None => given.push(second),
                }
            }
            Change::Done(done) => {
                let at = self.repairs.partition_point(|r| r.date <= done.date);
                self.repairs.insert(at, done);
            }
            Change::Undone(at) => {
                if at >= self.repairs.len() {
                    return Err(ChangeError::NoRepair(at));
                }
                self.repairs.remove(at);
            }
            Change::Wishes(wishes) => self.wishes = wishes,
            Change::Buy(purchase) => self.progress.buy(purchase),
            Change::Left(job) => {
                self.progress.open.retain(|open| open.part != job.part);
                self.progress.open.push(job);
            }
            Change::Closed(part) => {
                let there = self.progress.open.len();
                self.progress.open.retain(|open| open.part != part);
                if self.progress.open.len() == there {
                    return Err(ChangeError::NotOpen(part));
                }
            }
            Change::Earlier(away) => self.keep_earlier(*away),
        }
        Ok(())
    }

    fn survey_mut(&mut self, date: Date) -> Result<&mut Survey, ChangeError> {
        self.surveys
            .iter_mut()
            .find(|s| s.date == date)
            .ok_or(ChangeError::NoSurvey(date))
    }
}
