//! Measured tables that are not what they seem: each is recognised with its reason, and told with the way out.
//!
//! What is looked for has a mark that no honest measurement of a driver has; where the builder knows better,
//! `trust = true` in `measured` says so, and nothing here is looked at.

#[cfg(test)]
mod tests;

use netlist::project::{MeasuredDriver, Project, Source};
use netlist::quantity::{Hertz, Metres};
use netlist::table::Table;

use super::finding::Finding;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::load::{Curve, REFERENCE_VOLTAGE_V, minimum_phase_deg};
use crate::search::Job;
use crate::sound::flight_of;

/// Rows of a table that are looked at, an octave and more inside its ends where there are so many.
const SAMPLES: usize = 60;
/// What a phase in radian reaches when it is wrapped, with some rounding.
const WRAPPED_RAD: f64 = 6.4;
/// An impedance's phase in radian stays below a quarter turn.
const QUARTER_RAD: f64 = 1.6;
/// Levels of a driver at 2.83 V and 1 m lie between these, dB SPL: the least sensitive small cone and the loudest
/// horn (common practice), with room.
const LEVELS_DB: std::ops::Range<f64> = 62.0..128.0;
/// Nominal impedances of drivers are below this, ohm (common practice: 4 to 16, seldom 32).
const MOST_OHM: f64 = 55.0;

/// Findings on the tables of all measured ways.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (number, way) in job.ways.iter().enumerate() {
        let Some(measured) = measured(project, &way.name) else {
            continue;
        };
        let band = job.band_hz(number);
        findings.extend(below_gate(job, number, measured));
        findings.extend(zero_hz(&way.name, measured));
        if measured.trust {
            continue;
        }
        if let Some(exchanged) = exchanged(&way.name, measured, band) {
            // Of exchanged tables everything else would be told as well.
            findings.push(exchanged);
            continue;
        }
        for (curve, table) in [
            (Curve::Impedance, &measured.impedance),
            (Curve::Response, &measured.response),
        ] {
            findings.extend(radian(&way.name, curve, table));
        }
        findings.extend(levels(&way.name, measured, band));
        findings.extend(logarithmic(&way.name, &measured.impedance));
        findings.extend(constructed(&way.name, &measured.response));
        findings.extend(noise_floor(
            &way.name,
            &measured.response,
            job.aim.from.0,
            number,
        ));
    }
    depth_twice(project, job, &mut findings);
    findings
}

fn measured<'a>(project: &'a Project, name: &str) -> Option<&'a MeasuredDriver> {
    match &project.drivers[name].source {
        Source::Measured(measured) => Some(measured),
        Source::Cone(_) | Source::Compression(_) | Source::Horn(_) => None,
    }
}

/// A row that was passed over.
fn zero_hz(name: &str, measured: &MeasuredDriver) -> Option<Finding> {
    let word = match (
        measured.impedance.zero_hz_left_out,
        measured.response.zero_hz_left_out,
    ) {
        (false, false) => return None,
        (true, false) => "impedance table",
        (false, true) => "response table",
        (true, true) => "tables",
    };
    Some(Finding::note(
        "row-of-0-hz-left-out",
        format!(
            "the first row of the {word} of {name} is at 0 Hz, which has no place on a logarithmic axis; it was left out"
        ),
    ))
}

/// What ends every message.
const TRUST: &str = "if it is so, say trust = true in measured";

/// Rows well inside the ends, evenly over the table.
fn inside(table: &Table) -> Vec<usize> {
    let f_hz = &table.f_hz;
    let (from, to) = (2.0 * f_hz[0], 0.5 * f_hz[f_hz.len() - 1]);
    let rows: Vec<usize> = (0..f_hz.len())
        .filter(|&i| (from..=to).contains(&f_hz[i]))
        .collect();
    let rows = if rows.len() < 8 {
        (0..f_hz.len()).collect()
    } else {
        rows
    };
    // Evenly over log-frequency, whatever the rows are spaced by.
    let (first, last) = (f_hz[rows[0]], f_hz[rows[rows.len() - 1]]);
    let mut picked: Vec<usize> = (0..SAMPLES)
        .map(|k| first * (last / first).powf(k as f64 / (SAMPLES - 1) as f64))
        .map(|f| {
            f_hz.partition_point(|one| *one < f * (1.0 - 1e-9))
                .min(f_hz.len() - 1)
        })
        .collect();
    picked.dedup();
    picked
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    if values.is_empty() {
        return f64::NAN;
    }
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Median of the magnitude in a band; of the whole table where no row is in it.
fn typical(table: &Table, (from, to): (f64, f64)) -> f64 {
    let rows = || table.f_hz.iter().zip(&table.magnitude);
    let within = median(
        rows()
            .filter(|(f, _)| (from..=to).contains(*f))
            .map(|(_, m)| *m),
    );
    if within.is_nan() {
        median(rows().map(|(_, m)| *m))
    } else {
        within
    }
}

fn rms(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value * value;
        count += 1.0;
    }
    (sum / f64::max(count, 1.0)).sqrt()
}

