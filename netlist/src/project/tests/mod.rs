//! Reading project files: the whole contract in both forms.
#![expect(
    clippy::float_cmp,
    reason = "decimal digits in a file name one number exactly"
)]

mod amplifier;
mod cabinet;
mod edit;
mod files_mistakes;
mod mistakes;
mod near_field;
mod open;
mod parts_mistakes;
mod radiation;
mod wiring;
mod writing;

use std::io;
use std::path::Path;

use super::*;
use crate::network::{Joined, PartKind};
use crate::problem::Problems;
use crate::quantity::{Fraction, Volts, Watts};

const IMPEDANCE: &str = "# invented\n20 6\n50 7\n100 8\n200 9\n500 10\n1000 12\n2000 15\n5000 20\n";
const RESPONSE: &str =
    "20 60 0\n50 70 10\n100 80 20\n200 85 30\n500 90 40\n1000 91 50\n2000 92 60\n5000 88 70\n";
const CATALOGUE: &str = "kind,value,tolerance,dcr_or_esr,rating,price,name,count\n\
    capacitor,22 uF,5 %,20 mohm,250 V,3.50,\"film, blue\",2\n\
    # a remark\n\
    inductor,1.5mH,,0.31,,12,air core,\n";

/// A whole project, invented for the tests.
pub(super) const PROJECT: &str = r#"title = "Test box"
note = "invented"

[amplifier]
output_impedance = "1.8 ohm"
rated_power = "20 W"
rated_load = "8 ohm"

[aim]
from = "60 Hz"
to = "17 kHz"
level = "auto"
tilt = "-0.5 dB"

[listener]
distance = "3 m"
up = "1 m"

[drivers.low]
modelled = { re = "5.4 ohm", fs = "33 Hz", qms = 6.0, qes = 0.36, vas = "180 L", sd = "855 cm2", l1 = "0.3 mH", l2 = "0.7 mH", r2 = "9 ohm", box = { volume = "140 L", tuning = "34 Hz" } }

[drivers.mid]
measured = { impedance = "mid-z.txt", response = "mid-r.txt", drive = "2 V" }
usable = { from = "450 Hz", to = "16 kHz" }
power = "50 W"
position = { up = "1.1 m", back = "0.09 m" }

[drivers.high]
modelled = { re = 6.2, k = 0.02, n = 0.6, level = "106 dB", horn = { cutoff = "2 kHz", order = 3 }, resonances = [{ r = "12 ohm", f = "2.1 kHz", q = 2 }], mass_corner = "9 kHz", top = { f = "17 kHz", q = 1.3 }, coil_rise = "60 K" }

[[crossovers]]
between = ["low", "mid"]
frequency = "650 Hz"
alignment = "LR4"

[[crossovers]]
between = ["mid", "high"]
frequency = "6.5 kHz"
alignment = { lower = "LR4", upper = "BW3" }

[stock]
capacitors = { series = "E12", from = "0.1 uF", to = "220 uF", tolerance = "5 %", esr = "20 mohm", together = 2 }
inductors = { series = "E12", from = "50 uH", to = "12 mH", tolerance = "3 %", wire = "1.25 mm" }
catalogue = "stock.csv"

[parts]
# the series capacitor
C1 = { capacitor = "24 uF", between = ["in", "m1"], esr = "20 mohm", made_of = { parallel = ["22 uF", "2 uF"] } } # film
L1 = { inductor = "1.5 mH", between = ["m1", "gnd"], dcr = "0.31 ohm", fixed = true }
R1 = { resistor = "10 ohm", between = ["m1", "m2"], power = "20 W", tolerance = "1 %" }
T1 = { autoformer = "40 mH", between = ["m2", "gnd"], taps = { m3 = 0.5, m4 = 0.35 }, coupling = 0.999, dcr = "0.4 ohm" }
L2 = { inductor = "2 mH", between = ["in", "l1"] }
K1 = { coupling = ["L1", "L2"], factor = 0.02 }
MID = { driver = "mid", between = ["m3", "gnd"], inverted = true }
LOW = { driver = "low", between = ["l1", "gnd"] }
HIGH = { driver = "high", between = ["in", "gnd"] }
"#;

/// Reads `text` as the project file `box/p.toml` or `box/p.json`, beside three good files.
pub(super) fn read(name: &str, text: &str) -> Result<Loaded, Problems> {
    let path = Path::new("box").join(name);
    let files = |asked: &Path| -> io::Result<Vec<u8>> {
        if asked == path {
            return Ok(text.as_bytes().to_vec());
        }
        let known = [
            ("mid-z.txt", IMPEDANCE),
            ("mid-r.txt", RESPONSE),
            ("stock.csv", CATALOGUE),
        ];
        let found = known
            .iter()
            .find(|(file, _)| asked == Path::new("box").join(file));
        found
            .map(|(_, text)| text.as_bytes().to_vec())
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    };
    load_from(&files, &path)
}

