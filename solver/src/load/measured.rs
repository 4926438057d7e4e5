//! A driver from measured tables of impedance and response; `near_field` says what a near field is in them.
//!
//! Level to pressure: 20 µPa·10^(level/20), times distance/1 m for the smaller level further away
//! (free field, 1/r), over the drive voltage. The phase is kept as written; see the parent module.
//!
//! The impedance of a driver is passive: beyond the table its slope is limited to ±6.02 dB per octave, it
//! does not fall below the least magnitude of the table, and everywhere its phase is limited so that the
//! real part is at least 1 % of the magnitude (±89.43°). The slope of the response beyond the table is
//! limited to ±48.2 dB per octave, order 8. Without a phase column both are continued as `tail` says.

use std::f64::consts::{FRAC_PI_2, TAU};

use netlist::project::{Baffle, MeasuredDriver};
use netlist::table::Table;
use num_complex::Complex64;

use super::curve::MeasuredCurve;
use super::near_field::whole;
use super::table_curve::measured_curve;
use super::{Conditions, Curve, DriverLoad, Note};
use crate::air::REFERENCE_PRESSURE_PA;
use crate::coil::copper::TEMPERATURE_COEFFICIENT_PER_K;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Least real part of an impedance, as a share of its magnitude.
const LEAST_RESISTIVE_SHARE: f64 = 0.01;
/// Rows over which the least real part is looked for when the phase is reconstructed.
const ROWS_FOR_RE: usize = 240;
/// Largest step of phase between two rows that is still followed.
const COARSE_STEP_RAD: f64 = TAU / 3.0;

/// Impedance and sound of a measured driver over the grid.
pub(super) fn measured_load(
    driver: &MeasuredDriver,
    front: Option<&Baffle>,
    grid: &Grid,
    conditions: &Conditions,
) -> DriverLoad {
    let mut notes = Vec::new();
    let impedance = measured_curve(&driver.impedance, Curve::Impedance);
    let (response_table, join) = whole(driver, front, conditions.air.c_m_per_s);
    notes.extend(join.map(Note::NearFieldJoined));
    let response = measured_curve(&response_table, Curve::Response);
    curve_notes(
        Curve::Impedance,
        &driver.impedance,
        &impedance,
        grid,
        &mut notes,
    );
    curve_notes(
        Curve::Response,
        &response_table,
        &response,
        grid,
        &mut notes,
    );

    let mut z_ohm = Spectrum::zeros(grid.len());
    let mut pressure = pressure_pa_per_v(driver, &response, grid);
    let mut limited: Option<(f64, f64, f64)> = None;
    for (i, &f_hz) in grid.f_hz().iter().enumerate() {
        let (ln_ohm, phase) = impedance.at(f_hz);
        let (phase, found) = passive(phase);
        if found.abs() > phase.abs() {
            let found = found.to_degrees().abs();
            let (from, _, worst) = limited.unwrap_or((f_hz, f_hz, 0.0));
            limited = Some((from, f_hz, found.max(worst)));
        }
        z_ohm.set(i, Complex64::from_polar(ln_ohm.exp(), phase));
    }
    if let Some((from_hz, to_hz, worst_deg)) = limited {
        notes.push(Note::PhaseLimited {
            from_hz,
            to_hz,
            worst_deg,
        });
    }

    let re_cold = least_real_part(&driver.impedance, &impedance);
    let added = re_cold * TEMPERATURE_COEFFICIENT_PER_K * conditions.coil_rise_k;
    if added != 0.0 {
        notes.push(Note::ReEstimated { re_ohm: re_cold });
        for i in 0..grid.len() {
            let cold = z_ohm.at(i);
            let hot = cold + added;
            z_ohm.set(i, hot);
            pressure.set(i, pressure.at(i) * (cold / hot));
        }
    }
    DriverLoad {
        z_ohm,
        pressure_pa_per_v: pressure,
        re_ohm: re_cold + added,
        notes,
    }
}

/// Sound at 1 m for one volt by a response measured as the driver's own was, in pascal.
#[must_use]
pub fn response_pa_per_v(driver: &MeasuredDriver, response: &Table, grid: &Grid) -> Spectrum {
    pressure_pa_per_v(driver, &measured_curve(response, Curve::Response), grid)
}

fn pressure_pa_per_v(driver: &MeasuredDriver, response: &MeasuredCurve, grid: &Grid) -> Spectrum {
    let gain = REFERENCE_PRESSURE_PA * driver.distance.0 / driver.drive.0;
    Spectrum::from_fn(grid.len(), |i| {
        let (ln_level, phase) = response.at(grid.f_hz()[i]);
        Complex64::from_polar(gain * ln_level.exp(), phase)
    })
}

