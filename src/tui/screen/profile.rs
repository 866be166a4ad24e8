//! The lines of a car's profile: how each is shown, asked and taken in. The new-car form asks all of them.

use jiff::civil::Date;

use super::form::{self, Wrong};
use crate::car::{Budget, Day, DaysOff, Profile, Session, Sessions, Target, Use, profile::usual_salt_factor};
use crate::rubric::{Library, Side};
use crate::text;
use crate::units::DistanceUnit;

/// A line of the profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// What its owner calls it.
    Name,
    /// When it was built.
    Built,
    /// A choice of the layout, by its place among the library's choices.
    Layout(usize),
    /// Which side its driver sits on.
    DriveSide,
    /// What its odometer counts.
    Unit,
    /// Distance a year.
    Yearly,
    /// Climate class.
    Climate,
    /// How it is kept.
    Storage,
    /// Salted months.
    Salted,
    /// In use or laid up.
    InUse,
    /// The next survey.
    NextSurvey,
    /// Days of work.
    Days,
    /// Hours of a session.
    Hours,
    /// Other hours on some days of the week.
    HoursOn,
    /// Single sessions.
    Listed,
    /// No session before.
    From,
    /// Days that are not free.
    Except,
    /// Days that matter.
    Targets,
    /// Whether money limits the plan.
    Limited,
    /// Money in hand.
    InHand,
    /// Money a month.
    PerMonth,
    /// The sign of the money.
    Currency,
    /// Tools owned.
    Tools,
}

impl Line {
    /// All lines, in the order they are asked.
    #[must_use]
    pub fn all(library: &Library) -> Vec<Line> {
        let mut lines = vec![Line::Name, Line::Built];
        lines.extend((0..library.choices().len()).map(Line::Layout));
        lines.extend([
            Line::DriveSide,
            Line::Unit,
            Line::Yearly,
            Line::Climate,
            Line::Storage,
            Line::Salted,
            Line::InUse,
            Line::NextSurvey,
            Line::Days,
            Line::Hours,
            Line::HoursOn,
            Line::Listed,
            Line::From,
            Line::Except,
            Line::Targets,
            Line::Limited,
            Line::InHand,
            Line::PerMonth,
            Line::Currency,
            Line::Tools,
        ]);
        lines
    }

