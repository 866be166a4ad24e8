//! What the screens ask of the outside: keeping cars on disk or in memory, and the engine's reckoning.

pub mod photos;

use std::sync::Arc;

use jiff::civil::Date;

use super::app::Msg;
use super::desk::{CarRow, CarSays, Keeping, Reckoned, SeriesOf, Tried};
use crate::car::{Car, Change, Profile, Wishes};
use crate::engine::memory::Memory;
use crate::engine::plan::limits::LimitCost;
use crate::engine::{assess, history, next_winter, plan, sides};
use crate::report::next_winter::paragraphs;
use crate::report::whole::winter;
use crate::report::{Subject, whatif, words};
use crate::rubric::{Library, PartId};
use crate::store::{Access, DataFolder, Draft, Drafts, OpenCar};

/// Where the car in hand is kept.
#[derive(Debug)]
enum Kept {
    /// Nowhere: no car is in hand.
    Nothing,
    /// On disk.
    Disk(Box<OpenCar>),
    /// In memory.
    Memory(Box<Car>),
}

/// The outside, as far as the screens need it.
#[derive(Debug)]
pub struct World {
    yard: Option<DataFolder>,
    kept: Kept,
    /// The day on which changes are recorded, if it is known.
    today: Option<Date>,
}

impl World {
    /// All cars of a folder, none in hand.
    #[must_use]
    pub fn yard(folder: DataFolder) -> World {
        World {
            yard: Some(folder),
            kept: Kept::Nothing,
            today: None,
        }
    }

    /// One car on disk.
    #[must_use]
    pub fn car(car: OpenCar) -> World {
        World {
            yard: None,
            kept: Kept::Disk(Box::new(car)),
            today: None,
        }
    }

    /// One car in memory.
    #[must_use]
    pub fn memory(car: Car) -> World {
        World {
            yard: None,
            kept: Kept::Memory(Box::new(car)),
            today: None,
        }
    }

    /// The same, recording on a day: what is said without a day of its own is then kept in its earlier forms.
    #[must_use]
    pub fn on(self, today: Date) -> World {
        World {
            today: Some(today),
            ..self
        }
    }

    /// The car in hand, how it is kept, and what its opening found odd.
    #[must_use]
    pub fn in_hand(&self) -> Option<(Arc<Car>, Keeping, Vec<String>)> {
        match &self.kept {
            Kept::Nothing => None,
            Kept::Memory(car) => Some((Arc::new((**car).clone()), Keeping::Memory, Vec::new())),
            Kept::Disk(open) => {
                let keeping = match open.read_only() {
                    Some(why) => Keeping::ReadOnly(why.to_owned()),
                    None => Keeping::Disk,
                };
                Some((Arc::new(open.car().clone()), keeping, open.notices().to_vec()))
            }
        }
    }

    /// Where what is being typed is kept, if anywhere.
    fn drafts(&self) -> Option<Drafts> {
        match &self.kept {
            Kept::Disk(open) => open.drafts(),
            Kept::Memory(_) => None,
            Kept::Nothing => self.yard.as_ref().map(DataFolder::drafts),
        }
    }

    /// What was being typed when the program ended.
    #[must_use]
    pub fn read_drafts(&self) -> Vec<Draft> {
        self.drafts().map_or_else(Vec::new, |drafts| drafts.read())
    }

    /// Keeps what is being typed. It is a help, not a promise: that it cannot be kept is no reason to disturb the typing.
    pub fn keep_drafts(&self, kept: &[Draft]) {
        if let Some(drafts) = self.drafts() {
            let _ = drafts.keep(kept);
        }
    }

    /// Saves changes, all or none. When this returns, they are where the car is kept.
    ///
    /// # Errors
    /// Why not, in a sentence; the car is then as it was.
    pub fn record(&mut self, changes: Vec<Change>) -> Result<Arc<Car>, String> {
        match &mut self.kept {
            Kept::Nothing => Err("there is no car in hand".to_owned()),
            Kept::Memory(car) => {
                let mut changed = (**car).clone();
                for change in changes {
                    changed.apply(change).map_err(|e| e.to_string())?;
                }
                **car = changed;
                Ok(Arc::new((**car).clone()))
            }
            Kept::Disk(open) => {
                if let Some(today) = self.today {
                    open.keep_from(today);
                }
                open.record_all(changes).map_err(|e| e.to_string())?;
                Ok(Arc::new(open.car().clone()))
            }
        }
    }

    /// Lets go of the car in hand; tidying its folder is only convenience, so a failure there loses nothing.
    pub fn put_away(&mut self) {
        if let Kept::Disk(open) = &mut self.kept {
            let _ = open.tidy();
        }
        if self.yard.is_some() {
            self.kept = Kept::Nothing;
        }
    }

    /// Opens a car of the Yard.
    #[must_use]
    pub fn open(&mut self, id: &str) -> Msg {
        let opened = self.yard.as_ref().map(|yard| yard.open(id, Access::Write));
        self.take(opened)
    }

    /// Makes a new car in the Yard and opens it.
    #[must_use]
    pub fn create(&mut self, profile: Profile) -> Msg {
        let opened = self.yard.as_ref().map(|yard| yard.create(profile));
        self.take(opened)
    }

