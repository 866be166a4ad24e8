//! What can be said on the command line. The only place that knows how it is parsed.

mod grammar;
mod keeping;
mod look;
mod paper;
mod parts;
mod photo;
mod sheet;
mod winter;
mod work;
mod worksheet;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

pub use grammar::{Spoken, grammar};
pub use keeping::{Restore, Verify};
pub use look::{Background, Look};
pub use paper::{Export, Report};
pub use parts::{Part, Torque};
pub use photo::{Files, Photo};
pub use sheet::{Enter, SheetOf};
pub use winter::{Compare, SecondLook};
pub use work::{Done, Drop, Found, Leave, Order, PlanOf};
pub use worksheet::Worksheet;

/// Stands under the list of verbs.
const AFTER: &str = "\
A first car, from nothing to a plan:
  tinworm new --name \"Blue estate\"
  tinworm sheet \"Blue estate\" --csv > sheet.csv
  tinworm enter \"Blue estate\" sheet.csv
  tinworm plan \"Blue estate\"

Exit codes: 0 done; 1 something in the input or the files is wrong; 2 the command line is wrong or a terminal is needed;
3 there is no such car, part, check, repair or rubric; 4 another program has the car open.

tinworm orders work; it never says that a car is safe. The law where the car is driven, a licensed inspector and the
car's own manual decide.";

/// Look, grade, forecast, rank, plan and repair a corroded project car.
#[derive(Debug, Parser)]
#[command(name = "tinworm", version, about, after_help = AFTER, disable_help_subcommand = true, max_term_width = 100)]
pub struct CommandLine {
    /// What holds for every verb.
    #[command(flatten)]
    pub global: Global,
    /// What to do; without one the terminal screens open.
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// What holds for every verb.
#[derive(Debug, Clone, Args)]
pub struct Global {
    /// Folder in which the cars are kept [default: the system's usual place, or TINWORM_DATA]
    #[arg(long, value_name = "DIR", global = true)]
    pub data: Option<PathBuf>,
    /// Folder with rubric files of your own [default: the system's usual place, or TINWORM_RUBRICS]
    #[arg(long, value_name = "DIR", global = true)]
    pub rubrics: Option<PathBuf>,
    /// Whether to colour: never, always, or auto on a terminal that can and where NO_COLOR is not set
    #[arg(
        long,
        value_name = "WHEN",
        default_value = "auto",
        hide_possible_values = true,
        global = true
    )]
    pub color: When,
    /// How output looks.
    #[command(flatten)]
    pub look: Look,
    /// Reckon as if it were this day, so that the output can be repeated
    #[arg(long, value_name = "DATE", value_parser = day, global = true)]
    pub today: Option<Date>,
    /// The car as it was known on this past day: what was recorded of later days is left out
    #[arg(long, value_name = "DATE", value_parser = day, global = true)]
    pub on: Option<Date>,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// Never.
    Never,
    /// On a terminal that can, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
}

/// Text, JSON or CSV.
#[derive(Debug, Clone, Copy, Args)]
pub struct Form {
    /// Print JSON
    #[arg(long, conflicts_with = "csv")]
    pub json: bool,
    /// Print CSV
    #[arg(long)]
    pub csv: bool,
}

