//! What all screens see: the car in hand, the rubrics, the day, what the engine says, and how things are kept.

use std::sync::Arc;

use jiff::civil::Date;

use super::theme::Theme;
use crate::car::round::round;
use crate::car::{Car, Wishes};
use crate::engine::history::DeclineSeries;
use crate::engine::plan::Plan;
use crate::engine::plan::limits::LimitCost;
use crate::engine::plan::whatif::Difference;
use crate::engine::sides::SidePair;
use crate::engine::{Assessment, CheckState, PartState};
use crate::rubric::{Check, Library, PartId, Stage};
use crate::units::Grade;

/// How changes to the car are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Keeping {
    /// Each is on disk before it is shown.
    Disk,
    /// In memory only.
    Memory,
    /// Not at all: who holds the car.
    ReadOnly(String),
}

/// One stop of the Round.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The part.
    pub part: PartId,
    /// The check's id.
    pub check: String,
    /// When in the walk.
    pub stage: Stage,
}

/// What the engine says of a car.
#[derive(Debug, Clone)]
pub struct Reckoned {
    /// Every part's state.
    pub assessment: Assessment,
    /// Left against right.
    pub sides: Vec<SidePair>,
    /// The work plan.
    pub plan: Plan,
}

/// What other wishes would change.
#[derive(Debug, Clone)]
pub struct Tried {
    /// The wishes.
    pub wishes: Wishes,
    /// What they would change.
    pub difference: Difference,
    /// The plan under them.
    pub plan: Plan,
}

/// A check's history and forecast, with whose it is.
#[derive(Debug, Clone)]
pub struct SeriesOf {
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: String,
    /// How many years ahead.
    pub years: u8,
    /// The series; `None` when the engine has nothing to say of it.
    pub series: Option<DeclineSeries>,
}

/// A car in the Yard.
#[derive(Debug, Clone, PartialEq)]
pub struct CarRow {
    /// Its name in the data folder.
    pub id: String,
    /// What its owner calls it.
    pub name: String,
    /// The newest survey.
    pub last_survey: Option<Date>,
    /// What keeps it from being opened, if anything.
    pub trouble: Option<String>,
    /// What the engine says, once reckoned.
    pub says: Option<CarSays>,
}

/// The engine's word on a car, for its line in the Yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CarSays {
    /// The part that ranks first, in words, with its worst grade.
    pub first: Option<(String, Option<Grade>)>,
    /// Whether it carries the notice.
    pub notice: bool,
    /// The next visit.
    pub next_visit: Option<Date>,
}

/// What all screens see.
#[derive(Debug, Clone)]
pub struct Desk {
    /// The rubrics in force.
    pub library: Arc<Library>,
    /// The day.
    pub today: Date,
    /// Colours and characters.
    pub theme: Theme,
    /// How many columns the terminal has, for what is set to a width before it is drawn.
    pub columns: u16,
    /// How many rows it has, for what is scrolled.
    pub rows: u16,
    /// The car in hand.
    pub car: Option<Arc<Car>>,
    /// Counts its changes.
    pub version: u64,
    /// The order of its Round.
    pub stops: Vec<Stop>,
    /// How changes are kept.
    pub keeping: Keeping,
    /// What the engine says, of the version it was reckoned for.
    pub reckoned: Option<(u64, Arc<Reckoned>)>,
    /// Whether the engine is at work.
    pub reckoning: bool,
    /// Series reckoned for this version.
    pub series: Vec<Arc<SeriesOf>>,
    /// The plan tried last for this version.
    pub tried: Option<Arc<Tried>>,
    /// What each limit costs, reckoned for this version.
    pub limits: Option<Arc<Vec<LimitCost>>>,
    /// The cars in the Yard; `None` where there is no Yard.
    pub cars: Option<Vec<CarRow>>,
}

impl Desk {
    /// A desk with no car on it.
    #[must_use]
    pub fn new(library: Arc<Library>, today: Date, theme: Theme) -> Desk {
        Desk {
            library,
            today,
            theme,
            columns: 80,
            rows: 24,
            car: None,
            version: 0,
            stops: Vec::new(),
            keeping: Keeping::Memory,
            reckoned: None,
            reckoning: false,
            series: Vec::new(),
            tried: None,
            limits: None,
            cars: None,
        }
    }

    /// Puts a car, or its newest version, on the desk.
    pub fn lay(&mut self, car: Arc<Car>) {
        let order = round(&car, &self.library);
        self.stops = order
            .into_iter()
            .map(|(part, check, stage)| Stop {
                part,
                check: check.id.clone(),
                stage,
            })
            .collect();
        self.car = Some(car);
        self.version += 1;
        self.series.clear();
        self.tried = None;
        self.limits = None;
    }

    /// What the engine said last of this car, perhaps before its newest change; see [`Desk::is_current`].
    #[must_use]
    pub fn says(&self) -> Option<&Reckoned> {
        self.reckoned.as_ref().map(|(_, reckoned)| &**reckoned)
    }

    /// Whether what the engine said is of the car as it is now.
    #[must_use]
    pub fn is_current(&self) -> bool {
        self.reckoned
            .as_ref()
            .is_some_and(|(version, _)| *version == self.version)
    }

    /// The state of a part.
    #[must_use]
    pub fn part(&self, id: &PartId) -> Option<&PartState> {
        self.says()?.assessment.part(id)
    }

    /// The state of a check of a part.
    #[must_use]
    pub fn check_state(&self, id: &PartId, check: &str) -> Option<&CheckState> {
        self.part(id)?.checks.iter().find(|c| c.check == check)
    }

    /// The rubric's check at a stop.
    #[must_use]
    pub fn check_at(&self, stop: &Stop) -> Option<&Check> {
        self.library.check(&stop.part.component, &stop.check)
    }

    /// A series already reckoned for the car as it is now.
    #[must_use]
    pub fn series_of(&self, part: &PartId, check: &str, years: u8) -> Option<&SeriesOf> {
        self.series
            .iter()
            .find(|s| s.part == *part && s.check == check && s.years == years)
            .map(|s| &**s)
    }
}
