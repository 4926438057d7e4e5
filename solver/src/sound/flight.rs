//! Flight time of a measured response: what its phase holds beyond the minimum phase of its magnitude.
//!
//! A driver is of minimum phase but for the way of the sound, so that the excess is `−ω τ`, with half a turn where it
//! was wired the other way round. What the magnitude does beyond the ends of the table turns the phase within: of each
//! end a change of slope at the end and another one an octave beyond are fitted with the flight time, each held
//! near 0 by what is likely (the minimum phase is worked out with the likeliest tails; see `load::tail`). Far from an
//! end such a turn is alike to a flight time: that is in [`Flight::sigma_s`].

use std::f64::consts::{LN_2, PI, TAU};

use nalgebra::{DMatrix, DVector};
use netlist::project::{Driver, Source};
use netlist::table::Table;
use num_complex::Complex64;

use crate::load::minimum_phase::LogLogCurve;
use crate::load::{Curve, measured_response, minimum_phase_deg};

/// Rows that are used lie no further below the most of the table, dB: below is noise, or a tail that says little.
const WITHIN_DB: f64 = 36.0;
/// Rows to an octave that are used.
const PER_OCTAVE: f64 = 24.0;
/// Rows that tell a flight time.
const LEAST_ROWS: usize = 8;
/// Flight times that are looked for, s: 3.4 m either way.
const MOST_S: f64 = 0.01;
/// Rows of the first look.
const LOOKED_AT: usize = 60;
/// How far the slope of a tail may be off the likeliest, at the end and an octave beyond (judgement): 3 and 6 dB an
/// octave.
const TAIL_SIGMA: [f64; 2] = [0.5, 1.0];
/// Least error of a phase, rad: half a degree.
const LEAST_RAD: f64 = 0.009;
/// A response whose excess is no straight line has no flight time to speak of, rad rms.
const MOST_RAD: f64 = 0.5;

/// A flight time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flight {
    /// From the time reference of the measurement to the microphone, s.
    pub delay_s: f64,
    /// One standard deviation of it, s.
    pub sigma_s: f64,
    /// Whether the response is the other way round.
    pub inverted: bool,
}

/// The flight time that the phase of a driver's response holds; `None` for a modelled driver and for one that was
/// measured in the near field only, where it is none of a way to a listener.
#[must_use]
pub fn flight_of(driver: &Driver) -> Option<Flight> {
    match &driver.source {
        Source::Measured(measured) if !measured.is_near_only() => {
            flight(measured_response(driver)?.as_ref())
        }
        _ => None,
    }
}

/// The flight time that a response's phase holds; `None` without a phase, and where the excess phase is no straight
/// line in frequency.
#[must_use]
pub fn flight(table: &Table) -> Option<Flight> {
    let phase = table.phase_deg.as_ref()?;
    let rows = rows(table);
    if rows.len() < LEAST_ROWS {
        return None;
    }
    let minimum = minimum_phase_deg(table, Curve::Response, &rows);
    let omega: Vec<f64> = rows.iter().map(|&i| TAU * table.f_hz[i]).collect();
    let excess: Vec<f64> = (rows.iter().zip(&minimum))
        .map(|(&i, m)| (phase[i] - m).to_radians())
        .collect();
    let about_s = first_look(&omega, &excess);
    let middle: Complex64 = (omega.iter().zip(&excess))
        .map(|(omega, excess)| Complex64::from_polar(1.0, excess + omega * about_s))
        .sum();
    let inverted = middle.re < 0.0;
    let turn = if inverted { PI } else { 0.0 };
    let left: Vec<f64> = (omega.iter().zip(&excess))
        .map(|(omega, excess)| (excess + omega * about_s - turn + PI).rem_euclid(TAU) - PI)
        .collect();
    let fitted = fit(table, &omega, &left)?;
    Some(Flight {
        delay_s: about_s - fitted.slope_s,
        sigma_s: fitted.sigma_s,
        inverted,
    })
}

