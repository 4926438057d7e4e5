//! `handover sweep` for people, and where data or current are missing.

use std::path::Path;

use serde_json::Value;
use tests::command::handover;

fn write_demo(folder: &Path) {
    let ran = handover(&["demo", folder.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
}

/// Runs a command that must succeed and reads its document.
fn document(args: &[&str]) -> Value {
    let ran = handover(args);
    assert_eq!(ran.status, 0, "{}", ran.err);
    serde_json::from_str(&ran.out).expect("one JSON document and nothing else")
}

/// The numbers of a column; a null is none.
fn numbers(document: &Value, pointer: &str) -> Vec<f64> {
    let column = document.pointer(pointer).and_then(Value::as_array);
    let column = column.unwrap_or_else(|| panic!("no column {pointer}"));
    column.iter().map(|cell| cell.as_f64().unwrap()).collect()
}

#[test]
fn an_inverted_driver_is_half_a_turn_away_and_the_sum_tells() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let file = folder.path().join("network.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let as_built = document(&["sweep", file.to_str().unwrap(), "--json", "--at", "650"]);
    let swapped = text.replace(
        r#"driver = "mid", between = ["m4", "gnd"]"#,
        r#"driver = "mid", between = ["m4", "gnd"], inverted = true"#,
    );
    assert_ne!(text, swapped);
    std::fs::write(&file, swapped).unwrap();
    let swapped = document(&["sweep", file.to_str().unwrap(), "--json", "--at", "650"]);
    let [a, b] = [&as_built, &swapped].map(|document| numbers(document, "/ways/mid/phase_deg")[0]);
    assert!(((a - b).abs() - 180.0).abs() < 1e-9, "{a} and {b}");
    let [a, b] = [&as_built, &swapped].map(|document| numbers(document, "/system/level_db")[0]);
    assert!(a - b > 6.0, "the sum falls from {a} to {b} dB");
}

#[test]
fn people_get_one_screen_with_units_and_messages_beside_it() {
    let ran = handover(&["sweep", "--demo"]);
    assert_eq!(ran.status, 0);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert!(lines.len() <= 40, "{} lines are no screen", lines.len());
    assert!(lines.iter().all(|line| line.chars().count() <= 100));
    for word in ["dB SPL", "2.83 V", "Hz", "ohm", "°", "low", "mid", "high"] {
        assert!(ran.out.contains(word), "{word} is missing:\n{}", ran.out);
    }
    let one_khz = lines.iter().find(|line| line.trim().starts_with("1 kHz"));
    let json = document(&["sweep", "--demo", "--json", "--at", "1k"]);
    let level = format!("{:.1}", numbers(&json, "/system/level_db")[0]);
    let cells: Vec<&str> = one_khz.unwrap().split_whitespace().collect();
    assert_eq!(cells[2], level);
    // The end slopes that were held are told, on stderr only.
    let note = "note: high: the response is measured from 500 Hz to 22 kHz";
    assert!(ran.err.contains(note), "{}", ran.err);
    assert!(!ran.out.contains("note:"));
}

#[test]
fn a_missing_phase_is_reconstructed_and_said() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let table = folder.path().join("mid-impedance.txt");
    let text = std::fs::read_to_string(&table).unwrap();
    let two_columns: String = text
        .lines()
        .filter(|line| !line.starts_with('*'))
        .map(|line| {
            let mut cells = line.split_whitespace();
            format!("{} {}\n", cells.next().unwrap(), cells.next().unwrap())
        })
        .collect();
    std::fs::write(&table, two_columns).unwrap();
    let file = folder.path().join("network.toml");
    let ran = handover(&["sweep", file.to_str().unwrap(), "--at", "1k"]);
    assert_eq!(ran.status, 0);
    let note = "note: mid: the impedance has no phase; the minimum phase was worked out";
    assert!(ran.err.contains(note), "{}", ran.err);
}

#[test]
fn a_network_that_takes_no_current_gives_numbers_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let file = folder.path().join("open.toml");
    // A capacitor so small that nothing passes it: the load is as good as open, the sound none.
    let text = r#"
[drivers.low]
measured = { impedance = "low-impedance.txt", response = "low-response.txt" }
[parts]
C1 = { capacitor = "1e-15 F", between = ["in", "a"] }
LOW = { driver = "low", between = ["a", "gnd"] }
"#;
    std::fs::write(&file, text).unwrap();
    // A null would not be read as a number.
    let swept = document(&["sweep", file.to_str().unwrap(), "--json", "--at", "20,20k"]);
    let load_ohm = numbers(&swept, "/load/magnitude_ohm")[0];
    assert!((load_ohm - 1e9).abs() < 1.0, "{load_ohm} ohm");
    let phase_deg = numbers(&swept, "/load/phase_deg");
    assert!(phase_deg.iter().all(|phase| phase.abs() <= 90.0));
    let level_db = numbers(&swept, "/system/level_db");
    assert!(level_db.iter().all(|level| *level < -50.0), "{level_db:?}");
    assert_eq!(numbers(&swept, "/system/phase_deg").len(), 2);
    let ran = handover(&["sweep", file.to_str().unwrap(), "--at", "20"]);
    assert!(ran.out.contains("open"), "{}", ran.out);
}

/// An invented compression driver on an exponential horn of 300 mm: its impedance rises above Re where the horn
/// takes power, and a horn of that length is 25 to 35 dB down an octave below its cut-off of 484 Hz
/// (ln 12/0.28 m · 343 m/s/2π) against what it gives above. The mass of the diaphragm takes 6 dB an octave far up.
#[test]
fn a_driver_on_a_horn_of_stated_shape() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("horn.toml");
    let text = r#"
[drivers.horn]
modelled = { re = "6 ohm", l1 = "0.05 mH", mms = "1 g", fs = "450 Hz", qms = 5, bl = "8 T m", sd = "16 cm2",
    horn = { throat = "25 mm", mouth = "300 mm", length = "280 mm", flare = "exponential" } }
coverage = { horizontal = "90 deg", vertical = "90 deg" }
[parts]
HORN = { driver = "horn", between = ["in", "gnd"] }
"#;
    std::fs::write(&file, text).unwrap();
    let at = "120,240,484,1000,2000,4000,8000,16000";
    let found = document(&["sweep", file.to_str().unwrap(), "--json", "--at", at]);
    let level_db = numbers(&found, "/system/level_db");
    let ohm = numbers(&found, "/load/magnitude_ohm");
    assert!((100.0..115.0).contains(&level_db[4]), "{level_db:?}");
    assert!(level_db[3] - level_db[0] > 25.0, "{level_db:?}");
    assert!(level_db[3] - level_db[1] > 10.0, "{level_db:?}");
    assert!(level_db[5] - level_db[7] > 6.0, "{level_db:?}");
    assert!(ohm[3] > 9.0 && ohm.iter().all(|ohm| *ohm > 6.0), "{ohm:?}");
}
