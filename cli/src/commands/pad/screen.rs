//! One screen about a pad.

use std::io::Write;

use solver::pad::{PadAnswer, PadColumn, PadInNetwork, PadOrigin, PadSourceKind, Study};
use solver::synthesis::PadKind;

use super::listing::{frequencies, power};
use super::pairs::{SHOWN, pad_words, steps, stock};
use super::text::{
    Written, folded, hertz, impedance, impedance_and_swing, ohm, row, signed, title,
};
use crate::findings;

/// Lines of a screen.
const MOST_LINES: usize = 50;

/// What is left out where the screen would be too long; each leaves out what those before it do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Short {
    Nothing,
    /// Frequencies that nobody asked for.
    Frequencies,
    /// Reasons and ways out of the findings.
    Reasons,
    /// All pads from stock but the first.
    Stock,
}

pub(super) fn screen(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let mut text = Vec::new();
    for short in [
        Short::Nothing,
        Short::Frequencies,
        Short::Reasons,
        Short::Stock,
    ] {
        text.clear();
        write_short(answer, short, &mut text)?;
        if findings::lines(&text) <= MOST_LINES {
            break;
        }
    }
    out.write_all(&text)
}

fn write_short(answer: &PadAnswer<'_>, short: Short, out: &mut dyn Write) -> Written {
    head(answer, out)?;
    table(answer, out)?;
    if short < Short::Frequencies || answer.at.is_some() {
        frequencies(answer, out)?;
    }
    power(answer, out)?;
    stock(answer, if short < Short::Stock { SHOWN } else { 1 }, out)?;
    steps(answer, out)?;
    if short < Short::Reasons {
        findings::whole(&answer.findings, out)?;
    } else {
        findings::on_screen(MOST_LINES, &answer.findings, out)?;
    }
    if short > Short::Nothing {
        writeln!(out, "shortened to one screen; --json has all of it")?;
    }
    Ok(())
}

fn kind_words(kind: PadKind) -> &'static str {
    match kind {
        PadKind::LPad => "L-pad",
        PadKind::Series => "Series resistor",
        PadKind::ShuntSeries => "Shunt and series",
        PadKind::Autoformer => "Autoformer",
    }
}

fn head(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    title(answer.project(), out)?;
    let load = &answer.bench.load;
    let kind = kind_words(answer.chosen.study.pad.kind());
    let Some(name) = answer.driver() else {
        writeln!(out, "{kind} on a resistor of {}", ohm(load.reference_ohm))?;
        return writeln!(out);
    };
    let z_ohm = &load.z_ohm.magnitude()[load.filter_band()];
    let least = z_ohm.iter().copied().fold(f64::INFINITY, f64::min);
    let most = z_ohm.iter().copied().fold(0.0, f64::max);
    let [[from, to], [low, high]] = [load.band_hz, load.filter_band_hz].map(|band| band.map(hertz));
    let words = format!(
        "{kind} for {name}, {from} to {to}; from {low} to {high} {name} alone has {least:.1} to {most:.1} Ω"
    );
    folded(&words, out)?;
    let ahead = match answer.bench.feed.kind {
        PadSourceKind::Network => "driven by the network of the file",
        PadSourceKind::Textbook => {
            "no network yet: textbook filters (12 dB per octave) stand for it"
        }
        PadSourceKind::Amplifier => "straight on the amplifier",
    };
    let mut words = vec![
        format!("rated {}", ohm(load.rated_ohm)),
        format!("in the mean {}", ohm(load.reference_ohm)),
        ahead.to_owned(),
    ];
    let place = answer.bench.place.iter();
    words.extend(place.flat_map(|place| placed(answer, place)));
    folded(&words.join("; "), out)?;
    writeln!(out)
}

/// Where the pad stands, and what of the way it does not replace.
fn placed(answer: &PadAnswer<'_>, place: &PadInNetwork) -> Vec<String> {
    let mut words = Vec::new();
    let parts = place.parts.join(", ");
    if !answer.bench.return_lead.is_empty() {
        words.push(format!(
            "in the return lead, which is as good as before the driver: {}",
            answer.bench.return_lead.join(", ")
        ));
    }
    let across = [&*place.across, &*place.across_drivers].concat();
    for (parts, what) in [
        (&place.bridge, "the series resistor"),
        (&across, "the driver"),
    ] {
        if !parts.is_empty() {
            words.push(format!("across {what}, and counted: {}", parts.join(", ")));
        }
    }
    if place.tail {
        words.push(format!(
            "behind the pad, and counted in attenuation and load: {}",
            place.behind.join(", ")
        ));
    }
    if place.ahead_of_filter() {
        let of = match place.at_amplifier() {
            true => "before the filter",
            false => "before a part of the filter",
        };
        words.push(format!(
            "the pad {parts} stands {of}: its load is what follows, with the driver"
        ));
    }
    let stays = place.stays.join(", ");
    let stay = if place.stays.len() == 1 {
        "stays"
    } else {
        "stay"
    };
    match (
        answer.added(),
        answer.question.goal.origin(),
        place.stays.is_empty(),
    ) {
        (true, _, true) => words.push("added right before the driver".to_owned()),
        (true, _, false) => words.push(format!(
            "{stays} {stay} in place: this pad is added behind, right before the driver"
        )),
        (false, PadOrigin::AsBuilt, true) => {}
        (false, PadOrigin::AsBuilt, false) => words.push(format!("not of the pad: {stays}")),
        (false, _, true) => words.push(format!("in place of {parts}")),
        (false, _, false) => words.push(format!("in place of {parts}; {stays} {stay}")),
    }
    words
}

