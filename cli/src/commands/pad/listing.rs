//! What the screen of `pad` lists below its table: frequencies and heat.

use std::io::Write;

use netlist::quantity::{Henries, Quantity, Volts, Watts};
use solver::pad::{PadHeat, PartHeat, to_buy};
use solver::synthesis::PadKind;

use super::text::{Written, folded, hertz, ohm};
use super::work::{PadOrigin, Work};
use crate::words::watts;

/// Frequencies side by side.
const ACROSS: usize = 7;

/// Attenuation and load against frequency.
pub(super) fn frequencies(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let (load, study) = match &work.at {
        Some((load, study)) => (load, study),
        None if work.request.driver.is_some() => (&work.load, &work.chosen.study),
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
            let width = if what.starts_with('\n') { 24 } else { 23 };
            write!(out, "{what:<width$}")?;
            for f_hz in block {
                write!(out, "{:>11}", cell(*f_hz))?;
            }
            writeln!(out)
        };
        // A pad that was sized has more to show than fits on a screen.
        let all = work.origin != PadOrigin::Stock || work.at.is_some();
        row(if all { "\nat" } else { "at" }, &hertz)?;
        if all {
            let magnitude = load.z_ohm.magnitude();
            let driver = match work.request.driver {
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
        row(&format!("{} sees, Ω", work.seen_by()), &|f| {
            format!("{:.2}", load.read(&seen, f))
        })?;
    }
    Ok(())
}

pub(super) fn power(work: &Work<'_>, out: &mut dyn Write) -> Written {
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
            Watts(work.power.power_w),
            ohm(work.power.load_ohm)
        )
    )?;
    for (name, _) in &parts {
        write!(out, "{name:>19}")?;
    }
    write!(out, "\n{:<41}", "  programme noise (IEC 60268-1)")?;
    for (_, heat) in &parts {
        write!(out, "{:>19}", watts(heat.programme_w))?;
    }
    if work.request.driver.is_some() {
        write!(out, "\n{:<41}", "  steady sine, worst")?;
        for (_, heat) in &parts {
            let cell = format!("{}, {}", watts(heat.sine_w), hertz(heat.sine_at_hz));
            write!(out, "{cell:>19}")?;
        }
    }
    let rated = work.request.project().and_then(|project| {
        let name = work.request.driver.as_deref()?;
        project.drivers[name].rated_power().map(Quantity::si)
    });
    let to_buy: Vec<String> = (parts.iter())
        .map(|(name, heat)| match (name == work.name(), rated) {
            (true, Some(rated)) => format!("rated {}", Watts(rated)),
            (true, None) => String::new(),
            (false, _) => to_buy(heat, &work.shares_of(name)),
        })
        .collect();
    if to_buy.iter().any(|cell| !cell.is_empty()) {
        let mut line = format!("{:<41}", "  buy, with margin (common practice)");
        for cell in to_buy {
            line += &format!("{cell:>19}");
        }
        write!(out, "\n{}", line.trim_end())?;
    }
    writeln!(out)?;
    let pad = work.chosen.study.pad;
    if pad.series_ohm().or(pad.shunt_ohm()).is_some() {
        writeln!(
            out,
            "caution: resistors burn skin even at half their rating; mount clear of wood, cable and capacitors"
        )?;
    }
    match pad.kind() {
        PadKind::Autoformer => core(work, out),
        _ => Ok(()),
    }
}

/// What an autoformer is taken as, and what its core must stand.
fn core(work: &Work<'_>, out: &mut dyn Write) -> Written {
    let (_, from) = work.winding_from();
    let winding = work
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
    let (volts_per_hertz, at_hz) = work.chosen.heat.volts_per_hertz;
    let per_hertz = |volts: f64| format!("{:.2}/Hz", Volts(volts));
    let core = format!(
        "winding{winding} {from}; up to {} (at {}), its core stands {} (--core)",
        per_hertz(volts_per_hertz),
        hertz(at_hz),
        per_hertz(work.request.core_v_per_hz)
    );
    folded(&core, out)
}