fn largest(values: &[f64]) -> f64 {
    values
        .iter()
        .fold(0.0, |most: f64, value| most.max(value.abs()))
}

/// A magnitude that turns by tens of degrees and a phase column that never does.
fn radian(name: &str, curve: Curve, table: &Table) -> Option<Finding> {
    let phase = largest(table.phase_deg.as_ref()?);
    let rows = inside(table);
    let minimum = minimum_phase_deg(table, curve, &rows);
    let turned = minimum.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - minimum.iter().copied().fold(f64::INFINITY, f64::min);
    let (limit, least, word) = match curve {
        Curve::Impedance => (QUARTER_RAD, 25.0, "impedance"),
        Curve::Response => (WRAPPED_RAD, 60.0, "response"),
    };
    (phase > 0.0 && phase < limit && turned > least).then(|| {
        Finding::danger(
            "phase-in-radian",
            format!(
                "the {word} phase of {name} stays within ±{phase:.2}, while its magnitude can only belong to one that turns by {turned:.0}°: the column is in radian; write it in degrees (times 57.3), or {TRUST}"
            ),
        )
    })
}

/// Ohms that are levels, and levels that are ohms.
fn exchanged(name: &str, measured: &MeasuredDriver, band: (f64, f64)) -> Option<Finding> {
    let (ohm, db) = (
        typical(&measured.impedance, band),
        typical(&measured.response, band),
    );
    let all_positive = measured.response.magnitude.iter().all(|value| *value > 0.5);
    (ohm > MOST_OHM && ohm < 140.0 && db < MOST_OHM && all_positive).then(|| {
        Finding::danger(
            "tables-exchanged",
            format!(
                "the impedance table of {name} has {ohm:.0} ohm in its band and its response table {db:.0} dB: as levels and as ohms both would be usual, so that the two files are exchanged; exchange them in measured, or {TRUST}"
            ),
        )
    })
}

/// Levels that no driver has.
fn levels(name: &str, measured: &MeasuredDriver, band: (f64, f64)) -> Option<Finding> {
    let table_db = typical(&measured.response, band);
    let drive_db = 20.0 * (REFERENCE_VOLTAGE_V / measured.drive.0 * measured.distance.0).log10();
    let level_db = table_db + drive_db;
    (!LEVELS_DB.contains(&level_db)).then(|| {
        Finding::danger(
            "levels-not-spl",
            format!(
                "the response of {name} would be {level_db:.0} dB SPL at {REFERENCE_VOLTAGE_V} V and 1 m (the table has {table_db:.0} dB in its band, at {} and {}), and drivers lie between {:.0} and {:.0}: levels relative to something else, or a wrong drive or distance; calibrate the table (add the same dB to all rows), state drive and distance as they were, or {TRUST}",
                measured.drive, measured.distance, LEVELS_DB.start, LEVELS_DB.end
            ),
        )
    })
}

/// An impedance in dB re 1 ohm: only as such its magnitude belongs to its phase.
fn logarithmic(name: &str, table: &Table) -> Option<Finding> {
    let phase = table.phase_deg.as_ref()?;
    let plausible = table
        .magnitude
        .iter()
        .all(|value| (3.0..65.0).contains(value));
    if !plausible {
        return None;
    }
    let rows = inside(table);
    let as_ohm = minimum_phase_deg(table, Curve::Impedance, &rows);
    let mut ohms = table.clone();
    for value in &mut ohms.magnitude {
        *value = 10f64.powf(*value / 20.0);
    }
    let as_db = minimum_phase_deg(&ohms, Curve::Impedance, &rows);
    let off = |minimum: &[f64]| rms(rows.iter().zip(minimum).map(|(&i, m)| phase[i] - m));
    let (ohm_off, db_off) = (off(&as_ohm), off(&as_db));
    (ohm_off > 6.0 && db_off < 0.4 * ohm_off).then(|| {
        Finding::danger(
            "impedance-in-db",
            format!(
                "the impedance of {name} and its phase do not belong together (they are {ohm_off:.0}° apart), but do if the column is in dB above 1 ohm ({db_off:.0}°); write it in ohm (10^(dB/20)), or {TRUST}"
            ),
        )
    })
}

/// A response whose phase was worked out from its magnitude.
fn constructed(name: &str, table: &Table) -> Option<Finding> {
    let phase = table.phase_deg.as_ref()?;
    let rows = inside(table);
    let minimum = minimum_phase_deg(table, Curve::Response, &rows);
    let turned = largest(&minimum);
    let off: Vec<f64> = (rows.iter().zip(&minimum))
        .map(|(&i, m)| (phase[i] - m).rem_euclid(360.0))
        .collect();
    // Polarity apart.
    let sign = if off.iter().filter(|d| (90.0..270.0).contains(*d)).count() * 2 > off.len() {
        180.0
    } else {
        0.0
    };
    let folded = off
        .iter()
        .map(|d| (d - sign + 540.0).rem_euclid(360.0) - 180.0);
    let apart = rms(folded);
    (turned > 30.0 && apart < 1.5).then(|| {
        Finding::note(
            "phase-is-minimum",
            format!(
                "the phase of {name} is that of its magnitude to {apart:.1}°, as worked out and not measured: it says nothing of where the acoustic centre is, so that position.back must say that in full"
            ),
        )
    })
}

