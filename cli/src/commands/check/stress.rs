//! Stress on one screen: what counts for each kind of part.

use std::io::{Result, Write};

use solver::judge::{PartStress, Rating, Stress, StressedKind, rounded};

use super::Checked;
use super::text::{hz, line};
use crate::words::{plural, watts};

/// Resistors that the screen has room for.
const RESISTORS: usize = 5;

/// Every driver and the hottest resistors; of capacitors and coils the hardest driven only.
pub(super) fn print(checked: &Checked<'_>, out: &mut dyn Write) -> Result<()> {
    let stress = &checked.check.stress;
    writeln!(out, "\n{}", signals(checked))?;
    writeln!(
        out,
        "{:<10}{:>10}{:>13}{:>13}{:>10}   {:<12}buy for music",
        "", "", "noise, heat", "worst sine", "at", "rated"
    )?;
    for driver in &stress.drivers {
        let rated = driver.rated_w.map_or("-".to_owned(), |w| format!("{w} W"));
        writeln!(
            out,
            "{:<10}{:>10}{:>13}{:>13}{:>10}   {rated:<12}-",
            driver.driver,
            "driver",
            watts(driver.noise.power_w),
            watts(driver.sine.power_w.most),
            hz(driver.sine.power_w.at_hz)
        )?;
    }
    let mut resistors: Vec<&PartStress> = (stress.parts.iter())
        .filter(|part| part.kind == StressedKind::Resistor)
        .collect();
    let cooler = resistors.len().saturating_sub(RESISTORS);
    if cooler > 0 {
        resistors.sort_by(|a, b| b.noise.power_w.total_cmp(&a.noise.power_w));
        resistors.truncate(RESISTORS);
    }
    for part in &resistors {
        writeln!(
            out,
            "{:<10}{:>10}{:>13}{:>13}{:>10}   {:<12}{}",
            part.part,
            part.value,
            watts(part.noise.power_w),
            watts(part.sine.power_w.most),
            hz(part.sine.power_w.at_hz),
            rating(part.rated),
            to_buy(part)
        )?;
    }
    if let (true, Some(last)) = (cooler > 0, resistors.last()) {
        let more = plural(cooler, "resistor");
        writeln!(out, "{more} more, each below {}", watts(last.noise.power_w))?;
    }
    if !stress.loudness.stated {
        return Ok(());
    }
    hardest_driven(stress, out)
}

/// What is enough for all capacitors, coils and windings.
fn hardest_driven(stress: &Stress, out: &mut dyn Write) -> Result<()> {
    let of = |kind: StressedKind| stress.parts.iter().filter(move |part| part.kind == kind);
    let most = |kind: StressedKind, by: &dyn Fn(&PartStress) -> f64| {
        of(kind).max_by(|a, b| by(a).total_cmp(&by(b)))
    };
    let enough = |kind: StressedKind| {
        let sizes = of(kind).filter_map(|part| part.buy.map(Rating::size));
        sizes.fold(0.0, f64::max)
    };
    if let Some(part) = most(StressedKind::Capacitor, &PartStress::peak_v) {
        let text = format!(
            "{} V is enough for all; {} has the highest peak, {:.1} V",
            enough(StressedKind::Capacitor),
            part.part,
            part.peak_v()
        );
        line("capacitors", &text, out)?;
    }
    if let Some(part) = most(StressedKind::Inductor, &PartStress::peak_a) {
        let text = format!(
            "peaks of {} A are enough for all that have a core; {} has the highest, {:.1} A",
            enough(StressedKind::Inductor),
            part.part,
            part.peak_a()
        );
        line("coils", &text, out)?;
    }
    for part in of(StressedKind::Autoformer) {
        if let Some(worst) = part.volts_per_hertz {
            let text = format!(
                "{}: up to {:.1} V rms; the core is driven hardest at {}, with {:.1} V",
                part.part,
                part.sine.rms_v.most,
                hz(worst.at_hz),
                worst.most * worst.at_hz
            );
            line("windings", &text, out)?;
        }
    }
    Ok(())
}

/// What the stress was worked out for.
pub(super) fn signals(checked: &Checked<'_>) -> String {
    let loud = &checked.check.stress.loudness;
    let stated = if loud.stated {
        "stress at rated power,"
    } else {
        "no rated power is stated; stress at"
    };
    format!(
        "{stated} {} W into {} Ω: programme noise (IEC 60268-1), worst steady sine",
        loud.power_w, loud.load_ohm
    )
}

/// What to buy for a part, piece by piece.
pub(super) fn to_buy(part: &PartStress) -> String {
    match part.pieces {
        0 | 1 => rating(part.buy),
        pieces => format!("{pieces} × {}", rating(part.buy)),
    }
}

pub(super) fn rating(rating: Option<Rating>) -> String {
    match rating {
        Some(Rating::PowerW(w)) => format!("{} W", rounded(w)),
        Some(Rating::VoltageV(v)) => format!("{} V", rounded(v)),
        Some(Rating::CurrentA(a)) => format!("{} A", rounded(a)),
        None => "-".to_owned(),
    }
}
