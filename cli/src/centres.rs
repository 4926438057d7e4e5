//! Acoustic centres in words.

use std::io::{Result, Write};

use netlist::quantity::Hertz;
use solver::judge::centres::Centres;

use crate::words;

/// One line on where the drivers are heard from; nothing where all are in one plane and no phase says otherwise.
pub(crate) fn line(centres: &Centres, out: &mut dyn Write) -> Result<()> {
    if !centres.is_told() {
        return Ok(());
    }
    words::about("centres", &text(centres), out)
}

fn text(centres: &Centres) -> String {
    let lowest = &centres.drivers[0].driver;
    let drivers: Vec<String> = (centres.drivers.iter().skip(1))
        .map(|driver| {
            let by = match driver.sigma_mm {
                Some(sigma_mm) => format!(" ±{:.0}", (2.0 * sigma_mm).max(1.0)),
                None => String::new(),
            };
            let side = match driver.behind_mm < 0.0 {
                true => "before",
                false => "behind",
            };
            format!(
                "{} {:.0}{by} mm {side} {lowest}",
                driver.driver,
                driver.behind_mm.abs()
            )
        })
        .collect();
    let crossovers: Vec<String> = (centres.crossovers.iter())
        .map(|apart| {
            format!(
                "{:.0}° and {:.1} dB of the sum at {:.3}",
                apart.angle_deg.abs(),
                apart.cost_db.max(0.0),
                Hertz(apart.frequency_hz)
            )
        })
        .collect();
    let from = match centres
        .drivers
        .iter()
        .any(|driver| driver.held_mm.is_some())
    {
        true => "from positions and measured phases",
        false => "from positions",
    };
    format!("{}, {from}: {}", drivers.join(", "), crossovers.join(", "))
}
