//! When one may stop half-way. What says nothing of itself may not wait.

use super::steps::Open;
use super::{Step, Stop, Stops};
use crate::rubric::{Halfway, Library, OwedWhen, Repair, Station};
use crate::text::clean;

/// What repairs that have been begun still owe.
#[derive(Debug, Default)]
pub(super) struct Owing {
    follow_ups: Vec<String>,
}

impl Owing {
    /// A repair that owes these has been begun.
    pub(super) fn begins(&mut self, follow_ups: &[String]) {
        for id in follow_ups {
            if !self.follow_ups.contains(id) {
                self.follow_ups.push(id.clone());
            }
        }
    }

    /// One of them is done.
    pub(super) fn done(&mut self, follow_up: &str) {
        self.follow_ups.retain(|id| id != follow_up);
    }
}

fn waits(halfway: Option<&Halfway>) -> bool {
    halfway.is_some_and(|h| h.may_wait)
}

/// Whether everything open and everything owed may wait. With something loose the car is left on stands only: on its wheels
/// it would look finished.
pub(super) fn may_stop(library: &Library, open: &[Open], owing: &Owing, loose: bool) -> bool {
    !(loose && open.is_empty())
        && open
            .iter()
            .all(|(id, _)| waits(library.access_step(id).and_then(|s| s.halfway.as_ref())))
        && owing.follow_ups.iter().all(|id| {
            library
                .follow_up(id)
                .is_some_and(|f| f.when == OwedWhen::Driven || waits(f.halfway.as_ref()))
        })
}

/// Nothing to say.
pub(super) fn none() -> Stops {
    Stops {
        after: Vec::new(),
        waits: Vec::new(),
        not: Vec::new(),
        unknown: Vec::new(),
    }
}

/// What may wait, what may not, and of what nothing is known; each statement once.
pub(super) fn stops(
    library: &Library,
    opened: &[Open],
    owed: &[(String, Station, Option<f64>)],
    repairs: &[(String, &Repair)],
    steps: &[Step],
) -> Stops {
    let mut stops = none();
    stops.after = steps.iter().filter(|s| s.may_stop).map(|s| s.number).collect();
    for (id, _) in opened {
        let step = library.access_step(id);
        let name = clean(step.map_or(id.as_str(), |s| s.name.as_str()));
        say(&mut stops, &name, step.and_then(|s| s.halfway.as_ref()));
    }
    for (name, repair) in repairs {
        say(&mut stops, name, repair.halfway.as_ref());
    }
    for (id, _, _) in owed {
        let found = library.follow_up(id);
        let name = clean(found.map_or(id.as_str(), |f| f.name.as_str()));
        say(&mut stops, &name, found.and_then(|f| f.halfway.as_ref()));
    }
    stops
}

fn say(stops: &mut Stops, what: &str, halfway: Option<&Halfway>) {
    let Some(halfway) = halfway else {
        if !stops.unknown.iter().any(|known| known == what) {
            stops.unknown.push(what.to_owned());
        }
        return;
    };
    let list = if halfway.may_wait {
        &mut stops.waits
    } else {
        &mut stops.not
    };
    let says = clean(&halfway.what);
    match list.iter_mut().find(|stop| stop.says == says) {
        Some(there) => {
            if !there.what.split("; ").any(|known| known == what) {
                there.what = format!("{}; {what}", there.what);
            }
        }
        None => list.push(Stop {
            what: what.to_owned(),
            says,
            source: clean(&halfway.source),
        }),
    }
}
