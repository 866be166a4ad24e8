//! The order of the day: what is cracked loose on the ground, opened once, repaired, closed in reverse, and tightened at last.
//!
//! A step is opened just before the first repair that needs it. After each step it is told whether one may stop there: only
//! if everything that is open then, and everything that is owed then, says of itself that it may wait.

mod booked;

use super::stops::{self, Owing};
use super::{Row, Step, StepKind, Stops, Undo};
use crate::car::Use;
use crate::engine::plan::setups::{Setup, SetupKind, setups_of};
use crate::engine::plan::trouble::Trouble;
use crate::engine::plan::{Plan, Visit};
use crate::report::{Subject, words};
use crate::rubric::{Fixing, OwedWhen, PartId, Repair, Station, Tightened};
use crate::text::{clean, percent};

/// The steps of the day and what is said of stopping.
pub(super) struct Day {
    pub(super) steps: Vec<Step>,
    pub(super) already_open: Vec<String>,
    pub(super) stays_open: Vec<String>,
    pub(super) stops: Stops,
}

/// An access step at a place.
pub(super) type Open = (String, Station);

/// What the visit itself opens.
pub(super) fn opened_here(_subject: &Subject, plan: &Plan, nth: usize) -> Vec<Open> {
    let visit = plan.visits.get(nth);
    visit.map_or_else(Vec::new, |v| {
        v.access.iter().map(|o| (o.step.clone(), o.station.clone())).collect()
    })
}

/// What an earlier visit left open and this one needs.
pub(super) fn open_by(subject: &Subject, plan: &Plan, nth: usize) -> Vec<Open> {
    if subject.car.profile.in_use != Use::LaidUp {
        return Vec::new();
    }
    let Some(visit) = plan.visits.get(nth) else {
        return Vec::new();
    };
    let before = plan.visits.iter().take(nth).flat_map(|v| &v.access);
    let before: Vec<Open> = before.map(|o| (o.step.clone(), o.station.clone())).collect();
    needs(subject, visit)
        .into_iter()
        .filter(|o| before.contains(o))
        .collect()
}

/// Everything a visit's own work needs open, in the order it is opened.
fn needs(subject: &Subject, visit: &Visit) -> Vec<Open> {
    let mut needed: Vec<Open> = Vec::new();
    for (_, part, repair) in works(subject, visit) {
        for setup in opens(subject, repair, part) {
            if !needed.contains(&setup) {
                needed.push(setup);
            }
        }
    }
    needed
}

fn opens(subject: &Subject, repair: &Repair, part: &PartId) -> Vec<Open> {
    setups_of(subject.library, repair, part)
        .into_iter()
        .filter(|(setup, _)| setup.kind == SetupKind::Opens)
        .map(|(Setup { id, station, .. }, _)| (id, station))
        .collect()
}

/// The repairs of a visit in working order, each part by itself, with its place in the visit.
fn works<'a>(subject: &Subject<'a>, visit: &'a Visit) -> Vec<(usize, &'a PartId, &'a Repair)> {
    let mut works = Vec::new();
    for (n, work) in visit.work.iter().enumerate() {
        let Some(repair) = subject.library.repair(&work.repair) else {
            continue;
        };
        let on = if work.on.is_empty() {
            std::slice::from_ref(&work.part)
        } else {
            &work.on
        };
        works.extend(on.iter().map(|part| (n, part, repair)));
    }
    works
}

/// What is owed at the end of a visit, with its hours where the plan counts them here.
fn owed_by(subject: &Subject, visit: &Visit) -> Vec<(String, Station, Option<f64>)> {
    let listed = visit.follow_ups.iter();
    let mut owed: Vec<(String, Station, Option<f64>)> = listed
        .map(|o| (o.follow_up.clone(), o.station.clone(), Some(o.hours)))
        .collect();
    for (_, part, repair) in works(subject, visit) {
        for (setup, _) in setups_of(subject.library, repair, part) {
            let known = owed
                .iter()
                .any(|(id, station, _)| *id == setup.id && *station == setup.station);
            if setup.kind == SetupKind::Owed && !known {
                owed.push((setup.id, setup.station, None));
            }
        }
    }
    owed
}

