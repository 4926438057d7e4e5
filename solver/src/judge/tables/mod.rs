//! Measured tables that are not what they seem: each is recognised with its reason, and told with the way out.
//!
//! What is looked for has a mark that no honest measurement of a driver has; where the builder knows better,
//! `trust = true` in `measured` says so, and nothing here is looked at.

mod hole;
mod logarithmic;
mod off_axis;
mod phase;
#[cfg(test)]
mod tests;

use netlist::project::{MeasuredDriver, Project, Source};
use netlist::quantity::{Hertz, Metres};
use netlist::table::Table;

use super::finding::Finding;
use super::finding_code::FindingCode;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::load::{Curve, REFERENCE_V, fitted_slope, measured_response};
use crate::search::Job;
use crate::sound::flight_of;

/// Rows of a table that are looked at, an octave and more inside its ends where there are so many.
const SAMPLES: usize = 60;
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
        let Some(response) = measured_response(&project.drivers[way.name.as_str()]) else {
            continue;
        };
        if let Some(exchanged) = exchanged(&way.name, measured, &response, band) {
            // Of exchanged tables everything else would be told as well.
            findings.push(exchanged);
            continue;
        }
        let of = |what: &str| format!("the {what} of {}", way.name);
        findings.extend(phase::radian(
            &of("impedance"),
            Curve::Impedance,
            &measured.impedance,
        ));
        for table in measured.responses() {
            findings.extend(phase::radian(&of("response"), Curve::Response, table));
        }
        findings.extend(hole::finding(&of("impedance"), &measured.impedance, band));
        for table in measured.responses() {
            findings.extend(hole::finding(&of("response"), table, band));
        }
        findings.extend(levels(&way.name, measured, &response, band));
        findings.extend(logarithmic::finding(&way.name, &measured.impedance));
        // In the near field no way of the sound is missing.
        if !measured.is_near_only() {
            findings.extend(phase::constructed(&way.name, &measured.response));
        }
        let used = (number == 0).then_some(job.aim.from.0);
        findings.extend(noise_floor(&of("response"), &response, used));
        findings.extend(off_axis::findings(&way.name, measured, band));
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
    let responses = (measured.responses()).chain(measured.off_axis.iter().map(|one| &one.response));
    let word = match (
        measured.impedance.zero_hz_left_out,
        responses.into_iter().any(|table| table.zero_hz_left_out),
    ) {
        (false, false) => return None,
        (true, false) => "impedance table",
        (false, true) => "response table",
        (true, true) => "tables",
    };
    Some(Finding::note(
        FindingCode::RowOf0HzLeftOut,
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

/// Ohms that are levels, and levels that are ohms.
fn exchanged(
    name: &str,
    measured: &MeasuredDriver,
    response: &Table,
    band: (f64, f64),
) -> Option<Finding> {
    let (ohm, db) = (typical(&measured.impedance, band), typical(response, band));
    let all_positive = response.magnitude.iter().all(|value| *value > 0.5);
    (ohm > MOST_OHM && ohm < 140.0 && db < MOST_OHM && all_positive).then(|| {
        Finding::danger(
            FindingCode::TablesExchanged,
            format!(
                "the impedance table of {name} has {ohm:.0} ohm in its band and its response table {db:.0} dB: as levels and as ohms both would be usual, so that the two files are exchanged; exchange them in measured, or {TRUST}"
            ),
        )
    })
}

/// Levels that no driver has.
fn levels(
    name: &str,
    measured: &MeasuredDriver,
    response: &Table,
    band: (f64, f64),
) -> Option<Finding> {
    let table_db = typical(response, band);
    let drive_db = 20.0 * (REFERENCE_V / measured.drive.0 * measured.distance.0).log10();
    let level_db = table_db + drive_db;
    (!LEVELS_DB.contains(&level_db)).then(|| {
        Finding::danger(
            FindingCode::LevelsNotSpl,
            format!(
                "the response of {name} would be {level_db:.0} dB SPL at {REFERENCE_V} V and 1 m (the table has {table_db:.0} dB in its band, at {} and {}), and drivers lie between {:.0} and {:.0}: levels relative to something else, or a wrong drive or distance; calibrate the table (add the same dB to all rows), state drive and distance as they were, or {TRUST}",
                measured.drive, measured.distance, LEVELS_DB.start, LEVELS_DB.end
            ),
        )
    })
}

/// The lowest octave of a table far below the rest and level, where a driver falls by 12 dB per octave or more; `used_from`
/// where it is used down to there.
fn noise_floor(what: &str, table: &Table, used_from: Option<f64>) -> Option<Finding> {
    let first = table.f_hz[0];
    let slope = |from: f64, to: f64| -> Option<f64> {
        let rows =
            (table.f_hz.iter().zip(&table.magnitude)).filter(|(f, _)| (from..=to).contains(*f));
        let (x, y): (Vec<f64>, Vec<f64>) = rows.map(|(f, db)| (f.log2(), *db)).unzip();
        (x.len() >= 4).then(|| fitted_slope(&x, &y))
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
    let used = used_from.is_some_and(|from| from < rises);
    (level && lowest < most - 35.0).then(|| {
        let message = format!(
            "below about {:.2} {what} is level and {:.0} dB below its most: the noise of the measurement, not the driver; cut these rows off, or average longer",
            Hertz(rises),
            most - lowest
        );
        match used {
            true => Finding::caution(FindingCode::NoiseFloor, message),
            false => Finding::note(FindingCode::NoiseFloor, message),
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
    // A near field is not gated, and takes the place of what a gate cannot show.
    let from_hz = match &measured.near {
        None => from_hz,
        Some(near) => from_hz.max(near.joined.as_ref()?.at.0 / std::f64::consts::SQRT_2),
    };
    let name = &job.ways[number].name;
    (from_hz < reliable.0).then(|| {
        Finding::caution(
            FindingCode::DataBelowGate,
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
            FindingCode::DepthCountedTwice,
            format!(
                "the measured phases of {lower} and {upper} hold {:.2} of difference in depth already, and position.back says {:.2} once more, so that it is counted twice at {:.3}; leave back out, or take the flight time out of both phases, or if it is so, say trust = true in measured",
                Metres(held_m.abs()),
                Metres(stated_m.abs()),
                Hertz(f_hz)
            ),
        ));
    }
}
