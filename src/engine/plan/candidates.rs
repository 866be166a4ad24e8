//! Which parts are work, and which repair each of them gets.
//!
//! A part is work when one of these holds: a check of its own is graded 4 or 5, or a thread of it is at 5, or at 4 and the
//! part itself shows something (grade 2); it is more likely than not in the law's major or
//! dangerous class; its points until the next survey are at least 1 *and* it shows it – a check graded 3, or one graded
//! 2 that is past its limit by then with a probability of a tenth; or its owner ticked it. Points alone are not enough: a part that
//! carries a wheel collects more than a point a year from the rubric's spread of lives while it looks as new, and nobody
//! renews that.
//!
//! Repairs compete: one that does only some checks (a boot, a nut) serves when all other checks are seen and sound. A
//! repair that renews several parts at once (an arm with its joint and bushes) takes the place of those for the single
//! parts when it needs no more hours than they do together. A specialist's work is weighed by its bill, each 25 of it as one
//! of the owner's hours (judgement, see [`super::booking`]). The owner's choice goes before all of these.
//!
//! A repair that stands open is a task whatever else holds, and opens nothing more.

use jiff::civil::Date;

use crate::car::{Car, OpenJob};
use crate::engine::harm::class_from;
use crate::engine::lives::covered;
use crate::engine::state::{Assessment, CheckState, PartState};
use crate::rubric::{CheckKind, Class, Component, Library, Pair, PartId, Repair, RepairKind, Stage};
use crate::units::Grade;

use super::booking::asks_of_owner;
use super::model::{Because, NotPlacedBecause, ToBuy};
use super::parts::{hours_to_go, to_buy};
use super::setups::setups_of;
use super::trouble::Trouble;

/// Points until the next survey from which a part that shows wear is work.
const POINTS_FROM: f64 = 1.0;
/// A seen check counts as showing wear from this grade.
const SHOWS_FROM: u8 = 3;
/// Or, with signs from this grade on, from the next probability: what looked sound is looked at again, not renewed.
const SIGNS_FROM: u8 = 2;
/// Probability of being past the limit by the next survey.
const SHOWS_CHANCE: f64 = 0.1;
/// A treatment that does not say so serves up to this grade.
const TREATED_UP_TO: u8 = 3;
/// From this grade of the part's own checks on, its threads count too.
const THREADS_COUNT_FROM: u8 = 2;
/// A side done with the other costs this much of the first (median of published labour times, both sides 1.6 of one).
pub(crate) const SECOND_SIDE: f64 = 0.6;

/// A repair to be planned.
#[derive(Debug, Clone)]
pub(crate) struct Task<'a> {
    pub(crate) repair: &'a Repair,
    /// The parts it is done on: one, or both sides of a pair.
    pub(crate) on: Vec<PartId>,
    /// All parts it renews or treats.
    pub(crate) covers: Vec<PartId>,
    pub(crate) because: Because,
    pub(crate) instead: Vec<String>,
    /// Mean hours, trouble and the owner's pace included; a specialist's own.
    pub(crate) hours: f64,
    /// Of these, hours of trouble with threads.
    pub(crate) trouble: f64,
    /// What it needs.
    pub(crate) buys: Vec<ToBuy>,
    /// Since when it stands open, if it does.
    pub(crate) open_since: Option<Date>,
}

impl Task<'_> {
    /// The day on which all its parts are in hand.
    pub(crate) fn ready(&self, today: Date) -> Date {
        self.buys.iter().map(|b| b.ready).max().unwrap_or(today).max(today)
    }
}

/// A repair that stands open on one of some parts.
fn open_job<'c>(car: &'c Car, repair: &str, on: &[PartId]) -> Option<&'c OpenJob> {
    let open = car.progress.open.iter();
    open.filter(|job| job.repair == repair)
        .find(|job| on.contains(&job.part))
}

/// The repair that the owner has begun or chosen for a part. A treatment chosen while it still served is no longer one once the part
/// is beyond it.
fn chosen_for<'l>(car: &Car, library: &'l Library, part: &PartState) -> Option<&'l Repair> {
    if let Some(begun) = car.progress.open_on(&part.id) {
        return library.repair(&begun.repair);
    }
    let chosen = car.wishes.chosen.get(&part.id)?;
    library.repair(chosen).filter(|repair| !only_hides(part, repair))
}

