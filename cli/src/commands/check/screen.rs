//! The check on one screen.

use std::io::{Result, Write};

use netlist::project::Judged;
use netlist::quantity::Ohms;
use solver::judge::check::Changes;
use solver::judge::sum_depth::DepthFound;
use solver::judge::tolerance::FEW_BUILDS;
use solver::judge::{Finding, FindingCode, Severity};

use super::text::{contributor, hz, line, percent, signed};
use super::{Checked, faults, stress};
use crate::words::plural;
use crate::{centres, findings, words};

/// A gain that is worth a closer part, dB.
const WORTH_BUYING_DB: f64 = 0.05;
/// A change of the sum's shape that is worth a word, dB.
const HEARD_DB: f64 = 0.2;

/// Findings that a section of the screen tells already.
fn told_above(finding: &Finding) -> bool {
    const TOLD: [FindingCode; 3] = [
        FindingCode::BuildsSpreadWidely,
        FindingCode::OutputImpedanceShapesSum,
        FindingCode::NotAssessed,
    ];
    finding.severity < Severity::Danger
        && (finding.code.is_of_fault() || TOLD.contains(&finding.code))
}

pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let mut above = Vec::new();
    heading(checked, &mut above)?;
    sound(checked, &mut above)?;
    measured_sum(checked, &mut above)?;
    load(checked, &mut above)?;
    wire(checked, &mut above)?;
    hot_coil(checked, &mut above)?;
    around(checked, &mut above)?;
    tolerance(checked, &mut above)?;
    faults::print(checked, &mut above)?;
    stress::print(checked, &mut above)?;
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
    words::heading(checked.project, out)?;
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

pub(super) fn sound(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let done = match &checked.check.assessment {
        Ok(done) => done,
        Err(why) => return line("sound", &format!("not held against an aim: {why}"), out),
    };
    let (aim, figures) = (&checked.project.aim, &done.figures);
    let text = format!(
        "{:.1} dB at 2.83 V{}; off the aim by {:.2} dB rms, {:.1} dB at most ({}){}; {} to {}",
        figures.level_db,
        match checked.project.listener {
            Some(_) => " and the listener",
            None => "",
        },
        figures.rms_db,
        figures.max_db,
        hz(figures.max_at_hz),
        match aim.judged {
            Judged::Axis => "",
            Judged::Window => ", over the listening window",
        },
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
    line("ways", &text, out)?;
    centres::line(&done.centres, out)
}

/// What a measured sum says of depth.
pub(super) fn measured_sum(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let Some(found) = checked.sum_depth else {
        return Ok(());
    };
    let depths: Vec<String> = found.crossovers.iter().map(depth_found).collect();
    let text = format!(
        "{}; {:.2} dB rms left from {} to {}, {:.2} dB as the file has it",
        depths.join("; "),
        found.rms_db,
        hz(found.from_hz),
        hz(found.to_hz),
        found.rms_as_stated_db
    );
    line("as summed", &text, out)
}

fn depth_found(found: &DepthFound) -> String {
    let [_, upper] = &found.between;
    let side = match found.farther_mm < 0.0 {
        true => "nearer",
        false => "farther back",
    };
    let turned = match found.reversed {
        true => ", and wired the other way round,",
        false => "",
    };
    let or = found.or_mm.map_or(String::new(), |mm| {
        format!(" (or {mm:+.0} mm, which this sum hardly tells from it: measure it once more with {upper} swapped)")
    });
    format!(
        "{upper} is {:.0} ±{:.0} mm {side}{turned} than the file says{or}: write back = \"{:.0} mm\"",
        found.farther_mm.abs(),
        (2.0 * found.sigma_mm).max(1.0),
        found.back_mm
    )
}

pub(super) fn load(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let Some(load) = &checked.check.load else {
        return line("load", "no current flows at any frequency", out);
    };
    let limit = match load.minimum_ohm {
        Some(limit) if load.figures.least_ohm >= limit => format!(", limit {limit:.2} Ω kept"),
        Some(limit) => format!(", BELOW the limit of {limit:.2} Ω"),
        None => String::new(),
    };
    let text = format!(
        "least of 20 Hz to 20 kHz {:.2} Ω ({}, {:.0}°){limit}; mean {:.1} Ω; for the heat of a class-B stage {:.2} Ω (EPDR, {})",
        load.figures.least_ohm,
        hz(load.figures.at_hz),
        load.figures.phase_deg,
        load.mean_ohm,
        load.figures.least_epdr_ohm,
        hz(load.figures.least_epdr_at_hz)
    );
    line("load", &text, out)?;
    if let Some(found) = &load.output_impedance {
        let only = if found.changes.system.shape_db >= HEARD_DB {
            "; right for this amplifier only"
        } else {
            ""
        };
        let text = format!(
            "{:.3} output impedance{} against 0 Ω: {}{only}",
            Ohms(found.ohm),
            found
                .at_hz
                .map_or(String::new(), |f| format!(" ({})", hz(f))),
            changes(&found.changes)
        );
        line("amplifier", &text, out)?;
    }
    for other in checked.others {
        let flat = match (other.rms_db, other.max_db) {
            (Some(rms_db), Some(max_db)) => {
                format!("; off the aim by {rms_db:.2} dB rms, {max_db:.1} dB at most")
            }
            _ => String::new(),
        };
        let text = format!(
            "on one of {} Ω: {}{flat}",
            other.ohm,
            changes(&other.changes)
        );
        line("", &text, out)?;
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

/// Other directions than the one it is judged in.
pub(super) fn around(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    if checked.check.assessment.is_err() {
        return Ok(());
    }
    let found = &checked.check.directions;
    let change = &found.vertical_change;
    let mut words = vec![format!(
        "listening window off by {:.2} dB rms (axis {:.2})",
        found.listening_window.rms_db, found.on_axis.rms_db
    )];
    if change.most_db.abs() >= 0.1 {
        words.push(format!(
            "{:.0}° {} changes up to {:+.1} dB ({})",
            change.angle_deg.abs(),
            if change.angle_deg > 0.0 { "up" } else { "down" },
            change.most_db,
            hz(change.at_hz)
        ));
    }
    // Within a few degrees of the axis it is on it, for all who sit there.
    let lobes: Vec<String> = (found.lobes.iter())
        .filter(|lobe| lobe.tilt_deg.abs() > 3.0)
        .map(|lobe| format!("{:+.0}° at {}", lobe.tilt_deg, hz(lobe.frequency_hz)))
        .collect();
    if !lobes.is_empty() {
        words.push(format!("lobes point {}", lobes.join(", ")));
    }
    line("directions", &words.join("; "), out)
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
    if found.builds < FEW_BUILDS {
        return line("tolerance", &text, out);
    }
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
