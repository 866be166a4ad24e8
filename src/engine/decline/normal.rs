//! The normal distribution function, its averages over a cell, and dot products.

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

/// Σ a·b over the shorter length; eight sums side by side so that it uses the whole width of the machine.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    let mut lanes = [0.0f64; 8];
    let (eights_a, eights_b) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = eights_a
        .remainder()
        .iter()
        .zip(eights_b.remainder())
        .map(|(x, y)| x * y)
        .sum();
    for (x, y) in eights_a.zip(eights_b) {
        for ((lane, x), y) in lanes.iter_mut().zip(x).zip(y) {
            *lane += x * y;
        }
    }
    lanes.iter().sum::<f64>() + rest
}