/// The visit after which a step may be closed: the last one whose work needs it.
fn closes_in(subject: &Subject, plan: &Plan, open: &Open, opened_in: usize) -> usize {
    if subject.car.profile.in_use != Use::LaidUp {
        return opened_in;
    }
    let own = plan.visits.iter().enumerate().filter(|(_, v)| v.booking.is_none());
    let last = own
        .rev()
        .find(|(_, v)| needs(subject, v).contains(open))
        .map(|(n, _)| n);
    last.map_or(opened_in, |last| last.max(opened_in))
}

/// Collects the steps.
struct Making<'s, 'a> {
    subject: &'s Subject<'a>,
    rows: &'s [Row],
    steps: Vec<Step>,
    /// Where each caution was said in full.
    said: Vec<(String, usize)>,
    /// Where each repair's notes stand.
    noted: Vec<(String, usize)>,
    open: Vec<Open>,
    /// How deep each opened step lies.
    depths: Vec<(Open, usize)>,
    owing: Owing,
    /// Whether fixings were slackened on the ground and nothing has tightened them since.
    slack: bool,
    trouble: Trouble,
}

impl Making<'_, '_> {
    /// The next step, with its cautions: in full where they first hold, by the step's number where they hold again.
    fn step(&mut self, kind: StepKind, title: String, cautions: &[String]) -> Step {
        let number = self.steps.len() + 1;
        let mut full = Vec::new();
        let mut again: Vec<usize> = Vec::new();
        for id in cautions {
            match self.said.iter().find(|(known, _)| known == id) {
                Some((_, at)) if *at != number && !again.contains(at) => again.push(*at),
                Some(_) => {}
                None => {
                    self.said.push((id.clone(), number));
                    let caution = self.subject.library.caution(id);
                    full.push(clean(caution.map_or(id.as_str(), |c| c.text.as_str())));
                }
            }
        }
        again.sort_unstable();
        Step {
            number,
            kind,
            title,
            depth: 0,
            hours: None,
            cautions: full,
            again,
            support: None,
            notes: Vec::new(),
            same_as: None,
            undo: Vec::new(),
            tighten: Vec::new(),
            may_stop: false,
            next_stop: None,
            work: None,
        }
    }

    /// Puts a step at the end, and says whether one may stop after it.
    fn put(&mut self, mut step: Step) {
        let steps = || self.steps.iter().chain([&step]);
        let tight: Vec<usize> = steps().flat_map(|s| s.tighten.iter().copied()).collect();
        let loose = steps().flat_map(|s| &s.undo).any(|undo| !tight.contains(&undo.row));
        step.may_stop = stops::may_stop(self.subject.library, &self.open, &self.owing, loose || self.slack);
        self.steps.push(step);
    }

    fn before_lifting(&mut self, opened: &[Open]) {
        let library = self.subject.library;
        let mut at: Vec<(String, Vec<String>)> = Vec::new();
        for (id, station) in opened {
            for note in library.access_step(id).map_or(&[][..], |s| s.before_lifting.as_slice()) {
                let (note, place) = (words::small(&clean(note)), station.words());
                match at.iter_mut().find(|(known, _)| *known == note) {
                    Some((_, places)) => places.push(place),
                    None => at.push((note, vec![place])),
                }
            }
        }
        let mut notes: Vec<String> = at
            .iter()
            .map(|(note, places)| format!("{}: {note}", words::large(&places.join(" and "))))
            .collect();
        for row in self.rows.iter().filter(|row| row.when == Tightened::OnTheGround) {
            notes.push(format!(
                "{}: crack the {} loose; it is tight enough to pull the car off its stands.",
                row.part_name, row.name
            ));
        }
        if !notes.is_empty() {
            let title = "On its wheels, before anything is lifted".to_owned();
            let mut step = self.step(StepKind::BeforeLifting, title, &[]);
            step.notes = notes;
            self.slack = true;
            self.put(step);
        }
    }

