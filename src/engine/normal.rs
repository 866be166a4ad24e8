//! The normal distribution.

/// Cumulative distribution of the standard normal, `Φ(z) = erfc(−z/√2)/2`.
#[must_use]
pub fn cumulative(z: f64) -> f64 {
    0.5 * statrs::function::erf::erfc(-z / std::f64::consts::SQRT_2)
}
