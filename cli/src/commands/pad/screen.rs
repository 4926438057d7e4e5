//! One screen about a pad.

use std::io::Write;

use netlist::network::Joined;
use netlist::quantity::{Hertz, Ohms, Quantity, Watts};
use solver::pad::{
    Candidate, Extent, FeedKind, LEAST_DB, PadHeat, PartHeat, StockResistor, TOLERANCE_DB,
    rating_to_buy_w,
};
use solver::synthesis::{Pad, PadKind};

use super::work::{Column, Origin, Work};
use crate::words;

/// Frequencies side by side.
const ACROSS: usize = 7;
/// Pads from stock that are shown.
const SHOWN: usize = 3;
/// Widest line.
const WIDTH: usize = 100;

type Written = std::io::Result<()>;

pub(super) fn screen(work: &Work<'_>, out: &mut dyn Write) -> Written {
    head(work, out)?;
    table(work, out)?;
    frequencies(work, out)?;
    power(work, out)?;
    stock(work, out)?;
    steps(work, out)?;
    words::findings(&work.findings, out)
}

fn ohm(value: f64) -> String {
    format!("{:.3}", Ohms(value))
}

fn hertz(value: f64) -> String {
    format!("{:.3}", Hertz(value))
}

/// With its sign, but never as −0.
fn signed(value: f64, decimals: usize) -> String {
    let scale = 10f64.powi(decimals as i32);
    let rounded = (value * scale).round() / scale + 0.0;
    format!("{rounded:+.decimals$}")
}

