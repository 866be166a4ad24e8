//! Torques typed in, set against the guide.

use tinworm::report::fixing::candidates;
use tinworm::rubric::builtin;
use tinworm::units::{OF_A_FIXING, Torque, TorqueUnit};

use super::*;

fn typed(text: &str) -> Torque {
    Torque::parse(text).unwrap()
}

#[test]
fn no_torque_is_refused_that_a_thread_of_the_table_may_have() {
    let all = builtin::library().all();
    for thread in &all.threads {
        for class in &all.strength_classes {
            for condition in Condition::ALL {
                let expected = plausible(guide_torque(thread, class, condition).unwrap());
                for end in [expected.start(), expected.end()] {
                    assert!(OF_A_FIXING.contains(end), "{} {}: {end}", thread.id, class.id);
                    assert!(Torque::parse(&format!("{end:.3} N·m")).is_ok(), "{end}");
                }
            }
        }
    }
}

#[test]
fn slips_in_typed_torques_are_caught() {
    let guide = 50.0;
    for fine in ["15", "36.9", "50", "65", "37 lbf·ft", "5 kgf·m", "20 + 90°", "5 + 180°"] {
        assert_eq!(slip(&typed(fine), guide), None, "{fine}");
    }
    // Nothing explains 9: 12.2 N·m if it were lbf·ft, 88 if it were kgf·m. 12 lbf·ft is 16.3 N·m, which fits; so does 4 kgf·m, 39.
    assert_eq!(slip(&typed("9"), guide), Some(Slip::Low(0.18)));
    let other = |text: &str| match slip(&typed(text), guide) {
        Some(Slip::OtherUnit(unit, meant)) => (unit, meant.round()),
        found => panic!("{text}: {found:?}"),
    };
    assert_eq!(other("12"), (TorqueUnit::PoundFeet, 16.0));
    assert_eq!(other("4"), (TorqueUnit::KilogramMetres, 39.0));
    assert_eq!(other("440"), (TorqueUnit::PoundInches, 50.0));
    assert_eq!(other("60 lbf·ft"), (TorqueUnit::NewtonMetres, 60.0));
    // 60 N·m turned "into N·m" once more is 81; 0.738 of it is 60 again.
    assert!(matches!(slip(&typed("81.35"), guide), Some(Slip::TurnedTwice(meant)) if (meant - 60.0).abs() < 0.01));
    assert_eq!(slip(&typed("1500"), guide), Some(Slip::High(30.0)));
    assert_eq!(slip(&typed("1500 + 90°"), guide), Some(Slip::High(30.0)));
    for none in [0.0, -5.0, f64::NAN, f64::INFINITY] {
        let torque = Torque {
            value: none,
            ..typed("1")
        };
        assert_eq!(slip(&torque, guide), Some(Slip::NoTorque));
    }
    assert_eq!(slip(&typed("50"), f64::NAN), None);
}

#[test]
fn the_window_is_as_wide_as_it_says_and_no_wider() {
    for (value, inside) in [(14.9, false), (15.1, true), (64.9, true), (65.1, false)] {
        assert_eq!(plausible(50.0).contains(&value), inside, "{value}");
        let torque = Torque { value, ..typed("1") };
        assert_eq!(slip(&torque, 50.0).is_none(), inside, "{value}");
    }
}

#[test]
fn a_torque_of_another_thread_is_named_with_it() {
    let all = builtin::library().all();
    let (m10, strong) = (m("M10x1.25"), class("8.8"));
    let fits = threads_that_fit(
        85.0,
        Condition::Dry,
        (&m10, &strong),
        &all.threads,
        &all.strength_classes,
    );
    assert_eq!((fits[0].thread.as_str(), fits[0].class.as_str()), ("M12x1.25", "8.8"));
    assert!(fits.iter().all(|fit| fit.thread != "M10x1.25" || fit.class != "8.8"));
    assert!(
        threads_that_fit(
            5e6,
            Condition::Dry,
            (&m10, &strong),
            &all.threads,
            &all.strength_classes
        )
        .is_empty()
    );
}

#[test]
fn common_torques_are_plausible_for_their_hexagon_and_wild_ones_are_not() {
    // Hexagon, N·m, the nominal diameter it usually stands for: common practice, no source.
    for (across, torque, diameter) in [
        (17.0, 47.0, 10.0),
        (16.0, 59.0, 10.0),
        (19.0, 62.0, 12.0),
        (22.0, 86.0, 14.0),
    ] {
        let value = typed(&torque.to_string());
        let found = candidates(builtin::library(), across, Condition::Dry, Some(&value));
        let usual: Vec<_> = found
            .iter()
            .filter(|c| c.class == "8.8" && c.thread.starts_with(&format!("M{diameter}x")))
            .collect();
        assert!(!usual.is_empty(), "{across} mm is not found on M{diameter}");
        assert!(
            usual.iter().all(|c| c.fits == Some(true)),
            "{torque} N·m with {across} mm: {usual:?}"
        );
        let wild = typed(&(torque * 12.0).to_string());
        let found = candidates(builtin::library(), across, Condition::Dry, Some(&wild));
        assert!(
            found.iter().all(|c| c.fits == Some(false)),
            "{} N·m with {across} mm",
            torque * 12.0
        );
    }
}
