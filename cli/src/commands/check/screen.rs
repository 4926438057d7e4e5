//! The check on one screen.

use std::io::{Result, Write};

use netlist::quantity::{Hertz, Watts};
use solver::judge::check::Changes;
use solver::judge::tolerance::{Amount, Contributor, FEW_BUILDS};
use solver::judge::{Finding, PartStress, Rating, Severity, rounded};

use super::{Checked, faults};
use crate::{findings, words};

/// A gain that is worth a closer part, dB.
const WORTH_BUYING_DB: f64 = 0.05;
/// A change of the sum's shape that is worth a word, dB.
const HEARD_DB: f64 = 0.2;
/// Resistors that the screen has room for.
const RESISTORS: usize = 5;
/// Column in which what is said of a subject begins.
const INDENT: usize = 11;

/// Findings that a section of the screen tells already.
fn told_above(finding: &Finding) -> bool {
    const TOLD: [&str; 3] = [
        "builds-spread-widely",
        "output-impedance-shapes-sum",
        "not-assessed",
    ];
    finding.severity < Severity::Danger
        && (finding.code.starts_with("fault-") || TOLD.contains(&finding.code))
}

pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let mut above = Vec::new();
    heading(checked, &mut above)?;
    sound(checked, &mut above)?;
    load(checked, &mut above)?;
    wire(checked, &mut above)?;
    hot_coil(checked, &mut above)?;
    tolerance(checked, &mut above)?;
    faults::print(checked, &mut above)?;
    stress(checked, &mut above)?;
    out.write_all(&above)?;
    let shown: Vec<Finding> = (checked.check.findings.iter())
        .filter(|found| found.severity > Severity::Note && !told_above(found))
        .cloned()
        .collect();
    let cut = findings::on_screen(findings::lines(&above), &shown, out)?;
    let notes = checked.count(Severity::Note);
    let told = checked.count(Severity::Caution) + checked.count(Severity::Danger) - shown.len();
    let mut more = Vec::new();
    if cut {
        more.push("what to do about the cautions".to_owned());
    }
    if told > 0 {
        more.push(format!(
            "{} told in the lines above",
            plural(told, "caution")
        ));
    }
    if notes > 0 {
        more.push(plural(notes, "note"));
    }
    more.push("all tables".to_owned());
    writeln!(out, "add --full for {}", more.join(", "))
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
        (0, _) => format!(
            "no danger as it is drawn; {} to look into",
            plural(cautions, "caution")
        ),
        _ => format!(
            "{} and {}: do not build it like this",
            plural(dangers, "danger").to_uppercase(),
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
    let text = format!(
        "{:.1} dB at 2.83 V; off the aim by {:.2} dB rms, {:.1} dB at most ({}); {} to {}",
        figures.level_db,
        figures.rms_db,
        figures.max_db,
        hz(figures.max_at_hz),
        aim.from,
        aim.to
    );
    line("sum", &text, out)?;
    let ways: Vec<String> = (done.job.ways.iter().zip(&figures.match_db))
        .map(|(way, db)| format!("{} {db:.2}", way.name))
        .collect();
    let crossovers: Vec<String> = (done.job.crossovers.iter())
        .zip(&figures.crossovers)
        .map(|(crossover, figures)| {
            format!("{:.0}° at {}", figures.phase_match_deg, crossover.frequency)
        })
        .collect();
    let text = format!(
        "{} dB off target; phases {} apart",
        ways.join(", "),
        crossovers.join(", ")
    );
    line("ways", &text, out)
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
    let text = format!(
        "least of 20 Hz to 20 kHz {:.2} Ω ({}, {:.0}°){limit}; mean {:.1} Ω; for the heat of a class-B stage {:.2} Ω (EPDR, {})",
        load.least_ohm,
        hz(load.at_hz),
        load.phase_deg,
        load.mean_ohm,
        load.least_epdr_ohm,
        hz(load.least_epdr_at_hz)
    );
    line("load", &text, out)?;
    if let Some(found) = &load.output_impedance {
        let only = if found.changes.system.shape_db >= HEARD_DB {
            "; right for this amplifier only"
        } else {
            ""
        };
        let text = format!(
            "{} Ω output impedance against 0 Ω: {}{only}",
            found.ohm,
            changes(&found.changes)
        );
        line("amplifier", &text, out)?;
    }
    let Some(taps) = &load.taps else {
        return Ok(());
    };
    let fits: Vec<String> = (taps.taps.iter())
        .map(|tap| {
            let holds = if tap.holds { "" } else { " too low" };
            format!(
                "{:.0} Ω {:.2}{holds}, {:.2}",
                tap.ohm, tap.least_over_tap, tap.mean_over_tap
            )
        })
        .collect();
    let fits_best = if taps.taps.iter().any(|tap| tap.holds) {
        "fits best"
    } else {
        "is nearest, and none fits"
    };
    let text = format!(
        "{:.0} Ω {fits_best}; least and mean load over the tap's: {}; {:.2} is the least allowed",
        taps.best_ohm,
        fits.join("; "),
        taps.least_share
    );
    line("output tap", &text, out)
}

