//! Snapping on one screen.

use std::io::{Result, Write};

use solver::search::{Choice, Known, SHORTLIST, SnapMerit, Snapped};

use super::Shown;
use crate::{figures, words};

pub(super) fn print(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    let snapped = shown.snapped;
    if let Some(title) = &shown.project.title {
        writeln!(out, "{title}")?;
    }
    if let Some(note) = &shown.project.note {
        words::folded(note, 0, out)?;
    }
    writeln!(
        out,
        "{} parts moved onto the stock; {} choices looked at in {:.1} s\n",
        snapped.parts.len(),
        grouped(snapped.looked_at),
        shown.seconds
    )?;
    parts(shown, out)?;
    let taken = &shown.offers[shown.pick - 1].1;
    let rows = [
        ("in the file", &shown.before.figures),
        ("nearest", &shown.nearest.figures),
        ("chosen", &taken.figures),
    ];
    figures::table(&shown.assessment.job, &rows, out)?;
    let most_at_hz = taken.figures.max_at_hz;
    figures::legend(&shown.assessment.alignments, most_at_hz, &taken.load, out)?;
    if let Some(sentence) = gained(snapped) {
        words::folded(&sentence, 0, out)?;
    }
    words::folded(&known(snapped.known, shown.window), 0, out)?;
    offers(shown, out)
}

/// One line a part: value in the file, nearest, chosen.
fn parts(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    let names = shown
        .network
        .parts()
        .keys()
        .map(|name| name.chars().count());
    let width = names.max().unwrap_or(0).max(4) + 2;
    writeln!(
        out,
        "{:<width$}{:>11}{:>11}  {:<28}{:>7}  name in the catalogue",
        "part", "in the file", "nearest", "chosen", "off"
    )?;
    for (number, part) in shown.snapped.parts.iter().enumerate() {
        let (name, _) =
            (shown.network.parts().get_index(part.part)).expect("a part of the network");
        let choice = taken(shown, number);
        let nearest = &part.choices[shown.snapped.nearest.chosen[number]];
        let line = format!(
            "{name:<width$}{:>11}{:>11}  {:<28}{:>7}  {}",
            part.kind.show(part.ideal_si),
            part.kind.show(nearest.value_si),
            words::made_of(part.kind, choice.value_si, choice.made_of.as_ref()),
            format!("{:+.1} %", 100.0 * (choice.value_si / part.ideal_si - 1.0)),
            catalogue_names(shown, choice),
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    let kept: Vec<&str> = (shown.snapped.kept.iter())
        .filter_map(|&part| shown.network.parts().get_index(part))
        .map(|(name, _)| name.as_str())
        .collect();
    if !kept.is_empty() {
        let text = format!(
            "kept out of the search (fixed, coupled, or nothing of their kind in the stock): {}",
            kept.join(", ")
        );
        words::folded(&text, 0, out)?;
    }
    Ok(())
}

/// The choice of a part in the selection that is taken.
pub(super) fn taken<'a>(shown: &Shown<'a>, number: usize) -> &'a Choice {
    let snapped = shown.snapped;
    let selection = match shown.pick {
        1 => &snapped.best,
        pick => &snapped.alternatives[pick - 2].1,
    };
    &snapped.parts[number].choices[selection.chosen[number]]
}

pub(super) fn catalogue_names(shown: &Shown<'_>, choice: &Choice) -> String {
    let items = &shown.project.stock.catalogue;
    let names = choice.items.iter().map(|&(item, count)| match count {
        1 => items[item].name.clone(),
        _ => format!("{count} x {}", items[item].name),
    });
    names.collect::<Vec<_>>().join(" + ")
}

/// How much of what the nearest values add to the goal is saved.
pub(super) fn removed(snapped: &Snapped) -> Option<f64> {
    let added = snapped.nearest.cost - snapped.ideal_cost;
    let left = snapped.best.cost - snapped.ideal_cost;
    (added.is_finite() && added > 1e-3).then(|| 1.0 - left / added)
}

fn gained(snapped: &Snapped) -> Option<String> {
    let removed = removed(snapped)?;
    Some(if removed >= 1.0 {
        "better than with the values of the file: the stock happens to suit it".to_owned()
    } else {
        format!(
            "of the error that the nearest values add, the choice leaves {:.0} % and removes {:.0} %",
            100.0 * (1.0 - removed),
            100.0 * removed
        )
    })
}

pub(super) fn known(known: Known, window: u32) -> String {
    match known {
        Known::Proven => format!(
            "proven: every combination of all parts within ±{window} values of the nearest was looked at, and \
             none is better"
        ),
        Known::WayByWay => format!(
            "proven: within ±{window} values of the nearest no other choice in any one way, the others as \
             they are, is better, nor any combination of the best {SHORTLIST} of each way; combinations \
             of what is worse in its way were not looked at"
        ),
        Known::OneOrTwoParts => format!(
            "no exchange of one or two parts within ±{window} values is better; the ways have too many \
             parts to look at every combination: a smaller --window looks at all of it"
        ),
        Known::BestExpected => "least expected error over builds within tolerance, among the best \
             choices of each way and these together; nothing is proven about others"
            .to_owned(),
    }
}

fn offers(shown: &Shown<'_>, out: &mut dyn Write) -> Result<()> {
    if shown.offers.len() < 2 {
        return Ok(());
    }
    writeln!(out, "\nchoices (--pick)")?;
    for (i, (merit, judged)) in shown.offers.iter().enumerate() {
        let mark = if i + 1 == shown.pick { '*' } else { ' ' };
        let price = (judged.price).map_or(String::new(), |price| format!("  price {price:.2}"));
        writeln!(
            out,
            "{mark}{} {:<16}{:>3} to buy  {:.2} dB rms {:.2} dB most  {:>5.2} ohm least{price}",
            i + 1,
            merit_words(*merit),
            judged.pieces.unwrap_or(0),
            judged.figures.rms_db,
            judged.figures.max_db,
            judged.load.least_ohm,
        )?;
    }
    Ok(())
}

fn merit_words(merit: Option<SnapMerit>) -> &'static str {
    match merit {
        None => "best",
        Some(SnapMerit::Cheapest) => "cheapest as good",
        Some(SnapMerit::SinglesOnly) => "no joined parts",
        Some(SnapMerit::RunnerUp) => "runner-up",
    }
}

/// A number with its thousands apart.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out
}
