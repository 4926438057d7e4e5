//! Bounded least squares after Levenberg and Marquardt.
//!
//! Minimises `½ ‖r(x)‖²` over a box. Each step solves `(JᵀJ + λ diag(JᵀJ)) δ = −Jᵀr` for the
//! variables that are free, those at a bound which the gradient pushes outward being held
//! (projected Newton, Bertsekas 1982); the step is cut to the box. λ follows the ratio of actual to
//! predicted gain (Nielsen 1999; in Madsen, Nielsen and Tingleff, *Methods for non-linear least
//! squares problems*, 2004, section 3.2).

use nalgebra::{DMatrix, DVector};

/// A problem in residual form.
pub trait Residuals {
    /// Number of variables.
    fn variables(&self) -> usize;

    /// Number of residuals.
    fn residuals(&self) -> usize;

    /// Fills the residuals at `x`. Slopes at this point are likely to be asked for next where
    /// `slopes_follow` says so; it changes what is worked out in advance, never a result.
    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], slopes_follow: bool);

    /// Fills the derivatives at the point last evaluated, variable by variable: one column of
    /// `residuals()` numbers each.
    fn slopes(&mut self, jacobian: &mut [f64]);
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Most steps to try.
    pub max_steps: usize,
    /// Stop when a step gains less than this share of the cost.
    pub gain_tolerance: f64,
    /// Stop when a step moves no variable by more than this.
    pub step_tolerance: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            max_steps: 100,
            gain_tolerance: 1e-9,
            step_tolerance: 1e-9,
        }
    }
}

/// Why the search stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    /// The cost no longer falls.
    Converged,
    /// The number of steps was used up.
    StepsUsedUp,
    /// The start gives no finite residuals.
    NotFinite,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Best point.
    pub x: Vec<f64>,
    /// `‖r‖²` there.
    pub cost: f64,
    /// Steps tried.
    pub steps: usize,
    /// Why it stopped.
    pub stop: Stop,
    /// `Σ (∂r/∂x)²` of each variable near it: at the last point whose slopes were worked out.
    pub curvature: Vec<f64>,
}

/// Searches from `start` within `lower` and `upper`.
///
/// # Panics
/// If start and bounds are not one a variable.
pub fn minimise(
    problem: &mut impl Residuals,
    start: &[f64],
    lower: &[f64],
    upper: &[f64],
    settings: Settings,
) -> Fit {
    let n = problem.variables();
    let m = problem.residuals();
    assert!(start.len() == n && lower.len() == n && upper.len() == n);
    let mut x: Vec<f64> = (0..n).map(|i| start[i].clamp(lower[i], upper[i])).collect();
    let (mut residuals, mut trial) = (vec![0.0; m], vec![0.0; m]);
    let mut jacobian = vec![0.0; m * n];
    problem.evaluate(&x, &mut residuals, true);
    let mut cost = square(&residuals);
    let end = |x, cost, steps, stop, normal: &DMatrix<f64>| Fit {
        x,
        cost,
        steps,
        stop,
        curvature: normal.diagonal().iter().copied().collect(),
    };
    if !cost.is_finite() {
        let none = DMatrix::zeros(n, n);
        return end(x, f64::INFINITY, 0, Stop::NotFinite, &none);
    }
    problem.slopes(&mut jacobian);
    let (mut normal, mut gradient) = normal_equations(&jacobian, &residuals, n);
    let mut lambda = 1e-2;
    let mut growth = 2.0;
    for step in 0..settings.max_steps {
        let held: Vec<bool> = (0..n)
            .map(|i| {
                (x[i] <= lower[i] && gradient[i] > 0.0) || (x[i] >= upper[i] && gradient[i] < 0.0)
            })
            .collect();
        let Some(delta) = step_for(&normal, &gradient, &held, lambda) else {
            lambda *= growth;
            growth *= 2.0;
            continue;
        };
        let moved: Vec<f64> = (0..n)
            .map(|i| (x[i] + delta[i]).clamp(lower[i], upper[i]))
            .collect();
        let taken = DVector::from_iterator(n, moved.iter().zip(&x).map(|(a, b)| a - b));
        if taken.amax() <= settings.step_tolerance {
            return end(x, cost, step, Stop::Converged, &normal);
        }
        // While steps fail the next one is likely to fail as well: slopes wait.
        problem.evaluate(&moved, &mut trial, growth < 4.0);
        let moved_cost = square(&trial);
        if moved_cost < cost {
            let predicted = -2.0 * gradient.dot(&taken) - taken.dot(&(&normal * &taken));
            let ratio = (cost - moved_cost) / predicted.max(f64::MIN_POSITIVE);
            let gained = (cost - moved_cost) / cost.max(f64::MIN_POSITIVE);
            x = moved;
            cost = moved_cost;
            if gained < settings.gain_tolerance {
                return end(x, cost, step + 1, Stop::Converged, &normal);
            }
            std::mem::swap(&mut residuals, &mut trial);
            problem.slopes(&mut jacobian);
            (normal, gradient) = normal_equations(&jacobian, &residuals, n);
            lambda *= (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0);
            growth = 2.0;
        } else {
            lambda *= growth;
            growth *= 2.0;
            if lambda > 1e16 {
                return end(x, cost, step + 1, Stop::Converged, &normal);
            }
        }
    }
    end(x, cost, settings.max_steps, Stop::StepsUsedUp, &normal)
}

fn square(residuals: &[f64]) -> f64 {
    dots(residuals, [residuals])[0]
}

