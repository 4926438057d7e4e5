//! What the builder must know of a pad's heat, and of the core of its autoformer.

use netlist::quantity::{Hertz, Volts, Watts};

use super::answer::PadAnswer;
use super::power::PartHeat;
use crate::judge::{Finding, FindingCode};
use crate::synthesis::PadKind;

/// On the resistors' ratings, on the driver's, and on the core of an autoformer.
pub(super) fn power_findings(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
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
            findings.push(Finding::danger(FindingCode::ResistorOverloaded, message));
        } else if heat.programme_w > 0.5 * rating_w {
            let message = format!("{says}, more than half of that (common practice); {buy}");
            findings.push(Finding::caution(
                FindingCode::ResistorWithoutMargin,
                message,
            ));
        } else if heat.sine_w > rating_w {
            let (sine, at) = (Watts(heat.sine_w), Hertz(heat.sine_at_hz));
            let message = format!(
                "the {word} resistor would get {sine:.3} from a steady sine of full power at {at:.3}, above its {rated}: keep test signals short"
            );
            findings.push(Finding::note(FindingCode::ResistorSineAboveRating, message));
        }
    }
    core(answer, findings);
    let Some(rated_w) = answer.driver_rated_w() else {
        return;
    };
    let (name, rated, heat) = (answer.name(), Watts(rated_w), answer.chosen.heat.driver);
    if heat.programme_w > rated_w {
        let gets = Watts(heat.programme_w);
        let message = format!(
            "{name} gets {gets:.3} with programme, above its rated {rated}; take more off or a smaller amplifier"
        );
        findings.push(Finding::danger(FindingCode::DriverOverpowered, message));
    } else if heat.sine_w > rated_w {
        let (sine, at) = (Watts(heat.sine_w), Hertz(heat.sine_at_hz));
        let message = format!(
            "{name} would get {sine:.3} from a steady sine of full power at {at:.3}, above its rated {rated}; keep test signals short and soft"
        );
        findings.push(Finding::caution(
            FindingCode::DriverSineAboveRating,
            message,
        ));
    }
}

/// Ratings to buy for a resistor, or for each of several that act as one and carry such shares of its power:
/// `10 W`, `2 × 5 W` or `10 W + 5 W`.
#[must_use]
pub fn to_buy(heat: &PartHeat, shares: &[f64]) -> String {
    let each: Vec<String> = (shares.iter())
        .map(|share| Watts(heat.of_share(*share).to_buy_w()).to_string())
        .collect();
    match each.as_slice() {
        [] => Watts(heat.to_buy_w()).to_string(),
        [one] => one.clone(),
        [one, others @ ..] if others.iter().all(|other| other == one) => {
            format!("{} × {one}", each.len())
        }
        several => several.join(" + "),
    }
}

fn core(answer: &PadAnswer<'_>, findings: &mut Vec<Finding>) {
    let (v_per_hz, at_hz) = answer.chosen.heat.volts_per_hertz;
    let limit = answer.question.core_v_per_hz;
    if answer.chosen.study.pad.kind() == PadKind::Autoformer && v_per_hz > limit {
        let (puts, at, stands) = (Volts(v_per_hz * at_hz), Hertz(at_hz), Volts(limit * at_hz));
        let message = format!(
            "a sine of full power puts {puts:.3} on the winding at {at:.3}, its core stands {stands:.3} ({limit} V for each hertz, given or assumed) and saturates; cross higher, filter steeper before it, or take a larger core (--core)"
        );
        findings.push(Finding::caution(FindingCode::AutoformerCore, message));
    }
}

#[cfg(test)]
mod tests {
    use netlist::network::{Joined, MadeOf};

    use super::*;

    #[test]
    fn of_several_each_is_bought_for_its_share() {
        let heat = PartHeat {
            programme_w: 4.8,
            sine_w: 18.6,
            sine_at_hz: 1000.0,
        };
        assert_eq!(to_buy(&heat, &[1.0]), "10 W");
        let of = |joined, values: [f64; 2]| {
            let values = values.to_vec();
            to_buy(&heat, &MadeOf { joined, values }.shares(false))
        };
        assert_eq!(of(Joined::Parallel, [15.0, 15.0]), "2 × 5 W");
        // Nine tenths of the power: in series in the larger one, in parallel in the smaller one.
        assert_eq!(of(Joined::Series, [1.0, 9.0]), "5 W + 10 W");
        assert_eq!(of(Joined::Parallel, [1.0, 9.0]), "10 W + 5 W");
    }
}
