//! The demo car: invented, with an invented history. Every screen and report can be tried on it; nothing of it is kept.
//!
//! An old saloon came home in the autumn, was looked over, got new front brake hoses and pads, and was looked over again
//! after its first winter: the left side of the front went faster than the right, and some of it nobody has seen.

use jiff::civil::{Date, date};

use crate::car::{Budget, Car, Change, Day, Look, NotSeen, PartNote, Profile, RepairDone, Seen, Sessions, Use};
use crate::rubric::{PartId, Side};
use crate::units::{DistanceUnit, Grade};

const LOOKS: &str = include_str!("demo/looks.txt");

/// The day on which the demo car came home and was first looked over.
#[must_use]
pub fn arrival() -> Date {
    date(2025, 10, 4)
}

/// The day of the second look, after the winter.
#[must_use]
pub fn after_winter() -> Date {
    date(2026, 4, 11)
}

/// The day the demo plays on.
#[must_use]
pub fn today() -> Date {
    date(2026, 4, 12)
}

/// The demo car with both surveys and the repairs between them.
#[must_use]
pub fn car() -> Car {
    let mut car = Car::new(profile());
    for change in history() {
        // A change that does not fit would show at once in the tests, which look for every look of the table.
        let _ = car.apply(change);
    }
    car
}

fn profile() -> Profile {
    let tools = [
        "torque wrench to 200 N·m",
        "screw or lever ball joint splitter",
        "wire brush",
        "breaker bar",
        "two axle stands",
        "trolley jack",
        "wheel chocks",
        "wheel brace",
        "paint marker",
        "six-point flare spanner",
    ];
    Profile {
        name: "Grey saloon (demo)".to_owned(),
        built: Some(date(1993, 5, 1)),
        layout: [
            "rack",
            "unassisted",
            "front-strut",
            "rear-twist-beam",
            "front-anti-roll-bar",
            "unitary-with-subframe",
            "front-drive",
            "front-disc",
            "rear-drum",
            "vacuum-servo",
            "all-belts",
        ]
        .map(str::to_owned)
        .to_vec(),
        drive_side: Side::Left,
        distance_unit: DistanceUnit::Kilometres,
        yearly_km: 7000.0,
        salted_months: vec![11, 12, 1, 2, 3],
        salt_factor: crate::car::profile::usual_salt_factor(),
        climate: "C3".to_owned(),
        storage: "carport".to_owned(),
        in_use: Use::InUse,
        next_survey: Some(date(2027, 4, 10)),
        sessions: Sessions {
            weekdays: vec![Day::Saturday],
            hours: 9.0,
            from: None,
            except: vec![date(2026, 5, 2)],
            ..Sessions::default()
        },
        budget: Budget {
            in_hand: 480.0,
            per_month: 180.0,
            since: Some(today()),
            currency: "€".to_owned(),
            limited: true,
        },
        tools: tools.map(str::to_owned).to_vec(),
        retired: None,
    }
}

fn history() -> Vec<Change> {
    let survey = |date, km, note: &str| Change::Survey {
        date,
        odometer_km: Some(km),
        note: note.to_owned(),
    };
    let mut changes = vec![
        survey(
            arrival(),
            161_240.0,
            "As it came home, on stands for two evenings. Drums not opened, carpets left in.",
        ),
        survey(after_winter(), 164_610.0, "After the winter."),
    ];
    changes.extend(looks());
    changes.extend(repairs().into_iter().map(Change::Done));
    let fitted = |part: &str, day| {
        part.parse().ok().map(|id| {
            Change::Part(
                id,
                PartNote {
                    fitted: Some(day),
                    ..PartNote::default()
                },
            )
        })
    };
    changes.extend(fitted("strut@front-left", date(2019, 6, 1)));
    changes.extend(fitted("strut@front-right", date(2019, 6, 1)));
    changes
}

