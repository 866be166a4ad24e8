//! What stands on a worksheet.

use jiff::civil::Date;
use serde::Serialize;

use crate::rubric::{PartId, Tightened};
use crate::units::Grade;

/// Everything one needs beside the car on the day of a visit, and before it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worksheet {
    /// The car's name.
    pub car: String,
    /// The day the plan was made for.
    pub made: Date,
    /// The visit's number, from 1.
    pub number: usize,
    /// How many visits the plan has.
    pub of: usize,
    /// The day.
    pub date: Date,
    /// Further days it takes.
    pub runs_on: Vec<Date>,
    /// The repairs in a line each.
    pub work: Vec<String>,
    /// Why it stands here.
    pub why: Vec<String>,
    /// Half the time it takes no longer.
    pub median_hours: f64,
    /// Nine times in ten it takes no longer.
    pub high_hours: f64,
    /// The hours in words.
    pub hours: String,
    /// With whom it is booked, when it is.
    pub booking: Option<BookingSheet>,
    /// What must be ready before the day.
    pub ready: Ready,
    /// Tools.
    pub tools: Tools,
    /// The steps of the day, in order.
    pub steps: Vec<Step>,
    /// What is open since an earlier visit, the car being laid up.
    pub already_open: Vec<String>,
    /// What stays open for a later visit, the car being laid up.
    pub stays_open: Vec<String>,
    /// When one may stop half-way.
    pub stops: Stops,
    /// What is tightened, in the order in which it gets its final torque.
    pub tightening: Vec<Row>,
    /// What to look at while it is apart.
    pub looks: Vec<LookThere>,
    /// Stands on everything that orders work.
    pub remark: String,
}

/// With whom the car is, and when.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BookingSheet {
    /// The trade.
    pub trade: String,
    /// The last day to ring.
    pub book_by: Date,
    /// When the car is back.
    pub away_until: Date,
    /// Their bill without parts.
    pub bill: Option<String>,
}

/// What must be ready before the day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ready {
    /// The last day to order.
    pub order_by: Option<Date>,
    /// What all of it costs.
    pub cost: Option<String>,
    /// Parts to buy.
    pub buy: Vec<Buy>,
    /// Nuts, bolts and pins that are used once; they may come with the parts.
    pub renew: Vec<Renewal>,
    /// Threads to soak.
    pub soak: Vec<SoakLine>,
    /// What is likely to shear or round, worst first.
    pub shear: Vec<Shear>,
}

/// A part to buy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Buy {
    /// How many.
    pub count: u32,
    /// What to ask for.
    pub name: String,
    /// Price and days to come.
    pub remark: String,
}

/// Something used once.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Renewal {
    /// How many.
    pub count: u32,
    /// What: `new self-locking nut, M12x1.25`.
    pub what: String,
    /// For which fixings.
    pub places: Vec<String>,
}

/// A thread to soak.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoakLine {
    /// The first day.
    pub on: Date,
    /// Part and fixing.
    pub what: String,
    /// The grade it was seen at.
    pub grade: Option<Grade>,
    /// Minutes of trouble to expect.
    pub minutes: f64,
    /// What to do.
    pub advice: String,
}

/// A fixing that is likely to shear or round.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shear {
    /// The probability that at least one of them does.
    pub probability: f64,
    /// Part and fixing.
    pub what: String,
    /// The grade it was seen at; without one the figure is that of this car's other threads.
    pub grade: Option<Grade>,
    /// The spare to have ready.
    pub spare: String,
    /// What to do when it does.
    pub then: Option<String>,
}

/// Tools.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tools {
    /// Those not owned, this visit's first need before later ones.
    pub lacking: Vec<Lacking>,
    /// Those owned.
    pub owned: Vec<String>,
    /// Across-flats sizes of the visit's fixings in mm, small before large.
    pub sockets: Vec<f64>,
    /// What to hold fixings with.
    pub holding: Vec<String>,
    /// Fixings whose size the rubrics do not give.
    pub unsized_fixings: Vec<String>,
}

/// A tool not owned.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lacking {
    /// The tool.
    pub name: String,
    /// The visit that first needs it, from 1.
    pub visit: usize,
    /// Its day.
    pub date: Date,
}

