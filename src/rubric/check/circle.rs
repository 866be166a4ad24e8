//! Chains that run in a circle: couplings, access steps, and repairs that come after others.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::findings::{Findings, Spot};
use super::gather::Set;

/// One link of a chain, and where it is written.
struct Link {
    from: String,
    to: String,
    spot: Spot,
}

/// Looks for circles among the items in force.
pub fn check_all(set: &Set<'_>, findings: &mut Findings<'_>) {
    let mut couplings = Vec::new();
    for item in set.components.iter().filter(|item| item.in_force) {
        for (at, coupling) in item.value.couplings.iter().enumerate() {
            let own = |check: &str| format!("{}/{check}", item.id);
            couplings.push(Link {
                from: own(&coupling.when),
                to: if coupling.quickens.contains('/') {
                    coupling.quickens.clone()
                } else {
                    own(&coupling.quickens)
                },
                spot: item.spot.field("couplings").item(at).field("quickens"),
            });
        }
    }
    report(
        findings,
        &couplings,
        "the couplings run in a circle",
        "remove one of these couplings: what is quickened must not quicken in turn",
    );
    let mut needs = Vec::new();
    for item in set.access_steps.iter().filter(|item| item.in_force) {
        for (at, needed) in item.value.needs.iter().enumerate() {
            needs.push(Link {
                from: item.id.clone(),
                to: needed.clone(),
                spot: item.spot.field("needs").item(at),
            });
        }
    }
    report(
        findings,
        &needs,
        "the access steps need each other in a circle",
        "remove one of these needs: something must be opened first",
    );
    let mut after = Vec::new();
    for item in set.repairs.iter().filter(|item| item.in_force) {
        for (at, earlier) in item.value.after.iter().enumerate() {
            after.push(Link {
                from: item.id.clone(),
                to: earlier.repair.clone(),
                spot: item.spot.field("after").item(at).field("repair"),
            });
        }
    }
    report(
        findings,
        &after,
        "the repairs wait for each other in a circle",
        "remove one of these: some repair must come first",
    );
}

/// Reports each circle once, at its first link in the order of the files.
fn report(findings: &mut Findings<'_>, links: &[Link], what: &str, fix: &str) {
    let mut next: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for link in links {
        next.entry(&link.from).or_default().push(&link.to);
    }
    let mut told: BTreeSet<(&str, &str)> = BTreeSet::new();
    for link in links {
        if told.contains(&(&link.from, &link.to)) {
            continue;
        }
        let Some(way) = shortest(&next, &link.to, &link.from) else {
            continue;
        };
        let circle: Vec<&str> = std::iter::once(link.from.as_str()).chain(way).collect();
        told.extend(
            circle
                .windows(2)
                .filter_map(|pair| Some((*pair.first()?, *pair.last()?))),
        );
        findings.add(&link.spot, format!("{what}: {}", circle.join(" → ")), fix);
    }
}

/// The shortest way from one to another along the links, both ends included.
fn shortest<'a>(next: &BTreeMap<&'a str, Vec<&'a str>>, from: &'a str, to: &str) -> Option<Vec<&'a str>> {
    let mut came_from: BTreeMap<&str, Option<&str>> = BTreeMap::from([(from, None)]);
    let mut queue = VecDeque::from([from]);
    while let Some(at) = queue.pop_front() {
        if at == to {
            let mut way = vec![at];
            let mut step = at;
            while let Some(Some(before)) = came_from.get(step) {
                way.push(before);
                step = before;
            }
            way.reverse();
            return Some(way);
        }
        for reached in next.get(at).into_iter().flatten() {
            if !came_from.contains_key(reached) {
                came_from.insert(reached, Some(at));
                queue.push_back(reached);
            }
        }
    }
    None
}
