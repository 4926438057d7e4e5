//! Findings on a design as a whole.

use netlist::project::Project;
use netlist::quantity::{Hertz, Ohms};

use super::around;
use super::assess::Swap;
use super::{AmplifierLoad, Check, HotCoil, WireCost};
use crate::goal::Figures;
use crate::judge::brief_findings;
use crate::judge::design::{figure_findings, load_alone, valve_amplifier};
use crate::judge::finding::{Finding, beyond, listed};
use crate::judge::finding_code::FindingCode;
use crate::judge::limits::LIMITS;
use crate::judge::stress;

/// A change of the sum's shape that is heard as another balance, dB (common practice).
const SHAPE_DB: f64 = 1.0;
/// A change that is not worth a word, dB.
const LITTLE_DB: f64 = 0.2;
/// What wire may cost before thicker wire is worth its price, dB: the cable below 5 % of the load (common
/// practice) costs this.
const WIRE_DB: f64 = 0.4;

/// A part that draws this much of the current is what to look at.
const MOST_OF_IT: f64 = 0.6;
/// A mean load of so many times the tap's is high for a valve amplifier (common practice).
const HIGH_LOAD: f64 = 3.0;
/// And of so many is next to none.
const OPEN_LOAD: f64 = 10.0;

/// Findings of a check, tolerance and faults apart.
pub(super) fn findings(project: &Project, check: &Check) -> Vec<Finding> {
    // What can hurt somebody comes first among its equals.
    let mut findings: Vec<Finding> = stress::hot_resistors(&check.stress).into_iter().collect();
    valve_amplifier(&project.amplifier, &mut findings);
    if let Some(load) = &check.load {
        findings.extend(nearly_open(load));
        findings.extend(direct_current(load));
    }
    findings.extend(stress::findings(&check.stress));
    figures(project, check, &mut findings);
    if let Some(load) = &check.load {
        output_impedance(load, &mut findings);
        epdr(load, &mut findings);
        tap(load, &mut findings);
    }
    hot_coil(&check.hot_coil, &mut findings);
    around::findings(&check.directions, &mut findings);
    if let Some(wire) = &check.wire {
        findings.extend(wire_cost(wire));
    }
    findings
}

pub(super) fn output_impedance(load: &AmplifierLoad, findings: &mut Vec<Finding>) {
    let Some(found) = &load.output_impedance else {
        return;
    };
    let system = &found.changes.system;
    if system.shape_db <= LITTLE_DB {
        return;
    }
    let message = format!(
        "the amplifier's output impedance of {:.3}{} shapes the sum by up to {} (at {:.3}) against an amplifier of 0 Ω, because the load is not the same at all frequencies; the network is right for this amplifier only: check it again with any other",
        Ohms(found.ohm),
        at_hz(found.at_hz),
        beyond(system.shape_db, SHAPE_DB, 1, "dB"),
        Hertz(system.shape_at_hz)
    );
    findings.push(if system.shape_db > SHAPE_DB {
        Finding::caution(FindingCode::OutputImpedanceShapesSum, message)
    } else {
        Finding::note(FindingCode::OutputImpedanceShapesSum, message)
    });
}

/// At which frequency a number is meant, where it is not the same at all.
fn at_hz(at_hz: Option<f64>) -> String {
    at_hz.map_or(String::new(), |f| format!(" (at {:.3})", Hertz(f)))
}

/// On the sound and the load.
fn figures(project: &Project, check: &Check, findings: &mut Vec<Finding>) {
    let drain = check.load.as_ref().and_then(drain);
    match &check.assessment {
        Ok(done) => {
            let of_figures = figure_findings(
                &done.job,
                &done.centres.depths,
                &done.figures,
                &done.load,
                drain.as_deref(),
            );
            let cured = done.swap.as_ref().is_some_and(|swap| {
                (swap.figures.crossovers.iter())
                    .all(|c| c.phase_match_deg <= LIMITS.phase_match_deg)
            });
            // What the swap cures is no second thing to do.
            findings.extend(
                (of_figures.into_iter()).filter(|f| !cured || f.code != FindingCode::PhasesApart),
            );
            if let Some(swap) = &done.swap {
                findings.insert(0, wires_swapped(swap, &done.figures));
            }
            let kept = check.load.as_ref().is_some_and(AmplifierLoad::holds);
            // What no network could do is no matter where this one does.
            let brief = brief_findings(project, &done.job).into_iter();
            findings.extend(
                brief.filter(|found| !kept || found.code != FindingCode::LeastLoadOutOfReach),
            );
        }
        Err(why) => {
            findings.push(Finding::caution(
                FindingCode::NotAssessed,
                format!(
                    "the sound could not be held against what is asked for: {why}; load, stress and the rest are worked out all the same"
                ),
            ));
            if let Some(load) = &check.load {
                findings.extend(load_alone(
                    &load.figures,
                    load.minimum_ohm,
                    drain.as_deref(),
                ));
            }
        }
    }
}

