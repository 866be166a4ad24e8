//! What a plan says.

use jiff::civil::Date;
use serde::Serialize;

use super::limits::LimitCost;
use crate::car::Buying;
use crate::engine::workpace::WorkPace;
use crate::rubric::{NewPart, PartId, Station};
use crate::units::Grade;

/// A car's work plan.
#[derive(Debug, Clone, Serialize)]
pub struct Plan {
    /// The day it was made for.
    pub today: Date,
    /// Looks that come before any work, because nothing has been seen of the part: largest exposure under the rubric first.
    pub look_first: Vec<LookFirst>,
    /// The visits, in order of date.
    pub visits: Vec<Visit>,
    /// Repairs wanted that could not be placed, and why.
    pub not_placed: Vec<NotPlaced>,
    /// Total exposure of the planned parts if the plan is followed.
    pub exposure: f64,
    /// Their exposure if nothing is done until the last visit's day.
    pub exposure_undone: f64,
    /// No plan can have less than this.
    pub bound: f64,
    /// Whether the search proved that nothing better exists.
    pub proven_best: bool,
    /// When the car may be driven again as far as the plan goes: the visit after which no planned part keeps it off the road.
    pub back_on_the_road: Option<Date>,
    /// What is done by the days that matter to the owner.
    pub targets: Vec<TargetSaid>,
    /// What earlier jobs say of the owner's hours; the visits' hours follow it.
    pub pace: WorkPace,
    /// What each of the owner's limits costs, where that was asked for: see [`super::limits`].
    pub limits: Vec<LimitCost>,
}

impl Plan {
    /// How far from the best possible it can be at most, as a share of the bound; 0 when proven best.
    #[must_use]
    pub fn gap(&self) -> f64 {
        if self.proven_best || self.bound <= 0.0 {
            0.0
        } else {
            (self.exposure / self.bound - 1.0).max(0.0)
        }
    }

    /// All work with the visit it stands in.
    pub fn work(&self) -> impl Iterator<Item = (&Visit, &Work)> {
        self.visits
            .iter()
            .flat_map(|visit| visit.work.iter().map(move |work| (visit, work)))
    }

    /// The work that does something to a part.
    #[must_use]
    pub fn work_on(&self, part: &PartId) -> Option<(&Visit, &Work)> {
        self.work().find(|(_, work)| work.covers.contains(part))
    }

    /// Hours of the owner's, of all visits.
    #[must_use]
    pub fn hours(&self) -> f64 {
        let own = self.visits.iter().filter(|v| v.booking.is_none());
        own.map(|v| v.hours.mean).sum()
    }

    /// Money still to be paid for all visits.
    #[must_use]
    pub fn cost(&self) -> f64 {
        self.visits.iter().map(|v| v.cost).sum()
    }
}

/// What the plan says of a day that matters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TargetSaid {
    /// What the owner calls it.
    pub name: String,
    /// The day.
    pub date: Date,
    /// Work finished before it: the parts it is for.
    pub done: Vec<PartId>,
    /// Planned or wanted work that is not.
    pub left: Vec<PartId>,
    /// Exposure until the next survey of that which is not.
    pub points_left: f64,
    /// The day of a visit begun before it that may not close before it: it runs on beyond, or does so one time in ten.
    pub may_not_close: Option<Date>,
}

/// A part to buy for one repair of one part of the car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToBuy {
    /// The part of the car.
    pub part: PartId,
    /// The repair's id.
    pub repair: String,
    /// What to ask for at the counter.
    pub name: String,
    /// How many.
    pub count: u32,
    /// What one costs.
    pub cost: f64,
    /// Days from order to hand.
    pub lead_days: u32,
    /// How far the buying has come.
    pub status: Buying,
    /// The day on which the plan has it in hand; ordered today if it is still to be bought.
    pub ready: Date,
    /// Whether it should have come by now. It is then reckoned to take its time from order to hand once more.
    pub overdue: bool,
    /// The last day to order it for its visit; `None` when it is ordered or in hand.
    pub order_by: Option<Date>,
}

