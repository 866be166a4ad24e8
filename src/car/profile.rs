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
    /// No session before this date.
    pub from: Option<Date>,
    /// Days that are not free.
    #[serde(default)]
    pub except: Vec<Date>,
}

impl Default for Sessions {
    /// Saturdays, six hours.
    fn default() -> Self {
        Sessions {
            weekdays: vec![Day::Saturday],
            hours: 6.0,
            from: None,
            except: Vec::new(),
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
