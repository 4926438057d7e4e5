//! What `pad` says of a driver whose level is set inside its filter.

use std::io::Write;

use solver::pad::{Inside, LevelStep};

use super::request::Request;
use super::text::{Written, folded, hertz, ohm, signed, step_level, title};
use crate::args::PadArguments;
use crate::words::{NOTHING_NEAR, level_changes};

/// Widths of the columns before the last ones.
const STEP: usize = 9;
const CHANGE: usize = 30;

/// One screen.
pub(super) fn screen(request: &Request, inside: &Inside, out: &mut dyn Write) -> Written {
    title(request.of_project().map(|(project, _)| project), out)?;
    let name = request.driver.as_deref().unwrap_or_default();
    let (from_hz, to_hz) = inside.band_hz;
    folded(
        &format!(
            "level of {name}, {} to {}: set inside its filter, no pad stands by itself; the network takes {:.1} dB of the bare driver",
            hertz(from_hz),
            hertz(to_hz),
            inside.taken_db,
        ),
        out,
    )?;
    writeln!(
        out,
        "\n{:<STEP$}{:>10}{:>17}{:>12}",
        "part", "value", "a tenth more", "unevenly"
    )?;
    for lever in &inside.levers {
        writeln!(
            out,
            "{:<STEP$}{:>10}{:>14} dB{:>9} dB",
            lever.part,
            lever.kind.show(lever.value_si),
            signed(lever.tenth_db, 2),
            format!("{:.2}", lever.uneven_db),
        )?;
    }
    let width = (inside
        .steps
        .iter()
        .map(|step| level_changes(step).chars().count()))
    .fold(CHANGE, usize::max)
        + 2;
    writeln!(
        out,
        "\n{:<STEP$}{:<width$}{:>8}{:>9}{:>10}{:>8}{:>10}",
        "by ear", "change, rating to buy", "level", "uneven", "sum, rms", "most", "load"
    )?;
    for step in &inside.steps {
        row(step, width, out)?;
    }
    writeln!(out)?;
    folded(
        "level: mean change over the way's band, and rms about that mean, dB; sum off its aim, dB; load: the least of the loudspeaker",
        out,
    )?;
    folded(
        &format!(
            "switch the amplifier off before you change a part: resistors stay hot for minutes, and a valve amplifier must never run without a load; \
             a pad of its own right before {name} is sized with --attenuation \"2 dB\""
        ),
        out,
    )
}

/// What was asked for that only a pad answers; `None` where nothing was.
pub(super) fn left_out(args: &PadArguments) -> Option<String> {
    let asked = [
        ("--load", args.load.is_some()),
        ("--at", !args.at.is_empty()),
        ("--hot", args.hot.is_some()),
        ("--core", args.core.is_some()),
    ];
    let asked: Vec<&str> = (asked.into_iter())
        .filter_map(|(option, said)| said.then_some(option))
        .collect();
    (!asked.is_empty()).then(|| {
        format!(
            "{} left out: only a pad that stands by itself answers that; size one with --attenuation \"2 dB\"",
            asked.join(", ")
        )
    })
}

fn row(step: &LevelStep, width: usize, out: &mut dyn Write) -> Written {
    let level = step_level(step.level_db, step.is_design());
    let Some(met) = &step.met else {
        return writeln!(out, "{level:<STEP$}{NOTHING_NEAR}");
    };
    let load = (met.speaker.load).map_or_else(String::new, |load| ohm(load.least_ohm));
    let figures = &met.speaker.figures;
    writeln!(
        out,
        "{level:<STEP$}{:<width$}{:>8}{:>9.2}{:>10.2}{:>8.2}{load:>10}",
        level_changes(step),
        signed(met.change_db, 2),
        met.uneven_db,
        figures.rms_db,
        figures.max_db,
    )
}
