//! A small car with hand-made engine values, so that pictures of the screens do not change when the engine does.

use jiff::civil::{Date, date};
use tinworm::car::{Budget, Car, Change, Day, Look, Profile, Seen, Sessions, Use};
use tinworm::engine::history::{DeclineLook, DeclinePoint, DeclineSeries};
use tinworm::engine::plan::*;
use tinworm::engine::sides::{SideDifference, SidePair};
use tinworm::engine::*;
use tinworm::rubric::{Class, Library, NewPart, PartId, Severity, Side};
use tinworm::tui::desk::{Reckoned, SeriesOf};
use tinworm::units::{DistanceUnit, Grade};

pub const TODAY: Date = date(2026, 11, 21);

pub fn library() -> Library {
    match tinworm::rubric::parse::file("fixture.ron", include_str!("fixture.ron")) {
        Ok(file) => Library::unchecked(file),
        Err(mistakes) => panic!("the fixture is no rubric: {mistakes:?}"),
    }
}

pub fn part(id: &str) -> PartId {
    id.parse().expect("a part")
}

pub fn grade(digit: u8) -> Grade {
    Grade::new(digit).expect("a grade")
}

pub fn profile(name: &str) -> Profile {
    Profile {
        name: name.to_owned(),
        built: Some(date(2003, 5, 1)),
        layout: vec!["rack".to_owned()],
        drive_side: Side::Left,
        distance_unit: DistanceUnit::Kilometres,
        yearly_km: 9000.0,
        salted_months: vec![11, 12, 1, 2, 3],
        salt_factor: 2.0,
        climate: "C3".to_owned(),
        storage: "garage".to_owned(),
        in_use: Use::InUse,
        next_survey: Some(date(2027, 4, 10)),
        sessions: Sessions {
            weekdays: vec![Day::Saturday],
            hours: 6.0,
            from: None,
            except: Vec::new(),
            ..Sessions::default()
        },
        budget: Budget::default(),
        tools: vec!["torque wrench".to_owned()],
        retired: None,
    }
}

/// A car that nobody has looked at.
pub fn fresh(name: &str) -> Car {
    Car::new(profile(name))
}

/// A car with one survey of the spring, some checks open.
pub fn car(name: &str) -> Car {
    let mut car = fresh(name);
    let survey = date(2026, 3, 28);
    let begin = Change::Survey {
        date: survey,
        odometer_km: Some(181_240.0),
        note: String::new(),
    };
    car.apply(begin).expect("a survey");
    for (id, check, seen) in [
        ("lower-ball-joint@front-left", "boot", Seen::Grade(grade(4))),
        ("lower-ball-joint@front-left", "play", Seen::Reading(vec![0.9])),
        ("lower-ball-joint@front-right", "boot", Seen::Grade(grade(2))),
        ("track-rod-end@front-left", "play", Seen::Grade(grade(3))),
        ("track-rod-end@front-right", "play", Seen::Grade(grade(3))),
        ("brake-pads@front-left", "lining", Seen::Reading(vec![6.5, 5.0])),
        ("cross-brace@front", "coating", Seen::Grade(grade(2))),
    ] {
        let look = Look {
            part: part(id),
            check: check.to_owned(),
            seen,
            note: String::new(),
            photos: Vec::new(),
        };
        car.apply(Change::Look { survey, look }).expect("a look");
    }
    car
}

fn spread(low: f64, mid: f64, high: f64) -> Spread {
    Spread { low, mid, high }
}

fn check(id: &str, mid: f64, last: Option<u8>) -> CheckState {
    let digit = last.unwrap_or(1);
    let mut grades = [0.05; 6];
    if let Some(p) = grades.get_mut(usize::from(digit)) {
        *p = 0.75;
    }
    CheckState {
        check: id.to_owned(),
        last: last.map(|g| LastLook {
            date: date(2026, 3, 28),
            seen: Seen::Grade(grade(g)),
            grade: grade(g),
        }),
        damage: spread(mid * 0.8, mid, mid * 1.3),
        grades,
        grades_per_year: mid,
        past_limit_now: if mid > 0.9 { 0.4 } else { 0.02 },
        past_limit_then: if mid > 0.9 { 0.7 } else { 0.06 },
        years_left: YearsLeft {
            soon: Some(0.4 / mid),
            mid: Some(1.2 / mid),
            late: Some(4.0 / mid),
        },
        quickened: 0.3,
        rests_on_looks: 0.55,
        flags: Vec::new(),
        change: None,
        uneven: None,
    }
}

