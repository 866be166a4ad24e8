//! Every component in every layout: each part stands where it is placed once, can be looked at, and leads to work.

use std::collections::BTreeMap;

use tinworm::car::round::round;
use tinworm::car::{Car, Profile};
use tinworm::engine::assess::assess;
use tinworm::engine::plan::plan;
use tinworm::rubric::{ALWAYS, CheckKind, LayoutPiece, PartId, Severity, builtin};

use crate::whole_loop::{self, SPRING, TODAY};

fn of_layout(layout: &[String]) -> Car {
    let profile = Profile {
        layout: layout.to_vec(),
        ..whole_loop::car(&[], 8.0).profile
    };
    Car::new(profile)
}

#[test]
fn the_layouts_offer_what_old_cars_are_made_of() {
    let library = builtin::library();
    let count = |choice: &str| library.pieces_of(choice).count();
    assert!(count("steering") >= 2);
    assert!(count("front-suspension") >= 4);
    assert!(count("rear-suspension") >= 6);
    assert!(count("body") >= 2);
    assert!(count("drive") >= 3);
    assert!(count("rear-brakes") >= 2);
    assert!(
        library.components().len() >= 70,
        "{} components",
        library.components().len()
    );
}

/// Whether some car has all these pieces: no two of one choice.
fn go_together(pieces: &[&LayoutPiece]) -> bool {
    pieces.iter().all(|a| {
        pieces
            .iter()
            .all(|b| a.id == b.id || a.choice != b.choice || a.choice == ALWAYS)
    })
}

/// Whatever is combined with whatever, no part stands twice: a placement needs its own piece and one of those it goes
/// `with`, so two of them meet on some car exactly if four pieces can be chosen together.
#[test]
fn in_every_combination_each_part_is_placed_once() {
    let library = builtin::library();
    let mut at: BTreeMap<String, Vec<Vec<Vec<&LayoutPiece>>>> = BTreeMap::new();
    for piece in &library.all().layouts {
        for placement in &piece.places {
            let needs: Vec<Vec<&LayoutPiece>> = if placement.with.is_empty() {
                vec![vec![piece]]
            } else {
                let with = placement.with.iter().map(|id| library.layout(id).expect("a piece"));
                with.map(|with| vec![piece, with]).collect()
            };
            assert!(
                needs.iter().any(|n| go_together(n)),
                "{}: {} can never be there",
                piece.id,
                placement.component
            );
            for station in &placement.at {
                at.entry(format!("{}@{station}", placement.component))
                    .or_default()
                    .push(needs.clone());
            }
        }
    }
    for (part, placements) in &at {
        for (n, one) in placements.iter().enumerate() {
            for other in placements.iter().skip(n + 1) {
                for (a, b) in one.iter().flat_map(|a| other.iter().map(move |b| (a, b))) {
                    let together: Vec<&LayoutPiece> = a.iter().chain(b).copied().collect();
                    assert!(
                        !go_together(&together),
                        "{part} stands twice with {:?}",
                        together.iter().map(|p| &p.id).collect::<Vec<_>>()
                    );
                }
            }
        }
    }
    for component in library.components() {
        let placed = at
            .keys()
            .any(|part| part.split('@').next() == Some(component.id.as_str()));
        assert!(placed, "{} is on no car", component.id);
    }
}

/// Each pair's two sides are there together; nothing is lopsided.
#[test]
fn what_stands_on_the_left_stands_on_the_right() {
    let library = builtin::library();
    for usual in &library.all().usual_cars {
        let parts = library.placed(&usual.layout);
        for part in &parts {
            if let Some(twin) = part.twin() {
                assert!(parts.contains(&twin), "{}: {part} without {twin}", usual.id);
            }
        }
    }
}

#[test]
fn every_check_of_every_part_is_met_once_on_the_round() {
    let library = builtin::library();
    for usual in &library.all().usual_cars {
        let car = of_layout(&usual.layout);
        let mut met: BTreeMap<(PartId, &str), usize> = BTreeMap::new();
        for (part, check, _) in round(&car, library) {
            *met.entry((part, check.id.as_str())).or_default() += 1;
        }
        for part in car.part_ids(library) {
            let component = library.component(&part.component).expect("a known component");
            for check in &component.checks {
                assert_eq!(
                    met.get(&(part.clone(), check.id.as_str())),
                    Some(&1),
                    "{part} {}",
                    check.id
                );
            }
        }
    }
}