/// Text or JSON.
#[derive(Debug, Clone, Copy, Args)]
pub struct JsonForm {
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Open a car in the terminal screens
    #[command(after_help = "Example:\n  tinworm open \"Blue estate\"")]
    Open {
        /// The car: its name, its folder's name, or the beginning of either
        car: String,
    },
    /// See an invented car: the terminal screens, or its standing and plan when there is no terminal
    #[command(
        after_help = "It is kept in memory only; your own cars are not touched.\n\nExample:\n  tinworm demo | less"
    )]
    Demo,
    /// Make a new car; asks for what is missing when there is somebody to ask
    #[command(
        after_help = "Layout choices, climates and storages are listed by `tinworm rubrics list`.\n\n\
        Example:\n  tinworm new --name \"Blue estate\" --built 1988 --like front-drive-hatchback \
        --layout steering-assistance=power-steering --yearly 6000 --salted 11-3 --sessions \"Saturday 6h\""
    )]
    New(New),
    /// See or change a car's profile: use, calendar, budget, tools
    #[command(
        after_help = "Example:\n  tinworm set \"Blue estate\" --laid-up --tool \"ball joint splitter\" --budget 400"
    )]
    Set(Set),
    /// See a car's parts, add one, say it is not fitted, when it was fitted, or its manual's limits and tightening values
    #[command(
        after_help = "A part is written component@station, with left and right as seen from the driver's seat.\n\n\
        A tightening value is written FIXING=TORQUE, the torque as 45, `33 lbf·ft`, `45-55 N·m` or `60 N·m + 90°`.\n\n\
        Example:\n  tinworm part \"Blue estate\" track-rod-end@front-left --fitted 2021-04-10\n\nOr:\n  \
        tinworm part \"Blue estate\" track-rod-end@front-left --torque \"ball stud nut=45\" --source \"manual, chapter 7\""
    )]
    Part(Part),
    /// List the cars
    #[command(after_help = "Example:\n  tinworm cars --json")]
    Cars {
        /// List the cars that were put out of the lists instead
        #[arg(long)]
        retired: bool,
        /// Form.
        #[command(flatten)]
        form: Form,
    },
    /// Put a sold car out of all lists; nothing is deleted
    #[command(after_help = "Example:\n  tinworm retire \"Blue estate\"\n  tinworm cars --retired")]
    Retire {
        /// The car
        car: String,
        /// Take it back into the lists
        #[arg(long)]
        back: bool,
    },
    /// Print a grading sheet, to fill with a pencil or as CSV: the whole car, chosen zones or stages, or only what is due
    #[command(
        after_help = "The sheet does not show what was seen before, unless --filled asks for it: grading is blind.\n\
        In the CSV only `grade_or_reading`, `not_seen` and `note` are filled in: a grade 0 to 5, a reading (3.2 or 3,2; \
        several points as `3.2/4.1` or `inner 3.2; outer 4.1`), yes or no; or why it was not seen: covered, out of reach, \
        no tool, later. Text cells that a spreadsheet would run are written with an apostrophe before them.\n\n\
        Example:\n  tinworm sheet \"Blue estate\" --csv > sheet.csv\n\nOr:\n  \
        tinworm sheet \"Blue estate\" --html --zone front-left rear --out sheet.html\n  \
        tinworm sheet \"Blue estate\" --due --stage underneath"
    )]
    Sheet(SheetOf),
    /// Take a filled CSV sheet as a survey; names every bad row and takes none of a file that has one
    #[command(
        after_help = "Rows without a grade, a reading or a reason are simply not looked at. Commas, semicolons or tabs \
        between the cells, decimal point or comma, with or without quotes; rows in any order. --preview shows what would be new, \
        changed and the same before anything is written.\n\n\
        Example:\n  tinworm enter \"Blue estate\" sheet.csv --date 2026-03-14 --odometer 184200"
    )]
    Enter(Enter),
    /// Grade a drawn tenth of the newest survey again, blind: how steady you grade, and what that makes of every forecast
    #[command(after_help = winter::SECOND_LOOK)]
    SecondLook(SecondLook),
    /// What to do first: the ranked list, what to look at first, what changed
    #[command(
        after_help = "With --all the parts of all cars are ranked by their exposure in a year from today; a car that cannot be read is named, \
        left out, and makes the exit code 1.\n\n\
        Example:\n  tinworm standing \"Blue estate\" --csv > standing.csv\n\nOr:\n  tinworm standing --all"
    )]
    Standing {
        /// The car
        #[arg(required_unless_present = "all", conflicts_with = "all")]
        car: Option<String>,
        /// The parts of all cars, ranked together
        #[arg(long)]
        all: bool,
        /// Form.
        #[command(flatten)]
        form: Form,
    },
    /// A survey against an earlier one: what really moved, what was repaired, which forecasts came true
    #[command(after_help = "Example:\n  tinworm compare \"Blue estate\" --from 2025-10-04 --to 2026-04-11")]
    Compare(Compare),
    /// How well the forecasts have done on this very car, in words and then in numbers
    #[command(after_help = "Example:\n  tinworm calibration \"Blue estate\"")]
    Calibration {
        /// The car
        car: String,
        /// Form.
        #[command(flatten)]
        form: JsonForm,
    },
    /// Left against right for every paired part
    #[command(after_help = "Example:\n  tinworm sides \"Blue estate\"")]
    Sides {
        /// The car
        car: String,
        /// Form.
        #[command(flatten)]
        form: Form,
    },
    /// One part's history and forecast, as numbers and a small chart
    #[command(after_help = "Example:\n  tinworm decline \"Blue estate\" track-rod-end@front-left boot")]
    Decline {
        /// The car
        car: String,
        /// The part, written component@station
        part: String,
        /// Only this check
        check: Option<String>,
        /// How many years ahead to look
        #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u8).range(1..=60))]
        years: u8,
        /// Form.
        #[command(flatten)]
        form: Form,
    },
    /// The work plan: visits, why, hours, what to open, buy, soak and tighten; what if something were otherwise
    #[command(after_help = "--if may be given several times and changes nothing that is kept:\n  \
        --if hours=4                             sessions of four hours\n  \
        --if budget=300, --if budget=none        money in hand; --if per-month=80\n  \
        --if \"session 2026-12-24=6\"             a session besides\n  \
        --if \"pin PART=2026-12-12\"              a repair fixed to a day; --if \"free PART\" lets it go\n  \
        --if \"drop PART\", --if \"tick PART\"       left out, or planned whatever its standing\n  \
        --if \"choose PART=REPAIR\"               another repair\n  \
        --if \"in-hand PART\"                     what it needs lies on the shelf\n\n\
        Examples:\n  tinworm plan \"Blue estate\" --json\n  tinworm plan \"Blue estate\" --if hours=4 \
        --if \"pin track-rod-end@front-left=2026-12-12\"\n  tinworm plan \"Blue estate\" --alternatives lower-arm@front-left\n  tinworm plan --all")]
    Plan(PlanOf),
    /// What to buy for the visits: price, status, when to order
    #[command(after_help = "Example:\n  tinworm parts \"Blue estate\"")]
    Parts {
        /// The car
        car: String,
        /// Form.
        #[command(flatten)]
        form: Form,
    },
    /// The worksheet of a visit, to print and take to the car: parts, tools, steps, cautions, tightening
    #[command(
        after_help = "Text of 80 columns; with --html one page for a browser to print. Torques are those of your own manual where \
        you entered them; else there is a line to fill, and beside it a guide that is there to catch a slip.\n\n\
        Example:\n  tinworm worksheet \"Blue estate\" 1 --html > visit.html"
    )]
    Worksheet(Worksheet),
    /// Say that what a part's repair needs is ordered, in hand, or still to be bought
    #[command(
        after_help = "Without a word on its state it is ordered today, and expected after its usual time.\n\n\
        Examples:\n  tinworm order \"Blue estate\" track-rod-end@front-left --expected 2026-12-03 --price 18\n  \
        tinworm order \"Blue estate\" track-rod-end@front-left --in-hand"
    )]
    Order(Order),
    /// The whole car on paper: state, standing, decline, sides, plan with worksheets, history, cautions, sources
    #[command(
        after_help = "Plain text; with --html one self-contained page for a browser to show or print, with --markdown for a notebook.\n\n\
        Example:\n  tinworm report \"Blue estate\" --html --out report.html"
    )]
    Report(Report),
    /// Photos, and whole cars as one file.
    #[command(flatten)]
    Files(Files),
    /// A car for other programs: JSON with a published schema, a calendar of the visits, CSV tables
    #[command(
        after_help = "A calendar read in again replaces the events of the same days; days that the plan has dropped stay in your calendar until \
        you delete them.\n\nExample:\n  tinworm export \"Blue estate\" --calendar --out plan.ics\n\nOr:\n  tinworm export --calendar --all --out plans.ics\n  \
        tinworm export --schema"
    )]
    Export(Export),
    /// Record a repair that was done, or list them
    #[command(
        after_help = "Hours teach the plan how long your jobs take. A repair's hours are those it takes by itself, opening and closing \
        included; for all repairs of a visit together use --visit. What was found while it was apart is taken as a look of that day.\n\n\
        Examples:\n  tinworm done \"Blue estate\" renew-track-rod-end track-rod-end@front-left --hours 1.5 --cost 24\n  \
        tinworm done \"Blue estate\" renew-track-rod-end track-rod-end@front-left --torque \"ball stud nut=40\" \
        --fitted \"track rod end\" --found \"lower-arm@front-left metal=3\"\n  \
        tinworm done \"Blue estate\" --visit 1 --hours 6.5"
    )]
    Done(Done),
    /// Record a repair that was begun and not finished: what stands open, what sheared, what is still to do
    #[command(
        after_help = "The car carries the notice until it is closed: by `done`, or by `leave --closed` if it was only put back together.\n\n\
        Example:\n  tinworm leave \"Blue estate\" renew-lower-arm lower-arm@front-left --hours 3 --hours-left 4 \
        --sheared \"pinch bolt\" --buy \"pinch bolt=6,3\" --found \"lower-ball-joint@front-left boot=4\""
    )]
    Leave(Leave),
    /// Grade on the spot what was found, as a look of that day
    #[command(
        after_help = "Example:\n  tinworm found \"Blue estate\" lower-arm@front-left metal=3 --note \"seen with the arm down\""
    )]
    Found(Found),
    /// Leave a part out of the plan although its standing asks for it
    #[command(after_help = "Example:\n  tinworm drop \"Blue estate\" track-rod-end@front-left")]
    Drop(Drop),
    /// Have a part planned whatever its standing
    #[command(after_help = "Example:\n  tinworm tick \"Blue estate\" track-rod-end@front-left")]
    Tick {
        /// The car
        car: String,
        /// The part, written component@station
        part: String,
        /// Take the tick back
        #[arg(long)]
        off: bool,
    },
    /// Choose the repair for a part where several would do
    #[command(after_help = "Example:\n  tinworm choose \"Blue estate\" track-rod-end@front-left renew-track-rod-end")]
    Choose {
        /// The car
        car: String,
        /// The part, written component@station
        part: String,
        /// The repair's id
        #[arg(required_unless_present = "off")]
        repair: Option<String>,
        /// Leave the choice to the plan again
        #[arg(long, conflicts_with = "repair")]
        off: bool,
    },
    /// Fix a part's repair to a date
    #[command(after_help = "Example:\n  tinworm pin \"Blue estate\" track-rod-end@front-left 2026-12-05")]
    Pin {
        /// The car
        car: String,
        /// The part, written component@station
        part: String,
        /// The day
        #[arg(required_unless_present = "off", value_parser = day)]
        date: Option<Date>,
        /// Let the plan choose the day again
        #[arg(long, conflicts_with = "date")]
        off: bool,
    },
    /// A thread's guide torque, what breaks it, how a rusted one comes undone, and whether a figure in a manual is plausible
    #[command(
        after_help = "Threads are written M12x1.5, or M12 for the coarse pitch; classes as on the head, 8.8 or 10.9. These are guides: \
        your car's own manual wins. A torque is written 85, `63 lbf·ft`, `45-55 N·m` or `60 N·m + 90°`.\n\n\
        Example:\n  tinworm torque M12x1.5 10.9 --oiled\n\nOr:\n  tinworm torque M10 8.8 --grade 3\n  tinworm torque M12x1.25 8.8 --value 85\n  \
        tinworm torque --hex 17 --value 47"
    )]
    Torque(Torque),
    /// Look through a car's files: what is damaged or does not fit, where, and what to do; repair it
    #[command(
        after_help = "With --repair a damaged file is replaced by the newest whole copy that was kept; the damaged one stays beside it.\n\n\
        Examples:\n  tinworm verify \"Blue estate\"\n  tinworm verify --all\n  tinworm verify \"Blue estate\" --repair"
    )]
    Verify(Verify),
    /// Go back to an earlier copy of a car; all its present files are kept aside
    #[command(
        after_help = "Each time a car is closed its files are kept as a generation, the last five of them.\n\n\
        Examples:\n  tinworm restore \"Blue estate\" --list\n  tinworm restore \"Blue estate\" --generation 42"
    )]
    Restore(Restore),
    /// The rubrics in force: list them, show one, check files for mistakes
    #[command(after_help = "Example:\n  tinworm rubrics show track-rod-end")]
    Rubrics {
        /// What to do with them.
        #[command(subcommand)]
        what: Rubrics,
    },
}

