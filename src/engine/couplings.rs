//! Which check makes which other run faster, and in what order they must be reckoned.

use super::lives::Life;
use crate::rubric::PartId;

/// One life that makes another run faster.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Link {
    pub(crate) by: usize,
    pub(crate) past: f64,
    pub(crate) times: f64,
}

/// Which life quickens which: for each life those that drive it.
pub(crate) fn links(lives: &[Life], parts: &[PartId]) -> Vec<Vec<Link>> {
    let mut links: Vec<Vec<Link>> = vec![Vec::new(); lives.len()];
    for (by, driver) in lives.iter().enumerate() {
        let Some(here) = parts.get(driver.part) else { continue };
        for coupling in driver.component.couplings.iter().filter(|c| c.when == driver.check.id) {
            let (component, check) = match coupling.quickens.split_once('/') {
                Some((component, check)) => (component, check),
                None => (driver.component.id.as_str(), coupling.quickens.as_str()),
            };
            for (at, life) in lives.iter().enumerate() {
                let same_part = life.part == driver.part;
                let Some(there) = parts.get(life.part) else { continue };
                let near = if component == driver.component.id {
                    same_part
                } else {
                    there.station.meets(&here.station)
                };
                if life.component.id == component
                    && life.check.id == check
                    && near
                    && at != by
                    && let Some(list) = links.get_mut(at)
                {
                    list.push(Link {
                        by,
                        past: coupling.past,
                        times: coupling.times,
                    });
                }
            }
        }
    }
    links
}

/// Drivers before what they drive. A circle, which a checked library does not have, is cut where it is entered.
pub(crate) fn order(links: &[Vec<Link>]) -> Vec<usize> {
    fn visit(at: usize, links: &[Vec<Link>], seen: &mut [bool], order: &mut Vec<usize>) {
        match seen.get_mut(at) {
            Some(flag) if !*flag => *flag = true,
            _ => return,
        }
        for link in links.get(at).into_iter().flatten() {
            visit(link.by, links, seen, order);
        }
        order.push(at);
    }
    let mut seen = vec![false; links.len()];
    let mut order = Vec::new();
    for at in 0..links.len() {
        visit(at, links, &mut seen, &mut order);
    }
    order
}
