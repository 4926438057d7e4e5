//! What was found on one screen: the verdict first.

use std::io::{Result, Write};

use netlist::project::Project;
use netlist::quantity::Hertz;
use solver::built::{Built, Heard, Hypothesis, LIKELY, Mistake, MistakeKind, Sweep};
use solver::judge::{Finding, FindingCode, Severity};

use super::Diagnosis;
use crate::{findings, words};

/// Findings that the verdict says too.
pub(super) const SAID: [FindingCode; 3] = [
    FindingCode::BuiltWrong,
    FindingCode::BuiltPerhapsWrong,
    FindingCode::AnotherLoudspeaker,
];
/// Hypotheses in the table, and of one group those that are named.
const SHOWN: usize = 5;
const SAME_SHOWN: usize = 3;
/// Less is not worth a line.
const LEAST_SHARE: f64 = 0.0005;
/// Further measurements that are named.
const NEXT_SHOWN: usize = 3;

pub(super) fn print(project: &Project, found: &Diagnosis, out: &mut dyn Write) -> Result<()> {
    let mut above = Vec::new();
    words::title(project, &mut above)?;
    if let Some(built) = &found.built {
        impedance(&found.sweeps, built, &mut above)?;
    }
    if let Some(heard) = &found.heard {
        response(heard, &mut above)?;
    }
    out.write_all(&above)?;
    // The mistake itself is the first line already, unless it can hurt.
    let rest: Vec<Finding> = (found.findings().into_iter())
        .filter(|finding| finding.severity == Severity::Danger || !SAID.contains(&finding.code))
        .collect();
    findings::on_screen(findings::lines(&above), &rest, out)?;
    Ok(())
}

fn impedance(sweeps: &[Sweep], found: &Built, out: &mut dyn Write) -> Result<()> {
    words::folded(&verdict(found), 0, out)?;
    measured(sweeps, found, out)?;
    table(found, out)?;
    if !found.next.is_empty() {
        let some: Vec<String> = (found.next.iter().take(NEXT_SHOWN))
            .map(|next| format!("{} ({:.1} bit)", next.words(), next.gain))
            .collect();
        let text = format!("\nmeasure next, what tells most first: {}", some.join("; "));
        words::folded(&text, 2, out)?;
    }
    if let Some(todo) = what_to_do(found) {
        words::folded(&format!("\n{todo}"), 2, out)?;
    }
    Ok(())
}

/// Ways and sum as they are heard.
fn response(heard: &Heard, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "\n  way        level against the drawing    polarity")?;
    for way in &heard.ways {
        let level = way
            .level_db
            .map_or("not measured".to_owned(), |db| format!("{db:+.1} dB"));
        let polarity = match (way.reversed, way.share) {
            (Some(false), Some(share)) => format!("as drawn ({})", percent(share)),
            (Some(true), Some(share)) => format!("the other ({})", percent(share)),
            _ => "needs the sum".to_owned(),
        };
        writeln!(out, "  {:<11}{level:<29}{polarity}", way.driver)?;
    }
    let Some(sum) = &heard.sum else {
        return Ok(());
    };
    let text = format!(
        "sum from {:.3} to {:.3}: {:.2} dB rms off the aim, {:+.1} dB at {:.3}",
        Hertz(sum.from_hz),
        Hertz(sum.to_hz),
        sum.rms_db,
        sum.max_db,
        Hertz(sum.max_at_hz)
    );
    words::folded(&text, 2, out)?;
    let steps: Vec<String> = (sum.steps.iter())
        .map(|step| format!("{} {:+.0} dB", step.driver, step.step_db))
        .collect();
    let text = match steps.is_empty() {
        true => "no step of a pad brings it nearer".to_owned(),
        false => format!(
            "steps of the pads that bring it nearest: {}; then {:.2} dB rms (resistors: handover report, or \
             handover pad FILE --driver NAME)",
            steps.join(", "),
            sum.after_rms_db
        ),
    };
    words::folded(&text, 2, out)
}

/// What was found, in a sentence.
pub(super) fn verdict(found: &Built) -> String {
    let first = found.hypotheses.first();
    if found.something_else > LIKELY {
        return "This curve is not that of this design with one mistake in it, nor with two: another \
                loudspeaker, another design file, or more than two mistakes."
            .to_owned();
    }
    let Some(first) = first.filter(|first| first.share > found.as_designed) else {
        return match found.as_designed > LIKELY {
            true => "Built as drawn: nothing in this measurement speaks against it.".to_owned(),
            false => "Perhaps built as drawn; the measurement does not decide it.".to_owned(),
        };
    };
    let named = &first.mistake.named;
    // Names of parts stay as they are written.
    let begun = match named.strip_prefix("the ") {
        Some(rest) => format!("The {rest}"),
        None => named.clone(),
    };
    match (first.share > LIKELY, first.same.first()) {
        (true, None) => format!("{begun}."),
        (true, Some(_)) => {
            format!("{begun}; or one of those below, which look the same from here.")
        }
        (false, _) => format!("Perhaps {named}; the measurement does not decide it."),
    }
}

