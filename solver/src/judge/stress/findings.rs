//! Findings on stress.

use netlist::quantity::{Hertz, Ohms, Volts, Watts};

use super::{
    DriverStress, Excursion, KeptFrom, PartStress, PlaysFrom, Rating, Stress, StressedKind, Worst,
};
use crate::judge::finding::{Finding, beyond, listed, rounded};
use crate::judge::finding_code::FindingCode;
use crate::judge::limits::LIMITS;
use crate::search::MOST_BELOW_RESONANCE_DB;

/// What the core of an autoformer stands, V rms for each hertz: 10 V at 100 Hz (assumed; its maker knows).
const CORE_V_PER_HZ: f64 = 0.1;
/// A driver that gets more than this an octave below its resonance has no filter to speak of, dB.
const OPEN_DB: f64 = -3.0;

/// What the builder must know of the stress on parts and drivers.
pub(crate) fn findings(stress: &Stress) -> Vec<Finding> {
    let mut findings = Vec::new();
    let all: Vec<&PartStress> = stress.parts.iter().collect();
    if stress.loudness.stated {
        for part in &all {
            rated(stress, part, &mut findings);
        }
        findings.extend(steady_tone(stress));
        findings.extend(all.iter().filter_map(|part| core(part)));
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

/// An autoformer whose core gets more than is usual.
fn core(part: &PartStress) -> Option<Finding> {
    let Worst { most, at_hz } = part
        .volts_per_hertz
        .filter(|worst| worst.most > CORE_V_PER_HZ)?;
    Some(Finding::caution(
        FindingCode::AutoformerCore,
        format!(
            "with a sine of full power {} ({}) gets {:.3} at {:.3}, where its core stands {:.3} ({CORE_V_PER_HZ} V for each hertz, assumed: 10 V at 100 Hz): it saturates, which distorts and shorts what is before it; cross higher, put it behind a steeper high pass, or ask its maker for a larger core",
            part.part,
            part.value,
            Volts(most * at_hz),
            Hertz(at_hz),
            Volts(CORE_V_PER_HZ * at_hz)
        ),
    ))
}

/// What to buy, in words.
fn buy(part: &PartStress, rating: &str) -> String {
    match part.pieces {
        0 | 1 => format!("buy {rating}"),
        pieces => format!("buy {rating} for each of its {pieces} pieces"),
    }
}

/// Resistors that a steady tone would give more than their rating, in one finding: a note where a short
/// tone is borne, as it is by those that are bought for music.
fn steady_tone(stress: &Stress) -> Option<Finding> {
    let over: Vec<(&PartStress, f64)> = (stress.parts.iter())
        .filter_map(|part| match part.rated? {
            Rating::PowerW(rated_w) if part.sine.power_w.most > rated_w => Some((part, rated_w)),
            _ => None,
        })
        .collect();
    let times = over.iter().map(|(part, w)| part.sine.power_w.most / w);
    let worst = times.reduce(f64::max)?;
    let names: Vec<String> = (over.iter())
        .map(|(part, rated_w)| {
            let Worst { most, at_hz } = part.sine.power_w;
            format!(
                "{} {} (at {:.3}, rated {} W)",
                part.part,
                beyond(most, *rated_w, 0, "W"),
                Hertz(at_hz),
                rounded(*rated_w)
            )
        })
        .collect();
    let most = LIMITS.short_overload;
    let stands = if worst > most {
        format!(
            "up to {worst:.0} times the rating, which no wirewound resistor stands even for seconds"
        )
    } else {
        format!(
            "which a wirewound resistor stands for a few seconds only ({most} times its rating at most; common for the type, from memory)"
        )
    };
    let message = format!(
        "a steady tone at full power gives {}, {stands}: keep test tones short and far below full power, or buy for the tone",
        listed(&names)
    );
    let code = FindingCode::SteadyToneOverloadsResistor;
    Some(if worst > most {
        Finding::caution(code, message)
    } else {
        Finding::note(code, message)
    })
}

fn rated(stress: &Stress, part: &PartStress, findings: &mut Vec<Finding>) {
    match (part.rated, part.buy) {
        (Some(Rating::PowerW(rated_w)), Some(Rating::PowerW(buy_w))) => {
            findings.extend(resistor_rated(stress, part, rated_w, buy_w));
        }
        (Some(Rating::VoltageV(rated_v)), Some(Rating::VoltageV(buy_v))) => {
            findings.extend(capacitor_rated(part, rated_v, buy_v));
        }
        (Some(Rating::CurrentA(rated_a)), Some(Rating::CurrentA(buy_a))) => {
            findings.extend(coil_rated(part, rated_a, buy_a));
        }
        _ => {}
    }
}

/// What stands before the rating of a part.
fn bears(part: &PartStress) -> String {
    match part.pieces {
        0 | 1 => "is".to_owned(),
        pieces => format!("with its {pieces} pieces together is"),
    }
}

/// What is too much for a part.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Passed {
    Rating,
    /// Its rating less what is kept in hand.
    Margin,
}

/// What is passed by what a part gets, and where that limit is; `None` where it is kept.
fn passed(gets: f64, rated: f64, margin: f64) -> Option<(Passed, f64)> {
    if gets > rated {
        Some((Passed::Rating, rated))
    } else {
        (margin * gets > rated).then_some((Passed::Margin, rated / margin))
    }
}

fn resistor_rated(stress: &Stress, part: &PartStress, rated_w: f64, buy_w: f64) -> Option<Finding> {
    let burnt_w = part.noise.power_w;
    let (passed, limit_w) = passed(burnt_w, rated_w, LIMITS.power_margin)?;
    let says = format!(
        "{} ({}) turns {} to heat with {}",
        part.part,
        part.value,
        beyond(burnt_w, limit_w, 1, "W"),
        signal(stress)
    );
    let (bears, buy) = (bears(part), buy(part, &format!("{buy_w} W")));
    let rated_w = rounded(rated_w);
    Some(match passed {
        Passed::Rating => Finding::danger(
            FindingCode::ResistorOverloaded,
            format!(
                "{says}, more than the {rated_w} W that it {bears} rated for: it would burn out or set fire to what is near; {buy}"
            ),
        ),
        Passed::Margin => Finding::caution(
            FindingCode::ResistorWithoutMargin,
            format!(
                "{says} and {bears} rated for {rated_w} W, less than twice as much (common practice); {buy}, or several of other values that share the power"
            ),
        ),
    })
}

fn capacitor_rated(part: &PartStress, rated_v: f64, buy_v: f64) -> Option<Finding> {
    let peak_v = part.peak_v();
    let least = LIMITS.least_voltage_margin;
    let (passed, limit_v) = passed(peak_v, rated_v, least)?;
    let says = format!(
        "{} ({}) gets peaks of {} at full power",
        part.part,
        part.value,
        beyond(peak_v, limit_v, 0, "V")
    );
    let (bears, buy) = (bears(part), buy(part, &format!("{buy_v} V")));
    let rated_v = rounded(rated_v);
    Some(match passed {
        Passed::Rating => Finding::danger(
            FindingCode::CapacitorOverVoltage,
            format!(
                "{says}, more than the {rated_v} V that it {bears} rated for: it can fail as a short circuit, and what it protects with it; {buy}"
            ),
        ),
        Passed::Margin => Finding::caution(
            FindingCode::CapacitorWithoutMargin,
            format!(
                "{says} and {bears} rated for {rated_v} V, less than {least} times as much (common practice is 1.5 to 2); {buy}"
            ),
        ),
    })
}

fn coil_rated(part: &PartStress, rated_a: f64, buy_a: f64) -> Option<Finding> {
    let peak_a = part.peak_a();
    let least = LIMITS.current_margin;
    let (passed, limit_a) = passed(peak_a, rated_a, least)?;
    let says = format!(
        "{} ({}) gets peaks of {} at full power",
        part.part,
        part.value,
        beyond(peak_a, limit_a, 1, "A")
    );
    Some(match passed {
        Passed::Rating => Finding::caution(
            FindingCode::CoilSaturates,
            format!(
                "{says}, more than the {rated_a} A that it stands before its core saturates: its inductance falls just then, which distorts and lowers the load; take one for {buy_a} A, or without a core"
            ),
        ),
        Passed::Margin => Finding::note(
            FindingCode::CoilWithoutMargin,
            format!(
                "{says} and stands {rated_a} A before its core saturates, less than {least} times as much: in hours of music it will now and then; one for {buy_a} A never does"
            ),
        ),
    })
}

fn overloaded(stress: &Stress, driver: &DriverStress, findings: &mut Vec<Finding>) {
    let Some(rated_w) = driver.rated_w else {
        return;
    };
    let name = &driver.driver;
    let (noise_w, sine) = (driver.noise.power_w, driver.sine.power_w);
    if noise_w > rated_w {
        findings.push(Finding::danger(
            FindingCode::DriverOverloaded,
            format!(
                "{name} gets {} from {}, more than the {rated_w} W that it is rated for; lower its level, cross it higher, or use a smaller amplifier",
                beyond(noise_w, rated_w, 1, "W"),
                signal(stress)
            ),
        ));
    } else if sine.most > rated_w {
        findings.push(Finding::caution(
            FindingCode::SteadyToneOverloadsDriver,
            format!(
                "a steady tone at full power gives {name} up to {} (at {:.3}), more than the {rated_w} W that it is rated for, though music gives it {:.2} only; do not sweep or test it near full power",
                beyond(sine.most, rated_w, 0, "W"),
                Hertz(sine.at_hz),
                Watts(noise_w)
            ),
        ));
    }
}

/// Diaphragms with little room to move are protected by their filter alone.
fn excursion(driver: &DriverStress) -> Option<Finding> {
    let Excursion { limits, gets } = driver.excursion?;
    let open = gets.octave_below_db > OPEN_DB;
    // Of other limits than a resonance only what is far beyond them matters.
    let kept = match limits.below {
        KeptFrom::Resonance => gets.most_db <= MOST_BELOW_RESONANCE_DB,
        KeptFrom::HornCutoff | KeptFrom::UsableBand => !open,
    };
    if !limits.delicate || kept {
        return None;
    }
    let name = &driver.driver;
    let (against, than) = match gets.most_db {
        db if db.abs() < 0.5 => ("about as much".to_owned(), "as"),
        db if db > 0.0 => (format!("{db:.0} dB more"), "than"),
        db => {
            let less = beyond(-db, -MOST_BELOW_RESONANCE_DB, 0, "dB");
            (format!("only {less} less"), "than")
        }
    };
    let begins = match limits.begins {
        PlaysFrom::Crossover => "at the crossover at",
        PlaysFrom::UsableBand => "where its usable band begins, at",
        PlaysFrom::OctaveAboveResonance => "an octave above that, at",
    };
    let limit = match limits.below {
        KeptFrom::Resonance => "its resonance at",
        KeptFrom::HornCutoff => "its horn's cut-off (no resonance is known) at",
        KeptFrom::UsableBand => "the beginning of its usable band (no resonance is known) at",
    };
    let message = format!(
        "{name} gets {against} voltage at {:.3}, at or below {limit} {:.3}, {than} {begins} {:.3}; {:.0} dB less is the least for a diaphragm that has little room to move (common practice: second order, an octave above the resonance){}; use {}, a resistor across {name} that damps its resonance, or a higher crossover",
        Hertz(gets.most_at_hz),
        Hertz(limits.resonance_hz),
        Hertz(limits.crossover_hz),
        -MOST_BELOW_RESONANCE_DB,
        if open {
            ": nothing keeps the bass from it, and it can break at once"
        } else {
            ""
        },
        if open {
            "a capacitor in series with it, a steeper filter"
        } else {
            "a steeper filter"
        }
    );
    Some(if open || gets.most_db > 0.0 {
        Finding::danger(FindingCode::ExcursionUnprotected, message)
    } else {
        Finding::caution(FindingCode::ExcursionLittleProtected, message)
    })
}

/// The caution for resistors that get hot, whatever they are in the network for.
pub(crate) fn hot_resistors(stress: &Stress) -> Option<Finding> {
    let mut hot: Vec<&PartStress> = (stress.parts.iter())
        .filter(|part| {
            let power_w = part.noise.power_w;
            let limit_w = if stress.loudness.stated {
                LIMITS.hot_w
            } else {
                LIMITS.hot_share * stress.noise_power_w
            };
            part.kind == StressedKind::Resistor && power_w >= limit_w
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
                    format!(
                        "{} {power_w:.1} W ({})",
                        part.part,
                        buy(part, &format!("{buy_w} W"))
                    )
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
        FindingCode::HotPadResistors,
        format!(
            "resistors get hot enough to burn skin{with}: {}; mount them in free air, clear of wood, cable and capacitors, rated at twice the power or more (common practice; 3 to 4 times in a closed box)",
            listed(&names)
        ),
    ))
}
