//! What must be opened for a repair, and what is owed after it, at which place of the car.
//!
//! An access step is paid per corner, per axle or per car, so that the same step at the same place is one set-up.
//! Rubrics of components that exist at either end name the `front-` step; for a rear part the `rear-` twin is meant.

use crate::rubric::{Axle, Library, PartId, Repair, Side, Station, Within};

/// Whether a set-up opens something or is owed afterwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SetupKind {
    /// An access step.
    Opens,
    /// A follow-up.
    Owed,
}

/// A step at a place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Setup {
    /// Access or follow-up.
    pub kind: SetupKind,
    /// Its id.
    pub id: String,
    /// Where it is paid.
    pub station: Station,
}

/// The id of a step as meant for a part: `front-wheel-off` of a rear part is `rear-wheel-off`, where there is one.
#[must_use]
pub fn step_at<'a>(library: &'a Library, id: &'a str, station: &Station) -> &'a str {
    if station.axle != Some(Axle::Rear) {
        return id;
    }
    let Some(rest) = id.strip_prefix("front-") else {
        return id;
    };
    let twin = library
        .all()
        .access_steps
        .iter()
        .find(|s| s.id.strip_prefix("rear-") == Some(rest));
    twin.map_or(id, |s| s.id.as_str())
}

/// The places at which a step of a reach is paid for a part.
fn places(id: &str, within: Within, station: &Station) -> Vec<Station> {
    let by_name = if id.starts_with("front-") {
        Some(Axle::Front)
    } else if id.starts_with("rear-") {
        Some(Axle::Rear)
    } else {
        None
    };
    let axle = by_name.or(station.axle);
    let at = |side| Station {
        axle,
        side,
        place: None,
    };
    match within {
        Within::Car => vec![Station::default()],
        Within::Axle => vec![at(None)],
        Within::Corner => match station.side {
            Some(side) => vec![at(Some(side))],
            None => vec![at(Some(Side::Left)), at(Some(Side::Right))],
        },
    }
}

/// Everything opened for a repair of a part, and everything owed after it, with hours, in the order it is done.
#[must_use]
pub fn setups_of(library: &Library, repair: &Repair, part: &PartId) -> Vec<(Setup, f64)> {
    let mut setups = Vec::new();
    let access: Vec<String> = repair
        .access
        .iter()
        .map(|id| step_at(library, id, &part.station).to_owned())
        .collect();
    for step in library.access_closure(&access) {
        for station in places(&step.id, step.within, &part.station) {
            setups.push((
                Setup {
                    kind: SetupKind::Opens,
                    id: step.id.clone(),
                    station,
                },
                step.hours,
            ));
        }
    }
    for id in &repair.follow_ups {
        let Some(follow_up) = library.follow_up(id) else {
            continue;
        };
        for station in places(&follow_up.id, follow_up.within, &part.station) {
            setups.push((
                Setup {
                    kind: SetupKind::Owed,
                    id: follow_up.id.clone(),
                    station,
                },
                follow_up.hours,
            ));
        }
    }
    setups
}

/// Whether two parts are near enough for a rule of a reach.
#[must_use]
pub fn near(within: Within, a: &Station, b: &Station) -> bool {
    match within {
        Within::Car => true,
        Within::Axle => a.axle.is_none() || b.axle.is_none() || a.axle == b.axle,
        Within::Corner => a.meets(b),
    }
}