/// Why a part is work; `None` if it is not.
pub(crate) fn because(car: &Car, component: &Component, part: &PartState) -> Option<Because> {
    if car.progress.open_on(&part.id).is_some() {
        return Some(Because::StandsOpen);
    }
    if car.wishes.ticked.contains(&part.id) {
        return Some(Because::Ticked);
    }
    if !part.seen {
        return None;
    }
    let seen: Vec<&CheckState> = part.checks.iter().filter(|c| c.last.is_some()).collect();
    let major = seen.iter().any(|state| {
        let check = component.checks.iter().find(|c| c.id == state.check);
        check
            .and_then(|c| class_from(c, Class::Major).map(|from| chance_from(c.grade_edges(), state, from)))
            .unwrap_or(0.0)
            >= 0.5
    });
    let worst_of = |own: bool| {
        let grades = seen
            .iter()
            .filter(|c| matters(component, &c.check) == own)
            .filter_map(|c| c.last.as_ref());
        grades.map(|l| l.grade).max().unwrap_or(Grade::NEW)
    };
    // A rusty thread on a sound part is no work by itself: it waits until something is wrong with the part.
    let (own, threads) = (worst_of(true), worst_of(false));
    // One that is past its limit is: what it holds can no longer be undone or trusted.
    let worst = if own.digit() >= THREADS_COUNT_FROM || threads == Grade::LIMIT {
        own.max(threads)
    } else {
        own
    };
    if major {
        Some(Because::Law)
    } else if worst.digit() >= 4 {
        Some(Because::Graded(worst))
    } else {
        let signs = |c: &CheckState| c.last.as_ref().is_some_and(|l| l.grade.digit() >= SIGNS_FROM);
        let shows = worst.digit() >= SHOWS_FROM
            || seen
                .iter()
                .any(|c| signs(c) && c.past_limit_then >= SHOWS_CHANCE && matters(component, &c.check));
        (part.points >= POINTS_FROM && shows).then_some(Because::Exposure)
    }
}

/// Whether a check says something of the part itself: it drives a failure mode or the law knows it.
fn matters(component: &Component, check: &str) -> bool {
    component.modes.iter().any(|m| m.driven_by.iter().any(|c| c == check))
        || component.checks.iter().any(|c| c.id == check && !c.law.is_empty())
}

/// Probability today of the grades whose band starts at a damage or beyond.
fn chance_from(edges: [f64; 5], state: &CheckState, from: f64) -> f64 {
    let starts = std::iter::once(0.0).chain(edges);
    starts
        .zip(state.grades)
        .filter(|(start, _)| *start >= from - 1e-9)
        .map(|(_, p)| p)
        .sum()
}

/// Whether a repair serves what is wrong with a part.
fn serves(component: &Component, part: &PartState, repair: &Repair) -> bool {
    let touched: Vec<&str> = match &repair.kind {
        _ if repair.component != component.id => return true,
        RepairKind::Renew => return true,
        RepairKind::RenewChecks(checks) => checks.iter().map(String::as_str).collect(),
        RepairKind::Treat(resets) => resets.iter().map(|r| r.check.as_str()).collect(),
    };
    if only_hides(part, repair) {
        return false;
    }
    let mut helps = false;
    for state in &part.checks {
        let grade = state.last.as_ref().map(|l| l.grade.digit());
        if touched.contains(&state.check.as_str()) {
            helps |= grade.is_some_and(|g| g >= 2);
        } else if matters(component, &state.check) && !sound(component, state, repair) {
            return false;
        }
    }
    helps
}

/// Whether a treatment would only cover what it cannot put right: cleaning and painting do not bring back metal, so that it
/// says up to which grade it serves.
pub(super) fn only_hides(part: &PartState, repair: &Repair) -> bool {
    beyond(part, repair).is_some()
}

/// A check that is past the grade up to which a treatment serves it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Beyond {
    /// The check.
    pub check: String,
    /// The grade seen last.
    pub seen: u8,
    /// The grade up to which the treatment serves.
    pub up_to: u8,
}

/// The first check of a part for which a treatment comes too late; `None` where it serves all it treats, as far as they were seen.
#[must_use]
pub fn beyond(part: &PartState, repair: &Repair) -> Option<Beyond> {
    let RepairKind::Treat(resets) = &repair.kind else {
        return None;
    };
    if repair.component != part.id.component {
        return None;
    }
    resets.iter().find_map(|reset| {
        let state = part.checks.iter().find(|c| c.check == reset.check)?;
        let seen = state.last.as_ref()?.grade.digit();
        let up_to = reset.up_to.map_or(TREATED_UP_TO, Grade::digit);
        (seen > up_to).then(|| Beyond {
            check: reset.check.clone(),
            seen,
            up_to,
        })
    })
}

