//! What a car is, where it lives and how it is used.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::rubric::Side;
use crate::units::DistanceUnit;

/// A car's profile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Profile {
    /// What its owner calls it.
    pub name: String,
    /// When it was built, if known; the first of the month or year when only that is known.
    pub built: Option<Date>,
    /// The layout pieces it is made of, one of each choice.
    pub layout: Vec<String>,
    /// Which side its driver sits on.
    pub drive_side: Side,
    /// What its odometer counts.
    pub distance_unit: DistanceUnit,
    /// Kilometres a year, in use.
    pub yearly_km: f64,
    /// Months (1 to 12) in which its roads are salted.
    pub salted_months: Vec<u8>,
    /// How many times an ordinary month a salted one counts for rust.
    #[serde(default = "usual_salt_factor")]
    pub salt_factor: f64,
    /// Climate class, an id of the climate table: `C3`.
    pub climate: String,
    /// How it is kept, an id of the storage table: `garage`.
    pub storage: String,
    /// In use or laid up.
    pub in_use: Use,
    /// When the next survey is meant to be.
    pub next_survey: Option<Date>,
    /// When its owner works on it.
    pub sessions: Sessions,
    /// What its owner can spend.
    pub budget: Budget,
    /// Tools owned, in the words the repairs use.
    pub tools: Vec<String>,
    /// Since when it is out of all lists: sold, or given up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retired: Option<Date>,
}

/// Salted months count double for rust (judgement).
#[must_use]
pub fn usual_salt_factor() -> f64 {
    2.0
}

/// Whether the car is driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Use {
    /// Driven: everything is closed up after each visit.
    #[default]
    InUse,
    /// Off the road: what is open stays open, wear stops, rust and ageing go on.
    LaidUp,
}

/// When the owner works on the car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sessions {
    /// Days of the week.
    pub weekdays: Vec<Day>,
    /// Hours of one session.
    pub hours: f64,
    /// Other hours on some of these days.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hours_on: Vec<(Day, f64)>,
    /// Single sessions, each with its own hours; on a day of the week that is free anyway they replace its session.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub listed: Vec<Session>,
    /// No session before this date.
    pub from: Option<Date>,
    /// Days that are not free.
    #[serde(default)]
    pub except: Vec<Date>,
    /// Holidays and other stretches that are not free.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub days_off: Vec<DaysOff>,
    /// Days by which the car is needed, or work is meant to be done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub targets: Vec<Target>,
}

/// One session.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Session {
    /// The day.
    pub date: Date,
    /// Its hours.
    pub hours: f64,
}

/// A stretch of days that are not free, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct DaysOff {
    /// The first.
    pub from: Date,
    /// The last.
    pub to: Date,
}

/// A day that matters: `before the salt`, `before the next inspection`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Target {
    /// What it is.
    pub name: String,
    /// The day; work done on the day itself is too late.
    pub date: Date,
}

impl Sessions {
    /// Hours of the session on a day; `None` when there is none.
    #[must_use]
    pub fn on(&self, day: Date) -> Option<f64> {
        let off = self.except.contains(&day) || self.days_off.iter().any(|off| off.from <= day && day <= off.to);
        if off || self.from.is_some_and(|from| day < from) {
            return None;
        }
        let listed = self.listed.iter().find(|session| session.date == day);
        let weekly = || {
            let weekday = Day::of(day);
            let own = self.hours_on.iter().find(|(on, _)| *on == weekday);
            (self.weekdays.contains(&weekday)).then(|| own.map_or(self.hours, |(_, hours)| *hours))
        };
        listed
            .map(|session| session.hours)
            .or_else(weekly)
            .filter(|hours| *hours > 0.0)
    }
}

impl Default for Sessions {
    /// Saturdays, six hours.
    fn default() -> Self {
        Sessions {
            weekdays: vec![Day::Saturday],
            hours: 6.0,
            from: None,
            hours_on: Vec::new(),
            listed: Vec::new(),
            except: Vec::new(),
            days_off: Vec::new(),
            targets: Vec::new(),
        }
    }
}

/// What can be spent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Budget {
    /// In hand on `since`.
    pub in_hand: f64,
    /// Added each month after that.
    pub per_month: f64,
    /// When `in_hand` was counted; today if absent.
    pub since: Option<Date>,
    /// The sign of the money, for showing.
    pub currency: String,
    /// Whether the budget is kept to; if not, cost does not delay work.
    pub limited: bool,
}

impl Default for Budget {
    fn default() -> Self {
        Budget {
            in_hand: 0.0,
            per_month: 0.0,
            since: None,
            currency: "€".to_owned(),
            limited: false,
        }
    }
}

/// A day of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Day {
    /// Monday.
    Monday,
    /// Tuesday.
    Tuesday,
    /// Wednesday.
    Wednesday,
    /// Thursday.
    Thursday,
    /// Friday.
    Friday,
    /// Saturday.
    Saturday,
    /// Sunday.
    Sunday,
}

impl Day {
    /// All days, Monday first.
    pub const ALL: [Day; 7] = [
        Day::Monday,
        Day::Tuesday,
        Day::Wednesday,
        Day::Thursday,
        Day::Friday,
        Day::Saturday,
        Day::Sunday,
    ];

    /// The day of the week of a date.
    #[must_use]
    pub fn of(date: Date) -> Day {
        let from_monday = usize::try_from(date.weekday().to_monday_zero_offset()).unwrap_or(0);
        Day::ALL.get(from_monday).copied().unwrap_or(Day::Monday)
    }

    /// Its name.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Day::Monday => "Monday",
            Day::Tuesday => "Tuesday",
            Day::Wednesday => "Wednesday",
            Day::Thursday => "Thursday",
            Day::Friday => "Friday",
            Day::Saturday => "Saturday",
            Day::Sunday => "Sunday",
        }
    }
}
