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

/// The same density at twice as many points: between two of them the cubic through the logarithms of four, which a normal
/// curve follows exactly; no weight where there is none beside it.
pub(super) fn twice_as_fine(weights: &[f64]) -> Vec<f64> {
    let log = |i: Option<usize>| i.and_then(|i| weights.get(i)).filter(|w| **w > 0.0).map(|w| w.ln());
    let between = |i: usize| {
        let (Some(b), Some(c)) = (log(Some(i)), log(Some(i + 1))) else {
            return 0.0;
        };
        let straight = 0.5 * (b + c);
        match (log(i.checked_sub(1)), log(Some(i + 2))) {
            (Some(a), Some(d)) => straight + (b + c - a - d) / 16.0,
            _ => straight,
        }
        .exp()
    };
    let mut finer: Vec<f64> = Vec::with_capacity(2 * weights.len());
    for (i, weight) in weights.iter().enumerate() {
        finer.extend([*weight, between(i)]);
    }
    let sum: f64 = finer.iter().sum();
    let wanted: f64 = weights.iter().sum();
    finer.iter_mut().for_each(|w| *w *= wanted / sum.max(1e-300));
    finer
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
    fn twice_as_fine_a_normal_curve_is_the_same_curve() {
        let curve = |x: f64| (-0.5 * x * x).exp();
        let coarse: Vec<f64> = (0..15).map(|i| curve(f64::from(i) - 7.0)).collect();
        let finer = twice_as_fine(&coarse);
        for (i, got) in (0..).zip(&finer).take(27).skip(3) {
            let wanted = 0.5 * curve(0.5 * f64::from(i) - 7.0);
            assert!((got / wanted - 1.0).abs() < 1e-6, "{i}: {got} for {wanted}");
        }
    }

    #[test]
    fn finds_a_root() {
        let root = root_of_rising(|x| x.powi(3) - 2.0, 0.0, 16.0, 1e-9);
        assert!((root - 2f64.cbrt()).abs() < 1e-7, "{root}");
    }
}
