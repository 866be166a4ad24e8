//! Sums over rows, as wide as the machine at hand allows.
//!
//! The same sums in the same order on every machine: only how many of them go side by side differs, so that no number does.

use pulp::{Arch, NullaryFnOnce};

/// One sum over rows. Written as a value, not as a closure, so that it is compiled anew for every width.
enum Work<'a> {
    Dot(&'a [f64], &'a [f64]),
    Convolve(&'a [f64], &'a [f64], &'a mut [f64]),
    AddScaled(&'a mut [f64], &'a [f64], f64),
    Multiply(&'a mut [f64], &'a [f64]),
}

impl NullaryFnOnce for Work<'_> {
    type Output = f64;

    #[inline(always)]
    fn call(self) -> f64 {
        match self {
            Work::Dot(a, b) => return eight_sums(a, b),
            Work::Convolve(outer, inner, out) => four_at_a_time(outer, inner, out),
            Work::AddScaled(to, from, weight) => {
                for (t, f) in to.iter_mut().zip(from) {
                    *t += weight * f;
                }
            }
            Work::Multiply(to, by) => {
                for (t, b) in to.iter_mut().zip(by) {
                    *t *= b;
                }
            }
        }
        0.0
    }
}

/// Σ a·b over the shorter length, in eight sums side by side.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len());
    let (a, b) = (&a[..n], &b[..n]);
    if n < 16 {
        return a.iter().zip(b).map(|(x, y)| x * y).sum();
    }
    Arch::new().dispatch(Work::Dot(a, b))
}

#[inline(always)]
fn eight_sums(a: &[f64], b: &[f64]) -> f64 {
    let (eights_a, rest_a) = a.as_chunks::<8>();
    let (eights_b, rest_b) = b.as_chunks::<8>();
    let mut lanes = [0.0f64; 8];
    for (x, y) in eights_a.iter().zip(eights_b) {
        for lane in 0..8 {
            lanes[lane] += x[lane] * y[lane];
        }
    }
    let rest: f64 = rest_a.iter().zip(rest_b).map(|(x, y)| x * y).sum();
    lanes.iter().sum::<f64>() + rest
}

/// Σ a, in eight sums side by side.
pub(super) fn sum(a: &[f64]) -> f64 {
    let (eights, rest) = a.as_chunks::<8>();
    let mut lanes = [0.0f64; 8];
    for x in eights {
        for lane in 0..8 {
            lanes[lane] += x[lane];
        }
    }
    lanes.iter().sum::<f64>() + rest.iter().sum::<f64>()
}

/// Every sum of one mass of `a` and one of `b`, by the sum of their places; `out` is as long as both together, less one.
pub(super) fn convolve(a: &[f64], b: &[f64], out: &mut [f64]) {
    // The shorter of the two runs in the outer loop, the longer in the inner one.
    let (outer, inner) = if a.len() < b.len() { (a, b) } else { (b, a) };
    Arch::new().dispatch(Work::Convolve(outer, inner, out));
}

#[inline(always)]
fn four_at_a_time(outer: &[f64], inner: &[f64], out: &mut [f64]) {
    out.fill(0.0);
    let n = inner.len();
    let (fours, rest) = outer.as_chunks::<4>();
    let mut at = 0;
    for [a, b, c, d] in fours {
        // Four shifted copies in one pass over `out`, where all four meet; their ends apart.
        if n >= 4 {
            let meet = n - 3;
            let (i0, i1, i2, i3) = (&inner[3..], &inner[2..n - 1], &inner[1..n - 2], &inner[..meet]);
            let here = &mut out[at + 3..at + 3 + meet];
            for k in 0..meet {
                here[k] += a * i0[k] + b * i1[k] + c * i2[k] + d * i3[k];
            }
            out[at] += a * inner[0];
            out[at + 1] += a * inner[1] + b * inner[0];
            out[at + 2] += a * inner[2] + b * inner[1] + c * inner[0];
            out[at + n] += b * inner[n - 1] + c * inner[n - 2] + d * inner[n - 3];
            out[at + n + 1] += c * inner[n - 1] + d * inner[n - 2];
            out[at + n + 2] += d * inner[n - 1];
        } else {
            for (shift, weight) in [a, b, c, d].into_iter().enumerate() {
                for (k, mass) in inner.iter().enumerate() {
                    out[at + shift + k] += weight * mass;
                }
            }
        }
        at += 4;
    }
    for (shift, weight) in rest.iter().enumerate() {
        for (o, mass) in out[at + shift..].iter_mut().zip(inner) {
            *o += weight * mass;
        }
    }
}

/// Adds `weight` times the one to the other, over the shorter length.
pub(super) fn add_scaled(to: &mut [f64], from: &[f64], weight: f64) {
    let n = to.len().min(from.len());
    let (to, from) = (&mut to[..n], &from[..n]);
    Arch::new().dispatch(Work::AddScaled(to, from, weight));
}

/// Multiplies the one by the other, over the shorter length.
pub(super) fn multiply(to: &mut [f64], by: &[f64]) {
    let n = to.len().min(by.len());
    let (to, by) = (&mut to[..n], &by[..n]);
    Arch::new().dispatch(Work::Multiply(to, by));
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn wide_sums_are_plain_sums(
            a in proptest::collection::vec(0.0f64..1.0, 1..60),
            b in proptest::collection::vec(0.0f64..1.0, 1..60),
        ) {
            let plain: f64 = a.iter().zip(&b).map(|(x, y)| x * y).sum();
            prop_assert!((dot(&a, &b) - plain).abs() < 1e-12);
            let mut wanted = vec![0.0; a.len() + b.len() - 1];
            for (i, x) in a.iter().enumerate() {
                for (j, y) in b.iter().enumerate() {
                    wanted[i + j] += x * y;
                }
            }
            let mut out = vec![f64::NAN; a.len() + b.len() - 1];
            convolve(&a, &b, &mut out);
            for (got, wanted) in out.iter().zip(&wanted) {
                prop_assert!((got - wanted).abs() < 1e-12);
            }
        }
    }
}
