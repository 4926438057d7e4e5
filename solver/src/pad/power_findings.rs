//! What the builder must know of a pad's heat, and of the core of its autoformer.

use netlist::quantity::{Hertz, Quantity, Volts, Watts};

use super::findings::Case;
use crate::judge::Finding;
use crate::synthesis::PadKind;

/// On the resistors' ratings, on the driver's, and on the core of an autoformer.
pub(super) fn power_findings(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let resistors = [
        ("series", case.heat.series, case.series_rating_w),
        ("shunt", case.heat.shunt, case.shunt_rating_w),
    ];
    for (word, heat, rating_w) in resistors {
        let (Some(heat), Some(rating_w)) = (heat, rating_w) else {
            continue;
        };
        let programme_w = heat.programme_w;
        let buy = Watts(heat.to_buy_w());
        let says = format!(
            "the {word} resistor gets {:.3} with programme and is rated {:.3}",
            Watts(programme_w),
            Watts(rating_w)
        );
        if programme_w > rating_w {
            findings.push(Finding::danger(
                "resistor-overloaded",
                format!(
                    "{says}: it burns, and with it what is near; buy one of {buy} or share the power among several"
                ),
            ));
        } else if programme_w > 0.5 * rating_w {
            findings.push(Finding::caution(
                "resistor-without-margin",
                format!(
                    "{says}, more than half of that (common practice); buy one of {buy} or share the power among several"
                ),
            ));
        } else if heat.sine_w > rating_w {
            findings.push(Finding::note(
                "resistor-sine-above-rating",
                format!(
                    "the {word} resistor would get {:.3} from a steady sine of full power at {:.3}, above its {:.3}: keep test signals short",
                    Watts(heat.sine_w),
                    Hertz(heat.sine_at_hz),
                    Watts(rating_w)
                ),
            ));
        }
    }
    core(case, findings);
    let Some(rated) = case.driver.and_then(|driver| driver.power) else {
        return;
    };
    let heat = case.heat.driver;
    let name = case.name;
    if heat.programme_w > rated.si() {
        findings.push(Finding::danger(
            "driver-overpowered",
            format!(
                "{name} gets {:.3} with programme, above its rated {rated}; take more off or a smaller amplifier",
                Watts(heat.programme_w)
            ),
        ));
    } else if heat.sine_w > rated.si() {
        findings.push(Finding::caution(
            "driver-sine-above-rating",
            format!(
                "{name} would get {:.3} from a steady sine of full power at {:.3}, above its rated {rated}; keep test signals short and soft",
                Watts(heat.sine_w),
                Hertz(heat.sine_at_hz)
            ),
        ));
    }
}

fn core(case: &Case<'_>, findings: &mut Vec<Finding>) {
    if case.study.pad.kind() != PadKind::Autoformer {
        return;
    }
    let (v_per_hz, at_hz) = case.heat.volts_per_hertz;
    if v_per_hz > case.core_v_per_hz {
        findings.push(Finding::caution(
            "autoformer-core",
            format!(
                "a sine of full power puts {:.3} on the winding at {:.3}, its core stands {:.3} ({} V for each hertz, given or assumed) and saturates; cross higher, filter steeper before it, or take a larger core (--core)",
                Volts(v_per_hz * at_hz),
                Hertz(at_hz),
                Volts(case.core_v_per_hz * at_hz),
                case.core_v_per_hz
            ),
        ));
    }
}
