//! What a loose wire, an open part or a short circuit does.

use std::io::{Result, Write};

use netlist::quantity::Ohms;
use solver::judge::Severity;
use solver::judge::faults::{Fault, FaultKind, Hazard};

use super::Checked;
use super::text::{hz, line};
use crate::words::{self, watts};

/// Faults that the screen has room for; those that do the same are one.
const SHOWN: usize = 6;
/// Characters of the narrowest column of faults.
const NARROWEST: usize = 18;

/// The dangerous faults on the screen: loose drivers first, then what breaks drivers, then the rest.
pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let all = &checked.check.faults.faults;
    let mut dangerous: Vec<&Fault> = (all.iter())
        .filter(|fault| fault.severity == Severity::Danger)
        .collect();
    let found = dangerous.len();
    if found == 0 {
        return line(
            "faults",
            &format!("{} tried, none dangerous", all.len()),
            out,
        );
    }
    dangerous.sort_by_key(|fault| {
        let breaks = (fault.hazards.iter()).any(|hazard| !matches!(hazard, Hazard::LowLoad { .. }));
        match (fault.kind, breaks) {
            (FaultKind::DriverDisconnected, _) => 0,
            (_, true) => 1,
            (_, false) => 2,
        }
    });
    let mut groups: Vec<(Vec<String>, String)> = Vec::new();
    for fault in dangerous {
        let does = hazards(fault);
        match groups.iter_mut().find(|(_, same)| *same == does) {
            Some((names, _)) => names.push(fault.words()),
            None => groups.push((vec![fault.words()], does)),
        }
    }
    let such_as = if groups.len() > SHOWN {
        ", such as these"
    } else {
        ""
    };
    let untried = match checked.check.faults.untried {
        0 => String::new(),
        untried => format!(" and {untried} not"),
    };
    let tried = format!(
        "{} tried{untried}, {found} would be dangerous{such_as}; switch off before you touch a wire:",
        all.len()
    );
    line("faults", &tried, out)?;
    for (names, does) in groups.iter().take(SHOWN) {
        line("", &format!("{}: {does}", names.join(" or ")), out)?;
    }
    Ok(())
}

/// All faults, the most dangerous first.
pub(super) fn table(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let faults = &checked.check.faults.faults;
    let names = name_width(faults);
    writeln!(
        out,
        "\n{:<names$}{:<9}{:>18}{:>10}{:>10}   what is bad about it",
        "fault", "", "least load", "sum up", "sum down"
    )?;
    for fault in faults {
        let severity = match fault.severity {
            Severity::Danger => "danger",
            Severity::Caution => "caution",
            Severity::Note => "",
        };
        let load = fault
            .least_load
            .as_ref()
            .map_or("none".to_owned(), |least| {
                format!("{:.2} Ω {:>9}", least.magnitude_ohm, hz(least.f_hz))
            });
        let text = format!(
            "{:<names$}{severity:<9}{load:>18}{:>7.1} dB{:>7.1} dB   {}",
            fault.words(),
            fault.sum.rise_db,
            fault.sum.fall_db,
            hazards(fault)
        );
        words::folded(&text, names + 50, out)?;
    }
    Ok(())
}

/// What programme noise gives each driver with every fault, and without one.
pub(super) fn drivers(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let faults = &checked.check.faults.faults;
    // Without a power there is nothing to tell.
    let Some(first) = (faults.first()).filter(|_| checked.check.stress.loudness.stated) else {
        return Ok(());
    };
    writeln!(
        out,
        "\nwhat programme noise gives the drivers: power, rms voltage"
    )?;
    let names = name_width(faults);
    let cell = |text: &str| format!("{text:>18}");
    let heads: String = (first.drivers.iter())
        .map(|driver| cell(&driver.name))
        .collect();
    writeln!(out, "{:<names$}{heads}", "fault")?;
    let gets = |power_w: f64, voltage_v: f64| {
        let (power, voltage) = (format!("{power_w:.3} W"), format!("{voltage_v:.2} V"));
        cell(&format!("{power}{voltage:>9}"))
    };
    let normal: String = (checked.check.stress.drivers.iter())
        .map(|driver| gets(driver.noise.power_w, driver.noise.rms_v))
        .collect();
    writeln!(out, "{:<names$}{normal}", "none")?;
    for fault in faults {
        let row: String = (fault.drivers.iter())
            .map(
                |driver| match (driver.silent, driver.power_w, driver.voltage_v) {
                    (true, ..) => cell("silent"),
                    (_, Some(power_w), Some(voltage_v)) => gets(power_w, voltage_v),
                    _ => cell("-"),
                },
            )
            .collect();
        writeln!(out, "{:<names$}{row}", fault.words())?;
    }
    Ok(())
}

/// Width of the column that names the faults.
fn name_width(faults: &[Fault]) -> usize {
    let names = faults.iter().map(|fault| fault.words().chars().count());
    names.max().unwrap_or(0).max(NARROWEST) + 2
}

/// What is bad about a fault, the worst first.
fn hazards(fault: &Fault) -> String {
    let told: Vec<String> = (fault.hazards.iter())
        .map(|hazard| match hazard {
            Hazard::DeadShort => "the amplifier is shorted".to_owned(),
            Hazard::LowLoad { least_ohm, at_hz } => {
                let made_by = fault.made_by(hazard);
                format!("load {:.2} at {}{made_by}", Ohms(*least_ohm), hz(*at_hz))
            }
            Hazard::NoLoad => "the amplifier has no load".to_owned(),
            Hazard::TooMuchPower {
                driver,
                power_w,
                rated_w,
            } => format!(
                "{driver} gets {} of programme, rated {rated_w} W",
                watts(*power_w)
            ),
            Hazard::BassInDriver { driver, times } => {
                format!("{driver} moves {times:.0} times as far")
            }
        })
        .collect();
    told.join(", ")
}
