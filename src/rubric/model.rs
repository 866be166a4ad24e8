//! The plain types of a rubric file, as they stand in RON.
//!
//! One file type serves every purpose: [`RubricFile`] has a list for each kind of thing, all optional, so that a file may
//! hold one component or a whole system. Later files replace items of earlier ones with the same id. Numbers that have no
//! published source say "judgement" or "common practice, no source" in their `source` field.

use serde::{Deserialize, Serialize};

use super::station::Station;

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

/// A component's yardstick: its checks, what may happen, and how one check quickens another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Component {
    /// Unique id, small letters and hyphens.
    pub id: String,
    /// Name as a mechanic says it, capital first.
    pub name: String,
    /// The system it belongs to.
    pub system: System,
    /// What it does and how it goes wrong, one or two plain sentences.
    pub about: String,
    /// Access steps any one of which opens the way to work on it; empty when nothing need be opened.
    #[serde(default)]
    pub opened_by: Vec<String>,
    /// What to look at.
    pub checks: Vec<Check>,
    /// What may happen when it lets go.
    #[serde(default)]
    pub modes: Vec<FailureMode>,
    /// Checks here that make other checks at the same station run faster.
    #[serde(default)]
    pub couplings: Vec<Coupling>,
}

/// One thing to look at or measure on a component.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Id, unique within its component.
    pub id: String,
    /// Short name: `Boot`, `Play`, `Stud nut thread`.
    pub name: String,
    /// When in the walk round the car.
    pub stage: Stage,
    /// How it is judged.
    pub kind: CheckKind,
    /// How to look, lever or measure.
    pub how: String,
    /// Ids of cautions to show with it.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// How many minutes the look takes, median.
    #[serde(default = "default_minutes")]
    pub minutes: f64,
    /// What makes it decline, and how fast.
    pub decline: Decline,
    /// From which grade on the law calls it deficient, mildest first.
    #[serde(default)]
    pub law: Vec<LawClass>,
    /// Whether a grade 5 here keeps the car off the road whatever the law says.
    #[serde(default)]
    pub keeps_off_the_road: bool,
    /// Own inner edges of the grade bands in damage, if not 0.1, 0.3, 0.5, 0.75, 1.0.
    #[serde(default)]
    pub edges: Option<[f64; 5]>,
}

fn default_minutes() -> f64 {
    2.0
}

/// The usual inner edges of the six grade bands, in damage (judgement).
pub const USUAL_EDGES: [f64; 5] = [0.1, 0.3, 0.5, 0.75, 1.0];

impl Check {
    /// The inner edges of its grade bands, in damage.
    #[must_use]
    pub fn grade_edges(&self) -> [f64; 5] {
        self.edges.unwrap_or(USUAL_EDGES)
    }
}

/// How a check is judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum CheckKind {
    /// By comparing with six descriptions, best first.
    Graded(Vec<String>),
    /// By an instrument.
    Measured(Measure),
    /// By a question; yes means the event has happened or the limit is passed.
    YesNo(YesNo),
}

/// A measured check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measure {
    /// The unit as shown: `mm`, `N·m`, `%`, `degrees`, `clicks`.
    pub unit: String,
    /// What to measure with.
    pub instrument: String,
    /// Standard deviation of one reading, in the unit.
    pub sd: f64,
    /// The value of a new part.
    pub new: f64,
    /// The value at which the part is no longer serviceable.
    pub limit: f64,
    /// Where `new` and `limit` come from.
    pub source: String,
    /// Points that are all measured; the worst governs. Empty means one reading.
    #[serde(default)]
    pub points: Vec<String>,
    /// Whether the limit depends on the car's design, so that its manual must be asked.
    #[serde(default)]
    pub ask_manual: bool,
    /// Whether the quantity grows as the part wears, where its name does not tell: the limit must then be above new
    /// (`true`) or below it (`false`).
    #[serde(default)]
    pub grows: Option<bool>,
}

/// A yes/no check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct YesNo {
    /// The question, answered yes when the part is at or past its limit.
    pub question: String,
    /// What yes looks like.
    pub yes: String,
    /// What no looks like.
    pub no: String,
}

/// How fast a check declines: what drives it and the spread of lives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decline {
    /// What wears it.
    pub driver: Driver,
    /// Typical life from new to limit, in the driver's units (10,000 km, reference years, years).
    pub life: f64,
    /// Where the life comes from.
    pub source: String,
    /// Log-sd of the ordinary rate between parts.
    #[serde(default = "default_spread")]
    pub spread: f64,
    /// The share of parts whose protection is gone, and how much faster they go.
    #[serde(default)]
    pub quickened: Quickened,
    /// How jumpy the decline is (the scale of the gamma process), in damage.
    #[serde(default = "default_jumpiness")]
    pub jumpiness: f64,
    /// How many times faster the damage goes at the limit than when new; 1 is steady.
    #[serde(default = "default_quickening")]
    pub quickening: f64,
}

