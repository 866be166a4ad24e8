//! Why a part stands where it stands, in one line.

use jiff::civil::Date;

use super::{check, class, plain, season, seen, small};
use crate::engine::{Cause, CausePoints, CheckState, PartState};
use crate::rubric::{CheckKind, Class, Component, Library};
use crate::text;

/// Why a part stands where it stands, in one line: what was seen worst, what that quickens, when the limit is reached.
#[must_use]
pub fn reason(library: &Library, state: &PartState, today: Date) -> String {
    let mut pieces: Vec<String> = Vec::new();
    let component = library.component(&state.id.component);
    let leading = state.leading_check();
    if let Some(worst) = &state.worst {
        pieces.push(format!(
            "{} {}",
            small(&check(library, &state.id.component, &worst.check)),
            worst_words(component, state, &worst.check, worst.grade.digit())
        ));
    }
    if let Some(component) = component {
        pieces.extend(quickened_by(library, component, state));
    }
    let happened = state.causes.iter().find_map(|c| match &c.cause {
        Cause::HasHappened { mode, .. } => component?.modes.iter().find(|m| m.id == *mode),
        _ => None,
    });
    if let Some(mode) = happened {
        pieces.push(small(plain(&mode.what).trim_end_matches('.')));
    }
    if let Some(leading) = leading {
        pieces.push(limit_words(library, state, leading, today));
    }
    if let Some(CausePoints {
        cause: Cause::Law(worst),
        ..
    }) = state.causes.iter().find(|c| matches!(c.cause, Cause::Law(_)))
        && *worst > Class::Minor
    {
        pieces.push(format!("may be a {} deficiency in law", class(*worst)));
    }
    if state.checks.iter().any(|c| !c.flags.is_empty()) {
        pieces.push("look again: something does not fit".to_owned());
    }
    pieces.retain(|p| !p.is_empty());
    pieces.join("; ")
}

/// A grade with its description: `5, “split, dry inside”`.
fn worst_words(component: Option<&Component>, state: &PartState, id: &str, digit: u8) -> String {
    let check = component.and_then(|c| c.checks.iter().find(|k| k.id == id));
    let last = state
        .checks
        .iter()
        .find(|c| c.check == id)
        .and_then(|c| c.last.as_ref());
    match check.map(|c| &c.kind) {
        Some(CheckKind::Measured(_)) => match last {
            Some(last) => format!("{digit} ({})", seen(&last.seen, check)),
            None => digit.to_string(),
        },
        Some(CheckKind::Graded(descriptions)) => match descriptions.get(usize::from(digit)) {
            Some(text) => format!("{digit} ({})", small(plain(text).trim_end_matches('.'))),
            None => digit.to_string(),
        },
        Some(CheckKind::YesNo(question)) if digit >= 5 => {
            format!("{digit} ({})", small(plain(&question.yes).trim_end_matches('.')))
        }
        _ => digit.to_string(),
    }
}

/// What a check past its level makes run faster: `play 4× faster since`.
fn quickened_by(library: &Library, component: &Component, state: &PartState) -> Vec<String> {
    let past = |id: &str, level: f64| {
        state
            .checks
            .iter()
            .any(|c| c.check == id && c.last.is_some() && c.damage.mid >= level)
    };
    component
        .couplings
        .iter()
        .filter(|c| past(&c.when, c.past))
        .map(|c| {
            let faster = match c.quickens.split_once('/') {
                Some((other, id)) => {
                    let name = library.component(other).map_or(other, |o| o.name.as_str());
                    format!("{} of the {}", small(&check(library, other, id)), small(&plain(name)))
                }
                None => small(&check(library, &component.id, &c.quickens)),
            };
            format!(
                "{faster} {}× faster since",
                text::figure(c.times).trim_end_matches(".00")
            )
        })
        .collect()
}

/// When the leading check reaches its limit.
fn limit_words(library: &Library, state: &PartState, leading: &CheckState, today: Date) -> String {
    let same = state.worst.as_ref().is_some_and(|w| w.check == leading.check);
    let name = if same {
        String::new()
    } else {
        small(&check(library, &state.id.component, &leading.check)) + " "
    };
    if leading.past_limit_now >= 0.5 {
        return format!("{name}at or past its limit");
    }
    match leading.years_left.mid {
        Some(years) if years <= 2.0 => {
            let days = (years * 365.25).ceil();
            let by = today
                .checked_add(jiff::Span::new().days(i64::from(whole(days))))
                .map_or_else(|_| text::years(Some(years)), |date| format!("by {}", season(date)));
            format!("{name}probably past its limit {by}")
        }
        Some(years) => format!("{name}at its limit in about {}", text::years(Some(years))),
        None if leading.last.is_none() && !same => format!("{name}not seen"),
        None => String::new(),
    }
}

/// A small whole number from a float, without a cast.
fn whole(value: f64) -> i32 {
    format!("{value:.0}").parse().unwrap_or(0)
}
