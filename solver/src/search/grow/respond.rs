//! What a move does to voltages and sounds, over all frequencies at once: plain loops for the vector unit.

use nalgebra::{DMatrix, DVector};

use crate::nodal::BranchChange;
use crate::spectrum::Spectrum;

/// `L y = b` in place of `b`.
pub(super) fn solve_lower(lower: &DMatrix<f64>, b: &mut DVector<f64>) {
    for i in 0..b.len() {
        let mut sum = b[i];
        for j in 0..i {
            sum -= lower[(i, j)] * b[j];
        }
        b[i] = sum / lower[(i, i)];
    }
}

/// `factor = q / (1 + d q)`, `input = before + M factor`
#[multiversion::multiversion(targets("x86_64+avx2"))]
pub(super) fn bilinear(
    change: &BranchChange,
    q: &Spectrum,
    before: &Spectrum,
    factor: &mut Spectrum,
    input: &mut Spectrum,
) {
    let n = q.len();
    let (q_re, q_im) = (&q.re[..n], &q.im[..n]);
    let (d_re, d_im) = (&change.divisor.re[..n], &change.divisor.im[..n]);
    let (m_re, m_im) = (&change.input.re[..n], &change.input.im[..n]);
    let (b_re, b_im) = (&before.re[..n], &before.im[..n]);
    let (f_re, f_im) = (&mut factor.re[..n], &mut factor.im[..n]);
    let (i_re, i_im) = (&mut input.re[..n], &mut input.im[..n]);
    for i in 0..n {
        let re = 1.0 + d_re[i] * q_re[i] - d_im[i] * q_im[i];
        let im = d_re[i] * q_im[i] + d_im[i] * q_re[i];
        let size = 1.0 / (re * re + im * im);
        let (re, im) = (re * size, -im * size);
        let (a, b) = (q_re[i] * re - q_im[i] * im, q_re[i] * im + q_im[i] * re);
        f_re[i] = a;
        f_im[i] = b;
        i_re[i] = b_re[i] + m_re[i] * a - m_im[i] * b;
        i_im[i] = b_im[i] + m_re[i] * b + m_im[i] * a;
    }
}

/// Voltage and sound of a way: `(u − N factor) E / (1 + Z₀ D)`, and that times its sound for one volt.
#[multiversion::multiversion(targets("x86_64+avx2"))]
#[expect(
    clippy::too_many_arguments,
    reason = "plain arrays for the vector unit"
)]
pub(super) fn apply(
    unit: &Spectrum,
    own: Option<&Spectrum>,
    factor: &Spectrum,
    input: &Spectrum,
    open_circuit_v: f64,
    source: &Spectrum,
    sound: &Spectrum,
    voltage: &mut Spectrum,
    pressure: &mut Spectrum,
) {
    let n = unit.len();
    let (v_re, v_im) = (&mut voltage.re[..n], &mut voltage.im[..n]);
    v_re.copy_from_slice(&unit.re[..n]);
    v_im.copy_from_slice(&unit.im[..n]);
    if let Some(own) = own {
        let (n_re, n_im) = (&own.re[..n], &own.im[..n]);
        let (f_re, f_im) = (&factor.re[..n], &factor.im[..n]);
        for i in 0..n {
            v_re[i] -= n_re[i] * f_re[i] - n_im[i] * f_im[i];
            v_im[i] -= n_re[i] * f_im[i] + n_im[i] * f_re[i];
        }
    }
    let (i_re, i_im) = (&input.re[..n], &input.im[..n]);
    let (s_re, s_im) = (&sound.re[..n], &sound.im[..n]);
    let (z_re, z_im) = (&source.re[..n], &source.im[..n]);
    let (p_re, p_im) = (&mut pressure.re[..n], &mut pressure.im[..n]);
    for i in 0..n {
        let re = 1.0 + z_re[i] * i_re[i] - z_im[i] * i_im[i];
        let im = z_re[i] * i_im[i] + z_im[i] * i_re[i];
        let size = open_circuit_v / (re * re + im * im);
        let (re, im) = (re * size, -im * size);
        let (a, b) = (v_re[i] * re - v_im[i] * im, v_re[i] * im + v_im[i] * re);
        v_re[i] = a;
        v_im[i] = b;
        p_re[i] = a * s_re[i] - b * s_im[i];
        p_im[i] = a * s_im[i] + b * s_re[i];
    }
}
