//! What the depth between acoustic centres costs, and its cure.

use crate::judge::finding::Finding;
use crate::judge::finding_code::FindingCode;
use crate::search::{Depth, Job};

/// An angle between the ways from depth alone that is worth a word, degrees.
pub(super) const DEPTH_DEG: f64 = 20.0;
/// What depth may cost the sum before it is a caution, dB.
const DEPTH_COST_DB: f64 = 0.5;

/// Which driver to set back to bring two acoustic centres into one plane.
pub(super) fn set_back(job: &Job, c: usize, depth: &Depth) -> String {
    let (mut nearer, mut farther) = (&job.ways[c].name, &job.ways[c + 1].name);
    if depth.offset_m < 0.0 {
        std::mem::swap(&mut nearer, &mut farther);
    }
    format!(
        "set {nearer} back, or {farther} forward, by {}",
        offset(depth)
    )
}

/// How far two acoustic centres are apart, in whole millimetres: nobody sets a driver back by less.
fn offset(depth: &Depth) -> String {
    format!("{:.0} mm", 1000.0 * depth.offset_m.abs())
}

pub(super) fn of_depth(job: &Job, c: usize, depth: &Depth) -> Option<Finding> {
    if depth.angle_deg.abs() <= DEPTH_DEG {
        return None;
    }
    let (lower, upper) = (&job.ways[c].name, &job.ways[c + 1].name);
    let crossover = &job.crossovers[c];
    let cost_db = depth.deviation_db - depth.deviation_aligned_db;
    let side = if depth.offset_m > 0.0 {
        "farther from the listener"
    } else {
        "nearer to the listener"
    };
    let says = format!(
        "the acoustic centre of {upper} is {} {side} than that of {lower}, which is {:.0}° at {}",
        offset(depth),
        depth.angle_deg.abs(),
        crossover.frequency
    );
    let cure = set_back(job, c, depth);
    Some(if cost_db >= DEPTH_COST_DB {
        let slopes = if crossover.alignment.is_some() {
            ", or write alignment = \"auto\" to have slopes chosen that suffer less"
        } else {
            ""
        };
        Finding::caution(
            FindingCode::DepthCosts,
            format!(
                "{says}: even with ideal slopes the sum is off by up to {:.1} dB within an octave, against {:.1} dB in one plane; {cure}{slopes}",
                depth.deviation_db, depth.deviation_aligned_db
            ),
        )
    } else {
        Finding::note(
            FindingCode::DepthCostsLittle,
            format!(
                "{says}; the slopes in use bear it, with {:.1} dB off at most within an octave when they are ideal, against {:.1} dB in one plane; to be rid of it {cure}",
                depth.deviation_db, depth.deviation_aligned_db
            ),
        )
    })
}
