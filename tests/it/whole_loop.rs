//! The main job on one car, through the library: what was seen becomes an order of work that a mechanic would choose.
//!
//! The orders asked for here are common practice, no source: the worse side first with what shares its opening, alignment
//! after joints, tyres after alignment, looks last.

#![allow(clippy::panic)]

use jiff::civil::{Date, date};
use tinworm::car::{Budget, Car, Change, Day, Look, NotSeen, PartNote, Profile, RepairDone, Seen, Sessions, Use};
use tinworm::engine::assess::assess;
use tinworm::engine::plan::{NotPlacedBecause, Plan, plan};
use tinworm::engine::sides::sides;
use tinworm::engine::standing::ranked;
use tinworm::engine::{Assessment, NoticeCause};
use tinworm::rubric::{Library, Locking, PartId, Side, Tightened, builtin};
use tinworm::units::Grade;

pub(crate) const AUTUMN: Date = date(2025, 10, 4);
pub(crate) const SPRING: Date = date(2026, 4, 11);
pub(crate) const TODAY: Date = date(2026, 4, 12);

pub(crate) fn library() -> &'static Library {
    builtin::library()
}

pub(crate) fn id(part: &str) -> PartId {
    part.parse().expect("a part")
}

/// A car that has only the parts named.
pub(crate) fn car(parts: &[&str], session_hours: f64) -> Car {
    let mut car = Car::new(Profile {
        name: "Test".to_owned(),
        built: Some(date(1994, 1, 1)),
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
        distance_unit: Default::default(),
        yearly_km: 7000.0,
        salted_months: vec![11, 12, 1, 2, 3],
        salt_factor: 2.0,
        climate: "C3".to_owned(),
        storage: "outside".to_owned(),
        in_use: Use::InUse,
        next_survey: Some(date(2027, 4, 10)),
        sessions: Sessions {
            weekdays: vec![Day::Saturday],
            hours: session_hours,
            from: None,
            except: Vec::new(),
            ..Sessions::default()
        },
        budget: Budget::default(),
        tools: Vec::new(),
        retired: None,
    });
    for placed in library().placed(&car.profile.layout) {
        if !parts.contains(&placed.to_string().as_str()) {
            car.parts.insert(
                placed,
                PartNote {
                    not_fitted: true,
                    ..PartNote::default()
                },
            );
        }
    }
    car
}

pub(crate) fn look(car: &mut Car, day: Date, part: &str, check: &str, seen: Seen) {
    look_by(library(), car, day, part, check, seen);
}

fn look_by(library: &Library, car: &mut Car, day: Date, part: &str, check: &str, seen: Seen) {
    if !car.surveys.iter().any(|s| s.date == day) {
        car.apply(Change::Survey {
            date: day,
            odometer_km: None,
            note: String::new(),
        })
        .expect("a survey");
    }
    assert!(
        library.check(&id(part).component, check).is_some(),
        "{part} has no {check}"
    );
    let look = Look {
        part: id(part),
        check: check.to_owned(),
        seen,
        note: String::new(),
        photos: Vec::new(),
    };
    car.apply(Change::Look { survey: day, look }).expect("a look");
}

pub(crate) fn graded(car: &mut Car, day: Date, part: &str, check: &str, digit: u8) {
    look(car, day, part, check, Seen::Grade(Grade::new(digit).expect("a grade")));
}

pub(crate) fn graded_by(library: &Library, car: &mut Car, day: Date, part: &str, check: &str, digit: u8) {
    let seen = Seen::Grade(Grade::new(digit).expect("a grade"));
    look_by(library, car, day, part, check, seen);
}

pub(crate) fn read(car: &mut Car, day: Date, part: &str, check: &str, value: f64) {
    look(car, day, part, check, Seen::Reading(vec![value]));
}

pub(crate) fn points(assessment: &Assessment, part: &str) -> f64 {
    assessment.part(&id(part)).expect("a part").points
}

/// Which visit does something to a part, and the repair.
fn visit_of<'a>(plan: &'a Plan, part: &str) -> Option<(usize, &'a str)> {
    plan.visits.iter().enumerate().find_map(|(nth, visit)| {
        let work = visit.work.iter().find(|w| w.covers.contains(&id(part)))?;
        Some((nth, work.repair.as_str()))
    })
}

