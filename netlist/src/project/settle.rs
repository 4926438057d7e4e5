//! What a brief leaves open, written into its text once it is decided.

use toml_edit::{DocumentMut, Item, TableLike, Value};

use super::{AlignmentPair, Form, WriteError};
use crate::quantity::{Hertz, Metres, Quantity};

/// Crossovers and set-backs that were decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Frequency and slopes of each crossover, lowest first.
    pub crossovers: Vec<(Hertz, AlignmentPair)>,
    /// Drivers that were set back, by name.
    pub backs: Vec<(String, Metres)>,
}

/// The text of a project file with what was decided in the place of what was open.
///
/// In TOML all else stays as it is, comments too; JSON has no comments and keeps its order.
///
/// # Errors
/// When `text` is not of the form.
pub fn write_settled(text: &str, form: Form, settled: &Settled) -> Result<String, WriteError> {
    match form {
        Form::Toml => into_toml(text, settled),
        Form::Json => into_json(text, settled),
    }
}

/// The slopes as the file has them: one name, or one for each side.
fn names(pair: AlignmentPair) -> (String, Option<String>) {
    let (lower, upper) = (pair.lower.to_string(), pair.upper.to_string());
    match lower == upper {
        true => (lower, None),
        false => (lower, Some(upper)),
    }
}

/// Puts a value in the place of another, with the blanks and comments about it.
fn replace(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

fn into_toml(text: &str, settled: &Settled) -> Result<String, WriteError> {
    let mut document: DocumentMut = (text.parse())
        .map_err(|error: toml_edit::TomlError| WriteError::Form(error.to_string()))?;
    let decide = |table: &mut dyn TableLike, (frequency, pair): &(Hertz, AlignmentPair)| {
        replace(table, "frequency", Value::from(frequency.to_file_string()));
        let slopes = match names(*pair) {
            (name, None) => Value::from(name),
            (lower, Some(upper)) => {
                let mut sides = toml_edit::InlineTable::new();
                sides.insert("lower", Value::from(lower));
                sides.insert("upper", Value::from(upper));
                Value::InlineTable(sides)
            }
        };
        replace(table, "alignment", slopes);
    };
    match document.get_mut("crossovers") {
        Some(Item::ArrayOfTables(tables)) => {
            for (table, crossover) in tables.iter_mut().zip(&settled.crossovers) {
                decide(table, crossover);
            }
        }
        Some(Item::Value(Value::Array(array))) => {
            for (value, crossover) in array.iter_mut().zip(&settled.crossovers) {
                if let Some(table) = value.as_inline_table_mut() {
                    decide(table, crossover);
                }
            }
        }
        _ => {}
    }
    for (name, back) in &settled.backs {
        let driver = document
            .get_mut("drivers")
            .and_then(Item::as_table_like_mut)
            .and_then(|drivers| drivers.get_mut(name))
            .and_then(Item::as_table_like_mut);
        let position = driver
            .and_then(|driver| driver.get_mut("position"))
            .and_then(Item::as_table_like_mut);
        if let Some(position) = position {
            replace(position, "back", Value::from(back.to_file_string()));
        }
    }
    Ok(document.to_string())
}

fn into_json(text: &str, settled: &Settled) -> Result<String, WriteError> {
    let mut document: serde_json::Value =
        serde_json::from_str(text).map_err(|error| WriteError::Form(error.to_string()))?;
    for (i, (frequency, pair)) in settled.crossovers.iter().enumerate() {
        let Some(crossover) = document.pointer_mut(&format!("/crossovers/{i}")) else {
            continue;
        };
        crossover["frequency"] = frequency.to_file_string().into();
        crossover["alignment"] = match names(*pair) {
            (name, None) => name.into(),
            (lower, Some(upper)) => serde_json::json!({ "lower": lower, "upper": upper }),
        };
    }
    for (name, back) in &settled.backs {
        if let Some(position) = document["drivers"][name.as_str()].get_mut("position") {
            position["back"] = back.to_file_string().into();
        }
    }
    serde_json::to_string_pretty(&document).map_err(|error| WriteError::Form(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::{Alignment, Family};

    const SETTLED: [(Hertz, AlignmentPair); 2] = {
        let lr4 = Alignment {
            family: Family::LinkwitzRiley,
            order: 4,
        };
        let bw3 = Alignment {
            family: Family::Butterworth,
            order: 3,
        };
        [
            (
                Hertz(640.0),
                AlignmentPair {
                    lower: lr4,
                    upper: lr4,
                },
            ),
            (
                Hertz(5200.0),
                AlignmentPair {
                    lower: lr4,
                    upper: bw3,
                },
            ),
        ]
    };

    #[test]
    fn what_was_open_is_decided_and_the_remarks_stay() {
        let text = "# mine\n[drivers.mid]\nposition = { back = { from = \"0 mm\", to = \"80 mm\" }, up = \"1 m\" } # tall\n\
             [[crossovers]]\nbetween = [\"low\", \"mid\"]\nfrequency = \"auto\" # whatever\n\
             [[crossovers]]\nbetween = [\"mid\", \"high\"]\nfrequency = { from = \"4 kHz\", to = \"8 kHz\" }\nalignment = \"auto\"\n";
        let settled = Settled {
            crossovers: SETTLED.to_vec(),
            backs: vec![("mid".to_owned(), Metres(0.04))],
        };
        let written = write_settled(text, Form::Toml, &settled).unwrap();
        for piece in [
            "# mine",
            "frequency = \"640 Hz\" # whatever",
            "frequency = \"5.2 kHz\"",
            "alignment = \"LR4\"",
            "lower = \"LR4\", upper = \"BW3\"",
            "up = \"1 m\"",
            "# tall",
        ] {
            assert!(written.contains(piece), "{piece}: {written}");
        }
        assert!(
            !written.contains("auto") && !written.contains("from ="),
            "{written}"
        );
    }

    #[test]
    fn json_is_decided_too() {
        let text = r#"{"crossovers": [{"frequency": "auto"}], "drivers": {"mid": {"position": {"back": {"from": "0 m", "to": "1 m"}}}}}"#;
        let settled = Settled {
            crossovers: SETTLED[..1].to_vec(),
            backs: vec![("mid".to_owned(), Metres(0.04))],
        };
        let written = write_settled(text, Form::Json, &settled).unwrap();
        assert!(
            written.contains("640 Hz") && written.contains("LR4"),
            "{written}"
        );
        assert!(!written.contains("auto"), "{written}");
        assert!(write_settled("{", Form::Json, &settled).is_err());
    }
}