fn measured(sweeps: &[Sweep], found: &Built, out: &mut dyn Write) -> Result<()> {
    let measurement = &found.measurement;
    let points: usize = sweeps.iter().map(|sweep| sweep.f_hz.len()).sum();
    let count = match sweeps.len() {
        1 => String::new(),
        count => format!("{count} sweeps, "),
    };
    let text = format!(
        "measured: {count}{points} points, {:.3} to {:.3}; noise {:.1} %; leads about {:.2} ohm; the meter \
         shows {:.1} % of what is there",
        Hertz(measurement.from_hz),
        Hertz(measurement.to_hz),
        100.0 * measurement.noise_share,
        measurement.leads_ohm.max(0.0),
        100.0 * measurement.scale
    );
    words::folded(&text, 2, out)
}

/// A share for people.
pub(super) fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p >= 99.95 => ">99.9 %".to_owned(),
        p if p < 0.05 => "<0.1 %".to_owned(),
        p => format!("{p:.1} %"),
    }
}

/// A line of the table: share, what it is, what looks the same.
type HypothesisRow = (f64, String, Vec<String>);

fn table(found: &Built, out: &mut dyn Write) -> Result<()> {
    writeln!(out, "\n  share  hypothesis")?;
    let mut rows: Vec<HypothesisRow> = (found.hypotheses.iter().take(SHOWN).enumerate())
        .filter(|(place, hypothesis)| *place == 0 || hypothesis.share > LEAST_SHARE)
        .map(|(_, hypothesis)| row(hypothesis))
        .collect();
    let drawn = "as drawn, parts within tolerance".to_owned();
    rows.push((found.as_designed, drawn, Vec::new()));
    if found.something_else > LEAST_SHARE {
        rows.push((found.something_else, "none of these".to_owned(), Vec::new()));
    }
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (share, mistake, same) in rows {
        words::folded(&format!("{:>7}  {mistake}", percent(share)), 9, out)?;
        for other in &same {
            words::folded(&format!("         = {other}"), 11, out)?;
        }
    }
    Ok(())
}

fn row(hypothesis: &Hypothesis) -> HypothesisRow {
    let same = &hypothesis.same;
    let mut named: Vec<String> = (same.iter().take(SAME_SHOWN))
        .map(|mistake| mistake.named.clone())
        .collect();
    if same.len() > SAME_SHOWN {
        named.push(format!(
            "{} more that look the same",
            same.len() - SAME_SHOWN
        ));
    }
    (hypothesis.share, hypothesis.mistake.named.clone(), named)
}

/// What to look at on the bench, with the amplifier off.
pub(super) fn what_to_do(found: &Built) -> Option<String> {
    let first = found.hypotheses.first()?;
    if found.something_else > LIKELY || first.share <= found.as_designed {
        return None;
    }
    Some(format!(
        "Amplifier off and unplugged, capacitors discharged through a resistor: {}. Then measure again.",
        look_at(&first.mistake)
    ))
}

fn look_at(mistake: &Mistake) -> String {
    let parts = mistake.parts.join(" and ");
    match mistake.kind {
        MistakeKind::Open => {
            format!("pull at both joints of {parts}, and measure through it with an ohmmeter")
        }
        MistakeKind::Shorted => format!("look for solder, wire or a lug across {parts}"),
        MistakeKind::Value => {
            format!("lift one leg of {parts}, read its marking and measure it alone")
        }
        MistakeKind::Resistance => {
            format!("measure the resistance of {parts} alone, and the thickness of its wire")
        }
        MistakeKind::Impedance => {
            format!("read the label of the driver {parts} and measure its voice coil alone")
        }
        MistakeKind::Tuning => {
            format!(
                "measure the vent of the box of {parts}, its length and its area, and look for leaks"
            )
        }
        MistakeKind::Exchanged => {
            format!("read the markings of {parts} and compare their places with the drawing")
        }
        MistakeKind::Misplaced => {
            format!("follow both ends of {parts} to their joints on the drawing")
        }
        MistakeKind::Two => format!("look at {parts} one after the other"),
    }
}
