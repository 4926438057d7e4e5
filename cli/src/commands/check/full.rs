//! All tables of a check.

use std::io::{Result, Write};

use super::Checked;
use super::screen::{heading, hot_coil, hz, load, rating, signals, sound, wire};
use crate::words;

pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    heading(checked, out)?;
    sound(checked, out)?;
    load(checked, out)?;
    wire(checked, out)?;
    hot_coil(checked, out)?;
    parts(checked, out)?;
    drivers(checked, out)?;
    words::findings(&checked.check.findings, out)
}

fn parts(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "\n{}", signals(checked))?;
    writeln!(
        out,
        "{:<13}{:>9} |{:>22}{:>9} |{:>22}{:>9} | {:>6} {:>6}",
        "part", "value", "noise V rms/peak A", "W", "sine V rms, A rms", "W", "rated", "buy"
    )?;
    for part in &checked.check.stress.parts {
        let (noise, sine) = (&part.noise, &part.sine);
        writeln!(
            out,
            "{:<13}{:>9} |{:>7.2}{:>7.1}{:>8.2}{:>9.3} |{:>11.2}{:>11.2}{:>9.2} | {:>6} {:>6}",
            part.part,
            part.value,
            noise.rms_v,
            noise.peak_v,
            noise.rms_a,
            noise.power_w,
            sine.rms_v.most,
            sine.rms_a.most,
            sine.power_w.most,
            rating(part.rated),
            rating(part.buy)
        )?;
    }
    Ok(())
}

fn drivers(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    writeln!(
        out,
        "\n{:<13}{:>9} |{:>22}{:>9} |{:>22}{:>9} |",
        "driver", "rated", "noise V rms/peak A", "W", "sine V rms, A rms", "W"
    )?;
    for driver in &checked.check.stress.drivers {
        let (noise, sine) = (&driver.noise, &driver.sine);
        let rated = driver.rated_w.map_or("-".to_owned(), |w| format!("{w} W"));
        writeln!(
            out,
            "{:<13}{rated:>9} |{:>7.2}{:>7.1}{:>8.2}{:>9.3} |{:>11.2}{:>11.2}{:>9.2} |",
            driver.driver,
            noise.rms_v,
            noise.peak_v,
            noise.rms_a,
            noise.power_w,
            sine.rms_v.most,
            sine.rms_a.most,
            sine.power_w.most,
        )?;
    }
    for driver in &checked.check.stress.drivers {
        if let Some(found) = driver.excursion {
            writeln!(
                out,
                "{:<13}voltage at its resonance ({}) {:+.1} dB against the crossover ({}); most below: {:+.1} dB at {}",
                driver.driver,
                hz(found.resonance_hz),
                found.at_resonance_db,
                hz(found.crossover_hz),
                found.most_db,
                hz(found.most_at_hz)
            )?;
        }
    }
    Ok(())
}