    /// The line as it is asked, holding what the profile says.
    #[must_use]
    pub fn ask(self, profile: &Profile, library: &Library) -> form::Line {
        match self {
            Line::Name => form::Line::text(
                "Name",
                "What you call it. You may change everything here later.",
                &profile.name,
            ),
            Line::Built => form::Line::text(
                "Built",
                "2003-05-20, 2003-05 or 2003; empty if you do not know.",
                &day_or_empty(profile.built),
            ),
            Line::Layout(choice) => {
                let choices = library.choices();
                let choice = choices.get(choice).copied().unwrap_or_default();
                let at = library.pieces_of(choice).position(|p| profile.layout.contains(&p.id));
                let names = library.pieces_of(choice).map(|p| p.name.clone()).collect();
                form::Line::one(
                    &large(choice),
                    "← and → choose; this decides which parts are looked at.",
                    names,
                    at.unwrap_or(0),
                )
            }
            Line::DriveSide => form::Line::one(
                "Driver sits",
                "Seen facing forwards. Left and right everywhere are as seen from the driver's seat.",
                vec!["left".to_owned(), "right".to_owned()],
                usize::from(profile.drive_side == Side::Right),
            ),
            Line::Unit => form::Line::one(
                "Odometer counts",
                "",
                vec!["kilometres".to_owned(), "miles".to_owned()],
                usize::from(profile.distance_unit == DistanceUnit::Miles),
            ),
            Line::Yearly => form::Line::text(
                "Distance a year",
                "When it is in use, in the unit of its odometer.",
                &format!("{:.0}", profile.distance_unit.of_km(profile.yearly_km)),
            ),
            Line::Climate => {
                let all = &library.all().climates;
                form::Line::one(
                    "Climate",
                    "Where the car lives, by its ISO 9223 class.",
                    all.iter().map(|c| format!("{}: {}", c.id, c.name)).collect(),
                    all.iter().position(|c| c.id == profile.climate).unwrap_or(0),
                )
            }
            Line::Storage => {
                let all = &library.all().storages;
                form::Line::one(
                    "Kept",
                    "Where it stands most nights.",
                    all.iter().map(|s| s.name.clone()).collect(),
                    all.iter().position(|s| s.id == profile.storage).unwrap_or(0),
                )
            }
            Line::Salted => form::Line::some(
                "Salted months",
                "Months in which its roads are salted; ← → move, Space chooses.",
                (1..=12).map(|m| m.to_string()).collect(),
                (1..=12).map(|m| profile.salted_months.contains(&m)).collect(),
            ),
            Line::InUse => form::Line::one(
                "Used",
                "Laid up: wear stops, rust and ageing go on, and what is opened may stay open.",
                vec!["in use".to_owned(), "laid up".to_owned()],
                usize::from(profile.in_use == Use::LaidUp),
            ),
            Line::NextSurvey => form::Line::text(
                "Next survey",
                "The day you mean to look again; empty is a year from today.",
                &day_or_empty(profile.next_survey),
            ),
            Line::Days => form::Line::some(
                "Days of work",
                "← → move, Space chooses.",
                Day::ALL.iter().map(|d| d.word().chars().take(2).collect()).collect(),
                Day::ALL.iter().map(|d| profile.sessions.weekdays.contains(d)).collect(),
            ),
            Line::Hours => form::Line::text("Hours of a session", "", &profile.sessions.hours.to_string()),
            Line::From => form::Line::text(
                "No session before",
                "A date, or empty.",
                &day_or_empty(profile.sessions.from),
            ),
            Line::Except => form::Line::text(
                "Days not free",
                "Dates, and holidays as first..last, with blanks between them.",
                &days_off(profile),
            ),
            Line::HoursOn => form::Line::text(
                "Other hours",
                "On days of the week that differ: Wednesday 2.5, Sunday 3.",
                &joined(&profile.sessions.hours_on, ", ", |(day, hours)| {
                    format!("{} {hours}", day.word())
                }),
            ),
            Line::Listed => form::Line::text(
                "Single sessions",
                "Dates with their hours: 2026-12-24=8 2026-12-28=6.",
                &joined(&profile.sessions.listed, " ", |s| format!("{}={}", s.date, s.hours)),
            ),
            Line::Targets => form::Line::text(
                "Days that matter",
                "What and when: before the salt=2027-10-31, commas between.",
                &joined(&profile.sessions.targets, ", ", |t| format!("{}={}", t.name, t.date)),
            ),
            Line::Limited => form::Line::one(
                "Money",
                "Whether work waits until there is money for it.",
                vec!["does not delay work".to_owned(), "delays work".to_owned()],
                usize::from(profile.budget.limited),
            ),
            Line::InHand => form::Line::text("Money in hand", "Counted today.", &profile.budget.in_hand.to_string()),
            Line::PerMonth => form::Line::text(
                "Money a month",
                "Added each month from then on.",
                &profile.budget.per_month.to_string(),
            ),
            Line::Currency => form::Line::text("Sign of the money", "", &profile.budget.currency),
            Line::Tools => form::Line::text(
                "Tools owned",
                "Beyond a socket set, in the words of the repairs, commas between them.",
                &profile.tools.join(", "),
            ),
        }
    }

