//! A measured curve, read between its rows and beyond its ends.
//!
//! Between rows: linear in log-frequency against log-magnitude and unwrapped phase; on a row the row
//! itself. Beyond the ends the magnitude goes on from the last row with the slope of a straight line fitted
//! (least squares, log-log) to the last third of an octave, but to three rows at least, so that ripple
//! does not decide the slope. The phase goes on by what the minimum phase of the continued magnitude
//! turns and, where the curve may hold a delay, by a straight line in frequency fitted over the same
//! rows to what the phase has beyond the minimum phase.

use std::f64::consts::{LN_2, TAU};

use super::minimum_phase::LogLogCurve;
use crate::spectrum::unwrap;

/// Rows closer than this are averaged before the phase is reconstructed, in octaves.
const FINEST_OCTAVES: f64 = 1.0 / 192.0;
/// Rows that an end slope is fitted to, in octaves and at least in number.
const END_OCTAVES: f64 = 1.0 / 3.0;
const END_ROWS: usize = 3;

/// What is known of the kind of curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    /// Largest slope that is held beyond an end: d ln magnitude / d ln f, unsigned.
    pub(super) slope: f64,
    /// Whether the continued magnitude stays above the least magnitude of the table.
    pub(super) floored: bool,
    /// Whether the phase may hold a delay.
    pub(super) delayed: bool,
}

/// A measured curve with its continuation.
#[derive(Debug, Clone)]
pub(super) struct MeasuredCurve {
    f_hz: Vec<f64>,
    /// ln f.
    x: Vec<f64>,
    /// ln magnitude.
    y: Vec<f64>,
    /// Unwrapped, in radian.
    phase: Option<Vec<f64>>,
    /// Slopes held below and above.
    slope: [f64; 2],
    /// Least ln magnitude beyond the ends.
    floor: f64,
    minimum: LogLogCurve,
    /// Minimum phase at the ends, in radian.
    minimum_at_ends: [f64; 2],
    /// Slopes of the excess phase at the ends, in radian per hertz.
    excess: [f64; 2],
}

impl MeasuredCurve {
    /// A curve over rising frequencies, with ln magnitude and, where known, phase in degrees.
    pub(super) fn new(
        f_hz: &[f64],
        ln_magnitude: Vec<f64>,
        phase_deg: Option<&[f64]>,
        limits: Limits,
    ) -> Self {
        let x: Vec<f64> = f_hz.iter().map(|f| f.ln()).collect();
        let y = ln_magnitude;
        let last = x.len() - 1;
        let ends = [end_rows(&x, false), end_rows(&x, true)];
        let slope = ends.clone().map(|rows| {
            fitted_slope(&x[rows.clone()], &y[rows]).clamp(-limits.slope, limits.slope)
        });
        let floor = match limits.floored {
            true => y.iter().copied().fold(f64::INFINITY, f64::min),
            false => f64::NEG_INFINITY,
        };
        let minimum = continued(&x, &y, slope, floor);
        let phase = phase_deg.map(|degrees| {
            let mut phase: Vec<f64> = degrees.iter().map(|d| d.to_radians()).collect();
            unwrap(&mut phase, TAU);
            phase
        });
        let excess = match &phase {
            Some(phase) if limits.delayed => ends.map(|rows| {
                let beyond: Vec<f64> = rows
                    .clone()
                    .map(|i| phase[i] - minimum.phase_rad(x[i]))
                    .collect();
                fitted_slope(&f_hz[rows], &beyond)
            }),
            _ => [0.0; 2],
        };
        let minimum_at_ends = [minimum.phase_rad(x[0]), minimum.phase_rad(x[last])];
        Self {
            f_hz: f_hz.to_vec(),
            x,
            y,
            phase,
            slope,
            floor,
            minimum,
            minimum_at_ends,
            excess,
        }
    }

