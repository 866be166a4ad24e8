//! The order of a look round the car: every check of every part, in the walk that saves steps.
//!
//! First the stage of the walk (on its wheels, cabin, bonnet, front raised, rear raised, underneath, drive), then once round
//! the car from the driver's front corner across the nose, then the parts of a corner in library order. Each stage ends with
//! what needs the engine running, so that it is started once and everything quiet is seen before. A check that asks for the
//! wheels off the ground at one end is made when the part's own end is up.

use super::Car;
use crate::rubric::{Axle, Check, Library, PartId, Side, Stage, Station};

/// Every check of the car's parts with the stage of the walk at which it is made, in the order of the walk.
///
/// # Example
/// ```
/// use tinworm::car::{Car, round::round};
/// # use tinworm::rubric::{Library, RubricFile};
/// # let library = Library::unchecked(RubricFile::default());
/// # let profile = tinworm::car::Profile {
/// #     name: "car".into(), built: None, layout: vec![], drive_side: tinworm::rubric::Side::Left,
/// #     distance_unit: Default::default(), yearly_km: 5000.0, salted_months: vec![], salt_factor: 2.0,
/// #     climate: "C3".into(), storage: "garage".into(), in_use: Default::default(), next_survey: None,
/// #     sessions: Default::default(), budget: Default::default(), tools: vec![], retired: None };
/// let car = Car::new(profile);
/// assert!(round(&car, &library).is_empty());
/// ```
#[must_use]
pub fn round<'l>(car: &Car, library: &'l Library) -> Vec<(PartId, &'l Check, Stage)> {
    let mut stops: Vec<(PartId, &'l Check, Stage)> = Vec::new();
    for part in car.part_ids(library) {
        if let Some(component) = library.component(&part.component) {
            for check in &component.checks {
                stops.push((part.clone(), check, stage_at(check.stage, &part.station)));
            }
        }
    }
    // The sort is stable: within a corner the library's order of parts and checks stays.
    stops.sort_by_key(|(part, check, stage)| {
        let steps = steps_round(&part.station, car.profile.drive_side);
        (*stage, with_engine_running(check), steps)
    });
    stops
}

/// Whether a check is made with the engine running, as its caution tells.
fn with_engine_running(check: &Check) -> bool {
    check.cautions.iter().any(|caution| caution == "engine-running")
}

/// The stage at which a check is made on a part at this station: a raised end is the part's own end.
#[must_use]
pub fn stage_at(stage: Stage, station: &Station) -> Stage {
    match (stage, station.axle) {
        (Stage::FrontRaised | Stage::RearRaised, Some(Axle::Front)) => Stage::FrontRaised,
        (Stage::FrontRaised | Stage::RearRaised, Some(Axle::Rear)) => Stage::RearRaised,
        (stage, _) => stage,
    }
}

/// How far along the walk round the car a station lies: the whole car first, then the driver's front corner, the nose, the
/// other front corner, down that side, the tail, and up the driver's side.
fn steps_round(station: &Station, driver: Side) -> u8 {
    let drivers = station.side == Some(driver);
    match (station.axle, station.side) {
        (None, None) => 0,
        (Some(Axle::Front), Some(_)) if drivers => 1,
        (Some(Axle::Front), None) => 2,
        (Some(Axle::Front), Some(_)) => 3,
        (None, Some(_)) if !drivers => 4,
        (Some(Axle::Rear), Some(_)) if !drivers => 5,
        (Some(Axle::Rear), None) => 6,
        (Some(Axle::Rear), Some(_)) => 7,
        (None, Some(_)) => 8,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn station(text: &str) -> Station {
        text.parse().unwrap()
    }

    #[test]
    fn the_walk_goes_once_round_from_the_drivers_corner() {
        let mut places = [
            "left",
            "rear-left",
            "front",
            "car",
            "rear",
            "front-left",
            "right",
            "rear-right",
            "front-right",
        ];
        places.sort_by_key(|p| steps_round(&station(p), Side::Right));
        assert_eq!(
            places,
            [
                "car",
                "front-right",
                "front",
                "front-left",
                "left",
                "rear-left",
                "rear",
                "rear-right",
                "right"
            ]
        );
    }

    #[test]
    fn a_raised_check_is_made_when_its_own_end_is_up() {
        assert_eq!(stage_at(Stage::FrontRaised, &station("rear-left")), Stage::RearRaised);
        assert_eq!(stage_at(Stage::RearRaised, &station("front")), Stage::FrontRaised);
        assert_eq!(stage_at(Stage::FrontRaised, &station("left")), Stage::FrontRaised);
        assert_eq!(stage_at(Stage::Cabin, &station("rear")), Stage::Cabin);
    }
}
