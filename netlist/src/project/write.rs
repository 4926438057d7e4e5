//! Writing a network into the text of a project file, which is otherwise left as it is.

use std::fmt::Write as _;

use toml_edit::{DocumentMut, Item, Table};

use super::{Form, Loaded, json_form, tree::NodeValue};
use crate::network::{Network, Part, PartKind, Tap};
use crate::quantity::{Dimension, Ohms, Quantity};

/// Why a network cannot be written into a text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WriteError {
    /// The text is no TOML or JSON table.
    #[error("the project file cannot be read any more: {0}")]
    Form(String),
    /// A number of the network is not finite.
    #[error("'{0}' has a value that is not a finite number and cannot be written")]
    NotFinite(String),
}

/// The text of a project file with its parts replaced by those of `network`.
///
/// Outside of the parts every byte stays as the builder wrote it; a text without parts gets them at
/// its end. In TOML a comment above or behind a part stays with the part of that name, and a quantity that has
/// not changed stays as it was typed. Reading the
/// result gives the same network, bit for bit.
///
/// # Errors
/// When `text` is not of the form, or the network holds a number that is not finite.
pub fn write_parts(text: &str, form: Form, network: &Network) -> Result<String, WriteError> {
    for (name, part) in network.parts() {
        if !finite(part) {
            return Err(WriteError::NotFinite(name.clone()));
        }
    }
    match form {
        Form::Toml => into_toml(text, network),
        Form::Json => into_json(text, network),
    }
}

/// The text of a project file with other names for the files that it names: `renamed` gives the new one.
///
/// All else stays byte for byte as the builder wrote it.
pub fn rename_files(loaded: &Loaded, renamed: impl Fn(&str) -> String) -> String {
    let mut text = loaded.text.clone();
    // From the last to the first, so that places stay true.
    let mut named: Vec<_> = loaded.named.iter().collect();
    named.sort_by_key(|file| std::cmp::Reverse(file.span.start));
    for file in named {
        let new = renamed(&file.name);
        if new != file.name {
            text.replace_range(file.span.clone(), &LineStyle(loaded.form).text(&new));
        }
    }
    text
}

fn finite(part: &Part) -> bool {
    let kind = match &part.kind {
        PartKind::Resistor { .. } | PartKind::Driver { .. } => true,
        PartKind::Inductor { dcr, .. } => dcr.0.is_finite(),
        PartKind::Capacitor { esr, .. } => esr.0.is_finite(),
        PartKind::Autoformer {
            dcr,
            coupling,
            taps,
            ..
        } => {
            let taps = taps.iter().all(|tap| tap.ratio.is_finite());
            dcr.0.is_finite() && coupling.is_finite() && taps
        }
        PartKind::Coupling { factor, .. } => factor.is_finite(),
    };
    let made_of = part.made_of.iter().flat_map(|made_of| &made_of.values);
    kind && part.value_si().is_none_or(f64::is_finite)
        && part
            .tolerance
            .is_none_or(|tolerance| tolerance.0.is_finite())
        && part.power.is_none_or(|power| power.0.is_finite())
        && part.voltage.is_none_or(|voltage| voltage.0.is_finite())
        && part.current.is_none_or(|current| current.0.is_finite())
        && made_of.into_iter().all(|value| value.is_finite())
}

/// How names and texts are written in a form.
#[derive(Clone, Copy)]
struct LineStyle(Form);

impl LineStyle {
    fn text(self, text: &str) -> String {
        match self.0 {
            Form::Toml => toml_edit::Value::from(text).to_string(),
            Form::Json => serde_json::Value::from(text).to_string(),
        }
    }

    fn key(self, key: &str) -> String {
        match self.0 {
            Form::Toml => toml_edit::Key::new(key).to_string(),
            Form::Json => self.text(key),
        }
    }

    /// Shortest digits that read back as the same number; with a point or an exponent, as TOML wants.
    fn number(self, value: f64) -> String {
        format!("{value:?}")
    }

    fn table(self, fields: &[(String, String)]) -> String {
        let sign = match self.0 {
            Form::Toml => " =",
            Form::Json => ":",
        };
        let fields: Vec<String> = fields
            .iter()
            .map(|(key, value)| format!("{}{sign} {value}", self.key(key)))
            .collect();
        if fields.is_empty() {
            return "{}".into();
        }
        format!("{{ {} }}", fields.join(", "))
    }