const FRONT: [&str; 15] = [
    "lower-arm@front-left",
    "lower-arm@front-right",
    "lower-arm-bush@front-left/front",
    "lower-arm-bush@front-left/rear",
    "lower-arm-bush@front-right/front",
    "lower-arm-bush@front-right/rear",
    "lower-ball-joint@front-left",
    "lower-ball-joint@front-right",
    "drop-link@front-left",
    "drop-link@front-right",
    "track-rod-end@front-left",
    "track-rod-end@front-right",
    "wheel-alignment@front",
    "cross-brace@front",
    "tyre@front-left",
];

/// A split, dry boot without play and a parting bush on one lower arm, milder signs on the other side, a drop link whose nut
/// will not move, worn track rod ends, a scruffy cross-brace.
pub(crate) fn worn_front(session_hours: f64) -> Car {
    let mut car = car(&FRONT, session_hours);
    let c = &mut car;
    for (side, boot, bush, nut, link, play) in [("left", 5, 4, 5, 3, 0.6), ("right", 2, 3, 3, 2, 0.55)] {
        let at = |component: &str| format!("{component}@front-{side}");
        graded(c, SPRING, &at("lower-ball-joint"), "boot", boot);
        read(c, SPRING, &at("lower-ball-joint"), "play", 0.0);
        graded(c, SPRING, &at("lower-ball-joint"), "seat", 0);
        graded(c, SPRING, &format!("{}/rear", at("lower-arm-bush")), "rubber", bush);
        graded(c, SPRING, &format!("{}/front", at("lower-arm-bush")), "rubber", 1);
        graded(c, SPRING, &at("lower-arm"), "metal", 2);
        graded(c, SPRING, &at("lower-arm"), "shape", 0);
        graded(c, SPRING, &at("lower-arm"), "pivot-bolt-thread", 2);
        graded(c, SPRING, &at("drop-link"), "nut-thread", nut);
        graded(c, SPRING, &at("drop-link"), "play", link);
        graded(c, SPRING, &at("drop-link"), "boot", link);
        graded(c, SPRING, &at("drop-link"), "rod", 2);
        graded(c, SPRING, &at("track-rod-end"), "boot", 2);
        read(c, SPRING, &at("track-rod-end"), "play", play);
    }
    graded(c, SPRING, "cross-brace@front", "finish", 4);
    graded(c, SPRING, "cross-brace@front", "ends", 1);
    read(c, SPRING, "wheel-alignment@front", "toe", 0.5);
    graded(c, SPRING, "wheel-alignment@front", "feathering", 1);
    look(
        c,
        SPRING,
        "tyre@front-left",
        "tread",
        Seen::Reading(vec![5.5, 5.8, 5.6]),
    );
    graded(c, SPRING, "tyre@front-left", "wall", 1);
    car
}

#[test]
fn the_worse_arm_comes_first_with_its_drop_link_and_the_brace_comes_last() {
    let car = worn_front(8.0);
    let assessment = assess(&car, library(), TODAY);
    let plan = plan(&car, library(), &assessment);
    let told = || {
        let visits = plan.visits.iter().map(|v| {
            let work: Vec<String> = v
                .work
                .iter()
                .map(|w| format!("{} {} {:.1}", w.repair, w.part, w.points))
                .collect();
            format!("{} {:.1} h: {}", v.date, v.hours.mean, work.join(", "))
        });
        visits.collect::<Vec<_>>().join("\n")
    };
    let left = visit_of(&plan, "lower-arm-bush@front-left/rear").unwrap_or_else(|| panic!("{}", told()));
    let right = visit_of(&plan, "lower-arm-bush@front-right/rear").unwrap_or_else(|| panic!("{}", told()));
    assert_eq!(
        left.1,
        "renew-lower-arm",
        "an arm comes with its joint and bushes\n{}",
        told()
    );
    assert_eq!(visit_of(&plan, "lower-ball-joint@front-left"), Some(left));
    assert!(left.0 < right.0, "the worse side first\n{}", told());
    assert_eq!(
        visit_of(&plan, "drop-link@front-left").map(|v| v.0),
        Some(left.0),
        "{}",
        told()
    );
    let ends = ["left", "right"].map(|s| visit_of(&plan, &format!("track-rod-end@front-{s}")).expect("planned").0);
    assert_eq!(ends[0], ends[1], "one toe set serves both\n{}", told());
    let toe = plan.visits[ends[0]]
        .follow_ups
        .iter()
        .filter(|f| f.follow_up == "toe-set")
        .count();
    assert_eq!(toe, 1);
    let brace = visit_of(&plan, "cross-brace@front").expect("the brace is planned");
    assert_eq!(brace.0, plan.visits.len() - 1, "{}", told());
    // Rubber is clamped at ride height, and nuts that lock by themselves are on the list.
    let visit = &plan.visits[left.0];
    let fixing = |t: &tinworm::engine::plan::Tightening| {
        library().repair(&t.repair).expect("a repair").fixings[t.fixing].clone()
    };
    let arm: Vec<_> = visit
        .tightening
        .iter()
        .filter(|t| t.repair == "renew-lower-arm")
        .map(fixing)
        .collect();
    assert!(
        arm.iter()
            .any(|f| f.tightened == Tightened::AtRideHeight && f.name.contains("pivot")),
        "{arm:?}"
    );
    assert!(arm.iter().any(|f| f.locking == Locking::SelfLocking));
    assert!(
        visit.buy.iter().any(|b| b.name.contains("self-locking nut")),
        "{:?}",
        visit.buy
    );
    assert!(visit.cautions.iter().any(|c| c == "stands") && visit.cautions.iter().any(|c| c == "ride-height"));
    assert!(!visit.soak.is_empty());
}

