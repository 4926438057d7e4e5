//! What the builder must know of a pad.

use netlist::quantity::{Hertz, Ohms, Quantity};

use super::answer::{LevelOff, PadAnswer};
use super::candidate::TOLERANCE_DB;
use super::drive_source::PadSourceKind;
use super::load_findings::load_findings;
use super::power_findings::power_findings;
use crate::judge::{Finding, FindingCode, Severity};
use crate::sound::Side;
use crate::synthesis::PadKind;

/// A shift of the crossover that is worth a finding, in dB.
const SHIFT_DB: f64 = 0.5;
/// A departure of the attenuation in the band that is worth a note, in dB.
const UNEVEN_DB: f64 = 1.0;
/// How far a way may be from the level of the others before it is said, in dB: ripple hides less.
const LEVEL_DB: f64 = 1.0;
/// A driver should get less than this below its usable band, against its mean in the band, in dB: what a
/// filter of second order leaves half an octave below its crossover.
const BELOW_BAND_DB: f64 = -6.0;

/// All findings on a pad, in no order of severity.
pub(super) fn pad_findings(answer: &PadAnswer<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    level(answer, &mut findings);
    power_findings(answer, &mut findings);
    crossover(answer, &mut findings);
    band(answer, &mut findings);
    load_findings(answer, &mut findings);
    findings
}

fn level(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let (name, study, load) = (answer.name(), &answer.chosen.study, &answer.bench.load);
    let (mean_db, kind) = (study.mean_db, study.pad.kind());
    let out_of_reach = |wanted_db: &f64| (mean_db - wanted_db).abs() > TOLERANCE_DB;
    if let Some(wanted_db) = answer.wanted_db().filter(out_of_reach) {
        let way_out = match kind {
            PadKind::Autoformer => "name other taps (--taps), or take another --kind",
            _ => "widen the resistors in [stock], allow several together, or take another --kind",
        };
        let message = format!(
            "{wanted_db:.1} dB are asked for, the nearest that the stock makes is {mean_db:.1} dB (limit {TOLERANCE_DB} dB off); {way_out}"
        );
        findings.push(Finding::caution(
            FindingCode::AttenuationOutOfReach,
            message,
        ));
    }
    if let Some(LevelOff { off_db, right_db }) = answer.level.filter(|l| l.off_db.abs() > LEVEL_DB)
    {
        let loud = off_db > 0.0;
        let (code, would, where_to) = match loud {
            true => (
                FindingCode::AttenuationTooSmall,
                "would still play",
                "above",
            ),
            false => (FindingCode::AttenuationTooLarge, "would play", "below"),
        };
        let way_out = match right_db {
            Some(right_db) => {
                format!("attenuate by about {right_db:.1} dB in place of {mean_db:.1} dB")
            }
            None if loud => "attenuate more".to_owned(),
            None => format!("{name} needs no pad, and its filter costs more than it has to spare"),
        };
        let off_db = off_db.abs();
        let message = format!(
            "{name} {would} {off_db:.1} dB {where_to} the level of the loudspeaker (more than {LEVEL_DB} dB); {way_out}"
        );
        findings.push(Finding::caution(code, message));
    }
    let (departure_db, at_hz) = study.departure_from(mean_db);
    // A bridged pad is uneven on purpose.
    if departure_db.abs() > UNEVEN_DB && !load.bridged {
        let way_out = match kind {
            PadKind::LPad => "a smaller shunt with a smaller series resistor evens it out",
            _ => "an L-pad, with its shunt across the driver, evens it out",
        };
        let word = if departure_db < 0.0 { "less" } else { "more" };
        let z_ohm = load.z_ohm.at(load.places([at_hz, at_hz]).start);
        // Three figures are what a measurement is good for.
        let ohms = Ohms((z_ohm.norm() * 100.0).round() / 100.0);
        let (off_db, at) = (departure_db.abs(), Hertz(at_hz));
        let message = format!(
            "the pad takes {off_db:.1} dB {word} at {at:.3} than in the mean ({mean_db:.1} dB), as {name} has {ohms} there: its response changes by that; {way_out}"
        );
        findings.push(Finding::note(FindingCode::AttenuationUneven, message));
    }
    let beside = (answer.bench.place.as_ref()).map_or(&[][..], |place| &place.beside);
    if !beside.is_empty() {
        let hang = if beside.len() == 1 { "hangs" } else { "hang" };
        let parts = beside.join(", ");
        let message = format!(
            "{parts} also {hang} at {name}'s terminal: attenuation and load leave them out, the figures of the loudspeaker hold them"
        );
        findings.push(Finding::note(FindingCode::PadNotAlone, message));
    }
}

