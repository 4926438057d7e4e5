//! Laws of project files: what is written reads back bit for bit, and nothing makes reading panic.

use std::io;
use std::path::Path;

use netlist::network::{Joined, MadeOf, Network, NodeId, Part, PartKind, Tap, check};
use netlist::problem::Problems;
use netlist::project::{Form, Loaded, Project, load_from, write_parts};
use netlist::quantity::{Amperes, Farads, Fraction, Henries, Ohms, Volts, Watts};
use proptest::prelude::*;

const TABLE: &str =
    "20 90 0\n50 90 0\n100 90 0\n200 90 0\n500 90 0\n1000 90 0\n2000 90 0\n5000 90 0\n";
const CATALOGUE: &str = "kind,value,tolerance,dcr_or_esr,rating,price,name,count\n\
                         capacitor,22 uF,5 %,20 mohm,250 V,3.50,\"film, blue\",2\n\
                         inductor,1.5mH,,0.31,,12,air core,\n";

/// A brief, invented for the tests; it uses every table of the form.
const BRIEF: &str = r#"# our box
title = "Test box"
amplifier = { output_impedance = { r = "1.8 ohm", l = "0.2 mH" }, rated_power = "20 W", rated_load = 8 }
aim = { from = "60 Hz", to = "17 kHz", level = "96 dB" }
listener = { distance = "3 m" }

[drivers.low]
modelled = { re = "5.4 ohm", fs = "33 Hz", qms = 6.0, qes = 0.36, vas = "180 L", sd = "855 cm2", l1 = "0.3 mH", box = { volume = "140 L", tuning = "34 Hz" } }
count = 2
wired = "series"
position = { back = { from = "0 mm", to = "80 mm" } }
[drivers.mid]   # measured in the shed
measured = { impedance = "table.txt", near = "table.txt", far = "table.txt", join = "250 Hz", sd = "300 cm2", off_axis = [{ angle = "15 deg", plane = "horizontal", response = "table.txt" }] }
[drivers.high]
modelled = { re = 6.2, k = 0.02, n = 0.6, level = "106 dB", horn = { cutoff = "2 kHz" }, top = { f = "17 kHz", q = 1.3 } }
coverage = { horizontal = "90 deg", vertical = "40 deg" }   # as the maker says
size = { width = "300 mm", height = "150 mm" }

[[crossovers]]
between = ["low", "mid"]
frequency = { from = "450 Hz", to = "900 Hz" }   # as the room wants it
alignment = { lower = "LR4", upper = "BW3" }
[[crossovers]]
between = ["mid", "high"]
frequency = "auto"

[stock]
capacitors = { series = "E12", to = "220 uF", tolerance = "5 %", together = 2 }
catalogue = "stock.csv"

[wiring]
cable = { length = "4 m", gauge = "2.5 mm2" }   # along the wall
internal = { low = { length = "0.6 m", gauge = "1.5 mm2" } }
"#;

/// The same brief in the other form.
const JSON_BRIEF: &str = r#"{
  "title": "Test box",
  "amplifier": { "output_impedance": { "r": "1.8 ohm", "l": "0.2 mH" }, "rated_power": "20 W", "rated_load": 8 },
  "aim": { "from": "60 Hz", "to": "17 kHz", "level": "96 dB" },
  "listener": { "distance": "3 m" },
  "drivers": {
    "low": { "modelled": { "re": "5.4 ohm", "fs": "33 Hz", "qms": 6.0, "qes": 0.36, "vas": "180 L",
      "sd": "855 cm2", "l1": "0.3 mH", "box": { "volume": "140 L", "tuning": "34 Hz" } },
      "count": 2, "wired": "series", "position": { "back": { "from": "0 mm", "to": "80 mm" } } },
    "mid": { "measured": { "impedance": "table.txt", "near": "table.txt", "far": "table.txt", "join": "250 Hz", "sd": "300 cm2",
      "off_axis": [{ "angle": "15 deg", "plane": "horizontal", "response": "table.txt" }] } },
    "high": { "modelled": { "re": 6.2, "k": 0.02, "n": 0.6, "level": "106 dB",
      "horn": { "cutoff": "2 kHz" }, "top": { "f": "17 kHz", "q": 1.3 } },
      "coverage": { "horizontal": "90 deg", "vertical": "40 deg" },
      "size": { "width": "300 mm", "height": "150 mm" } }
  },
  "crossovers": [
    { "between": ["low", "mid"], "frequency": { "from": "450 Hz", "to": "900 Hz" }, "alignment": { "lower": "LR4", "upper": "BW3" } },
    { "between": ["mid", "high"], "frequency": "auto" }
  ],
  "stock": {
    "capacitors": { "series": "E12", "to": "220 uF", "tolerance": "5 %", "together": 2 },
    "catalogue": "stock.csv"
  },
  "wiring": {
    "cable": { "length": "4 m", "gauge": "2.5 mm2" },
    "internal": { "low": { "length": "0.6 m", "gauge": "1.5 mm2" } }
  }
}
"#;

