//! Edits of what a project file says, made on the values read and before they are understood: as if the builder
//! had written them. Places in the file stay those of what was edited.

use std::ops::Range;

use toml_edit::Value as Toml;

use super::fields::meant;
use super::tree::{Node, NodeValue, TreeEntry};

/// One edit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Another driver of the file takes a way. The network goes, for it was made for the other.
    Swap {
        /// The driver whose way it is.
        way: String,
        /// The driver that takes it.
        driver: String,
    },
    /// Only these ways are left; a crossover across one that is gone is `"auto"`. The network goes.
    Ways(Vec<String>),
    /// A way less. The network goes.
    Without(String),
    /// A field, such as `amplifier.output_impedance`, has another value; items of lists have their number from 1.
    Set {
        /// Names of tables and of the field, with dots between them.
        field: String,
        /// The value as it would be typed; quotes may be left away.
        value: String,
    },
}

/// An edit that cannot be made.
pub(super) struct Impossible {
    pub(super) message: String,
    pub(super) help: String,
}

fn impossible(message: String, help: String) -> Impossible {
    Impossible { message, help }
}

impl Edit {
    /// Makes the edit.
    pub(super) fn make(&self, root: &mut Node) -> Result<(), Impossible> {
        match self {
            Edit::Swap { way, driver } => swap(root, way, driver),
            Edit::Ways(ways) => keep(root, ways),
            Edit::Without(way) => {
                let ways = chain(root);
                known("way", way, &ways)?;
                let left: Vec<String> = ways.into_iter().filter(|one| one != way).collect();
                keep(root, &left)
            }
            Edit::Set { field, value } => set(root, field, value),
        }
    }
}

/// A name that is in a list, or what stands against it.
fn known(what: &str, name: &str, names: &[String]) -> Result<(), Impossible> {
    if names.iter().any(|one| one == name) {
        return Ok(());
    }
    let otherwise = match names {
        [] => "it has no crossovers, so it has no ways".to_owned(),
        _ => format!("the {what}s are {}", names.join(", ")),
    };
    let help = meant(name, names.iter().map(String::as_str), otherwise);
    Err(impossible(format!("there is no {what} '{name}'"), help))
}

fn swap(root: &mut Node, way: &str, driver: &str) -> Result<(), Impossible> {
    let ways = chain(root);
    known("way", way, &ways)?;
    known("driver", driver, &keys(root, "drivers"))?;
    if ways.iter().any(|one| one == driver) {
        let message = format!("driver '{driver}' has a way of its own already");
        let help =
            format!("name a driver that is in no crossover: one with instead_of = \"{way}\"");
        return Err(impossible(message, help));
    }
    for crossover in list(root, "crossovers") {
        for name in field(crossover, "between").into_iter().flat_map(items) {
            if text(name) == Some(way) {
                name.value = NodeValue::Text(driver.to_owned());
            }
        }
    }
    // The wire to the place stays there, unless the other has its own.
    if let Some(internal) = field(root, "wiring").and_then(|wiring| field(wiring, "internal")) {
        let own = field(internal, driver).is_some();
        for entry in entries(internal) {
            if entry.key == way && !own {
                driver.clone_into(&mut entry.key);
            }
        }
        remove(internal, |key| key == way && own);
    }
    forget_drivers(root, &[way.to_owned()], Some(driver));
    remove(root, |key| key == "parts");
    Ok(())
}

fn keep(root: &mut Node, kept: &[String]) -> Result<(), Impossible> {
    let ways = chain(root);
    for name in kept {
        known("way", name, &ways)?;
    }
    let left: Vec<String> = ways
        .iter()
        .filter(|way| kept.contains(way))
        .cloned()
        .collect();
    if left.len() < 2 {
        let message = match left.first() {
            Some(way) => format!(
                "only the way '{way}' would be left, and there would be no crossover to design"
            ),
            None => "no way would be left".to_owned(),
        };
        let help = format!("leave at least two of its ways: {}", ways.join(", "));
        return Err(impossible(message, help));
    }
    let crossovers = list(root, "crossovers").len();
    if crossovers + 1 != ways.len() {
        let message = format!(
            "the crossovers make no chain: {crossovers} of them name the ways {}",
            ways.join(", ")
        );
        let help = "let each begin with the driver at which the one before it ends";
        return Err(impossible(message, help.to_owned()));
    }
    let gone: Vec<String> = ways
        .iter()
        .filter(|way| !kept.contains(way))
        .cloned()
        .collect();
    if let Some(node) = field(root, "crossovers")
        && let NodeValue::List(crossovers) = &mut node.value
    {
        let place = |name: &String| ways.iter().position(|way| way == name).unwrap_or(0);
        let joined = left.windows(2).map(|pair| {
            let between = &mut crossovers[place(&pair[0])..place(&pair[1])];
            join(between, &pair[0], &pair[1])
        });
        *crossovers = joined.collect();
    }
    if let Some(internal) = field(root, "wiring").and_then(|wiring| field(wiring, "internal")) {
        remove(internal, |key| gone.iter().any(|name| name == key));
    }
    forget_drivers(root, &gone, None);
    remove(root, |key| key == "parts");
    Ok(())
}

