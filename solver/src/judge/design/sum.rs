//! Sum, ways and phases against what is usual.

use netlist::quantity::Hertz;

use super::depth::{DEPTH_DEG, set_back};
use crate::goal::Figures;
use crate::judge::finding::{Finding, beyond, listed};
use crate::judge::finding_code::FindingCode;
use crate::judge::limits::LIMITS;
use crate::search::{Depth, Job};

pub(super) fn sum(job: &Job, figures: &Figures, findings: &mut Vec<Finding>) {
    let at = Hertz(figures.max_at_hz);
    let out = "take another pick of `design`, more values in the stock, an alignment of \"auto\", or an aim that stays in the drivers' bands";
    let (most_rms_db, most_max_db) = (LIMITS.flatness_rms_db, LIMITS.flatness_max_db);
    if figures.rms_db > most_rms_db {
        findings.push(Finding::caution(
            FindingCode::SumNotFlat,
            format!(
                "the sum is off the aim by {} rms from {} to {}, more than {most_rms_db} dB; {out}",
                beyond(figures.rms_db, most_rms_db, 2, "dB"),
                job.aim.from,
                job.aim.to
            ),
        ));
    }
    if figures.max_db > most_max_db {
        findings.push(Finding::caution(
            FindingCode::SumFarOffTheAim,
            format!(
                "the sum is off the aim by {} at {at:.3}, in the band of {}, more than {most_max_db} dB; see whether the driver itself has a dip or a peak there, and otherwise {out}",
                beyond(figures.max_db, most_max_db, 1, "dB"),
                name_at(job, figures.max_at_hz)
            ),
        ));
    }
}

/// Names of the way or the two ways that play at a frequency.
fn name_at(job: &Job, at_hz: f64) -> String {
    let names: Vec<&str> = (0..job.ways.len())
        .filter(|&way| {
            let (low, high) = job.band_hz(way);
            let half_octave = std::f64::consts::SQRT_2;
            at_hz >= low / half_octave && at_hz <= high * half_octave
        })
        .map(|way| job.ways[way].name.as_str())
        .collect();
    listed(&names)
}

pub(super) fn ways(job: &Job, figures: &Figures, findings: &mut Vec<Finding>) {
    for (way, &match_db) in job.ways.iter().zip(&figures.match_db) {
        let most_db = LIMITS.match_db;
        if match_db > most_db {
            findings.push(Finding::caution(
                FindingCode::WayOffItsTarget,
                format!(
                    "{} is off its target by {} rms, more than {most_db} dB, so that its slope is not the one asked for; take another pick of `design` or an alignment nearer to the driver's own roll-off",
                    way.name,
                    beyond(match_db, most_db, 2, "dB")
                ),
            ));
        }
    }
}

pub(super) fn phases(job: &Job, depths: &[Depth], figures: &Figures, findings: &mut Vec<Finding>) {
    for (c, found) in figures.crossovers.iter().enumerate() {
        let deg = found.phase_match_deg;
        let most_deg = LIMITS.phase_match_deg;
        if deg <= most_deg {
            continue;
        }
        let depth = depths.get(c).filter(|d| d.angle_deg.abs() > DEPTH_DEG);
        let out = match depth {
            Some(depth) => format!(
                "depth alone makes {:.0}° there: {}",
                depth.angle_deg.abs(),
                set_back(job, c, depth)
            ),
            None => "take another pick of `design`, or an alignment nearer to the drivers' own roll-offs"
                .to_owned(),
        };
        findings.push(Finding::caution(
            FindingCode::PhasesApart,
            format!(
                "{} and {} are {} off the phase that their slopes ask for, in the mean over half an octave on both sides of the crossover at {}, more than {most_deg}°; {out}",
                job.ways[c].name,
                job.ways[c + 1].name,
                beyond(deg, most_deg, 0, "°"),
                job.crossovers[c].frequency
            ),
        ));
    }
}