/// Ways, each with its mean change, and what is left of the sum's when the volume is set right.
fn changes(changes: &Changes) -> String {
    let ways: Vec<String> = (changes.ways.iter())
        .map(|way| format!("{} {}", way.driver, signed(way.change.mean_db)))
        .collect();
    format!(
        "{} dB; shape of the sum by up to {:.1} dB ({})",
        ways.join(", "),
        changes.system.shape_db,
        hz(changes.system.shape_at_hz)
    )
}

/// A change with its sign, in as many digits as it needs to be seen.
fn signed(db: f64) -> String {
    if db.abs() < 0.95 {
        format!("{db:+.2}")
    } else {
        format!("{db:+.1}")
    }
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

pub(super) fn tolerance(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let found = match &checked.check.tolerance {
        Ok(found) => found,
        Err(why) => return line("tolerance", &why.to_string(), out),
    };
    // What more than all would stay within is not worth a word.
    let all = (found.all.shares.iter()).position(|share| share.of_design > 0.995);
    let shares: Vec<String> = (found.all.shares.iter())
        .take(all.map_or(usize::MAX, |first| first + 1))
        .map(|share| {
            format!(
                "{:.0} % within ±{} dB",
                // Not all is not 100 %.
                (100.0 * share.of_design).floor(),
                share.limit_db
            )
        })
        .collect();
    let alone = (found.parts_alone.as_ref()).map_or(String::new(), |alone| {
        format!(" (±{:.2} dB from parts alone)", alone.within_db)
    });
    let most: Vec<String> = (found.contributors.iter().take(4))
        .filter(|one| one.share > 0.005)
        .map(|one| format!("{} {:.0} %", contributor(one), 100.0 * one.share))
        .collect();
    let mut text = format!(
        "95 of 100 builds{}{} stay within ±{:.2} dB of the design{alone}; {}",
        match found.builds {
            few if few < FEW_BUILDS => format!(" (a guess: only {} made)", plural(few, "build")),
            _ => String::new(),
        },
        if found.own_level {
            ", each at its own level,"
        } else {
            ""
        },
        found.all.within_db,
        shares.join(", ")
    );
    if !most.is_empty() {
        text += &format!("; most from {}", most.join(", "));
    }
    if let (Some(tighter), Some(alone)) = (&found.tighter, &found.parts_alone) {
        let gain_db = (alone.within_db - tighter.parts_alone.within_db).max(0.0);
        text += &if gain_db < WORTH_BUYING_DB {
            "; no part is worth buying closer".to_owned()
        } else {
            format!(
                "; {} within {} % instead of {} % takes {gain_db:.2} dB off what the parts make",
                tighter.part,
                percent(tighter.to),
                percent(tighter.from)
            )
        };
    }
    line("tolerance", &text, out)
}

/// A share in percent, with a tenth where it has one.
pub(super) fn percent(share: f64) -> f64 {
    (1000.0 * share).round() / 10.0
}

/// What varies, for people.
pub(super) fn contributor(one: &Contributor) -> String {
    match one.amount {
        Amount::LevelDb(db) => format!("level of {} (±{db} dB)", one.name),
        Amount::Share(_) => one.name.clone(),
    }
}

/// Every driver and the hottest resistors; of capacitors and coils the hardest driven only.
fn stress(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let stress = &checked.check.stress;
    writeln!(out, "\n{}", signals(checked))?;
    writeln!(
        out,
        "{:<10}{:>10}{:>13}{:>13}{:>10}   {:<12}buy for music",
        "", "", "noise, heat", "worst sine", "at", "rated"
    )?;
    for driver in &stress.drivers {
        let rated = driver.rated_w.map_or("-".to_owned(), |w| format!("{w} W"));
        writeln!(
            out,
            "{:<10}{:>10}{:>13}{:>13}{:>10}   {rated:<12}-",
            driver.driver,
            "driver",
            watts(driver.noise.power_w),
            watts(driver.sine.power_w.most),
            hz(driver.sine.power_w.at_hz)
        )?;
    }
    let mut resistors: Vec<&PartStress> = (stress.parts.iter())
        .filter(|part| part.kind == "resistor")
        .collect();
    let cooler = resistors.len().saturating_sub(RESISTORS);
    if cooler > 0 {
        resistors.sort_by(|a, b| b.noise.power_w.total_cmp(&a.noise.power_w));
        resistors.truncate(RESISTORS);
    }
    for part in &resistors {
        writeln!(
            out,
            "{:<10}{:>10}{:>13}{:>13}{:>10}   {:<12}{}",
            part.part,
            part.value,
            watts(part.noise.power_w),
            watts(part.sine.power_w.most),
            hz(part.sine.power_w.at_hz),
            rating(part.rated),
            to_buy(part)
        )?;
    }
    if let (true, Some(last)) = (cooler > 0, resistors.last()) {
        let more = plural(cooler, "resistor");
        writeln!(out, "{more} more, each below {}", watts(last.noise.power_w))?;
    }
    let of = |kind: &'static str| stress.parts.iter().filter(move |part| part.kind == kind);
    let most = |kind: &'static str, by: &dyn Fn(&PartStress) -> f64| {
        of(kind).max_by(|a, b| by(a).total_cmp(&by(b)))
    };
    let enough = |kind: &'static str| of(kind).map(|part| number(part.buy)).fold(0.0, f64::max);
    if !stress.loudness.stated {
        return Ok(());
    }
    if let Some(part) = most("capacitor", &PartStress::peak_v) {
        let text = format!(
            "{} V is enough for all; {} has the highest peak, {:.1} V",
            enough("capacitor"),
            part.part,
            part.peak_v()
        );
        line("capacitors", &text, out)?;
    }
    if let Some(part) = most("inductor", &PartStress::peak_a) {
        let text = format!(
            "peaks of {} A are enough for all that have a core; {} has the highest, {:.1} A",
            enough("inductor"),
            part.part,
            part.peak_a()
        );
        line("coils", &text, out)?;
    }
    for part in of("autoformer") {
        if let Some(worst) = part.volts_per_hertz {
            let text = format!(
                "{}: up to {:.1} V rms; the core is driven hardest at {}, with {:.1} V",
                part.part,
                part.sine.rms_v.most,
                hz(worst.at_hz),
                worst.most * worst.at_hz
            );
            line("windings", &text, out)?;
        }
    }
    Ok(())
}