/// One crossover in the place of several neighbours: as it was where it is one, else wherever both drivers can do
/// it, with the slopes that all had.
fn join(between: &mut [Node], lower: &str, upper: &str) -> Node {
    let mut joined = between[0].clone();
    if between.len() < 2 {
        return joined;
    }
    let slopes: Vec<Option<String>> = between
        .iter_mut()
        .map(|crossover| {
            field(crossover, "alignment").and_then(|node| text(node).map(str::to_owned))
        })
        .collect();
    let same = slopes[0]
        .clone()
        .filter(|first| slopes.iter().all(|other| other.as_ref() == Some(first)));
    let names = [lower, upper].map(|name| Node {
        span: joined.span.clone(),
        value: NodeValue::Text(name.to_owned()),
    });
    put(&mut joined, "between", NodeValue::List(names.to_vec()));
    put(&mut joined, "frequency", NodeValue::Text("auto".to_owned()));
    let slopes = same.unwrap_or_else(|| "auto".to_owned());
    put(&mut joined, "alignment", NodeValue::Text(slopes));
    joined
}

/// Takes drivers out, with those that were there to be tried in their place; `heir` is the one that plays now.
fn forget_drivers(root: &mut Node, gone: &[String], heir: Option<&str>) {
    let Some(drivers) = field(root, "drivers") else {
        return;
    };
    let for_them: Vec<String> = entries(drivers)
        .iter_mut()
        .filter_map(|entry| {
            let place = field(&mut entry.node, "instead_of")
                .and_then(|node| text(node).map(str::to_owned))?;
            (gone.contains(&place) && heir != Some(entry.key.as_str())).then(|| entry.key.clone())
        })
        .collect();
    remove(drivers, |key| {
        gone.iter().chain(&for_them).any(|name| name == key)
    });
    for entry in entries(drivers) {
        if heir == Some(entry.key.as_str()) {
            remove(&mut entry.node, |key| key == "instead_of");
        }
    }
}

fn set(root: &mut Node, path: &str, typed: &str) -> Result<(), Impossible> {
    const HELP: &str = "write it like amplifier.output_impedance, or crossovers.1.frequency for the first of a list";
    let names: Vec<&str> = path.split('.').map(str::trim).collect();
    if names.iter().any(|name| name.is_empty()) {
        return Err(impossible(
            format!("'{path}' names no field"),
            HELP.to_owned(),
        ));
    }
    let value = value(typed, &root.span).map_err(|why| {
        impossible(
            format!("'{typed}' is no value of {path}: {why}"),
            HELP.to_owned(),
        )
    })?;
    let (last, tables) = names
        .split_last()
        .expect("a text splits into one piece at least");
    let mut node = root;
    for name in tables {
        node = step(node, name, path)?;
    }
    // The last may be an item of a list itself.
    if let NodeValue::List(_) = node.value {
        step(node, last, path)?.value = value;
        return Ok(());
    }
    if !matches!(node.value, NodeValue::Table(_)) {
        let message = format!("'{path}' is inside of a value that is no table");
        return Err(impossible(message, HELP.to_owned()));
    }
    put(node, last, value);
    Ok(())
}