    /// Takes a line of a form into the profile.
    ///
    /// # Errors
    /// The line and what is wrong with it.
    pub fn take(
        self,
        form: &form::Model,
        at: usize,
        profile: &mut Profile,
        library: &Library,
        today: Date,
    ) -> Result<(), Wrong> {
        match self {
            Line::Name => {
                let name = form.text(at);
                if name.is_empty() {
                    return Err((at, "The car needs a name.".to_owned()));
                }
                profile.name = name;
            }
            Line::Built => {
                profile.built = form.date(at)?;
                if profile.built.is_some_and(|d| d > today) {
                    return Err((at, format!("That is after today, {today}.")));
                }
            }
            Line::Layout(choice) => {
                let choices = library.choices();
                let choice = choices.get(choice).copied().unwrap_or_default();
                let pieces: Vec<&str> = library.pieces_of(choice).map(|p| p.id.as_str()).collect();
                profile.layout.retain(|id| !pieces.contains(&id.as_str()));
                profile
                    .layout
                    .extend(pieces.get(form.one(at)).map(|id| (*id).to_owned()));
            }
            Line::DriveSide => profile.drive_side = if form.one(at) == 1 { Side::Right } else { Side::Left },
            Line::Unit => {
                profile.distance_unit = if form.one(at) == 1 {
                    DistanceUnit::Miles
                } else {
                    DistanceUnit::Kilometres
                };
            }
            Line::Yearly => {
                let distance = form.number(at, 0.0)?.unwrap_or(0.0);
                profile.yearly_km = profile.distance_unit.to_km(distance);
            }
            Line::Climate => {
                if let Some(climate) = library.all().climates.get(form.one(at)) {
                    profile.climate.clone_from(&climate.id);
                }
            }
            Line::Storage => {
                if let Some(storage) = library.all().storages.get(form.one(at)) {
                    profile.storage.clone_from(&storage.id);
                }
            }
            Line::Salted => {
                let chosen = form.some(at);
                profile.salted_months = (1..=12).zip(chosen).filter(|(_, on)| *on).map(|(m, _)| m).collect();
            }
            Line::InUse => profile.in_use = if form.one(at) == 1 { Use::LaidUp } else { Use::InUse },
            Line::NextSurvey => {
                profile.next_survey = form.date(at)?;
                if profile.next_survey.is_some_and(|d| d <= today) {
                    return Err((at, format!("The next survey comes after today, {today}.")));
                }
            }
            Line::Days => {
                profile.sessions.weekdays = Day::ALL
                    .into_iter()
                    .zip(form.some(at))
                    .filter(|(_, on)| *on)
                    .map(|(d, _)| d)
                    .collect();
            }
            Line::Hours => {
                let hours = form.number(at, 0.5)?.unwrap_or(Sessions::default().hours);
                if hours > 24.0 {
                    return Err((at, "A day has 24 hours.".to_owned()));
                }
                profile.sessions.hours = hours;
            }
            Line::From => profile.sessions.from = form.date(at)?,
            Line::Except => {
                let (mut days, mut off) = (Vec::new(), Vec::new());
                for word in form.text(at).split([' ', ',']).filter(|w| !w.is_empty()) {
                    match word.split_once("..") {
                        None => days.push(date(at, word)?),
                        Some((from, to)) => {
                            let (from, to) = (date(at, from)?, date(at, to)?);
                            if to < from {
                                return Err((at, format!("{word} ends before it begins.")));
                            }
                            off.push(DaysOff { from, to });
                        }
                    }
                }
                profile.sessions.except = days;
                profile.sessions.days_off = off;
            }
            Line::HoursOn => {
                let mut own = Vec::new();
                for item in form.text(at).split(',').map(str::trim).filter(|i| !i.is_empty()) {
                    let wrong = || (at, format!("`{item}` needs a day of the week and hours."));
                    let (name, hours) = item.rsplit_once(' ').ok_or_else(wrong)?;
                    let name = name.trim().to_lowercase();
                    let day = Day::ALL.into_iter().find(|d| d.word().to_lowercase() == name);
                    own.push((day.ok_or_else(wrong)?, session_hours(at, hours)?));
                }
                profile.sessions.hours_on = own;
            }
            Line::Listed => {
                let mut listed = Vec::new();
                for item in form.text(at).split([' ', ',']).filter(|w| !w.is_empty()) {
                    let wrong = || (at, format!("`{item}` needs a date, =, and hours."));
                    let (day, hours) = item.split_once('=').ok_or_else(wrong)?;
                    let date = date(at, day)?;
                    let hours = session_hours(at, hours)?;
                    listed.push(Session { date, hours });
                }
                listed.sort_by_key(|s| s.date);
                profile.sessions.listed = listed;
            }
            Line::Targets => {
                let mut targets = Vec::new();
                for item in form.text(at).split(',').map(str::trim).filter(|i| !i.is_empty()) {
                    let wrong = || (at, format!("`{item}` needs a name, =, and a date."));
                    let (name, day) = item.rsplit_once('=').ok_or_else(wrong)?;
                    targets.push(Target {
                        name: name.trim().to_owned(),
                        date: date(at, day)?,
                    });
                }
                targets.sort_by_key(|t| t.date);
                profile.sessions.targets = targets;
            }
            Line::Limited => profile.budget.limited = form.one(at) == 1,
            Line::InHand => {
                let money = form.number(at, 0.0)?.unwrap_or(0.0);
                if money != profile.budget.in_hand || profile.budget.since.is_none() {
                    profile.budget.since = Some(today);
                }
                profile.budget.in_hand = money;
            }
            Line::PerMonth => profile.budget.per_month = form.number(at, 0.0)?.unwrap_or(0.0),
            Line::Currency => {
                let sign = form.text(at);
                profile.budget.currency = if sign.is_empty() {
                    Budget::default().currency
                } else {
                    sign
                };
            }
            Line::Tools => {
                profile.tools = form
                    .text(at)
                    .split(',')
                    .map(|t| t.trim().to_owned())
                    .filter(|t| !t.is_empty())
                    .collect();
            }
        }
        Ok(())
    }

