//! Pads as the screen of `pad` lists them: from stock with what put the first in front, and in steps by ear.

use std::io::Write;

use solver::pad::{Candidate, Criterion, PadAnswer, PadSourceKind, Study, TOLERANCE_DB};
use solver::stock::Choice;
use solver::synthesis::Pad;

use super::text::{Written, folded, impedance, ohm, signed, step_level};
use crate::words::{bought, no_pad, watts};

/// Pads from stock that are shown.
pub(super) const SHOWN: usize = 3;
/// Width of the level of a step by ear.
const STEP_WIDTH: usize = 8;
/// Width of a pad's words.
const PAD_WIDTH: usize = 38;

fn candidate_words(candidate: &Candidate) -> String {
    let resistor = |resistor: &Option<Choice>| resistor.as_ref().map(|r| bought(r, ohm));
    let ratio = candidate.study.pad.ratio();
    words(
        ratio,
        resistor(&candidate.series),
        resistor(&candidate.shunt),
    )
}

/// A pad by its values.
pub(super) fn pad_words(pad: Pad) -> String {
    words(
        pad.ratio(),
        pad.series_ohm().map(ohm),
        pad.shunt_ohm().map(ohm),
    )
}

fn words(ratio: Option<f64>, series: Option<String>, shunt: Option<String>) -> String {
    let tap = ratio.map(|ratio| format!("tap {:.1} %", 100.0 * ratio));
    let shunt = shunt.map(|shunt| format!("shunt {shunt}"));
    let words: Vec<String> = [tap, series, shunt].into_iter().flatten().collect();
    words.join(", ")
}

/// What another pad in this place should keep, in a heading of the table.
fn kept(answer: &PadAnswer<'_>) -> String {
    match (answer.bench.load.ahead_of_filter, answer.bench.feed.kind) {
        (true, _) => "source off".to_owned(),
        (false, PadSourceKind::Network) => "off load now".to_owned(),
        (false, _) => format!("off {}", ohm(answer.bench.load.rated_ohm)),
    }
}

/// The start of a line: words of a pad with mean and load; long words get a line of their own.
fn line(words: &str, study: &Study) -> String {
    let apart = if words.chars().count() > PAD_WIDTH {
        format!("\n{:PAD_WIDTH$}", "")
    } else {
        String::new()
    };
    format!(
        "{words:<PAD_WIDTH$}{apart}{:>10}{:>18}",
        format!("{:.2} dB", study.mean_db),
        impedance(study.seen)
    )
}

/// The first `most` pads from stock.
pub(super) fn stock(answer: &PadAnswer<'_>, most: usize, out: &mut dyn Write) -> Written {
    let Some(ideal) = &answer.ideal else {
        return Ok(());
    };
    let stated = answer.project().is_some_and(|project| {
        project.stock.resistors.is_some() || !project.stock.catalogue.is_empty()
    });
    let source = if stated { "stock" } else { "E24" };
    let shown = answer.candidates.iter().take(most);
    let priced = shown.clone().any(|candidate| candidate.price().is_some());
    let price = |text: String| {
        if priced {
            format!("{text:>7}")
        } else {
            String::new()
        }
    };
    writeln!(
        out,
        "\n{:<PAD_WIDTH$}{:>10}{:>18}{:>13}{:>6}{:>8}{}",
        format!("{source} (ideal {})", pad_words(ideal.pad)),
        "mean",
        format!("{} sees", answer.seen_by().trim_start_matches("the ")),
        kept(answer),
        "parts",
        "hottest",
        price("price".to_owned())
    )?;
    for (i, candidate) in shown.enumerate() {
        let words = format!("  {}: {}", i + 1, candidate_words(candidate));
        let cost = candidate
            .price()
            .map_or_else(String::new, |price| format!("{price:.2}"));
        writeln!(
            out,
            "{}{:>13}{:>6}{:>8}{}",
            line(&words, &candidate.study),
            format!("{:.2} dB", candidate.cost.load_db),
            candidate.count(),
            watts(candidate.study.heat.hottest_w()),
            price(cost)
        )?;
    }
    if most < SHOWN && answer.candidates.len() > 1 {
        return Ok(());
    }
    folded(&why_first(answer), out)
}

