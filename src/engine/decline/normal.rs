//! The normal distribution function and its averages over a cell.

pub(super) use crate::engine::normal::cumulative as below;

/// The standard normal density.
pub(super) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() * 0.398_942_280_401_432_7
}

/// Φ(to) − Φ(from), exact in both tails.
pub(super) fn between(from: f64, to: f64) -> f64 {
    let p = if from > 0.0 {
        below(-from) - below(-to)
    } else {
        below(to) - below(from)
    };
    p.max(0.0)
}

/// Φ((upper − x)/sd) − Φ((lower − x)/sd), a blurred band, at the middle of [from, to] if that is no wider than `sd`, or else
/// averaged over it.
pub(super) fn band_over_cell(lower: f64, upper: f64, sd: f64, from: f64, to: f64) -> f64 {
    let width = to - from;
    if width <= sd || width < 1e-12 {
        let x = 0.5 * (from + to);
        return between((lower - x) / sd, (upper - x) / sd);
    }
    // ∫Φ = zΦ(z) + density(z)
    let integral = |z: f64| {
        if z > 40.0 {
            z
        } else if z < -40.0 {
            0.0
        } else {
            z * below(z) + density(z)
        }
    };
    let part = |edge: f64| {
        if edge == f64::INFINITY {
            1.0
        } else if edge == f64::NEG_INFINITY {
            0.0
        } else {
            sd / width * (integral((edge - from) / sd) - integral((edge - to) / sd))
        }
    };
    (part(upper) - part(lower)).clamp(0.0, 1.0)
}
