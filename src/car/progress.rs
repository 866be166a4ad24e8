//! What lies between a plan and a repair done: parts on order or in hand, and work that stands open.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::rubric::{NewPart, PartId};

/// How far the buying of a part has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Buying {
    /// Still to be bought.
    #[default]
    ToBuy,
    /// Ordered, and expected on a day.
    Ordered {
        /// The day.
        expected: Date,
    },
    /// On the shelf.
    InHand,
}

/// What the owner has said of one part to buy for one repair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Purchase {
    /// The part of the car that the repair is done on.
    pub part: PartId,
    /// The repair's id.
    pub repair: String,
    /// What is bought, in the words of the repair: `track rod end`.
    pub name: String,
    /// How far it has come.
    #[serde(default)]
    pub status: Buying,
    /// What it costs in all, where the owner knows better than the rubric.
    #[serde(default)]
    pub price: Option<f64>,
    /// Days from order to hand, where the owner knows better than the rubric.
    #[serde(default)]
    pub lead_days: Option<u32>,
    /// The day it was paid; `None` when it was not, or lay there already.
    #[serde(default)]
    pub paid_on: Option<Date>,
}

impl Purchase {
    /// Nothing said yet.
    #[must_use]
    pub fn new(part: PartId, repair: &str, name: &str) -> Purchase {
        Purchase {
            part,
            repair: repair.to_owned(),
            name: name.to_owned(),
            status: Buying::ToBuy,
            price: None,
            lead_days: None,
            paid_on: None,
        }
    }

    /// The same with another status: money is spent when it is ordered, and got back when it is still to be bought after all.
    /// What lay on the shelf from the beginning was not paid. `usual` is the rubric's price.
    #[must_use]
    pub fn now_is(mut self, status: Buying, today: Date, usual: f64) -> Purchase {
        let was = std::mem::replace(&mut self.status, status);
        match status {
            Buying::ToBuy => self.paid_on = None,
            Buying::Ordered { .. } => {
                self.paid_on.get_or_insert(today);
                self.price.get_or_insert(usual);
            }
            Buying::InHand if was == Buying::ToBuy && self.price.is_some() => {
                self.paid_on.get_or_insert(today);
            }
            Buying::InHand => {}
        }
        self
    }

    /// Whether it is for the same thing.
    #[must_use]
    pub fn is_for(&self, part: &PartId, repair: &str, name: &str) -> bool {
        self.part == *part && self.repair == repair && self.name == name
    }

    /// Whether it says nothing that the rubric does not.
    #[must_use]
    pub fn says_nothing(&self) -> bool {
        self.status == Buying::ToBuy && self.price.is_none() && self.lead_days.is_none()
    }
}

/// A repair that was begun and not finished: the car stands open until it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OpenJob {
    /// The part it is for.
    pub part: PartId,
    /// The repair's id.
    pub repair: String,
    /// The day it was left.
    pub since: Date,
    /// Hours worked on it so far.
    #[serde(default)]
    pub hours_so_far: f64,
    /// Hours still to go, closing up included, where the owner has said so.
    #[serde(default)]
    pub hours_left: Option<f64>,
    /// Access steps that stand open, their ids.
    #[serde(default)]
    pub open_steps: Vec<String>,
    /// What has been done of it, in the owner's words.
    #[serde(default)]
    pub did: Vec<String>,
    /// What came on top: a sheared stud, a seized bolt.
    #[serde(default)]
    pub extra: Vec<ExtraWork>,
    /// A remark.
    #[serde(default)]
    pub note: String,
}

/// Work that nobody planned and that must be done before a repair can be closed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ExtraWork {
    /// What: `drill out the sheared pinch bolt`.
    pub what: String,
    /// Hours.
    pub hours: f64,
    /// Parts it needs.
    #[serde(default)]
    pub buy: Vec<NewPart>,
}

/// Everything between plan and repair done.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Progress {
    /// Parts to buy of which the owner has said something.
    #[serde(default)]
    pub purchases: Vec<Purchase>,
    /// Repairs begun and not finished.
    #[serde(default)]
    pub open: Vec<OpenJob>,
}

impl Progress {
    /// What the owner has said of a part to buy.
    #[must_use]
    pub fn purchase(&self, part: &PartId, repair: &str, name: &str) -> Option<&Purchase> {
        self.purchases.iter().find(|p| p.is_for(part, repair, name))
    }

    /// The repair of a part that stands open.
    #[must_use]
    pub fn open_on(&self, part: &PartId) -> Option<&OpenJob> {
        self.open.iter().find(|job| job.part == *part)
    }

    /// Replaces what was said of the same thing; saying nothing takes it away.
    pub fn buy(&mut self, purchase: Purchase) {
        self.purchases
            .retain(|p| !p.is_for(&purchase.part, &purchase.repair, &purchase.name));
        if !purchase.says_nothing() {
            self.purchases.push(purchase);
        }
    }
}