    /// The line as it is shown: what it is, and what it says.
    #[must_use]
    pub fn shown(self, profile: &Profile, library: &Library) -> (String, String) {
        let asked = self.ask(profile, library);
        let value = match (&asked.value, self) {
            (_, Line::Salted) if profile.salted_months.is_empty() => "none".to_owned(),
            (_, Line::Salted) => {
                let months: Vec<String> = profile.salted_months.iter().map(u8::to_string).collect();
                format!("{}, each counting {}× for rust", months.join(" "), profile.salt_factor)
            }
            (_, Line::Days) => {
                let days: Vec<&str> = profile.sessions.weekdays.iter().map(|d| d.word()).collect();
                days.join(", ")
            }
            (_, Line::Yearly) => format!(
                "{:.0} {}",
                profile.distance_unit.of_km(profile.yearly_km),
                profile.distance_unit.sign()
            ),
            (form::Value::Text(field), _) => field.value(),
            (form::Value::One { of, at }, _) => of.get(*at).cloned().unwrap_or_default(),
            (form::Value::Some { .. } | form::Value::Note(_), _) => String::new(),
        };
        (asked.label, if value.is_empty() { "–".to_owned() } else { value })
    }
}

/// A profile to begin the new-car form with.
#[must_use]
pub fn blank(library: &Library) -> Profile {
    let middle = |n: usize| n / 2;
    let climates = &library.all().climates;
    let usual = climates
        .iter()
        .find(|c| c.id == "C3")
        .or(climates.get(middle(climates.len())));
    let storages = &library.all().storages;
    let garage = storages.iter().find(|s| s.id == "garage").or(storages.first());
    Profile {
        name: String::new(),
        built: None,
        layout: Vec::new(),
        drive_side: Side::Left,
        distance_unit: DistanceUnit::Kilometres,
        yearly_km: 10_000.0,
        salted_months: vec![11, 12, 1, 2, 3],
        salt_factor: usual_salt_factor(),
        climate: usual.map_or_else(|| "C3".to_owned(), |c| c.id.clone()),
        storage: garage.map_or_else(|| "garage".to_owned(), |s| s.id.clone()),
        in_use: Use::InUse,
        next_survey: None,
        sessions: Sessions::default(),
        budget: Budget::default(),
        tools: Vec::new(),
        retired: None,
    }
}

fn joined<T>(items: &[T], between: &str, words: impl Fn(&T) -> String) -> String {
    items.iter().map(words).collect::<Vec<_>>().join(between)
}

fn days_off(profile: &Profile) -> String {
    let days = profile.sessions.except.iter().map(|d| text::day(*d));
    let off = profile
        .sessions
        .days_off
        .iter()
        .map(|o| format!("{}..{}", o.from, o.to));
    days.chain(off).collect::<Vec<_>>().join(" ")
}

fn date(at: usize, word: &str) -> Result<Date, Wrong> {
    word.trim()
        .parse()
        .map_err(|_| (at, format!("`{}` is not a date; write 2026-03-14", word.trim())))
}

fn session_hours(at: usize, text: &str) -> Result<f64, Wrong> {
    let hours = crate::units::parse_decimal(text.trim().trim_end_matches('h')).ok();
    hours.filter(|h| (0.25..=24.0).contains(h)).ok_or_else(|| {
        (
            at,
            format!("`{}` is not between a quarter of an hour and a day.", text.trim()),
        )
    })
}

fn day_or_empty(date: Option<Date>) -> String {
    date.map_or_else(String::new, text::day)
}

/// A layout choice's id as a label.
fn large(id: &str) -> String {
    let words = id.replace('-', " ");
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + letters.as_str())
}
