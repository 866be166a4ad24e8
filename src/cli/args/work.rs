//! Arguments about the plan and the work itself.

use clap::Args;
use jiff::civil::Date;

use super::{Form, JsonForm, day};

/// A plan, as it is or under something supposed.
#[derive(Debug, Args)]
pub struct PlanOf {
    /// The car
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub car: Option<String>,
    /// One calendar and one budget for all cars
    #[arg(long, conflicts_with_all = ["supposed", "alternatives"])]
    pub all: bool,
    /// Something supposed; prints what it would change
    #[arg(long = "if", value_name = "WHAT")]
    pub supposed: Vec<String>,
    /// Set the repairs that would do for this part against each other
    #[arg(long, value_name = "PART", conflicts_with = "supposed")]
    pub alternatives: Option<String>,
    /// Leave out what each limit costs, which takes a while to reckon
    #[arg(long)]
    pub quick: bool,
    /// Form.
    #[command(flatten)]
    pub form: Form,
}

/// The state of what is bought for a part.
#[derive(Debug, Args)]
pub struct Order {
    /// The car
    pub car: String,
    /// The part of the car, written component@station
    pub part: String,
    /// Only this one of the things it needs
    #[arg(long, value_name = "NAME")]
    pub only: Option<String>,
    /// The repair, where it is not the one planned
    #[arg(long, value_name = "REPAIR")]
    pub repair: Option<String>,
    /// Ordered, and expected on this day
    #[arg(long, value_name = "DATE", value_parser = day, conflicts_with_all = ["in_hand", "to_buy"])]
    pub expected: Option<Date>,
    /// On the shelf
    #[arg(long, conflicts_with = "to_buy")]
    pub in_hand: bool,
    /// Still to be bought
    #[arg(long)]
    pub to_buy: bool,
    /// What it costs in all
    #[arg(long, value_name = "MONEY")]
    pub price: Option<String>,
    /// Days from order to hand
    #[arg(long, value_name = "DAYS")]
    pub lead_days: Option<u32>,
}

/// A part left out of the plan.
#[derive(Debug, Args)]
pub struct Drop {
    /// The car
    pub car: String,
    /// The part, written component@station
    pub part: String,
    /// Take it back into the plan
    #[arg(long)]
    pub off: bool,
}

/// What was found.
#[derive(Debug, Args)]
pub struct Found {
    /// The car
    pub car: String,
    /// The part, written component@station
    pub part: String,
    /// What was found, a grade, a reading or yes or no: boot=4
    #[arg(required = true, value_name = "CHECK=VALUE")]
    pub found: Vec<String>,
    /// The day [default: today]
    #[arg(long, value_parser = day)]
    pub date: Option<Date>,
    /// A remark
    #[arg(long)]
    pub note: Option<String>,
}

/// A repair begun and not finished.
#[derive(Debug, Args)]
pub struct Leave {
    /// The car
    pub car: String,
    /// The repair's id
    pub repair: String,
    /// The part, written component@station
    pub part: String,
    /// The day [default: today]
    #[arg(long, value_parser = day)]
    pub date: Option<Date>,
    /// Hours it took so far
    #[arg(long)]
    pub hours: Option<String>,
    /// Hours still to go, closing up included
    #[arg(long)]
    pub hours_left: Option<String>,
    /// What has been done of it; may be given several times
    #[arg(long, value_name = "TEXT")]
    pub did: Vec<String>,
    /// A fixing that sheared: its name, and the hours to put it right if you know them: "pinch bolt=2"
    #[arg(long, value_name = "FIXING[=HOURS]")]
    pub sheared: Vec<String>,
    /// Other work that came on top, with its hours: "clean the seat=0.5"
    #[arg(long, value_name = "WHAT=HOURS")]
    pub extra: Vec<String>,
    /// A part that is needed besides: name, cost and days to come: "pinch bolt=6,3"
    #[arg(long, value_name = "NAME=COST,DAYS")]
    pub buy: Vec<String>,
    /// What was found: CHECK=VALUE of this part, or "PART CHECK=VALUE"
    #[arg(long, value_name = "FOUND")]
    pub found: Vec<String>,
    /// Anything worth keeping
    #[arg(long)]
    pub note: Option<String>,
    /// It was put back together without being finished: it no longer stands open
    #[arg(long, conflicts_with_all = ["hours_left", "sheared", "extra", "buy"])]
    pub closed: bool,
}

/// A repair done.
#[derive(Debug, Args)]
pub struct Done {
    /// The car
    pub car: String,
    /// The repair's id; without it the repairs done are listed
    #[arg(requires = "part")]
    pub repair: Option<String>,
    /// The part, written component@station
    pub part: Option<String>,
    /// All repairs of this visit of the plan
    #[arg(long, value_name = "NUMBER", conflicts_with_all = ["repair", "undo"])]
    pub visit: Option<usize>,
    /// The day it was finished [default: today]
    #[arg(long, value_parser = day)]
    pub date: Option<Date>,
    /// What the odometer showed
    #[arg(long, value_name = "DISTANCE")]
    pub odometer: Option<String>,
    /// Hours it took
    #[arg(long)]
    pub hours: Option<String>,
    /// What it cost [default: what was paid for its parts]
    #[arg(long)]
    pub cost: Option<String>,
    /// A tightening value used: "ball stud nut=40", "pinch bolt=33 lbf·ft"; may be given several times
    #[arg(long, value_name = "FIXING=TORQUE")]
    pub torque: Vec<String>,
    /// A part that was fitted; may be given several times
    #[arg(long, value_name = "NAME")]
    pub fitted: Vec<String>,
    /// What was found while it was apart: CHECK=VALUE of this part before the repair, or "PART CHECK=VALUE"
    #[arg(long, value_name = "FOUND")]
    pub found: Vec<String>,
    /// A remark
    #[arg(long)]
    pub note: Option<String>,
    /// Take back the repair with this number in the list
    #[arg(long, value_name = "NUMBER", conflicts_with = "repair")]
    pub undo: Option<usize>,
    /// Form.
    #[command(flatten)]
    pub form: JsonForm,
}