    fn take(&mut self, opened: Option<Result<OpenCar, crate::store::StoreError>>) -> Msg {
        match opened {
            None => Msg::Opened(Err("there is no yard to take a car from".to_owned())),
            Some(Err(why)) => Msg::Opened(Err(why.to_string())),
            Some(Ok(open)) => {
                self.kept = Kept::Disk(Box::new(open));
                Msg::Opened(self.in_hand().ok_or_else(|| "the car was not opened".to_owned()))
            }
        }
    }

    /// The cars of the Yard: a line for each, and the cars themselves for the engine.
    #[must_use]
    pub fn list(&self) -> (Msg, Vec<(String, Car)>) {
        let Some(yard) = &self.yard else {
            return (Msg::Listed(Ok(Vec::new())), Vec::new());
        };
        let entries = match yard.cars() {
            Ok(entries) => entries,
            Err(why) => return (Msg::Listed(Err(why.to_string())), Vec::new()),
        };
        let mut rows = Vec::new();
        let mut cars = Vec::new();
        let stands_here =
            |entry: &crate::store::CarEntry| !matches!(&entry.car, Ok(car) if car.profile.retired.is_some());
        for entry in entries.into_iter().filter(stands_here) {
            let (name, last_survey, trouble) = match &entry.car {
                Ok(car) => (car.profile.name.clone(), car.surveys.last().map(|s| s.date), None),
                Err(why) => (entry.name.clone(), None, Some(why.to_string())),
            };
            rows.push(CarRow {
                id: entry.name.clone(),
                name,
                last_survey,
                trouble,
                says: None,
            });
            if let Ok(car) = entry.car {
                cars.push((entry.name, car));
            }
        }
        (Msg::Listed(Ok(rows)), cars)
    }
}

/// Everything the engine says of a car; quick where most of it is in the memory.
#[must_use]
pub fn reckon(car: &Car, library: &Library, today: Date, memory: &mut Memory) -> Reckoned {
    let assessment = assess::assess_again(car, library, today, memory);
    Reckoned {
        sides: sides::sides(car, library, &assessment),
        plan: plan::plan(car, library, &assessment),
        assessment,
    }
}

/// What other wishes would change of a car's plan.
#[must_use]
pub fn tried(car: &Car, library: &Library, reckoned: &Reckoned, wishes: Wishes) -> Tried {
    let mut other = car.clone();
    other.wishes = wishes.clone();
    let plan = plan::plan(&other, library, &reckoned.assessment);
    Tried {
        wishes,
        difference: plan::whatif::difference(&reckoned.assessment, &reckoned.plan, &plan),
        plan,
    }
}

/// What each limit of a car's owner costs.
#[must_use]
pub fn limits(car: &Car, library: &Library, reckoned: &Reckoned) -> Vec<LimitCost> {
    plan::limits::limits(car, library, &reckoned.assessment)
}

/// What would do for a part, as a text to read: heading and paragraphs.
#[must_use]
pub fn alternatives(
    car: &Car,
    library: &Library,
    reckoned: &Reckoned,
    part: &PartId,
) -> (String, Vec<(String, String)>) {
    let subject = Subject {
        car,
        library,
        assessment: &reckoned.assessment,
    };
    let all = plan::alternatives::alternatives(car, library, &reckoned.assessment, part);
    let heading = format!("What would do: {}", words::part(library, part));
    (heading, whatif::paragraphs(&subject, &all))
}

/// The newest survey against the one before it and how well the forecasts did, as a text to read: heading and paragraphs.
#[must_use]
pub fn looking_back(car: &Car, library: &Library, reckoned: &Reckoned) -> (String, Vec<(String, String)>) {
    let today = reckoned.assessment.today;
    let (from, to) = match next_winter::two_surveys(car, None, None, today) {
        Ok(days) => days,
        Err(why) => {
            return (
                "The next winter".to_owned(),
                vec![(String::new(), words::large(&why) + ".")],
            );
        }
    };
    let section = winter::compared(library, &next_winter::compare(car, library, from, to, today));
    let heading = section.title.clone();
    let mut said = paragraphs(&section);
    if let Some(calibration) = next_winter::calibration(car, library, today) {
        let section = winter::calibrated(&calibration);
        said.push((section.title.clone(), String::new()));
        said.extend(paragraphs(&section));
    }
    (heading, said)
}

/// The engine's word on a car for its line in the Yard.
#[must_use]
pub fn says(car: &Car, library: &Library, today: Date, memory: &mut Memory) -> CarSays {
    let reckoned = reckon(car, library, today, memory);
    let first = reckoned
        .assessment
        .parts
        .iter()
        .filter(|p| p.rank.is_some())
        .min_by_key(|p| p.rank.map(|r| r.place));
    CarSays {
        first: first.map(|p| (words::part(library, &p.id), p.worst.as_ref().map(|w| w.grade))),
        notice: !reckoned.assessment.notice.is_empty(),
        next_visit: reckoned.plan.visits.first().map(|v| v.date),
    }
}

/// A check's history and forecast.
#[must_use]
pub fn series(car: &Car, library: &Library, today: Date, of: (PartId, String, u8), memory: &Memory) -> SeriesOf {
    let (part, check, years) = of;
    SeriesOf {
        series: history::series(car, library, today, &part, &check, f64::from(years), memory),
        part,
        check,
        years,
    }
}
