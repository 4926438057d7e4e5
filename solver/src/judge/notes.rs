//! What the notes of a driver's load mean to the builder.

use netlist::quantity::{Hertz, Ohms, Quantity};

use super::finding::{Finding, listed};
use super::finding_code::FindingCode;
use super::near_field;
use crate::load::{Curve, Note};
use crate::search::Job;

/// The word for a curve.
pub(super) fn word(curve: Curve) -> &'static str {
    match curve {
        Curve::Impedance => "impedance",
        Curve::Response => "response",
    }
}

/// What a note of a driver's load means to the builder; nothing where no result depends on it.
pub(super) fn of_note(job: &Job, number: usize, note: &Note) -> Option<Finding> {
    let name = &job.ways[number].name;
    Some(match *note {
        Note::PhaseReconstructed {
            curve: Curve::Impedance,
        } => Finding::note(
            FindingCode::PhaseReconstructed,
            format!(
                "the impedance of {name} has no phase; its minimum phase was worked out from the magnitude, which is near enough for an impedance"
            ),
        ),
        Note::PhaseReconstructed {
            curve: Curve::Response,
        } => Finding::caution(
            FindingCode::PhaseReconstructed,
            format!(
                "the response of {name} has no phase; its minimum phase was worked out from the magnitude and knows nothing of where the acoustic centre is: position.back must say that in full, or the phase at the crossover is a guess; measure with phase if you can"
            ),
        ),
        Note::OutsideTable {
            curve,
            table_from_hz,
            table_to_hz,
            ..
        } => return outside_table(job, number, curve, [table_from_hz, table_to_hz]),
        Note::PhaseLimited {
            from_hz,
            to_hz,
            worst_deg,
        } => Finding::caution(
            FindingCode::ImpedancePhaseLimited,
            format!(
                "the impedance phase of {name} reaches {worst_deg:.0}° between {:.3} and {:.3}, and a driver, which gives no power, stays below 90°; it was limited there; see whether the measuring rig is calibrated",
                Hertz(from_hz),
                Hertz(to_hz)
            ),
        ),
        Note::PhaseTooCoarse { curve, at_hz } => Finding::caution(
            FindingCode::PhaseTooCoarse,
            format!(
                "the {} phase of {name} turns more than 120° between two rows near {:.3}, too much to follow; take the flight time of the measurement out, by the same time for every driver, or write more rows",
                word(curve),
                Hertz(at_hz)
            ),
        ),
        Note::NearFieldJoined(join) => near_field::of_join(name, &join),
        Note::ReEstimated { re_ohm } => Finding::note(
            FindingCode::CoilResistanceEstimated,
            format!(
                "the voice coil of {name} was taken to have {:.3}, the least resistance in its measured impedance; the true one is that or less, so that a hot coil changes no more than is shown",
                Ohms(re_ohm)
            ),
        ),
    })
}

/// What a table that ends before what is judged means to the builder.
fn outside_table(job: &Job, number: usize, curve: Curve, table_hz: [f64; 2]) -> Option<Finding> {
    let name = &job.ways[number].name;
    let (low, high) = job.band_hz(number);
    let aim = (job.aim.from.si(), job.aim.to.si());
    let f_hz = job.grid.f_hz();
    let asked = (f_hz[0], f_hz[f_hz.len() - 1]);
    let word = word(curve);
    // The sound is judged over the aim, the load over all that was worked out.
    let (from, to, what) = match curve {
        Curve::Response => (aim.0, aim.1, "the aim,"),
        Curve::Impedance => (asked.0, asked.1, "the band in which the load is judged,"),
    };
    let missing = [
        (from < table_hz[0], "begins", table_hz[0], table_hz[0] > low),
        (to > table_hz[1], "ends", table_hz[1], table_hz[1] < high),
    ];
    let ends = |inside: bool| -> String {
        let ends: Vec<String> = (missing.iter())
            .filter(|end| end.0 && end.3 == inside)
            .map(|end| format!("{} at {:.3}", end.1, Hertz(end.2)))
            .collect();
        listed(&ends)
    };
    let (inside, outside) = (ends(true), ends(false));
    if !inside.is_empty() {
        Some(Finding::caution(
            FindingCode::TableEndsInsideBand,
            format!(
                "the {word} table of {name} {inside}, inside its band of {:.3} to {:.3}; beyond, it is continued from the slope of its end, so that results there are a guess; measure further or narrow the aim",
                Hertz(low),
                Hertz(high)
            ),
        ))
    } else if !outside.is_empty() {
        Some(Finding::note(
            FindingCode::TableEndsBeyondBand,
            format!(
                "the {word} table of {name} {outside}, outside its own band but inside {what} {:.3} to {:.3}; beyond, it is continued from the slope of its end",
                Hertz(from),
                Hertz(to)
            ),
        ))
    } else {
        None
    }
}
