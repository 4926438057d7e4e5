//! Findings on stress.

use netlist::quantity::{Hertz, Ohms, Watts};

use super::rating::{LEAST_VOLTAGE_MARGIN, POWER_MARGIN};
use super::{DriverStress, PartStress, Rating, Stress};
use crate::judge::finding::{Finding, listed};
use crate::judge::margins::DELICATE_FROM_HZ;

/// A resistor that burns this much gets hot enough to burn skin, W: a wirewound one of 10 W in free air
/// warms by some 20 K/W (common practice; from memory).
const HOT_W: f64 = 2.0;
/// Where no power is stated: a resistor that takes this share of what the loudspeaker takes.
const HOT_SHARE: f64 = 0.05;
/// A second-order Butterworth high pass an octave above the resonance, the least that common practice
/// asks for, leaves 9 dB less at the resonance than at the crossover.
const EXCURSION_DB: f64 = -9.0;

/// What the builder must know of the stress on parts and drivers.
pub(crate) fn findings(stress: &Stress) -> Vec<Finding> {
    let mut findings = Vec::new();
    let all: Vec<&PartStress> = stress.parts.iter().collect();
    if stress.loudness.stated {
        for part in &all {
            rated(stress, part, &mut findings);
        }
        for driver in &stress.drivers {
            overloaded(stress, driver, &mut findings);
        }
    }
    for driver in &stress.drivers {
        findings.extend(excursion(driver));
    }
    findings
}

fn signal(stress: &Stress) -> String {
    let loudness = &stress.loudness;
    format!(
        "programme noise at {:.3} into {:.3}",
        Watts(loudness.power_w),
        Ohms(loudness.load_ohm)
    )
}

fn rated(stress: &Stress, part: &PartStress, findings: &mut Vec<Finding>) {
    let name = &part.part;
    match (part.rated, part.buy) {
        (Some(Rating::PowerW(rated_w)), Some(Rating::PowerW(buy_w))) => {
            let burnt_w = part.noise.power_w;
            let says = format!(
                "{name} ({}) turns {burnt_w:.1} W to heat with {}",
                part.value,
                signal(stress)
            );
            if burnt_w > rated_w {
                findings.push(Finding::danger(
                    "resistor-overloaded",
                    format!(
                        "{says}, more than the {rated_w} W that it is rated for: it would burn out or set fire to what is near; buy {buy_w} W"
                    ),
                ));
            } else if POWER_MARGIN * burnt_w > rated_w {
                findings.push(Finding::caution(
                    "resistor-without-margin",
                    format!(
                        "{says} and is rated for {rated_w} W, less than twice as much (common practice); buy {buy_w} W, or several of other values that share the power"
                    ),
                ));
            }
        }
        (Some(Rating::VoltageV(rated_v)), Some(Rating::VoltageV(buy_v))) => {
            let peak_v = part.peak_v();
            let says = format!(
                "{name} ({}) gets peaks of {peak_v:.0} V at full power",
                part.value
            );
            if peak_v > rated_v {
                findings.push(Finding::danger(
                    "capacitor-over-voltage",
                    format!(
                        "{says}, more than the {rated_v} V that it is rated for: it can fail as a short circuit, and what it protects with it; buy {buy_v} V"
                    ),
                ));
            } else if LEAST_VOLTAGE_MARGIN * peak_v > rated_v {
                findings.push(Finding::caution(
                    "capacitor-without-margin",
                    format!(
                        "{says} and is rated for {rated_v} V, less than {LEAST_VOLTAGE_MARGIN} times as much (common practice is 1.5 to 2); buy {buy_v} V"
                    ),
                ));
            }
        }
        (Some(Rating::CurrentA(rated_a)), Some(Rating::CurrentA(buy_a))) => {
            let peak_a = part.peak_a();
            if peak_a > rated_a {
                findings.push(Finding::caution(
                    "coil-saturates",
                    format!(
                        "{name} ({}) gets peaks of {peak_a:.1} A at full power, more than the {rated_a} A that it stands before its core saturates: its inductance falls just then, which distorts and lowers the load; take one for {buy_a} A, or without a core",
                        part.value
                    ),
                ));
            }
        }
        _ => {}
    }
}