const PARTS: &str = r#"
[parts]
C1 = { capacitor = "24 uF", between = ["in", "m1"], made_of = { parallel = ["22 uF", "2 uF"] } }
L1 = { inductor = "1.5 mH", between = ["m1", "gnd"], dcr = "0.31 ohm", fixed = true }
T1 = { autoformer = "40 mH", between = ["m1", "gnd"], taps = { m3 = 0.5 }, dcr = "0.4 ohm" }
L2 = { inductor = "2 mH", between = ["in", "l1"] }
K1 = { coupling = ["L1", "L2"], factor = 0.02 }
MID = { driver = "mid", between = ["m3", "gnd"], inverted = true }
LOW = { driver = "low", between = ["l1", "gnd"] }
"#;

/// Reads a project whose other files are given, each to be asked for by the end of its name.
fn load(name: &str, text: &[u8], table: &[u8], catalogue: &[u8]) -> Result<Loaded, Problems> {
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        let bytes = if path == Path::new(name) {
            text
        } else if path.ends_with("table.txt") {
            table
        } else if path.ends_with("stock.csv") {
            catalogue
        } else {
            return Err(io::ErrorKind::NotFound.into());
        };
        Ok(bytes.to_vec())
    };
    load_from(&files, Path::new(name))
}

/// Reads without caring for the outcome: no panic, and mistakes have words and sound places.
fn is_safe(name: &str, text: &[u8], table: &[u8], catalogue: &[u8]) -> Result<(), TestCaseError> {
    let Err(problems) = load(name, text, table, catalogue) else {
        return Ok(());
    };
    prop_assert!(!problems.list().is_empty());
    for problem in problems.list() {
        prop_assert!(!problem.message.is_empty());
        if let Some(place) = &problem.place {
            let source = problems.source(&problem.file);
            prop_assert!(source.is_some_and(|source| source.get(place.span.clone()).is_some()));
            prop_assert!(place.line >= 1 && place.column >= 1);
        }
    }
    Ok(())
}

/// Values above 0 of any size that a part may have, with all their bits.
fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        1e-7..1e-3f64,
        1e-3..1e3f64,
        Just(24e-6),
        Just(1.000_000_1e-7),
        Just(999.999_999_999),
        Just(0.1 + 0.2)
    ]
}

fn loss() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), 1e-4..10.0f64]
}

fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[A-Z][0-9a-z_-]{1,4}",
        1 => "[ -~äΩ\"\\\\.#\t]{1,6}".prop_filter("a name", |name| !name.trim().is_empty()),
    ]
}

/// One part of a random network by the numbers that it needs.
#[derive(Debug, Clone)]
struct Draft {
    name: String,
    kind: u8,
    value: f64,
    loss: f64,
    ratio: f64,
    fixed: bool,
    tolerance: Option<f64>,
    split: Option<(f64, bool)>,
}

fn draft() -> impl Strategy<Value = Draft> {
    let split = proptest::option::of((0.1..0.9f64, any::<bool>()));
    let tolerance = proptest::option::of(0.0..0.5f64);
    (
        name(),
        0u8..5,
        value(),
        loss(),
        0.01..0.99f64,
        any::<bool>(),
        tolerance,
        split,
    )
        .prop_map(
            |(name, kind, value, loss, ratio, fixed, tolerance, split)| Draft {
                name,
                kind,
                value,
                loss,
                ratio,
                fixed,
                tolerance,
                split,
            },
        )
}

