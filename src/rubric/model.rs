//! The plain types of a rubric file, as they stand in RON.
//!
//! One file type serves every purpose: [`RubricFile`] has a list for each kind of thing, all optional, so that a file may
//! hold one component or a whole system. Later files replace items of earlier ones with the same id. Numbers that have no
//! published source say "judgement" or "common practice, no source" in their `source` field.

pub mod component;
pub mod halfway;
pub mod repair;
pub mod tables;

pub use component::*;
pub use halfway::*;
pub use repair::*;
pub use tables::*;

use serde::{Deserialize, Serialize};

/// The schema number this program reads and writes for rubric files.
pub const RUBRIC_SCHEMA: u32 = 1;

/// Everything one rubric file may hold.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RubricFile {
    /// The format's version; see [`RUBRIC_SCHEMA`].
    pub schema: u32,
    /// Components with their checks.
    #[serde(default)]
    pub components: Vec<Component>,
    /// Repairs of components.
    #[serde(default)]
    pub repairs: Vec<Repair>,
    /// What must be opened first.
    #[serde(default)]
    pub access_steps: Vec<AccessStep>,
    /// What must be done once after one or more repairs of a visit.
    #[serde(default)]
    pub follow_ups: Vec<FollowUp>,
    /// Pieces of car layout that place components at stations.
    #[serde(default)]
    pub layouts: Vec<LayoutPiece>,
    /// Kinds of car that many are like.
    #[serde(default)]
    pub usual_cars: Vec<UsualCar>,
    /// What a thread of each grade does when it is undone.
    #[serde(default)]
    pub thread_grades: Vec<ThreadGrade>,
    /// Metric threads.
    #[serde(default)]
    pub threads: Vec<Thread>,
    /// Strength classes of bolts.
    #[serde(default)]
    pub strength_classes: Vec<StrengthClass>,
    /// Climate classes.
    #[serde(default)]
    pub climates: Vec<Climate>,
    /// Ways a car is kept.
    #[serde(default)]
    pub storages: Vec<Storage>,
    /// Cautions, named so that several repairs and checks can share one text.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// The system of the car a component belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum System {
    /// Wheel, column, gear, rods.
    Steering,
    /// Arms, joints, bushes, springs, dampers, hubs at the front.
    FrontSuspension,
    /// The same at the rear.
    RearSuspension,
    /// Shafts, joints, couplings, mounts.
    Driveline,
    /// Everything that stops the car.
    Brakes,
    /// Wheels, tyres, their fixings and alignment.
    Wheels,
    /// Body, frame and what is bolted to them for strength.
    Structure,
    /// Tank, pipes, straps.
    Fuel,
    /// Exhaust and its hangers.
    Exhaust,
    /// Engine and gearbox mounts.
    Engine,
}

/// When in the walk round the car a check is made; the order of the variants is the order of the walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Stage {
    /// Standing on its wheels, from outside.
    OnItsWheels,
    /// From the driver's seat.
    Cabin,
    /// Bonnet open.
    Bonnet,
    /// Front on stands.
    FrontRaised,
    /// Rear on stands.
    RearRaised,
    /// From underneath.
    Underneath,
    /// Driving, or just after.
    Drive,
}

/// What stands where no source is named.
fn judgement() -> String {
    "judgement".to_owned()
}