/// Columns of the table: heading and pad.
fn columns<'a>(answer: &'a PadAnswer<'_>) -> Vec<(String, &'a PadColumn)> {
    let mut columns = Vec::new();
    if let Some(built) = &answer.built {
        columns.push(("in the file".to_owned(), built));
    }
    let chosen = match answer.question.goal.origin() {
        PadOrigin::Stock => "from stock",
        PadOrigin::Given => "as given",
        PadOrigin::AsBuilt => "in the file",
    };
    columns.push((chosen.to_owned(), &answer.chosen));
    if let Some(textbook) = &answer.textbook {
        let heading = format!("textbook for {}", ohm(answer.bench.load.rated_ohm));
        columns.push((heading, textbook));
    }
    columns
}

/// Width of the words before a row of the table, and of its columns.
const ROW_WIDTH: usize = 28;
const COLUMN_WIDTH: usize = 23;

fn table(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let columns = columns(answer);
    let mut line_of = |what: &str, cells: Vec<String>| -> Written {
        // A row that says nothing is left out.
        if cells.iter().all(String::is_empty) {
            return Ok(());
        }
        // A cell that is too wide takes its room from the words before it.
        let wider = |cell: &String| cell.chars().count().saturating_sub(COLUMN_WIDTH);
        let width = ROW_WIDTH.saturating_sub(cells.iter().map(wider).sum());
        let cell = |cell: &String| format!(" {cell:>COLUMN_WIDTH$}");
        row((what, width), (&cells, 0), cell, &mut *out)
    };
    if columns.len() > 1 {
        line_of(
            "",
            columns.iter().map(|(heading, _)| heading.clone()).collect(),
        )?;
    }
    let mut line = |what: &str, cell: &dyn Fn(&PadColumn) -> String| {
        line_of(
            what,
            columns.iter().map(|(_, column)| cell(column)).collect(),
        )
    };
    let pad = match (&answer.bench.place, answer.question.goal.origin()) {
        (Some(place), PadOrigin::AsBuilt) => format!("pad {}", place.parts.join(", ")),
        _ => "pad".to_owned(),
    };
    line(&pad, &|c| pad_words(c.study.pad))?;
    match answer.driver().is_some() {
        true => line("attenuation, most off, dB", &|c| most_off(&c.study))?,
        false => line("attenuation", &|c| format!("{:.2} dB", c.study.mean_db))?,
    }
    if columns.iter().any(|(_, column)| column.change.is_some()) {
        let level = match (answer.bench.feed.kind, answer.added()) {
            (PadSourceKind::Network, true) => "level against no pad",
            (PadSourceKind::Network, false) => "level at the driver",
            _ => "level off the textbook's",
        };
        line(level, &|c| match &c.change {
            Some(change) => format!("{} dB", signed(change.level_db, 2)),
            None => "as it is".to_owned(),
        })?;
    }
    let seen_by = answer.seen_by();
    line(&format!("{seen_by} sees, swing"), &|c| {
        impedance_and_swing(c.study.seen)
    })?;
    line("driver sees looking back", &|c| impedance(c.study.source))?;
    for (i, (crossover_hz, _)) in answer.bench.load.crossovers.iter().enumerate() {
        let what = format!("crossover {} moves", hertz(*crossover_hz));
        line(&what, &|c| crossover_cell(answer, c, i))?;
    }
    let other = columns.iter().find_map(|(_, c)| c.change.as_ref());
    line("peak of the way over mean", &|c| match (&c.change, other) {
        (Some(change), _) => format!("{} dB", signed(change.peak_db, 1)),
        (None, Some(other)) => format!("{} dB", signed(other.peak_before_db, 1)),
        (None, None) => String::new(),
    })?;
    line("sum off its aim, rms, most", &|c| match &c.speaker {
        Some(speaker) => format!(
            "{:.2}, {:.2} dB",
            speaker.figures.rms_db, speaker.figures.max_db
        ),
        None => String::new(),
    })?;
    if let Some(hot) = answer.hot {
        writeln!(
            out,
            "voice coil {:.0} K hotter: {:+.1} dB ({:+.1} dB without a pad), attenuation {:.2} dB",
            hot.rise_k, hot.level_db, hot.level_without_pad_db, hot.mean_db
        )?;
    }
    Ok(())
}

/// How far a crossover moves with a pad.
fn crossover_cell(answer: &PadAnswer<'_>, column: &PadColumn, crossover: usize) -> String {
    let Some(change) = &column.change else {
        // The pad that the others are compared with.
        let compared = answer.textbook.is_some() || answer.built.is_some();
        return if compared { "as it is" } else { "" }.to_owned();
    };
    let crossover = change.crossovers[crossover];
    let change_db = signed(crossover.change_db, 2);
    match crossover.shift_hz {
        Some(shift_hz) => format!("{change_db} dB, {} Hz", signed(shift_hz, 0)),
        None => format!("{change_db} dB"),
    }
}

/// The attenuation, and how far it is off that where it is most.
fn most_off(study: &Study) -> String {
    let (off_db, at_hz) = study.departure();
    match signed(off_db, 2).as_str() {
        "+0.00" => format!("{:.2}, even", study.mean_db),
        off => format!("{:.2}, {off}, {}", study.mean_db, hertz(at_hz)),
    }
}