/// What can be done with rubrics.
#[derive(Debug, Subcommand)]
pub enum Rubrics {
    /// List components, layouts, climates and storages
    #[command(after_help = "Example:\n  tinworm rubrics list")]
    List {
        /// Form.
        #[command(flatten)]
        form: JsonForm,
    },
    /// Show one component's rubric with its repairs
    #[command(after_help = "Example:\n  tinworm rubrics show track-rod-end")]
    Show {
        /// The component's id
        id: String,
        /// Form.
        #[command(flatten)]
        form: JsonForm,
    },
    /// Find every mistake in the rubric files, with line and column
    #[command(
        after_help = "Without files, your own rubrics folder is checked over the built-in rubrics.\n\n\
        Example:\n  tinworm rubrics check my-axle.ron"
    )]
    Check {
        /// Files to check over the built-in rubrics
        files: Vec<PathBuf>,
    },
}

/// A new car.
#[derive(Debug, Args)]
pub struct New {
    /// What you call it
    #[arg(long)]
    pub name: Option<String>,
    /// A usual car it is like; any --layout beside it wins. `tinworm rubrics list` lists them
    #[arg(long, value_name = "USUAL")]
    pub like: Option<String>,
    /// Its profile.
    #[command(flatten)]
    pub profile: ProfileFlags,
}

