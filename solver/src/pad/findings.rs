//! What the builder must know of a pad.

use netlist::quantity::{Hertz, Ohms, Quantity, Volts, Watts};

use super::answer::{LevelOff, PadAnswer};
use super::candidate::TOLERANCE_DB;
use super::drive_source::PadSourceKind;
use super::power::to_buy;
use crate::judge::Severity::{self, Caution, Danger, Note};
use crate::judge::{Finding, FindingCode};
use crate::sound::Side;
use crate::synthesis::{Pad, PadKind};

/// A shift of the crossover that is worth a finding, in dB.
const SHIFT_DB: f64 = 0.5;
/// A departure of the attenuation in the band that is worth a note, in dB.
const UNEVEN_DB: f64 = 1.0;
/// How far a way may be from the level of the others before it is said, in dB: ripple hides less.
const LEVEL_DB: f64 = 1.0;
/// A driver should get less than this below its usable band, against its mean in the band, in dB: what a
/// filter of second order leaves half an octave below its crossover.
const BELOW_BAND_DB: f64 = -6.0;

/// The filter's load may be this share above or below what it was made for (common practice: a filter of
/// second order then has its corner within about a tenth, its damping within a quarter).
const FAR_LOAD: f64 = 0.25;
/// Wire and joints are more than a smaller shunt, in ohm.
const LEAST_SHUNT_OHM: f64 = 0.1;

/// Findings in the order in which they are met.
#[derive(Default)]
struct Findings(Vec<Finding>);

impl Findings {
    fn say(&mut self, severity: Severity, code: FindingCode, message: String) {
        self.0.push(Finding::new(severity, code, message));
    }
}

/// All findings on a pad, in no order of severity.
pub(super) fn pad_findings(answer: &PadAnswer<'_>) -> Vec<Finding> {
    let mut findings = Findings::default();
    level(answer, &mut findings);
    power_findings(answer, &mut findings);
    crossover(answer, &mut findings);
    band(answer, &mut findings);
    load_findings(answer, &mut findings);
    findings.0
}

fn level(answer: &PadAnswer<'_>, findings: &mut Findings) {
    let (name, study, load) = (answer.name(), &answer.chosen.study, &answer.bench.load);
    let (mean_db, kind) = (study.mean_db, study.pad.kind());
    let out_of_reach = |wanted_db: &f64| (mean_db - wanted_db).abs() > TOLERANCE_DB;
    if let Some(wanted_db) = answer.wanted_db().filter(out_of_reach) {
        let way_out = match kind {
            PadKind::Autoformer => "name other taps (--taps), or take another --kind",
            _ => "widen the resistors in [stock], allow several together, or take another --kind",
        };
        let message = format!(
            "{wanted_db:.1} dB are asked for, the nearest that the stock makes is {mean_db:.1} dB (limit {TOLERANCE_DB} dB off); {way_out}"
        );
        findings.say(Caution, FindingCode::AttenuationOutOfReach, message);
    }
    if let Some(LevelOff { off_db, right_db }) = answer.level.filter(|l| l.off_db.abs() > LEVEL_DB)
    {
        let loud = off_db > 0.0;
        let (code, would, where_to) = match loud {
            true => (
                FindingCode::AttenuationTooSmall,
                "would still play",
                "above",
            ),
            false => (FindingCode::AttenuationTooLarge, "would play", "below"),
        };
        let way_out = match right_db {
            Some(right_db) => {
                format!("attenuate by about {right_db:.1} dB in place of {mean_db:.1} dB")
            }
            None if loud => "attenuate more".to_owned(),
            None => format!("{name} needs no pad, and its filter costs more than it has to spare"),
        };
        let off_db = off_db.abs();
        let message = format!(
            "{name} {would} {off_db:.1} dB {where_to} the level of the loudspeaker (more than {LEVEL_DB} dB); {way_out}"
        );
        findings.say(Caution, code, message);
    }
    let (departure_db, at_hz) = study.departure();
    // A bridged pad is uneven on purpose.
    if departure_db.abs() > UNEVEN_DB && !load.bridged {
        let way_out = match kind {
            PadKind::LPad => "a smaller shunt with a smaller series resistor evens it out",
            _ => "an L-pad, with its shunt across the driver, evens it out",
        };
        let word = if departure_db < 0.0 { "less" } else { "more" };
        let z_ohm = load.z_ohm.at(load.places([at_hz, at_hz]).start);
        // Three figures are what a measurement is good for.
        let ohms = Ohms((z_ohm.norm() * 100.0).round() / 100.0);
        let (off_db, at) = (departure_db.abs(), Hertz(at_hz));
        let message = format!(
            "the pad takes {off_db:.1} dB {word} at {at:.3} than in the mean ({mean_db:.1} dB), as {name} has {ohms} there: its response changes by that; {way_out}"
        );
        findings.say(Note, FindingCode::AttenuationUneven, message);
    }
    let beside = (answer.bench.place.as_ref()).map_or(&[][..], |place| &place.beside);
    if !beside.is_empty() {
        let hang = if beside.len() == 1 { "hangs" } else { "hang" };
        let parts = beside.join(", ");
        let message = format!(
            "{parts} also {hang} at {name}'s terminal: attenuation and load leave them out, the figures of the loudspeaker hold them"
        );
        findings.say(Note, FindingCode::PadNotAlone, message);
    }
}

