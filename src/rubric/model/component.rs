//! Components: their checks, how those decline, what may happen, what the law says.

use serde::{Deserialize, Serialize};

use super::{Stage, System, judgement};

/// A component's yardstick: its checks, what may happen, and how one check quickens another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Component {
    /// Unique id, small letters and hyphens.
    pub id: String,
    /// Name as a mechanic says it, capital first.
    pub name: String,
    /// Other names it goes by in the trade, small letters: `tie rod end`.
    #[serde(default)]
    pub also_called: Vec<String>,
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
    /// Whether it can be made then and there. One that waits for a filling, a drive, an hour or a soak is not asked at a first
    /// look; nor is one of the stage `Drive`.
    #[serde(default = "yes")]
    pub on_the_spot: bool,
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

fn yes() -> bool {
    true
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
    /// Exponent of ISO 9224 for bare steel that slows as it rusts; then the life is in years to that power, and it counts
    /// only for parts whose age is known. Sheltered steel does not slow: leave it out there.
    #[serde(default)]
    pub weathering: Option<f64>,
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
