//! What the screen of `pad` lists below its table: frequencies and heat.

use std::io::Write;

use netlist::quantity::{Henries, Volts, Watts};
use solver::pad::{PadAnswer, PadOrigin, PartHeat, WindingOrigin, to_buy};
use solver::synthesis::PadKind;

use super::text::{Written, folded, hertz, ohm, row};
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
    // A pad that was sized has more to show than fits on a screen.
    let all = answer.question.goal.origin() != PadOrigin::Stock || answer.at.is_some();
    let curves = &study.curves;
    let alone = load.z_ohm.magnitude();
    let seen = curves.seen_ohm.magnitude();
    let driver = match answer.driver() {
        Some(_) => "driver, Ω",
        None => "load, Ω",
    };
    let sees = format!("{} sees, Ω", answer.seen_by());
    let rows = [
        (all, driver, &alone),
        (true, "attenuation, dB", &curves.attenuation_db),
        (all, &*sees, &seen),
    ];
    for block in shown.chunks(ACROSS) {
        if all {
            writeln!(out)?;
        }
        row(("at", 23), (block, 11), hertz_of, out)?;
        for (_, what, values) in rows.iter().filter(|(shown, ..)| *shown) {
            let cell = |f_hz: &f64| format!("{:.2}", load.read(values, *f_hz));
            row((what, 23), (block, 11), cell, out)?;
        }
    }
    Ok(())
}

fn hertz_of(f_hz: &f64) -> String {
    hertz(*f_hz)
}

pub(super) fn power(answer: &PadAnswer<'_>, out: &mut dyn Write) -> Written {
    let rated = answer.driver_rated_w();
    let rated = rated.map_or_else(String::new, |rated| format!("rated {}", Watts(rated)));
    let resistors = answer.resistors().into_iter();
    let resistors = resistors.map(|one| (one.word, one.heat, to_buy(&one.heat, &one.shares)));
    let parts: Vec<(&str, PartHeat, String)> = resistors
        .chain([(answer.name(), answer.chosen.study.heat.driver, rated)])
        .collect();
    let loudness = &answer.bench.loudness;
    let (whose, how) = match loudness.stated {
        true => ("amplifier", ""),
        false => ("assumed", " (say --power)"),
    };
    let (power, load) = (Watts(loudness.power_w), ohm(loudness.load_ohm));
    let heading = format!("heat, {whose} {power} into {load}{how}");
    let mut line = |what: &str, cell: &dyn Fn(&(&str, PartHeat, String)) -> String| {
        row((what, 41), (&parts, 19), cell, &mut *out)
    };
    line(&format!("\n{heading:<41}"), &|(name, ..)| {
        (*name).to_owned()
    })?;
    line("  programme noise (IEC 60268-1)", &|(_, heat, _)| {
        watts(heat.programme_w)
    })?;
    if answer.driver().is_some() {
        line("  steady sine, worst", &|(_, heat, _)| {
            format!("{}, {}", watts(heat.sine_w), hertz(heat.sine_at_hz))
        })?;
    }
    if parts.iter().any(|(.., to_buy)| !to_buy.is_empty()) {
        line("  buy, with margin (common practice)", &|(.., to_buy)| {
            to_buy.clone()
        })?;
    }
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
    let (volts_per_hertz, at_hz) = answer.chosen.study.heat.volts_per_hertz;
    let per_hertz = |volts: f64| format!("{:.2}/Hz", Volts(volts));
    let core = format!(
        "winding{winding} {from}; up to {} (at {}), its core stands {} (--core)",
        per_hertz(volts_per_hertz),
        hertz(at_hz),
        per_hertz(answer.question.core_v_per_hz)
    );
    folded(&core, out)
}
