//! The least load against its limit.

use netlist::quantity::{Hertz, Ohms};

use crate::goal::LoadFigures;
use crate::judge::finding::{Finding, beyond};
use crate::judge::finding_code::FindingCode;
use crate::judge::limits::LIMITS;
use crate::search::Job;

pub(super) fn least_load(
    job: &Job,
    load: &LoadFigures,
    drain: Option<&str>,
    findings: &mut Vec<Finding>,
) {
    let stated_ohm = job.least_load();
    findings.extend(too_low(load, stated_ohm, |limit_ohm| {
        drain.map_or_else(|| why_low(job, load, limit_ohm), str::to_owned)
    }));
}

/// The same where nothing is known of ways and crossovers.
pub(crate) fn load_alone(
    load: &LoadFigures,
    stated_ohm: Option<f64>,
    drain: Option<&str>,
) -> Option<Finding> {
    let usual = "add resistance in series with the part that is nearly a short circuit there, or use an amplifier or a tap for a lower load";
    too_low(load, stated_ohm, |_| drain.unwrap_or(usual).to_owned())
}

fn too_low(
    load: &LoadFigures,
    stated_ohm: Option<f64>,
    why: impl Fn(f64) -> String,
) -> Option<Finding> {
    let limit_ohm = stated_ohm.unwrap_or(LIMITS.usual_least_ohm);
    if load.least_ohm >= limit_ohm {
        return None;
    }
    let what = if stated_ohm.is_some() {
        format!("the least load asked for is {:.3}", Ohms(limit_ohm))
    } else {
        format!(
            "few amplifiers are made for less than {:.3} (80 % of 4 Ω), and the brief gives no limit",
            Ohms(limit_ohm)
        )
    };
    let message = format!(
        "the load falls to {} at {:.3}, {} of the limit, with a phase of {:.0}°; {what}; {}",
        beyond(load.least_ohm, limit_ohm, 2, "Ω"),
        Hertz(load.at_hz),
        beyond(100.0 * load.least_ohm / limit_ohm, 100.0, 0, "%"),
        load.phase_deg,
        why(limit_ohm)
    );
    Some(if load.least_ohm < LIMITS.dangerous_share * limit_ohm {
        Finding::danger(
            FindingCode::LoadDangerouslyLow,
            format!(
                "{message}; do not connect it to an amplifier that is made for {:.3} or more",
                Ohms(limit_ohm)
            ),
        )
    } else {
        Finding::caution(FindingCode::LoadTooLow, message)
    })
}

/// Where a low load comes from, with the way out.
fn why_low(job: &Job, load: &LoadFigures, limit_ohm: f64) -> String {
    let at_hz = load.at_hz;
    let way = (0..job.crossovers.len())
        .take_while(|&c| at_hz > job.crossovers[c].frequency.0)
        .count();
    let name = &job.ways[way].name;
    let f_hz = job.grid.f_hz();
    let nearest = (0..f_hz.len()).min_by(|&a, &b| {
        let off = |i: usize| (f_hz[i] / at_hz).ln().abs();
        off(a).total_cmp(&off(b))
    });
    if let Some(i) = nearest {
        let own_ohm = job.ways[way].z_ohm.at(i).norm();
        if own_ohm < limit_ohm {
            return format!(
                "{name} itself has {:.3} there: add resistance in series with it, take a driver of higher impedance, or use an amplifier or a tap for a lower load",
                Ohms(own_ohm)
            );
        }
    }
    let near = (job.crossovers.iter().enumerate())
        .find(|(_, crossover)| (crossover.frequency.0 / at_hz).log2().abs() <= 1.0);
    match near {
        Some((c, crossover)) => format!(
            "it is near the crossover at {}, where the branches of {} and {} are in parallel and each filter draws reactive current: another pick of `design`, gentler slopes, or more pad in front of the filter of {}",
            crossover.frequency,
            job.ways[c].name,
            job.ways[c + 1].name,
            job.ways[c + 1].name
        ),
        None => format!(
            "it is in the band of {name}, and the filters of the other ways add to it: another pick of `design` may be above it, or resistance in series with the shunt parts"
        ),
    }
}