/// Gives the resistor `R1` another value, in ohm.
fn set_r1(network: &mut Network, ohm: f64) {
    if let PartKind::Resistor { resistance, .. } = &mut network.parts_mut()["R1"].kind {
        *resistance = Ohms(ohm);
    }
}

/// Reads a good TOML project.
pub(super) fn good(text: &str) -> Project {
    match read("p.toml", text) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}"),
    }
}

#[test]
fn every_field_is_read() {
    let project = good(PROJECT);
    assert_eq!(project.title.as_deref(), Some("Test box"));
    assert_eq!(project.note.as_deref(), Some("invented"));
    assert_eq!(
        project.amplifier.output_impedance,
        OutputImpedance::Resistance(Ohms(1.8))
    );
    assert_eq!(project.amplifier.rated_power, Some(Watts(20.0)));
    assert_eq!(project.aim.minimum_load, None);
    assert_eq!(project.aim.level, None);
    assert_eq!(project.aim.tilt, Decibels(-0.5));
    let listener = project.listener.expect("a listener");
    assert_eq!(
        (listener.distance, listener.up, listener.right),
        (Metres(3.0), Metres(1.0), Metres(0.0))
    );

    let names: Vec<_> = project.drivers.keys().map(String::as_str).collect();
    assert_eq!(names, ["low", "mid", "high"]);
    let Source::Cone(low) = &project.drivers["low"].source else {
        panic!("low is a cone driver")
    };
    assert_eq!((low.vas.0, low.sd.0), (0.18, 0.0855));
    let enclosure = low.enclosure.expect("a box");
    assert_eq!(
        (enclosure.volume.0, enclosure.tuning, enclosure.leakage_q()),
        (0.14, Some(Hertz(34.0)), 7.0)
    );
    let Source::Measured(mid) = &project.drivers["mid"].source else {
        panic!("mid is measured")
    };
    assert_eq!((mid.drive, mid.distance), (Volts(2.0), Metres(1.0)));
    assert_eq!(mid.impedance.magnitude[0], 6.0);
    assert_eq!(mid.response.phase_deg.as_ref().expect("phase")[7], 70.0);
    assert_eq!(
        project.drivers["mid"].usable,
        Some([Hertz(450.0), Hertz(16e3)])
    );
    let Source::Compression(high) = &project.drivers["high"].source else {
        panic!("high is a compression driver")
    };
    assert_eq!(high.inductance, LossyInductance::Power { k: 0.02, n: 0.6 });
    assert_eq!(
        (high.horn.order, high.horn.q),
        (3, std::f64::consts::FRAC_1_SQRT_2)
    );
    assert_eq!(
        high.resonances,
        [Resonance {
            r: Ohms(12.0),
            f: Hertz(2100.0),
            q: 2.0
        }]
    );

    assert_eq!(project.crossovers.len(), 2);
    let pair = project.crossovers[1].alignment.expect("not auto");
    assert_eq!(
        (pair.lower.to_string(), pair.upper.to_string()),
        ("LR4".into(), "BW3".into())
    );

    assert_eq!(project.stock.catalogue.len(), 2);
    assert_eq!(project.stock.catalogue[0].name, "film, blue");
    assert_eq!(project.stock.catalogue[0].count, Some(2));
    assert_eq!(project.stock.catalogue[1].value_si, 1.5e-3);
    assert_eq!(project.stock.capacitors.as_ref().expect("said").together, 2);

    let network = project.network.expect("a network");
    let parts: Vec<_> = network.parts().keys().map(String::as_str).collect();
    assert_eq!(
        parts,
        ["C1", "L1", "R1", "T1", "L2", "K1", "MID", "LOW", "HIGH"]
    );
    let c1 = &network.parts()["C1"];
    assert_eq!(c1.value_si(), Some(24e-6));
    assert_eq!(
        c1.made_of.as_ref().expect("made of").joined,
        Joined::Parallel
    );
    assert!(network.parts()["L1"].fixed);
    assert_eq!(network.parts()["R1"].tolerance, Some(Fraction(0.01)));
    let PartKind::Autoformer { taps, .. } = &network.parts()["T1"].kind else {
        panic!("T1")
    };
    assert_eq!(network.node_name(taps[1].node), "m4");
    let PartKind::Driver { inverted, .. } = network.parts()["MID"].kind else {
        panic!("MID")
    };
    assert!(inverted);
}

/// The same fields as JSON text, one entry of a table on a line.
pub(super) fn as_json(toml: &str) -> String {
    let toml_form::Parsed { root, mistakes, .. } = toml_form::parse(toml);
    assert!(mistakes.is_empty());
    json_text(&root.value)
}