    fn open(&mut self, visit: &Visit, open: &Open) {
        let (id, station) = open;
        let found = self.subject.library.access_step(id);
        let name = clean(found.map_or(id.as_str(), |s| s.name.as_str()));
        let hours = visit
            .access
            .iter()
            .find(|o| o.step == *id && o.station == *station)
            .map(|o| o.hours);
        let depth = self.depth(open);
        let cautions = found.map_or(&[][..], |s| s.cautions.as_slice());
        let mut step = self.step(StepKind::Open, at_place("Open", &name, station), cautions);
        step.hours = hours;
        step.depth = depth;
        step.support = found.and_then(|s| s.support.as_deref()).map(clean);
        step.notes = found
            .map_or(&[][..], |s| s.open.as_slice())
            .iter()
            .map(|n| clean(n))
            .collect();
        self.depths.push((open.clone(), depth));
        self.open.push(open.clone());
        self.put(step);
    }

    /// One more than the deepest open step that a step needs.
    fn depth(&self, (id, station): &Open) -> usize {
        let needs = self
            .subject
            .library
            .access_step(id)
            .map_or(&[][..], |s| s.needs.as_slice());
        let below = self
            .depths
            .iter()
            .filter(|((open, at), _)| needs.contains(open) && at.meets(station));
        below.map(|(_, depth)| depth + 1).max().unwrap_or(0)
    }

    fn repair(&mut self, n: usize, visit: &Visit, part: &PartId, repair: &Repair) {
        let hours = visit.work.get(n).map(|w| w.hours / w.on.len().max(1) as f64);
        let title = format!("{}, {}", clean(&repair.name), clean(&part.station.words()));
        let undo = self.undo(visit, part, repair);
        let tighten = self
            .rows
            .iter()
            .filter(|row| row.part == *part && row.repair == repair.id);
        let tighten = tighten
            .filter(|row| row.when == Tightened::AtOnce)
            .map(|row| row.number)
            .collect();
        let same_as = self.noted.iter().find(|(id, _)| *id == repair.id).map(|(_, at)| *at);
        let mut step = self.step(StepKind::Repair, title, &repair.cautions);
        step.hours = hours;
        step.work = Some(n);
        step.undo = undo;
        step.tighten = tighten;
        match same_as {
            Some(_) if repair.notes.is_empty() => {}
            Some(at) => step.same_as = Some(at),
            None => {
                step.notes = repair.notes.iter().map(|note| clean(note)).collect();
                self.noted.push((repair.id.clone(), step.number));
            }
        }
        self.owing.begins(&repair.follow_ups);
        self.put(step);
    }

    fn undo(&self, visit: &Visit, part: &PartId, repair: &Repair) -> Vec<Undo> {
        let rows = self
            .rows
            .iter()
            .filter(|row| row.part == *part && row.repair == repair.id);
        rows.filter_map(|row| {
            let fixing = repair.fixings.get(visit.tightening.get(row.place)?.fixing)?;
            Some(Undo {
                count: row.count,
                name: row.name.clone(),
                size: row.size.clone(),
                locking: row.locking.clone(),
                held_by: row.held_by.clone(),
                trouble: self.expect(fixing, part),
                row: row.number,
            })
        })
        .collect()
    }

