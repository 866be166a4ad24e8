//! The gamma distribution at even steps, many shapes of the same steps.
//!
//! Kernels ask for P(a, x), the regularised lower incomplete gamma function, at x = step, 2·step, … Near 0, where the density of a small shape
//! has no bounds, it is taken from the library; from there on what each step adds is the integral of the density over it, by six-point
//! Gauss-Legendre quadrature (Abramowitz and Stegun, table 25.4), whose nodes and their logarithms are the same for all shapes.

use statrs::function::gamma::{checked_gamma_lr, ln_gamma};

/// Nodes on [−1, 1] above 0, and their weights.
const NODES: [(f64, f64); 3] = [
    (0.238_619_186_083_196_9, 0.467_913_934_572_691),
    (0.661_209_386_466_264_5, 0.360_761_573_048_138_6),
    (0.932_469_514_203_152, 0.171_324_492_379_170_4),
];
const ORDER: usize = 2 * NODES.len();
/// From this many steps on the density is smooth enough.
const SMOOTH: usize = 12;
/// A step past the mean that adds less than this is the last.
const NOTHING: f64 = 1e-15;
/// Wider steps would need more nodes.
const WIDEST: f64 = 1.0;

/// P(a, x), 0 and 1 at the ends.
pub(super) fn lower_gamma(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else {
        checked_gamma_lr(shape, x).unwrap_or(1.0).clamp(0.0, 1.0)
    }
}

/// Steps of one width.
#[derive(Debug)]
pub(super) struct GammaSteps {
    step: f64,
    /// Nodes within the steps and their logarithms; none where the steps are too wide.
    nodes: Vec<[(f64, f64); ORDER]>,
    weights: [f64; ORDER],
}

impl GammaSteps {
    /// So many steps of this width.
    pub(super) fn new(step: f64, count: usize) -> GammaSteps {
        let signed = |sign: f64| NODES.map(|(node, weight)| (sign * node, weight));
        let [a, b] = [signed(-1.0), signed(1.0)];
        let both = [a[0], a[1], a[2], b[0], b[1], b[2]];
        let within = |nth: usize| {
            both.map(|(node, _)| {
                let x = (nth as f64 + 0.5 + 0.5 * node) * step;
                (x, x.ln())
            })
        };
        let count = if step <= WIDEST { count } else { 0 };
        GammaSteps {
            step,
            nodes: (0..count).map(within).collect(),
            weights: both.map(|(_, weight)| 0.5 * weight * step),
        }
    }

    /// P(shape, nth·step) for nth = 1, 2, …
    pub(super) fn of(&self, shape: f64) -> impl Iterator<Item = f64> + '_ {
        let log_gamma = ln_gamma(shape);
        let mut sum = 0.0;
        (1..).map(move |nth: usize| {
            let nodes = if nth <= SMOOTH { None } else { self.nodes.get(nth - 1) };
            sum = match nodes {
                Some(nodes) => {
                    let density = |(x, log): (f64, f64)| ((shape - 1.0) * log - x - log_gamma).exp();
                    let adds = nodes.iter().zip(self.weights).map(|(node, w)| w * density(*node));
                    let adds: f64 = adds.sum();
                    // Past the mean what is left shrinks from step to step.
                    if adds < NOTHING && nth as f64 * self.step > shape {
                        1.0
                    } else {
                        f64::min(sum + adds, 1.0)
                    }
                }
                None => lower_gamma(shape, nth as f64 * self.step),
            };
            sum
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the library's series and continued fraction.
    #[test]
    fn steps_add_up_to_the_distribution() {
        let mut worst = 0.0f64;
        for step in [0.02, 0.1, 0.33, 0.5, 1.0, 3.0] {
            let steps = GammaSteps::new(step, 400);
            for shape in [1e-3, 0.01, 0.3, 0.9, 1.0, 2.5, 7.0, 30.0, 100.0, 400.0] {
                for (nth, p) in (1..=400u32).zip(steps.of(shape)) {
                    worst = worst.max((p - lower_gamma(shape, f64::from(nth) * step)).abs());
                }
            }
        }
        println!("largest error of the distribution at even steps: {worst:.1e}");
        assert!(worst < 1e-11, "{worst}");
    }
}