    /// ln magnitude and phase in radian at a frequency.
    pub(super) fn at(&self, f_hz: f64) -> (f64, f64) {
        let x = f_hz.ln();
        let last = self.x.len() - 1;
        // First row that is not below f.
        let row = self.f_hz.partition_point(|&f| f < f_hz);
        if row > last {
            return self.beyond(1, last, f_hz, x);
        }
        if self.f_hz[row] <= f_hz {
            let phase = self.phase.as_ref().map(|phase| phase[row]);
            return (
                self.y[row],
                phase.unwrap_or_else(|| self.minimum.phase_rad(x)),
            );
        }
        if row == 0 {
            return self.beyond(0, 0, f_hz, x);
        }
        let (a, b) = (row - 1, row);
        let share = ((x - self.x[a]) / (self.x[b] - self.x[a])).clamp(0.0, 1.0);
        let between = |values: &[f64]| values[a] + share * (values[b] - values[a]);
        let phase = match &self.phase {
            Some(phase) => between(phase),
            None => self.minimum.phase_rad(x),
        };
        (between(&self.y), phase)
    }

    /// Beyond end 0 (below) or 1 (above), which is at `row`.
    fn beyond(&self, end: usize, row: usize, f_hz: f64, x: f64) -> (f64, f64) {
        let y = (self.y[row] + self.slope[end] * (x - self.x[row])).max(self.floor);
        let minimum = self.minimum.phase_rad(x);
        let phase = match &self.phase {
            Some(phase) => {
                let turned = minimum - self.minimum_at_ends[end];
                phase[row] + turned + self.excess[end] * (f_hz - self.f_hz[row])
            }
            None => minimum,
        };
        (y, phase)
    }

    /// Slopes held below and above, in dB per octave.
    pub(super) fn slopes_db_per_octave(&self) -> [f64; 2] {
        self.slope.map(|slope| slope * 20.0 * 2f64.log10())
    }

    /// Frequency of the first row to which the measured phase turns by more than `step_rad`.
    pub(super) fn phase_step_above(&self, step_rad: f64) -> Option<f64> {
        let phase = self.phase.as_ref()?;
        let steps = phase.windows(2);
        let row = steps
            .into_iter()
            .position(|pair| (pair[1] - pair[0]).abs() > step_rad)?;
        Some(self.f_hz[row + 1])
    }
}

/// Rows to which the slope at one end is fitted.
fn end_rows(x: &[f64], upper: bool) -> std::ops::Range<usize> {
    let width = END_OCTAVES * LN_2 * (1.0 + 1e-9);
    let least = END_ROWS.min(x.len());
    if upper {
        let from = x.partition_point(|&value| value < x[x.len() - 1] - width);
        from.min(x.len() - least)..x.len()
    } else {
        let to = x.partition_point(|&value| value <= x[0] + width);
        0..to.max(least)
    }
}

/// Slope of the least-squares line; 0 for fewer than two points.
fn fitted_slope(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len() as f64;
    let mean_x = x.iter().sum::<f64>() / n;
    let mean_y = y.iter().sum::<f64>() / n;
    let (mut above, mut below) = (0.0, 0.0);
    for (x, y) in x.iter().zip(y) {
        above += (x - mean_x) * (y - mean_y);
        below += (x - mean_x) * (x - mean_x);
    }
    if below > 0.0 { above / below } else { 0.0 }
}

/// The magnitude with its tails, thinned, ready for the minimum phase.
fn continued(x: &[f64], y: &[f64], slope: [f64; 2], floor: f64) -> LogLogCurve {
    let (mut xs, mut ys) = thinned(x, y);
    let [mut below, mut above] = slope;
    // Where a tail comes down to the floor it has a corner and is flat from there.
    if floor.is_finite() {
        if below > 0.0 {
            let corner = xs[0] - (ys[0] - floor) / below;
            if corner < xs[0] {
                xs.insert(0, corner);
                ys.insert(0, floor);
            }
            below = 0.0;
        }
        let last = xs.len() - 1;
        if above < 0.0 {
            let corner = xs[last] - (ys[last] - floor) / above;
            if corner > xs[last] {
                xs.push(corner);
                ys.push(floor);
            }
            above = 0.0;
        }
    }
    LogLogCurve::new(&xs, &ys, below, above)
}

