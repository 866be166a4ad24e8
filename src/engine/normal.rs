//! The normal distribution.

/// Cumulative distribution of the standard normal, `Φ(z) = erfc(−z/√2)/2`.
#[must_use]
pub fn cumulative(z: f64) -> f64 {
    0.5 * statrs::function::erf::erfc(-z / std::f64::consts::SQRT_2)
}

/// The point below which a standard normal falls with this probability; probabilities are kept 10⁻¹² from 0 and 1.
#[must_use]
pub fn point(p: f64) -> f64 {
    -std::f64::consts::SQRT_2 * statrs::function::erf::erfc_inv(2.0 * p.clamp(1e-12, 1.0 - 1e-12))
}
