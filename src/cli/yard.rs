//! All cars at once: their parts ranked together, one plan for all, and putting a sold car out of the lists.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::args::Form;
use super::desk::Desk;
use super::exit::Failure;
use crate::car::{Car, Change};
use crate::engine::Assessment;
use crate::engine::assess::assess_again;
use crate::engine::memory::Memory;
use crate::engine::plan::together::{Together, together};
use crate::report::Subject;
use crate::report::together::{self as joint, Owned};
use crate::report::yard::{self, Unread};
use crate::rubric::Library;

/// Prints the parts of all cars, ranked together. Cars are read, reckoned and let go of one by one on every core; of each no
/// more is kept than is shown.
pub fn standing_all(desk: &Desk, form: Form) -> Result<String, Failure> {
    let library = desk.library()?;
    let folder = desk.folder()?;
    let names = folder.names()?;
    let shared = Memory::new();
    let read = on_all_cores(&names, |name| match folder.read(name) {
        Ok(car) if car.profile.retired.is_some() => None,
        Ok(car) => {
            let assessment = assess_again(&car, &library, desk.today, &mut shared.for_another_car());
            let subject = Subject {
                car: &car,
                library: &library,
                assessment: &assessment,
            };
            Some(Ok(yard::parts_of(name, &subject)))
        }
        Err(error) => Some(Err(Unread {
            car: name.clone(),
            trouble: error.to_string(),
        })),
    });
    let (mut cars, mut unread) = (Vec::new(), Vec::new());
    for car in read.into_iter().flatten() {
        match car {
            Ok(parts) => cars.push(parts),
            Err(why) => unread.push(why),
        }
    }
    let ranked = yard::ranked(desk.today, cars, unread);
    let text = if form.json {
        crate::report::json(&ranked)?
    } else if form.csv {
        yard::csv(&ranked)
    } else {
        yard::text(&ranked, desk.paper)
    };
    partly(text, &ranked.unread)
}

/// Does the same with every item, one at a time on each core, and gives what came of them in their order.
///
/// Each core has a pool of its own with one thread in it: what is done in parallel within an item stays on its core, so that no core
/// begins another item while it waits, and no more items are in hand than there are cores.
fn on_all_cores<I: Sync, T: Send>(items: &[I], each: impl Fn(&I) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(items.len()));
    let work = || {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { break };
            let came = each(item);
            done.lock().unwrap_or_else(PoisonError::into_inner).push((at, came));
        }
    };
    let cores = rayon::current_num_threads().clamp(1, items.len().max(1));
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| match rayon::ThreadPoolBuilder::new().num_threads(1).build() {
                Ok(pool) => pool.install(work),
                Err(_) => work(),
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, came)| came).collect()
}

/// What could be made; a failure that carries it where cars were passed over.
fn partly(text: String, unread: &[Unread]) -> Result<String, Failure> {
    if unread.is_empty() {
        return Ok(text);
    }
    let mut said = format!(
        "{} cannot be read and left out",
        match unread.len() {
            1 => "1 car".to_owned(),
            n => format!("{n} cars"),
        }
    );
    for one in unread {
        said.push_str(&format!("\n{}: {}", one.car, one.trouble));
    }
    Err(Failure::Partly { text, said })
}

/// The cars that are not retired and can be read, each with what is said of it, and those that cannot.
type Taken = (Vec<(String, Car, Assessment)>, Vec<Unread>);

fn taken(desk: &Desk, library: &Library) -> Result<Taken, Failure> {
    let shared = Memory::new();
    let folder = desk.folder()?;
    let names = folder.names()?;
    let read = on_all_cores(&names, |name| match folder.read(name) {
        Ok(car) if car.profile.retired.is_some() => None,
        Ok(car) => {
            let says = assess_again(&car, library, desk.today, &mut shared.for_another_car());
            Some(Ok((name.clone(), car, says)))
        }
        Err(error) => Some(Err(Unread {
            car: name.clone(),
            trouble: error.to_string(),
        })),
    });
    let (mut cars, mut unread) = (Vec::new(), Vec::new());
    for car in read.into_iter().flatten() {
        match car {
            Ok(car) => cars.push(car),
            Err(why) => unread.push(why),
        }
    }
    Ok((cars, unread))
}

/// Plans all cars and lets a report be made of it.
fn planned(
    desk: &Desk,
    report: impl FnOnce(&[Owned], &Together) -> Result<String, Failure>,
) -> Result<String, Failure> {
    let library = desk.library()?;
    let (cars, unread) = taken(desk, &library)?;
    let pairs: Vec<(&Car, &Assessment)> = cars.iter().map(|(_, car, says)| (car, says)).collect();
    let made = together(&pairs, &library);
    let owned: Vec<Owned> = cars
        .iter()
        .map(|(name, car, says)| Owned {
            name,
            subject: desk.subject(car, &library, says),
        })
        .collect();
    partly(report(&owned, &made)?, &unread)
}

/// Prints one plan for all cars.
pub fn plan_all(desk: &Desk, form: Form) -> Result<String, Failure> {
    planned(desk, |cars, made| {
        if form.json {
            Ok(joint::json(cars, made)?)
        } else if form.csv {
            Ok(joint::csv(cars, made))
        } else {
            Ok(joint::text(cars, made, desk.paper))
        }
    })
}

/// The visits of all cars as one calendar.
pub fn calendar_all(desk: &Desk, alarms: bool) -> Result<String, Failure> {
    planned(desk, |cars, made| {
        let both: Vec<_> = cars.iter().map(|o| o.subject).zip(&made.plans).collect();
        Ok(crate::report::export::calendar::calendar_of(&both, alarms))
    })
}

/// Puts a car out of all lists, or back into them. Nothing of it is deleted.
pub fn retire(desk: &Desk, name: &str, back: bool) -> Result<String, Failure> {
    let mut open = desk.write_to(name)?;
    let mut profile = open.car().profile.clone();
    let called = open.name().to_owned();
    match (profile.retired, back) {
        (Some(since), false) => return Ok(format!("{called} has been out of the lists since {since} already.\n")),
        (None, true) => return Ok(format!("{called} is in the lists already.\n")),
        _ => {}
    }
    profile.retired = (!back).then_some(desk.today);
    super::desk::record(&mut open, vec![Change::Profile(Box::new(profile))])?;
    Ok(if back {
        format!("{called} is back in the lists.\n")
    } else {
        format!(
            "{called} is out of the lists from {} on; nothing was deleted. `tinworm cars --retired` lists it, `tinworm retire {called} --back` \
             takes it back.\n",
            desk.today
        )
    })
}