/// Averages rows that are closer than [`FINEST_OCTAVES`]; the first and the last are kept.
fn thinned(x: &[f64], y: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let width = FINEST_OCTAVES * LN_2;
    let last = x.len() - 1;
    let (mut xs, mut ys) = (vec![x[0]], vec![y[0]]);
    let mut i = 1;
    while i < last {
        let start = i;
        while i < last && x[i] < x[start] + width {
            i += 1;
        }
        let n = (i - start) as f64;
        xs.push(x[start..i].iter().sum::<f64>() / n);
        ys.push(y[start..i].iter().sum::<f64>() / n);
    }
    xs.push(x[last]);
    ys.push(y[last]);
    (xs, ys)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RESPONSE: Limits = Limits {
        slope: 8.0,
        floored: false,
        delayed: true,
    };

    fn rows() -> Vec<f64> {
        (0..121)
            .map(|i| 20.0 * 2f64.powf(i as f64 / 12.0))
            .collect()
    }

    #[test]
    fn a_power_law_goes_on_beyond_both_ends() {
        let f_hz = rows();
        let y = f_hz.iter().map(|f| -2.0 * f.ln()).collect();
        let curve = MeasuredCurve::new(&f_hz, y, None, RESPONSE);
        for f in [1.0, 20.0, 333.0, 1e5] {
            let (y, phase) = curve.at(f);
            assert!((y + 2.0 * f.ln()).abs() < 1e-12);
            assert!((phase.to_degrees() + 180.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_delay_in_the_phase_goes_on_beyond_both_ends() {
        let f_hz = rows();
        let y: Vec<f64> = f_hz.iter().map(|f| 1.5 * f.ln()).collect();
        // Inverted, 135° of minimum phase, 20 µs late.
        let phase_at = |f: f64| 180.0 + 135.0 - 360.0 * f * 20e-6;
        let phase: Vec<f64> = f_hz.iter().map(|&f| phase_at(f)).collect();
        let curve = MeasuredCurve::new(&f_hz, y, Some(&phase), RESPONSE);
        for f in [5.0, 20.0, 20_480.0, 40_000.0] {
            let turn = (curve.at(f).1.to_degrees() - phase_at(f)) / 360.0;
            assert!((turn - turn.round()).abs() < 1e-6, "{f}: {turn}");
        }
    }

    #[test]
    fn ripple_at_the_end_hardly_moves_the_slope() {
        let f_hz: Vec<f64> = (0..481)
            .map(|i| 20.0 * 2f64.powf(i as f64 / 48.0))
            .collect();
        // 12 dB per octave, with half a decibel of alternating error from row to row.
        let ripple = 0.5 * 10f64.ln() / 20.0;
        let noisy = |i: usize| if i.is_multiple_of(2) { ripple } else { -ripple };
        let y = f_hz
            .iter()
            .enumerate()
            .map(|(i, f)| 2.0 * f.ln() + noisy(i));
        let curve = MeasuredCurve::new(&f_hz, y.collect(), None, RESPONSE);
        for slope in curve.slopes_db_per_octave() {
            assert!((slope - 12.04).abs() < 1.0, "{slope}");
        }
    }

    #[test]
    fn a_floored_tail_comes_to_rest_at_the_least_magnitude() {
        let f_hz = rows();
        let y: Vec<f64> = f_hz
            .iter()
            .map(|f| (f.ln() - 6.0).abs().mul_add(0.5, 1.0))
            .collect();
        let least = y.iter().copied().fold(f64::INFINITY, f64::min);
        // The lower half only: it falls towards its upper end.
        let to = f_hz.partition_point(|f| f.ln() < 5.0);
        let floored = Limits {
            slope: 1.0,
            floored: true,
            delayed: false,
        };
        let curve = MeasuredCurve::new(&f_hz[..to], y[..to].to_vec(), None, floored);
        assert!((curve.at(1e6).0 - y[to - 1]).abs() < 1e-12);
        assert!(curve.at(1e6).0 >= least);
        // Flat above, falling half an order below: the phase far above goes to 0.
        assert!(curve.at(1e9).1.abs() < 1e-3);
    }

    #[test]
    fn thinning_keeps_the_ends_and_sparse_rows() {
        let x = [0.0, 1.0, 1.000_1, 1.000_2, 2.0, 3.0];
        let y = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0];
        let (xs, ys) = thinned(&x, &y);
        assert_eq!(xs.len(), 4);
        assert!((xs[1] - 1.000_1).abs() < 1e-12 && (ys[1] - 2.0).abs() < 1e-12);
        assert!(xs[3] > 2.9 && ys[3] > 4.9);
    }
}