fn json_text(value: &tree::NodeValue) -> String {
    use tree::NodeValue;
    match value {
        NodeValue::Text(text) => serde_json::Value::from(text.as_str()).to_string(),
        NodeValue::Number(number) => format!("{number:?}"),
        NodeValue::Switch(switch) => switch.to_string(),
        NodeValue::List(items) => {
            let items: Vec<_> = items.iter().map(|item| json_text(&item.value)).collect();
            format!("[{}]", items.join(", "))
        }
        NodeValue::Table(entries) => {
            let entries: Vec<_> = entries
                .iter()
                .map(|entry| format!("{:?}: {}", entry.key, json_text(&entry.node.value)))
                .collect();
            format!("{{\n{}\n}}", entries.join(",\n"))
        }
        NodeValue::Other(what) => panic!("{what} has no place in a project"),
    }
}

/// Both forms give the same project in every field.
#[test]
fn json_holds_the_same_fields() {
    let json = match read("p.json", &as_json(PROJECT)) {
        Ok(loaded) => loaded,
        Err(problems) => panic!("{problems}"),
    };
    assert_eq!(json.form, Form::Json);
    assert_eq!(
        format!("{:?}", json.project),
        format!("{:?}", good(PROJECT))
    );
}

/// The least that a builder must write, and what is then taken for granted.
#[test]
fn defaults() {
    let project =
        good("[drivers.mid]\nmeasured = { impedance = \"mid-z.txt\", response = \"mid-r.txt\" }\n");
    assert_eq!(project.amplifier, Amplifier::default());
    assert_eq!(project.aim, Aim::default());
    assert_eq!(
        (project.aim.from, project.aim.to),
        (Hertz(60.0), Hertz(17e3))
    );
    assert!(
        project.listener.is_none() && project.network.is_none() && project.crossovers.is_empty()
    );
    let mid = &project.drivers["mid"];
    assert_eq!((mid.usable, mid.resonance, mid.power), (None, None, None));
    assert_eq!(mid.position, Position::default());
    let Source::Measured(measured) = &mid.source else {
        panic!("measured")
    };
    assert_eq!(
        (measured.drive, measured.distance),
        (Volts(2.83), Metres(1.0))
    );
    assert!(measured.reliable_from.is_none() && !measured.trust);
    let range = project.stock.range(StockKind::Resistor);
    assert_eq!(
        (range.series, range.together),
        (crate::series::Series::E24, 1)
    );
    assert_eq!(
        project.stock.range(StockKind::Capacitor).series,
        crate::series::Series::E12
    );
}

#[test]
fn a_catalogue_may_stand_in_the_project() {
    let list = "catalogue = [{ kind = \"capacitor\", value = \"22 uF\", price = 3.5, count = 2 }, \
                { kind = \"coil\", value = \"1.5 mH\", dcr_or_esr = 0.31, rating = \"12 A\", name = \"air\" }]";
    let project = good(&PROJECT.replace("catalogue = \"stock.csv\"", list));
    let items = &project.stock.catalogue;
    assert_eq!(
        (items[0].name.as_str(), items[0].price),
        ("capacitor 22 µF", Some(3.5))
    );
    assert_eq!(
        (items[1].kind, items[1].rating),
        (StockKind::Inductor, Some(12.0))
    );
}

#[test]
fn drivers_that_the_network_leaves_out() {
    let high = "HIGH = { driver = \"high\", between = [\"in\", \"gnd\"] }\n";
    let project = good(&PROJECT.replace(high, ""));
    assert_eq!(project.unfed_drivers().collect::<Vec<_>>(), ["high"]);
    assert_eq!(good(PROJECT).unfed_drivers().count(), 0);
}

/// A table in kHz is no table: unless the builder vouches for it.
#[test]
fn a_table_in_khz_is_told() {
    let rows = |unit: f64| -> String {
        (0..20)
            .map(|i| 20.0 * 1.4f64.powi(i) / unit)
            .map(|f| format!("{f:.4} 90 0\n"))
            .collect()
    };
    let read = |unit: f64, more: &str| {
        let text = format!(
            "[drivers.mid]\nmeasured = {{ impedance = \"z.txt\", response = \"r.txt\"{more} }}\n"
        );
        let files = |path: &Path| -> io::Result<Vec<u8>> {
            match path.to_str() {
                Some("p.toml") => Ok(text.clone().into_bytes()),
                Some("z.txt") => Ok(rows(1.0).into_bytes()),
                Some("r.txt") => Ok(rows(unit).into_bytes()),
                _ => Err(io::ErrorKind::NotFound.into()),
            }
        };
        load_from(&files, Path::new("p.toml"))
    };
    let found = match read(1000.0, "") {
        Err(problems) => problems.to_string(),
        Ok(_) => panic!("taken as it is"),
    };
    assert!(
        found.contains("they are in kHz") && found.contains("times 1000"),
        "{found}"
    );
    assert!(read(1.0, "").is_ok());
    let Ok(vouched) = read(1000.0, ", trust = true, reliable_from = \"300 Hz\"") else {
        panic!("vouched for")
    };
    let Source::Measured(measured) = &vouched.project.drivers["mid"].source else {
        panic!("measured")
    };
    assert!(measured.trust && measured.reliable_from == Some(Hertz(300.0)));
}