/// Rows that are loud enough, no denser than [`PER_OCTAVE`].
fn rows(table: &Table) -> Vec<usize> {
    let most = (table.magnitude.iter().copied()).fold(f64::NEG_INFINITY, f64::max);
    table.rows_apart(PER_OCTAVE, |i| table.magnitude[i] >= most - WITHIN_DB)
}

/// The flight time with which the excess phases agree best, polarity apart; nothing is unwrapped, so that rows may
/// lie further apart than half a turn.
fn first_look(omega: &[f64], excess: &[f64]) -> f64 {
    let step = omega.len().div_ceil(LOOKED_AT);
    let rows: Vec<usize> = (0..omega.len()).step_by(step).collect();
    let highest = omega[omega.len() - 1];
    let agreement = |delay_s: f64, rows: &[usize]| {
        let sum: Complex64 = (rows.iter())
            .map(|&i| Complex64::from_polar(1.0, excess[i] + omega[i] * delay_s))
            .sum();
        sum.norm()
    };
    let best = |from_s: f64, step_s: f64, count: usize, rows: &[usize]| {
        (0..count)
            .map(|k| from_s + step_s * k as f64)
            .map(|delay_s| (delay_s, agreement(delay_s, rows)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map_or(0.0, |(delay_s, _)| delay_s)
    };
    // A tenth of a turn at the highest frequency.
    let step_s = 0.1 * TAU / highest;
    let coarse = best(-MOST_S, step_s, (2.0 * MOST_S / step_s) as usize + 1, &rows);
    let all: Vec<usize> = (0..omega.len()).collect();
    best(coarse - 2.0 * step_s, 0.1 * step_s, 41, &all)
}

struct FlightFit {
    /// Slope of the phase that is left, rad per rad/s.
    slope_s: f64,
    sigma_s: f64,
    rms_rad: f64,
}

/// Least squares of a slope and of the tails, these with what is likely of them.
fn fit(table: &Table, omega: &[f64], left: &[f64]) -> Option<FlightFit> {
    let ends = [table.f_hz[0].ln(), table.f_hz[table.f_hz.len() - 1].ln()];
    let lower = |x: f64| LogLogCurve::new(&[x], &[0.0], 1.0, 0.0);
    let upper = |x: f64| LogLogCurve::new(&[x], &[0.0], 0.0, 1.0);
    let tails = [
        (upper(ends[1]), TAIL_SIGMA[0]),
        (upper(ends[1] + LN_2), TAIL_SIGMA[1]),
        (lower(ends[0]), TAIL_SIGMA[0]),
        (lower(ends[0] - LN_2), TAIL_SIGMA[1]),
    ];
    let highest = omega[omega.len() - 1];
    let columns = 1 + tails.len();
    let matrix = DMatrix::from_fn(omega.len(), columns, |i, k| match k {
        0 => omega[i] / highest,
        _ => tails[k - 1].0.phase_rad((omega[i] / TAU).ln()),
    });
    let mut sigma_rad = LEAST_RAD;
    let mut found = None;
    // The size of the error is that of what is left.
    for _ in 0..3 {
        let mut normal = matrix.tr_mul(&matrix) / sigma_rad.powi(2);
        for (k, (_, sigma)) in tails.iter().enumerate() {
            normal[(k + 1, k + 1)] += sigma.powi(-2);
        }
        let inverse = normal.cholesky()?.inverse();
        let values = DVector::from_column_slice(left);
        let x = &inverse * matrix.tr_mul(&values) / sigma_rad.powi(2);
        let off = &values - &matrix * &x;
        let rms_rad = (off.norm_squared() / omega.len() as f64).sqrt();
        sigma_rad = rms_rad.max(LEAST_RAD);
        found = Some(FlightFit {
            slope_s: x[0] / highest,
            sigma_s: inverse[(0, 0)].sqrt() / highest,
            rms_rad,
        });
    }
    found.filter(|found| found.rms_rad < MOST_RAD)
}