impl ToBuy {
    /// Money still to be paid for it.
    #[must_use]
    pub fn to_pay(&self) -> f64 {
        match self.status {
            Buying::ToBuy => f64::from(self.count) * self.cost.max(0.0),
            Buying::Ordered { .. } | Buying::InHand => 0.0,
        }
    }
}

/// A part of which nothing has been seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookFirst {
    /// The part.
    pub part: PartId,
    /// Its checks not seen.
    pub checks: Vec<String>,
    /// Its exposure under the rubric alone, until the next survey.
    pub points: f64,
    /// Minutes of looking.
    pub minutes: f64,
}

/// One working session.
#[derive(Debug, Clone, Serialize)]
pub struct Visit {
    /// The day.
    pub date: Date,
    /// Days on which its work runs on, when a repair is longer than a session; of a booking, the sessions it takes besides
    /// its first.
    pub runs_on: Vec<Date>,
    /// With whom it is booked; `None` when it is the owner's own. A booking lists no access, tools or threads: those are
    /// the trade's, as are its hours. Its follow-ups are to be agreed: the trade does them, or the owner once the car is back.
    pub booking: Option<Booking>,
    /// Repairs, in working order.
    pub work: Vec<Work>,
    /// What is opened, in order.
    pub access: Vec<Opened>,
    /// What is owed at the end.
    pub follow_ups: Vec<Owed>,
    /// Hours.
    pub hours: HoursSpread,
    /// Hours that its sessions have for it.
    pub room: f64,
    /// The session into which it runs one time in ten or more often: its 90 % hours are more than it has.
    pub may_run_into: Option<Date>,
    /// What its repairs need, each with how far the buying has come.
    pub parts: Vec<ToBuy>,
    /// What is not in hand yet, all of the visit's repairs together.
    pub buy: Vec<NewPart>,
    /// What is still to be paid for it, a specialist's bill included.
    pub cost: f64,
    /// When to order, so that the slowest part still to be bought is in hand.
    pub order_by: Option<Date>,
    /// Tools the visit needs.
    pub tools: Vec<String>,
    /// Those of them the owner does not have.
    pub tools_missing: Vec<String>,
    /// Threads to soak before the visit.
    pub soak: Vec<Soak>,
    /// What is tightened, and when.
    pub tightening: Vec<Tightening>,
    /// Ids of the cautions of its work.
    pub cautions: Vec<String>,
    /// Why it stands here.
    pub why: Vec<Why>,
    /// Exposure rate taken away: share of the whole car's exposure until the next survey.
    pub share: f64,
    /// Exposure until the next survey of what is left after it.
    pub left_after: f64,
    /// Work that could be added with little more opening.
    pub while_in_there: Vec<Offer>,
}

/// A visit in which somebody else has the car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Booking {
    /// The trade: `welder`, `alignment shop`.
    pub trade: String,
    /// The last day to ring, so that they have a day for it.
    pub book_by: Date,
    /// The day on which the car is back: the owner's next session that the booking does not take.
    pub away_until: Date,
    /// Their bill, without parts.
    pub labour: f64,
}

/// Mean, median and 90 % hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HoursSpread {
    /// Mean; what the plan is made with.
    pub mean: f64,
    /// Median.
    pub median: f64,
    /// Nine times in ten it takes no longer.
    pub high: f64,
}

/// One repair of a visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Work {
    /// The repair's id.
    pub repair: String,
    /// The part it is for; of a pair, the first side.
    pub part: PartId,
    /// The parts it is done on: one, or both sides where one side alone will not do.
    pub on: Vec<PartId>,
    /// All parts it renews or treats, those it is done on included.
    pub covers: Vec<PartId>,
    /// Mean hours, trouble with threads included; those of the trade if it is booked with one.
    pub hours: f64,
    /// Exposure until the next survey that it takes away.
    pub points: f64,
    /// The trade it is booked with; `None` for the owner's own work.
    pub trade: Option<String>,
    /// Other repairs that would do, their ids.
    pub instead: Vec<String>,
    /// Why it is in the plan.
    pub because: Because,
    /// The day on which it is finished; of a booking, the day the car is back.
    pub done_on: Date,
    /// Exposure its parts carry until then.
    pub carried: f64,
}