fn crossover(answer: &PadAnswer<'_>, findings: &mut Findings) {
    let shifts = (answer.chosen.change.iter()).flat_map(|change| &change.crossovers);
    let worst = shifts.max_by(|a, b| a.change_db.abs().total_cmp(&b.change_db.abs()));
    let Some(worst) = worst.filter(|worst| worst.change_db.abs() > SHIFT_DB) else {
        return;
    };
    let in_network = answer.bench.feed.kind == PadSourceKind::Network;
    let against = match in_network {
        true if answer.built.is_some() => "against the pad in the file",
        true => "against the file, which has no pad",
        false => "against a textbook filter on a resistor",
    };
    let moved = worst.shift_hz.map_or_else(String::new, |shift_hz| {
        let at = Hertz(worst.frequency_hz + shift_hz);
        format!(", its flank lies at {at:.3}")
    });
    let kind = answer.chosen.study.pad.kind();
    let keep = match kind {
        _ if answer.bench.load.ahead_of_filter => {
            "take a pair that drives the filter from the same impedance"
        }
        PadKind::LPad => "take the pair that keeps the filter's load",
        PadKind::Series => "take an L-pad",
        PadKind::ShuntSeries => "take a shunt that keeps the filter's load",
        PadKind::Autoformer => "put a resistor across the winding (--shunt)",
    };
    // Where nothing is built yet, an L-pad is what a filter can be designed for.
    let (severity, way_out) = match (in_network, kind) {
        (true, _) => (Caution, format!("{keep}, or design the filter again")),
        (false, PadKind::Series) => (
            Caution,
            format!("{keep}, or design the filter for this pad"),
        ),
        _ => (
            Note,
            "design the filter for this pad on this driver".to_owned(),
        ),
    };
    let (at, name, by_db) = (Hertz(worst.frequency_hz), answer.name(), worst.change_db);
    let message = format!(
        "at {at:.3} the pad moves {name} by {by_db:+.1} dB {against} (limit {SHIFT_DB} dB){moved}; {way_out}"
    );
    findings.say(severity, FindingCode::PadMovesCrossover, message);
}