    fn list(self, items: impl Iterator<Item = String>) -> String {
        format!("[{}]", items.collect::<Vec<_>>().join(", "))
    }

    fn quantity<Q: Quantity>(self, value: Q) -> String {
        self.text(&value.to_file_string())
    }
}

/// The resistance that is taken when nothing is said.
fn is_nothing(loss: Ohms) -> bool {
    loss.0.to_bits() == 0.0f64.to_bits()
}

/// A part as the table that a project file holds.
fn part_text(network: &Network, part: &Part, style: LineStyle) -> String {
    let mut fields = kind_fields(network, &part.kind, style);
    let mut add = |key: &str, value: String| fields.push((key.to_owned(), value));
    if part.fixed {
        add("fixed", "true".into());
    }
    if let Some(tolerance) = part.tolerance {
        add("tolerance", style.quantity(tolerance));
    }
    if let Some(power) = part.power {
        add("power", style.quantity(power));
    }
    if let Some(voltage) = part.voltage {
        add("voltage", style.quantity(voltage));
    }
    if let Some(current) = part.current {
        add("current", style.quantity(current));
    }
    if let Some(made_of) = &part.made_of {
        let joined = made_of.joined.word();
        let dimension = part.kind.dimension().unwrap_or(Dimension::Resistance);
        let written = |value: &f64| style.text(&dimension.to_file_string(*value));
        let values = style.list(made_of.values.iter().map(written));
        add("made_of", style.table(&[(joined.to_owned(), values)]));
    }
    style.table(&fields)
}

/// What a part is and where it lies.
fn kind_fields(network: &Network, kind: &PartKind, style: LineStyle) -> Vec<(String, String)> {
    let mut fields: Vec<(String, String)> = Vec::new();
    let mut add = |key: &str, value: String| fields.push((key.to_owned(), value));
    let nodes = |between: &[crate::network::NodeId; 2]| {
        style.list(
            between
                .iter()
                .map(|node| style.text(network.node_name(*node))),
        )
    };
    match kind {
        PartKind::Resistor {
            resistance,
            between,
        } => {
            add("resistor", style.quantity(*resistance));
            add("between", nodes(between));
        }
        PartKind::Inductor {
            inductance,
            between,
            ..
        } => {
            add("inductor", style.quantity(*inductance));
            add("between", nodes(between));
        }
        PartKind::Capacitor {
            capacitance,
            between,
            ..
        } => {
            add("capacitor", style.quantity(*capacitance));
            add("between", nodes(between));
        }
        PartKind::Autoformer {
            inductance,
            coupling,
            between,
            taps,
            ..
        } => {
            add("autoformer", style.quantity(*inductance));
            add("between", nodes(between));
            let tap = |tap: &Tap| {
                let node = network.node_name(tap.node).to_owned();
                (node, style.number(tap.ratio))
            };
            let taps: Vec<(String, String)> = taps.iter().map(tap).collect();
            add("taps", style.table(&taps));
            add("coupling", style.number(*coupling));
        }
        PartKind::Coupling { inductors, factor } => {
            add(
                "coupling",
                style.list(inductors.iter().map(|name| style.text(name))),
            );
            add("factor", style.number(*factor));
        }
        PartKind::Driver {
            driver,
            between,
            inverted,
        } => {
            add("driver", style.text(driver));
            add("between", nodes(between));
            if *inverted {
                add("inverted", "true".into());
            }
        }
    }
    match kind {
        PartKind::Inductor { dcr, .. } | PartKind::Autoformer { dcr, .. } if !is_nothing(*dcr) => {
            add("dcr", style.quantity(*dcr));
        }
        PartKind::Capacitor { esr, .. } if !is_nothing(*esr) => add("esr", style.quantity(*esr)),
        _ => {}
    }
    fields
}

