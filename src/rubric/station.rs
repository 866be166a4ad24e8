//! Where on the car a part sits: [`Station`], and the name of a part at its station: [`PartId`].
//!
//! A station is written as axle and side, with an optional place after a slash: `front-left`, `rear`, `left`,
//! `car`, `front-left/upper`. A part is written `component@station`: `track-rod-end@front-left`.
//! Left and right are as seen from the driver's seat.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Front or rear end of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Axle {
    /// The front axle and everything before the middle.
    Front,
    /// The rear axle and everything behind the middle.
    Rear,
}

/// Left or right, as seen from the driver's seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Side {
    /// Left as seen from the driver's seat.
    Left,
    /// Right as seen from the driver's seat.
    Right,
}

impl Side {
    /// The other side.
    #[must_use]
    pub fn other(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }

    /// `left` or `right`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }
}

impl Axle {
    /// `front` or `rear`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Axle::Front => "front",
            Axle::Rear => "rear",
        }
    }
}

/// Where on the car: axle, side and a named place, each optional. All three absent is the whole car.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Station {
    /// Front or rear, when the part belongs to an axle.
    pub axle: Option<Axle>,
    /// Left or right, when the part has a side.
    pub side: Option<Side>,
    /// A place within that corner: `upper`, `inner`, `front-bush`.
    pub place: Option<String>,
}

impl Station {
    /// The same place on the other side, for a part that has a side.
    #[must_use]
    pub fn mirrored(&self) -> Option<Station> {
        let side = self.side?;
        Some(Station {
            side: Some(side.other()),
            ..self.clone()
        })
    }

    /// Whether two stations share ground: axle and side agree wherever both name them. Places do not count, so that
    /// `front` meets `front-left` and `front-left/upper`, and `car` meets everything.
    #[must_use]
    pub fn meets(&self, other: &Station) -> bool {
        let axle = self.axle.is_none() || other.axle.is_none() || self.axle == other.axle;
        let side = self.side.is_none() || other.side.is_none() || self.side == other.side;
        axle && side
    }

    /// The station without its place: `front-left` for `front-left/upper`.
    #[must_use]
    pub fn corner(&self) -> Station {
        Station {
            place: None,
            ..self.clone()
        }
    }

    /// In words: `front left, upper`; only the place for one of the whole car, `long run`; `whole car` when nothing is given.
    #[must_use]
    pub fn words(&self) -> String {
        let mut text: Vec<&str> = Vec::new();
        text.extend(self.axle.map(Axle::word));
        text.extend(self.side.map(Side::word));
        let place = self.place.as_ref().map(|place| place.replace('-', " "));
        match (text.is_empty(), place) {
            (true, None) => "whole car".to_owned(),
            (true, Some(place)) => place,
            (false, None) => text.join(" "),
            (false, Some(place)) => format!("{}, {place}", text.join(" ")),
        }
    }
}

/// What is wrong with the text of a station or a part.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StationError {
    /// The text names no station.
    #[error(
        "`{0}` is no station; write front-left, front-right, rear-left, rear-right, front, rear, left, right or car, with /place after it where a corner has several"
    )]
    Unknown(String),
    /// The text has no `@`.
    #[error("`{0}` is no part; write component@station, for example track-rod-end@front-left")]
    NoAt(String),
}

/// Whether a text may serve as an id: small letters, digits and single hyphens inside.
#[must_use]
pub fn is_id(text: &str) -> bool {
    !text.is_empty()
        && !text.starts_with('-')
        && !text.ends_with('-')
        && !text.contains("--")
        && text
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

impl FromStr for Station {
    type Err = StationError;

    fn from_str(text: &str) -> Result<Self, StationError> {
        let (corner, place) = match text.split_once('/') {
            Some((corner, place)) if is_id(place) => (corner, Some(place.to_owned())),
            Some(_) => return Err(StationError::Unknown(text.to_owned())),
            None => (text, None),
        };
        let (axle, side) = match corner {
            "car" => (None, None),
            "front" => (Some(Axle::Front), None),
            "rear" => (Some(Axle::Rear), None),
            "left" => (None, Some(Side::Left)),
            "right" => (None, Some(Side::Right)),
            "front-left" => (Some(Axle::Front), Some(Side::Left)),
            "front-right" => (Some(Axle::Front), Some(Side::Right)),
            "rear-left" => (Some(Axle::Rear), Some(Side::Left)),
            "rear-right" => (Some(Axle::Rear), Some(Side::Right)),
            _ => return Err(StationError::Unknown(text.to_owned())),
        };
        Ok(Station { axle, side, place })
    }
}

impl fmt::Display for Station {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.axle, self.side) {
            (None, None) => f.write_str("car")?,
            (Some(axle), None) => f.write_str(axle.word())?,
            (None, Some(side)) => f.write_str(side.word())?,
            (Some(axle), Some(side)) => write!(f, "{}-{}", axle.word(), side.word())?,
        }
        match &self.place {
            Some(place) => write!(f, "/{place}"),
            None => Ok(()),
        }
    }
}

/// One component at one station, for example `track-rod-end@front-left`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId {
    /// The component's id in the rubrics.
    pub component: String,
    /// Where it sits.
    pub station: Station,
}

impl PartId {
    /// A part from its two halves.
    #[must_use]
    pub fn new(component: &str, station: Station) -> PartId {
        PartId {
            component: component.to_owned(),
            station,
        }
    }

    /// The same component on the other side of the car.
    #[must_use]
    pub fn twin(&self) -> Option<PartId> {
        Some(PartId {
            component: self.component.clone(),
            station: self.station.mirrored()?,
        })
    }
}

impl FromStr for PartId {
    type Err = StationError;

    fn from_str(text: &str) -> Result<Self, StationError> {
        let (component, station) = text
            .split_once('@')
            .ok_or_else(|| StationError::NoAt(text.to_owned()))?;
        if !is_id(component) {
            return Err(StationError::NoAt(text.to_owned()));
        }
        Ok(PartId {
            component: component.to_owned(),
            station: station.parse()?,
        })
    }
}

impl fmt::Display for PartId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}@{}", self.component, self.station)
    }
}

macro_rules! as_text {
    ($name:ty) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                String::deserialize(from)?
                    .parse()
                    .map_err(serde::de::Error::custom)
            }
        }
    };
}
as_text!(Station);
as_text!(PartId);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_and_parts_survive_a_round_trip() {
        for text in [
            "car",
            "front",
            "left",
            "rear-right",
            "front-left/upper",
            "front-right/rear-bush",
        ] {
            assert_eq!(text.parse::<Station>().map(|s| s.to_string()), Ok(text.to_owned()));
        }
        let part: PartId = "track-rod-end@front-left".parse().expect("a part");
        assert_eq!(
            part.twin().map(|p| p.to_string()).as_deref(),
            Some("track-rod-end@front-right")
        );
        assert!(
            "steering-rack@front"
                .parse::<PartId>()
                .expect("a part")
                .twin()
                .is_none()
        );
    }

    #[test]
    fn what_is_no_station_is_refused() {
        for text in ["", "frontleft", "front-left/", "front-left/a b", "Front"] {
            assert!(text.parse::<Station>().is_err(), "{text}");
        }
        assert!("boot".parse::<PartId>().is_err());
        assert!("@front".parse::<PartId>().is_err());
    }
}
