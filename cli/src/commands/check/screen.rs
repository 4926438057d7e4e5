//! The check on one screen.

use std::io::{Result, Write};

use netlist::quantity::Hertz;
use solver::judge::check::Changes;
use solver::judge::{Finding, PartStress, Rating, Severity};

use super::Checked;
use crate::words;

/// Column in which what is said of a subject begins.
const INDENT: usize = 11;

pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    heading(checked, out)?;
    sound(checked, out)?;
    load(checked, out)?;
    wire(checked, out)?;
    hot_coil(checked, out)?;
    stress(checked, out)?;
    let (shown, kept): (Vec<Finding>, Vec<Finding>) =
        (checked.check.findings.iter().cloned()).partition(|found| found.severity > Severity::Note);
    words::findings(&shown, out)?;
    if !kept.is_empty() {
        let notes = plural(kept.len(), "note");
        writeln!(out, "{notes} and all tables: add --full")?;
    }
    Ok(())
}

/// Title, and what stands, so that the first lines say whether to read on.
pub(super) fn heading(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    if let Some(title) = &checked.project.title {
        writeln!(out, "{title}")?;
    }
    if let Some(note) = &checked.project.note {
        words::folded(note, 0, out)?;
    }
    let (dangers, cautions) = (
        checked.count(Severity::Danger),
        checked.count(Severity::Caution),
    );
    let verdict = match (dangers, cautions) {
        (0, 0) => "nothing stands against building it".to_owned(),
        (0, _) => format!("no danger; {} to look into", plural(cautions, "caution")),
        _ => format!(
            "{} and {}: do not build it like this",
            plural(dangers, "DANGER"),
            plural(cautions, "caution")
        ),
    };
    writeln!(out, "{verdict}\n")
}

pub(super) fn plural(count: usize, what: &str) -> String {
    if count == 1 {
        format!("1 {what}")
    } else {
        format!("{count} {what}s")
    }
}

/// A line about a subject.
pub(super) fn line(subject: &str, text: &str, out: &mut dyn Write) -> Result<()> {
    words::folded(&format!("{subject:<INDENT$}{text}"), INDENT, out)
}

pub(super) fn hz(f_hz: f64) -> String {
    format!("{:.3}", Hertz(f_hz))
}

pub(super) fn sound(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let done = match &checked.check.assessment {
        Ok(done) => done,
        Err(why) => return line("sound", &format!("not held against an aim: {why}"), out),
    };
    let (aim, figures) = (&checked.project.aim, &done.figures);
    line(
        "sum",
        &format!(
            "{:.1} dB at 2.83 V; off the aim by {:.2} dB rms, {:.1} dB at most (at {}), from {} to {}",
            figures.level_db,
            figures.rms_db,
            figures.max_db,
            hz(figures.max_at_hz),
            aim.from,
            aim.to
        ),
        out,
    )?;
    let ways: Vec<String> = (done.job.ways.iter().zip(&figures.match_db))
        .map(|(way, db)| format!("{} {db:.2} dB", way.name))
        .collect();
    line(
        "match",
        &format!("{} off target, rms", ways.join(", ")),
        out,
    )?;
    let crossovers: Vec<String> = (done.job.crossovers.iter())
        .zip(&figures.crossovers)
        .zip(&done.alignments)
        .map(|((crossover, figures), slopes)| {
            format!(
                "{:.0}° at {} ({})",
                figures.phase_match_deg,
                crossover.frequency,
                words::slopes(*slopes)
            )
        })
        .collect();
    line(
        "phases",
        &format!("{} apart, mean", crossovers.join(", ")),
        out,
    )
}

pub(super) fn load(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let Some(load) = &checked.check.load else {
        return line("load", "no current flows at any frequency", out);
    };
    let limit = match load.minimum_ohm {
        Some(limit) if load.least_ohm >= limit => format!(", limit {limit:.2} Ω kept"),
        Some(limit) => format!(", BELOW the limit of {limit:.2} Ω"),
        None => String::new(),
    };
    line(
        "load",
        &format!(
            "{:.2} Ω at least (at {}, phase {:.0}°){limit}; mean {:.1} Ω; heats a class-B stage as {:.2} Ω would (EPDR, at {})",
            load.least_ohm,
            hz(load.at_hz),
            load.phase_deg,
            load.mean_ohm,
            load.least_epdr_ohm,
            hz(load.least_epdr_at_hz)
        ),
        out,
    )?;
    if let Some(found) = &load.output_impedance {
        let text = format!(
            "{} Ω output impedance against 0 Ω: {}",
            found.ohm,
            changes(&found.changes)
        );
        line("amplifier", &text, out)?;
    }
    let Some(taps) = &load.taps else {
        return Ok(());
    };
    let ratios: Vec<String> = (taps.taps.iter())
        .map(|tap| {
            format!(
                "{:.0} Ω {:.2}, {:.2}",
                tap.ohm, tap.least_over_tap, tap.mean_over_tap
            )
        })
        .collect();
    let text = format!(
        "{:.0} Ω fits best; load over tap, least to be 0.80 and more: {}",
        taps.best_ohm,
        ratios.join("; ")
    );
    line("output tap", &text, out)
}

