//! What the builder must know of a pad.

use netlist::quantity::{Hertz, Ohms, Quantity};

use super::answer::{LevelOff, PadAnswer};
use super::candidate::TOLERANCE_DB;
use super::drive_source::PadSourceKind;
use super::load_findings::load_findings;
use super::power_findings::power_findings;
use crate::judge::{Finding, Severity};
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
    let name = answer.name();
    let mean_db = answer.chosen.study.mean_db;
    let attenuate =
        |right_db: f64| format!("attenuate by about {right_db:.1} dB in place of {mean_db:.1} dB");
    if let Some(wanted_db) = answer.wanted_db()
        && (mean_db - wanted_db).abs() > TOLERANCE_DB
    {
        let way_out = match answer.chosen.study.pad.kind() {
            PadKind::Autoformer => "name other taps (--taps), or take another --kind",
            _ => "widen the resistors in [stock], allow several together, or take another --kind",
        };
        findings.push(Finding::caution(
            "attenuation-out-of-reach",
            format!(
                "{wanted_db:.1} dB are asked for, the nearest that the stock makes is {mean_db:.1} dB (limit {TOLERANCE_DB} dB off); {way_out}"
            ),
        ));
    }
    if let Some(LevelOff { off_db, right_db }) = answer.level {
        if off_db > LEVEL_DB {
            findings.push(Finding::caution(
                "attenuation-too-small",
                format!(
                    "{name} would still play {off_db:.1} dB above the level of the loudspeaker (more than {LEVEL_DB} dB); {}",
                    match right_db {
                        Some(right_db) => attenuate(right_db),
                        None => "attenuate more".to_owned(),
                    }
                ),
            ));
        } else if off_db < -LEVEL_DB {
            let way_out = match right_db {
                Some(right_db) => attenuate(right_db),
                None => {
                    format!("{name} needs no pad, and its filter costs more than it has to spare")
                }
            };
            findings.push(Finding::caution(
                "attenuation-too-large",
                format!(
                    "{name} would play {:.1} dB below the level of the loudspeaker (more than {LEVEL_DB} dB); {way_out}",
                    -off_db
                ),
            ));
        }
    }
    let (departure_db, at_hz) = answer.chosen.study.departure_from(mean_db);
    // A bridged pad is uneven on purpose.
    if departure_db.abs() > UNEVEN_DB && !answer.bench.load.bridged {
        let (word, way_out) = match answer.chosen.study.pad.kind() {
            PadKind::LPad => (
                "more",
                "a smaller shunt with a smaller series resistor evens it out",
            ),
            _ => (
                "more",
                "an L-pad, with its shunt across the driver, evens it out",
            ),
        };
        let word = if departure_db < 0.0 { "less" } else { word };
        let place = answer.bench.load.places([at_hz, at_hz]).start;
        // Three figures are what a measurement is good for.
        let ohms = Ohms((answer.bench.load.z_ohm.at(place).norm() * 100.0).round() / 100.0);
        findings.push(Finding::note(
            "attenuation-uneven",
            format!(
                "the pad takes {:.1} dB {word} at {:.3} than in the mean ({mean_db:.1} dB), as {name} has {} there: its response changes by that; {way_out}",
                departure_db.abs(),
                Hertz(at_hz),
                ohms,
            ),
        ));
    }
    let beside = (answer.bench.place.as_ref()).map_or(&[][..], |place| &place.beside);
    if !beside.is_empty() {
        findings.push(Finding::note(
            "pad-not-alone",
            format!(
                "{} also {} at {name}'s terminal: attenuation and load leave them out, the figures of the loudspeaker hold them",
                beside.join(", "),
                if beside.len() == 1 { "hangs" } else { "hang" }
            ),
        ));
    }
}

