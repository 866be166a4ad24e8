//! Threads and torques against published values: a family of tests for each standard, the source beside each row.
//!
//! "Computed apart" is a value from the same formula in Python, "from memory" one of the standard that was not seen when it was
//! written down.

#![allow(clippy::unwrap_used, clippy::panic)]

mod geometry;
mod guide;
mod names;
mod slips;
mod strength;
mod undoing;
mod vdi_2230;

use tinworm::engine::fixings::*;
use tinworm::rubric::{StrengthClass, Thread, ThreadGrade};
use tinworm::units::Grade;

/// One pound-force foot in N·m (NIST Special Publication 811).
const FOOT: f64 = 1.355_818;

/// A thread written `M10x1.5`.
fn m(size: &str) -> Thread {
    let (diameter, pitch) = size[1..].split_once('x').unwrap();
    Thread {
        id: size.to_owned(),
        diameter: diameter.parse().unwrap(),
        pitch: pitch.parse().unwrap(),
    }
}

/// A class of ISO 898-1 with its proof stresses.
fn class(id: &str) -> StrengthClass {
    let (proof, proof_large) = match id {
        "8.8" => (580.0, 600.0),
        "10.9" => (830.0, 830.0),
        "12.9" => (970.0, 970.0),
        _ => (225.0, 225.0),
    };
    StrengthClass {
        id: id.to_owned(),
        proof,
        proof_large,
        source: "ISO 898-1".to_owned(),
    }
}

/// A row: thread, class, value, source.
type Row = (&'static str, &'static str, f64, &'static str);

/// Holds every row to a share of its value.
#[track_caller]
fn hold(rows: &[Row], share: f64, of: impl Fn(&Thread, &StrengthClass) -> f64) {
    for (size, id, value, source) in rows {
        let found = of(&m(size), &class(id));
        assert!(
            (found / value - 1.0).abs() <= share,
            "{size} {id}: {found} is not within {} % of {value} ({source})",
            share * 100.0
        );
    }
}

#[track_caller]
fn near(found: f64, wanted: f64, share: f64) {
    assert!(
        (found / wanted - 1.0).abs() <= share,
        "{found} is not within {} % of {wanted}",
        share * 100.0
    );
}

#[test]
fn trouble_is_the_mean_over_grades_and_never_less_for_not_knowing() {
    let row = |grade: u8, seizes: f64, shears: f64, minutes: f64| ThreadGrade {
        grade: Grade::new(grade).unwrap(),
        seizes,
        shears,
        minutes,
        core_lost: 0.0,
        advice: String::new(),
        ladder: Vec::new(),
        source: "made up for this check".to_owned(),
    };
    let table = [row(0, 0.0, 0.0, 0.0), row(3, 0.5, 0.2, 30.0), row(5, 1.0, 0.9, 120.0)];
    let found = expected_trouble(&[0.5, 0.0, 0.0, 0.5, 0.0, 0.0], &table).unwrap();
    // A quarter of the time 30 minutes: mean 7.5, sd 30·√(1/4·3/4).
    assert!(
        (found.mean_minutes - 7.5).abs() < 1e-12 && (found.sd_minutes - 30.0 * (3.0_f64 / 16.0).sqrt()).abs() < 1e-12
    );
    assert!((found.seizes - 0.25).abs() < 1e-12 && (found.shears - 0.1).abs() < 1e-12);
    // Grade 1 is not in the table: taken as grade 3.
    assert!(
        (expected_trouble(&[0.0, 2.0, 0.0, 0.0, 0.0, 0.0], &table)
            .unwrap()
            .mean_minutes
            - 15.0)
            .abs()
            < 1e-12
    );
    for unknown in [[0.0; 6], [f64::NAN; 6], [1.0, -1.0, 0.5, 0.0, 0.0, 0.0]] {
        assert_eq!(expected_trouble(&unknown, &table).unwrap().mean_minutes, 120.0);
    }
    assert_eq!(expected_trouble(&[1.0, 0.0, 0.0, 0.0, 0.0, 0.0], &[]), None);
}

#[test]
fn what_cannot_be_computed_says_so() {
    for size in ["M10x0", "M10x9", "M0.5x0.1", "M900x2", "MNaNx1", "M10xinf"] {
        assert!(
            matches!(
                guide_torque(&m(size), &class("8.8"), Condition::Dry),
                Err(FixingError::Thread(..))
            ),
            "{size}"
        );
    }
    let mut soft = class("8.8");
    soft.proof = f64::NAN;
    assert!(matches!(
        guide_torque(&m("M8x1.25"), &soft, Condition::Dry),
        Err(FixingError::Proof(..))
    ));
    assert!(matches!(
        breaking_torque(&m("M8x1.25"), &class("4.6"), 0.0),
        Err(FixingError::Class(_))
    ));
    assert!(matches!(
        friction_form(&m("M24x3"), &class("8.8"), 0.12),
        Err(FixingError::Size(_))
    ));
    assert!(matches!(
        friction_form(&m("M8x1.25"), &class("8.8"), f64::NAN),
        Err(FixingError::Friction(_))
    ));
}