    /// What trouble to expect of a fixing's thread, in words.
    fn expect(&self, fixing: &Fixing, part: &PartId) -> String {
        let trouble = &self.trouble;
        let (grades, seen) = trouble.grades(self.subject.assessment, fixing, part);
        let minutes = trouble.of_fixing(fixing, &grades) * 60.0 * f64::from(fixing.count);
        let shears = super::ready::shears(self.subject, fixing, &grades);
        let graded = match seen {
            Some(grade) => format!("thread graded {grade}"),
            None => "thread not graded, taken as this car's others".to_owned(),
        };
        let mut said = vec![graded];
        if minutes >= 1.0 {
            said.push(format!("{minutes:.0} min of trouble to expect"));
        }
        if shears >= 0.01 {
            said.push(format!("shears or rounds: {}", percent(shears)));
        }
        if let Some(minutes) = fixing.cut_off {
            said.push(format!(
                "may be cut off in {minutes:.0} min, what it holds is thrown away"
            ));
        }
        said.join("; ")
    }

    /// Everything owed that is done at a time: what the visit lists, and what its repairs owe although the plan counts the
    /// hours elsewhere.
    fn owed(&mut self, owed: &[(String, Station, Option<f64>)], when: OwedWhen) {
        for (at, (id, station, hours)) in owed.iter().enumerate() {
            let found = self.subject.library.follow_up(id);
            if found.map_or(OwedWhen::default(), |f| f.when) != when {
                continue;
            }
            let name = clean(found.map_or(id.as_str(), |f| f.name.as_str()));
            let cautions = found.map_or(&[][..], |f| f.cautions.as_slice());
            let mut step = self.step(StepKind::Owed, at_place("", &name, station), cautions);
            step.hours = *hours;
            step.notes = found
                .map_or(&[][..], |f| f.notes.as_slice())
                .iter()
                .map(|n| clean(n))
                .collect();
            if hours.is_none() {
                step.notes
                    .push("The plan counts its hours with another visit.".to_owned());
            }
            if !owed.iter().skip(at + 1).any(|(later, _, _)| later == id) {
                self.owing.done(id);
            }
            self.put(step);
        }
    }

    fn close(&mut self, open: &Open) {
        let (id, station) = open;
        let found = self.subject.library.access_step(id);
        let name = clean(found.map_or(id.as_str(), |s| s.name.as_str()));
        let cautions = found.map_or(&[][..], |s| s.cautions.as_slice());
        let notes: Vec<String> = found
            .map_or(&[][..], |s| s.close.as_slice())
            .iter()
            .map(|n| clean(n))
            .collect();
        let mut step = self.step(StepKind::Close, at_place("Close", &name, station), cautions);
        self.open.retain(|o| o != open);
        let mark = format!("close {id}");
        match self.noted.iter().find(|(known, _)| *known == mark).map(|(_, at)| *at) {
            Some(_) if notes.is_empty() => {}
            Some(at) => step.same_as = Some(at),
            None => {
                step.notes = notes;
                self.noted.push((mark, step.number));
            }
        }
        // Letting the car down ends with its wheel fixings tight.
        self.slack &= !self.open.is_empty();
        self.put(step);
    }

    /// Cautions of the visit that no step calls for stand at the first.
    fn rest_of_cautions(&mut self, visit: &Visit) {
        let library = self.subject.library;
        let rest = visit
            .cautions
            .iter()
            .filter(|id| !self.said.iter().any(|(known, _)| known == *id));
        let rest: Vec<String> = rest
            .map(|id| clean(library.caution(id).map_or(id.as_str(), |c| c.text.as_str())))
            .collect();
        if let Some(first) = self.steps.first_mut() {
            first.cautions.extend(rest);
        }
    }

    fn tighten_last(&mut self, when: Tightened, kind: StepKind, title: &str, note: &str, caution: &str) {
        let rows: Vec<usize> = self.rows.iter().filter(|r| r.when == when).map(|r| r.number).collect();
        if rows.is_empty() {
            return;
        }
        let known = self.subject.library.caution(caution).map(|c| c.id.clone());
        let mut step = self.step(kind, title.to_owned(), known.as_slice());
        step.tighten = rows;
        step.notes = vec![note.to_owned()];
        self.put(step);
    }
}

