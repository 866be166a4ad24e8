//! `torque`: the figures of a thread and class, and what a hexagon may stand for.

use super::args::Torque as Asked;
use super::desk::{Desk, number};
use super::exit::Failure;
use crate::engine::fixings::{Condition, FixingError, figures};
use crate::report::{fixing, json};
use crate::rubric::fasteners::UnknownFastener;
use crate::units::{Grade, Torque};

impl From<UnknownFastener> for Failure {
    fn from(why: UnknownFastener) -> Failure {
        match why {
            UnknownFastener::NoThread(_) => Failure::Usage(why.to_string()),
            _ => Failure::NotFound(why.to_string()),
        }
    }
}

impl From<FixingError> for Failure {
    fn from(why: FixingError) -> Failure {
        Failure::Data(why.to_string())
    }
}

/// Prints the figures of a thread and class, or what a hexagon may stand for.
pub fn torque(desk: &Desk, asked: &Asked) -> Result<String, Failure> {
    let library = desk.library()?;
    let condition = match (asked.oiled, asked.pasted) {
        (true, _) => Condition::Oiled,
        (_, true) => Condition::Pasted,
        _ => Condition::Dry,
    };
    let value = asked.value.as_deref().map(Torque::parse).transpose();
    let value = value.map_err(|why| Failure::Usage(format!("--value: {why}")))?;
    let across = asked.hex.as_deref().map(|text| number("--hex", text)).transpose()?;
    if asked.fixing.iter().any(|word| word.trim().is_empty()) {
        return Err(Failure::Usage(
            "nothing is said where a thread or a class should stand; write `M12x1.5 10.9`, or leave the class out"
                .to_owned(),
        ));
    }
    let words = asked.fixing.join(" ");
    if words.trim().is_empty() {
        let Some(across) = across else {
            return Err(Failure::Usage(
                "name a thread, such as `M12x1.5 10.9`, or a hexagon with --hex".to_owned(),
            ));
        };
        let candidates = fixing::candidates(&library, across, condition, value.as_ref());
        if candidates.is_empty() {
            return Err(Failure::NotFound(format!(
                "--hex: {across} mm across flats is usual on no thread of the table"
            )));
        }
        if asked.form.json {
            return Ok(json(&candidates)?);
        }
        return Ok(fixing::hex_text(
            across,
            &candidates,
            condition,
            value.as_ref(),
            desk.paper,
        ));
    }
    let (thread, rest) = library.thread_written(&words)?;
    let named = Some(rest).filter(|rest| !rest.is_empty());
    let class = match &named {
        Some(rest) => Some(library.class_written(rest)?),
        None => library.weakest_class(),
    };
    let class = class.ok_or_else(|| Failure::NotFound("the rubrics have no strength classes".to_owned()))?;
    let grade = asked.grade.and_then(Grade::new);
    let lost = asked.core_loss.as_deref().map(core_lost).transpose()?;
    let rust = grade.map(|grade| {
        let usual = library.thread_grade(grade).map_or(0.0, |row| row.core_lost);
        (grade, lost.unwrap_or(usual))
    });
    let friction = asked
        .friction
        .as_deref()
        .map(|text| number("--friction", text))
        .transpose()?;
    let reckoned = figures(thread, class, condition, friction, rust)?;
    let subject = fixing::Subject {
        library: &library,
        thread,
        class,
        class_named: named.is_some(),
        figures: &reckoned,
    };
    if asked.form.json {
        return Ok(fixing::json(&subject, across, value.as_ref())?);
    }
    let mut text = fixing::text(&subject, across, value.as_ref(), desk.paper);
    if let Some(grade) = grade {
        text.push('\n');
        text.push_str(&fixing::ladder_text(&library, grade, desk.paper));
    }
    Ok(text)
}

/// A share of the core's diameter, typed in per cent.
fn core_lost(text: &str) -> Result<f64, Failure> {
    let percent = number("--core-loss", text.trim().trim_end_matches('%').trim_end())?;
    if percent < 100.0 {
        Ok(percent / 100.0)
    } else {
        Err(Failure::Usage(format!(
            "--core-loss: {percent} % of the core is all of it; give less than 100"
        )))
    }
}
