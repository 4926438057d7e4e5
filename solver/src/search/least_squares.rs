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

    /// Fills the residuals at `x` and, where asked for, their derivatives: row by row, one row a
    /// residual, one column a variable.
    fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], jacobian: Option<&mut [f64]>);
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
    problem.evaluate(&x, &mut residuals, Some(&mut jacobian));
    let mut cost = square(&residuals);
    if !cost.is_finite() {
        let stop = Stop::NotFinite;
        return Fit {
            x,
            cost: f64::INFINITY,
            steps: 0,
            stop,
        };
    }
    let mut lambda = 1e-2;
    let mut growth = 2.0;
    for step in 0..settings.max_steps {
        let (normal, gradient) = normal_equations(&jacobian, &residuals, n);
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
        let largest = taken.amax();
        if largest <= settings.step_tolerance {
            return Fit {
                x,
                cost,
                steps: step,
                stop: Stop::Converged,
            };
        }
        problem.evaluate(&moved, &mut trial, None);
        let moved_cost = square(&trial);
        let predicted = -2.0 * gradient.dot(&taken) - taken.dot(&(&normal * &taken));
        let ratio = (cost - moved_cost) / predicted.max(f64::MIN_POSITIVE);
        if moved_cost < cost {
            let gained = (cost - moved_cost) / cost.max(f64::MIN_POSITIVE);
            x = moved;
            cost = moved_cost;
            problem.evaluate(&x, &mut residuals, Some(&mut jacobian));
            lambda *= (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0);
            growth = 2.0;
            if gained < settings.gain_tolerance {
                return Fit {
                    x,
                    cost,
                    steps: step + 1,
                    stop: Stop::Converged,
                };
            }
        } else {
            lambda *= growth;
            growth *= 2.0;
            if lambda > 1e16 {
                return Fit {
                    x,
                    cost,
                    steps: step + 1,
                    stop: Stop::Converged,
                };
            }
        }
    }
    let steps = settings.max_steps;
    Fit {
        x,
        cost,
        steps,
        stop: Stop::StepsUsedUp,
    }
}

fn square(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

/// `JᵀJ` and `Jᵀr`.
fn normal_equations(jacobian: &[f64], residuals: &[f64], n: usize) -> (DMatrix<f64>, DVector<f64>) {
    let mut normal = DMatrix::zeros(n, n);
    let mut gradient = DVector::zeros(n);
    for (row, &r) in jacobian.chunks_exact(n).zip(residuals) {
        for i in 0..n {
            if row[i] == 0.0 {
                continue;
            }
            gradient[i] += row[i] * r;
            for j in 0..=i {
                normal[(i, j)] += row[i] * row[j];
            }
        }
    }
    for i in 0..n {
        for j in 0..i {
            normal[(j, i)] = normal[(i, j)];
        }
    }
    (normal, gradient)
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
    struct Rosenbrock;

    impl Residuals for Rosenbrock {
        fn variables(&self) -> usize {
            2
        }

        fn residuals(&self) -> usize {
            2
        }

        fn evaluate(&mut self, x: &[f64], residuals: &mut [f64], jacobian: Option<&mut [f64]>) {
            residuals[0] = 10.0 * (x[1] - x[0] * x[0]);
            residuals[1] = 1.0 - x[0];
            if let Some(jacobian) = jacobian {
                jacobian.copy_from_slice(&[-20.0 * x[0], 10.0, -1.0, 0.0]);
            }
        }
    }

    #[test]
    fn a_curved_valley_is_followed_to_its_end() {
        let bounds = (vec![-10.0; 2], vec![10.0; 2]);
        let fit = minimise(
            &mut Rosenbrock,
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
            &mut Rosenbrock,
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