/// Whether a check that a repair leaves as it is lets the repair serve: seen at grade 1 or better, or at 2 and hardly past its
/// limit by the next survey. What nobody has seen does not, but for two things: what shows only while driving, and a
/// measurement where the repair only cleans and paints.
fn sound(component: &Component, state: &CheckState, repair: &Repair) -> bool {
    match state.last.as_ref().map(|l| l.grade.digit()) {
        Some(grade) => grade < SIGNS_FROM || grade == SIGNS_FROM && state.past_limit_then < SHOWS_CHANCE,
        None => component
            .checks
            .iter()
            .find(|c| c.id == state.check)
            .is_some_and(|check| {
                check.stage == Stage::Drive
                    || matches!(check.kind, CheckKind::Measured(_)) && matches!(repair.kind, RepairKind::Treat(_))
            }),
    }
}

/// The tasks of a car, and the parts that are work but get none, with the reason.
pub(crate) fn tasks<'a>(
    car: &Car,
    library: &'a Library,
    assessment: &Assessment,
    trouble: &Trouble,
) -> (Vec<Task<'a>>, Vec<(PartId, NotPlacedBecause)>) {
    let ids: Vec<PartId> = assessment.parts.iter().map(|p| p.id.clone()).collect();
    let mut wanted: Vec<(&PartState, &Component, Because)> = assessment
        .parts
        .iter()
        .filter_map(|part| {
            let component = library.component(&part.id.component)?;
            Some((part, component, because(car, component, part)?))
        })
        .collect();
    let mut dropped = Vec::new();
    wanted.retain(|(part, _, because)| {
        let keep = *because == Because::StandsOpen || !car.wishes.dropped.contains(&part.id);
        if !keep {
            dropped.push(part.id.clone());
        }
        keep
    });
    wanted.sort_by(|a, b| b.0.points.total_cmp(&a.0.points).then_with(|| a.0.id.cmp(&b.0.id)));
    let mut without = Vec::new();
    let mut chosen: Vec<(&PartState, &Repair, Because, Vec<String>)> = Vec::new();
    for (part, component, because) in &wanted {
        let options: Vec<&Repair> = library
            .all()
            .repairs
            .iter()
            .filter(|r| r.component == part.id.component && serves(component, part, r))
            .collect();
        let named = chosen_for(car, library, part).filter(|r| r.component == part.id.component);
        let asks = |r: &Repair| home_hours(trouble, assessment, r, &part.id);
        let best = named.or_else(|| options.iter().copied().min_by(|a, b| asks(a).total_cmp(&asks(b))));
        match best {
            Some(best) => {
                let instead = options
                    .iter()
                    .filter(|r| r.id != best.id)
                    .map(|r| r.id.clone())
                    .collect();
                chosen.push((part, best, *because, instead));
            }
            None => without.push(part.id.clone()),
        }
    }
    merge_into_bigger(car, library, assessment, trouble, &ids, &mut chosen, &mut without);
    let tasks = pair_up(car, library, assessment, trouble, &ids, &chosen);
    let without = without.into_iter().map(|part| (part, NotPlacedBecause::NoRepair));
    // What another task covers all the same was not left out.
    let covered = |part: &PartId| tasks.iter().any(|t| t.covers.contains(part));
    let dropped = dropped.into_iter().filter(|part| !covered(part));
    let without = without
        .chain(dropped.map(|part| (part, NotPlacedBecause::Dropped)))
        .collect();
    (tasks, without)
}

/// What a repair of a part asks of the owner, see [`asks_of_owner`].
fn home_hours(trouble: &Trouble, assessment: &Assessment, repair: &Repair, part: &PartId) -> f64 {
    let hours = repair.hours + trouble.mean_hours(assessment, repair, part);
    asks_of_owner(repair, hours * trouble.pace.times)
}

