//! The round by position: each stage with its corners of the car, how much of each is done, and a jump to it.

use super::Model;
use crate::report::words;
use crate::rubric::{PartId, Stage, Station};
use crate::tui::desk::Desk;
use crate::tui::screen::{Effect, Over, pick};

/// One place of the walk.
#[derive(Debug, Clone, PartialEq)]
struct Spot {
    stage: Stage,
    station: Station,
    /// The stop to go to: its first open one, or its first.
    at: usize,
    asked: usize,
    done: usize,
    /// Whose checks are asked there.
    parts: Vec<PartId>,
}

impl Model {
    /// The places of the walk in its order, as far as the round asks something there.
    fn spots(&self, desk: &Desk) -> Vec<Spot> {
        let mut spots: Vec<Spot> = Vec::new();
        for (at, stop) in self.asked(desk) {
            let station = &stop.part.station;
            let open = self.is_open(desk, stop);
            match spots
                .iter_mut()
                .find(|s| s.stage == stop.stage && s.station == *station)
            {
                Some(spot) => {
                    if open && spot.done == spot.asked {
                        spot.at = at;
                    }
                    spot.asked += 1;
                    spot.done += usize::from(!open);
                    if spot.parts.last() != Some(&stop.part) {
                        spot.parts.push(stop.part.clone());
                    }
                }
                None => spots.push(Spot {
                    stage: stop.stage,
                    station: station.clone(),
                    at,
                    asked: 1,
                    done: usize::from(!open),
                    parts: vec![stop.part.clone()],
                }),
            }
        }
        spots
    }

    /// The list of places to jump to.
    pub(super) fn jump(&self, desk: &Desk) -> Effect {
        let spots = self.spots(desk);
        let here = desk.stops.get(self.at);
        let selected = spots
            .iter()
            .position(|spot| here.is_some_and(|h| h.stage == spot.stage && h.part.station == spot.station))
            .unwrap_or(0);
        let lines = spots
            .iter()
            .map(|spot| {
                let place = place(&spot.station);
                let line = format!("{} – {place}", words::stage(spot.stage));
                let left = if spot.done == spot.asked { "done" } else { "" };
                (line, format!("{left:>4}  {:>3} of {:>3}", spot.done, spot.asked))
            })
            .collect();
        let parts = spots.into_iter().map(|spot| spot.parts).collect();
        let list = pick::Model::new("Go to a place", pick::For::RoundPlace, lines, selected).of_parts(parts);
        Effect::Over(Box::new(Over::Pick(list)))
    }

    /// A place was chosen from the list.
    pub fn go_to_place(&mut self, desk: &Desk, line: usize) {
        if let Some(spot) = self.spots(desk).get(line) {
            self.at = spot.at;
        }
    }
}

/// A station in words.
fn place(station: &Station) -> String {
    if *station == Station::default() {
        return "whole car".to_owned();
    }
    words::station(&PartId::new("", station.clone()))
}