/// The lowest octave of a table far below the rest and level, where a driver falls by 12 dB per octave or more.
fn noise_floor(name: &str, table: &Table, aim_from_hz: f64, number: usize) -> Option<Finding> {
    let first = table.f_hz[0];
    let slope = |from: f64, to: f64| -> Option<f64> {
        let rows: Vec<(f64, f64)> = (table.f_hz.iter().zip(&table.magnitude))
            .filter(|(f, _)| (from..=to).contains(*f))
            .map(|(f, db)| (f.log2(), *db))
            .collect();
        let count = rows.len() as f64;
        if rows.len() < 4 {
            return None;
        }
        let (x, y) = rows
            .iter()
            .fold((0.0, 0.0), |a, b| (a.0 + b.0 / count, a.1 + b.1 / count));
        let (above, below) = rows.iter().fold((0.0, 0.0), |a, b| {
            (a.0 + (b.0 - x) * (b.1 - y), a.1 + (b.0 - x).powi(2))
        });
        Some(above / below)
    };
    let most = table
        .magnitude
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let lowest = median(
        (table.f_hz.iter().zip(&table.magnitude))
            .filter(|(f, _)| **f <= 2.0 * first)
            .map(|(_, db)| *db),
    );
    // Up from the floor: the octave in which it is left.
    let rises = (1..8).find_map(|octave| {
        let from = first * 2f64.powi(octave);
        (slope(from, 2.0 * from)? > 10.0).then_some(from)
    })?;
    let level = slope(first, 2.0 * first)?.abs() < 3.0;
    let used = number == 0 && aim_from_hz < rises;
    (level && lowest < most - 35.0).then(|| {
        let message = format!(
            "below about {:.2} the response of {name} is level and {:.0} dB below its most: the noise of the measurement, not the driver; cut these rows off, or average longer",
            Hertz(rises),
            most - lowest
        );
        match used {
            true => Finding::caution("noise-floor", message),
            false => Finding::note("noise-floor", message),
        }
    })
}

/// Data below what their gate lets through, used.
fn below_gate(job: &Job, number: usize, measured: &MeasuredDriver) -> Option<Finding> {
    let reliable = measured.reliable_from?;
    let (low, _) = job.band_hz(number);
    let from_hz = match number {
        0 => low,
        // Half an octave below the crossover the driver still counts.
        _ => low / std::f64::consts::SQRT_2,
    };
    let name = &job.ways[number].name;
    (from_hz < reliable.0).then(|| {
        Finding::caution(
            "data-below-gate",
            format!(
                "the response of {name} is said to hold from {reliable} on, and is used from {:.3}: below its limit a gated measurement shows the gate and not the driver; measure with a longer gate, in the near field, or cross higher",
                Hertz(from_hz)
            ),
        )
    })
}

/// Depths below this are not told apart from a measurement's error, m.
const TOLD_APART_M: f64 = 0.02;

/// Phases that hold the way from each driver's place, and a `back` that says it again.
fn depth_twice(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    for (c, crossover) in job.crossovers.iter().enumerate() {
        let [lower, upper] = [c, c + 1].map(|number| job.ways[number].name.as_str());
        let (Some(a), Some(b)) = (measured(project, lower), measured(project, upper)) else {
            continue;
        };
        if a.trust || b.trust {
            continue;
        }
        let f_hz = crossover.frequency.0;
        let back = |name: &str| project.drivers[name].position.back.0;
        let stated_m = back(upper) - back(lower);
        if stated_m.abs() < TOLD_APART_M {
            continue;
        }
        let of = |name: &str| flight_of(&project.drivers[name]);
        let (Some(a), Some(b)) = (of(lower), of(upper)) else {
            continue;
        };
        let held_m = (b.delay_s - a.delay_s) * SPEED_OF_SOUND_M_PER_S;
        if (held_m - stated_m).abs() > 0.3 * stated_m.abs() {
            continue;
        }
        findings.push(Finding::caution(
            "depth-counted-twice",
            format!(
                "the measured phases of {lower} and {upper} hold {:.2} of difference in depth already, and position.back says {:.2} once more, so that it is counted twice at {:.3}; leave back out, or take the flight time out of both phases, or if it is so, say trust = true in measured",
                Metres(held_m.abs()),
                Metres(stated_m.abs()),
                Hertz(f_hz)
            ),
        ));
    }
}
