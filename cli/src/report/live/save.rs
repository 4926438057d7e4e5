//! The design file that the page saves: the text of the design with places for the parts.

use netlist::network::Network;
use netlist::project::{Form, write_parts};
use serde::Serialize;

/// The text of a design file in pieces: text, part, text, part, text.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Template {
    form: Form,
    /// One more than there are parts.
    between: Vec<String>,
    /// Name of each part and its table as written.
    parts: Vec<(String, String)>,
}

impl Template {
    /// Of the text of a project file, and the network that goes into it; `None` where the text cannot be
    /// taken apart, and the page then offers no file.
    pub(crate) fn new(text: &str, form: Form, network: &Network) -> Option<Self> {
        let text = write_parts(text, form, network).ok()?;
        let mut rest = &text[parts_begin(&text, form)?..];
        let mut between = vec![text[..text.len() - rest.len()].to_owned()];
        let mut parts = Vec::new();
        for name in network.parts().keys() {
            let (at, table) = table_of(rest, name, form)?;
            between.last_mut()?.push_str(&rest[..at]);
            parts.push((name.clone(), table.to_owned()));
            rest = &rest[at + table.len()..];
            between.push(String::new());
        }
        between.last_mut()?.push_str(rest);
        Some(Self {
            form,
            between,
            parts,
        })
    }

    pub(super) fn page_file(&self) -> PageFile {
        PageFile {
            form: match self.form {
                Form::Toml => "toml",
                Form::Json => "json",
            },
            between: self.between.clone(),
            tables: self.parts.iter().map(|(_, table)| table.clone()).collect(),
            names: self.parts.iter().map(|(name, _)| name.clone()).collect(),
        }
    }
}

/// The same for the script.
#[derive(Debug, Serialize)]
pub(super) struct PageFile {
    form: &'static str,
    /// One more than there are tables.
    between: Vec<String>,
    /// The parts as written.
    tables: Vec<String>,
    names: Vec<String>,
}

/// Where the table of the parts begins.
fn parts_begin(text: &str, form: Form) -> Option<usize> {
    match form {
        Form::Toml => {
            let mut lines = text.split_inclusive('\n').scan(0, |at, line| {
                let start = *at;
                *at += line.len();
                Some((start, line))
            });
            lines.find_map(|(at, line)| line.trim_start().starts_with("[parts]").then_some(at))
        }
        Form::Json => text.rfind("\"parts\""),
    }
}

/// The table of a part in what is left of the text: where it begins, and its text. Its name stands at the beginning of
/// a line, as [`write_parts`] writes it, so that a comment that names it is none.
fn table_of<'a>(rest: &'a str, name: &str, form: Form) -> Option<(usize, &'a str)> {
    let key = match form {
        Form::Toml => format!("{} =", plain_or_quoted(name)),
        Form::Json => format!("{}:", serde_json::Value::from(name)),
    };
    let mut at = 0;
    for line in rest.split_inclusive('\n') {
        if let Some(after) = line.trim_start().strip_prefix(&key) {
            let open = at + line.len() - after.len() + after.find('{')?;
            return Some((open, &rest[open..=open + closing(&rest[open..])?]));
        }
        at += line.len();
    }
    None
}

fn plain_or_quoted(name: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !name.is_empty() && name.chars().all(plain) {
        return name.to_owned();
    }
    serde_json::Value::from(name).to_string()
}

/// Position of the bracket that closes the first one, texts in quotes passed over.
fn closing(text: &str) -> Option<usize> {
    let (mut depth, mut quote, mut escaped) = (0, None, false);
    for (at, c) in text.char_indices() {
        match (quote, c) {
            _ if escaped => escaped = false,
            (Some('"'), '\\') => escaped = true,
            (Some(open), c) if c == open => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(c),
            (None, '{') => depth += 1,
            (None, '}') => {
                depth -= 1;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use netlist::network::{NodeId, Part, PartKind};
    use netlist::quantity::Ohms;

    use super::*;

    fn network(names: &[&str]) -> Network {
        let mut network = Network::new();
        for name in names {
            network.insert(
                *name,
                Part::new(PartKind::Resistor {
                    resistance: Ohms(4.7),
                    between: [NodeId::IN, NodeId::GND],
                }),
            );
        }
        network
    }

    #[test]
    fn a_text_is_taken_apart_and_put_together_again() {
        let text = "# R1 = { not this }\ntitle = \"R1 = {\"\n[parts]\n# of R1 = { }\n\
             R1 = { resistor = \"4R7\", between = [\"in\", \"gnd\"] } # behind } it\n\
             \"R 2\" = { resistor = \"4.7 ohm\", between = [\"in\", \"gnd\"] }\n[stock]\n";
        let names = ["R1", "R 2"];
        let template = Template::new(text, Form::Toml, &network(&names)).unwrap();
        let mut again = template.between[0].clone();
        for (part, after) in template.parts.iter().zip(&template.between[1..]) {
            assert!(part.1.starts_with('{') && part.1.ends_with('}'), "{part:?}");
            again += &part.1;
            again += after;
        }
        assert_eq!(again, text);
        assert_eq!(template.parts[0].0, "R1");
        assert!(template.parts[0].1.contains("4R7"));
        assert!(template.between[1].contains("# behind } it"));
    }

    #[test]
    fn a_json_file_too() {
        let text =
            "{ \"parts\": { \"R1\": { \"resistor\": 4.7, \"between\": [\"in\", \"gnd\"] } } }";
        let template = Template::new(text, Form::Json, &network(&["R1"])).unwrap();
        assert_eq!(template.parts.len(), 1);
        assert!(template.between[0].ends_with("\"R1\": "));
    }
}