/// The first thing to do: it costs nothing.
fn wires_swapped(swap: &Swap, now: &Figures) -> Finding {
    let Swap { driver, figures } = swap;
    Finding::caution(
        FindingCode::WiresSwapped,
        format!(
            "swap the two wires of {driver} (inverted in the file): the sum is then {:.2} dB rms and {:.1} dB at most off the aim, in place of {:.2} and {:.1} dB",
            figures.rms_db, figures.max_db, now.rms_db, now.max_db
        ),
    )
}

/// Through what most of the current goes where the load is least.
fn drain(load: &AmplifierLoad) -> Option<String> {
    let drawn = (load.drawn_by.as_ref()).filter(|drawn| drawn.share >= MOST_OF_IT)?;
    let share = if drawn.share > 1.0 {
        "more than all of the current there, in a resonance with the rest".to_owned()
    } else {
        format!("{:.0} % of the current there", 100.0 * drawn.share)
    };
    Some(format!(
        "{} draws {share}: look at it and what is behind it, and add resistance in series with that or change its values",
        drawn.part
    ))
}

/// A winding straight across the amplifier.
pub(super) fn direct_current(load: &AmplifierLoad) -> Option<Finding> {
    let limit_ohm = LIMITS.direct_share * load.minimum_ohm.unwrap_or(LIMITS.usual_least_ohm);
    let ohm = load.direct_current_ohm.filter(|ohm| *ohm < limit_ohm)?;
    Some(Finding::caution(
        FindingCode::DirectCurrentPath,
        format!(
            "direct current sees {}, less than {limit_ohm:.2} Ω, half the least load: a coil, a winding or a small resistor lies across the amplifier with no capacitor before it, and an offset or a thump drives a large current through it; put a capacitor in series, or move it behind one",
            beyond(ohm, limit_ohm, 2, "Ω")
        ),
    ))
}

/// A valve amplifier with next to no load.
pub(super) fn nearly_open(load: &AmplifierLoad) -> Option<Finding> {
    let taps = load.taps.as_ref()?;
    let tap_ohm = (taps.in_use_ohm).or(taps.taps.last().map(|tap| tap.ohm))?;
    let times = load.mean_ohm / tap_ohm;
    if times <= HIGH_LOAD {
        return None;
    }
    let message = format!(
        "the mean load of {:.3} is {} that of the {tap_ohm:.0} Ω tap, so that the valve amplifier runs nearly unloaded: voltages in its output transformer rise, which can break it; {HIGH_LOAD} times is the most (common practice): see whether a branch or a driver is missing, and otherwise put a resistor across the input",
        Ohms(load.mean_ohm),
        beyond(times, HIGH_LOAD, 1, "times"),
    );
    Some(if times > OPEN_LOAD {
        Finding::danger(FindingCode::LoadNearlyOpen, message)
    } else {
        Finding::caution(FindingCode::LoadNearlyOpen, message)
    })
}

pub(super) fn epdr(load: &AmplifierLoad, findings: &mut Vec<Finding>) {
    let Some(minimum_ohm) = load.minimum_ohm else {
        return;
    };
    if load.figures.least_epdr_ohm >= LIMITS.epdr_share * minimum_ohm {
        return;
    }
    let valves = load.taps.is_some();
    let message = format!(
        "the equivalent peak dissipation resistance falls to {} at {:.3}: there the phase of the load heats the output devices of a class-B stage as a resistor of {:.3} would, less than half of the least load asked for ({:.3}); {}",
        beyond(
            load.figures.least_epdr_ohm,
            LIMITS.epdr_share * minimum_ohm,
            2,
            "Ω"
        ),
        Hertz(load.figures.least_epdr_at_hz),
        Ohms(load.figures.least_epdr_ohm),
        Ohms(minimum_ohm),
        if valves {
            "it says little of a class-A valve stage, but do not lend this loudspeaker to a small transistor amplifier"
        } else {
            "use an amplifier that is rated for half the load, or an impedance correction for the driver in whose band it is"
        }
    );
    findings.push(if valves {
        Finding::note(FindingCode::PhaseHeatsAmplifier, message)
    } else {
        Finding::caution(FindingCode::PhaseHeatsAmplifier, message)
    });
}