fn state(id: &str, place: Option<usize>, points: f64, checks: Vec<CheckState>, causes: Vec<CausePoints>) -> PartState {
    let worst = checks
        .iter()
        .filter_map(|c| c.last.as_ref().map(|l| (l.grade, c.check.clone())))
        .max()
        .map(|(grade, check)| WorstGrade {
            check,
            grade,
            date: date(2026, 3, 28),
        });
    PartState {
        id: part(id),
        seen: worst.is_some(),
        checks,
        exposure: ExposureCurve {
            days: vec![0.0, 140.0],
            points: vec![0.0, points],
        },
        points,
        draws: [].into(),
        unknown_points: if place.is_none() { points } else { points / 8.0 },
        causes,
        risk: if points > 20.0 {
            RiskLevel::High
        } else {
            RiskLevel::Medium
        },
        worst,
        rank: place.map(|place| Rank {
            place,
            best: place.saturating_sub(1).max(1),
            worst: place + 1,
        }),
    }
}

fn may(mode: &str, check: &str, severity: Severity, probability: f64, points: f64) -> CausePoints {
    CausePoints {
        cause: Cause::MayHappen {
            mode: mode.to_owned(),
            severity,
            probability,
        },
        check: Some(check.to_owned()),
        points,
        unknown: false,
    }
}

/// Hand-made values for [`car`].
pub fn reckoned() -> Reckoned {
    let law = CausePoints {
        cause: Cause::Law(Class::Major),
        check: Some("boot".to_owned()),
        points: 6.1,
        unknown: false,
    };
    let parts = vec![
        state(
            "track-rod-end@front-left",
            Some(3),
            9.4,
            vec![check("play", 0.62, Some(3))],
            vec![],
        ),
        state(
            "track-rod-end@front-right",
            Some(4),
            8.8,
            vec![check("play", 0.6, Some(3))],
            vec![],
        ),
        state(
            "lower-ball-joint@front-left",
            Some(1),
            43.0,
            vec![
                check("boot", 0.95, Some(4)),
                check("play", 0.7, Some(3)),
                check("nut", 0.4, None),
            ],
            vec![may("parts", "boot", Severity::Catastrophic, 0.037, 36.9), law],
        ),
        state(
            "lower-ball-joint@front-right",
            Some(2),
            12.5,
            vec![
                check("boot", 0.45, Some(2)),
                check("play", 0.3, None),
                check("nut", 0.4, None),
            ],
            vec![may("parts", "boot", Severity::Catastrophic, 0.012, 12.5)],
        ),
        state(
            "brake-pads@front-left",
            Some(5),
            2.2,
            vec![check("lining", 0.4, Some(2))],
            vec![],
        ),
        state(
            "brake-pads@front-right",
            None,
            4.0,
            vec![check("lining", 0.4, None)],
            vec![],
        ),
        state(
            "brake-hose@front-left",
            None,
            7.7,
            vec![check("bulge", 0.3, None)],
            vec![],
        ),
        state(
            "brake-hose@front-right",
            None,
            7.7,
            vec![check("bulge", 0.3, None)],
            vec![],
        ),
        state(
            "cross-brace@front",
            Some(6),
            0.2,
            vec![check("coating", 0.4, Some(2))],
            vec![],
        ),
    ];
    let assessment = Assessment {
        today: TODAY,
        until: date(2027, 4, 10),
        parts,
        notice: vec![NoticeReason {
            part: part("lower-ball-joint@front-left"),
            check: "boot".to_owned(),
            because: NoticeCause::Dangerous(0.56),
        }],
        pace: Vec::new(),
        survey_offsets: Vec::new(),
        grader: tinworm::engine::Grader {
            sd: tinworm::engine::lives::GRADER_SD,
            pairs: 0,
        },
        odometer_falls: Vec::new(),
        look_next: vec![LookNext {
            part: part("lower-ball-joint@front-right"),
            check: "play".to_owned(),
            moves: 8.0,
            minutes: 4.0,
            last_seen: None,
        }],
    };
    Reckoned {
        assessment,
        sides: vec![
            pair("lower-ball-joint", 43.0, 12.5, true),
            pair("track-rod-end", 9.4, 8.8, false),
        ],
        plan: plan(),
    }
}