/// A network without mistakes: a chain of parts from `in` through nodes of any name, each node also
/// joined to `gnd`, with the driver at the end; the coils in pairs are coupled.
fn network(drafts: &[Draft]) -> Network {
    let mut network = Network::new();
    let mut before = NodeId::IN;
    for (index, draft) in drafts.iter().enumerate() {
        // The name of the part made the node's as well, so that nodes are as odd as parts.
        let next = network.node(format!("{}{index}", draft.name).trim());
        let part_name = format!("{}{index}", draft.name);
        let mut part = Part::new(kind(draft, [before, next], index, &mut network));
        part.fixed = draft.fixed;
        part.tolerance = draft.tolerance.map(Fraction);
        match part.kind {
            PartKind::Resistor { .. } => {
                part.power = draft.tolerance.map(|share| Watts(1.0 + share));
            }
            PartKind::Capacitor { .. } => {
                part.voltage = draft.tolerance.map(|share| Volts(100.0 + share));
            }
            PartKind::Inductor { .. } | PartKind::Autoformer { .. } => {
                part.current = draft.tolerance.map(|share| Amperes(8.0 + share));
            }
            _ => {}
        }
        let (whole, adds) = match part.kind {
            PartKind::Capacitor { .. } => (draft.value, Joined::Parallel),
            PartKind::Resistor { .. } | PartKind::Inductor { .. } => (draft.value, Joined::Series),
            _ => (f64::NAN, Joined::Series),
        };
        if let Some((share, _)) = draft.split.filter(|_| whole.is_finite()) {
            let values = vec![whole * share, whole * (1.0 - share)];
            part.made_of = Some(MadeOf {
                joined: adds,
                values,
            });
        }
        network.insert(part_name, part);
        network.insert(
            format!("to ground {index}"),
            Part::new(PartKind::Resistor {
                resistance: Ohms(draft.value),
                between: [next, NodeId::GND],
            }),
        );
        before = next;
    }
    let inverted = drafts.len().is_multiple_of(2);
    let between = [before, NodeId::GND];
    let driver = "mid".to_owned();
    network.insert(
        "MID",
        Part::new(PartKind::Driver {
            driver,
            between,
            inverted,
        }),
    );
    let coils: Vec<String> = network
        .parts()
        .iter()
        .filter(|(_, part)| matches!(part.kind, PartKind::Inductor { .. }))
        .map(|(name, _)| name.clone())
        .collect();
    for (index, pair) in coils.chunks_exact(2).enumerate() {
        let inductors = [pair[0].clone(), pair[1].clone()];
        let factor = drafts[index].ratio;
        network.insert(
            format!("K{index}!"),
            Part::new(PartKind::Coupling { inductors, factor }),
        );
    }
    network
}

fn kind(draft: &Draft, between: [NodeId; 2], index: usize, network: &mut Network) -> PartKind {
    match draft.kind {
        0 => PartKind::Resistor {
            resistance: Ohms(draft.value),
            between,
        },
        1 | 2 => PartKind::Inductor {
            inductance: Henries(draft.value),
            dcr: Ohms(draft.loss),
            between,
        },
        3 => PartKind::Capacitor {
            capacitance: Farads(draft.value),
            esr: Ohms(draft.loss),
            between,
        },
        _ => PartKind::Autoformer {
            inductance: Henries(draft.value),
            dcr: Ohms(draft.loss),
            coupling: draft.ratio,
            between,
            taps: vec![
                Tap {
                    node: network.node(&format!("tap {index}")),
                    ratio: draft.ratio,
                },
                Tap {
                    node: network.node(&format!("tap.{index}")),
                    ratio: draft.ratio / 2.0,
                },
            ],
        },
    }
}

/// The part with node names in place of node numbers: numbers depend on the order of first mention.
fn by_names(network: &Network) -> Vec<(String, String)> {
    let mut list = Vec::new();
    for (name, part) in network.parts() {
        let nodes: Vec<&str> = part
            .kind
            .between()
            .into_iter()
            .flatten()
            .map(|node| network.node_name(node))
            .collect();
        let taps: Vec<&str> = match &part.kind {
            PartKind::Autoformer { taps, .. } => {
                taps.iter().map(|tap| network.node_name(tap.node)).collect()
            }
            _ => Vec::new(),
        };
        // `{:?}` of f64 names all its bits, so that equal text is an equal part.
        let text = format!("{part:?}");
        let values: String = text
            .split("NodeId(")
            .map(|piece| piece.trim_start_matches(|c: char| c.is_ascii_digit()))
            .collect();
        list.push((name.clone(), format!("{nodes:?} {taps:?} {values}")));
    }
    list
}

fn good(name: &str, text: &str) -> Loaded {
    match load(
        name,
        text.as_bytes(),
        TABLE.as_bytes(),
        CATALOGUE.as_bytes(),
    ) {
        Ok(loaded) => loaded,
        Err(problems) => panic!("{problems}"),
    }
}

/// The whole project but its network, with all bits of its numbers.
fn without_network(project: &Project) -> String {
    let network = None;
    format!(
        "{:?}",
        Project {
            network,
            ..project.clone()
        }
    )
}

