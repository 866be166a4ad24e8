//! What stands on a sheet: the whole round, or chosen corners, stages or what is due, blank or with what was last seen.

use jiff::civil::Date;

use crate::car::round::round;
use crate::car::{Car, Look, Seen};
use crate::engine::Assessment;
use crate::engine::due::{Due, due_of};
use crate::engine::first_look::{FirstLook, MINUTES, first_look};
use crate::report::words;
use crate::rubric::{Check, Library, PartId, Stage, Station};
use crate::text;

/// Where on the car, or where one stands to look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Zone {
    /// The parts there: `front-left`; `front` takes both its sides and what is in its middle, `left` both its ends, `car` what
    /// belongs to no end and no side.
    At(Station),
    /// What is looked at in one stage that is also a place: the cabin, under the bonnet, underneath.
    In(Stage),
}

impl Zone {
    fn takes(&self, part: &PartId, stage: Stage) -> bool {
        match self {
            Zone::In(own) => *own == stage,
            Zone::At(zone) => {
                let here = &part.station;
                let place = zone.place.is_none() || zone.place == here.place;
                let end = zone.axle.is_none() || zone.axle == here.axle;
                let side = zone.side.is_none() || zone.side == here.side;
                let whole = zone.axle.is_some() || zone.side.is_some() || (here.axle.is_none() && here.side.is_none());
                place && end && side && whole
            }
        }
    }

    fn words(&self) -> String {
        match self {
            Zone::At(station) => station.words(),
            Zone::In(stage) => words::small(words::stage(*stage)),
        }
    }
}

/// What is asked of a sheet; nothing asked is the whole car, blank.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only these zones; all when empty.
    pub zones: Vec<Zone>,
    /// Only these stages; all when empty.
    pub stages: Vec<Stage>,
    /// Only what is due for a look.
    pub due: bool,
    /// Only the checks of a first look.
    pub first_look: bool,
    /// With what the newest survey saw, as far as it still holds.
    pub filled: bool,
}

/// One check on a sheet.
#[derive(Debug, Clone)]
pub struct Stop<'l> {
    /// The part.
    pub part: PartId,
    /// The check.
    pub check: &'l Check,
    /// When in the round.
    pub stage: Stage,
    /// What is filled in.
    pub before: Option<Look>,
    /// Why it is due, where only what is due was asked for.
    pub due: Option<Due>,
}

/// A sheet, ready to be set as text, CSV or HTML.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    /// The car.
    pub car: &'a Car,
    /// The rubrics in force.
    pub library: &'a Library,
    /// The checks in the order of the round.
    pub stops: Vec<Stop<'a>>,
    /// What the sheet is of, when not the whole car.
    pub of: Option<String>,
    /// The day of the survey from which it is filled in.
    pub from: Option<Date>,
    /// Whether only what is due stands on it.
    pub only_due: bool,
    /// Whether it is the sheet of a first look.
    pub first_look: bool,
}

/// Chooses what stands on a sheet. The assessment is needed for what is due and for what still holds of a survey.
#[must_use]
pub fn sheet<'a>(
    car: &'a Car,
    library: &'a Library,
    wanted: &Wanted,
    assessment: impl FnOnce() -> Assessment,
) -> Sheet<'a> {
    let assessment = (wanted.due || wanted.filled || wanted.first_look).then(assessment);
    let first = assessment
        .as_ref()
        .filter(|_| wanted.first_look)
        .map(|says| first_look(says, library, MINUTES));
    let newest = car
        .surveys
        .iter()
        .rfind(|s| assessment.as_ref().is_none_or(|a| s.date <= a.today));
    let newest = newest.filter(|_| wanted.filled);
    let stops = round(car, library)
        .into_iter()
        .filter(|(part, _, stage)| {
            (wanted.zones.is_empty() || wanted.zones.iter().any(|z| z.takes(part, *stage)))
                && (wanted.stages.is_empty() || wanted.stages.contains(stage))
        })
        .filter(|(part, check, _)| {
            let asked = |first: &FirstLook| first.checks.contains(&(part.clone(), check.id.clone()));
            first.as_ref().is_none_or(asked)
        })
        .filter_map(|(part, check, stage)| {
            let due = assessment
                .as_ref()
                .filter(|_| wanted.due)
                .map(|says| due_of(says, &part, &check.id));
            // Asked for what is due, and this is not.
            if due == Some(None) {
                return None;
            }
            let before = newest.and_then(|survey| {
                let look = survey.look(&part, &check.id)?;
                still_holds(assessment.as_ref()?, look, survey.date).then(|| look.clone())
            });
            Some(Stop {
                part,
                check,
                stage,
                before,
                due: due.flatten(),
            })
        })
        .collect();
    Sheet {
        car,
        library,
        stops,
        of: said_of(wanted),
        from: newest.map(|s| s.date),
        only_due: wanted.due,
        first_look: first.is_some(),
    }
}

