//! One screen about a pad.

use std::io::Write;

use solver::pad::{Extent, FeedKind, PadInNetwork};
use solver::synthesis::PadKind;

use super::listing::{frequencies, power, steps, stock};
use super::text::{Written, folded, hertz, ohm, range, signed};
use super::work::{Column, Origin, Work};
use crate::words;

pub(super) fn screen(work: &Work<'_>, out: &mut dyn Write) -> Written {
    head(work, out)?;
    table(work, out)?;
    frequencies(work, out)?;
    power(work, out)?;
    stock(work, out)?;
    steps(work, out)?;
    words::findings(&work.findings, out)
}

fn kind_words(kind: PadKind) -> &'static str {
    match kind {
        PadKind::LPad => "L-pad",
        PadKind::Series => "Series resistor",
        PadKind::ShuntSeries => "Shunt and series",
        PadKind::Autoformer => "Autoformer",
    }
}

fn head(work: &Work<'_>, out: &mut dyn Write) -> Written {
    if let Some(project) = work.request.project() {
        if let Some(title) = &project.title {
            writeln!(out, "{}", title.replace(char::is_control, " "))?;
        }
        if let Some(note) = &project.note {
            writeln!(out, "{}", note.replace(char::is_control, " "))?;
        }
    }
    let load = &work.load;
    let kind = kind_words(work.chosen.study.pad.kind());
    match &work.request.driver {
        None => writeln!(out, "{kind} on a resistor of {}", ohm(load.reference_ohm))?,
        Some(name) => {
            let z = load.z_ohm.magnitude();
            let band = load.filter_band();
            let least = z[band.clone()]
                .iter()
                .copied()
                .fold(f64::INFINITY, f64::min);
            let most = z[band].iter().copied().fold(0.0, f64::max);
            writeln!(
                out,
                "{kind} for {name}, {} to {}; from {} to {} {name} alone has {least:.1} to {most:.1} Ω",
                hertz(load.band_hz[0]),
                hertz(load.band_hz[1]),
                hertz(load.filter_band_hz[0]),
                hertz(load.filter_band_hz[1]),
            )?;
        }
    }
    let ahead = match work.feed.kind {
        FeedKind::Network => "driven by the network of the file",
        FeedKind::Textbook => "no network yet: textbook filters (12 dB per octave) stand for it",
        FeedKind::Amplifier => return writeln!(out),
    };
    writeln!(
        out,
        "rated {}, in the mean {}; {ahead}",
        ohm(load.rated_ohm),
        ohm(load.reference_ohm)
    )?;
    if let Some(place) = &work.place {
        for (parts, what) in [
            (&place.bridge, "the series resistor"),
            (&place.across, "the driver"),
        ] {
            if !parts.is_empty() {
                writeln!(out, "across {what}, and counted: {}", parts.join(", "))?;
            }
        }
        placed(work, place, out)?;
    }
    writeln!(out)
}

/// Where the pad stands, and what of the way it does not replace.
fn placed(work: &Work<'_>, place: &PadInNetwork, out: &mut dyn Write) -> Written {
    let mut words = Vec::new();
    let parts = place.parts.join(", ");
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
    match (work.added(), work.origin, place.stays.is_empty()) {
        (true, _, true) => words.push("added right before the driver".to_owned()),
        (true, _, false) => words.push(format!(
            "{stays} {stay} in place: this pad is added behind, right before the driver"
        )),
        (false, Origin::AsBuilt, true) => {}
        (false, Origin::AsBuilt, false) => words.push(format!("not of the pad: {stays}")),
        (false, _, true) => words.push(format!("in place of {parts}")),
        (false, _, false) => words.push(format!("in place of {parts}; {stays} {stay}")),
    }
    if words.is_empty() {
        return Ok(());
    }
    folded(&words.join("; "), out)
}

/// Columns of the table: heading and pad.
fn columns<'a>(work: &'a Work<'_>) -> Vec<(String, &'a Column)> {
    let mut columns = Vec::new();
    if let Some(built) = &work.built {
        columns.push(("in the file".to_owned(), built));
    }
    let chosen = match work.origin {
        Origin::Stock => "from stock",
        Origin::Given => "as given",
        Origin::AsBuilt => "in the file",
    };
    columns.push((chosen.to_owned(), &work.chosen));
    if let Some(textbook) = &work.textbook {
        let heading = format!("textbook for {}", ohm(work.load.rated_ohm));
        columns.push((heading, textbook));
    }
    columns
}

