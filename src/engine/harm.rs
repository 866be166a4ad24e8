//! From damage to harm: weights of severities and law classes, and the risk level of MIL-STD-882E.
//!
//! Exposure of a part that is repaired at time C (in years):
//!
//! ```text
//! E(C) = Σ_modes W_m · p_m(C) + ∫_0^C (1·P(minor) + 10·P(major) + 40·P(dangerous) + Σ_happened 12·W_m) dt
//! ```
//!
//! W = 1000, 100, 10, 1 for MIL-STD-882E severities I to IV: one decade a step, as that standard's money thresholds step.
//! 1 : 10 : 40 is the risk rating of COM(2012) 382, Annex I. A mode that has happened is risked again every month.

use super::state::RiskLevel;
use crate::rubric::{Check, Class, Severity};
use crate::units::Grade;

/// Weight of a severity: 1000, 100, 10, 1.
#[must_use]
pub fn weight(severity: Severity) -> f64 {
    match severity {
        Severity::Catastrophic => 1000.0,
        Severity::Critical => 100.0,
        Severity::Marginal => 10.0,
        Severity::Negligible => 1.0,
    }
}

/// Points a year collected in a class of deficiency: 1, 10, 40.
#[must_use]
pub fn points_a_year(class: Class) -> f64 {
    match class {
        Class::Minor => 1.0,
        Class::Major => 10.0,
        Class::Dangerous => 40.0,
    }
}

/// How many times a year the consequence of something that has happened is risked again.
pub const TIMES_A_YEAR_ONCE_HAPPENED: f64 = 12.0;

/// The risk level of MIL-STD-882E table III for a severity and a probability over the time looked at.
///
/// Probability levels by the example numbers of its Appendix A: frequent from 0.1, probable from 0.01, occasional from
/// 0.001, remote from 0.000001, improbable below.
#[must_use]
pub fn risk_level(severity: Severity, probability: f64) -> RiskLevel {
    use RiskLevel::{High, Low, Medium, Serious};
    let row = match probability {
        p if p >= 1e-1 => [High, High, Serious, Medium],
        p if p >= 1e-2 => [High, High, Serious, Medium],
        p if p >= 1e-3 => [High, Serious, Medium, Low],
        p if p >= 1e-6 => [Serious, Medium, Medium, Low],
        _ => [Medium, Medium, Medium, Low],
    };
    let [catastrophic, critical, marginal, negligible] = row;
    match severity {
        Severity::Catastrophic => catastrophic,
        Severity::Critical => critical,
        Severity::Marginal => marginal,
        Severity::Negligible => negligible,
    }
}

/// The damage from which a check is in a class, by its grade bands; `None` if it never is.
#[must_use]
pub fn class_from(check: &Check, class: Class) -> Option<f64> {
    let from = check.law.iter().filter(|l| l.class >= class).map(|l| l.from).min()?;
    Some(band_start(&check.grade_edges(), from))
}

/// The lowest damage of a grade's band; 0 for grade 0.
#[must_use]
pub fn band_start(edges: &[f64; 5], grade: Grade) -> f64 {
    match grade.index() {
        0 => 0.0,
        g => edges.get(g - 1).copied().unwrap_or(1.0),
    }
}

/// The middle of a grade's band; for grade 5 a little beyond its start.
#[must_use]
pub fn band_middle(edges: &[f64; 5], grade: Grade) -> f64 {
    let from = band_start(edges, grade);
    let to = edges.get(grade.index()).copied().unwrap_or(from + 0.25);
    f64::midpoint(from, to)
}

/// The grade a damage stands for.
#[must_use]
pub fn grade_of(edges: &[f64; 5], damage: f64) -> Grade {
    let passed = edges.iter().filter(|edge| damage >= **edge).count();
    u8::try_from(passed).ok().and_then(Grade::new).unwrap_or(Grade::LIMIT)
}

/// How many grades one unit of damage is worth at a damage: the slope of the grade bands there.
#[must_use]
pub fn grades_a_damage(edges: &[f64; 5], damage: f64) -> f64 {
    let grade = grade_of(edges, damage);
    let from = band_start(edges, grade);
    let to = edges
        .get(grade.index())
        .copied()
        .unwrap_or(from + (from - edges.get(3).copied().unwrap_or(0.75)).max(0.05));
    1.0 / (to - from).max(1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEVERITIES: [Severity; 4] = [
        Severity::Catastrophic,
        Severity::Critical,
        Severity::Marginal,
        Severity::Negligible,
    ];

    /// MIL-STD-882E table III without its row F: High 5, Serious 4, Medium 8, Low 3, falling along rows and columns.
    #[test]
    fn the_risk_matrix_is_that_of_the_standard() {
        let probabilities = [0.5, 0.05, 0.005, 1e-4, 1e-7];
        let mut counts = [0; 4];
        for p in probabilities {
            for s in SEVERITIES {
                counts[risk_level(s, p) as usize] += 1;
            }
        }
        assert_eq!(counts, [3, 8, 4, 5], "low, medium, serious, high");
        for p in probabilities.windows(2) {
            for s in SEVERITIES {
                assert!(risk_level(s, p[0]) >= risk_level(s, p[1]));
            }
        }
        for s in SEVERITIES.windows(2) {
            for p in probabilities {
                assert!(risk_level(s[0], p) >= risk_level(s[1], p));
            }
        }
    }

    #[test]
    fn grades_and_damage_agree() {
        let edges = crate::rubric::USUAL_EDGES;
        for grade in Grade::ALL {
            assert_eq!(grade_of(&edges, band_start(&edges, grade)), grade);
            assert_eq!(grade_of(&edges, band_middle(&edges, grade)), grade);
        }
        assert_eq!(grades_a_damage(&edges, 0.2), 5.0);
        assert_eq!(grades_a_damage(&edges, 0.6), 4.0);
    }
}