#[test]
fn a_split_boot_alone_does_not_keep_the_car_off_the_road() {
    let mut car = car(&["lower-ball-joint@front-left"], 6.0);
    graded(&mut car, SPRING, "lower-ball-joint@front-left", "boot", 5);
    read(&mut car, SPRING, "lower-ball-joint@front-left", "play", 0.0);
    graded(&mut car, SPRING, "lower-ball-joint@front-left", "seat", 0);
    let assessment = assess(&car, library(), TODAY);
    assert!(assessment.notice.is_empty(), "{:?}", assessment.notice);
    // A loose stud does, until it is repaired and looked at again.
    graded(&mut car, SPRING, "lower-ball-joint@front-left", "seat", 5);
    let loose = assess(&car, library(), TODAY);
    assert_eq!(loose.notice.first().map(|n| n.because), Some(NoticeCause::AtItsLimit));
    car.apply(Change::Done(RepairDone::new(
        date(2026, 4, 18),
        "renew-lower-ball-joint",
        id("lower-ball-joint@front-left"),
    )))
    .expect("done");
    let repaired = assess(&car, library(), date(2026, 4, 19));
    assert_eq!(
        repaired.notice.first().map(|n| n.because),
        Some(NoticeCause::NotLookedAtSinceRepair)
    );
    graded(&mut car, date(2026, 4, 25), "lower-ball-joint@front-left", "seat", 0);
    assert!(assess(&car, library(), date(2026, 4, 26)).notice.is_empty());
}

#[test]
fn a_second_survey_after_a_winter_moves_forecasts_where_grades_moved_and_says_which_changes_are_real() {
    let parts = [
        "lower-arm-bush@front-left/rear",
        "lower-arm-bush@front-right/rear",
        "sill@left/rear",
        "sill@right/rear",
    ];
    let mut car = car(&parts, 6.0);
    for part in parts {
        graded(
            &mut car,
            AUTUMN,
            part,
            if part.starts_with("sill") {
                "metal-near-mounting"
            } else {
                "rubber"
            },
            1,
        );
    }
    let before = assess(&car, library(), TODAY);
    for (part, check, now) in [
        (parts[0], "rubber", 4),
        (parts[1], "rubber", 2),
        (parts[2], "metal-near-mounting", 1),
        (parts[3], "metal-near-mounting", 3),
    ] {
        graded(&mut car, SPRING, part, check, now);
    }
    let after = assess(&car, library(), TODAY);
    let change = |part: &str| {
        after.part(&id(part)).expect("a part").checks[0]
            .change
            .expect("seen twice")
    };
    assert!(change(parts[0]).is_real(), "three grades: {:?}", change(parts[0]));
    assert!(
        !change(parts[1]).is_real(),
        "one grade may be the grader's scatter: {:?}",
        change(parts[1])
    );
    assert!(!change(parts[2]).is_real());
    for moved in [parts[0], parts[3]] {
        assert!(points(&after, moved) > points(&before, moved), "{moved}");
        let left = |a: &Assessment| {
            a.part(&id(moved)).expect("a part").checks[0]
                .years_left
                .mid
                .unwrap_or(99.0)
        };
        assert!(left(&after) < left(&before), "{moved}");
    }
    let still = |a: &Assessment| {
        a.part(&id(parts[2])).expect("a part").checks[0]
            .years_left
            .mid
            .unwrap_or(99.0)
    };
    assert!(still(&after) > still(&before), "a winter without change is good news");
    let rests = |a: &Assessment| a.part(&id(parts[2])).expect("a part").checks[0].rests_on_looks;
    assert!(
        rests(&after) > rests(&before),
        "the pace rests more on looks of its own"
    );
}