/// Text folded to the width of the screen, the lines after the first indented.
fn folded(text: &str, out: &mut dyn Write) -> Written {
    let mut line = String::new();
    for word in text.split_whitespace() {
        if line.chars().count() + 1 + word.chars().count() > WIDTH {
            writeln!(out, "{line}")?;
            line = String::from(" ");
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    writeln!(out, "{line}")
}

fn watt(value: f64) -> String {
    format!("{:.2}", Watts(value))
}

/// A range without saying the unit twice.
fn range(extent: Extent, decimals: usize, unit: &str) -> String {
    format!(
        "{:.decimals$} to {:.decimals$} {unit}",
        extent.least, extent.most
    )
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
        "rated {}, in the mean {}; {ahead}\n",
        ohm(load.rated_ohm),
        ohm(load.reference_ohm)
    )
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

/// Attenuation and load against frequency.
fn frequencies(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let (load, study) = match &work.at {
        Some((load, study)) => (load, study),
        // A pad that was sized has more to show than fits on a screen.
        None if work.request.driver.is_some() && work.origin != Origin::Stock => {
            (&work.load, &work.chosen.study)
        }
        None => return Ok(()),
    };
    let shown: Vec<f64> = if work.at.is_some() {
        load.grid.f_hz().to_vec()
    } else {
        let [low, high] = load.filter_band_hz;
        let [from, to] = load.band_hz;
        let mut shown = vec![low, from, (from * to).sqrt(), to, high];
        shown.extend(load.resonance_hz.filter(|f| *f >= low && *f <= high));
        shown.sort_by(f64::total_cmp);
        shown.dedup_by(|a, b| *a / *b < 1.05);
        shown
    };
    for block in shown.chunks(ACROSS) {
        let mut row = |what: &str, cell: &dyn Fn(f64) -> String| -> Written {
            write!(out, "{what:<22}")?;
            for f_hz in block {
                write!(out, "{:>11}", cell(*f_hz))?;
            }
            writeln!(out)
        };
        row("\nat", &hertz)?;
        let magnitude = load.z_ohm.magnitude();
        let driver = if work.request.driver.is_some() {
            "driver, Ω"
        } else {
            "load, Ω"
        };
        row(driver, &|f| format!("{:.2}", load.read(&magnitude, f)))?;
        let curves = &study.curves;
        row("attenuation, dB", &|f| {
            format!("{:.2}", load.read(&curves.attenuation_db, f))
        })?;
        let seen = curves.seen_ohm.magnitude();
        row("the filter sees, Ω", &|f| {
            format!("{:.2}", load.read(&seen, f))
        })?;
    }
    Ok(())
}

fn power(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let heat: &PadHeat = &work.chosen.heat;
    let parts = [
        ("series", heat.series),
        ("shunt", heat.shunt),
        ("driver", Some(heat.driver)),
    ];
    let here = |what: &str| -> Vec<(String, PartHeat)> {
        let parts = parts.iter().filter_map(|(name, heat)| {
            let name = if *name == "driver" { what } else { name };
            Some((name.to_owned(), (*heat)?))
        });
        parts.collect()
    };
    let parts = here(work.name());
    let (whose, how) = match work.power.assumed {
        true => ("assumed", " (say --power)"),
        false => ("amplifier", ""),
    };
    write!(
        out,
        "\n{:<41}",
        format!(
            "heat, {whose} {} into {}{how}",
            watt(work.power.power_w),
            ohm(work.power.load_ohm)
        )
    )?;
    for (name, _) in &parts {
        write!(out, "{name:>19}")?;
    }
    write!(out, "\n{:<41}", "  programme noise (IEC 60268-1)")?;
    for (_, heat) in &parts {
        write!(out, "{:>19}", watt(heat.programme_w))?;
    }
    if work.request.driver.is_some() {
        write!(out, "\n{:<41}", "  steady sine, worst")?;
        for (_, heat) in &parts {
            let cell = format!("{}, {}", watt(heat.sine_w), hertz(heat.sine_at_hz));
            write!(out, "{cell:>19}")?;
        }
    }
    write!(out, "\n{:<41}", "  buy (twice programme, common practice)")?;
    let rated = work.request.project().and_then(|project| {
        let name = work.request.driver.as_deref()?;
        project.drivers[name].power.map(Quantity::si)
    });
    for (name, heat) in &parts {
        let cell = match (name == work.name(), rated) {
            (true, Some(rated)) => format!("rated {}", watt(rated)),
            (true, None) => String::new(),
            (false, _) => watt(rating_to_buy_w(heat.programme_w)),
        };
        write!(out, "{cell:>19}")?;
    }
    writeln!(out)?;
    if work
        .chosen
        .study
        .pad
        .series_ohm()
        .or(work.chosen.study.pad.shunt_ohm())
        .is_some()
    {
        writeln!(
            out,
            "caution: resistors burn skin even at half their rating; mount clear of wood, cable and capacitors"
        )?;
    }
    if let (PadKind::Autoformer, (volts_per_hertz, at_hz)) =
        (work.chosen.study.pad.kind(), heat.volts_per_hertz)
    {
        writeln!(
            out,
            "the winding gets up to {:.3} V for each hertz (at {}), its core is taken to stand {:.3} (--core)",
            volts_per_hertz,
            hertz(at_hz),
            work.request.core_v_per_hz
        )?;
        if work.request.usual_taps {
            writeln!(
                out,
                "taps as wound to order, one for each dB; say --taps for those at hand"
            )?;
        }
    }
    Ok(())
}

/// `5.6 Ω` or `6 Ω (3 + 3)`.
fn bought(resistor: &StockResistor) -> String {
    let Some(made_of) = &resistor.made_of else {
        return ohm(resistor.ohm);
    };
    let sign = match made_of.joined {
        Joined::Parallel => " ∥ ",
        Joined::Series => " + ",
    };
    let values: Vec<String> = made_of.values.iter().map(f64::to_string).collect();
    format!("{} ({})", ohm(resistor.ohm), values.join(sign))
}

fn pad_words(candidate: &Candidate) -> String {
    let pad = candidate.study.pad;
    let mut words = Vec::new();
    if let Some(ratio) = pad.ratio() {
        words.push(format!("tap {:.1} %", 100.0 * ratio));
    }
    words.extend(candidate.series.iter().map(bought));
    words.extend(
        candidate
            .shunt
            .iter()
            .map(|shunt| format!("shunt {}", bought(shunt))),
    );
    words.join(", ")
}

fn ideal_words(pad: Pad) -> String {
    let mut words = Vec::new();
    words.extend(
        pad.ratio()
            .map(|ratio| format!("tap {:.1} %", 100.0 * ratio)),
    );
    words.extend(pad.series_ohm().map(ohm));
    words.extend(pad.shunt_ohm().map(|shunt| format!("shunt {}", ohm(shunt))));
    words.join(", ")
}

fn stock(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let Some((ideal, _)) = &work.ideal else {
        return Ok(());
    };
    let stated = work.request.project().is_some_and(|project| {
        project.stock.resistors.is_some() || !project.stock.catalogue.is_empty()
    });
    let source = if stated {
        "from the stock of the file"
    } else {
        "from E24, one by one"
    };
    writeln!(
        out,
        "\n{:<38}{:>10}{:>18}{:>13}{:>10}{:>11}",
        source, "mean", "filter sees", "load off", "resistors", "hottest"
    )?;
    let line = |words: String, study: &solver::pad::Study| {
        format!(
            "{words:<38}{:>10}{:>18}",
            format!("{:.2} dB", study.mean_db),
            if study.seen.ratio() < 1.001 {
                ohm(study.seen.least)
            } else {
                range(study.seen, 2, "Ω")
            }
        )
    };
    writeln!(
        out,
        "{}",
        line(format!("  ideal: {}", ideal_words(ideal.pad)), ideal)
    )?;
    for (i, candidate) in work.candidates.iter().take(SHOWN).enumerate() {
        writeln!(
            out,
            "{}{:>13}{:>10}{:>11}",
            line(
                format!("  {}: {}", i + 1, pad_words(candidate)),
                &candidate.study
            ),
            format!("{:.2} dB", candidate.load_off_db),
            candidate.count(),
            watt(candidate.heat.hottest_w())
        )?;
    }
    folded(&why_first(work), out)
}

/// Why the first is first.
fn why_first(work: &Work<'_>) -> String {
    let wished = match work.feed.kind {
        FeedKind::Network => "what it sees now".to_owned(),
        _ => ohm(work.load.rated_ohm),
    };
    let [first, others @ ..] = work.candidates.as_slice() else {
        return String::new();
    };
    let Some(second) = others.first() else {
        return "1 is the only one".to_owned();
    };
    let mut reasons = Vec::new();
    if first.load_off_db < second.load_off_db - 0.005 {
        reasons.push(format!(
            "its load stays within {:.2} dB of {wished}, 2 is off by {:.2} dB",
            first.load_off_db, second.load_off_db
        ));
    }
    if first.count() < second.count() {
        reasons.push(format!(
            "it takes {} resistors, not {}",
            first.count(),
            second.count()
        ));
    }
    if second.worked() > 0.5 && first.worked() < second.worked() - 0.005 {
        reasons.push(format!(
            "its resistors are worked to {:.0} % of their rating, those of 2 to {:.0} %",
            100.0 * first.worked(),
            100.0 * second.worked()
        ));
    }
    let off = |c: &Candidate| (c.study.mean_db - work.wish.attenuation_db).abs();
    if reasons.is_empty() && off(first) < off(second) - 0.005 {
        reasons.push(format!(
            "its load is as good as that of 2, and its attenuation nearer ({:.2} dB off, not {:.2} dB)",
            off(first),
            off(second)
        ));
    }
    if reasons.is_empty() {
        reasons.push("no other is better in load, parts and heat together".to_owned());
    }
    let within = if off(first) <= TOLERANCE_DB {
        format!("all within {TOLERANCE_DB} dB; ")
    } else {
        String::new()
    };
    format!("  {within}1 comes first because {}", reasons.join(", and "))
}

fn steps(work: &Work<'_>, out: &mut dyn Write) -> Written {
    if work.steps.len() < 2 {
        return Ok(());
    }
    writeln!(
        out,
        "\n{:<11}{:<38}{:>11}{:>18}{:>11}",
        "by ear", "pad", "mean", "filter sees", "hottest"
    )?;
    for step in &work.steps {
        let mark = if step.design { '*' } else { ' ' };
        let level = if step.design {
            format!("{mark}design")
        } else {
            format!("{mark}{:+.0} dB", step.level_db)
        };
        let (words, study, hottest) = match (&step.candidate, step.design) {
            (Some(candidate), _) => (
                pad_words(candidate),
                &candidate.study,
                candidate.heat.hottest_w(),
            ),
            (None, true) => {
                let study = &work.chosen.study;
                let words = work
                    .best()
                    .map_or_else(|| ideal_words(study.pad), pad_words);
                (words, study, work.chosen.heat.hottest_w())
            }
            (None, false) => {
                let why = if step.wanted_db < LEAST_DB {
                    "no pad takes that little: leave it out"
                } else {
                    "nothing of the stock comes within half a decibel"
                };
                writeln!(out, "{level:<11}{why}")?;
                continue;
            }
        };
        writeln!(
            out,
            "{level:<11}{words:<38}{:>11}{:>18}{:>11}",
            format!("{:.2} dB", study.mean_db),
            if study.seen.ratio() < 1.001 {
                ohm(study.seen.least)
            } else {
                range(study.seen, 2, "Ω")
            },
            watt(hottest)
        )?;
    }
    writeln!(
        out,
        "caution: amplifier off before a part is changed; a valve amplifier must never run without a load"
    )
}
