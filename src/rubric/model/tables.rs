//! What components and repairs share: access steps, follow-ups, layouts, threads, climates, storages, cautions.

use serde::{Deserialize, Serialize};

use super::{Halfway, NewPart, OwedWhen, Within};
use crate::rubric::station::Station;

/// Something that must be opened or set up, paid once per visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AccessStep {
    /// Unique id.
    pub id: String,
    /// Name: `Front on stands`, `Wheel off`.
    pub name: String,
    /// Whether it is paid for each corner, each axle, or once for the car.
    pub within: Within,
    /// Hours to open and close again.
    pub hours: f64,
    /// Steps that come first.
    #[serde(default)]
    pub needs: Vec<String>,
    /// Tools.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Ids of cautions.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// What is done for it while the car stands on its wheels, before anything is lifted; short steps.
    #[serde(default)]
    pub before_lifting: Vec<String>,
    /// How it is opened; short steps.
    #[serde(default)]
    pub open: Vec<String>,
    /// What must be held up or tied while it is open.
    #[serde(default)]
    pub support: Option<String>,
    /// How it is closed again; short steps.
    #[serde(default)]
    pub close: Vec<String>,
    /// Whether the car may be left with it open.
    #[serde(default)]
    pub halfway: Option<Halfway>,
}

/// Work owed once after a visit's repairs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FollowUp {
    /// Unique id.
    pub id: String,
    /// Name: `Set the toe`, `Bleed the brakes`.
    pub name: String,
    /// Whether it is owed per corner, per axle or once for the car.
    pub within: Within,
    /// Hours.
    pub hours: f64,
    /// Tools.
    #[serde(default)]
    pub tools: Vec<String>,
    /// Parts to buy, once.
    #[serde(default)]
    pub buy: Vec<NewPart>,
    /// Ids of cautions.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Short steps.
    #[serde(default)]
    pub notes: Vec<String>,
    /// When it is done.
    #[serde(default)]
    pub when: OwedWhen,
    /// Whether the car may be left while it is still owed.
    #[serde(default)]
    pub halfway: Option<Halfway>,
}

/// One piece of a car's layout. A car takes one piece of each choice, and every piece of the choice `always`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayoutPiece {
    /// Unique id: `rack`, `front-strut`.
    pub id: String,
    /// What it is a choice of: `steering`, `front-suspension`; `always` is in every car.
    pub choice: String,
    /// Name.
    pub name: String,
    /// What it places where.
    pub places: Vec<Placement>,
}

/// The choice whose pieces are in every car.
pub const ALWAYS: &str = "always";

/// One component at its stations.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// The component.
    pub component: String,
    /// Its stations.
    pub at: Vec<Station>,
    /// Placed only in a car that also has one of these pieces of layout; always when empty.
    #[serde(default)]
    pub with: Vec<String>,
}

/// A kind of car that many are like: a piece of every choice, to start from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UsualCar {
    /// Unique id: `front-drive-hatchback`.
    pub id: String,
    /// Name: `Small hatchback, front-wheel drive, from the 1980s on`.
    pub name: String,
    /// Its pieces, one of each choice.
    pub layout: Vec<String>,
}

/// What a thread of one grade does when it is undone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThreadGrade {
    /// The grade, 0 to 5.
    pub grade: crate::units::Grade,
    /// Probability that it is seized and costs the extra time.
    pub seizes: f64,
    /// Probability that it shears or rounds.
    pub shears: f64,
    /// Extra minutes when it seizes.
    pub minutes: f64,
    /// Share of the core's diameter that rust has taken on such a thread, where nobody has measured it.
    #[serde(default)]
    pub core_lost: f64,
    /// What to do, in a line.
    pub advice: String,
    /// What to try, in this order, until it turns.
    #[serde(default)]
    pub ladder: Vec<LadderStep>,
    /// Where the numbers come from.
    pub source: String,
}

/// One step of the ladder up which a rusted fastener is tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LadderStep {
    /// What to do, as an order.
    pub what: String,
    /// Ids of cautions that stand beside it.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Where it comes from.
    pub source: String,
}

/// A metric thread.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Thread {
    /// Unique id: `M10x1.25`.
    pub id: String,
    /// Nominal diameter, mm.
    pub diameter: f64,
    /// Pitch, mm.
    pub pitch: f64,
}

/// A strength class of ISO 898-1.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StrengthClass {
    /// Unique id: `8.8`.
    pub id: String,
    /// Proof stress up to and including M16, MPa.
    pub proof: f64,
    /// Proof stress above M16, MPa.
    pub proof_large: f64,
    /// Where it comes from.
    pub source: String,
}

/// A corrosivity class of ISO 9223.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Climate {
    /// Unique id: `C3`.
    pub id: String,
    /// What such a place is like.
    pub name: String,
    /// First-year loss of carbon steel, µm: lower limit of the class.
    pub loss_from: f64,
    /// Upper limit of the class.
    pub loss_to: f64,
    /// Where the numbers come from.
    pub source: String,
}

/// A way of keeping a car.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Storage {
    /// Unique id: `garage`.
    pub id: String,
    /// Name.
    pub name: String,
    /// Factor on the corrosion clock.
    pub corrosion: f64,
    /// Factor on the ageing clock.
    pub ageing: f64,
    /// Where the factors come from.
    pub source: String,
}

/// A caution, shared by id.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Unique id.
    pub id: String,
    /// The text, in plain trade English.
    pub text: String,
    /// Where it comes from.
    pub source: String,
}