fn pair(component: &str, left: f64, right: f64, unlike: bool) -> SidePair {
    SidePair {
        left: part(&format!("{component}@front-left")),
        right: part(&format!("{component}@front-right")),
        left_points: left,
        right_points: right,
        first: Some(Side::Left),
        sure: if unlike { 0.97 } else { 0.58 },
        seen: (true, true),
        differences: unlike
            .then(|| SideDifference {
                check: "boot".to_owned(),
                left: grade(4),
                right: grade(2),
                worse: Side::Left,
                loss: None,
            })
            .into_iter()
            .collect(),
        both_bad: !unlike,
    }
}

fn work(repair: &str, id: &str, points: f64, because: Because) -> Work {
    Work {
        repair: repair.to_owned(),
        part: part(id),
        on: vec![part(id)],
        covers: vec![part(id)],
        hours: 1.8,
        points,
        trade: None,
        instead: Vec::new(),
        because,
        done_on: date(2026, 11, 28),
        carried: points / 10.0,
    }
}

fn visit(on: Date, work: Vec<Work>, share: f64, left_after: f64) -> Visit {
    Visit {
        date: on,
        runs_on: Vec::new(),
        booking: None,
        work,
        access: Vec::new(),
        follow_ups: Vec::new(),
        hours: HoursSpread {
            mean: 4.6,
            median: 4.2,
            high: 6.0,
        },
        room: 6.0,
        may_run_into: None,
        parts: Vec::new(),
        buy: Vec::new(),
        cost: 0.0,
        order_by: None,
        tools: Vec::new(),
        tools_missing: Vec::new(),
        soak: Vec::new(),
        tightening: Vec::new(),
        cautions: vec!["stands".to_owned()],
        why: vec![Why::TakesAway(share)],
        share,
        left_after,
        while_in_there: Vec::new(),
    }
}

fn plan() -> Plan {
    let worst = "lower-ball-joint@front-left";
    let mut joint = work("renew-ball-joint", worst, 42.0, Because::Exposure);
    joint.instead = vec!["renew-arm".to_owned()];
    let mut first = visit(date(2026, 11, 28), vec![joint], 0.55, 31.0);
    first.access = vec![Opened {
        step: "wheel-off".to_owned(),
        station: "front-left".parse().expect("a station"),
        hours: 0.2,
    }];
    first.follow_ups = vec![Owed {
        follow_up: "toe".to_owned(),
        station: "front".parse().expect("a station"),
        hours: 0.8,
    }];
    first.buy = vec![NewPart {
        name: "Lower ball joint with new nut".to_owned(),
        count: 1,
        cost: 38.0,
        lead_days: 3,
    }];
    first.cost = 38.0;
    first.order_by = Some(date(2026, 11, 24));
    first.tools = vec!["ball joint separator".to_owned()];
    first.tools_missing = first.tools.clone();
    first.soak = vec![Soak {
        part: part(worst),
        fixing: "stud nut".to_owned(),
        on: date(2026, 11, 26),
        grade: Some(grade(3)),
        minutes: 18.0,
    }];
    first.tightening = (0..2)
        .map(|fixing| Tightening {
            part: part(worst),
            repair: "renew-ball-joint".to_owned(),
            fixing,
            guide: (fixing == 1).then_some(86.0),
        })
        .collect();
    first.why = vec![
        Why::TakesAway(0.55),
        Why::EndsNotice(part(worst)),
        Why::WaitsForParts(date(2026, 11, 24)),
    ];
    first.while_in_there = vec![Offer {
        repair: "paint-brace".to_owned(),
        part: part("cross-brace@front"),
        hours: 1.0,
        saves: 0.4,
        other_side: false,
    }];
    Plan {
        today: TODAY,
        look_first: vec![LookFirst {
            part: part("brake-hose@front-left"),
            checks: vec!["bulge".to_owned()],
            points: 7.7,
            minutes: 4.0,
        }],
        visits: vec![
            first,
            visit(
                date(2026, 12, 5),
                vec![
                    work(
                        "renew-ball-joint",
                        "lower-ball-joint@front-right",
                        12.0,
                        Because::Exposure,
                    ),
                    work(
                        "renew-track-rod-end",
                        "track-rod-end@front-left",
                        9.0,
                        Because::Exposure,
                    ),
                    work(
                        "renew-track-rod-end",
                        "track-rod-end@front-right",
                        8.0,
                        Because::Exposure,
                    ),
                ],
                0.4,
                2.4,
            ),
            visit(
                date(2026, 12, 12),
                vec![work("paint-brace", "cross-brace@front", 0.2, Because::Ticked)],
                0.01,
                2.2,
            ),
        ],
        not_placed: vec![NotPlaced {
            part: part("brake-pads@front-left"),
            repair: None,
            because: NotPlacedBecause::NoRepair,
        }],
        exposure: 11.2,
        exposure_undone: 74.0,
        bound: 11.0,
        proven_best: true,
        back_on_the_road: Some(date(2026, 11, 28)),
        targets: Vec::new(),
        pace: Default::default(),
        limits: Vec::new(),
    }
}

