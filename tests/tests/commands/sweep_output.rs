//! `handover sweep`: its forms of output and its options.

use std::fs;
use tempfile::TempDir;
use tests::command::handover;

use super::sweep::{demo, document, path};

#[test]
fn the_columns_say_what_the_document_says() {
    let swept = document(&handover(&["sweep", "--demo", "--json", "--points", "37"]));
    assert_eq!(swept.frequency_hz.len(), 37);
    let csv = handover(&["sweep", "--demo", "--csv", "--points", "37"]);
    assert_eq!(csv.status, 0, "{}", csv.err);
    let mut lines = csv.out.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let columns = swept.columns();
    let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(header, names);
    let mut rows = 0;
    for (i, line) in lines.enumerate() {
        let row: Vec<f64> = (line.split(','))
            .map(|cell| cell.parse().expect("a number"))
            .collect();
        let wanted: Vec<f64> = columns.iter().map(|(_, column)| column[i]).collect();
        for (got, wanted) in row.iter().zip(&wanted) {
            // Reading JSON may miss the last bit.
            assert!((got - wanted).abs() <= 4e-16 * wanted.abs(), "row {i}");
        }
        assert_eq!(row.len(), wanted.len(), "row {i}");
        rows += 1;
    }
    assert_eq!(rows, 37);
}

#[test]
fn points_are_evenly_spaced_in_log_frequency_between_the_ends() {
    let args = [
        "sweep", "--demo", "--json", "--points", "9", "--from", "100 Hz", "--to", "1.6kHz",
    ];
    let f_hz = document(&handover(&args)).frequency_hz;
    for (i, f_hz) in f_hz.iter().enumerate() {
        let wanted = 100.0 * 2f64.powf(i as f64 / 2.0);
        assert!((f_hz / wanted - 1.0).abs() < 1e-12, "{i}: {f_hz}");
    }
    assert_eq!(f_hz.len(), 9);

    let usual = document(&handover(&["sweep", "--demo", "--json"])).frequency_hz;
    assert_eq!(usual.len(), 400);
    assert!((usual[0] / 20.0 - 1.0).abs() < 1e-12);
    assert!((usual[399] / 20e3 - 1.0).abs() < 1e-12);
}

#[test]
fn frequencies_are_taken_with_their_units() {
    let f_hz = document(&handover(&[
        "sweep",
        "--demo",
        "--json",
        "--at",
        "100,1k,6.5 kHz",
    ]));
    for (got, wanted) in f_hz.frequency_hz.iter().zip([100.0, 1e3, 6.5e3]) {
        assert!((got / wanted - 1.0).abs() < 1e-12, "{got}");
    }
    assert_eq!(f_hz.frequency_hz.len(), 3);
}

#[test]
fn the_table_for_people_has_a_row_for_each_frequency() {
    let outcome = handover(&["sweep", "--demo", "--at", "100,1000,10000"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let swept = document(&handover(&[
        "sweep",
        "--demo",
        "--json",
        "--at",
        "100,1000,10000",
    ]));
    let rows: Vec<&str> = outcome.out.lines().collect();
    let header = rows.iter().position(|row| row.contains("frequency"));
    let header = header.expect("a header");
    for (i, row) in rows[header + 1..].iter().enumerate() {
        let level = format!("{:.1}", swept.system.level_db[i]);
        let load = format!("{:.2} ohm", swept.load.magnitude_ohm[i]);
        assert!(row.contains(&level) && row.contains(&load), "{row}");
    }
    assert_eq!(rows.len() - header - 1, 3);
}

#[test]
fn data_go_to_one_output_and_messages_to_the_other() {
    // Below 500 Hz the table of the small horn ends, which is worth a message.
    let outcome = handover(&["sweep", "--demo", "--json", "--at", "100"]);
    document(&outcome);
    assert!(
        outcome
            .err
            .lines()
            .any(|line| line.starts_with("note: high: the response")),
        "{}",
        outcome.err
    );
    assert!(!outcome.out.contains("note"));
    // And nothing is worth one where all tables reach.
    let quiet = handover(&["sweep", "--demo", "--json", "--at", "1000"]);
    assert_eq!(quiet.err, "");
}

#[test]
fn the_demo_in_the_program_is_the_demo_it_writes() {
    let folder = demo();
    let inside = handover(&["sweep", "--demo", "--json"]);
    let outside = handover(&["sweep", &path(&folder, "network.toml"), "--json"]);
    document(&inside);
    assert_eq!(inside.out, outside.out);
}

#[test]
fn a_modelled_project_sweeps_too_once_it_has_a_network() {
    let folder = TempDir::new().expect("a temporary folder");
    let project = r#"
[drivers.low]
modelled = { re = "5.4 ohm", fs = "33 Hz", qms = 6.0, qes = 0.36, vas = "180 L", sd = "855 cm2", box = { volume = "140 L", tuning = "34 Hz" } }
[parts]
LOW = { driver = "low", between = ["in", "gnd"] }
"#;
    let file = path(&folder, "project.toml");
    fs::write(&file, project).expect("a file");
    let swept = document(&handover(&["sweep", &file, "--json", "--at", "2,33,20000"]));
    // Far below its resonances a voice coil is its resistance; so it is far above, without inductance.
    assert!((swept.load.magnitude_ohm[2] / 5.4 - 1.0).abs() < 1e-2);
    assert!((swept.load.magnitude_ohm[0] / 5.4 - 1.0).abs() < 0.1);
    assert!(swept.load.magnitude_ohm[1] >= 5.4);
}

#[test]
fn a_demo_that_is_there_is_kept_unless_forced() {
    let folder = TempDir::new().expect("a temporary folder");
    let place = path(&folder, "demo");
    fs::create_dir(&place).expect("a folder");
    let kept = folder.path().join("demo").join("mid-response.txt");
    fs::write(&kept, "the builder's own").expect("a file");

    let refused = handover(&["demo", &place]);
    assert_eq!(refused.status, 2);
    assert_eq!(refused.out, "");
    assert!(refused.err.contains("mid-response.txt"), "{}", refused.err);
    assert!(refused.err.contains("--force"), "{}", refused.err);
    assert_eq!(
        fs::read_to_string(&kept).expect("the file"),
        "the builder's own"
    );
    let files = fs::read_dir(&place).expect("the folder").count();
    assert_eq!(files, 1, "nothing else was written");

    let forced = handover(&["demo", &place, "--force"]);
    assert_eq!(forced.status, 0, "{}", forced.err);
    assert!(
        fs::read_to_string(&kept)
            .expect("the file")
            .contains("INVENTED")
    );
    // No temporary file is left behind.
    let names: Vec<String> = fs::read_dir(&place)
        .expect("the folder")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(names.len(), 12, "{names:?}");
    assert!(
        names
            .iter()
            .all(|name| name.ends_with(".toml") || name.ends_with(".txt"))
    );
}