/// `JᵀJ` and `Jᵀr`.
pub(super) fn normal_equations(
    jacobian: &[f64],
    residuals: &[f64],
    n: usize,
) -> (DMatrix<f64>, DVector<f64>) {
    let m = residuals.len();
    let column = |k: usize| &jacobian[k * m..][..m];
    let mut normal = DMatrix::zeros(n, n);
    let mut gradient = DVector::zeros(n);
    for i in 0..n {
        let a = column(i);
        gradient[i] = dots(a, [residuals])[0];
        // Four at a time, so that a column is read once for four products.
        let fours = (i + 1) / 4 * 4;
        for j in (0..fours).step_by(4) {
            let four = dots(a, [column(j), column(j + 1), column(j + 2), column(j + 3)]);
            for (q, product) in four.into_iter().enumerate() {
                normal[(i, j + q)] = product;
            }
        }
        for j in fours..=i {
            normal[(i, j)] = dots(a, [column(j)])[0];
        }
    }
    for i in 0..n {
        for j in 0..i {
            normal[(j, i)] = normal[(i, j)];
        }
    }
    (normal, gradient)
}

/// Numbers that are summed side by side: what the widest registers hold.
const SIDE: usize = 8;

/// Scalar products of `a` with each of `b`, all of one length. Products are fused with their sums on every
/// machine, so that the bits do not depend on it. Plain loops: iterators are not always inlined into a version
/// for one kind of processor.
#[multiversion::multiversion(targets(
    "x86_64+avx512f+avx512vl+avx512dq+avx2+fma",
    "x86_64+avx2+fma"
))]
pub(super) fn dots<const N: usize>(a: &[f64], b: [&[f64]; N]) -> [f64; N] {
    let m = a.len();
    let whole = m / SIDE * SIDE;
    let mut sums = [[0.0; SIDE]; N];
    let mut start = 0;
    while start < whole {
        let a = &a[start..start + SIDE];
        for k in 0..N {
            let b = &b[k][start..start + SIDE];
            for l in 0..SIDE {
                sums[k][l] = a[l].mul_add(b[l], sums[k][l]);
            }
        }
        start += SIDE;
    }
    let mut out = [0.0; N];
    for k in 0..N {
        let mut rest = 0.0;
        for i in whole..m {
            rest += a[i] * b[k][i];
        }
        let [p, q, r, s, t, u, v, w] = sums[k];
        out[k] = ((p + q) + (r + s)) + ((t + u) + (v + w)) + rest;
    }
    out
}

fn step_for(
    normal: &DMatrix<f64>,
    gradient: &DVector<f64>,
    held: &[bool],
    lambda: f64,
) -> Option<DVector<f64>> {
    let n = held.len();
    let mut system = normal.clone();
    let mut right = -gradient;
    for i in 0..n {
        system[(i, i)] += lambda * normal[(i, i)].max(1e-9);
        if held[i] {
            for j in 0..n {
                system[(i, j)] = 0.0;
                system[(j, i)] = 0.0;
            }
            system[(i, i)] = 1.0;
            right[i] = 0.0;
        }
    }
    let delta = system.cholesky()?.solve(&right);
    delta.iter().all(|d| d.is_finite()).then_some(delta)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock (1960): residuals `10 (x₂ − x₁²)` and `1 − x₁`, least at (1, 1).
    #[derive(Default)]
    struct Rosenbrock(f64);

    impl Residuals for Rosenbrock {
        fn variables(&self) -> usize {
            2
        }

        fn residuals(&self) -> usize {
            2
        }

        fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], _slopes_follow: bool) {
            self.0 = x[0];
            residuals[0] = 10.0 * (x[1] - x[0] * x[0]);
            residuals[1] = 1.0 - x[0];
        }

        fn slopes(&mut self, jacobian: &mut [f64]) {
            jacobian.copy_from_slice(&[-20.0 * self.0, -1.0, 10.0, 0.0]);
        }
    }

    #[test]
    fn products_of_any_length_are_the_plain_ones() {
        for m in 0..13 {
            let a: Vec<f64> = (0..m).map(|i| f64::from(i) - 2.5).collect();
            let b: Vec<f64> = (0..m).map(|i| 1.5 * f64::from(i) + 0.5).collect();
            let plain = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
            // Small multiples of 1/4 add up without rounding.
            let [ab, aa] = dots(&a, [&b, &a]);
            assert!(
                (ab - plain(&a, &b)).abs() < f64::EPSILON
                    && (aa - plain(&a, &a)).abs() < f64::EPSILON
            );
        }
    }

    #[test]
    fn a_curved_valley_is_followed_to_its_end() {
        let bounds = (vec![-10.0; 2], vec![10.0; 2]);
        let fit = minimise(
            &mut Rosenbrock::default(),
            &[-1.2, 1.0],
            &bounds.0,
            &bounds.1,
            Settings::default(),
        );
        assert_eq!(fit.stop, Stop::Converged);
        assert!(
            (fit.x[0] - 1.0).abs() < 1e-6 && (fit.x[1] - 1.0).abs() < 1e-6,
            "{fit:?}"
        );
    }

    #[test]
    fn a_bound_is_respected_and_the_rest_still_fitted() {
        // With x₁ ≤ 0.5 the least is at (0.5, 0.25), cost 0.25.
        let fit = minimise(
            &mut Rosenbrock::default(),
            &[-1.2, 1.0],
            &[-10.0, -10.0],
            &[0.5, 10.0],
            Settings::default(),
        );
        assert!(
            (fit.x[0] - 0.5).abs() < 1e-9 && (fit.x[1] - 0.25).abs() < 1e-6,
            "{fit:?}"
        );
        assert!((fit.cost - 0.25).abs() < 1e-9);
    }
}
