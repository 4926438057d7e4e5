//! A measured curve, read between its rows and beyond its ends.
//!
//! Between rows: linear in log-frequency against log-magnitude and unwrapped phase; on a row the row
//! itself. Beyond the ends the magnitude goes on from the last row, with a phase column with the slope of a
//! straight line fitted (least squares, log-log) to the last third of an octave, but to three rows at least, so
//! that ripple does not decide the slope; without one as `tail` says. The phase goes on by what the
//! minimum phase of the continued magnitude turns and, where the curve may hold a delay, by a straight line in
//! frequency fitted over the same rows to what the phase has beyond the minimum phase.

use std::f64::consts::{LN_2, TAU};

use super::Curve;
use super::minimum_phase::LogLogCurve;
use super::table_end::TableEnd;
use super::tail::{Tail, held, likely, others};
use crate::spectrum::unwrap;

/// Rows closer than this are averaged before the phase is reconstructed, in octaves.
const FINEST_OCTAVES: f64 = 1.0 / 192.0;
/// Rows that an end slope is fitted to, in octaves and at least in number.
const END_OCTAVES: f64 = 1.0 / 3.0;
/// The same for an impedance without a phase: on a resonance a third of an octave is a long way, and an impedance has
/// less ripple than a response.
const FLANK_OCTAVES: f64 = 1.0 / 8.0;
const END_ROWS: usize = 3;
/// A magnitude that changes by less than this, in ln, has not turned: 2 %.
const TURNED: f64 = 0.02;

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
    ends: [TableEnd; 2],
    tails: [Tail; 2],
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
        kind: Curve,
    ) -> Self {
        let x: Vec<f64> = f_hz.iter().map(|f| f.ln()).collect();
        let y = ln_magnitude;
        let last = x.len() - 1;
        let width = match (kind, phase_deg) {
            (Curve::Impedance, None) => FLANK_OCTAVES,
            _ => END_OCTAVES,
        };
        let rows = [false, true].map(|upper| end_rows(&x, upper, width));
        let floor = match kind {
            Curve::Impedance => y.iter().copied().fold(f64::INFINITY, f64::min),
            Curve::Response => f64::NEG_INFINITY,
        };
        let of_end = |upper: bool| {
            let rows = rows[usize::from(upper)].clone();
            let edge = if upper { last } else { 0 };
            let middle = x[rows.clone()].iter().sum::<f64>() / rows.len() as f64;
            let slope = fitted_slope(&x[rows.clone()], &y[rows.clone()]);
            TableEnd {
                kind,
                upper,
                y: y[edge],
                slope: slope.clamp(-kind.steepest(), kind.steepest()),
                inside: (x[edge] - middle).abs(),
                near: flank(&x, &y, upper),
                bend: bend(&x, &y, upper),
                floor,
            }
        };
        let ends = [of_end(false), of_end(true)];
        let tails = (ends.each_ref()).map(|end| match phase_deg {
            Some(_) => held(end),
            None => likely(end),
        });
        let minimum = continued(&x, &y, tails.each_ref());
        let phase = phase_deg.map(|degrees| {
            let mut phase: Vec<f64> = degrees.iter().map(|d| d.to_radians()).collect();
            unwrap(&mut phase, TAU);
            phase
        });
        let excess = match &phase {
            Some(phase) if kind == Curve::Response => rows.map(|rows| {
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
            ends,
            tails,
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
        let y = self.tails[end].at(&self.ends[end], (x - self.x[row]).abs());
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

    /// How far the reconstructed phase at a frequency may be off for what there may be beyond the lower and the
    /// upper end instead of what was taken, in radian; none where the table has a phase.
    pub(super) fn doubts(&self) -> Option<[Doubt<'_>; 2]> {
        if self.phase.is_some() {
            return None;
        }
        Some([0, 1].map(|end: usize| {
            Doubt {
                likely: &self.minimum,
                others: (others(&self.ends[end]).iter())
                    .map(|other| {
                        let mut tails = self.tails.each_ref();
                        tails[end] = other;
                        continued(&self.x, &self.y, tails)
                    })
                    .collect(),
            }
        }))
    }

    /// Fitted slopes of the ends below and above, in dB per octave.
    pub(super) fn slopes_db_per_octave(&self) -> [f64; 2] {
        (self.ends.each_ref()).map(|end| end.slope * 20.0 * 2f64.log10())
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

/// What else the phase may be for what is beyond one end.
pub(super) struct Doubt<'a> {
    likely: &'a LogLogCurve,
    others: Vec<LogLogCurve>,
}

impl Doubt<'_> {
    /// The most that the phase may be off at a frequency, in radian.
    pub(super) fn at(&self, f_hz: f64) -> f64 {
        let x = f_hz.ln();
        let likely = self.likely.phase_rad(x);
        let off = |other: &LogLogCurve| (other.phase_rad(x) - likely).abs();
        self.others.iter().map(off).fold(0.0, f64::max)
    }
}

/// Rows to which the slope at one end is fitted.
fn end_rows(x: &[f64], upper: bool, octaves: f64) -> std::ops::Range<usize> {
    let width = octaves * LN_2 * (1.0 + 1e-9);
    let least = END_ROWS.min(x.len());
    if upper {
        let from = x.partition_point(|&value| value < x[x.len() - 1] - width);
        from.min(x.len() - least)..x.len()
    } else {
        let to = x.partition_point(|&value| value <= x[0] + width);
        0..to.max(least)
    }
}

/// The rows of the last half octave at an end, up to where the magnitude, once it has fallen, rises again: how far
/// inside the end, and ln magnitude.
fn flank(x: &[f64], y: &[f64], upper: bool) -> Vec<(f64, f64)> {
    let count = x.len();
    let row = |i: usize| if upper { count - 1 - i } else { i };
    let (mut most, mut least) = (f64::NEG_INFINITY, f64::INFINITY);
    (0..count)
        .map(|i| ((x[row(i)] - x[row(0)]).abs(), y[row(i)]))
        .take_while(|(inside, y)| {
            if *y > most {
                (most, least) = (*y, *y);
            }
            least = least.min(*y);
            let turned = least < most - TURNED && *y > least + TURNED;
            *inside <= 0.5 * LN_2 * (1.0 + 1e-9) && !turned
        })
        .collect()
}

/// Slope away from the table and what it gains by the ln f, half an octave inside an end: from the two halves of the
/// octave there; nothing where there are too few rows.
fn bend(x: &[f64], y: &[f64], upper: bool) -> [f64; 2] {
    let edge = if upper { x[x.len() - 1] } else { x[0] };
    let half = 0.5 * LN_2;
    let slope = |from: f64| {
        let rows: Vec<usize> = (0..x.len())
            .filter(|&i| {
                let inside = (x[i] - edge).abs();
                inside >= from - 1e-9 && inside <= from + half + 1e-9
            })
            .collect();
        let part = |values: &[f64]| rows.iter().map(|&i| values[i]).collect::<Vec<f64>>();
        (rows.len() >= END_ROWS).then(|| fitted_slope(&part(x), &part(y)))
    };
    let (Some(last), Some(before)) = (slope(0.0), slope(half)) else {
        return [0.0; 2];
    };
    let sign = if upper { -1.0 } else { 1.0 };
    [0.5 * sign * (last + before), sign * (last - before) / half]
}

/// Slope of the least-squares line; 0 for fewer than two points.
pub(crate) fn fitted_slope(x: &[f64], y: &[f64]) -> f64 {
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
fn continued(x: &[f64], y: &[f64], [below, above]: [&Tail; 2]) -> LogLogCurve {
    let (rows_x, rows_y) = thinned(x, y);
    let [first, last] = [x[0], x[x.len() - 1]];
    let (mut xs, mut ys) = (Vec::new(), Vec::new());
    for (distance, y) in below.corners.iter().rev() {
        xs.push(first - distance);
        ys.push(*y);
    }
    xs.extend(rows_x);
    ys.extend(rows_y);
    for (distance, y) in &above.corners {
        xs.push(last + distance);
        ys.push(*y);
    }
    LogLogCurve::new(&xs, &ys, below.slope, above.slope)
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

    const RESPONSE: Curve = Curve::Response;

    fn rows() -> Vec<f64> {
        (0..121)
            .map(|i| 20.0 * 2f64.powf(i as f64 / 12.0))
            .collect()
    }

    #[test]
    fn a_power_law_goes_on_beyond_both_ends() {
        let f_hz = rows();
        let y = |f: f64| -2.0 * f.ln();
        let measured: Vec<f64> = f_hz.iter().map(|f| y(*f)).collect();
        let phase = vec![-180.0; f_hz.len()];
        let curve = MeasuredCurve::new(&f_hz, measured.clone(), Some(&phase), RESPONSE);
        for f in [1.0, 20.0, 333.0, 1e5] {
            let (found, phase) = curve.at(f);
            assert!((found - y(f)).abs() < 1e-12);
            assert!((phase.to_degrees() + 180.0).abs() < 1e-9);
        }
        // Without a phase a response that rises towards the low end levels off below it.
        let curve = MeasuredCurve::new(&f_hz, measured, None, RESPONSE);
        assert!((curve.at(1e5).0 - y(1e5)).abs() < 1e-12);
        assert!(curve.at(1.0).0 < y(15.0) && curve.at(1.0).0 > y(20.0));
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
        let curve = MeasuredCurve::new(&f_hz[..to], y[..to].to_vec(), None, Curve::Impedance);
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