/// The driver against its usable band and its resonance.
fn band(answer: &PadAnswer<'_>, findings: &mut Findings) {
    let (name, load) = (answer.name(), &answer.bench.load);
    let flank_hz = |side: Side| {
        let shifts = (answer.chosen.change.iter()).flat_map(|change| &change.crossovers);
        let moved = shifts
            .filter(|c| c.side == side)
            .find_map(|c| Some(c.frequency_hz + c.shift_hz?));
        let asked = load.crossovers.iter().find(|(_, of)| *of == side);
        moved.or(asked.map(|(f_hz, _)| *f_hz))
    };
    let low_hz = flank_hz(Side::Rising);
    if let (Some(low_hz), Some(resonance_hz)) = (low_hz, load.resonance_hz)
        && low_hz < resonance_hz
    {
        let (low, resonance) = (Hertz(low_hz), Hertz(resonance_hz));
        let message = format!(
            "with this pad {name} begins to play at {low:.3}, below its resonance at {resonance:.3}: its diaphragm moves most there and can break; keep the filter's load or cross it higher"
        );
        findings.say(Danger, FindingCode::CrossoverBelowResonance, message);
    }
    let driver = answer.project().zip(answer.driver());
    let usable = driver.and_then(|(project, name)| project.drivers[name].usable);
    let Some([from, to]) = usable else {
        return;
    };
    let outside = FindingCode::CrossoverOutsideUsableBand;
    if let Some(low_hz) = low_hz {
        if low_hz < from.si() {
            let low = Hertz(low_hz);
            let message = format!(
                "with this pad {name} begins to play at {low:.3}, but is usable from {from} only; keep the filter's load or cross it higher"
            );
            findings.say(Caution, outside, message);
        } else if answer.bench.feed.kind == PadSourceKind::Network
            && let Some((level_db, at_hz)) = loudest_below(answer, from.si())
            && level_db > BELOW_BAND_DB
        {
            let at = Hertz(at_hz);
            let message = format!(
                "at {at:.3}, below its usable band from {from}, {name} still gets {level_db:+.1} dB against its mean voltage in the band (limit {BELOW_BAND_DB} dB); keep the filter's load, or take a steeper or higher crossover"
            );
            findings.say(Caution, FindingCode::DrivenBelowUsableBand, message);
        }
    }
    if let Some(high_hz) = flank_hz(Side::Falling).filter(|high_hz| *high_hz > to.si()) {
        let high = Hertz(high_hz);
        let message = format!(
            "with this pad {name} plays up to {high:.3}, but is usable up to {to} only; keep the filter's load or cross it lower"
        );
        findings.say(Caution, outside, message);
    }
}

