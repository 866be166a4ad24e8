//! The gamma distribution over even steps, many shapes of the same steps.
//!
//! Kernels ask what Gamma(a, 1) adds from one step to the next, and how far within the step on the average. Near 0, where the density
//! of a small shape has no bounds, both come from the library's P(a, x), the regularised lower incomplete gamma function:
//! ∫x·g = a·P(a + 1, x), P(a + 1, x) = P(a, x) − xᵃ·e⁻ˣ/Γ(a + 1). From there on they are integrals of the density g by four-point
//! Gauss-Legendre quadrature (Abramowitz and Stegun, table 25.4), whose nodes and their logarithms are the same for all shapes.

use statrs::function::gamma::{checked_gamma_lr, ln_gamma};

/// Nodes on [−1, 1] above 0, and their weights.
const NODES: [(f64, f64); 2] = [
    (0.339_981_043_584_856_26, 0.652_145_154_862_546_1),
    (0.861_136_311_594_052_6, 0.347_854_845_137_453_86),
];
const ORDER: usize = 2 * NODES.len();
/// From this many steps on the density is smooth enough.
const SMOOTH: usize = 12;
/// A step past the mean that adds less than this is the last.
const NOTHING: f64 = 1e-15;
/// Wider steps would need more nodes.
const WIDEST: f64 = 1.0;

/// P(a, x), 0 and 1 at the ends.
fn lower_gamma(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        0.0
    } else {
        checked_gamma_lr(shape, x).unwrap_or(1.0).clamp(0.0, 1.0)
    }
}

/// What the distribution adds over a step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// The mass.
    pub(super) adds: f64,
    /// The mass times how far within the step it is on the average: from 0 to `adds`.
    pub(super) part: f64,
}

/// Steps of one width.
#[derive(Debug)]
pub(super) struct GammaSteps {
    step: f64,
    /// Nodes within the steps and their logarithms; none where the steps are too wide.
    nodes: Vec<[(f64, f64); ORDER]>,
    /// What each node counts, and how far within its step it is.
    weights: [(f64, f64); ORDER],
}

impl GammaSteps {
    /// So many steps of this width.
    pub(super) fn new(step: f64, count: usize) -> GammaSteps {
        let signed = |sign: f64| NODES.map(|(node, weight)| (sign * node, weight));
        let [a, b] = [signed(-1.0), signed(1.0)];
        let both = [a[0], a[1], b[0], b[1]];
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
            weights: both.map(|(node, weight)| (0.5 * weight * step, 0.5 + 0.5 * node)),
        }
    }

    /// What Gamma(shape, 1) adds over step after step, as long as it is anything.
    pub(super) fn of(&self, shape: f64) -> impl Iterator<Item = Step> + '_ {
        let log_gamma = ln_gamma(shape);
        // P(a, x) and xᵃ·e⁻ˣ/Γ(a) where the last step from the library ended.
        let mut ended = (0.0, 0.0);
        (0..).map_while(move |nth: usize| {
            let start = nth as f64 * self.step;
            match self.nodes.get(nth).filter(|_| nth >= SMOOTH) {
                Some(nodes) => {
                    let (mut adds, mut part) = (0.0, 0.0);
                    for ((x, log), (weight, far)) in nodes.iter().zip(self.weights) {
                        let mass = weight * ((shape - 1.0) * log - x - log_gamma).exp();
                        adds += mass;
                        part += mass * far;
                    }
                    // Past the mean what is left shrinks from step to step.
                    let over = adds < NOTHING && start > shape;
                    (!over).then_some(Step { adds, part })
                }
                None => {
                    let x = start + self.step;
                    let (p, bump) = ended;
                    ended = (lower_gamma(shape, x), (shape * x.ln() - x - log_gamma).exp());
                    let adds = (ended.0 - p).max(0.0);
                    let part = ((shape - start) * adds - (ended.1 - bump)) / self.step;
                    let part = part.clamp(0.0, adds);
                    Some(Step { adds, part })
                }
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the library's series and continued fraction, also for the mean: ∫x·g is a·P(a + 1, x).
    #[test]
    fn steps_add_up_to_the_distribution() {
        let (mut worst, mut worst_part) = (0.0f64, 0.0f64);
        for width in [0.02, 0.1, 0.33, 0.5, 1.0, 3.0] {
            let steps = GammaSteps::new(width, 400);
            for shape in [1e-3, 0.01, 0.3, 0.9, 1.0, 2.5, 7.0, 30.0, 100.0, 400.0] {
                let mut sum = 0.0;
                for (nth, Step { adds, part }) in (0..400u32).zip(steps.of(shape)) {
                    let (start, end) = (f64::from(nth) * width, f64::from(nth + 1) * width);
                    sum += adds;
                    worst = worst.max((sum - lower_gamma(shape, end)).abs());
                    let moments = lower_gamma(shape + 1.0, end) - lower_gamma(shape + 1.0, start);
                    let wanted = (shape * moments - start * adds) / width;
                    worst_part = worst_part.max((part - wanted).abs());
                    assert!((0.0..=adds).contains(&part), "{shape} {width}: {part} of {adds}");
                }
            }
        }
        println!(
            "largest errors at even steps: {worst:.1e} of the distribution, {worst_part:.1e} of the mean in a step"
        );
        assert!(worst < 1e-11, "{worst}");
        assert!(worst_part < 1e-10, "{worst_part}");
    }
}
