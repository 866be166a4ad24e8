//! What must be ready before the day: parts, renewals, tools, soaked threads, and spares for what is likely to shear.

use super::{Buy, Lacking, Ready, Renewal, Shear, SoakLine, Tools, tighten};
use crate::engine::plan::trouble::Trouble;
use crate::engine::plan::{Plan, Visit};
use crate::report::{Subject, words};
use crate::rubric::{Fixing, Locking, PartId};
use crate::text::clean;
use crate::units::Grade;

/// From this probability on a spare is asked for (judgement: the chance of a thread graded 3, trade facts by grade).
const SPARE_FROM: f64 = 0.2;

/// The fixings of a visit's own work, each with its part.
pub(super) fn fixings<'a>(subject: &Subject<'a>, visit: &'a Visit) -> Vec<(&'a PartId, &'a Fixing)> {
    visit
        .tightening
        .iter()
        .filter_map(|t| {
            let fixing = subject.library.repair(&t.repair)?.fixings.get(t.fixing)?;
            Some((&t.part, fixing))
        })
        .collect()
}

pub(super) fn ready(subject: &Subject, visit: &Visit) -> Ready {
    let profile = &subject.car.profile;
    Ready {
        order_by: visit.order_by,
        cost: (visit.cost > 0.0).then(|| words::money(profile, visit.cost)),
        buy: visit
            .buy
            .iter()
            .map(|part| {
                let mut remarks = Vec::new();
                if part.cost > 0.0 {
                    let each = if part.count > 1 { " each" } else { "" };
                    remarks.push(format!("about {}{each}", words::money(profile, part.cost)));
                }
                if part.lead_days > 0 {
                    remarks.push(format!("{} to come", words::count(part.lead_days as usize, "day")));
                }
                Buy {
                    count: part.count,
                    name: clean(&part.name),
                    remark: remarks.join(", "),
                }
            })
            .collect(),
        renew: renewals(subject, visit),
        soak: soak(subject, visit),
        shear: shear(subject, visit),
    }
}

fn renewals(subject: &Subject, visit: &Visit) -> Vec<Renewal> {
    let mut renewals: Vec<Renewal> = Vec::new();
    for (part, fixing) in fixings(subject, visit) {
        let what = match fixing.locking {
            Locking::SelfLocking => "new self-locking nut",
            Locking::SplitPin => "new split pin",
            Locking::UsedOnce => "new bolt or nut, used once",
            Locking::TabWasher => "new tab washer",
            Locking::Plain | Locking::LockNut => continue,
        };
        let what = match &fixing.thread {
            Some(thread) => format!("{what}, {}", clean(thread)),
            None => format!("{what}, thread as the old one"),
        };
        let place = format!(
            "{}, {}",
            clean(&fixing.name),
            words::small(&words::part(subject.library, part))
        );
        match renewals.iter_mut().find(|r| r.what == what) {
            Some(there) => {
                there.count += fixing.count;
                there.places.push(place);
            }
            None => renewals.push(Renewal {
                count: fixing.count,
                what,
                places: vec![place],
            }),
        }
    }
    renewals
}

fn soak(subject: &Subject, visit: &Visit) -> Vec<SoakLine> {
    let library = subject.library;
    visit
        .soak
        .iter()
        .map(|soak| SoakLine {
            on: soak.on,
            what: format!("{}, {}", words::part(library, &soak.part), clean(&soak.fixing)),
            grade: soak.grade,
            minutes: soak.minutes,
            advice: soak
                .grade
                .and_then(|g| library.thread_grade(g))
                .map(|t| clean(&t.advice))
                .unwrap_or_default(),
        })
        .collect()
}

/// Probability that at least one of a fixing's fasteners shears or rounds, from the grade probabilities of its thread.
pub(super) fn shears(subject: &Subject, fixing: &Fixing, grades: &[f64; 6]) -> f64 {
    let one: f64 = Grade::ALL
        .iter()
        .zip(grades)
        .filter_map(|(grade, p)| Some(p * subject.library.thread_grade(*grade)?.shears))
        .sum();
    let whole = (1.0 - one.clamp(0.0, 1.0)).powi(i32::try_from(fixing.count).unwrap_or(i32::MAX));
    1.0 - whole
}

fn shear(subject: &Subject, visit: &Visit) -> Vec<Shear> {
    let trouble = Trouble::new(subject.car, subject.library, subject.assessment);
    let mut likely: Vec<Shear> = Vec::new();
    for (part, fixing) in fixings(subject, visit) {
        let (grades, grade) = trouble.grades(subject.assessment, fixing, part);
        let probability = shears(subject, fixing, &grades);
        if probability < SPARE_FROM {
            continue;
        }
        let size = tighten::size(fixing);
        let measure = if fixing.thread.is_none() {
            "; measure the old one first"
        } else {
            "; typical, look at your own first"
        };
        likely.push(Shear {
            probability,
            what: format!("{}, {}", words::part(subject.library, part), clean(&fixing.name)),
            grade,
            spare: format!("{} × {} ({size}{measure})", fixing.count, clean(&fixing.name)),
            then: fixing
                .cut_off
                .map(|minutes| format!("What it holds is thrown away: cut it off, about {minutes:.0} min.")),
        });
    }
    likely.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    likely
}

pub(super) fn tools(subject: &Subject, plan: &Plan, visit: &Visit) -> Tools {
    let first = |tool: &String| {
        let at = plan.visits.iter().position(|v| v.tools_missing.contains(tool));
        at.and_then(|at| Some((at + 1, plan.visits.get(at)?.date)))
    };
    let lacking = visit.tools_missing.iter().map(|tool| {
        let (visit, date) = first(tool).unwrap_or((0, visit.date));
        Lacking {
            name: clean(tool),
            visit,
            date,
        }
    });
    let all = fixings(subject, visit);
    let mut sockets: Vec<f64> = all.iter().filter_map(|(_, fixing)| fixing.hex).collect();
    sockets.sort_by(f64::total_cmp);
    sockets.dedup();
    let once = |lines: Vec<String>| {
        let mut kept: Vec<String> = Vec::new();
        for line in lines {
            if !kept.contains(&line) {
                kept.push(line);
            }
        }
        kept
    };
    let holding = all
        .iter()
        .filter_map(|(_, f)| f.held_by.as_deref().map(clean))
        .collect();
    let without = all.iter().filter(|(_, f)| f.hex.is_none());
    let without = without.map(|(part, fixing)| {
        format!(
            "{} of the {}",
            clean(&fixing.name),
            words::small(&words::part(subject.library, part))
        )
    });
    Tools {
        lacking: lacking.collect(),
        owned: visit
            .tools
            .iter()
            .filter(|tool| !visit.tools_missing.contains(tool))
            .map(|tool| clean(tool))
            .collect(),
        sockets,
        holding: once(holding),
        unsized_fixings: once(without.collect()),
    }
}