pub(super) fn tap(load: &AmplifierLoad, findings: &mut Vec<Finding>) {
    let Some(taps) = &load.taps else {
        return;
    };
    let Some(in_use_ohm) = taps.in_use_ohm else {
        return;
    };
    let Some(best) = (taps.taps.iter()).find(|tap| (tap.ohm - taps.best_ohm).abs() < 1e-9) else {
        return;
    };
    if (best.ohm - in_use_ohm).abs() < 1e-9 {
        return;
    }
    let why = if best.ohm < in_use_ohm {
        format!(
            "the least load of {} is below {:.0} % of {:.0} Ω",
            beyond(
                load.figures.least_ohm,
                taps.least_share * in_use_ohm,
                2,
                "Ω"
            ),
            100.0 * taps.least_share,
            in_use_ohm
        )
    } else {
        format!(
            "the mean load of {:.3} is nearer to {:.0} Ω",
            Ohms(load.mean_ohm),
            best.ohm
        )
    };
    let output = best.output_impedance_ohm.map_or(String::new(), |ohm| {
        format!(" (its output impedance is about {:.2})", Ohms(ohm))
    });
    findings.push(Finding::note(
        FindingCode::AnotherTapFits,
        format!(
            "the {:.0} Ω output tap{output} fits this loudspeaker better than the one of {in_use_ohm:.0} Ω: {why}; swap it with the amplifier off, listen to both, and check again with the other output impedance",
            best.ohm
        ),
    ));
}

pub(super) fn hot_coil(hot: &HotCoil, findings: &mut Vec<Finding>) {
    let system = &hot.changes.system;
    let ways: Vec<String> = (hot.changes.ways.iter())
        .map(|way| format!("{} {:+.1} dB", way.driver, way.change.mean_db))
        .collect();
    let shifts: Vec<String> = (hot.crossovers.iter())
        .filter_map(|shift| {
            let (cold, hot) = (shift.cold_hz?, shift.hot_hz?);
            Some(format!("{:.3} to {:.3}", Hertz(cold), Hertz(hot)))
        })
        .collect();
    let moved = if shifts.is_empty() {
        String::new()
    } else {
        format!("; crossovers move from {}", listed(&shifts))
    };
    let message = format!(
        "with voice coils {:.0} K warmer after hard use the ways change by {}, and the shape of the sum by up to {:.1} dB (at {:.3}){moved}",
        hot.rise_k,
        listed(&ways),
        system.shape_db,
        Hertz(system.shape_at_hz)
    );
    // The balance between the ways is what is heard; that a woofer falls less where its box resonates
    // goes with every loudspeaker.
    let means = || hot.changes.ways.iter().map(|way| way.change.mean_db);
    let apart_db =
        means().fold(f64::NEG_INFINITY, f64::max) - means().fold(f64::INFINITY, f64::min);
    if apart_db > SHAPE_DB {
        findings.push(Finding::caution(
            FindingCode::HotCoilsShiftBalance,
            format!(
                "{message}; the ways drift apart by {}: a pad, which keeps the resistance around a driver the same, steadies the way that changes most",
                beyond(apart_db, SHAPE_DB, 1, "dB")
            ),
        ));
    } else {
        findings.push(Finding::note(FindingCode::HotCoils, message));
    }
}

pub(super) fn wire_cost(wire: &WireCost) -> Option<Finding> {
    let worst =
        (wire.changes.ways.iter()).min_by(|a, b| a.change.mean_db.total_cmp(&b.change.mean_db))?;
    let cost_db = -worst.change.mean_db;
    if cost_db <= WIRE_DB {
        return None;
    }
    let mut longest: Vec<(String, f64)> = (wire.leads.iter())
        .map(|lead| (format!("the lead to {}", lead.driver), lead.wire.ohm))
        .collect();
    if let Some(cable) = &wire.cable {
        longest.push(("the cable".to_owned(), cable.ohm));
    }
    let (name, ohm) = (longest.into_iter()).max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Finding::caution(
        FindingCode::WireCosts,
        format!(
            "wire costs {} {} and turns {:.0} % of the power to heat; {name} has most, {:.2}: twice its section halves that",
            worst.driver,
            beyond(cost_db, WIRE_DB, 1, "dB"),
            100.0 * wire.power_share,
            Ohms(ohm)
        ),
    ))
}
