//! One filled cell: a grade, readings or an answer, in the terms of its check.

use crate::car::{Car, Seen};
use crate::report::sheet::limits;
use crate::rubric::{Check, CheckKind, Measure, PartId};
use crate::units::{Grade, parse_decimal};

/// What is wrong, and what to do.
type Wrong = (String, String);

/// A reading this many times the way from new to limit is a slip of the pen or the unit.
const TOO_FAR: f64 = 20.0;

/// Reads a cell for a check; tells whether a decimal comma was in it.
pub fn seen(text: &str, car: &Car, part: &PartId, check: &Check) -> Result<(Seen, bool), Wrong> {
    match &check.kind {
        CheckKind::Graded(_) => grade(text).map(|g| (Seen::Grade(g), false)),
        CheckKind::YesNo(_) => answer(text).map(|yes| (Seen::Answer(yes), false)),
        CheckKind::Measured(measure) => {
            let values = readings(text, measure)?;
            let (new, limit) = limits(car, part, check).unwrap_or((measure.new, measure.limit));
            for value in &values {
                plausible(*value, new, limit, measure)?;
            }
            Ok((Seen::Reading(values), text.contains(',')))
        }
    }
}

fn grade(text: &str) -> Result<Grade, Wrong> {
    let fix = "write a grade, one digit from 0 (as new) to 5 (at or past the limit)".to_owned();
    match parse_decimal(text) {
        Ok(value) => {
            let digit = Grade::ALL.into_iter().find(|g| f64::from(g.digit()) == value);
            digit.ok_or_else(|| {
                let what = if value.fract() == 0.0 {
                    format!("grade {text} is out of range")
                } else {
                    format!("this check is graded, and `{text}` is a reading or between two grades")
                };
                (what, fix)
            })
        }
        Err(_) if text.chars().any(|c| c.is_ascii_digit()) => {
            Err((format!("this check is graded, and `{text}` is a reading"), fix))
        }
        Err(_) => Err((format!("`{text}` is no grade"), fix)),
    }
}

fn answer(text: &str) -> Result<bool, Wrong> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" => Ok(true),
        "no" | "n" | "false" => Ok(false),
        _ => Err((
            format!("`{text}` is no answer"),
            "this check is a question: write yes or no".to_owned(),
        )),
    }
}

/// Splits a cell into readings and puts named ones into the rubric's order.
fn readings(text: &str, measure: &Measure) -> Result<Vec<f64>, Wrong> {
    let wanted = measure.points.len().max(1);
    let how = how_to_write(measure);
    let mut pieces: Vec<&str> = text
        .split([';', '/'])
        .map(str::trim)
        .filter(|p| !p.is_empty())
        .collect();
    if let [single] = pieces.as_slice()
        && wanted > 1
    {
        let by_space: Vec<&str> = single.split_whitespace().collect();
        if by_space.len() == wanted && by_space.iter().all(|p| parse_decimal(p).is_ok()) {
            pieces = by_space;
        }
    }
    if pieces.len() != wanted {
        return Err((
            format!(
                "`{text}` holds {}, and this check takes {wanted}",
                crate::report::words::count(pieces.len(), "reading")
            ),
            how,
        ));
    }
    let mut named: Vec<(Option<usize>, f64)> = Vec::new();
    for piece in &pieces {
        let (point, number) = point_of(piece, measure);
        let number = number.strip_suffix(measure.unit.as_str()).unwrap_or(number).trim();
        let value = parse_decimal(number).map_err(|why| (why, how.clone()))?;
        named.push((point, value));
    }
    if named.iter().all(|(point, _)| point.is_none()) {
        return Ok(named.into_iter().map(|(_, value)| value).collect());
    }
    let mut values = Vec::new();
    for at in 0..wanted {
        let mut here = named.iter().filter(|(point, _)| *point == Some(at));
        match (here.next(), here.next()) {
            (Some((_, value)), None) => values.push(*value),
            _ => {
                let point = measure.points.get(at).map_or("", String::as_str);
                return Err((format!("`{text}` does not give `{point}` once"), how));
            }
        }
    }
    Ok(values)
}