fn default_spread() -> f64 {
    0.6
}
fn default_jumpiness() -> f64 {
    0.03
}
fn default_quickening() -> f64 {
    1.0
}

/// The quickened share of a prior.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quickened {
    /// Probability that a part has quickened.
    pub share: f64,
    /// How many times faster its median rate is.
    pub times: f64,
    /// Log-sd of the quickened rate.
    pub spread: f64,
}

impl Default for Quickened {
    fn default() -> Self {
        Quickened {
            share: 0.1,
            times: 5.0,
            spread: 0.8,
        }
    }
}

/// The clock that wears a check.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Driver {
    /// Distance; one unit is 10,000 km.
    Wear,
    /// Rust; one unit is a year of the reference climate.
    Corrosion(Surface),
    /// Age of rubber and the like; one unit is a year.
    Ageing,
    /// A weighted sum of the three.
    Mixed {
        /// Weight of wear.
        wear: f64,
        /// Weight of corrosion of coated metal.
        corrosion: f64,
        /// Weight of ageing.
        ageing: f64,
    },
}

/// Whether the metal that rusts is bare or painted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Surface {
    /// Bare metal: the climate factor counts in full.
    Bare,
    /// Painted or coated metal: the climate factor's square root.
    Coated,
}

/// The three classes of Directive 2014/45/EU, mildest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Class {
    /// No significant effect on safety.
    Minor,
    /// May prejudice safety.
    Major,
    /// A direct and immediate risk.
    Dangerous,
}

/// From which grade on a check is in a class of deficiency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LawClass {
    /// The mildest grade that is in the class.
    pub from: crate::units::Grade,
    /// The class.
    pub class: Class,
    /// Item number in Annex I of the Directive, or of the source named.
    pub item: String,
    /// Where the class comes from, or "from memory".
    pub source: String,
}

/// Severity of MIL-STD-882E, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Severity {
    /// I: death, permanent total disability.
    Catastrophic,
    /// II: permanent partial disability, several in hospital.
    Critical,
    /// III: injury with lost work days.
    Marginal,
    /// IV: injury without lost work days.
    Negligible,
}

/// What may happen when a component lets go.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FailureMode {
    /// Id, unique within its component.
    pub id: String,
    /// What happens, one plain sentence.
    pub what: String,
    /// How bad that is.
    pub severity: Severity,
    /// Ids of the checks of this component that drive it.
    pub driven_by: Vec<String>,
    /// The damage at which it lets go: median and log-sd.
    #[serde(default)]
    pub lets_go: LetsGo,
    /// Checks that, from a grade on, mean it has already happened.
    #[serde(default)]
    pub happened: Vec<Happened>,
    /// Where severity and level come from.
    #[serde(default = "judgement")]
    pub source: String,
}

fn judgement() -> String {
    "judgement".to_owned()
}

/// The random level of damage at which a part lets go: log-normal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LetsGo {
    /// Median level, in damage (1 is the service limit).
    pub median: f64,
    /// Log-sd.
    pub spread: f64,
}

impl Default for LetsGo {
    fn default() -> Self {
        LetsGo {
            median: 1.6,
            spread: 0.3,
        }
    }
}

/// A grade from which a mode has already happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Happened {
    /// The check.
    pub check: String,
    /// The mildest grade that means it has happened.
    pub from: crate::units::Grade,
}

/// One check past a level makes another, at the same station, run faster.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coupling {
    /// The check of this component that is past a level.
    pub when: String,
    /// The level, in damage.
    pub past: f64,
    /// What runs faster: `check` of this component or `component/check` at the same corner.
    pub quickens: String,
    /// How many times faster.
    pub times: f64,
    /// Where the number comes from.
    pub source: String,
}

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
    /// Home mechanic's hours for one station, without access and without trouble.
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
    /// Whether somebody else does it: the car is away, the owner's hours are not used.
    #[serde(default)]
    pub specialist: bool,
    /// Ids of cautions.
    #[serde(default)]
    pub cautions: Vec<String>,
    /// Short steps or notes for the worksheet.
    #[serde(default)]
    pub notes: Vec<String>,
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
    /// What to do.
    pub advice: String,
    /// Where the numbers come from.
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
