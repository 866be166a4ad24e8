//! What the checks of one car tell each other: couplings, the car's pace, a survey graded harder, flags, where to look next.

use tinworm::car::Car;
use tinworm::engine::assess::assess;
use tinworm::engine::{Assessment, CheckState, Flag};

use super::whole_loop::{AUTUMN, SPRING, TODAY, car, graded, id, library, points, read};

fn check<'a>(assessment: &'a Assessment, part: &str, check: &str) -> &'a CheckState {
    let part = assessment.part(&id(part)).expect("a part");
    part.checks.iter().find(|c| c.check == check).expect("a check")
}

const SILLS: [&str; 6] = [
    "sill@left/front",
    "sill@left/middle",
    "sill@left/rear",
    "sill@right/front",
    "sill@right/middle",
    "sill@right/rear",
];

/// Six sills graded in autumn and again in spring.
fn sills(autumn: u8, spring: u8) -> Car {
    let mut sills = car(&[&SILLS[..], &["lower-arm@front-left"]].concat(), 6.0);
    for sill in SILLS {
        graded(&mut sills, AUTUMN, sill, "metal-near-mounting", autumn);
        graded(&mut sills, SPRING, sill, "metal-near-mounting", spring);
    }
    sills
}

#[test]
fn an_open_boot_quickens_the_joint_under_it() {
    let joint = "track-rod-end@front-left";
    let with_boot = |digit: u8| {
        let mut car = car(&[joint], 6.0);
        graded(&mut car, SPRING, joint, "boot", digit);
        read(&mut car, SPRING, joint, "play", 0.3);
        assess(&car, library(), TODAY)
    };
    let (whole, open) = (with_boot(0), with_boot(5));
    let (whole, open) = (check(&whole, joint, "play"), check(&open, joint, "play"));
    let ratio = open.grades_per_year / whole.grades_per_year;
    assert!(
        ratio > 2.5 && ratio <= 4.0,
        "four times, once the boot is surely open: {ratio}"
    );
    assert!(open.past_limit_then > whole.past_limit_then);
    // One day has passed since the look.
    assert!(
        (open.damage.mid - whole.damage.mid).abs() < 0.002,
        "what is known today hardly changes"
    );
}

#[test]
fn a_car_that_rusts_fast_rusts_fast_where_nobody_has_looked_twice() {
    let unseen = |autumn, spring| {
        let mut car = sills(autumn, spring);
        graded(&mut car, SPRING, "lower-arm@front-left", "metal", 1);
        assess(&car, library(), TODAY)
    };
    let (calm, eaten) = (unseen(1, 1), unseen(0, 3));
    let pace = |a: &Assessment| {
        a.pace
            .iter()
            .find(|p| p.driver == "corrosion")
            .expect("a pace")
            .times
            .mid
    };
    assert!(
        pace(&eaten) > 1.2 && pace(&calm) < 1.0,
        "{} {}",
        pace(&eaten),
        pace(&calm)
    );
    assert!(points(&eaten, "lower-arm@front-left") > points(&calm, "lower-arm@front-left"));
    let wear = eaten.pace.iter().find(|p| p.driver == "wear").expect("a pace");
    assert!(
        (wear.times.mid - 1.0).abs() < 1e-6 && wear.checks == 0,
        "rust says nothing of wear"
    );
}

#[test]
fn a_survey_graded_harder_throughout_is_not_taken_for_decline() {
    let one_grade_each = assess(&sills(1, 2), library(), TODAY);
    let offset = one_grade_each.survey_offsets.first().expect("an offset");
    assert_eq!(offset.checks, 6);
    assert!(
        offset.offset > 0.01,
        "all moved one grade in half a year: {}",
        offset.offset
    );
    let mut alone = sills(1, 1);
    graded(&mut alone, SPRING, SILLS[0], "metal-near-mounting", 2);
    let alone = assess(&alone, library(), TODAY);
    let change = |a: &Assessment| {
        check(a, SILLS[0], "metal-near-mounting")
            .change
            .expect("seen twice")
            .probability
    };
    assert!(
        change(&one_grade_each) < change(&alone),
        "the same step is less real when every part took it"
    );
}

#[test]
fn what_cannot_be_is_asked_about_and_stays_in_the_ranking() {
    let sill = SILLS[0];
    let mut better = car(&[sill], 6.0);
    graded(&mut better, AUTUMN, sill, "metal-near-mounting", 4);
    graded(&mut better, SPRING, sill, "metal-near-mounting", 1);
    let better = assess(&better, library(), TODAY);
    assert!(
        check(&better, sill, "metal-near-mounting")
            .flags
            .contains(&Flag::BetterWithoutRepair)
    );
    assert!(better.part(&id(sill)).expect("a part").rank.is_some());
    let mut plain = car(&[sill], 6.0);
    graded(&mut plain, AUTUMN, sill, "metal-near-mounting", 2);
    graded(&mut plain, SPRING, sill, "metal-near-mounting", 2);
    assert!(
        check(&assess(&plain, library(), TODAY), sill, "metal-near-mounting")
            .flags
            .is_empty()
    );
}

#[test]
fn the_look_worth_most_is_at_what_may_kill_and_was_never_seen() {
    let joint = "lower-ball-joint@front-left";
    let mut seen_in_part = car(&[joint, "cross-brace@front"], 6.0);
    graded(&mut seen_in_part, SPRING, joint, "boot", 1);
    graded(&mut seen_in_part, SPRING, "cross-brace@front", "finish", 2);
    let assessment = assess(&seen_in_part, library(), TODAY);
    let first = assessment.look_next.first().expect("looks worth taking");
    assert_eq!(first.part, id(joint));
    assert!(first.moves > 1.0 && first.last_seen.is_none());
    let part = assessment.part(&id(joint)).expect("a part");
    assert!(
        part.unknown_points > 0.9 * (part.points - 1.0),
        "nearly all of it is unknown"
    );
    // Seen and sound, it falls: a look changes the standing, not knowing never improves it.
    read(&mut seen_in_part, SPRING, joint, "play", 0.0);
    graded(&mut seen_in_part, SPRING, joint, "seat", 0);
    graded(&mut seen_in_part, SPRING, joint, "pinch-bolt-thread", 0);
    assert!(points(&assess(&seen_in_part, library(), TODAY), joint) < part.points);
}

#[test]
fn the_same_car_gives_the_same_numbers_and_an_unseen_one_is_not_ranked() {
    let car = sills(1, 3);
    let (a, b) = (assess(&car, library(), TODAY), assess(&car, library(), TODAY));
    for (x, y) in a.parts.iter().zip(&b.parts) {
        assert_eq!(x.points.to_bits(), y.points.to_bits(), "{}", x.id);
        assert_eq!(x.rank, y.rank);
        assert_eq!(x.draws, y.draws);
    }
    let arm = a.part(&id("lower-arm@front-left")).expect("a part");
    assert!(arm.rank.is_none() && arm.points > 0.0 && arm.worst.is_none());
}