/// What kind of step it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum StepKind {
    /// While the car stands on its wheels, before anything is lifted.
    BeforeLifting,
    /// Something is opened.
    Open,
    /// A repair.
    Repair,
    /// Something owed.
    Owed,
    /// Something is closed.
    Close,
    /// Tightening at ride height.
    RideHeight,
    /// Tightening with the wheel on the ground.
    OnTheGround,
    /// With a booking: what the owner does.
    Arrange,
    /// With a booking: what the trade is asked to do.
    AskFor,
}

/// One step of the day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// Its number, from 1.
    pub number: usize,
    /// Its kind.
    pub kind: StepKind,
    /// What and where.
    pub title: String,
    /// How deep it lies: 0, or one more than what had to be open for it.
    pub depth: usize,
    /// Hours, where they are known.
    pub hours: Option<f64>,
    /// Cautions, in full, where they first hold.
    pub cautions: Vec<String>,
    /// Earlier steps whose cautions hold here too.
    pub again: Vec<usize>,
    /// What is held up or tied.
    pub support: Option<String>,
    /// Short steps.
    pub notes: Vec<String>,
    /// An earlier step with the same notes.
    pub same_as: Option<usize>,
    /// Fixings to undo.
    pub undo: Vec<Undo>,
    /// Numbers of the rows of the tightening table that are tightened here.
    pub tighten: Vec<usize>,
    /// Whether one may stop when it is done.
    pub may_stop: bool,
    /// The next step after which one may; nothing after the last of them.
    pub next_stop: Option<usize>,
    /// The repair it belongs to, by its place in the visit.
    pub work: Option<usize>,
}

/// A fixing to undo.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Undo {
    /// How many.
    pub count: u32,
    /// Which.
    pub name: String,
    /// Thread and size, as far as known.
    pub size: String,
    /// How it is locked.
    pub locking: Option<String>,
    /// What to hold.
    pub held_by: Option<String>,
    /// What trouble to expect.
    pub trouble: String,
    /// The row of the tightening table.
    pub row: usize,
}

/// A row of the tightening table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its number, from 1.
    pub number: usize,
    /// When.
    pub when: Tightened,
    /// The part.
    pub part: PartId,
    /// The part in words.
    pub part_name: String,
    /// The repair.
    pub repair: String,
    /// How many.
    pub count: u32,
    /// The fixing.
    pub name: String,
    /// Thread and size, as far as known.
    pub size: String,
    /// How it is locked and what must be new.
    pub locking: Option<String>,
    /// What to hold.
    pub held_by: Option<String>,
    /// The value of the car's own manual, with its unit.
    pub manual: Option<String>,
    /// The guide in N·m for a dry thread; nothing where thread or class is not known.
    pub guide: Option<f64>,
    /// Its place in the visit's list.
    pub place: usize,
}

/// A part to look at while it is open.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookThere {
    /// The part.
    pub part: PartId,
    /// The part in words.
    pub part_name: String,
    /// Checks nobody has seen.
    pub unseen: Vec<String>,
    /// Checks last seen long ago, with the day.
    pub old: Vec<(String, Date)>,
    /// Minutes.
    pub minutes: f64,
}

/// When one may stop half-way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stops {
    /// Numbers of the steps after which the car may be left, not driven, until the next session.
    pub after: Vec<usize>,
    /// What may wait, and on what condition.
    pub waits: Vec<Stop>,
    /// What may not, and why.
    pub not: Vec<Stop>,
    /// Repairs of which nothing is stated: they are finished once begun.
    pub unknown: Vec<String>,
}

/// One thing that may, or may not, wait.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stop {
    /// What.
    pub what: String,
    /// On what condition, or why not.
    pub says: String,
    /// Where that comes from.
    pub source: String,
}

/// Heading of a group of the tightening table.
#[must_use]
pub fn group(when: Tightened) -> &'static str {
    match when {
        Tightened::AtOnce => "At once",
        Tightened::AtRideHeight => "At ride height, the car's weight on its wheels",
        Tightened::OnTheGround => "With the wheel on the ground",
    }
}
