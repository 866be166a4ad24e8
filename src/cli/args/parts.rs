//! Arguments about one part and one fixing.

use clap::Args;

use super::JsonForm;

/// One part of a car.
#[derive(Debug, Args)]
pub struct Part {
    /// The car
    pub car: String,
    /// The part, written component@station; without it all are listed
    pub part: Option<String>,
    /// The layout does not place it, but it is there
    #[arg(long, requires = "part")]
    pub add: bool,
    /// It is not there: an added part is taken off, one of the layout is marked not fitted
    #[arg(long, requires = "part", conflicts_with_all = ["add", "not_fitted"])]
    pub remove: bool,
    /// The layout places it, but this car has none
    #[arg(long, requires = "part", conflicts_with = "add")]
    pub not_fitted: bool,
    /// It is there after all
    #[arg(long, requires = "part", conflicts_with_all = ["remove", "not_fitted"])]
    pub is_fitted: bool,
    /// When it was fitted new, or unknown
    #[arg(long, value_name = "DATE", requires = "part")]
    pub fitted: Option<String>,
    /// The limit in your manual or on the part, for a measured check
    #[arg(long, value_name = "CHECK=VALUE", requires = "part")]
    pub limit: Vec<String>,
    /// The value of a new part in your manual
    #[arg(long, value_name = "CHECK=VALUE", requires = "limit")]
    pub new_value: Vec<String>,
    /// The tightening value in your manual for a fixing; both sides take it
    #[arg(long, value_name = "FIXING=TORQUE", requires = "part")]
    pub torque: Vec<String>,
    /// The tightening value is for this side alone
    #[arg(long, requires = "part")]
    pub this_side_only: bool,
    /// Take a tightening value away again
    #[arg(long, value_name = "FIXING", requires = "part")]
    pub no_torque: Vec<String>,
    /// Where the limit or the tightening value stands
    #[arg(long, value_name = "TEXT", requires = "part")]
    pub source: Option<String>,
    /// Go back to the rubric's limit
    #[arg(long, value_name = "CHECK", requires = "part")]
    pub no_limit: Vec<String>,
    /// Anything worth keeping
    #[arg(long, requires = "part")]
    pub note: Option<String>,
    /// Form.
    #[command(flatten)]
    pub form: JsonForm,
}

/// A thread and class, or a hexagon.
#[derive(Debug, Args)]
pub struct Torque {
    /// Thread and strength class: M12x1.5 10.9
    #[arg(value_name = "THREAD CLASS")]
    pub fixing: Vec<String>,
    /// Thread cleaned and dry, which is assumed otherwise
    #[arg(long, conflicts_with_all = ["oiled", "pasted"])]
    pub dry: bool,
    /// Any oil or grease on the thread
    #[arg(long, conflicts_with = "pasted")]
    pub oiled: bool,
    /// Anti-seize paste on the thread
    #[arg(long)]
    pub pasted: bool,
    /// Friction of thread and seat for the upper limit after VDI 2230 [default: 0.15 dry, 0.11 oiled, 0.10 pasted]
    #[arg(long, value_name = "NUMBER")]
    pub friction: Option<String>,
    /// Grade of a rusted thread: what it takes to undo it, and what to try in order
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=5))]
    pub grade: Option<u8>,
    /// How much of the core's diameter rust has taken, in per cent [default: what is usual at that grade]
    #[arg(long, value_name = "PERCENT", requires = "grade")]
    pub core_loss: Option<String>,
    /// A torque read in a manual, to be set against the guide
    #[arg(long, value_name = "TORQUE")]
    pub value: Option<String>,
    /// Hexagon across flats in mm; without a thread, the threads it is usual on
    #[arg(long, value_name = "MM")]
    pub hex: Option<String>,
    /// Form.
    #[command(flatten)]
    pub form: JsonForm,
}