/// A power in watt, to two figures below one.
pub(super) fn watts(power_w: f64) -> String {
    match power_w {
        w if w < 1e-4 => "0 W".to_owned(),
        w if w < 0.995 => {
            let decimals = (1.0 - w.log10().floor()) as usize;
            format!("{w:.decimals$} W")
        }
        w if w < 9.995 => format!("{w:.2} W"),
        w if w < 99.95 => format!("{w:.1} W"),
        w => format!("{:.3}", Watts(w)),
    }
}

/// What the stress was worked out for.
pub(super) fn signals(checked: &Checked<'_>) -> String {
    let loud = &checked.check.stress.loudness;
    let stated = if loud.stated {
        "stress at rated power,"
    } else {
        "no rated power is stated; stress at"
    };
    format!(
        "{stated} {} W into {} Ω: programme noise (IEC 60268-1), worst steady sine",
        loud.power_w, loud.load_ohm
    )
}

/// What to buy for a part, piece by piece.
pub(super) fn to_buy(part: &PartStress) -> String {
    match part.pieces {
        0 | 1 => rating(part.buy),
        pieces => format!("{pieces} × {}", rating(part.buy)),
    }
}

pub(super) fn rating(rating: Option<Rating>) -> String {
    match rating {
        Some(Rating::PowerW(w)) => format!("{} W", rounded(w)),
        Some(Rating::VoltageV(v)) => format!("{} V", rounded(v)),
        Some(Rating::CurrentA(a)) => format!("{} A", rounded(a)),
        None => "-".to_owned(),
    }
}

fn number(rating: Option<Rating>) -> f64 {
    match rating {
        Some(Rating::PowerW(x) | Rating::VoltageV(x) | Rating::CurrentA(x)) => x,
        None => 0.0,
    }
}