/// The table or item of that name, made where a table lacks it.
fn step<'n>(node: &'n mut Node, name: &str, path: &str) -> Result<&'n mut Node, Impossible> {
    if matches!(node.value, NodeValue::List(_)) {
        let items = items(node);
        let count = items.len();
        let number = name
            .parse::<usize>()
            .ok()
            .filter(|n| (1..=count).contains(n));
        return match number {
            Some(number) => Ok(&mut items[number - 1]),
            None => Err(impossible(
                format!("'{name}' in '{path}' is no item of the list"),
                format!("items are counted from 1 to {count}"),
            )),
        };
    }
    if !matches!(node.value, NodeValue::Table(_)) {
        let message = format!("'{path}' is inside of a value that is no table");
        return Err(impossible(message, format!("'{name}' cannot be in it")));
    }
    if field(node, name).is_none() {
        put(node, name, NodeValue::Table(Vec::new()));
    }
    Ok(field(node, name).expect("it was put there"))
}

/// What is typed on a command line: a number, a switch, a list or table as TOML has them, else text.
fn value(typed: &str, span: &Range<usize>) -> Result<NodeValue, String> {
    let typed = typed.trim();
    let structured = typed.starts_with(['{', '[', '"', '\'']);
    match typed.parse::<Toml>() {
        Ok(parsed) => Ok(plain(&parsed, span)),
        Err(error) if structured => Err(error
            .to_string()
            .lines()
            .last()
            .unwrap_or_default()
            .to_owned()),
        Err(_) if typed.is_empty() => Err("it is empty".to_owned()),
        Err(_) => Ok(NodeValue::Text(typed.to_owned())),
    }
}

fn plain(value: &Toml, span: &Range<usize>) -> NodeValue {
    let node = |value: &Toml| Node {
        span: span.clone(),
        value: plain(value, span),
    };
    match value {
        Toml::String(text) => NodeValue::Text(text.value().clone()),
        Toml::Integer(number) => NodeValue::Number(*number.value() as f64),
        Toml::Float(number) => NodeValue::Number(*number.value()),
        Toml::Boolean(switch) => NodeValue::Switch(*switch.value()),
        Toml::Datetime(_) => NodeValue::Other("a date"),
        Toml::Array(items) => NodeValue::List(items.iter().map(node).collect()),
        Toml::InlineTable(table) => {
            let entries = table.iter().map(|(key, value)| TreeEntry {
                key: key.to_owned(),
                key_span: span.clone(),
                node: node(value),
            });
            NodeValue::Table(entries.collect())
        }
    }
}

/// The ways of the crossovers, lowest first.
fn chain(root: &mut Node) -> Vec<String> {
    let mut ways: Vec<String> = Vec::new();
    for crossover in list(root, "crossovers") {
        for name in field(crossover, "between").into_iter().flat_map(items) {
            let name = text(name).unwrap_or_default();
            if ways.iter().all(|way| way != name) {
                ways.push(name.to_owned());
            }
        }
    }
    ways
}

fn keys(root: &mut Node, table: &str) -> Vec<String> {
    let table = field(root, table).map(entries).unwrap_or_default();
    table.iter().map(|entry| entry.key.clone()).collect()
}

fn text(node: &Node) -> Option<&str> {
    match &node.value {
        NodeValue::Text(text) => Some(text),
        _ => None,
    }
}

fn entries(node: &mut Node) -> &mut [TreeEntry] {
    match &mut node.value {
        NodeValue::Table(entries) => entries,
        _ => &mut [],
    }
}

fn items(node: &mut Node) -> &mut [Node] {
    match &mut node.value {
        NodeValue::List(items) => items,
        _ => &mut [],
    }
}

fn list<'n>(root: &'n mut Node, name: &str) -> &'n mut [Node] {
    field(root, name).map(items).unwrap_or_default()
}

fn field<'n>(node: &'n mut Node, name: &str) -> Option<&'n mut Node> {
    let entry = entries(node).iter_mut().find(|entry| entry.key == name);
    entry.map(|entry| &mut entry.node)
}

/// A field of a table with this value, where the old one was or at the end.
fn put(node: &mut Node, name: &str, value: NodeValue) {
    if let Some(old) = field(node, name) {
        old.value = value;
        return;
    }
    let span = node.span.clone();
    if let NodeValue::Table(entries) = &mut node.value {
        entries.push(TreeEntry {
            key: name.to_owned(),
            key_span: span.clone(),
            node: Node { span, value },
        });
    }
}

fn remove(node: &mut Node, which: impl Fn(&str) -> bool) {
    if let NodeValue::Table(entries) = &mut node.value {
        entries.retain(|entry| !which(&entry.key));
    }
}
