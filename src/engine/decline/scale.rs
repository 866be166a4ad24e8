//! The scale φ on which growth is steady.

/// The largest value of y the grid holds; damage beyond it counts as there.
pub(super) const TOP: f64 = 4.0;

/// φ(d) = ln(1 + (ρ − 1)·d) / ln ρ, and its inverse.
///
/// ρ says how many times faster the damage goes at its limit than when new; φ(0) = 0, φ(1) = 1, and φ(d) = d for ρ = 1.
/// Below zero (a reading may be) φ goes on straight. For ρ < 1 damage can never exceed 1/(1 − ρ); larger damage is taken
/// as the top of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    quickening: f64,
    log: f64,
    top: f64,
}

impl Scale {
    /// The scale for a ρ; one that is not a positive number counts as 1.
    pub(super) fn new(quickening: f64) -> Scale {
        let sound = quickening.is_finite() && quickening > 0.0;
        let quickening = if sound { quickening.clamp(0.01, 1000.0) } else { 1.0 };
        let steady = (quickening - 1.0).abs() < 1e-6;
        let mut scale = Scale {
            quickening: if steady { 1.0 } else { quickening },
            log: quickening.ln(),
            top: TOP,
        };
        scale.top = scale.damage(TOP);
        scale
    }

    /// ρ, as used.
    pub(super) fn quickening(&self) -> f64 {
        self.quickening
    }

    /// y of a damage.
    pub(super) fn y(&self, damage: f64) -> f64 {
        if self.quickening == 1.0 {
            return damage;
        }
        if damage <= 0.0 {
            return damage * self.slope(0.0);
        }
        ((self.quickening - 1.0) * damage.min(self.top)).ln_1p() / self.log
    }

    /// Damage of a y.
    pub(super) fn damage(&self, y: f64) -> f64 {
        if self.quickening == 1.0 {
            return y;
        }
        if y <= 0.0 {
            return y / self.slope(0.0);
        }
        (y * self.log).exp_m1() / (self.quickening - 1.0)
    }

    /// φ'(d).
    pub(super) fn slope(&self, damage: f64) -> f64 {
        if self.quickening == 1.0 {
            return 1.0;
        }
        let d = damage.clamp(0.0, self.top);
        (self.quickening - 1.0) / ((1.0 + (self.quickening - 1.0) * d) * self.log)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn there_and_back_is_where_one_started(rho in 0.05f64..30.0, y in -0.5f64..3.9) {
            let scale = Scale::new(rho);
            prop_assert!((scale.y(scale.damage(y)) - y).abs() < 1e-6, "{} {}", scale.damage(y), scale.y(scale.damage(y)));
        }

        #[test]
        fn the_slope_is_the_slope(rho in 0.05f64..30.0, d in 0.01f64..1.0) {
            let scale = Scale::new(rho);
            let step = 1e-5;
            let measured = (scale.y(d + step) - scale.y(d - step)) / (2.0 * step);
            prop_assert!((measured / scale.slope(d) - 1.0).abs() < 1e-5);
        }
    }

    #[test]
    fn new_is_zero_and_the_limit_is_one() {
        for rho in [0.33, 1.0, 4.4] {
            let scale = Scale::new(rho);
            assert!(scale.y(0.0).abs() < 1e-12);
            assert!((scale.y(1.0) - 1.0).abs() < 1e-12);
        }
    }
}
