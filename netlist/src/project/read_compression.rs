//! The tree to a [`Compression`] driver on its horn, from the data sheet.

use super::fields::{Context, Fields, Limit};
use super::read_coil::{coil_rise, inductance};
use super::tree::Node;
use super::{Compression, Horn, Resonance, Top};

pub(super) fn compression_driver(
    context: &mut Context<'_>,
    mut fields: Fields<'_>,
) -> Option<Compression> {
    fields.name = "a modelled compression driver".into();
    let re = fields.need_quantity(context, "re", Limit::Positive);
    let inductance = inductance(context, &mut fields);
    let resonances = match fields.take("resonances") {
        Some(node) => resonances(context, node),
        None => Some(Vec::new()),
    };
    let level = fields.need_quantity(context, "level", Limit::Any);
    let horn = fields
        .need(context, "horn", "{ cutoff = \"350 Hz\" }")
        .and_then(|node| horn(context, node));
    let mass_corner = fields.quantity(context, "mass_corner", Limit::Positive);
    let top_node = fields.take("top");
    let top = top_node.map(|node| top(context, node));
    let coil_rise = coil_rise(context, &mut fields);
    fields.finish(context);
    Some(Compression {
        re: re?,
        inductance: inductance?,
        resonances: resonances?,
        level: level?,
        horn: horn?,
        mass_corner,
        top: match top {
            Some(top) => Some(top?),
            None => None,
        },
        coil_rise,
    })
}

fn resonances(context: &mut Context<'_>, node: &Node) -> Option<Vec<Resonance>> {
    const EXAMPLE: &str = "[{ r = \"20 ohm\", f = \"430 Hz\", q = 2.5 }]";
    let items = context.list("resonances", node, EXAMPLE)?;
    let read: Vec<Option<Resonance>> = items
        .iter()
        .map(|item| {
            let mut fields = context.fields("a resonance", item, EXAMPLE)?;
            let r = fields.need_quantity(context, "r", Limit::Positive);
            let f = fields.need_quantity(context, "f", Limit::Positive);
            let q = fields.need_number(context, "q", Limit::Positive);
            fields.finish(context);
            Some(Resonance {
                r: r?,
                f: f?,
                q: q?,
            })
        })
        .collect();
    read.into_iter().collect()
}

fn horn(context: &mut Context<'_>, node: &Node) -> Option<Horn> {
    let mut fields = context.fields("horn", node, "horn = { cutoff = \"350 Hz\" }")?;
    let cutoff = fields.need_quantity(context, "cutoff", Limit::Positive);
    let order = match fields.take("order") {
        Some(node) => context.whole("order", node, 1, 4).map(|order| order as u8),
        None => Some(2),
    };
    let q = fields
        .number(context, "q", Limit::Positive)
        .unwrap_or(std::f64::consts::FRAC_1_SQRT_2);
    fields.finish(context);
    Some(Horn {
        cutoff: cutoff?,
        order: order?,
        q,
    })
}

fn top(context: &mut Context<'_>, node: &Node) -> Option<Top> {
    let mut fields = context.fields("top", node, "top = { f = \"17 kHz\", q = 1.2 }")?;
    let f = fields.need_quantity(context, "f", Limit::Positive);
    let q = fields.need_number(context, "q", Limit::Positive);
    fields.finish(context);
    Some(Top { f: f?, q: q? })
}