/// The whole design as JSON.
fn json_design() -> String {
    let design = good("p.toml", &format!("{BRIEF}{PARTS}"));
    let network = design.project.network.expect("a network");
    match write_parts(JSON_BRIEF, Form::Json, &network) {
        Ok(text) => text,
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn both_forms_give_the_same_project() {
    let toml = good("p.toml", &format!("{BRIEF}{PARTS}")).project;
    let json = good("p.json", &json_design()).project;
    assert_eq!(format!("{toml:?}"), format!("{json:?}"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn a_written_network_reads_back_bit_for_bit(drafts in proptest::collection::vec(draft(), 1..10)) {
        let network = network(&drafts);
        prop_assert_eq!(check(&network, &["mid"]), []);
        for (form, name, brief) in [(Form::Toml, "p.toml", BRIEF.to_owned()), (Form::Json, "p.json", JSON_BRIEF.to_owned())] {
            let text = write_parts(&brief, form, &network)
                .map_err(|error| TestCaseError::fail(error.to_string()))?;
            let loaded = load(name, text.as_bytes(), TABLE.as_bytes(), CATALOGUE.as_bytes())
                .map_err(|problems| TestCaseError::fail(format!("{problems}\n{text}")))?;
            // All but the parts stays as it stood.
            prop_assert_eq!(without_network(&loaded.project), without_network(&good(name, &brief).project));
            let back = loaded.project.network.expect("a network was written");
            prop_assert_eq!(by_names(&back), by_names(&network));
            // A second writing changes nothing more.
            prop_assert_eq!(write_parts(&text, form, &back), Ok(text));
        }
    }

    #[test]
    fn any_bytes_are_safe(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        for name in ["p.toml", "p.json", "p"] {
            is_safe(name, &bytes, TABLE.as_bytes(), CATALOGUE.as_bytes())?;
        }
    }

    /// A good project with a piece changed: a byte, a piece left out, doubled, or swapped for another.
    #[test]
    fn any_slip_is_safe(slips in proptest::collection::vec((any::<u16>(), 0usize..40, 0u8..5, any::<u16>()), 1..4), json: bool) {
        let (name, good) = if json { ("p.json", json_design()) } else { ("p.toml", format!("{BRIEF}{PARTS}")) };
        let bytes = slip(good.into_bytes(), &slips);
        is_safe(name, &bytes, TABLE.as_bytes(), CATALOGUE.as_bytes())?;
        let table = slip(TABLE.as_bytes().to_vec(), &slips);
        let catalogue = slip(CATALOGUE.as_bytes().to_vec(), &slips);
        is_safe("p.toml", BRIEF.as_bytes(), &table, &catalogue)?;
    }

    /// A value of the tree replaced by one of another kind, which is a slip of meaning, not of form.
    #[test]
    fn any_value_in_any_place_is_safe(at in any::<u16>(), which in 0usize..12) {
        let text = format!("{BRIEF}{PARTS}");
        let starts: Vec<usize> = text.match_indices("= ").map(|(at, _)| at + 2).collect();
        let start = starts[usize::from(at) % starts.len()];
        let values = ["1", "-1", "nan", "inf", "1e308", "\"\"", "\"4.7 uF\"", "true", "[]", "[\"in\", 1]", "{}", "1979-05-27"];
        let rest = &text[start..];
        let end = rest.find([',', '\n', '}']).unwrap_or(rest.len());
        let changed = format!("{}{}{}", &text[..start], values[which], &rest[end..]);
        is_safe("p.toml", changed.as_bytes(), TABLE.as_bytes(), CATALOGUE.as_bytes())?;
        // The rest of a value that was a table or list is cut off too, so that the form is kept.
        let end = match rest.as_bytes()[0] {
            b'{' | b'[' => rest.find('\n').unwrap_or(rest.len()),
            _ => end,
        };
        let changed = format!("{}{}{}", &text[..start], values[which], &rest[end..]);
        is_safe("p.toml", changed.as_bytes(), TABLE.as_bytes(), CATALOGUE.as_bytes())?;
    }
}

fn slip(mut bytes: Vec<u8>, slips: &[(u16, usize, u8, u16)]) -> Vec<u8> {
    for &(at, len, how, other) in slips {
        if bytes.is_empty() {
            break;
        }
        let at = usize::from(at) % bytes.len();
        let end = (at + len).min(bytes.len());
        let piece = bytes[at..end].to_vec();
        let other = usize::from(other) % bytes.len();
        match how {
            0 => bytes[at] = other as u8,
            1 => drop(bytes.drain(at..end)),
            2 => drop(bytes.splice(at..at, piece)),
            3 => drop(bytes.splice(other..other, piece)),
            _ => bytes[at] = b"\"{}[],=.#\n-e9:"[other % 14],
        }
    }
    bytes
}