/// A changed car.
#[derive(Debug, Args)]
pub struct Set {
    /// The car
    pub car: String,
    /// A new name
    #[arg(long)]
    pub name: Option<String>,
    /// A tool no longer owned; may be given several times
    #[arg(long, value_name = "TOOL")]
    pub no_tool: Vec<String>,
    /// Its profile.
    #[command(flatten)]
    pub profile: ProfileFlags,
    /// Form.
    #[command(flatten)]
    pub form: JsonForm,
}

/// A car's profile.
#[derive(Debug, Default, Clone, Args)]
pub struct ProfileFlags {
    /// When it was built: 1988, 1988-06 or 1988-06-30
    #[arg(long, value_name = "DATE", value_parser = built)]
    pub built: Option<Date>,
    /// A piece of its layout; once for each choice
    #[arg(long, value_name = "CHOICE=PIECE")]
    pub layout: Vec<String>,
    /// Where its driver sits
    #[arg(long, value_name = "SIDE")]
    pub drive_side: Option<DriveSide>,
    /// What its odometer counts
    #[arg(long)]
    pub unit: Option<Unit>,
    /// How far it goes in a year, in its odometer's unit
    #[arg(long, value_name = "DISTANCE")]
    pub yearly: Option<String>,
    /// Months with salted roads: 11-3, or 12,1,2, or none
    #[arg(long, value_name = "MONTHS")]
    pub salted: Option<String>,
    /// How many ordinary months a salted one counts for rust
    #[arg(long, value_name = "TIMES")]
    pub salt_factor: Option<String>,
    /// Climate class of where it lives
    #[arg(long, value_name = "CLASS")]
    pub climate: Option<String>,
    /// How it is kept
    #[arg(long)]
    pub storage: Option<String>,
    /// It is off the road
    #[arg(long, conflicts_with = "in_use")]
    pub laid_up: bool,
    /// It is driven
    #[arg(long)]
    pub in_use: bool,
    /// When you mean to look round it next
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub next_survey: Option<Date>,
    /// When you work on it: "Saturday 6h"; once for each kind of day, or none
    #[arg(long, value_name = "DAYS")]
    pub sessions: Vec<String>,
    /// A single session, or other hours on one day: 2026-12-24=8h; may be given several times
    #[arg(long, value_name = "DATE=HOURS")]
    pub session_on: Vec<String>,
    /// Hours of one session
    #[arg(long, value_name = "HOURS")]
    pub session_hours: Option<String>,
    /// No session before this day
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub from: Option<Date>,
    /// A day or a holiday that is not free: 2026-12-24, or 2026-12-24..2027-01-03; may be given several times
    #[arg(long, value_name = "DAYS")]
    pub not_free: Vec<String>,
    /// A day, or a holiday by its first day, that is free after all
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub free: Vec<Date>,
    /// A day that matters, with what it is: "before the salt=2027-10-31"; a name alone takes it back
    #[arg(long, value_name = "NAME=DATE")]
    pub target: Vec<String>,
    /// Money in hand, or none to let cost delay nothing
    #[arg(long, value_name = "MONEY")]
    pub budget: Option<String>,
    /// Money added each month
    #[arg(long, value_name = "MONEY")]
    pub budget_per_month: Option<String>,
    /// Sign of the money
    #[arg(long, value_name = "SIGN")]
    pub currency: Option<String>,
    /// A tool owned, in the words the repairs use; may be given several times
    #[arg(long)]
    pub tool: Vec<String>,
}

/// Where the driver sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DriveSide {
    /// On the left.
    Left,
    /// On the right.
    Right,
}

/// What the odometer counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Unit {
    /// Kilometres.
    Km,
    /// Miles.
    Miles,
}

/// Reads a day.
fn day(text: &str) -> Result<Date, String> {
    text.trim()
        .parse()
        .map_err(|_| "a day is written 2026-03-14".to_owned())
}

/// Reads when a car was built: a year, a month or a day.
///
/// # Errors
/// How to write it, when it is none of these.
pub fn built(text: &str) -> Result<Date, String> {
    let text = text.trim();
    let whole = match text.len() {
        4 => format!("{text}-01-01"),
        7 => format!("{text}-01"),
        _ => text.to_owned(),
    };
    whole
        .parse()
        .map_err(|_| "write 1988, 1988-06 or 1988-06-30".to_owned())
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_well_formed() {
        CommandLine::command().debug_assert();
    }

    #[test]
    fn a_car_may_be_built_in_a_year() {
        assert_eq!(built("1988"), Ok(jiff::civil::date(1988, 1, 1)));
        assert_eq!(built("1988-06"), Ok(jiff::civil::date(1988, 6, 1)));
        assert!(built("88").is_err());
    }
}