/// How far a reconstructed phase may be off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PhaseDoubt {
    /// The most, in degrees.
    pub most_deg: f64,
    /// Where that is, in hertz.
    pub at_hz: f64,
    /// The end of the table beyond which it hangs, in hertz.
    pub end_hz: f64,
}

/// How far the phase of a curve, which was reconstructed from its magnitude, may be off at some frequencies for
/// what may be beyond the ends of its table; frequencies outside of the table are left out. `None` where the table
/// has a phase, or no frequency is within it.
#[must_use]
pub fn phase_doubt(table: &Table, curve: Curve, f_hz: &[f64]) -> Option<PhaseDoubt> {
    let measured = measured_curve(table, curve);
    let ends_hz = [table.f_hz[0], table.f_hz[table.f_hz.len() - 1]];
    let doubts = measured.doubts()?;
    let within = (f_hz.iter()).filter(|f| **f >= ends_hz[0] && **f <= ends_hz[1]);
    within
        .flat_map(|&at_hz| {
            doubts
                .iter()
                .zip(ends_hz)
                .map(move |(doubt, end_hz)| PhaseDoubt {
                    most_deg: doubt.at(at_hz).to_degrees(),
                    at_hz,
                    end_hz,
                })
        })
        .max_by(|a, b| a.most_deg.total_cmp(&b.most_deg))
}

/// Minimum phase of a table's magnitude at some of its rows, in degrees, whatever phase the table has.
///
/// # Panics
/// If a row is not of the table.
#[must_use]
pub fn minimum_phase_deg(table: &Table, curve: Curve, rows: &[usize]) -> Vec<f64> {
    let bare = Table {
        phase_deg: None,
        ..table.clone()
    };
    let measured = measured_curve(&bare, curve);
    let phase = |&row: &usize| measured.at(bare.f_hz[row]).1.to_degrees();
    rows.iter().map(phase).collect()
}

/// A measured impedance over the grid, ohm: passive, continued beyond its table as that of a driver is.
#[must_use]
pub fn measured_impedance(table: &Table, grid: &Grid) -> Spectrum {
    let curve = measured_curve(table, Curve::Impedance);
    Spectrum::from_fn(grid.len(), |i| {
        let (ln_ohm, phase) = curve.at(grid.f_hz()[i]);
        Complex64::from_polar(ln_ohm.exp(), passive(phase).0)
    })
}

/// The phase within what a passive impedance can have, and what it was before, both within half a turn; rad.
fn passive(phase: f64) -> (f64, f64) {
    let limit = FRAC_PI_2 - LEAST_RESISTIVE_SHARE.asin();
    // An impedance's phase written a whole turn off is the same impedance.
    let phase = phase - (phase / TAU).round() * TAU;
    (phase.clamp(-limit, limit), phase)
}

/// Least real part over the rows of the table, in ohm.
fn least_real_part(table: &Table, curve: &MeasuredCurve) -> f64 {
    let step = match table.phase_deg {
        Some(_) => 1,
        None => table.f_hz.len().div_ceil(ROWS_FOR_RE),
    };
    let rows = table.f_hz.iter().step_by(step);
    let real = rows.map(|&f_hz| {
        let (ln_ohm, phase) = curve.at(f_hz);
        ln_ohm.exp() * passive(phase).0.cos()
    });
    real.fold(f64::INFINITY, f64::min)
}

fn curve_notes(
    curve: Curve,
    table: &Table,
    measured: &MeasuredCurve,
    grid: &Grid,
    notes: &mut Vec<Note>,
) {
    if table.phase_deg.is_none() {
        notes.push(Note::PhaseReconstructed { curve });
    }
    if let Some(at_hz) = measured.phase_step_above(COARSE_STEP_RAD) {
        notes.push(Note::PhaseTooCoarse { curve, at_hz });
    }
    let [table_from_hz, table_to_hz] = [table.f_hz[0], table.f_hz[table.f_hz.len() - 1]];
    let [asked_from_hz, asked_to_hz] = [grid.f_hz()[0], grid.f_hz()[grid.len() - 1]];
    // Grids are computed: a rounding error beyond the table is not beyond the table.
    let close = 1e-9;
    if asked_from_hz < table_from_hz * (1.0 - close) || asked_to_hz > table_to_hz * (1.0 + close) {
        let [below, above] = measured.slopes_db_per_octave();
        notes.push(Note::OutsideTable {
            curve,
            table_from_hz,
            table_to_hz,
            asked_from_hz,
            asked_to_hz,
            slope_below_db_per_octave: below,
            slope_above_db_per_octave: above,
        });
    }
}