/// What put the first in front of each of the others that are shown.
fn why_first(answer: &PadAnswer<'_>) -> String {
    let [first, others @ ..] = answer.candidates.as_slice() else {
        return String::new();
    };
    let wanted_db = answer.target.attenuation_db;
    let off = |c: &Candidate| (c.study.mean_db - wanted_db).abs();
    let within = if off(first) <= TOLERANCE_DB {
        format!("all within {TOLERANCE_DB} dB; ")
    } else {
        String::new()
    };
    let price = |c: &Candidate| c.price().map(|price| format!("{price:.2}"));
    // The figure that decided, and what it is of both pads.
    let before = |other: &Candidate| {
        let (what, figure): (&str, &dyn Fn(&Candidate) -> String) =
            match first.before(other, wanted_db) {
                Some(Criterion::Load) => match answer.bench.load.ahead_of_filter {
                    true => ("change of source", &|c| format!("{:.2} dB", c.cost.load_db)),
                    false => ("change of load", &|c| format!("{:.2} dB", c.cost.load_db)),
                },
                Some(Criterion::LeastLoad) => ("least load", &|c| ohm(c.study.seen.least)),
                Some(Criterion::Resistors) => ("number of parts", &|c| c.count().to_string()),
                Some(Criterion::Power) => ("power over rating", &|c| {
                    format!("{:.0} %", 100.0 * c.worked())
                }),
                Some(Criterion::Attenuation) => {
                    ("error of attenuation", &|c| format!("{:.2} dB", off(c)))
                }
                Some(Criterion::Price) => ("price", &|c| {
                    price(c).unwrap_or_else(|| "unknown".to_owned())
                }),
                Some(Criterion::Heat) => ("heat", &|c| watts(c.study.heat.hottest_w())),
                None => ("order only", &|_| "as good".to_owned()),
            };
        (what, figure(first), figure(other))
    };
    let by: Vec<_> = others.iter().take(SHOWN - 1).map(before).collect();
    let reason = match by.as_slice() {
        [] => "1 is the only one".to_owned(),
        [(what, own, second), (other, _, third)] if what == other => {
            format!("1 is first by {what}: {own} against {second} and {third}")
        }
        several => {
            let reasons = several.iter().zip(2..).map(|((what, own, its), number)| {
                format!("before {number} by {what} ({own} against {its})")
            });
            format!("1 is {}", reasons.collect::<Vec<_>>().join(", "))
        }
    };
    format!("  {within}{reason}")
}

pub(super) fn steps(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    if answer.steps.len() < 2 {
        return Ok(());
    }
    let sees = format!("{} sees", answer.seen_by().trim_start_matches("the "));
    writeln!(
        out,
        "\n{:<STEP_WIDTH$}{:<PAD_WIDTH$}{:>10}{sees:>18}{:>13}{:>10}",
        "by ear", "pad", "mean", "level", "hottest"
    )?;
    for step in &answer.steps {
        let level = step_level(step.level_db, step.design);
        let Some(study) = step.shown(&answer.chosen.study) else {
            let why = no_pad(step, answer.chosen.study.pad.kind());
            writeln!(out, "{level:<STEP_WIDTH$}{why}")?;
            continue;
        };
        let bought = step.candidate.as_ref().or(answer.best());
        let words = bought.map_or_else(|| pad_words(study.pad), candidate_words);
        let shown = line(&words, study).replace('\n', &format!("\n{:STEP_WIDTH$}", ""));
        let change = step.change_db.map_or_else(String::new, |change_db| {
            let mark = if step.met() { ' ' } else { '!' };
            match step.design {
                true => "0 dB ".to_owned(),
                false => format!("{} dB{mark}", signed(change_db, 2)),
            }
        });
        writeln!(
            out,
            "{level:<STEP_WIDTH$}{shown}{change:>13}{:>10}",
            watts(study.heat.hottest_w())
        )?;
    }
    if (answer.steps.iter()).any(|step| step.change_db.is_some() && !step.met()) {
        writeln!(
            out,
            "! more than {TOLERANCE_DB} dB off its step: the stock comes no nearer"
        )?;
    }
    writeln!(
        out,
        "caution: amplifier off before a part is changed; a valve amplifier must never run without a load"
    )
}