#[test]
fn two_equally_bad_sides_both_stay_high() {
    let mut car = car(
        &[
            "track-rod-end@front-left",
            "track-rod-end@front-right",
            "sill@left/rear",
        ],
        6.0,
    );
    for side in ["left", "right"] {
        let part = format!("track-rod-end@front-{side}");
        graded(&mut car, SPRING, &part, "boot", 5);
        read(&mut car, SPRING, &part, "play", 1.1);
    }
    graded(&mut car, SPRING, "sill@left/rear", "metal-near-mounting", 1);
    let assessment = assess(&car, library(), TODAY);
    let order: Vec<String> = ranked(&assessment).iter().map(|p| p.id.component.clone()).collect();
    assert_eq!(order, ["track-rod-end", "track-rod-end", "sill"]);
    let (left, right) = (
        points(&assessment, "track-rod-end@front-left"),
        points(&assessment, "track-rod-end@front-right"),
    );
    assert!((left / right - 1.0).abs() < 1e-9 && left > 10.0, "{left} {right}");
    let pairs = sides(&car, library(), &assessment);
    let pair = pairs
        .iter()
        .find(|p| p.left.component == "track-rod-end")
        .expect("a pair");
    assert!(pair.both_bad && pair.first.is_none() && pair.differences.is_empty());
}

#[test]
fn covering_a_part_never_makes_it_look_better() {
    let mut bare = car(&["sill@left/rear", "lower-arm@front-left"], 6.0);
    for (part, check) in [
        ("sill@left/rear", "metal-near-mounting"),
        ("lower-arm@front-left", "metal"),
    ] {
        graded(&mut bare, AUTUMN, part, check, 3);
    }
    let mut covered = bare.clone();
    look(
        &mut covered,
        SPRING,
        "sill@left/rear",
        "metal-near-mounting",
        Seen::Not(NotSeen::Covered),
    );
    look(
        &mut covered,
        SPRING,
        "lower-arm@front-left",
        "metal",
        Seen::Not(NotSeen::Covered),
    );
    let (a, b) = (assess(&bare, library(), TODAY), assess(&covered, library(), TODAY));
    for part in ["sill@left/rear", "lower-arm@front-left"] {
        assert!(points(&b, part) >= points(&a, part) - 1e-12, "{part}");
        let worst = |x: &Assessment| x.part(&id(part)).and_then(|p| p.worst.clone()).map(|w| w.grade);
        assert_eq!(worst(&b), worst(&a));
    }
}

#[test]
fn alignment_comes_after_joints_and_tyres_after_alignment() {
    let mut car = car(
        &[
            "lower-arm-bush@front-left/rear",
            "wheel-alignment@front",
            "tyre@front-left",
            "tyre@front-right",
        ],
        3.5,
    );
    graded(&mut car, SPRING, "lower-arm-bush@front-left/rear", "rubber", 4);
    read(&mut car, SPRING, "wheel-alignment@front", "toe", 4.0);
    graded(&mut car, SPRING, "wheel-alignment@front", "feathering", 4);
    for side in ["left", "right"] {
        // Far worse than the joint: by exposure alone the tyres would come first.
        let tread = Seen::Reading(vec![1.0, 2.5, 2.4]);
        look(&mut car, SPRING, &format!("tyre@front-{side}"), "tread", tread);
        graded(&mut car, SPRING, &format!("tyre@front-{side}"), "wall", 4);
    }
    let assessment = assess(&car, library(), TODAY);
    assert!(points(&assessment, "tyre@front-left") > points(&assessment, "lower-arm-bush@front-left/rear"));
    let plan = plan(&car, library(), &assessment);
    let order = [
        "lower-arm-bush@front-left/rear",
        "wheel-alignment@front",
        "tyre@front-left",
    ];
    let at = order.map(|part| {
        let (nth, _) = visit_of(&plan, part).unwrap_or_else(|| panic!("{part} is not planned"));
        let within = plan.visits[nth]
            .work
            .iter()
            .position(|w| w.covers.contains(&id(part)))
            .expect("in the visit");
        (nth, within)
    });
    assert!(at[0] < at[1] && at[1] < at[2], "{at:?}");
    assert_eq!(
        visit_of(&plan, "tyre@front-right"),
        visit_of(&plan, "tyre@front-left"),
        "tyres go on in pairs"
    );
}