/// Why a repair is in the plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum Because {
    /// Its exposure until the next survey is at least one point.
    Exposure,
    /// It is in the law's major or dangerous class.
    Law,
    /// A check is graded 4 or 5.
    Graded(Grade),
    /// The owner ticked it.
    Ticked,
    /// It was begun and stands open.
    StandsOpen,
}

/// An access step at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Opened {
    /// The step's id.
    pub step: String,
    /// Where.
    pub station: Station,
    /// Hours to open and close.
    pub hours: f64,
}

/// A follow-up at a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Owed {
    /// The follow-up's id.
    pub follow_up: String,
    /// Where.
    pub station: Station,
    /// Hours.
    pub hours: f64,
}

/// A thread to soak.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Soak {
    /// The part.
    pub part: PartId,
    /// The fastener.
    pub fixing: String,
    /// The day of the first soak.
    pub on: Date,
    /// The grade it was seen at, if it was.
    pub grade: Option<Grade>,
    /// Expected extra minutes.
    pub minutes: f64,
}

/// A fastener to tighten.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tightening {
    /// The part.
    pub part: PartId,
    /// The repair it belongs to.
    pub repair: String,
    /// Place in the repair's list of fixings.
    pub fixing: usize,
    /// Guide torque in N·m for a dry thread, if thread and class are known. The car's own manual wins.
    pub guide: Option<f64>,
}

/// Why a visit stands where it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum Why {
    /// It takes away this share of the whole car's exposure.
    TakesAway(f64),
    /// It takes the notice off one part.
    EndsNotice(PartId),
    /// Repairs that share a step pay for it once: step id and how many repairs.
    SharesStep(String, usize),
    /// A follow-up is done once for so many repairs.
    SharesFollowUp(String, usize),
    /// A repair waits for another one: the repair, what comes first.
    After(String, String),
    /// Parts are not in hand before.
    WaitsForParts(Date),
    /// The trade has no day before.
    WaitsForTrade(String, Date),
    /// So many repairs share one booking.
    SharesBooking(usize),
    /// Money is not in hand before.
    WaitsForMoney(Date),
    /// The owner fixed it to this date.
    Pinned,
    /// It was begun and the car stands open: it is closed as soon as it can be.
    StandsOpen,
    /// Little danger, little hurry: it fills what is left.
    Last,
}

/// Work that could be added to a visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offer {
    /// The repair.
    pub repair: String,
    /// The part.
    pub part: PartId,
    /// Hours it adds here.
    pub hours: f64,
    /// Hours of opening it saves against a visit of its own.
    pub saves: f64,
    /// Whether it is offered because the other side is done.
    pub other_side: bool,
}

/// A repair that found no place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotPlaced {
    /// The part.
    pub part: PartId,
    /// The repair, if there is one.
    pub repair: Option<String>,
    /// Why not.
    pub because: NotPlacedBecause,
}

/// Why a repair found no place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum NotPlacedBecause {
    /// No rubric repairs this component.
    NoRepair,
    /// The calendar has no session.
    NoSession,
    /// The budget does not reach it within the years planned.
    NoMoney,
    /// It fits in none of the sessions planned for.
    NoRoom,
    /// A repair that must come first found no place.
    WaitsForUnplaced,
    /// The day it is fixed to is too early for its parts, its specialist or the money, or is taken.
    PinnedDay,
    /// The calendar ends before it could be done.
    CalendarEnds,
    /// The owner left it out.
    Dropped,
}
