//! How well a curve explains a measurement when parts, drivers and the measuring set may all differ a
//! little.
//!
//! For residuals `r = y − f`, their slopes `J` in parameters `u` that are each normal with unit
//! deviation about 0, and noise of variance `1/w`, the residuals are normal with the covariance
//! `W⁻¹ + J Jᵀ`. With `A = 1 + Jᵀ W J` (the matrix inversion and determinant lemmas),
//!
//! ```text
//! −2 ln p = rᵀW r − bᵀA⁻¹b + ln det A + const,   b = Jᵀ W r
//! ```
//!
//! where the constant is the same for all curves of one measurement.

/// Sums over the rows of a linearised problem.
#[derive(Debug, Clone)]
pub(super) struct Normal {
    size: usize,
    /// `1 + Jᵀ W J`, upper triangle row by row in a full square.
    a: Vec<f64>,
    /// `Jᵀ W r`
    b: Vec<f64>,
    /// `rᵀ W r`
    pub(super) squares: f64,
}

/// What solving [`Normal`] gives.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    /// The most likely parameters, to first order.
    pub(super) u: Vec<f64>,
    /// `ln det A`
    pub(super) ln_det: f64,
    /// `bᵀA⁻¹b`
    pub(super) explained: f64,
    /// Upper factor of `A = UᵀU`, row by row.
    factor: Vec<f64>,
}

impl Solved {
    /// Variance of a parameter: its entry on the diagonal of `A⁻¹`.
    pub(super) fn variance(&self, parameter: usize) -> f64 {
        let n = self.u.len();
        let mut w = vec![0.0; n];
        w[parameter] = 1.0;
        for k in parameter..n {
            w[k] /= self.factor[k * n + k];
            for j in k + 1..n {
                w[j] -= self.factor[k * n + j] * w[k];
            }
        }
        w.iter().map(|x| x * x).sum()
    }
}

/// Rows that are added together: one pass over the matrix for all of them.
const TOGETHER: usize = 4;

impl Normal {
    /// Adds up rows: `slopes` row by row, `residual` and `weight` one a row.
    pub(super) fn new(size: usize, slopes: &[f64], residual: &[f64], weight: &[f64]) -> Self {
        let mut normal = Self {
            size,
            a: vec![0.0; size * size],
            b: vec![0.0; size],
            squares: (residual.iter().zip(weight)).map(|(r, w)| w * r * r).sum(),
        };
        add_rows(&mut normal, slopes, residual, weight);
        for k in 0..size {
            normal.a[k * size + k] += 1.0;
        }
        normal
    }

    /// The same about parameters `u` that are not 0: the pull of their own distribution back to it.
    pub(super) fn about(mut self, u: &[f64]) -> Self {
        for (b, u) in self.b.iter_mut().zip(u) {
            *b -= u;
        }
        self
    }

    /// Solves `A u = b` by Cholesky factors.
    pub(super) fn solve(mut self) -> Option<Solved> {
        let n = self.size;
        let mut ln_det = 0.0;
        // Upper factor in place: A = UᵀU.
        for k in 0..n {
            let pivot = self.a[k * n + k];
            if !(pivot > 0.0 && pivot.is_finite()) {
                return None;
            }
            ln_det += pivot.ln();
            let root = pivot.sqrt();
            for j in k..n {
                self.a[k * n + j] /= root;
            }
            for i in k + 1..n {
                let factor = self.a[k * n + i];
                if factor == 0.0 {
                    continue;
                }
                let (above, below) = self.a.split_at_mut(i * n);
                let row = &above[k * n + i..k * n + n];
                for (target, value) in below[i..n].iter_mut().zip(row) {
                    *target -= factor * value;
                }
            }
        }
        let mut u = self.b.clone();
        for k in 0..n {
            u[k] /= self.a[k * n + k];
            for j in k + 1..n {
                u[j] -= self.a[k * n + j] * u[k];
            }
        }
        let explained = u.iter().map(|x| x * x).sum();
        for k in (0..n).rev() {
            let known: f64 = (k + 1..n).map(|j| self.a[k * n + j] * u[j]).sum();
            u[k] = (u[k] - known) / self.a[k * n + k];
        }
        Some(Solved {
            u,
            ln_det,
            explained,
            factor: self.a,
        })
    }
}

#[multiversion::multiversion(targets("x86_64+avx2"))]
fn add_rows(normal: &mut Normal, slopes: &[f64], residual: &[f64], weight: &[f64]) {
    let n = normal.size;
    let rows = residual.len();
    let mut start = 0;
    let none = vec![0.0; n];
    while start < rows {
        let row = |k: usize| match start + k < rows {
            true => &slopes[(start + k) * n..(start + k + 1) * n],
            false => &none[..],
        };
        let [r0, r1, r2, r3] = [row(0), row(1), row(2), row(3)];
        let w: [f64; TOGETHER] =
            std::array::from_fn(|k| weight.get(start + k).copied().unwrap_or(0.0));
        for i in 0..n {
            let [c0, c1, c2, c3] = [r0[i] * w[0], r1[i] * w[1], r2[i] * w[2], r3[i] * w[3]];
            let target = &mut normal.a[i * n + i..(i + 1) * n];
            let (t0, t1, t2, t3) = (&r0[i..], &r1[i..], &r2[i..], &r3[i..]);
            for j in 0..n - i {
                target[j] += (c0 * t0[j] + c1 * t1[j]) + (c2 * t2[j] + c3 * t3[j]);
            }
            for (k, c) in [c0, c1, c2, c3].into_iter().enumerate() {
                if start + k < rows {
                    normal.b[i] += c * residual[start + k];
                }
            }
        }
        start += TOGETHER;
    }
}

