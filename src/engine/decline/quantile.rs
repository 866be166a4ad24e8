//! Points of distributions on grids, and the root of a rising function.

/// The p point of masses in cells of a width, the first starting at 0.
pub(super) fn from_cells(masses: &[f64], width: f64, p: f64) -> f64 {
    let mut sum = 0.0;
    for (i, mass) in masses.iter().enumerate() {
        if *mass > 0.0 && sum + mass >= p {
            return (i as f64 + ((p - sum) / mass).clamp(0.0, 1.0)) * width;
        }
        sum += mass;
    }
    masses.len() as f64 * width
}

/// The p point of a smooth density given by its weights at evenly spaced points.
///
/// The distribution function at a point is half its weight and all before it, less a twelfth of the step times the rise of
/// the density (Euler–Maclaurin); between points it follows the cubic with the density as slope.
pub(super) fn from_points(weights: &[f64], first: f64, step: f64, p: f64) -> f64 {
    let weight = |i: Option<usize>| i.and_then(|i| weights.get(i)).copied().unwrap_or(0.0);
    let mut sum = 0.0;
    let mut before = 0.0;
    for (i, w) in weights.iter().enumerate() {
        let rise = weight(Some(i + 1)) - weight(i.checked_sub(1));
        let here = (sum + 0.5 * w - rise / 24.0).max(before);
        if here >= p && i > 0 {
            let (slope_low, slope_high) = (weight(Some(i - 1)), *w);
            let cubic = |t: f64| {
                let (s, u) = (1.0 - t, t);
                before * (1.0 + 2.0 * u) * s * s + slope_low * u * s * s + here * u * u * (3.0 - 2.0 * u)
                    - slope_high * u * u * s
                    - p
            };
            let t = root_of_rising(cubic, 0.0, 1.0, 1e-6);
            return first + (i as f64 - 1.0 + t) * step;
        }
        sum += w;
        before = here;
    }
    first + step * weights.len().saturating_sub(1) as f64
}

/// The root in [low, high] of a rising function that is below zero at `low` and not below it at `high`, to `tolerance` of
/// the root's size (regula falsi that halves the stale end, with a bisection whenever that is slow).
pub(super) fn root_of_rising(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64, tolerance: f64) -> f64 {
    let (mut f_low, mut f_high) = (f(low), f(high));
    for round in 0..80 {
        if high - low <= tolerance * high.abs().max(1e-9) || f_high == f_low {
            break;
        }
        let mut x = low - f_low * (high - low) / (f_high - f_low);
        if round % 3 == 2 || !(x > low && x < high) {
            x = 0.5 * (low + high);
        }
        let value = f(x);
        if value < 0.0 {
            (low, f_low) = (x, value);
            f_high *= 0.5;
        } else {
            (high, f_high) = (x, value);
            f_low *= 0.5;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_points_of_a_normal_curve() {
        // 10, 50 and 90 % points of the standard normal: ±1.2815516 (tables).
        let step = 0.4;
        let raw: Vec<f64> = (0..41)
            .map(|i| (-0.5 * (f64::from(i - 20) * step).powi(2)).exp())
            .collect();
        let total: f64 = raw.iter().sum();
        let weights: Vec<f64> = raw.iter().map(|w| w / total).collect();
        for (p, z) in [(0.1, -1.281_551_6), (0.5, 0.0), (0.9, 1.281_551_6)] {
            let found = from_points(&weights, -20.0 * step, step, p);
            assert!((found - z).abs() < 0.002, "{p}: {found}");
        }
    }

    #[test]
    fn finds_a_root() {
        let root = root_of_rising(|x| x.powi(3) - 2.0, 0.0, 16.0, 1e-9);
        assert!((root - 2f64.cbrt()).abs() < 1e-7, "{root}");
    }
}