fn repairs() -> Vec<RepairDone> {
    let done = |date, repair: &str, part: &str, hours, cost, note: &str| {
        let part: PartId = part.parse().ok()?;
        Some(RepairDone {
            hours: Some(hours),
            cost: Some(cost),
            note: note.to_owned(),
            ..RepairDone::new(date, repair, part)
        })
    };
    [
        done(
            date(2025, 11, 8),
            "renew-brake-hose",
            "brake-hose@front-left",
            1.5,
            18.0,
            "Union freed on the second try.",
        ),
        done(
            date(2025, 11, 8),
            "renew-brake-hose",
            "brake-hose@front-right",
            1.0,
            18.0,
            "",
        ),
        done(
            date(2026, 3, 7),
            "renew-brake-pads",
            "brake-pads@front-left",
            2.5,
            34.0,
            "Inner pad left dragged; slide cleaned.",
        ),
        done(
            date(2026, 3, 7),
            "renew-brake-pads",
            "brake-pads@front-right",
            1.0,
            0.0,
            "",
        ),
        done(
            date(2026, 3, 14),
            "treat-sill",
            "sill@right/middle",
            3.0,
            22.0,
            "Bare metal sound under the bloom.",
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn looks() -> Vec<Change> {
    let mut changes = Vec::new();
    for line in LOOKS.lines().filter(|l| !l.starts_with('#')) {
        let mut words = line.split_whitespace();
        let (Some(part), Some(check)) = (words.next(), words.next()) else {
            continue;
        };
        let Ok(part) = part.parse::<PartId>() else { continue };
        for (survey, word) in [arrival(), after_winter()].into_iter().zip(words) {
            if let Some(seen) = seen(word) {
                let look = Look {
                    part: part.clone(),
                    check: check.to_owned(),
                    seen,
                    note: String::new(),
                    photos: Vec::new(),
                };
                changes.push(Change::Look { survey, look });
            }
        }
    }
    changes
}

/// What one word of the table says was seen; `None` for a dash.
fn seen(word: &str) -> Option<Seen> {
    if let Some(readings) = word.strip_prefix('=') {
        return readings
            .split('/')
            .map(|r| r.parse().ok())
            .collect::<Option<Vec<f64>>>()
            .map(Seen::Reading);
    }
    Some(match word {
        "yes" => Seen::Answer(true),
        "no" => Seen::Answer(false),
        "covered" => Seen::Not(NotSeen::Covered),
        "reach" => Seen::Not(NotSeen::OutOfReach),
        "tool" => Seen::Not(NotSeen::NoTool),
        "later" => Seen::Not(NotSeen::Later),
        digit => Seen::Grade(digit.parse().ok().and_then(Grade::new)?),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;
    use crate::rubric::{CheckKind, builtin};

    #[test]
    fn every_line_of_the_table_fits_the_rubrics_and_is_on_the_car() {
        let library = builtin::library();
        let car = car();
        let parts = car.part_ids(library);
        let mut words = 0;
        for line in LOOKS.lines().filter(|l| !l.starts_with('#')) {
            let columns: Vec<&str> = line.split_whitespace().collect();
            assert_eq!(columns.len(), 4, "{line}");
            let part: PartId = columns[0].parse().unwrap();
            assert!(parts.contains(&part), "{line}: not on the car");
            let check = library
                .check(&part.component, columns[1])
                .unwrap_or_else(|| panic!("{line}: no such check"));
            for word in &columns[2..] {
                words += usize::from(*word != "-");
                let fits = match (seen(word), &check.kind) {
                    (None, _) => *word == "-",
                    (Some(Seen::Not(_)), _) => true,
                    (Some(Seen::Grade(_)), CheckKind::Graded(_)) => true,
                    (Some(Seen::Reading(r)), CheckKind::Measured(m)) => r.len() == m.points.len().max(1),
                    (Some(Seen::Answer(_)), CheckKind::YesNo(_)) => true,
                    _ => false,
                };
                assert!(fits, "{line}: `{word}` does not fit");
            }
        }
        let looks: usize = car.surveys.iter().map(|s| s.looks.len()).sum();
        assert_eq!(looks, words);
        assert_eq!(car.repairs.len(), 5);
        for done in &car.repairs {
            assert!(
                library
                    .repair(&done.repair)
                    .is_some_and(|r| r.component == done.part.component),
                "{}",
                done.repair
            );
        }
    }
}