/// Lets a repair that renews several parts take the place of theirs where it needs no more hours.
fn merge_into_bigger<'a, 'p>(
    car: &Car,
    library: &'a Library,
    assessment: &'p Assessment,
    trouble: &Trouble,
    ids: &[PartId],
    chosen: &mut Vec<(&'p PartState, &'a Repair, Because, Vec<String>)>,
    without: &mut Vec<PartId>,
) {
    let asks = |r: &Repair, part: &PartId| home_hours(trouble, assessment, r, part);
    let bigger = library.all().repairs.iter().filter(|r| !r.also_renews.is_empty());
    for repair in bigger {
        for main in assessment.parts.iter().filter(|p| p.id.component == repair.component) {
            let covers = covered(ids, repair, &main.id);
            let inside: Vec<usize> = (0..chosen.len())
                .filter(|at| chosen.get(*at).is_some_and(|c| covers.contains(&&c.0.id)))
                .collect();
            let orphans = without.iter().filter(|id| covers.contains(id)).count();
            if inside.is_empty() && orphans == 0 {
                continue;
            }
            let owner_chose_otherwise = inside
                .iter()
                .filter_map(|at| chosen.get(*at))
                .any(|c| chosen_for(car, library, c.0).is_some_and(|r| r.id != repair.id));
            let owner_chose = covers
                .iter()
                .filter_map(|id| assessment.part(id))
                .any(|part| chosen_for(car, library, part).is_some_and(|r| r.id == repair.id));
            let apart: f64 = inside
                .iter()
                .filter_map(|at| chosen.get(*at))
                .map(|(part, r, _, _)| asks(r, &part.id))
                .sum();
            let together = asks(repair, &main.id);
            let itself = inside
                .iter()
                .filter_map(|at| chosen.get(*at))
                .any(|c| c.1.id == repair.id);
            let wins = owner_chose
                || (!owner_chose_otherwise && (itself || orphans > 0 || (inside.len() > 1 && together <= apart)));
            if !wins {
                continue;
            }
            let because = inside
                .iter()
                .filter_map(|at| chosen.get(*at))
                .map(|c| c.2)
                .next()
                .unwrap_or(Because::Exposure);
            let mut instead: Vec<String> = inside
                .iter()
                .filter_map(|at| chosen.get(*at))
                .flat_map(|c| std::iter::once(c.1.id.clone()).chain(c.3.iter().cloned()))
                .filter(|id| *id != repair.id)
                .collect();
            instead.sort();
            instead.dedup();
            chosen.retain(|c| !covers.contains(&&c.0.id));
            without.retain(|id| !covers.contains(&id));
            chosen.push((main, repair, because, instead));
        }
    }
}

/// Makes the tasks, with both sides in one where one side alone will not do.
fn pair_up<'a>(
    car: &Car,
    library: &Library,
    assessment: &Assessment,
    trouble: &Trouble,
    ids: &[PartId],
    chosen: &[(&PartState, &'a Repair, Because, Vec<String>)],
) -> Vec<Task<'a>> {
    let mut tasks: Vec<Task<'a>> = Vec::new();
    for (part, repair, because, instead) in chosen {
        if tasks
            .iter()
            .any(|t| t.repair.id == repair.id && t.on.contains(&part.id))
        {
            continue;
        }
        let mut on = vec![part.id.clone()];
        if repair.pair == Pair::Must {
            on.extend(part.id.twin().filter(|twin| ids.contains(twin)));
        }
        let mut covers: Vec<PartId> = Vec::new();
        for id in &on {
            for covered in covered(ids, repair, id) {
                if !covers.contains(covered) {
                    covers.push(covered.clone());
                }
            }
        }
        let times = if repair.specialist.is_some() {
            1.0
        } else {
            trouble.pace.times
        };
        let seized: f64 = on.iter().map(|id| trouble.mean_hours(assessment, repair, id)).sum();
        let second = if repair.specialist.is_some() { 1.0 } else { SECOND_SIDE };
        let plain = repair.hours * (1.0 + second * (on.len() as f64 - 1.0));
        let (mut hours, mut seized) = ((plain + seized) * times, seized * times);
        let open = open_job(car, &repair.id, &on);
        if let Some(job) = open.filter(|_| repair.specialist.is_none()) {
            let mut opening = Vec::new();
            for setup in on.iter().flat_map(|part| setups_of(library, repair, part)) {
                if !opening.contains(&setup) {
                    opening.push(setup);
                }
            }
            hours = hours_to_go(job, hours + opening.iter().map(|(_, h)| h * times).sum::<f64>());
            seized = 0.0;
        }
        tasks.push(Task {
            repair,
            buys: to_buy(car, assessment.today, repair, &on, open),
            on,
            covers,
            because: *because,
            instead: instead.clone(),
            hours,
            trouble: seized,
            open_since: open.map(|job| job.since),
        });
    }
    // A part is renewed once: a later task loses what an earlier one covers already.
    let mut taken: Vec<PartId> = Vec::new();
    for task in &mut tasks {
        task.covers.retain(|id| !taken.contains(id));
        taken.extend(task.covers.iter().cloned());
    }
    tasks.retain(|t| !t.covers.is_empty());
    tasks
}
