//! `set`: a car's profile, seen and changed.

use super::args::Set;
use super::desk::Desk;
use super::exit::Failure;
use super::profile::apply;
use crate::car::{Change, Profile};
use crate::report::{json, profile};
use crate::rubric::Library;

/// Shows or changes a profile.
pub fn set(desk: &Desk, set: Set) -> Result<String, Failure> {
    let library = desk.library()?;
    let car = desk.look_at(&set.car)?;
    let car = if changed(desk, &set, &car.profile, &library)? == car.profile {
        car
    } else {
        // Another program may have changed it in between: what counts is what it is once nobody else can write.
        let mut open = desk.write_to(&set.car)?;
        let new = changed(desk, &set, &open.car().profile, &library)?;
        if new != open.car().profile {
            super::desk::record(&mut open, vec![Change::Profile(Box::new(new))])?;
        }
        open.car().clone()
    };
    if set.form.json {
        return Ok(json(&car.profile)?);
    }
    Ok(profile::text(&car, &library, desk.paper))
}

/// A profile with what the command line says of it.
fn changed(desk: &Desk, set: &Set, old: &Profile, library: &Library) -> Result<Profile, Failure> {
    let mut new = old.clone();
    if let Some(name) = &set.name {
        if name.trim().is_empty() {
            return Err(Failure::Usage("--name: a car needs a name".to_owned()));
        }
        new.name = name.trim().to_owned();
    }
    apply(&set.profile, &mut new, library)?;
    for tool in &set.no_tool {
        if !new.tools.iter().any(|t| t == tool.trim()) {
            let known: Vec<&str> = new.tools.iter().map(String::as_str).collect();
            return Err(Failure::NotFound(format!(
                "--no-tool: `{tool}` is not among the tools owned: {}",
                if known.is_empty() {
                    "none".to_owned()
                } else {
                    known.join("; ")
                }
            )));
        }
        new.tools.retain(|t| t != tool.trim());
    }
    if let Some(built) = new.built.filter(|b| *b > desk.today) {
        return Err(Failure::Data(format!("--built: {built} is in the future")));
    }
    if set.profile.budget.is_some() {
        // Money in hand was counted today.
        new.budget.since = Some(desk.today);
    }
    Ok(new)
}