/// The same with its second visit booked with a welder.
pub fn booked() -> Reckoned {
    let mut reckoned = reckoned();
    if let Some(visit) = reckoned.plan.visits.get_mut(1) {
        let mut welding = work("paint-brace", "cross-brace@front", 12.0, Because::Law);
        welding.trade = Some("welder".to_owned());
        welding.hours = 9.0;
        visit.work = vec![welding];
        visit.hours = HoursSpread {
            mean: 9.0,
            median: 9.0,
            high: 9.0,
        };
        visit.runs_on = vec![date(2026, 12, 12)];
        visit.booking = Some(Booking {
            trade: "welder".to_owned(),
            book_by: date(2026, 11, 24),
            away_until: date(2026, 12, 19),
            labour: 300.0,
        });
        visit.buy = vec![NewPart {
            name: "Brace section".to_owned(),
            count: 1,
            cost: 40.0,
            lead_days: 5,
        }];
        visit.cost = 340.0;
        visit.order_by = Some(date(2026, 11, 30));
        visit.follow_ups = vec![Owed {
            follow_up: "toe".to_owned(),
            station: "front".parse().expect("a station"),
            hours: 0.8,
        }];
        visit.why = vec![
            Why::TakesAway(0.4),
            Why::WaitsForTrade("welder".to_owned(), date(2026, 12, 5)),
        ];
    }
    reckoned.plan.visits.truncate(2);
    reckoned
}

/// A history and forecast of a check.
pub fn series(id: &str, check: &str, years: u8) -> SeriesOf {
    let begin = date(2025, 3, 1);
    let points = (0..=f64_steps(years))
        .map(|n| {
            let d = 0.25 + 0.05 * f64::from(n);
            DeclinePoint {
                date: begin
                    .checked_add(jiff::Span::new().months(i64::from(n) * 3))
                    .expect("a date"),
                damage: spread(d * 0.8, d, d * 1.2 + 0.01 * f64::from(n)),
                past_limit: (d / 2.0).min(1.0),
            }
        })
        .collect();
    let look = |on: Date, digit: u8, from: f64, to: f64| DeclineLook {
        date: on,
        seen: Seen::Grade(grade(digit)),
        grade: grade(digit),
        from,
        to,
    };
    SeriesOf {
        part: part(id),
        check: check.to_owned(),
        years,
        series: Some(DeclineSeries {
            points,
            looks: vec![
                look(date(2025, 6, 1), 1, 0.1, 0.3),
                look(date(2026, 3, 28), 2, 0.3, 0.5),
            ],
            repairs: vec![(date(2025, 9, 6), "renew-ball-joint".to_owned())],
            today: TODAY,
        }),
    }
}

/// Quarters from the beginning of the history to the end of the forecast.
fn f64_steps(years: u8) -> i32 {
    7 + i32::from(years) * 4
}