/// Largest voltage at the driver below a frequency, against the mean over its band; dB and hertz.
fn loudest_below(answer: &PadAnswer<'_>, from_hz: f64) -> Option<(f64, f64)> {
    let load = &answer.bench.load;
    let (f_hz, levels) = (load.grid.f_hz(), &answer.chosen.study.curves.level_db);
    let mean_db = load.mean_over(load.band(), |i| levels[i]);
    (0..f_hz.len())
        .filter(|&i| f_hz[i] < from_hz)
        .map(|i| (levels[i] - mean_db, f_hz[i]))
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// On the resistors' ratings, on the driver's, and on the core of an autoformer.
fn power_findings(answer: &PadAnswer<'_>, findings: &mut Findings) {
    for resistor in answer.resistors() {
        let (word, heat, shares) = (resistor.word, resistor.heat, resistor.shares);
        let Some(rating_w) = resistor.rating_w else {
            continue;
        };
        let (gets, whole) = (Watts(heat.programme_w), Watts(rating_w));
        let alike = |first: &f64| {
            let mut shares = shares.iter();
            shares.all(|share| (share / first - 1.0).abs() < 1e-9)
        };
        let (buy, rated) = match shares.as_slice() {
            [] | [_] => (
                format!("one of {:.3}", Watts(heat.to_buy_w())),
                format!("{whole:.3}"),
            ),
            several => (
                to_buy(&heat, several),
                match several.first().filter(|first| alike(first)) {
                    Some(first) => format!("{} × {:.3}", several.len(), Watts(first * rating_w)),
                    None => format!("{whole:.3} as a whole"),
                },
            ),
        };
        let says =
            format!("the {word} resistor gets {gets:.3} with programme and is rated {rated}");
        let buy = format!("buy {buy} or share the power among several");
        if heat.programme_w > rating_w {
            let message = format!("{says}: it burns, and with it what is near; {buy}");
            findings.say(Danger, FindingCode::ResistorOverloaded, message);
        } else if heat.programme_w > 0.5 * rating_w {
            let message = format!("{says}, more than half of that (common practice); {buy}");
            findings.say(Caution, FindingCode::ResistorWithoutMargin, message);
        } else if heat.sine_w > rating_w {
            let (sine, at) = (Watts(heat.sine_w), Hertz(heat.sine_at_hz));
            let message = format!(
                "the {word} resistor would get {sine:.3} from a steady sine of full power at {at:.3}, above its {rated}: keep test signals short"
            );
            findings.say(Note, FindingCode::ResistorSineAboveRating, message);
        }
    }
    core(answer, findings);
    let Some(rated_w) = answer.driver_rated_w() else {
        return;
    };
    let (name, rated, heat) = (
        answer.name(),
        Watts(rated_w),
        answer.chosen.study.heat.driver,
    );
    if heat.programme_w > rated_w {
        let gets = Watts(heat.programme_w);
        let message = format!(
            "{name} gets {gets:.3} with programme, above its rated {rated}; take more off or a smaller amplifier"
        );
        findings.say(Danger, FindingCode::DriverOverpowered, message);
    } else if heat.sine_w > rated_w {
        let (sine, at) = (Watts(heat.sine_w), Hertz(heat.sine_at_hz));
        let message = format!(
            "{name} would get {sine:.3} from a steady sine of full power at {at:.3}, above its rated {rated}; keep test signals short and soft"
        );
        findings.say(Caution, FindingCode::DriverSineAboveRating, message);
    }
}

fn core(answer: &PadAnswer<'_>, findings: &mut Findings) {
    let (v_per_hz, at_hz) = answer.chosen.study.heat.volts_per_hertz;
    let limit = answer.question.core_v_per_hz;
    if answer.chosen.study.pad.kind() == PadKind::Autoformer && v_per_hz > limit {
        let (puts, at, stands) = (Volts(v_per_hz * at_hz), Hertz(at_hz), Volts(limit * at_hz));
        let message = format!(
            "a sine of full power puts {puts:.3} on the winding at {at:.3}, its core stands {stands:.3} ({limit} V for each hertz, given or assumed) and saturates; cross higher, filter steeper before it, or take a larger core (--core)"
        );
        findings.say(Caution, FindingCode::AutoformerCore, message);
    }
}

/// On a load that is too low, and on one that is far from what the filter is made for.
fn load_findings(answer: &PadAnswer<'_>, findings: &mut Findings) {
    let (seen, least_ohm) = (answer.chosen.study.seen, answer.target.least_ohm);
    let least = Ohms(least_ohm);
    if seen.least < least_ohm {
        let (ohms, at) = (Ohms(seen.least), Hertz(seen.least_at_hz));
        let message = format!(
            "the pad shows {ohms:.3} at {at:.3}, below {least:.3}, the least load for this amplifier; take a larger series resistor with a larger shunt"
        );
        findings.say(Caution, FindingCode::PadLoadLow, message);
    }
    let speaker = answer.chosen.speaker.as_ref();
    let load = speaker.and_then(|speaker| speaker.load);
    if let Some(load) = load.filter(|load| load.least_ohm < least_ohm) {
        let (ohms, at) = (Ohms(load.least_ohm), Hertz(load.at_hz));
        let message = format!(
            "with this pad the loudspeaker's load falls to {ohms:.3} at {at:.3}, below {least:.3}, the least load for this amplifier; see `check` for what draws it"
        );
        findings.say(Caution, FindingCode::LoudspeakerLoadLow, message);
    }
    if answer.bench.load.ahead_of_filter && answer.chosen.study.pad.kind() == PadKind::Autoformer {
        let message = "the winding lies before the filter: where no capacitor is before it, direct current and the lowest frequencies see little more than its wire; put a capacitor in series with it, or the autoformer behind the filter";
        findings.say(Caution, FindingCode::DirectCurrentPath, message.to_owned());
    }
    far_load(answer, findings);
}

/// The filter's load, or its source, far from what it was made for.
fn far_load(answer: &PadAnswer<'_>, findings: &mut Findings) {
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
    findings.say(Caution, FindingCode::PadLoadFar, message);
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