fn into_toml(text: &str, network: &Network) -> Result<String, WriteError> {
    let form = |error: toml_edit::TomlError| WriteError::Form(error.message().to_owned());
    let mut document: DocumentMut = text.parse().map_err(form)?;
    let old = document.remove("parts");
    let mut table = Table::new();
    if let Some(old) = old.as_ref().and_then(Item::as_table) {
        if !old.is_implicit() && !old.is_dotted() {
            *table.decor_mut() = old.decor().clone();
            table.set_position(old.position());
        }
    } else if !text.trim().is_empty() {
        table.decor_mut().set_prefix("\n");
    }
    let old = old.as_ref().and_then(Item::as_table_like);
    for (name, part) in network.parts() {
        let written = part_text(network, part, LineStyle(Form::Toml));
        let mut value: toml_edit::Value = written.parse().map_err(form)?;
        value.decor_mut().set_prefix(" ");
        let mut key = toml_edit::Key::new(name.as_str());
        if let Some((old_key, old_item)) = old.and_then(|old| old.get_key_value(name)) {
            keep_comments(old_key, old_item, &mut key, &mut value);
            keep_as_typed(old_item, &mut value);
        }
        table.insert_formatted(&key, Item::Value(value));
    }
    document.insert("parts", Item::Table(table));
    Ok(document.to_string())
}

/// Leaves quantities that have not changed as the builder wrote them: `4R7` stays `4R7`.
fn keep_as_typed(old_item: &Item, value: &mut toml_edit::Value) {
    let (Some(old), Some(fields)) = (old_item.as_table_like(), value.as_inline_table_mut()) else {
        return;
    };
    for (key, field) in fields.iter_mut() {
        let Some(typed) = old.get(key.get()).and_then(Item::as_value) else {
            continue;
        };
        let [before, after] = [typed, &*field].map(|value| si_of(key.get(), value));
        if before.is_some() && before.map(f64::to_bits) == after.map(f64::to_bits) {
            let decor = field.decor().clone();
            *field = typed.clone();
            *field.decor_mut() = decor;
        }
    }
}

/// The number in SI that a field of a part says; `None` where it says no quantity.
fn si_of(key: &str, value: &toml_edit::Value) -> Option<f64> {
    let text = match value {
        toml_edit::Value::String(text) => text.value(),
        toml_edit::Value::Integer(number) => return Some(*number.value() as f64),
        toml_edit::Value::Float(number) => return Some(*number.value()),
        _ => return None,
    };
    let dimension = match key {
        "resistor" | "dcr" | "esr" => Dimension::Resistance,
        "inductor" | "autoformer" => Dimension::Inductance,
        "capacitor" => Dimension::Capacitance,
        "tolerance" => Dimension::Share,
        "power" => Dimension::Power,
        "voltage" => Dimension::Voltage,
        "current" => Dimension::Current,
        _ => return None,
    };
    dimension.parse(text).ok()
}

/// Hands on the builder's comments above and behind a part, in whatever shape it was written.
fn keep_comments(
    old_key: &toml_edit::Key,
    old_item: &Item,
    key: &mut toml_edit::Key,
    value: &mut toml_edit::Value,
) {
    let (above, behind) = match old_item {
        Item::Value(old) => (old_key.leaf_decor().prefix(), old.decor().suffix()),
        Item::Table(old) => (old.decor().prefix(), old.decor().suffix()),
        _ => (None, None),
    };
    if let Some(above) = above {
        key.leaf_decor_mut().set_prefix(above.clone());
    }
    if let Some(behind) = behind {
        value.decor_mut().set_suffix(behind.clone());
    }
}

fn into_json(text: &str, network: &Network) -> Result<String, WriteError> {
    let (root, mistakes) = json_form::parse(text);
    let broken = |message: &str| WriteError::Form(message.to_owned());
    let root =
        root.ok_or_else(|| broken(mistakes.first().map_or("", |mistake| &mistake.message)))?;
    let NodeValue::Table(entries) = &root.value else {
        return Err(broken("it is not a table"));
    };
    let style = LineStyle(Form::Json);
    let mut parts = String::from("{");
    for (index, (name, part)) in network.parts().iter().enumerate() {
        let comma = if index > 0 { "," } else { "" };
        let written = part_text(network, part, style);
        // Writing to a String cannot fail.
        let _ = write!(parts, "{comma}\n    {}: {written}", style.key(name));
    }
    parts.push_str("\n  }");
    let old = entries.iter().find(|entry| entry.key == "parts");
    let (range, new) = match (old, entries.last()) {
        (Some(entry), _) => (entry.node.span.clone(), parts),
        (None, Some(last)) => {
            let end = last.node.span.end;
            (end..end, format!(",\n  \"parts\": {parts}"))
        }
        (None, None) => (root.span.clone(), format!("{{\n  \"parts\": {parts}\n}}")),
    };
    let mut result = text.to_owned();
    result.replace_range(range, &new);
    Ok(result)
}