fn crossover(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let Some(change) = &answer.chosen.change else {
        return;
    };
    let against = match answer.bench.feed.kind {
        PadSourceKind::Network if answer.built.is_some() => "against the pad in the file",
        PadSourceKind::Network => "against the file, which has no pad",
        _ => "against a textbook filter on a resistor",
    };
    let worst =
        (change.crossovers.iter()).max_by(|a, b| a.change_db.abs().total_cmp(&b.change_db.abs()));
    let Some(worst) = worst.filter(|worst| worst.change_db.abs() > SHIFT_DB) else {
        return;
    };
    let moved = match worst.shift_hz {
        Some(shift_hz) => format!(
            ", its flank lies at {:.3}",
            Hertz(worst.frequency_hz + shift_hz)
        ),
        None => String::new(),
    };
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
    let way_out = match (answer.bench.feed.kind, kind) {
        (PadSourceKind::Network, _) => format!("{keep}, or design the filter again"),
        (_, PadKind::Series) => format!("{keep}, or design the filter for this pad"),
        _ => "design the filter for this pad on this driver".to_owned(),
    };
    // Where nothing is built yet, an L-pad is what a filter can be designed for.
    let severity = match (answer.bench.feed.kind, kind) {
        (PadSourceKind::Network, _) | (_, PadKind::Series) => Severity::Caution,
        _ => Severity::Note,
    };
    findings.push(Finding::new(
        severity,
        "pad-moves-crossover",
        format!(
            "at {:.3} the pad moves {} by {:+.1} dB {against} (limit {SHIFT_DB} dB){moved}; {way_out}",
            Hertz(worst.frequency_hz),
            answer.name(),
            worst.change_db,
        ),
    ));
}

/// The driver against its usable band and its resonance.
fn band(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let name = answer.name();
    let driver =
        (answer.project().zip(answer.driver())).map(|(project, name)| &project.drivers[name]);
    let usable = driver.and_then(|driver| driver.usable);
    let change = answer.chosen.change.as_ref();
    let flank_hz = |side: Side| {
        let shifts = change.into_iter().flat_map(|change| &change.crossovers);
        let moved = shifts
            .filter(|c| c.side == side)
            .find_map(|c| Some(c.frequency_hz + c.shift_hz?));
        let asked = (answer.bench.load.crossovers.iter())
            .find(|(_, of)| *of == side)
            .map(|(f_hz, _)| *f_hz);
        moved.or(asked)
    };
    let low_hz = flank_hz(Side::Rising);
    if let (Some(low_hz), Some(resonance_hz)) = (low_hz, answer.bench.load.resonance_hz)
        && low_hz < resonance_hz
    {
        findings.push(Finding::danger(
            "crossover-below-resonance",
            format!(
                "with this pad {name} begins to play at {:.3}, below its resonance at {:.3}: its diaphragm moves most there and can break; keep the filter's load or cross it higher",
                Hertz(low_hz),
                Hertz(resonance_hz)
            ),
        ));
    }
    let Some([from, to]) = usable else {
        return;
    };
    if let Some(low_hz) = low_hz {
        if low_hz < from.si() {
            findings.push(Finding::caution(
                "crossover-outside-usable-band",
                format!(
                    "with this pad {name} begins to play at {:.3}, but is usable from {from} only; keep the filter's load or cross it higher",
                    Hertz(low_hz)
                ),
            ));
        } else if answer.bench.feed.kind == PadSourceKind::Network
            && let Some((level_db, at_hz)) = loudest_below(answer, from.si())
            && level_db > BELOW_BAND_DB
        {
            findings.push(Finding::caution(
                "driven-below-usable-band",
                format!(
                    "at {:.3}, below its usable band from {from}, {name} still gets {level_db:+.1} dB against its mean voltage in the band (limit {BELOW_BAND_DB} dB); keep the filter's load, or take a steeper or higher crossover",
                    Hertz(at_hz)
                ),
            ));
        }
    }
    if let Some(high_hz) = flank_hz(Side::Falling)
        && high_hz > to.si()
    {
        findings.push(Finding::caution(
            "crossover-outside-usable-band",
            format!(
                "with this pad {name} plays up to {:.3}, but is usable up to {to} only; keep the filter's load or cross it lower",
                Hertz(high_hz)
            ),
        ));
    }
}

/// Largest voltage at the driver below a frequency, against the mean over its band; dB and hertz.
fn loudest_below(answer: &PadAnswer<'_>, from_hz: f64) -> Option<(f64, f64)> {
    let f_hz = answer.bench.load.grid.f_hz();
    let levels = answer.chosen.drive.level_db();
    let mean = answer
        .bench
        .load
        .mean_over(answer.bench.load.band(), |i| levels[i]);
    (0..f_hz.len())
        .filter(|&i| f_hz[i] < from_hz)
        .map(|i| (levels[i] - mean, f_hz[i]))
        .max_by(|a, b| a.0.total_cmp(&b.0))
}