/// Components whose failure is a sudden loss of steering, braking or a wheel, or a fuel fire: class K5 of the consequence
/// classes, common practice, no source.
const SUDDEN: &[&str] = &[
    "track-rod-end",
    "inner-track-rod-joint",
    "centre-track-rod",
    "drop-arm",
    "idler-arm",
    "column-joint",
    "steering-column",
    "lower-ball-joint",
    "upper-ball-joint",
    "king-pin",
    "lower-arm",
    "upper-arm",
    "knuckle",
    "brake-pipe",
    "brake-pipe-hidden",
    "brake-hose",
    "hub-bearing",
    "wheel-fixings",
    "fuel-pipe",
    "fuel-hose",
    "fuel-tank",
    "fuel-tank-strap",
    "subframe",
    "subframe-mount",
    "steering-gear-mounting",
];

/// A car with one part (and its twin), one of its checks at the limit.
fn at_the_limit(part: &PartId, layout: &[String], check: &tinworm::rubric::Check) -> Car {
    let library = builtin::library();
    let mut car = whole_loop::car(&[], 8.0);
    car.profile.layout = layout.to_vec();
    car.parts.clear();
    let twin = part.twin();
    for placed in library.placed(layout) {
        if placed != *part && Some(&placed) != twin.as_ref() {
            car.parts.entry(placed).or_default().not_fitted = true;
        }
    }
    let name = part.to_string();
    match &check.kind {
        CheckKind::Graded(_) => whole_loop::graded(&mut car, SPRING, &name, &check.id, 5),
        CheckKind::YesNo(_) => whole_loop::look(&mut car, SPRING, &name, &check.id, tinworm::car::Seen::Answer(true)),
        CheckKind::Measured(m) => {
            let past = m.limit + 0.2 * (m.limit - m.new);
            let readings = vec![past; m.points.len().max(1)];
            whole_loop::look(
                &mut car,
                SPRING,
                &name,
                &check.id,
                tinworm::car::Seen::Reading(readings),
            );
        }
    }
    car
}

/// A part that may let go suddenly, at its limit in any of its checks, is work: on a day, with tools, with something to
/// buy or somebody to ask, and with its cautions.
#[test]
fn whatever_may_let_go_suddenly_leads_to_a_visit_with_tools_parts_and_cautions() {
    let library = builtin::library();
    let mut faults = Vec::new();
    for id in SUDDEN {
        let component = library.component(id).unwrap_or_else(|| panic!("no component {id}"));
        assert!(
            component.modes.iter().any(|m| m.severity == Severity::Catastrophic),
            "{id} has no catastrophic mode"
        );
        let (part, layout) = library
            .all()
            .usual_cars
            .iter()
            .find_map(|u| {
                let placed = library.placed(&u.layout);
                Some((placed.into_iter().find(|p| p.component == *id)?, &u.layout))
            })
            .unwrap_or_else(|| panic!("{id} is on no usual car"));
        for check in &component.checks {
            let car = at_the_limit(&part, layout, check);
            let assessment = assess(&car, library, TODAY);
            let plan = plan(&car, library, &assessment);
            let found = plan
                .visits
                .iter()
                .find(|v| v.work.iter().any(|w| w.covers.contains(&part)));
            let Some(visit) = found else {
                faults.push(format!(
                    "{part} {} at its limit: no visit ({:?})",
                    check.id, plan.not_placed
                ));
                continue;
            };
            let repair = visit
                .work
                .iter()
                .find(|w| w.covers.contains(&part))
                .and_then(|w| library.repair(&w.repair))
                .expect("a repair");
            let specialist = repair.specialist.is_some();
            if visit.tools.is_empty() && !specialist {
                faults.push(format!("{part} {}: `{}` needs no tools", check.id, repair.id));
            }
            if visit.buy.is_empty() && !specialist {
                faults.push(format!("{part} {}: `{}` needs no parts", check.id, repair.id));
            }
            if visit.cautions.is_empty() {
                faults.push(format!("{part} {}: `{}` has no cautions", check.id, repair.id));
            }
        }
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}
