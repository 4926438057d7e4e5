//! What the builder must know of the load that a pad shows.

use netlist::quantity::{Hertz, Ohms};

use super::answer::PadAnswer;
use crate::judge::Finding;
use crate::synthesis::{Pad, PadKind};

/// The filter's load may be this share above or below what it was made for (common practice: a filter of
/// second order then has its corner within about a tenth, its damping within a quarter).
const FAR_LOAD: f64 = 0.25;
/// Wire and joints are more than a smaller shunt, in ohm.
const LEAST_SHUNT_OHM: f64 = 0.1;

/// On a load that is too low, and on one that is far from what the filter is made for.
pub(super) fn load_findings(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let seen = answer.chosen.study.seen;
    if seen.least < answer.target.least_ohm {
        findings.push(Finding::caution(
            "pad-load-low",
            format!(
                "the pad shows {:.3} at {:.3}, below {:.3}, the least load for this amplifier; take a larger series resistor with a larger shunt",
                Ohms(seen.least),
                Hertz(seen.least_at_hz),
                Ohms(answer.target.least_ohm)
            ),
        ));
    }
    speaker_load(answer, findings);
    far_load(answer, findings);
}

/// What the pad does to the load of the whole loudspeaker.
fn speaker_load(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let speaker = answer.chosen.speaker.as_ref();
    let load = speaker.and_then(|speaker| speaker.load);
    if let Some(load) = load.filter(|load| load.least_ohm < answer.target.least_ohm) {
        findings.push(Finding::caution(
            "loudspeaker-load-low",
            format!(
                "with this pad the loudspeaker's load falls to {:.3} at {:.3}, below {:.3}, the least load for this amplifier; see `check` for what draws it",
                Ohms(load.least_ohm),
                Hertz(load.at_hz),
                Ohms(answer.target.least_ohm)
            ),
        ));
    }
    if answer.bench.load.ahead_of_filter && answer.chosen.study.pad.kind() == PadKind::Autoformer {
        findings.push(Finding::caution(
            "direct-current-path",
            "the winding lies before the filter: where no capacitor is before it, direct current and the lowest frequencies see little more than its wire; put a capacitor in series with it, or the autoformer behind the filter".to_owned(),
        ));
    }
}

/// The filter's load, or its source, far from what it was made for.
fn far_load(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let (asked, made_for) = (&answer.target.kept_ohm, answer.made_for());
    let kept = answer.chosen.study.kept_ohm(&answer.bench.load);
    let mean = |ohm: &[f64]| {
        let band = answer.bench.load.filter_band();
        answer
            .bench
            .load
            .mean_over(band, |i| ohm[i].max(f64::MIN_POSITIVE).ln())
            .exp()
    };
    let (is_ohm, asked_ohm) = (mean(&kept), mean(asked));
    let share = is_ohm / asked_ohm;
    if (1.0 - FAR_LOAD..=1.0 + FAR_LOAD).contains(&share) {
        return;
    }
    let times = if share < 10.0 {
        format!("{:.0} % of", 100.0 * share)
    } else {
        format!("{share:.0} times")
    };
    let limit = format!("limit ±{:.0} %, common practice", 100.0 * FAR_LOAD);
    let message = if answer.bench.load.ahead_of_filter {
        format!(
            "the filter is driven from {:.3}, {times} {:.3}, {made_for} ({limit}): its corners move; take a pair with that source impedance, or design the filter for it",
            Ohms(is_ohm),
            Ohms(asked_ohm)
        )
    } else {
        format!(
            "{} sees {:.3} in the mean, {times} {:.3}, {made_for} ({limit}); {}",
            answer.seen_by(),
            Ohms(is_ohm),
            Ohms(asked_ohm),
            way_back(answer, asked_ohm)
        )
    };
    findings.push(Finding::caution("pad-load-far", message));
}

/// How a filter gets its load back.
fn way_back(answer: &PadAnswer<'_>, asked_ohm: f64) -> String {
    let mean_db = answer.chosen.study.mean_db;
    let behind_ohm = answer.bench.load.reference_ohm;
    let kind = answer.chosen.study.pad.kind();
    let seen_ohm = answer
        .chosen
        .study
        .pad
        .ratio()
        .map(|ratio| behind_ohm / (ratio * ratio));
    match (kind, seen_ohm) {
        (PadKind::Autoformer, Some(seen_ohm)) if seen_ohm > asked_ohm => {
            let shunt_ohm = 1.0 / (1.0 / asked_ohm - 1.0 / seen_ohm);
            return format!(
                "put {:.2} across the winding (--shunt), or design the filter for it",
                Ohms(shunt_ohm)
            );
        }
        (PadKind::Autoformer, _) => return "design the filter for it".to_owned(),
        _ => {}
    }
    match Pad::l_pad_seen_as(mean_db, behind_ohm, asked_ohm) {
        Ok(Pad::LPad {
            series_ohm,
            shunt_ohm,
        }) if shunt_ohm >= LEAST_SHUNT_OHM => format!(
            "about {:.2} with a shunt of {:.2} keeps it, or design the filter for it",
            Ohms(series_ohm),
            Ohms(shunt_ohm)
        ),
        Ok(_) => format!(
            "an L-pad that keeps it needs a shunt below {:.1}: take so much off before the amplifier",
            Ohms(LEAST_SHUNT_OHM)
        ),
        Err(_) => "design the filter for it".to_owned(),
    }
}
