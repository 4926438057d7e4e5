//! What the screen of `pad` lists below its table: frequencies, heat, pads from stock, steps.

use std::io::Write;

use netlist::network::Joined;
use netlist::quantity::Quantity;
use solver::pad::{
    Candidate, FeedKind, LEAST_DB, PadHeat, PartHeat, StockResistor, Study, TOLERANCE_DB,
};
use solver::synthesis::{Pad, PadKind};

use super::text::{Written, folded, hertz, ohm, range, watt};
use super::work::{Origin, Work};

/// Frequencies side by side.
const ACROSS: usize = 7;
/// Pads from stock that are shown.
const SHOWN: usize = 3;

/// Attenuation and load against frequency.
pub(super) fn frequencies(work: &Work<'_>, out: &mut dyn Write) -> Written {
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
    write!(out, "\n{:<41}", "  buy, with margin (common practice)")?;
    let rated = work.request.project().and_then(|project| {
        let name = work.request.driver.as_deref()?;
        project.drivers[name].power.map(Quantity::si)
    });
    for (name, heat) in &parts {
        let cell = match (name == work.name(), rated) {
            (true, Some(rated)) => format!("rated {}", watt(rated)),
            (true, None) => String::new(),
            (false, _) => watt(heat.to_buy_w()),
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

pub(super) fn stock(work: &Work<'_>, out: &mut dyn Write) -> Written {
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
    let line = |words: String, study: &Study| {
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

pub(super) fn steps(work: &Work<'_>, out: &mut dyn Write) -> Written {
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