#[test]
fn worse_looks_longer_waits_and_harder_use_never_lower_exposure_and_repairs_never_raise_it() {
    for (part, check, rest) in [
        ("lower-arm-bush@front-left/rear", "rubber", None),
        ("sill@left/rear", "metal-near-mounting", None),
        ("lower-ball-joint@front-left", "boot", Some(("seat", 1))),
        ("coil-spring@front-left", "coil", None),
    ] {
        let mut last = 0.0;
        for digit in 0..=5 {
            let mut car = car(&[part], 6.0);
            if let Some((other, digit)) = rest {
                graded(&mut car, AUTUMN, part, other, digit);
            }
            graded(&mut car, AUTUMN, part, check, 0);
            graded(&mut car, SPRING, part, check, digit);
            let assessment = assess(&car, library(), TODAY);
            let now = points(&assessment, part);
            assert!(
                now >= last - 1e-9,
                "{part} {check}: grade {digit} gives {now}, the milder one {last}"
            );
            last = now;
            let curve = &assessment.part(&id(part)).expect("a part").exposure;
            assert!(
                curve.points.windows(2).all(|w| w[1] >= w[0]),
                "{part}: exposure falls while waiting"
            );
        }
        let mut used = car(&[part], 6.0);
        graded(&mut used, SPRING, part, check, 3);
        let gentle = points(&assess(&used, library(), TODAY), part);
        used.profile.yearly_km = 30_000.0;
        used.profile.climate = "C5".to_owned();
        used.profile.storage = "outside-on-grass".to_owned();
        assert!(
            points(&assess(&used, library(), TODAY), part) >= gentle,
            "{part}: harder use"
        );
        let component = part.split_once('@').expect("a station").0;
        let repair = library()
            .repairs_of(component)
            .find(|r| r.component == component)
            .expect("a repair");
        let whole = |c: &Car| {
            assess(c, library(), date(2026, 4, 20))
                .parts
                .iter()
                .map(|p| p.points)
                .sum::<f64>()
        };
        let undone = whole(&used);
        used.apply(Change::Done(RepairDone::new(date(2026, 4, 18), &repair.id, id(part))))
            .expect("done");
        assert!(whole(&used) <= undone, "{part}: {} raised the total", repair.id);
    }
}

#[test]
fn work_that_the_money_does_not_reach_says_so() {
    let parts = ["track-rod-end@front-left", "track-rod-end@front-right"];
    let mut car = car(&parts, 8.0);
    for (part, play) in parts.into_iter().zip([0.9, 0.7]) {
        graded(&mut car, SPRING, part, "boot", 4);
        read(&mut car, SPRING, part, "play", play);
    }
    // Enough for the parts of one end, and no more money to come.
    car.profile.budget = Budget {
        in_hand: 40.0,
        limited: true,
        ..Budget::default()
    };
    let assessment = assess(&car, library(), TODAY);
    let plan = plan(&car, library(), &assessment);
    assert!(visit_of(&plan, parts[0]).is_some() && visit_of(&plan, parts[1]).is_none());
    let left: Vec<_> = plan
        .not_placed
        .iter()
        .map(|n| (n.part.to_string(), n.because))
        .collect();
    assert_eq!(left, [(parts[1].to_owned(), NotPlacedBecause::NoMoney)]);
}

/// Paint over thin metal is no way to put it right, so it is not offered as one.
#[test]
fn paint_is_no_alternative_where_the_metal_has_gone() {
    for (grade, offered) in [(2, true), (4, false)] {
        let mut car = car(&["lower-arm@front-left"], 8.0);
        graded(&mut car, SPRING, "lower-arm@front-left", "metal", grade);
        let assessment = assess(&car, library(), TODAY);
        let part = id("lower-arm@front-left");
        let all = tinworm::engine::plan::alternatives::alternatives(&car, library(), &assessment, &part);
        let painted = all
            .iter()
            .any(|a| a.work.iter().any(|(r, _)| r == "treat-lower-arm-rust"));
        assert_eq!(painted, offered, "grade {grade}");
    }
}