fn overloaded(stress: &Stress, driver: &DriverStress, findings: &mut Vec<Finding>) {
    let Some(rated_w) = driver.rated_w else {
        return;
    };
    let name = &driver.driver;
    let (noise_w, sine) = (driver.noise.power_w, driver.sine.power_w);
    if noise_w > rated_w {
        findings.push(Finding::danger(
            "driver-overloaded",
            format!(
                "{name} gets {noise_w:.1} W from {}, more than the {rated_w} W that it is rated for; lower its level, cross it higher, or use a smaller amplifier",
                signal(stress)
            ),
        ));
    } else if sine.most > rated_w {
        findings.push(Finding::caution(
            "steady-tone-overloads-driver",
            format!(
                "a steady tone at full power gives {name} up to {:.0} W (at {:.3}), more than the {rated_w} W that it is rated for, though music gives it {noise_w:.1} W only; do not sweep or test it near full power",
                sine.most,
                Hertz(sine.at_hz)
            ),
        ));
    }
}

/// Diaphragms with little room to move are protected by their filter alone.
fn excursion(driver: &DriverStress) -> Option<Finding> {
    let found = driver.excursion?;
    if found.resonance_hz < DELICATE_FROM_HZ || found.most_db <= EXCURSION_DB {
        return None;
    }
    let name = &driver.driver;
    let against = if found.most_db > 0.0 {
        format!("{:.0} dB more", found.most_db)
    } else {
        format!("only {:.0} dB less", -found.most_db)
    };
    let message = format!(
        "{name} gets {against} voltage at {:.3}, at or below its resonance at {:.3}, than at the crossover at {:.3}; {:.0} dB less is the least for a diaphragm that has little room to move (common practice: second order, an octave above the resonance); use a steeper filter, a resistor across {name} that damps its resonance, or a higher crossover",
        Hertz(found.most_at_hz),
        Hertz(found.resonance_hz),
        Hertz(found.crossover_hz),
        -EXCURSION_DB
    );
    Some(if found.most_db > 0.0 {
        Finding::danger("excursion-unprotected", message)
    } else {
        Finding::caution("excursion-little-protected", message)
    })
}

/// The caution for resistors that get hot, whatever they are in the network for.
pub(crate) fn hot_resistors(stress: &Stress) -> Option<Finding> {
    let mut hot: Vec<&PartStress> = (stress.parts.iter())
        .filter(|part| {
            let power_w = part.noise.power_w;
            let limit_w = if stress.loudness.stated {
                HOT_W
            } else {
                HOT_SHARE * stress.noise_power_w
            };
            part.kind == "resistor" && power_w >= limit_w
        })
        .collect();
    if hot.is_empty() {
        return None;
    }
    hot.sort_by(|a, b| b.noise.power_w.total_cmp(&a.noise.power_w));
    let names: Vec<String> = (hot.iter())
        .map(|part| {
            let power_w = part.noise.power_w;
            match (stress.loudness.stated, part.buy) {
                (true, Some(Rating::PowerW(buy_w))) => {
                    format!("{} {power_w:.1} W (buy {buy_w} W)", part.part)
                }
                _ => format!(
                    "{} {:.0} % of all power",
                    part.part,
                    100.0 * power_w / stress.noise_power_w
                ),
            }
        })
        .collect();
    let with = if stress.loudness.stated {
        format!(" with {}", signal(stress))
    } else {
        String::new()
    };
    Some(Finding::caution(
        "hot-pad-resistors",
        format!(
            "resistors turn power to heat{with}: {}; they get hot enough to burn skin: mount them clear of wood, cable and capacitors, with air around them, and rate them at twice the power or more (common practice; 3 to 4 times in a closed box)",
            listed(&names)
        ),
    ))
}