/// The point that a piece such as `inner 3.2` names, and the rest of it.
fn point_of<'t>(piece: &'t str, measure: &Measure) -> (Option<usize>, &'t str) {
    let lower = piece.to_lowercase();
    for (at, point) in measure.points.iter().enumerate() {
        let name = point.to_lowercase();
        // Lower case may differ in length from what was written; then the name is simply not recognised.
        if let Some(rest) = lower.strip_prefix(&name)
            && piece.is_char_boundary(piece.len().saturating_sub(rest.len()))
        {
            let rest = piece.split_at(piece.len().saturating_sub(rest.len())).1;
            return (Some(at), rest.trim_start_matches([' ', ':', '=']));
        }
    }
    (None, piece)
}

fn how_to_write(measure: &Measure) -> String {
    if measure.points.is_empty() {
        format!("write one number in {}", measure.unit)
    } else {
        let named: Vec<String> = measure.points.iter().map(|p| format!("{p} …")).collect();
        format!("write `{}` in {}", named.join("; "), measure.unit)
    }
}

fn plausible(value: f64, new: f64, limit: f64, measure: &Measure) -> Result<(), Wrong> {
    let unit = &measure.unit;
    let check = "look at the decimal point and the unit, and measure again".to_owned();
    let own = format!(
        "{check}; if it is right, give the car's own values with `tinworm part CAR PART --limit CHECK=VALUE --new-value CHECK=VALUE`"
    );
    if value < 0.0 && new >= 0.0 && limit >= 0.0 {
        return Err((format!("{value} {unit} is below zero, which cannot be"), check));
    }
    if unit == "%" && value > 100.0 && new <= 100.0 && limit <= 100.0 {
        return Err((format!("{value} % is more than the whole"), check));
    }
    let way = (value - new) / (limit - new);
    if way > TOO_FAR {
        return Err((
            format!("{value} {unit} is {way:.0} times the way from new ({new}) to the limit ({limit})"),
            own,
        ));
    }
    if way < -1.0 {
        return Err((
            format!("{value} {unit} is far better than new ({new}, limit {limit})"),
            own,
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn pads() -> Measure {
        Measure {
            unit: "mm".to_owned(),
            instrument: "Rule".to_owned(),
            sd: 0.3,
            new: 11.0,
            limit: 2.0,
            source: "judgement".to_owned(),
            points: vec!["inner".to_owned(), "outer".to_owned()],
            ask_manual: false,
            grows: None,
        }
    }

    #[test]
    fn several_points_may_be_named_or_in_order() {
        for text in [
            "3.2/4.1",
            "3,2 ; 4,1",
            "3.2 4.1",
            "inner 3.2; outer 4.1",
            "outer: 4.1 mm; Inner=3.2mm",
        ] {
            assert_eq!(readings(text, &pads()), Ok(vec![3.2, 4.1]), "{text}");
        }
        for text in [
            "3.2",
            "3.2/4.1/5",
            "inner 3.2; inner 4.1",
            "inner 3.2; 4.1",
            "inner thick; outer 4",
        ] {
            assert!(readings(text, &pads()).is_err(), "{text}");
        }
    }

    #[test]
    fn a_grade_is_a_whole_digit() {
        assert_eq!(grade("3").unwrap().digit(), 3);
        assert_eq!(grade("3.0").unwrap().digit(), 3);
        for text in ["6", "-1", "2.5", "3.2 mm", "bad", "2/3"] {
            assert!(grade(text).is_err(), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(plausible(3.0, 11.0, 2.0, &pads()).is_ok());
        assert!(plausible(-0.5, 11.0, 2.0, &pads()).is_err());
        assert!(plausible(32.0, 11.0, 2.0, &pads()).is_err());
        assert!(plausible(0.0, 11.0, 2.0, &pads()).is_ok());
    }
}
