//! What the screen of `pad` lists below its table: frequencies and heat.

use std::io::Write;

use netlist::quantity::{Henries, Volts, Watts};
use solver::pad::{PadAnswer, PadHeat, PadOrigin, PartHeat, WindingOrigin, to_buy};
use solver::synthesis::PadKind;

use super::text::{Written, folded, hertz, ohm};
use crate::words::watts;

/// Frequencies side by side.
const ACROSS: usize = 7;

/// Attenuation and load against frequency.
pub(super) fn frequencies(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let (load, study) = match &answer.at {
        Some((load, study)) => (load, study),
        None if answer.driver().is_some() => (&answer.bench.load, &answer.chosen.study),
        None => return Ok(()),
    };
    let shown: Vec<f64> = if answer.at.is_some() {
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
            let width = if what.starts_with('\n') { 24 } else { 23 };
            write!(out, "{what:<width$}")?;
            for f_hz in block {
                write!(out, "{:>11}", cell(*f_hz))?;
            }
            writeln!(out)
        };
        // A pad that was sized has more to show than fits on a screen.
        let all = answer.origin != PadOrigin::Stock || answer.at.is_some();
        row(if all { "\nat" } else { "at" }, &hertz)?;
        if all {
            let magnitude = load.z_ohm.magnitude();
            let driver = match answer.driver() {
                Some(_) => "driver, Ω",
                None => "load, Ω",
            };
            row(driver, &|f| format!("{:.2}", load.read(&magnitude, f)))?;
        }
        let curves = &study.curves;
        row("attenuation, dB", &|f| {
            format!("{:.2}", load.read(&curves.attenuation_db, f))
        })?;
        if !all {
            continue;
        }
        let seen = curves.seen_ohm.magnitude();
        row(&format!("{} sees, Ω", answer.seen_by()), &|f| {
            format!("{:.2}", load.read(&seen, f))
        })?;
    }
    Ok(())
}

pub(super) fn power(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let heat: &PadHeat = &answer.chosen.heat;
    let [series, shunt] = answer.shares();
    let resistor = |name: &'static str, heat: Option<PartHeat>, shares: &[f64]| {
        heat.map(|heat| (name, heat, to_buy(&heat, shares)))
    };
    let rated = answer.driver_rated_w();
    let rated = rated.map_or_else(String::new, |rated| format!("rated {}", Watts(rated)));
    let parts: Vec<(&str, PartHeat, String)> = [
        resistor("series", heat.series, &series),
        resistor("shunt", heat.shunt, &shunt),
        Some((answer.name(), heat.driver, rated)),
    ]
    .into_iter()
    .flatten()
    .collect();
    let (whose, how) = match answer.bench.loudness.stated {
        true => ("amplifier", ""),
        false => ("assumed", " (say --power)"),
    };
    write!(
        out,
        "\n{:<41}",
        format!(
            "heat, {whose} {} into {}{how}",
            Watts(answer.bench.loudness.power_w),
            ohm(answer.bench.loudness.load_ohm)
        )
    )?;
    for (name, ..) in &parts {
        write!(out, "{name:>19}")?;
    }
    write!(out, "\n{:<41}", "  programme noise (IEC 60268-1)")?;
    for (_, heat, _) in &parts {
        write!(out, "{:>19}", watts(heat.programme_w))?;
    }
    if answer.driver().is_some() {
        write!(out, "\n{:<41}", "  steady sine, worst")?;
        for (_, heat, _) in &parts {
            let cell = format!("{}, {}", watts(heat.sine_w), hertz(heat.sine_at_hz));
            write!(out, "{cell:>19}")?;
        }
    }
    if parts.iter().any(|(.., to_buy)| !to_buy.is_empty()) {
        let mut line = format!("{:<41}", "  buy, with margin (common practice)");
        for (.., to_buy) in &parts {
            line += &format!("{to_buy:>19}");
        }
        write!(out, "\n{}", line.trim_end())?;
    }
    writeln!(out)?;
    let pad = answer.chosen.study.pad;
    if pad.series_ohm().or(pad.shunt_ohm()).is_some() {
        writeln!(
            out,
            "caution: resistors burn skin even at half their rating; mount clear of wood, cable and capacitors"
        )?;
    }
    match pad.kind() {
        PadKind::Autoformer => core(answer, out),
        _ => Ok(()),
    }
}

/// What an autoformer is taken as, and what its core must stand.
fn core(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let from = match answer.winding_from() {
        WindingOrigin::Ideal => "taken as ideal",
        WindingOrigin::File => "as in the file",
        WindingOrigin::Stock => "of the stock",
        WindingOrigin::Assumed => "assumed",
    };
    let winding = answer
        .bench
        .load
        .winding
        .as_ref()
        .map_or_else(String::new, |winding| {
            format!(
                " {:.3}, {}",
                Henries(winding.inductance_h),
                ohm(winding.dcr_ohm)
            )
        });
    let (volts_per_hertz, at_hz) = answer.chosen.heat.volts_per_hertz;
    let per_hertz = |volts: f64| format!("{:.2}/Hz", Volts(volts));
    let core = format!(
        "winding{winding} {from}; up to {} (at {}), its core stands {} (--core)",
        per_hertz(volts_per_hertz),
        hertz(at_hz),
        per_hertz(answer.question.core_v_per_hz)
    );
    folded(&core, out)
}
