//! Fields of a voice coil that all modelled drivers have.

use super::LossyInductance;
use super::fields::{Context, Fields, Limit};
use crate::quantity::{Henries, Kelvins, Ohms};

/// How far a voice coil may be from its 20 °C, K: the coldest room to glowing.
/// Copper's resistance is reckoned to change by 0.393 % for each kelvin, which ends at nothing at −254 K.
const COIL_RISES_K: std::ops::RangeInclusive<f64> = -60.0..=1000.0;

pub(super) fn coil_rise(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Kelvins {
    let Some(node) = fields.take("coil_rise") else {
        return Kelvins(0.0);
    };
    let rise = context
        .quantity("coil_rise", node, Limit::Any)
        .unwrap_or(Kelvins(0.0));
    if !COIL_RISES_K.contains(&rise.0) {
        let message = format!("coil_rise is {rise}, outside of -60 K to 1000 K");
        let help = "it is how much warmer than 20 °C the voice coil is: a cold room is -30 K, a hot coil 100 K; \
                    far below, copper would have no resistance left";
        context.problem(&node.span, message, help.to_owned());
    }
    rise
}

/// `l1` with an optional pair `l2`, `r2`; or `k` with `n`; or nothing.
pub(super) fn inductance(
    context: &mut Context<'_>,
    fields: &mut Fields<'_>,
) -> Option<LossyInductance> {
    if let Some(node) = fields.take_unknown("le") {
        let help = "write l1 in its place; with l2 and r2 beside it the losses are told too";
        let message = "Le, the voice coil's inductance, is called l1 here";
        context.problem(&node.span, message, help.to_owned());
    }
    let has = |keys: &[&'static str]| keys.iter().copied().find(|key| fields.has(key));
    let (chain, power) = (has(&["l1", "l2", "r2"]), has(&["k", "n"]));
    if let (Some(chain), Some(power)) = (chain, power) {
        context.problem(
            &fields.span,
            format!("the voice coil's inductance is given twice, by '{chain}' and by '{power}'"),
            "keep l1, l2, r2 or keep k, n".to_owned(),
        );
    }
    let l1 = fields
        .quantity(context, "l1", Limit::NotNegative)
        .unwrap_or(Henries(0.0));
    let both = fields.has("l2") || fields.has("r2");
    let (l2, r2) = if both {
        (
            fields.need_quantity(context, "l2", Limit::NotNegative),
            fields.need_quantity(context, "r2", Limit::NotNegative),
        )
    } else {
        fields.take("l2");
        fields.take("r2");
        (Some(Henries(0.0)), Some(Ohms(0.0)))
    };
    if power.is_none() {
        fields.take("k");
        fields.take("n");
        return Some(LossyInductance::SeriesParallel {
            l1,
            l2: l2?,
            r2: r2?,
        });
    }
    let k = fields.need_number(context, "k", Limit::NotNegative);
    let n_node = fields.need(context, "n", "0.7");
    let n = n_node.and_then(|node| context.number("n", node, Limit::NotNegative));
    if let (Some(node), Some(n)) = (n_node, n)
        && n > 1.0
    {
        let message = "the exponent n of a lossy inductance lies between 0 and 1";
        context.problem(
            &node.span,
            message,
            "usual values are 0.5 to 0.9".to_owned(),
        );
    }
    Some(LossyInductance::Power { k: k?, n: n? })
}
