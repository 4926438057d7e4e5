//! Briefs as strangers write them: drivers measured or from a data sheet, several in a way, slopes and
//! frequencies stated or left open, levels far apart, horns asked to play low, poor stocks. Invented data.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use netlist::project::Project;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::random_brief::{Draw, loaded, measured};

/// A brief of two to five ways from a seed.
///
/// # Panics
/// If the text that is made has mistakes, which would be one of this generator.
#[must_use]
pub fn strangers_brief(seed: u64) -> Project {
    let (text, tables) = strangers_files(seed);
    loaded(text, tables)
}

/// The text of the same brief, and its tables by their file names.
#[must_use]
pub fn strangers_files(seed: u64) -> (String, BTreeMap<String, String>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(1);
    brief(&mut rng, seed)
}

/// One of a list.
fn one<'a>(rng: &mut impl Rng, of: &[&'a str]) -> &'a str {
    of[rng.random_range(0..of.len())]
}

/// A field that is left out as often as its list has empty texts.
fn field(rng: &mut impl Rng, name: &str, of: &[&str]) -> String {
    match one(rng, of) {
        "" => String::new(),
        value => format!("{name} = {value}\n"),
    }
}

fn brief(rng: &mut impl Rng, seed: u64) -> (String, BTreeMap<String, String>) {
    // Mostly two and three ways, as they are built.
    let ways = [2, 2, 3, 3, 3, 4, 5][rng.random_range(0..7usize)];
    let middle: &[f64] = match ways {
        2 => &[1100.0],
        3 => &[600.0, 5000.0],
        4 => &[240.0, 1200.0, 6500.0],
        _ => &[150.0, 500.0, 1800.0, 7000.0],
    };
    let crossovers_hz: Vec<f64> = (middle.iter())
        .map(|f_hz| f_hz * rng.random_range(0.7..1.4))
        .collect();
    let mut text = format!("title = \"Brief of a stranger {seed} (invented data)\"\n[amplifier]\n");
    let rated = one(rng, &["\"8 ohm\"", "\"8 ohm\"", "\"4 ohm\"", "\"16 ohm\""]);
    text += &field(rng, "rated_power", &["", "\"8 W\"", "\"25 W\"", "\"80 W\""]);
    text += &format!("rated_load = {rated}\n");
    let output = ["", "\"0.1 ohm\"", "\"1.5 ohm\"", "\"3.5 ohm\""];
    text += &field(rng, "output_impedance", &output);
    text += "[aim]\n";
    text += &field(rng, "from", &["", "\"50 Hz\"", "\"90 Hz\""]);
    text += &field(rng, "to", &["", "\"13 kHz\"", "\"17 kHz\""]);
    text += &field(rng, "tilt", &["", "", "\"-0.5 dB\""]);
    text += &field(rng, "minimum_load", &["", "", "\"4 ohm\"", "\"5 ohm\""]);
    let base_db: f64 = rng.random_range(87.0..98.0);
    if rng.random_bool(0.2) {
        let _ = writeln!(text, "level = \"{:.1} dB\"", base_db - 1.0);
    }
    let mut tables = BTreeMap::new();
    let names = ["low", "lower-mid", "mid", "upper-mid", "high"];
    let names: &[&'static str] = match ways {
        2 => &["low", "high"],
        3 => &["low", "mid", "high"],
        4 => &["low", "lower-mid", "mid", "high"],
        _ => &names,
    };
    for (way, name) in names.iter().enumerate() {
        let from_hz = if way == 0 {
            25.0
        } else {
            crossovers_hz[way - 1]
        };
        let to_hz = crossovers_hz.get(way).copied().unwrap_or(15_000.0);
        let _ = writeln!(text, "[drivers.{name}]");
        text += &field(rng, "power", &["\"15 W\"", "\"60 W\"", "\"150 W\""]);
        if rng.random_bool(0.6) {
            let (least, most) = (0.7 * from_hz, (1.7 * to_hz).min(20_000.0));
            let _ = writeln!(text, "usable = {{ from = {least:.0}, to = {most:.0} }}");
        }
        if way > 0 && rng.random_bool(0.6) {
            let back = [
                "\"40 mm\"",
                "\"110 mm\"",
                "{ from = \"0 mm\", to = \"60 mm\" }",
            ];
            let _ = writeln!(text, "position = {{ back = {} }}", one(rng, &back));
        }
        let level_db = match way {
            0 => base_db,
            _ => base_db + rng.random_range(-1.0..16.0),
        };
        if rng.random_bool(0.15) {
            text += &field(rng, "wired", &["\"parallel\"", "\"series\""]);
            text += "count = 2\n";
        }
        match (way, rng.random_bool(0.35)) {
            (0, true) => text += &cone(rng),
            (_, true) if from_hz > 350.0 => text += &compression(rng, from_hz, level_db),
            _ => {
                let draw = drawn(rng, name, way, ways, (from_hz, to_hz), level_db);
                let (impedance, response) = measured(rng, &draw);
                let _ = writeln!(
                    text,
                    "measured = {{ impedance = \"{name}-z.txt\", response = \"{name}-p.txt\" }}"
                );
                tables.insert(format!("{name}-z.txt"), impedance);
                tables.insert(format!("{name}-p.txt"), response);
            }
        }
    }
    for (lower, f_hz) in crossovers_hz.iter().enumerate() {
        let (low, high) = (names[lower], names[lower + 1]);
        let frequency = match rng.random_range(0..8) {
            // Left open over five ways is a question of its own.
            0 if ways < 5 => String::from("\"auto\""),
            1 => format!("{{ from = {:.0}, to = {:.0} }}", 0.85 * f_hz, 1.15 * f_hz),
            _ => format!("{f_hz:.0}"),
        };
        let slopes = [
            "\"LR4\"",
            "\"LR2\"",
            "\"BW3\"",
            "\"LR4\"",
            "\"auto\"",
            "{ lower = \"LR2\", upper = \"LR4\" }",
            "\"BE4\"",
        ];
        let _ = writeln!(
            text,
            "[[crossovers]]\nbetween = [\"{low}\", \"{high}\"]\nfrequency = {frequency}\nalignment = {}",
            one(rng, &slopes)
        );
    }
    text += &stock(rng);
    (text, tables)
}