fn table(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let columns = columns(work);
    let mut row = |what: &str, cell: &dyn Fn(&Column) -> String| -> Written {
        let cells: Vec<String> = columns.iter().map(|(_, column)| cell(column)).collect();
        // A row that says nothing is left out.
        if cells.iter().all(String::is_empty) {
            return Ok(());
        }
        write!(out, "{what:<31}")?;
        for cell in cells {
            write!(out, "{cell:>23}")?;
        }
        writeln!(out)
    };
    let heading = |column: &Column| {
        let found = columns.iter().find(|(_, of)| std::ptr::eq(*of, column));
        found.map_or_else(String::new, |(heading, _)| heading.clone())
    };
    if columns.len() > 1 {
        row("", &heading)?;
    }
    let part = |value: Option<f64>| value.map_or_else(String::new, ohm);
    if let (Some(place), true) = (&work.place, work.origin == Origin::AsBuilt) {
        let mut names = place.parts.iter().map(String::as_str);
        let (series, shunt) = match work.chosen.study.pad.kind() {
            PadKind::ShuntSeries => {
                let shunt = names.next();
                (names.next(), shunt)
            }
            PadKind::Autoformer => (None, names.nth(1)),
            PadKind::LPad | PadKind::Series => (names.next(), names.next()),
        };
        let labelled = |what: &str, name: Option<&str>| match name {
            Some(name) => format!("{what}, {name}"),
            None => what.to_owned(),
        };
        row(&labelled("series resistor", series), &|c| {
            part(c.study.pad.series_ohm())
        })?;
        row(&labelled("shunt resistor", shunt), &|c| {
            part(c.study.pad.shunt_ohm())
        })?;
    } else {
        row("series resistor", &|c| part(c.study.pad.series_ohm()))?;
        row("shunt resistor", &|c| part(c.study.pad.shunt_ohm()))?;
    }
    row("tap", &|c| match c.study.pad.ratio() {
        Some(ratio) => format!("{:.1} % of the turns", 100.0 * ratio),
        None => String::new(),
    })?;
    if work.request.driver.is_some() {
        row("attenuation, mean (range), dB", &|c| {
            let Extent { least, most, .. } = c.study.attenuation;
            format!("{:.2} ({least:.2} to {most:.2})", c.study.mean_db)
        })?;
    } else {
        row("attenuation", &|c| format!("{:.2} dB", c.study.mean_db))?;
    }
    row("the filter sees", &|c| {
        if c.study.seen.ratio() < 1.001 {
            return ohm(c.study.seen.least);
        }
        range(c.study.seen, 2, "Ω")
    })?;
    row("the driver sees looking back", &|c| {
        if c.study.source.ratio() < 1.001 {
            return ohm(c.study.source.least);
        }
        range(c.study.source, 2, "Ω")
    })?;
    let as_is = |column: &Column| {
        // The pad that the others are compared with.
        let compared = work.textbook.is_some() || work.built.is_some();
        if compared && column.change.is_none() {
            "as it is"
        } else {
            ""
        }
        .to_owned()
    };
    for (i, (crossover_hz, _)) in work.load.crossovers.iter().enumerate() {
        row(&format!("crossover {} moves", hertz(*crossover_hz)), &|c| {
            let Some(change) = &c.change else {
                return as_is(c);
            };
            let crossover = change.crossovers[i];
            match crossover.shift_hz {
                Some(shift_hz) => {
                    format!(
                        "{} dB, {} Hz",
                        signed(crossover.change_db, 2),
                        signed(shift_hz, 0)
                    )
                }
                None => format!("{} dB", signed(crossover.change_db, 2)),
            }
        })?;
    }
    let other = columns.iter().find_map(|(_, c)| c.change.as_ref());
    row(
        "peak of the way over its mean",
        &|c| match (&c.change, other) {
            (Some(change), _) => format!("{} dB", signed(change.peak_after.0, 1)),
            (None, Some(other)) => format!("{} dB", signed(other.peak_before.0, 1)),
            (None, None) => String::new(),
        },
    )?;
    if work.feed.kind == FeedKind::Network {
        row("level of the way", &|c| match &c.change {
            Some(change) => format!("{} dB", signed(change.level_db, 2)),
            None => as_is(c),
        })?;
    }
    row("sum off its aim, rms and most", &|c| match &c.speaker {
        Some(speaker) => format!(
            "{:.2} and {:.2} dB",
            speaker.figures.rms_db, speaker.figures.max_db
        ),
        None => String::new(),
    })?;
    row("sum changes by up to", &|c| match c.speaker_change {
        Some(change) => format!(
            "{:+.2} dB, {}",
            change.largest_db,
            hertz(change.largest_at_hz)
        ),
        None => String::new(),
    })?;
    row("least load on the amplifier", &|c| {
        let load = c.speaker.as_ref().and_then(|speaker| speaker.load);
        load.map_or_else(String::new, |load| {
            format!("{}, {}", ohm(load.least_ohm), hertz(load.at_hz))
        })
    })?;
    if let Some(hot) = work.hot {
        writeln!(
            out,
            "voice coil {:.0} K hotter: {:+.1} dB ({:+.1} dB without a pad), attenuation {:.2} dB",
            hot.rise_k, hot.level_db, hot.level_without_pad_db, hot.mean_db
        )?;
    }
    Ok(())
}
