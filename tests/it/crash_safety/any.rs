//! Changes of any kind, with texts and numbers as odd as can be.

use proptest::prelude::*;
use tinworm::car::{Buying, Change, OpenJob, PartNote, Purchase, Wishes};

use super::torque;
use crate::cars::{day, done, profile};

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "\\PC{0,12}",
        any::<String>(),
        Just("e\u{301}\r\n\t\"\\ \u{202e}物語🚗\u{0}\u{feff}".to_owned()),
    ]
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(0.0),
        Just(-0.0),
        Just(1.0 / 3.0),
        Just(f64::MAX),
        Just(f64::MIN_POSITIVE),
        (0.0..1e6_f64),
        any::<f64>()
    ]
}

pub fn any_change() -> impl Strategy<Value = Change> {
    let date = || (1..=4_i8).prop_map(|d| jiff::civil::date(2026, 3, d));
    let part = || prop_oneof![Just("disc@front-left"), Just("hose@rear/inner")].prop_map(|p| p.parse().unwrap());
    let check = || prop_oneof![Just("a".to_owned()), any_text()];
    let seen = prop_oneof![
        (0..=5_u8).prop_map(|g| tinworm::car::Seen::Grade(tinworm::units::Grade::new(g).unwrap())),
        prop::collection::vec(any_number(), 0..3).prop_map(tinworm::car::Seen::Reading),
        any::<bool>().prop_map(tinworm::car::Seen::Answer),
        Just(tinworm::car::Seen::Not(tinworm::car::NotSeen::Covered)),
    ];
    prop_oneof![
        (any_text(), any_number()).prop_map(|(name, km)| {
            let mut profile = profile(&name);
            profile.yearly_km = km;
            Change::Profile(Box::new(profile))
        }),
        (part(), any_text(), any::<bool>(), any_number()).prop_map(|(part, note, added, limit)| {
            let limits = vec![tinworm::car::OwnLimit {
                check: note.clone(),
                new: Some(limit),
                limit,
                source: note.clone(),
            }];
            let limits = if added { limits } else { Vec::new() };
            let note = PartNote {
                added,
                note,
                limits,
                fitted: added.then(|| day("2020-02-29")),
                ..PartNote::default()
            };
            Change::Part(part, note)
        }),
        (date(), prop::option::of(any_number()), any_text()).prop_map(|(date, odometer_km, note)| Change::Survey {
            date,
            odometer_km,
            note
        }),
        (date(), part(), check(), seen, any_text()).prop_map(|(survey, part, check, seen, note)| Change::Look {
            survey,
            look: tinworm::car::Look {
                part,
                check,
                seen,
                photos: vec![format!("{:064x}.png", note.len())],
                note
            }
        }),
        (date(), part(), check()).prop_map(|(survey, part, check)| Change::Unlook { survey, part, check }),
        date().prop_map(Change::Unbegun),
        (date(), prop::option::of(prop::collection::vec((part(), check()), 0..3))).prop_map(|(survey, asks)| {
            let asked = |(part, check)| tinworm::car::Asked { part, check };
            Change::FirstLook {
                survey,
                asks: asks.map(|all| all.into_iter().map(asked).collect()),
            }
        }),
        (date(), part(), check(), 0..6_u8).prop_map(|(survey, part, check, grade)| {
            let grade = tinworm::units::Grade::new(grade).unwrap();
            Change::SecondLook {
                survey,
                second: tinworm::car::SecondLook {
                    part,
                    check,
                    on: survey,
                    first: grade,
                    grade,
                },
            }
        }),
        (date(), any_text()).prop_map(|(date, repair)| done(&date.to_string(), &repair)),
        (0..4_usize).prop_map(Change::Undone),
        (part(), any_text()).prop_map(|(part, repair): (tinworm::rubric::PartId, String)| {
            Change::Wishes(Wishes {
                ticked: vec![part.clone()],
                chosen: [(part.clone(), repair)].into(),
                pinned: [(part, day("2026-05-02"))].into(),
                dropped: Vec::new(),
            })
        }),
        (part(), any_text(), 1.0..999.0_f64).prop_map(|(part, fixing, value)| {
            let torque = torque(&fixing, &format!("{value:.1} N·m"));
            Change::Torque(part, torque)
        }),
        (part(), any_text()).prop_map(|(part, fixing)| Change::NoTorque(part, fixing)),
        (part(), any_text(), prop::option::of(any_number()), date()).prop_map(|(part, name, price, expected)| {
            let mut purchase = Purchase::new(part, "renew", &name);
            purchase.price = price;
            purchase.status = Buying::Ordered { expected };
            Change::Buy(purchase)
        }),
        (part(), date(), any_number(), any_text()).prop_map(|(part, since, hours_so_far, note)| {
            Change::Left(OpenJob {
                part,
                repair: "renew".to_owned(),
                since,
                hours_so_far,
                hours_left: Some(hours_so_far),
                open_steps: vec![note.clone()],
                did: vec![note.clone()],
                extra: Vec::new(),
                note,
            })
        }),
        part().prop_map(Change::Closed),
    ]
}