/// Whether what was seen then is still the newest that is known: a repair since may have renewed it.
fn still_holds(assessment: &Assessment, look: &Look, on: Date) -> bool {
    let state = assessment
        .part(&look.part)
        .and_then(|p| p.checks.iter().find(|c| c.check == look.check));
    match look.seen {
        Seen::Not(_) => true,
        _ => state.and_then(|s| s.last.as_ref()).is_some_and(|last| last.date == on),
    }
}

/// What the sheet is of, when not the whole car.
fn said_of(wanted: &Wanted) -> Option<String> {
    let mut said: Vec<String> = Vec::new();
    if !wanted.zones.is_empty() {
        let zones: Vec<String> = wanted.zones.iter().map(Zone::words).collect();
        said.push(zones.join(" and "));
    }
    if !wanted.stages.is_empty() {
        let stages: Vec<String> = wanted.stages.iter().map(|s| words::small(words::stage(*s))).collect();
        said.push(stages.join(" and "));
    }
    if wanted.first_look {
        said.push("the first look".to_owned());
    }
    if wanted.due {
        said.push("what is due for a look".to_owned());
    }
    (!said.is_empty()).then(|| said.join("; "))
}

/// Why a check is due, in words. A blank sheet does not say what was seen, so that nobody grades from memory.
#[must_use]
pub fn due_words(due: Due, blank: bool) -> String {
    match due {
        Due::NeverSeen => "nobody has seen it".to_owned(),
        Due::Graded(_) | Due::MayPass(_) if blank => "by what was seen of it before".to_owned(),
        Due::Graded(grade) => format!("grade {grade} when last seen"),
        Due::MayPass(chance) => format!(
            "{} likely to be past its limit by the next survey",
            text::percent(chance)
        ),
        Due::LongAgo(date) => format!("last seen on {date}, a year ago or longer"),
    }
}

impl Sheet<'_> {
    /// What stands above the sheet: how to fill it in, and what is particular to this one.
    #[must_use]
    pub fn preface(&self) -> Vec<String> {
        let mut said = vec![
            "Grade 0 is as new, 5 at or past the limit; take the description that fits best, and the worse of two when in doubt. \
             Left and right are as seen from the driver's seat. Leave the box empty if you did not look; if you could not see \
             it, write why: C covered, R out of reach, T tool or helper missing, L left for later."
                .to_owned(),
        ];
        if self.only_due {
            said.push(
                "Only what is due: never seen since it was last renewed, grade 3 or worse when last seen, a tenth or more likely \
                 to be past its limit by the next survey, or last seen a year ago or longer. What is left out is not thereby good."
                    .to_owned(),
            );
        }
        if self.first_look {
            said.push(
                "Only the first look: what tells most in a quarter of an hour, and first what can kill. What the car must be raised \
                 for comes last. What is left out is not thereby good; the whole round can follow any time."
                    .to_owned(),
            );
        }
        if let Some(from) = self.from {
            said.push(format!(
                "Filled in from the survey of {from}. Whoever grades is led by what stands there; strike out what you did not \
                 look at again, for whatever is given back counts as seen."
            ));
        }
        said.push(words::ORDERS_WORK_ONLY.to_owned());
        said
    }

    /// The title.
    #[must_use]
    pub fn title(&self) -> String {
        let name = text::clean(&self.car.profile.name);
        match &self.of {
            None => format!("Grading sheet: {name}"),
            Some(of) => format!("Grading sheet: {name} – {of}"),
        }
    }

    /// Why there is nothing on it.
    #[must_use]
    pub fn empty(&self) -> &'static str {
        if self.first_look {
            "Nothing has gone unseen for long: there is no first look to make."
        } else if self.only_due {
            "Nothing here is due for a look."
        } else if self.of.is_some() {
            "This car has nothing to look at there."
        } else {
            "There is nothing to look at: no part of this car's layout is in the rubrics."
        }
    }
}
