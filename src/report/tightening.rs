//! The tightening values of a car's own manual: which fixings a part has, and what is odd about a value for one.

use super::{fixing, words};
use crate::engine::fixings::{Condition, figures};
use crate::rubric::{Fixing, Library, PartId};
use crate::units::Torque;

/// The fixings of the repairs of a part's component, each name once.
#[must_use]
pub fn fixings_of<'l>(library: &'l Library, component: &str) -> Vec<&'l Fixing> {
    let mut fixings: Vec<&Fixing> = Vec::new();
    let own = library.all().repairs.iter().filter(|r| r.component == component);
    for fixing in own.flat_map(|repair| &repair.fixings) {
        if !fixings.iter().any(|known| known.name == fixing.name) {
            fixings.push(fixing);
        }
    }
    fixings
}

/// The guide of a fixing in N·m, dry, when its thread and class are known.
#[must_use]
pub fn guide_of(library: &Library, fixing: &Fixing) -> Option<f64> {
    let thread = library.thread(fixing.thread.as_deref()?)?;
    let class = library.strength_class(fixing.class.as_deref()?)?;
    Some(figures(thread, class, Condition::Dry, None, None).ok()?.guide)
}

/// What is odd about a manual's value for a fixing, as a sentence; nothing when it is plausible or nothing is known.
#[must_use]
pub fn odd(library: &Library, fixing: &Fixing, torque: &Torque) -> Option<String> {
    let thread = library.thread(fixing.thread.as_deref()?)?;
    let class = library.strength_class(fixing.class.as_deref()?)?;
    let reckoned = figures(thread, class, Condition::Dry, None, None).ok()?;
    let subject = fixing::Subject {
        library,
        thread,
        class,
        class_named: true,
        figures: &reckoned,
    };
    let verdict = fixing::verdict(&subject, torque);
    verdict.slip?;
    Some(format!(
        "{}: {} The thread is typical of such a part; your car's own may differ. Kept as typed: read the manual once more.",
        crate::text::clean(&fixing.name),
        verdict.words
    ))
}

/// The parts that a value entered for one of them is for: both sides, where there are two and not just one is meant.
#[must_use]
pub fn sides(there: &[PartId], id: &PartId, one_side: bool) -> Vec<PartId> {
    let other = id.station.mirrored().map(|station| PartId::new(&id.component, station));
    let other = other.filter(|other| !one_side && there.contains(other));
    std::iter::once(id.clone()).chain(other).collect()
}

/// A fixing in a list: its name, thread and class, and how tight.
#[must_use]
pub fn line(library: &Library, fixing: &Fixing, own: Option<&crate::car::OwnTorque>) -> String {
    let mut line = crate::text::clean(&fixing.name);
    if let Some(thread) = &fixing.thread {
        line.push_str(&format!(", {}", crate::text::clean(thread)));
    }
    if let Some(class) = &fixing.class {
        line.push_str(&format!(" {}", crate::text::clean(class)));
    }
    format!("{line}: {}", words::how_tight(own, guide_of(library, fixing)))
}
