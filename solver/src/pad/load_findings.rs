//! What the builder must know of the load that a pad shows.

use netlist::quantity::{Hertz, Ohms};

use super::answer::PadAnswer;
use crate::judge::{Finding, FindingCode};
use crate::synthesis::{Pad, PadKind};

/// The filter's load may be this share above or below what it was made for (common practice: a filter of
/// second order then has its corner within about a tenth, its damping within a quarter).
const FAR_LOAD: f64 = 0.25;
/// Wire and joints are more than a smaller shunt, in ohm.
const LEAST_SHUNT_OHM: f64 = 0.1;

/// On a load that is too low, and on one that is far from what the filter is made for.
pub(super) fn load_findings(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let (seen, least_ohm) = (answer.chosen.study.seen, answer.target.least_ohm);
    let least = Ohms(least_ohm);
    if seen.least < least_ohm {
        let (ohms, at) = (Ohms(seen.least), Hertz(seen.least_at_hz));
        let message = format!(
            "the pad shows {ohms:.3} at {at:.3}, below {least:.3}, the least load for this amplifier; take a larger series resistor with a larger shunt"
        );
        findings.push(Finding::caution(FindingCode::PadLoadLow, message));
    }
    let speaker = answer.chosen.speaker.as_ref();
    let load = speaker.and_then(|speaker| speaker.load);
    if let Some(load) = load.filter(|load| load.least_ohm < least_ohm) {
        let (ohms, at) = (Ohms(load.least_ohm), Hertz(load.at_hz));
        let message = format!(
            "with this pad the loudspeaker's load falls to {ohms:.3} at {at:.3}, below {least:.3}, the least load for this amplifier; see `check` for what draws it"
        );
        findings.push(Finding::caution(FindingCode::LoudspeakerLoadLow, message));
    }
    if answer.bench.load.ahead_of_filter && answer.chosen.study.pad.kind() == PadKind::Autoformer {
        let message = "the winding lies before the filter: where no capacitor is before it, direct current and the lowest frequencies see little more than its wire; put a capacitor in series with it, or the autoformer behind the filter";
        findings.push(Finding::caution(
            FindingCode::DirectCurrentPath,
            message.to_owned(),
        ));
    }
    far_load(answer, findings);
}

/// The filter's load, or its source, far from what it was made for.
fn far_load(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let load = &answer.bench.load;
    let mean_ohm = |ohm: &[f64]| {
        let ln_ohm = |i: usize| ohm[i].max(f64::MIN_POSITIVE).ln();
        load.mean_over(load.filter_band(), ln_ohm).exp()
    };
    let is_ohm = mean_ohm(&answer.chosen.study.kept_ohm(load));
    let asked_ohm = mean_ohm(&answer.target.kept_ohm);
    let share = is_ohm / asked_ohm;
    if (1.0 - FAR_LOAD..=1.0 + FAR_LOAD).contains(&share) {
        return;
    }
    let times = match share < 10.0 {
        true => format!("{:.0} % of", 100.0 * share),
        false => format!("{share:.0} times"),
    };
    let limit = format!("limit ±{:.0} %, common practice", 100.0 * FAR_LOAD);
    let (is, asked, made_for) = (Ohms(is_ohm), Ohms(asked_ohm), answer.made_for());
    let message = match load.ahead_of_filter {
        true => format!(
            "the filter is driven from {is:.3}, {times} {asked:.3}, {made_for} ({limit}): its corners move; take a pair with that source impedance, or design the filter for it"
        ),
        false => format!(
            "{} sees {is:.3} in the mean, {times} {asked:.3}, {made_for} ({limit}); {}",
            answer.seen_by(),
            way_back(answer, asked_ohm)
        ),
    };
    findings.push(Finding::caution(FindingCode::PadLoadFar, message));
}

/// How a filter gets its load back.
fn way_back(answer: &PadAnswer<'_>, asked_ohm: f64) -> String {
    let (study, behind_ohm) = (&answer.chosen.study, answer.bench.load.reference_ohm);
    if let Some(ratio) = study.pad.ratio() {
        let shunt_siemens = 1.0 / asked_ohm - ratio * ratio / behind_ohm;
        if shunt_siemens <= 0.0 {
            return "design the filter for it".to_owned();
        }
        let shunt = Ohms(1.0 / shunt_siemens);
        return format!("put {shunt:.2} across the winding (--shunt), or design the filter for it");
    }
    match Pad::l_pad_seen_as(study.mean_db, behind_ohm, asked_ohm) {
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