/// A driver that was measured.
fn drawn(
    rng: &mut impl Rng,
    name: &'static str,
    way: usize,
    ways: usize,
    (from_hz, to_hz): (f64, f64),
    level_db: f64,
) -> Draw {
    let resonance_hz = match way {
        0 => rng.random_range(25.0..50.0),
        _ => from_hz / rng.random_range(1.15..2.6),
    };
    Draw {
        name,
        level_db,
        band_hz: (
            if way == 0 { 22.0 } else { 0.8 * resonance_hz },
            match way + 1 == ways {
                true => rng.random_range(12_000.0..20_000.0),
                false => to_hz * rng.random_range(1.2..4.0),
            },
        ),
        re_ohm: rng.random_range(3.0..12.0),
        le_h: rng.random_range(0.1..1.2) * if way == 0 { 1e-3 } else { 0.1e-3 },
        peaks: vec![
            (
                resonance_hz,
                rng.random_range(0.8..5.0),
                rng.random_range(1.5..5.0),
            ),
            (2.3 * resonance_hz, rng.random_range(0.1..1.0), 3.0),
        ],
        back_m: 0.0,
    }
}

/// A woofer from its data sheet.
fn cone(rng: &mut impl Rng) -> String {
    let enclosure = match rng.random_bool(0.7) {
        true => "box = { volume = \"120 L\", tuning = \"36 Hz\", ql = 7 }",
        false => "box = { volume = \"90 L\" }",
    };
    format!(
        "modelled = {{ re = {:.1}, fs = {:.0}, qms = 5, qes = {:.2}, vas = \"{:.0} L\", sd = \"{:.0} cm2\", \
         l1 = \"0.3 mH\", l2 = \"0.7 mH\", r2 = 8, {enclosure} }}\n",
        rng.random_range(3.2..7.0),
        rng.random_range(25.0..45.0),
        rng.random_range(0.25..0.5),
        rng.random_range(100.0..300.0),
        rng.random_range(330.0..900.0),
    )
}

/// A compression driver from its data sheet.
fn compression(rng: &mut impl Rng, from_hz: f64, level_db: f64) -> String {
    let resonance_hz = from_hz / rng.random_range(1.2..2.5);
    format!(
        "modelled = {{ re = {:.1}, l1 = \"0.04 mH\", l2 = \"0.08 mH\", r2 = 4, level = {level_db:.1}, \
         horn = {{ cutoff = {:.0} }}, mass_corner = {:.0}, resonances = [{{ r = {:.1}, f = {resonance_hz:.0}, q = 3 }}, \
         {{ r = 3, f = {:.0}, q = 4 }}] }}\n",
        rng.random_range(5.0..12.0),
        0.9 * resonance_hz,
        rng.random_range(2500.0..6000.0),
        rng.random_range(4.0..18.0),
        1.7 * resonance_hz,
    )
}

fn stock(rng: &mut impl Rng) -> String {
    let series = one(rng, &["E6", "E12", "E12", "E24"]);
    let most = one(rng, &["68 uF", "220 uF"]);
    let together = one(rng, &["", ", together = 2"]);
    let power = one(rng, &["5 W", "10 W", "20 W"]);
    let transformer = match rng.random_bool(0.15) {
        true => {
            "autoformers = { inductance = \"40 mH\", dcr = \"0.4 ohm\", step = \"1 dB\", to = \"15 dB\" }\n"
        }
        false => "",
    };
    format!(
        "[stock]\ncapacitors = {{ series = \"{series}\", from = \"0.47 uF\", to = \"{most}\", tolerance = \"10 %\"{together} }}\n\
         inductors = {{ series = \"E12\", from = \"0.1 mH\", to = \"10 mH\", tolerance = \"5 %\", wire = \"1 mm\" }}\n\
         resistors = {{ series = \"E12\", from = \"1 ohm\", to = \"47 ohm\", tolerance = \"5 %\", power = \"{power}\"{together} }}\n{transformer}"
    )
}