fn crossover(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let shifts = (answer.chosen.change.iter()).flat_map(|change| &change.crossovers);
    let worst = shifts.max_by(|a, b| a.change_db.abs().total_cmp(&b.change_db.abs()));
    let Some(worst) = worst.filter(|worst| worst.change_db.abs() > SHIFT_DB) else {
        return;
    };
    let in_network = answer.bench.feed.kind == PadSourceKind::Network;
    let against = match in_network {
        true if answer.built.is_some() => "against the pad in the file",
        true => "against the file, which has no pad",
        false => "against a textbook filter on a resistor",
    };
    let moved = worst.shift_hz.map_or_else(String::new, |shift_hz| {
        let at = Hertz(worst.frequency_hz + shift_hz);
        format!(", its flank lies at {at:.3}")
    });
    let kind = answer.chosen.study.pad.kind();
    let keep = match kind {
        _ if answer.bench.load.ahead_of_filter => {
            "take a pair that drives the filter from the same impedance"
        }
        PadKind::LPad => "take the pair that keeps the filter's load",
        PadKind::Series => "take an L-pad",
        PadKind::ShuntSeries => "take a shunt that keeps the filter's load",
        PadKind::Autoformer => "put a resistor across the winding (--shunt)",
    };
    // Where nothing is built yet, an L-pad is what a filter can be designed for.
    let (severity, way_out) = match (in_network, kind) {
        (true, _) => (
            Severity::Caution,
            format!("{keep}, or design the filter again"),
        ),
        (false, PadKind::Series) => (
            Severity::Caution,
            format!("{keep}, or design the filter for this pad"),
        ),
        _ => (
            Severity::Note,
            "design the filter for this pad on this driver".to_owned(),
        ),
    };
    let (at, name, by_db) = (Hertz(worst.frequency_hz), answer.name(), worst.change_db);
    let message = format!(
        "at {at:.3} the pad moves {name} by {by_db:+.1} dB {against} (limit {SHIFT_DB} dB){moved}; {way_out}"
    );
    findings.push(Finding::new(
        severity,
        FindingCode::PadMovesCrossover,
        message,
    ));
}

/// The driver against its usable band and its resonance.
fn band(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let (name, load) = (answer.name(), &answer.bench.load);
    let flank_hz = |side: Side| {
        let shifts = (answer.chosen.change.iter()).flat_map(|change| &change.crossovers);
        let moved = shifts
            .filter(|c| c.side == side)
            .find_map(|c| Some(c.frequency_hz + c.shift_hz?));
        let asked = load.crossovers.iter().find(|(_, of)| *of == side);
        moved.or(asked.map(|(f_hz, _)| *f_hz))
    };
    let low_hz = flank_hz(Side::Rising);
    if let (Some(low_hz), Some(resonance_hz)) = (low_hz, load.resonance_hz)
        && low_hz < resonance_hz
    {
        let (low, resonance) = (Hertz(low_hz), Hertz(resonance_hz));
        let message = format!(
            "with this pad {name} begins to play at {low:.3}, below its resonance at {resonance:.3}: its diaphragm moves most there and can break; keep the filter's load or cross it higher"
        );
        findings.push(Finding::danger(
            FindingCode::CrossoverBelowResonance,
            message,
        ));
    }
    let driver = answer.project().zip(answer.driver());
    let usable = driver.and_then(|(project, name)| project.drivers[name].usable);
    let Some([from, to]) = usable else {
        return;
    };
    let outside = FindingCode::CrossoverOutsideUsableBand;
    if let Some(low_hz) = low_hz {
        if low_hz < from.si() {
            let low = Hertz(low_hz);
            let message = format!(
                "with this pad {name} begins to play at {low:.3}, but is usable from {from} only; keep the filter's load or cross it higher"
            );
            findings.push(Finding::caution(outside, message));
        } else if answer.bench.feed.kind == PadSourceKind::Network
            && let Some((level_db, at_hz)) = loudest_below(answer, from.si())
            && level_db > BELOW_BAND_DB
        {
            let at = Hertz(at_hz);
            let message = format!(
                "at {at:.3}, below its usable band from {from}, {name} still gets {level_db:+.1} dB against its mean voltage in the band (limit {BELOW_BAND_DB} dB); keep the filter's load, or take a steeper or higher crossover"
            );
            findings.push(Finding::caution(
                FindingCode::DrivenBelowUsableBand,
                message,
            ));
        }
    }
    if let Some(high_hz) = flank_hz(Side::Falling).filter(|high_hz| *high_hz > to.si()) {
        let high = Hertz(high_hz);
        let message = format!(
            "with this pad {name} plays up to {high:.3}, but is usable up to {to} only; keep the filter's load or cross it lower"
        );
        findings.push(Finding::caution(outside, message));
    }
}

/// Largest voltage at the driver below a frequency, against the mean over its band; dB and hertz.
fn loudest_below(answer: &PadAnswer<'_>, from_hz: f64) -> Option<(f64, f64)> {
    let load = &answer.bench.load;
    let (f_hz, levels) = (load.grid.f_hz(), answer.chosen.drive.level_db());
    let mean_db = load.mean_over(load.band(), |i| levels[i]);
    (0..f_hz.len())
        .filter(|&i| f_hz[i] < from_hz)
        .map(|i| (levels[i] - mean_db, f_hz[i]))
        .max_by(|a, b| a.0.total_cmp(&b.0))
}
