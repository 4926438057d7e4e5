//! Reading the JSON documents of commands.

use serde_json::Value;

use crate::command::Outcome;

/// Where every document about a whole loudspeaker has its figures.
pub const FIGURES: [&str; 8] = [
    "/level_db",
    "/flatness/rms_db",
    "/flatness/max_db",
    "/flatness/max_at_hz",
    "/load/least_ohm",
    "/load/at_hz",
    "/load/phase_deg",
    "/load/least_epdr_ohm",
];

/// The document that a command has printed.
///
/// # Panics
/// If it is none.
#[must_use]
pub fn document(outcome: &Outcome) -> Value {
    serde_json::from_str(&outcome.out).unwrap_or_else(|_| panic!("{outcome:?}"))
}

/// The number at a place.
///
/// # Panics
/// If there is none.
pub fn number(document: &Value, pointer: &str) -> f64 {
    let value = document.pointer(pointer).and_then(Value::as_f64);
    value.unwrap_or_else(|| panic!("no number at {pointer}"))
}

/// Codes of the findings, in their order.
///
/// # Panics
/// If it has no findings.
#[must_use]
pub fn codes(document: &Value) -> Vec<String> {
    let findings = document["findings"].as_array().expect("findings");
    let code = |finding: &Value| finding["code"].as_str().expect("a code").to_owned();
    findings.iter().map(code).collect()
}

/// Finds all numbers finite.
///
/// # Panics
/// At the first that is not.
pub fn all_finite(value: &Value) {
    match value {
        Value::Number(number) => assert!(number.as_f64().is_some_and(f64::is_finite), "{number}"),
        Value::Array(values) => values.iter().for_each(all_finite),
        Value::Object(fields) => fields.values().for_each(all_finite),
        _ => {}
    }
}
