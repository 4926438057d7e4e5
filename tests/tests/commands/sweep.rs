//! `handover sweep` as a whole command: its curves against a solution by other means.

use std::f64::consts::TAU;
use std::fs;
use std::path::Path;

use indexmap::IndexMap;
use netlist::network::PartKind;
use netlist::project::load;
use num_complex::Complex64;
use serde::Deserialize;
use tempfile::TempDir;
use tests::command::{Outcome, handover};
use tests::dense_oracle;

/// 331.3·√(1 + 20/273.15), in m/s (J. O. Smith, *Physical Audio Signal Processing*).
const SPEED_OF_SOUND_M_PER_S: f64 = 343.2146;
const AMPLIFIER_V: f64 = 2.83;
const REFERENCE_PRESSURE_PA: f64 = 20e-6;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Document {
    pub(super) frequency_hz: Vec<f64>,
    pub(super) system: Sound,
    pub(super) ways: IndexMap<String, Sound>,
    pub(super) load: Load,
    pub(super) nodes: IndexMap<String, Volts>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sound {
    pub(super) level_db: Vec<f64>,
    pub(super) phase_deg: Vec<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Load {
    pub(super) magnitude_ohm: Vec<f64>,
    pub(super) phase_deg: Vec<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Volts {
    pub(super) magnitude_v: Vec<f64>,
    pub(super) phase_deg: Vec<f64>,
}

impl Document {
    pub(super) fn columns(&self) -> Vec<(String, &[f64])> {
        let mut columns: Vec<(String, &[f64])> = vec![
            ("frequency_hz".into(), &self.frequency_hz),
            ("system level_db".into(), &self.system.level_db),
            ("system phase_deg".into(), &self.system.phase_deg),
        ];
        for (name, way) in &self.ways {
            columns.push((format!("{name} level_db"), &way.level_db));
            columns.push((format!("{name} phase_deg"), &way.phase_deg));
        }
        columns.push(("load magnitude_ohm".into(), &self.load.magnitude_ohm));
        columns.push(("load phase_deg".into(), &self.load.phase_deg));
        for (name, node) in &self.nodes {
            columns.push((format!("node {name} magnitude_v"), &node.magnitude_v));
            columns.push((format!("node {name} phase_deg"), &node.phase_deg));
        }
        columns
    }
}

/// Reads the document, and holds it to equal lengths and finite numbers.
pub(super) fn document(outcome: &Outcome) -> Document {
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let document: Document = serde_json::from_str(&outcome.out).expect("one JSON document");
    for (name, column) in document.columns() {
        assert_eq!(column.len(), document.frequency_hz.len(), "{name}");
        assert!(column.iter().all(|x| x.is_finite()), "{name}: {column:?}");
    }
    document
}

pub(super) fn demo() -> TempDir {
    let folder = TempDir::new().expect("a temporary folder");
    let outcome = handover(&["demo", folder.path().to_str().expect("a plain path")]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    folder
}

pub(super) fn path(folder: &TempDir, file: &str) -> String {
    let path = folder.path().join(file);
    path.to_str().expect("a plain path").to_owned()
}

/// A table as the test reads it: frequency, magnitude, phase in degrees without jumps.
struct Table(Vec<[f64; 3]>);

impl Table {
    fn read(file: &Path) -> Self {
        let text = fs::read_to_string(file).expect("a table");
        let mut rows: Vec<[f64; 3]> = Vec::new();
        for line in text.lines() {
            let numbers: Result<Vec<f64>, _> = line.split_whitespace().map(str::parse).collect();
            let Ok(numbers) = numbers else { continue };
            let mut row: [f64; 3] = numbers.try_into().expect("three columns");
            if let Some(last) = rows.last() {
                row[2] -= 360.0 * ((row[2] - last[2]) / 360.0).round();
            }
            rows.push(row);
        }
        assert!(rows.len() >= 8, "{}", file.display());
        Self(rows)
    }

    /// Magnitude (its logarithm when `log` is set, else as it is) and phase on a straight line over
    /// log-frequency between the two rows about `f_hz`.
    fn at(&self, f_hz: f64, log: bool) -> (f64, f64) {
        let rows = &self.0;
        let upper = rows.iter().position(|row| row[0] >= f_hz);
        let upper = upper.expect("within the table").max(1);
        let (a, b) = (rows[upper - 1], rows[upper]);
        assert!(a[0] <= f_hz, "{f_hz} Hz is below the table");
        let t = (f_hz / a[0]).ln() / (b[0] / a[0]).ln();
        let line = |a: f64, b: f64| a + t * (b - a);
        let magnitude = match log {
            true => line(a[1].ln(), b[1].ln()).exp(),
            false => line(a[1], b[1]),
        };
        (magnitude, line(a[2], b[2]))
    }

    fn impedance(&self, f_hz: f64) -> Complex64 {
        let (ohm, deg) = self.at(f_hz, true);
        Complex64::from_polar(ohm, deg.to_radians())
    }

    /// Pascal at 1 m per volt.
    fn sound(&self, f_hz: f64, drive_v: f64, distance_m: f64) -> Complex64 {
        let (db, deg) = self.at(f_hz, false);
        let pascal = REFERENCE_PRESSURE_PA * 10f64.powf(db / 20.0);
        Complex64::from_polar(pascal * distance_m / drive_v, deg.to_radians())
    }
}

/// What the test knows of a driver, apart from its name: the tables, how they were taken, how deep
/// it sits.
struct Measured {
    name: &'static str,
    impedance: Table,
    response: Table,
    drive_v: f64,
    distance_m: f64,
    back_m: f64,
}

/// Holds the program's sweep of `file` at `frequencies` (as printed in the tables) to the unreduced
/// nodal equations solved with full pivoting: 0.001 dB in system, ways and node voltages, 0.01 % in |Z|.
fn agrees(file: &str, drivers: &[Measured], amplifier_ohm: f64, frequencies: &[String]) {
    let at = frequencies.join(",");
    let swept = document(&handover(&["sweep", file, "--json", "--at", &at]));
    assert_eq!(swept.frequency_hz.len(), frequencies.len());
    let loaded = load(Path::new(file)).expect("a readable project");
    let network = loaded.project.network.expect("a network");
    let by_name = |name: &str| drivers.iter().find(|d| d.name == name).expect("a driver");

    let near_db = |what: &str, f_hz: f64, got_db: f64, want_db: f64| {
        let miss = (got_db - want_db).abs();
        assert!(
            miss < 1e-3,
            "{what} at {f_hz} Hz: {got_db} dB against {want_db} dB"
        );
    };
    let near_phase = |what: &str, f_hz: f64, got_deg: f64, want: Complex64| {
        let turn = want * Complex64::from_polar(1.0, -got_deg.to_radians());
        let miss = turn.arg().to_degrees().abs();
        assert!(
            miss < 0.01,
            "{what} at {f_hz} Hz: phase {got_deg}°, off by {miss}°"
        );
    };
    let db = |pascal: Complex64| 20.0 * (pascal.norm() / REFERENCE_PRESSURE_PA).log10();

    for (i, printed) in frequencies.iter().enumerate() {
        let f_hz: f64 = printed.parse().expect("a frequency");
        assert!((swept.frequency_hz[i] / f_hz - 1.0).abs() < 1e-12);
        let loads: Vec<Complex64> = (network.driver_names())
            .map(|name| by_name(name).impedance.impedance(f_hz))
            .collect();
        let solved = dense_oracle::solve(&network, &loads, TAU * f_hz, AMPLIFIER_V, amplifier_ohm);
        assert!(solved.residual < 1e-12);

        let mut system = Complex64::ZERO;
        for part in network.parts().values() {
            let PartKind::Driver {
                driver,
                between,
                inverted,
            } = &part.kind
            else {
                continue;
            };
            let known = by_name(driver);
            let volts = solved.voltage[between[0].0] - solved.voltage[between[1].0];
            let delay_s = known.back_m / SPEED_OF_SOUND_M_PER_S;
            let sound = volts
                * (known.response).sound(f_hz, known.drive_v, known.distance_m)
                * Complex64::from_polar(1.0, -TAU * f_hz * delay_s)
                * if *inverted { -1.0 } else { 1.0 };
            system += sound;
            let way = &swept.ways[driver];
            near_db(driver, f_hz, way.level_db[i], db(sound));
            near_phase(driver, f_hz, way.phase_deg[i], sound);
        }
        near_db("system", f_hz, swept.system.level_db[i], db(system));
        near_phase("system", f_hz, swept.system.phase_deg[i], system);

        let input = solved.voltage[1];
        let z = input / solved.source_current;
        let z_miss = (swept.load.magnitude_ohm[i] / z.norm() - 1.0).abs();
        assert!(z_miss < 1e-4, "load at {f_hz} Hz: off by {z_miss}");
        near_phase("load", f_hz, swept.load.phase_deg[i], z);

        for (name, node) in &swept.nodes {
            let volts = solved.voltage[network.find_node(name).expect("a node").0];
            let miss_db = 20.0 * (node.magnitude_v[i] / volts.norm()).log10();
            near_db(name, f_hz, miss_db, 0.0);
            near_phase(name, f_hz, node.phase_deg[i], volts);
        }
    }
    assert_eq!(swept.ways.len(), network.driver_names().count());
    assert!(swept.nodes.contains_key("in"));
}

/// The first column of a table, as printed there.
fn printed_frequencies(file: &Path) -> Vec<String> {
    let text = fs::read_to_string(file).expect("a table");
    let first = |line: &str| line.split_whitespace().next().map(str::to_owned);
    (text.lines().filter_map(first))
        .filter(|word| word.parse::<f64>().is_ok())
        .collect()
}

#[test]
fn the_demo_agrees_with_an_independent_solution_at_all_frequencies_of_its_tables() {
    let folder = demo();
    let driver = |name: &'static str, back_m: f64| {
        let table = |which: &str| folder.path().join(format!("{name}-{which}.txt"));
        Measured {
            name,
            impedance: Table::read(&table("impedance")),
            response: Table::read(&table("response")),
            drive_v: 2.83,
            distance_m: 1.0,
            back_m,
        }
    };
    let drivers = [
        driver("low", 0.0),
        driver("mid", 0.028),
        driver("high", 0.024),
    ];
    // Where all tables reach: from the first row of the one that begins last to the end of the one
    // that ends first.
    let tables = drivers.iter().flat_map(|d| [&d.impedance, &d.response]);
    let (mut from_hz, mut to_hz) = (0.0_f64, f64::INFINITY);
    for Table(rows) in tables {
        from_hz = from_hz.max(rows[0][0]);
        to_hz = to_hz.min(rows[rows.len() - 1][0]);
    }
    let mut frequencies: Vec<String> = Vec::new();
    for name in ["low", "mid", "high"] {
        for which in ["impedance", "response"] {
            let file = folder.path().join(format!("{name}-{which}.txt"));
            frequencies.extend(printed_frequencies(&file));
        }
    }
    let number = |printed: &String| printed.parse::<f64>().expect("a frequency");
    frequencies.retain(|f| (from_hz..=to_hz).contains(&number(f)));
    frequencies.sort_by(|a, b| number(a).total_cmp(&number(b)));
    frequencies.dedup();
    // Three sets of frequencies over more than five octaves.
    assert!(frequencies.len() > 350, "{}", frequencies.len());
    agrees(&path(&folder, "network.toml"), &drivers, 1.8, &frequencies);
}

/// Invented curves on one set of frequencies, so that nothing is interpolated; the levels were
/// taken with another drive and at another distance, and one driver is turned round.
#[test]
fn tables_on_the_same_frequencies_agree_without_any_interpolation() {
    let folder = TempDir::new().expect("a temporary folder");
    let f_hz = [
        50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150, 5000, 8000, 12500,
    ];
    let write = |name: &str, row: &dyn Fn(f64) -> (f64, f64)| {
        let rows = f_hz.iter().map(|&f| {
            let (magnitude, deg) = row(f64::from(f));
            format!("{f} {magnitude:.4} {deg:.3}\n")
        });
        let text: String = rows.collect();
        fs::write(folder.path().join(name), text).expect("a file");
    };
    write("cone-z.txt", &|f| {
        (
            6.0 + 20.0 / (1.0 + (f / 60.0 - 1.0).powi(2)) + f / 900.0,
            30.0 - 25.0 / (1.0 + f / 700.0),
        )
    });
    write("cone-p.txt", &|f| (93.0 - f / 700.0, -f / 60.0));
    write("horn-z.txt", &|f| {
        (9.0 + 6.0 * (f / 900.0).sin(), 20.0 * (f / 1500.0).cos())
    });
    write("horn-p.txt", &|f| (104.0 - 900.0 / f, 90.0 - f / 90.0));
    let project = r#"
amplifier = { output_impedance = "0.7 ohm" }
[drivers.cone]
measured = { impedance = "cone-z.txt", response = "cone-p.txt", drive = "1 V", distance = "50 cm" }
[drivers.horn]
measured = { impedance = "horn-z.txt", response = "horn-p.txt", drive = "2 V", distance = "2 m" }
position = { back = "0.31 m" }
[parts]
L1 = { inductor = "2.2 mH", between = ["in", "a"], dcr = "0.4 ohm" }
L2 = { inductor = "0.9 mH", between = ["b", "gnd"], dcr = "0.3 ohm" }
K1 = { coupling = ["L1", "L2"], factor = 0.06 }
C1 = { capacitor = "33 uF", between = ["a", "gnd"] }
CONE = { driver = "cone", between = ["a", "gnd"] }
C2 = { capacitor = "12 uF", between = ["in", "b"], esr = "50 mohm" }
T1 = { autoformer = "30 mH", between = ["b", "gnd"], taps = { c = 0.4 }, coupling = 0.998, dcr = "0.5 ohm" }
R1 = { resistor = "15 ohm", between = ["c", "gnd"] }
HORN = { driver = "horn", between = ["c", "gnd"], inverted = true }
"#;
    fs::write(folder.path().join("project.toml"), project).expect("a file");
    let driver = |name: &'static str, drive_v: f64, distance_m: f64, back_m: f64| Measured {
        name,
        impedance: Table::read(&folder.path().join(format!("{name}-z.txt"))),
        response: Table::read(&folder.path().join(format!("{name}-p.txt"))),
        drive_v,
        distance_m,
        back_m,
    };
    let drivers = [
        driver("cone", 1.0, 0.5, 0.0),
        driver("horn", 2.0, 2.0, 0.31),
    ];
    let frequencies: Vec<String> = f_hz.iter().map(ToString::to_string).collect();
    agrees(&path(&folder, "project.toml"), &drivers, 0.7, &frequencies);
}