/// Ways and sum, each with its mean change, and what is left of the sum's when the volume is set right.
fn changes(changes: &Changes) -> String {
    let ways: Vec<String> = (changes.ways.iter())
        .map(|way| format!("{} {:+.1} dB", way.driver, way.change.mean_db))
        .collect();
    format!(
        "{}; sum {:+.1} dB and its shape by up to {:.1} dB (at {})",
        ways.join(", "),
        changes.system.mean_db,
        changes.system.shape_db,
        hz(changes.system.shape_at_hz)
    )
}

pub(super) fn wire(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let Some(wire) = &checked.check.wire else {
        return Ok(());
    };
    let mut wires: Vec<String> = Vec::new();
    if let Some(cable) = &wire.cable {
        wires.push(format!("cable {:.3} Ω", cable.ohm));
    }
    wires.extend(
        (wire.leads.iter()).map(|lead| format!("to {} {:.3} Ω", lead.driver, lead.wire.ohm)),
    );
    let text = format!("{}; {}", wires.join(", "), changes(&wire.changes));
    line("wire", &text, out)
}

pub(super) fn hot_coil(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let hot = &checked.check.hot_coil;
    let shifts: Vec<String> = (hot.crossovers.iter())
        .filter_map(|shift| Some(format!("{} to {}", hz(shift.cold_hz?), hz(shift.hot_hz?))))
        .collect();
    let moved = if shifts.is_empty() {
        String::new()
    } else {
        format!("; crossovers {}", shifts.join(", "))
    };
    let text = format!("+{:.0} K: {}{moved}", hot.rise_k, changes(&hot.changes));
    line("hot coils", &text, out)
}

/// Every driver and resistor; of capacitors and coils the hardest driven only.
fn stress(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let stress = &checked.check.stress;
    writeln!(out, "\n{}", signals(checked))?;
    writeln!(
        out,
        "{:<10}{:>10}{:>13}{:>13}{:>10}   {:<12}{}",
        "", "", "noise, heat", "worst sine", "at", "rated", "buy"
    )?;
    for driver in &stress.drivers {
        let rated = driver.rated_w.map_or("-".to_owned(), |w| format!("{w} W"));
        writeln!(
            out,
            "{:<10}{:>10}{:>11.2} W{:>11.1} W{:>10}   {rated:<12}-",
            driver.driver,
            "driver",
            driver.noise.power_w,
            driver.sine.power_w.most,
            hz(driver.sine.power_w.at_hz)
        )?;
    }
    for part in stress.parts.iter().filter(|part| part.kind == "resistor") {
        writeln!(
            out,
            "{:<10}{:>10}{:>11.2} W{:>11.1} W{:>10}   {:<12}{}",
            part.part,
            part.value,
            part.noise.power_w,
            part.sine.power_w.most,
            hz(part.sine.power_w.at_hz),
            rating(part.rated),
            rating(part.buy)
        )?;
    }
    let most = |kind: &str, by: &dyn Fn(&PartStress) -> f64| {
        (stress.parts.iter())
            .filter(|part| part.kind == kind)
            .max_by(|a, b| by(a).total_cmp(&by(b)))
            .cloned()
    };
    if let Some(part) = most("capacitor", &PartStress::peak_v) {
        let text = format!(
            "{} V is enough for all; {} has the highest peak, {:.0} V",
            number(part.buy),
            part.part,
            part.peak_v()
        );
        line("capacitors", &text, out)?;
    }
    if let Some(part) = most("inductor", &PartStress::peak_a) {
        let text = format!(
            "if you take coils with a core, {} A is enough for all; {} has the highest peak, {:.1} A",
            number(part.buy),
            part.part,
            part.peak_a()
        );
        line("coils", &text, out)?;
    }
    Ok(())
}

/// What the stress was worked out for.
pub(super) fn signals(checked: &Checked<'_>) -> String {
    let loud = &checked.check.stress.loudness;
    let stated = if loud.stated {
        "rated power"
    } else {
        "no rated power stated:"
    };
    format!(
        "stress at {stated} {} W into {} Ω, programme noise (IEC 60268-1) and the worst steady sine",
        loud.power_w, loud.load_ohm
    )
}

pub(super) fn rating(rating: Option<Rating>) -> String {
    match rating {
        Some(Rating::PowerW(w)) => format!("{w} W"),
        Some(Rating::VoltageV(v)) => format!("{v} V"),
        Some(Rating::CurrentA(a)) => format!("{a} A"),
        None => "-".to_owned(),
    }
}

fn number(rating: Option<Rating>) -> f64 {
    match rating {
        Some(Rating::PowerW(x) | Rating::VoltageV(x) | Rating::CurrentA(x)) => x,
        None => 0.0,
    }
}
