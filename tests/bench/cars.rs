//! Cars of any size for measurements: the shipped rubrics' parts, each going at a pace of its own, looked at in the autumns and springs before a day.

use jiff::civil::{Date, date};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use tinworm::car::{Budget, Car, Look, PartNote, Profile, Seen, Sessions, Survey, Use};
use tinworm::engine::harm::grade_of;
use tinworm::rubric::{Check, CheckKind, PartId, Side, builtin};
use tinworm::units::Grade;

/// The day the cars are reckoned on.
pub const TODAY: Date = date(2026, 4, 12);

/// A car with so many checks (or a few less), looked at so often, half a year apart, the last time the day before.
pub fn car(checks: usize, surveys: usize, seed: u64) -> Car {
    let library = builtin::library();
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let layout = ["rack", "front-strut", "rear-coil", "front-disc", "rear-drum"].map(str::to_owned);
    let mut car = Car::new(Profile {
        name: format!("Car {seed}"),
        built: Some(date(1994, 1, 1)),
        layout: layout.to_vec(),
        drive_side: Side::Left,
        distance_unit: Default::default(),
        yearly_km: 7000.0,
        salted_months: vec![11, 12, 1, 2, 3],
        salt_factor: 2.0,
        climate: "C3".to_owned(),
        storage: "outside".to_owned(),
        in_use: Use::InUse,
        next_survey: None,
        sessions: Sessions::default(),
        budget: Budget::default(),
        tools: Vec::new(),
        retired: None,
    });
    let placed = library.placed(&car.profile.layout);
    let more = [
        "front-left",
        "front-right",
        "rear-left",
        "rear-right",
        "front",
        "rear",
        "left",
        "right",
        "car",
    ];
    let added = library.components().iter().flat_map(|component| {
        more.iter()
            .filter_map(|at| format!("{}@{at}", component.id).parse::<PartId>().ok())
    });
    let mut looked: Vec<(PartId, &Check, f64, f64)> = Vec::new();
    for part in placed.iter().cloned().chain(added.filter(|p| !placed.contains(p))) {
        let Some(component) = library.component(&part.component) else {
            continue;
        };
        let fits = looked.len() + component.checks.len() <= checks;
        let note = PartNote {
            added: fits,
            not_fitted: !fits,
            ..PartNote::default()
        };
        if fits || placed.contains(&part) {
            car.parts.insert(part.clone(), note);
        }
        if fits {
            for check in &component.checks {
                let pace = (0.6 * (dice.random::<f64>() + dice.random::<f64>() - 1.0)).exp() * 4.0 / check.decline.life;
                looked.push((part.clone(), check, dice.random_range(0.0..0.6), pace));
            }
        }
    }
    for back in (0..surveys).rev() {
        let day = TODAY
            .checked_sub(jiff::Span::new().days(1 + 182 * i32::try_from(back).unwrap_or(0)))
            .unwrap_or(TODAY);
        let years = 0.5 * (surveys - 1 - back) as f64;
        let mut survey = Survey::new(day, Some(100_000.0 + 7000.0 * years));
        for (part, check, start, pace) in &looked {
            let damage = start + pace * years + 0.1 * (dice.random::<f64>() - 0.5);
            survey.looks.push(Look {
                part: part.clone(),
                check: check.id.clone(),
                seen: seen(check, damage),
                note: String::new(),
                photos: Vec::new(),
            });
        }
        car.surveys.push(survey);
    }
    car
}

fn seen(check: &Check, damage: f64) -> Seen {
    match &check.kind {
        CheckKind::Graded(_) => Seen::Grade(grade_of(&check.grade_edges(), damage)),
        CheckKind::YesNo(_) => Seen::Answer(damage >= 1.0),
        CheckKind::Measured(m) => Seen::Reading(vec![m.new + damage.max(0.0) * (m.limit - m.new)]),
    }
}

/// The same car with the middle grade of its newest survey one worse, or one better where there is none worse.
pub fn one_look_changed(car: &Car) -> Car {
    let graded = |look: &&Look| matches!(look.seen, Seen::Grade(_));
    let grades = car.surveys.last().map_or(0, |s| s.looks.iter().filter(graded).count());
    a_look_changed(car, grades / 2)
}

/// The same car with one grade of its newest survey one worse, or one better where there is none worse: so many from the first,
/// counted round and round.
pub fn a_look_changed(car: &Car, which: usize) -> Car {
    let mut car = car.clone();
    if let Some(newest) = car.surveys.last_mut() {
        let mut graded: Vec<&mut Look> = newest
            .looks
            .iter_mut()
            .filter(|l| matches!(l.seen, Seen::Grade(_)))
            .collect();
        let which = which % graded.len().max(1);
        if let Some(look) = graded.get_mut(which)
            && let Seen::Grade(grade) = look.seen
        {
            let other = Grade::new(grade.digit() + 1).or_else(|| Grade::new(grade.digit().saturating_sub(1)));
            look.seen = Seen::Grade(other.unwrap_or(grade));
        }
    }
    car
}
