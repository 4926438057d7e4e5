//! All tables of a check.

use std::io::{Result, Write};

use super::screen::{around, heading, hot_coil, load, measured_sum, sound, tolerance, wire};
use super::stress::{rating, signals, to_buy};
use super::text::{contributor, hz, percent};
use super::{Checked, faults};
use crate::report::facts::nearest;
use crate::{findings, words};
use solver::judge::tolerance::Amount;
use solver::judge::{NoiseStress, SineStress};

pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    heading(checked, out)?;
    sound(checked, out)?;
    measured_sum(checked, out)?;
    load(checked, out)?;
    wire(checked, out)?;
    hot_coil(checked, out)?;
    around(checked, out)?;
    windows(checked, out)?;
    parts(checked, out)?;
    drivers(checked, out)?;
    writeln!(out)?;
    tolerance(checked, out)?;
    contributors(checked, out)?;
    faults::table(checked, out)?;
    faults::drivers(checked, out)?;
    findings::whole(&checked.check.findings, out)
}

/// Windows and indices at the octaves.
fn windows(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let found = &checked.check.directions;
    writeln!(
        out,
        "\n{:<10}{:>8}{:>8}{:>10}{:>12}{:>12}{:>8}{:>8}",
        "dB SPL", "axis", "window", "vertical", "reflections", "all around", "room", "index"
    )?;
    // Octaves of ISO 266.
    let octaves = [63.0, 125.0, 250.0, 500.0, 1e3, 2e3, 4e3, 8e3, 16e3];
    for i in (octaves.into_iter()).filter_map(|f_hz| nearest(&found.frequency_hz, f_hz)) {
        writeln!(
            out,
            "{:<10}{:>8.1}{:>8.1}{:>10.1}{:>12.1}{:>12.1}{:>8.1}{:>8.1}",
            hz(found.frequency_hz[i]),
            found.on_axis_db[i],
            found.listening_window_db[i],
            found.vertical_window_db[i],
            found.early_reflections_db[i],
            found.sound_power_db[i],
            found.in_room_db[i],
            found.directivity_index_db[i]
        )?;
    }
    words::folded(
        "window: listening window; vertical: 10° up and down; index: window less sound power; after ANSI/CTA-2034-A",
        0,
        out,
    )
}

fn parts(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "\n{}", signals(checked))?;
    writeln!(
        out,
        "{:<22}{:>32}{:>25}",
        "", "programme noise", "worst sine"
    )?;
    let peaks = &checked.check.stress.peaks;
    words::folded(
        &format!(
            "peaks are those of {} s of the noise, clipped to crest factor {} at the amplifier, behind each part's own filter",
            peaks.seconds, peaks.crest_factor
        ),
        0,
        out,
    )?;
    row(["part", "value"], COLUMNS, ["rated", "buy"], out)?;
    for part in &checked.check.stress.parts {
        let numbers = columns(&part.noise, &part.sine);
        let ends = [rating(part.rated), to_buy(part)];
        row(
            [&part.part, &part.value],
            numbers.each_ref().map(String::as_str),
            ends.each_ref().map(String::as_str),
            out,
        )?;
    }
    Ok(())
}

const COLUMNS: [&str; 7] = ["V rms", "V peak", "A rms", "W", "V rms", "A rms", "W"];

fn columns(noise: &NoiseStress, sine: &SineStress) -> [String; 7] {
    [
        format!("{:.2}", noise.rms_v),
        format!("{:.1}", noise.peak_v),
        format!("{:.2}", noise.rms_a),
        format!("{:.3}", noise.power_w),
        format!("{:.2}", sine.rms_v.most),
        format!("{:.2}", sine.rms_a.most),
        format!("{:.2}", sine.power_w.most),
    ]
}

/// A line of the stress tables.
fn row(
    [name, value]: [&str; 2],
    [a, b, c, d, e, f, g]: [&str; 7],
    [rated, buy]: [&str; 2],
    out: &mut dyn Write,
) -> Result<()> {
    let line = format!(
        "{name:<13}{value:>9}{a:>8}{b:>8}{c:>8}{d:>8}{e:>9}{f:>8}{g:>8}{rated:>8} {buy:>9}"
    );
    writeln!(out, "{}", line.trim_end())
}

fn drivers(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    writeln!(out)?;
    row(["driver", ""], COLUMNS, ["rated", ""], out)?;
    for driver in &checked.check.stress.drivers {
        let numbers = columns(&driver.noise, &driver.sine);
        let rated = driver.rated_w.map_or("-".to_owned(), |w| format!("{w} W"));
        row(
            [&driver.driver, ""],
            numbers.each_ref().map(String::as_str),
            [&rated, ""],
            out,
        )?;
    }
    for driver in &checked.check.stress.drivers {
        if let Some(found) = driver.excursion {
            let text = format!(
                "{:<13}voltage at its resonance ({}) {:+.1} dB against the crossover ({}); the most at or below the resonance {:+.1} dB ({})",
                driver.driver,
                hz(found.limits.resonance_hz),
                found.gets.at_resonance_db,
                hz(found.limits.crossover_hz),
                found.gets.most_db,
                hz(found.gets.most_at_hz)
            );
            words::folded(&text, 13, out)?;
        }
    }
    Ok(())
}

fn contributors(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let Ok(found) = &checked.check.tolerance else {
        return Ok(());
    };
    writeln!(
        out,
        "\n{:<22}{:>11}{:>21}{:>15}",
        "what varies", "by", "share of variance", "first order"
    )?;
    for one in &found.contributors {
        let (name, by) = match one.amount {
            Amount::Share(share) => (contributor(one), format!("±{} %", percent(share))),
            Amount::LevelDb(db) => (format!("level of {}", one.name), format!("±{db} dB")),
        };
        writeln!(
            out,
            "{name:<22}{by:>11}{:>19.1} %{:>13.1} %",
            100.0 * one.share,
            100.0 * one.first_order
        )?;
    }
    let load = &found.load;
    writeln!(
        out,
        "least load of the builds: 95 of 100 between {:.2} Ω and {:.2} Ω, the lowest {:.2} Ω",
        load.low_ohm, load.high_ohm, load.lowest_ohm
    )
}
