//! Repairs: what they renew, open, need and owe.

use serde::{Deserialize, Serialize};

use super::{Halfway, judgement};

/// Work that renews or treats one or more parts of one station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Repair {
    /// Unique id.
    pub id: String,
    /// Name, as an order: `Renew the track rod end`.
    pub name: String,
    /// The component it is for.
    pub component: String,
    /// What it does to the parts.
    #[serde(default)]
    pub kind: RepairKind,
    /// Other components at the same corner that are renewed with it.
    #[serde(default)]
    pub also_renews: Vec<String>,
    /// Home mechanic's hours for one station, without access and without trouble; a specialist's own hours.
    pub hours: f64,
    /// Where the hours come from.
    #[serde(default = "judgement")]
    pub source: String,
    /// Access steps it needs; the steps those need come with them.
    #[serde(default)]
    pub access: Vec<String>,
    /// Follow-ups that are owed after it, shared by a visit.
    #[serde(default)]
    pub follow_ups: Vec<String>,
    /// Parts to buy, per station.
    #[serde(default)]
    pub buy: Vec<NewPart>,
    /// Fasteners that are undone or done up.
    #[serde(default)]
    pub fixings: Vec<Fixing>,
    /// Tools beyond a socket set.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Whether the other side is done with it.
    #[serde(default)]
    pub pair: Pair,
    /// Repairs that must come first when both are planned.
    #[serde(default)]
    pub after: Vec<After>,
    /// Who does it, where it is not the owner's work: the car is away, the owner's hours are not used.
    #[serde(default)]
    pub specialist: Option<Specialist>,
    /// Ids of cautions.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Short steps or notes for the worksheet.
    #[serde(default)]
    pub notes: Vec<String>,
    /// Whether the repair may be left half done.
    #[serde(default)]
    pub halfway: Option<Halfway>,
}

/// What a repair does to the parts it covers.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub enum RepairKind {
    /// All checks of the part start again at new.
    #[default]
    Renew,
    /// Only the checks named start again, at new: the boot of a joint, the nut of a stud.
    RenewChecks(Vec<String>),
    /// The checks named are cleaned, greased or painted and restart at a grade.
    Treat(Vec<Reset>),
}

/// Somebody whose trade the work is. Its hours are theirs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Specialist {
    /// The trade: `welder`, `alignment shop`.
    pub trade: String,
    /// Days from booking to the day the car is wanted.
    pub wait_days: u32,
    /// The bill for the work, without parts, for one station; money of the same size as that of parts.
    pub cost: f64,
}

/// Where a treatment leaves a check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reset {
    /// The check.
    pub check: String,
    /// The grade it restarts at.
    pub to: crate::units::Grade,
    /// The worst grade it may still be used at, where treating anything worse would only hide it.
    #[serde(default)]
    pub up_to: Option<crate::units::Grade>,
}

/// A part to buy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NewPart {
    /// What to ask for at the counter.
    pub name: String,
    /// How many for one station.
    #[serde(default = "one")]
    pub count: u32,
    /// Cost of one, in money of the size of a euro, a dollar or a pound.
    #[serde(default)]
    pub cost: f64,
    /// Days from order to hand.
    #[serde(default)]
    pub lead_days: u32,
}

fn one() -> u32 {
    1
}

/// A fastener of a repair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fixing {
    /// Which one: `ball stud nut`, `inner pivot bolt`.
    pub name: String,
    /// How many for one station.
    #[serde(default = "one")]
    pub count: u32,
    /// Thread, an id of the thread table: `M12x1.25`. Typical; the car's own may differ.
    #[serde(default)]
    pub thread: Option<String>,
    /// Strength class, `8.8` or `10.9`. Typical.
    #[serde(default)]
    pub class: Option<String>,
    /// Across flats, mm. Typical.
    #[serde(default)]
    pub hex: Option<f64>,
    /// What stops it turning loose, and whether it may be used again.
    #[serde(default)]
    pub locking: Locking,
    /// What to hold while turning: `hexagon key in the stud end`, `second spanner`.
    #[serde(default)]
    pub held_by: Option<String>,
    /// When it gets its final torque.
    #[serde(default)]
    pub tightened: Tightened,
    /// The check of the same component whose grade is this fastener's thread grade.
    #[serde(default)]
    pub graded_by: Option<String>,
    /// Minutes to cut it off, where what it holds is thrown away anyway: trouble with its thread costs no more than that.
    #[serde(default)]
    pub cut_off: Option<f64>,
}

/// How a fastener is locked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Locking {
    /// By its tension only.
    #[default]
    Plain,
    /// Self-locking nut; used once.
    SelfLocking,
    /// Castle nut and split pin; new pin each time.
    SplitPin,
    /// Patch-coated or stretched bolt; used once.
    UsedOnce,
    /// A second nut.
    LockNut,
    /// Tab washer; new each time.
    TabWasher,
}

/// When a fastener gets its final torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Tightened {
    /// At once, in any position.
    #[default]
    AtOnce,
    /// With the car's weight on the wheels: the rubber in it works by twisting.
    AtRideHeight,
    /// With the wheel on the ground, because the torque is high.
    OnTheGround,
}

/// Whether the other side is done too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Pair {
    /// Each side by itself.
    #[default]
    Free,
    /// Better both; offered, not forced.
    Should,
    /// Never one side alone.
    Must,
}

/// A repair that comes first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct After {
    /// The repair that comes first.
    pub repair: String,
    /// How near it must be to count.
    #[serde(default)]
    pub within: Within,
}

/// How far a rule, a step or a follow-up reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum Within {
    /// The same corner (axle and side).
    Corner,
    /// The same axle, both sides.
    #[default]
    Axle,
    /// The whole car.
    Car,
}