/// `Close: front wheel off, front left`.
fn at_place(mark: &str, name: &str, station: &Station) -> String {
    let place = if *station == Station::default() {
        String::new()
    } else {
        format!(", {}", station.words())
    };
    match mark {
        "" => format!("{name}{place}"),
        mark => format!("{mark}: {}{place}", words::small(name)),
    }
}

/// The order of the day of a visit.
pub(super) fn order(subject: &Subject, plan: &Plan, nth: usize, rows: &[Row]) -> Day {
    let mut making = Making {
        subject,
        rows,
        steps: Vec::new(),
        said: Vec::new(),
        noted: Vec::new(),
        open: Vec::new(),
        depths: Vec::new(),
        owing: Owing::default(),
        slack: false,
        trouble: Trouble::new(subject.car, subject.library, subject.assessment),
    };
    let mut day = Day {
        steps: Vec::new(),
        already_open: Vec::new(),
        stays_open: Vec::new(),
        stops: stops::none(),
    };
    let Some(visit) = plan.visits.get(nth) else {
        return day;
    };
    if visit.booking.is_some() {
        booked::steps(&mut making, visit);
        making.rest_of_cautions(visit);
        day.steps = making.steps;
        return day;
    }
    let here = opened_here(subject, plan, nth);
    let before = open_by(subject, plan, nth);
    let name = |(id, station): &Open| {
        let found = subject.library.access_step(id);
        at_place("", &clean(found.map_or(id.as_str(), |s| s.name.as_str())), station)
    };
    day.already_open = before.iter().map(name).collect();
    making.before_lifting(&here);
    making.open.extend(before.iter().cloned());
    let needed = needs(subject, visit);
    // What no repair of the rubrics asks for is opened first, so that nothing of the visit is left out.
    let loose: Vec<Open> = here.iter().filter(|o| !needed.contains(o)).cloned().collect();
    for open in &loose {
        making.open(visit, open);
    }
    let mut opened = loose;
    let owed = owed_by(subject, visit);
    for (n, part, repair) in works(subject, visit) {
        for open in opens(subject, repair, part) {
            if here.contains(&open) && !opened.contains(&open) {
                making.open(visit, &open);
                opened.push(open);
            }
        }
        making.repair(n, visit, part, repair);
    }
    making.owed(&owed, OwedWhen::BeforeClosing);
    let stays = |open: &Open| closes_in(subject, plan, open, nth) > nth;
    day.stays_open = before.iter().chain(&opened).filter(|o| stays(o)).map(name).collect();
    for open in before.iter().chain(&opened).rev().filter(|o| !stays(o)) {
        making.close(open);
    }
    making.tighten_last(
        Tightened::AtRideHeight,
        StepKind::RideHeight,
        "At ride height: tighten what runs through rubber",
        "The car's weight on its wheels on level ground, or the arm jacked to its normal height; rolled and bounced first.",
        "ride-height",
    );
    making.tighten_last(
        Tightened::OnTheGround,
        StepKind::OnTheGround,
        "With the wheels on the ground: tighten what needs the most force",
        "Handbrake on, wheels chocked; pull the bar, do not push it.",
        "hub-nut",
    );
    making.owed(&owed, OwedWhen::OnItsWheels);
    making.owed(&owed, OwedWhen::Driven);
    making.rest_of_cautions(visit);
    let all: Vec<Open> = before.into_iter().chain(opened).collect();
    let repairs: Vec<(String, &Repair)> = works(subject, visit)
        .into_iter()
        .map(|(_, part, repair)| {
            let name = words::small(&clean(&repair.name));
            (format!("{name}, {}", clean(&part.station.words())), repair)
        })
        .collect();
    day.stops = stops::stops(subject.library, &all, &owed, &repairs, &making.steps);
    day.steps = making.steps;
    let stops: Vec<usize> = day.steps.iter().filter(|s| s.may_stop).map(|s| s.number).collect();
    for step in &mut day.steps {
        step.next_stop = stops.iter().find(|n| **n > step.number).copied();
    }
    day
}
