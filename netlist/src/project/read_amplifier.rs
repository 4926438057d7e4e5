//! The tree to an [`Amplifier`].

use super::fields::{Context, Limit};
use super::read_table::table;
use super::tree::{Node, NodeValue};
use super::{Amplifier, OutputImpedance};
use crate::quantity::{Henries, Ohms};
use crate::table::TableKind;

const TRANSFORMER: &str = "output_impedance = { r = \"1.8 ohm\", l = \"0.2 mH\" }";

pub(super) fn amplifier(context: &mut Context<'_>, node: &Node) -> Amplifier {
    let Some(mut fields) = context.fields("[amplifier]", node, "[amplifier]") else {
        return Amplifier::default();
    };
    let output = (fields.take("output_impedance")).and_then(|node| match node.value {
        NodeValue::Table(_) => over_frequency(context, node),
        _ => (context.quantity("output_impedance", node, Limit::NotNegative))
            .map(OutputImpedance::Resistance),
    });
    let amplifier = Amplifier {
        output_impedance: output.unwrap_or_default(),
        rated_power: fields.quantity(context, "rated_power", Limit::Positive),
        rated_load: fields.quantity(context, "rated_load", Limit::Positive),
    };
    fields.finish(context);
    amplifier
}

/// `{ r, l, parallel }` or `{ impedance }`.
fn over_frequency(context: &mut Context<'_>, node: &Node) -> Option<OutputImpedance> {
    let mut fields = context.fields("output_impedance", node, TRANSFORMER)?;
    if let Some(file) = fields.take("impedance") {
        let trust = (fields.take("trust")).and_then(|node| context.switch("trust", node));
        let stated = ["r", "l", "parallel"]
            .into_iter()
            .find(|key| fields.has(key));
        if let Some(key) = stated {
            let message = format!("output_impedance is both measured and stated by '{key}'");
            context.problem(&fields.span, message, "keep one of the two".to_owned());
            return None;
        }
        fields.finish(context);
        let kind = TableKind::Impedance;
        let table = table(context, "impedance", file, kind, trust.unwrap_or(false))?;
        return Some(OutputImpedance::Measured(Box::new(table)));
    }
    let r = fields.need_quantity::<Ohms>(context, "r", Limit::NotNegative);
    let l = fields.quantity::<Henries>(context, "l", Limit::NotNegative);
    let parallel = fields.quantity::<Henries>(context, "parallel", Limit::Positive);
    fields.finish(context);
    let (r, l) = (r?, l.unwrap_or(Henries(0.0)));
    // Nothing for the inductance to bridge, or nothing that changes with frequency.
    let parallel = parallel.filter(|_| r.0 > 0.0);
    if l.0 <= 0.0 && parallel.is_none() {
        return Some(OutputImpedance::Resistance(r));
    }
    Some(OutputImpedance::Transformer { r, l, parallel })
}