/// `−½ (rᵀW r − bᵀA⁻¹b + ln det A)`: logarithm of the likelihood with the parameters integrated out.
pub(super) fn ln_likelihood(
    size: usize,
    slopes: &[f64],
    residual: &[f64],
    weight: &[f64],
) -> Option<f64> {
    let normal = Normal::new(size, slopes, residual, weight);
    let squares = normal.squares;
    let solved = normal.solve()?;
    let ln = -0.5 * (squares - solved.explained + solved.ln_det);
    ln.is_finite().then_some(ln)
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::*;

    /// Against the density of the residuals with their whole covariance matrix.
    #[test]
    fn it_is_the_normal_density_with_the_whole_covariance() {
        let (rows, size) = (13, 4);
        let number = |k: usize| ((k * 7919 + 13) % 101) as f64 / 50.5 - 1.0;
        let slopes: Vec<f64> = (0..rows * size).map(number).collect();
        let weight: Vec<f64> = (0..rows).map(|k| 2.0 + number(k + 31)).collect();
        let whole = |residual: &[f64]| {
            let j = DMatrix::from_row_slice(rows, size, &slopes);
            let noise = DMatrix::from_fn(rows, rows, |a, b| match a == b {
                true => 1.0 / weight[a],
                false => 0.0,
            });
            let covariance = noise + &j * j.transpose();
            let r = DVector::from_row_slice(residual);
            let inverse = covariance.clone().try_inverse().unwrap();
            -0.5 * ((r.transpose() * inverse * &r)[0] + covariance.determinant().ln())
        };
        let residual: Vec<f64> = (0..rows).map(|k| number(k + 77)).collect();
        let other: Vec<f64> = (0..rows).map(|k| number(k + 5)).collect();
        let ours = |residual: &[f64]| ln_likelihood(size, &slopes, residual, &weight).unwrap();
        // Up to the constant, which is that of the noise alone.
        let constant: f64 = weight.iter().map(|w| 0.5 * w.ln()).sum();
        for r in [&residual, &other] {
            let off = whole(r) - (ours(r) + constant);
            assert!(off.abs() < 1e-9, "{off}");
        }
        // The most likely parameters satisfy the normal equations.
        let u = Normal::new(size, &slopes, &residual, &weight)
            .solve()
            .unwrap()
            .u;
        for k in 0..size {
            let pull: f64 = (0..rows)
                .map(|i| {
                    let fitted: f64 = (0..size).map(|j| slopes[i * size + j] * u[j]).sum();
                    weight[i] * slopes[i * size + k] * (residual[i] - fitted)
                })
                .sum();
            assert!((pull - u[k]).abs() < 1e-9);
        }
    }

    /// Against `numpy.linalg.lstsq` and `slogdet` on a sample of hypotheses of a measured low pass: see
    /// `tests/fixtures/numpy_likelihood.py`, which made it.
    #[test]
    fn likelihood_ratios_are_those_of_a_plain_least_squares() {
        #[derive(serde::Deserialize)]
        struct Fixture {
            weight: f64,
            hypotheses: Vec<Hypothesis>,
        }
        #[derive(serde::Deserialize)]
        struct Hypothesis {
            slopes: Vec<f64>,
            residual: Vec<f64>,
            u: Vec<f64>,
            ln_likelihood: f64,
        }
        let text = include_str!("../../../tests/fixtures/numpy_likelihood.json");
        let fixture: Fixture = serde_json::from_str(text).unwrap();
        let ours: Vec<(f64, Vec<f64>)> = (fixture.hypotheses.iter())
            .map(|known| {
                let weight = vec![fixture.weight; known.residual.len()];
                let (size, slopes, residual) = (known.u.len(), &known.slopes, &known.residual);
                let solved = Normal::new(size, slopes, residual, &weight).solve();
                let ln = ln_likelihood(size, slopes, residual, &weight);
                (ln.unwrap(), solved.unwrap().u)
            })
            .collect();
        for (known, (ln, u)) in fixture.hypotheses.iter().zip(&ours) {
            let off = known.ln_likelihood - fixture.hypotheses[0].ln_likelihood - (ln - ours[0].0);
            assert!(off.abs() < 1e-9 * known.ln_likelihood.abs(), "{off}");
            assert!(
                u.iter()
                    .zip(&known.u)
                    .all(|(u, right)| (u - right).abs() < 1e-8 * right.abs().max(1.0))
            );
        }
        // The one that was built is the likeliest.
        let best = (0..ours.len()).max_by(|&a, &b| ours[a].0.total_cmp(&ours[b].0));
        assert_eq!(best, Some(2));
    }
}
