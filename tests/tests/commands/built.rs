//! `built` as a whole command: the screen, the document, the status, mistakes of the input.

use std::path::Path;

use serde::Deserialize;
use serde_json::Value;
use tempfile::TempDir;
use tests::check::demo;
use tests::command::{Outcome, handover};
use tests::document::{all_finite, codes, document};
use tests::planted::{Dice, Planted, sweep};

/// The document, field by field.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    title: String,
    measurement: Measurement,
    as_designed: f64,
    something_else: f64,
    hypotheses: Vec<Hypothesis>,
    unseen: Vec<Mistake>,
    next: Vec<Next>,
    response: Value,
    findings: Vec<Finding>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Measurement {
    from_hz: f64,
    to_hz: f64,
    noise_share: f64,
    leads_ohm: f64,
    scale: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Hypothesis {
    kind: String,
    parts: Vec<String>,
    between: Option<[String; 2]>,
    found_si: Option<f64>,
    named: String,
    share: f64,
    same: Vec<Mistake>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read to see that there is nothing else")]
struct Mistake {
    kind: String,
    parts: Vec<String>,
    between: Option<[String; 2]>,
    found_si: Option<f64>,
    named: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read to see that there is nothing else")]
struct Next {
    measure: String,
    kind: String,
    driver: String,
    gain: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read to see that there is nothing else")]
struct Finding {
    severity: String,
    code: String,
    message: String,
}

/// The demo in a folder, with a sweep of a build of it.
pub(super) struct Bench {
    pub(super) folder: TempDir,
    pub(super) design: String,
}

impl Bench {
    pub(super) fn new() -> Self {
        let (folder, design) = demo(|text| text);
        Self {
            design: design.to_str().unwrap().to_owned(),
            folder,
        }
    }

    pub(super) fn at(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    pub(super) fn write(&self, name: &str, rows: impl Iterator<Item = (f64, f64)>) -> String {
        let text: String = rows.map(|(f, z)| format!("{f:.6} {z:.6}\n")).collect();
        std::fs::write(self.at(name), text).unwrap();
        self.at(name)
    }

    pub(super) fn sweep(&self, name: &str, planted: Option<&Planted>) -> String {
        let project = netlist::project::load(Path::new(&self.design))
            .unwrap()
            .project;
        let found = sweep(&project, planted, 200, &mut Dice::new(12));
        self.write(name, found.f_hz.into_iter().zip(found.ohm))
    }

    pub(super) fn built(&self, more: &[&str]) -> Outcome {
        handover(&[&["built", &self.design], more].concat())
    }
}

fn planted(kind: solver::built::MistakeKind, part: &str, value_si: Option<f64>) -> Planted {
    Planted {
        kind,
        parts: vec![part.to_owned()],
        value_si,
        between: None,
    }
}

#[test]
fn a_page_is_not_written_over_its_measurement() {
    let bench = Bench::new();
    let file = bench.sweep("sound.txt", None);
    let before = std::fs::read(&file).unwrap();
    let other = bench.at("./sound.txt");
    let outcome = bench.built(&["--impedance", &file, "-o", &other, "--force"]);
    assert_eq!(outcome.status, 2, "{}", outcome.err);
    assert!(
        outcome.err.contains("is one of the measurements"),
        "{}",
        outcome.err
    );
    assert_eq!(std::fs::read(&file).unwrap(), before);
}

#[test]
fn no_title_or_note_moves_the_cursor() {
    let red = |text: String| {
        text.replacen("note = \"", "note = \"\\u001b[2J", 1)
            .replacen("title = \"", "title = \"\\u001b[31m\\u0007", 1)
    };
    let (_folder, design) = demo(red);
    let design = design.to_str().unwrap();
    for args in [
        &["built", design, "--expect"][..],
        &["check", design, "--builds", "20"],
    ] {
        let outcome = handover(args);
        assert!(outcome.status <= 1, "{}", outcome.err);
        let control = |c: char| c.is_control() && c != '\n';
        assert!(!outcome.out.contains(control), "{:?}", outcome.out);
    }
}

#[test]
fn a_sound_build_is_called_sound() {
    let bench = Bench::new();
    let file = bench.sweep("sound.txt", None);
    let outcome = bench.built(&["--impedance", &file, "--json"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    all_finite(&document(&outcome));
    let found: Document = serde_json::from_str(&outcome.out).unwrap();
    assert!(found.as_designed > 0.8, "{found:?}");
    assert!(!found.title.is_empty() && found.response.is_null());
    let shares: f64 = found.hypotheses.iter().map(|h| h.share).sum();
    assert!(
        (shares + found.as_designed + found.something_else - 1.0).abs() < 0.01,
        "{found:?}"
    );
    let measurement = found.measurement;
    assert!((measurement.from_hz - 20.0).abs() < 1e-3 && (measurement.to_hz - 20e3).abs() < 1.0);
    assert!(measurement.noise_share > 0.005 && measurement.noise_share < 0.02);
    assert!(measurement.leads_ohm.abs() < 0.6 && (measurement.scale - 1.0).abs() < 0.05);
    assert!(found.unseen.iter().all(|mistake| !mistake.parts.is_empty()));
    assert!(
        found
            .findings
            .iter()
            .all(|finding| finding.severity != "danger")
    );
    let screen = bench.built(&["--impedance", &file]);
    assert!(screen.out.contains("Built as drawn"), "{}", screen.out);
    assert!(screen.out.lines().count() <= 50);
}

#[test]
fn a_wrong_coil_is_named_with_its_value() {
    let bench = Bench::new();
    let file = bench.sweep(
        "l2.txt",
        Some(&planted(
            solver::built::MistakeKind::Value,
            "L2",
            Some(0.22e-3),
        )),
    );
    let outcome = bench.built(&["--impedance", &file, "--json"]);
    let found: Document = serde_json::from_str(&outcome.out).unwrap();
    let first = &found.hypotheses[0];
    assert_eq!(
        (first.kind.as_str(), &first.parts[..]),
        ("value", &["L2".to_owned()][..])
    );
    assert!(first.share > 0.9 && first.same.is_empty() && first.between.is_none());
    assert!(
        (first.found_si.unwrap() / 0.22e-3 - 1.0).abs() < 0.25,
        "{first:?}"
    );
    assert!(
        first.named.contains("2.2 mH") && first.named.contains("factor of ten"),
        "{first:?}"
    );
    assert!(
        found.next.is_empty(),
        "nothing is left to tell: {:?}",
        found.next
    );
    let screen = bench.built(&["--impedance", &file]);
    assert!(
        screen
            .out
            .lines()
            .nth(1)
            .unwrap()
            .starts_with("L2 is about"),
        "{}",
        screen.out
    );
    assert!(screen.out.contains("Amplifier off"));
}

/// Each kind of mistake by its words on the screen, which keeps its length.
#[test]
fn every_kind_of_mistake_is_named_on_a_short_screen() {
    use solver::built::MistakeKind;
    let bench = Bench::new();
    let two = |kind, parts: [&str; 2]| Planted {
        parts: parts.map(String::from).to_vec(),
        ..planted(kind, "", None)
    };
    let elsewhere = Planted {
        between: Some(["in".to_owned(), "gnd".to_owned()]),
        ..planted(MistakeKind::Misplaced, "C2", None)
    };
    for (planted, kind, says) in [
        (
            planted(MistakeKind::Open, "C3", None),
            "open",
            "C3 carries no current",
        ),
        (
            planted(MistakeKind::Open, "HIGH", None),
            "open",
            "HIGH is not connected",
        ),
        (
            planted(MistakeKind::Shorted, "C3", None),
            "shorted",
            "C3 is bridged",
        ),
        (
            planted(MistakeKind::Value, "C3", Some(2.4e-9)),
            "value",
            "C3 is about",
        ),
        (
            planted(MistakeKind::Resistance, "L1", Some(3.0)),
            "resistance",
            "the wire of L1 has",
        ),
        (
            two(MistakeKind::Exchanged, ["MID", "LOW"]),
            "exchanged",
            "in each other's place",
        ),
        (elsewhere, "misplaced", "C2 lies between"),
    ] {
        let file = bench.sweep("planted.txt", Some(&planted));
        let outcome = bench.built(&["--impedance", &file, "--json"]);
        let found: Document = serde_json::from_str(&outcome.out).unwrap();
        let first = &found.hypotheses[0];
        let same = (first.same.iter()).map(|other| (&other.kind, &other.named));
        let group: Vec<_> = std::iter::once((&first.kind, &first.named))
            .chain(same)
            .collect();
        assert!(
            group
                .iter()
                .any(|(k, named)| *k == kind && named.contains(says)),
            "{planted:?}: {group:?}"
        );
        assert!(first.share > 0.5, "{planted:?}: {first:?}");
        let danger = found.findings.iter().any(|f| f.severity == "danger");
        assert_eq!(outcome.status, u8::from(danger), "{planted:?}");
        let screen = bench.built(&["--impedance", &file]);
        assert!(screen.out.lines().count() <= 50, "{}", screen.out);
        assert!(screen.out.contains("Amplifier off"), "{}", screen.out);
    }
}

/// Leads that are stated are taken at their word; the only driver may be named.
#[test]
fn leads_and_the_only_driver() {
    let bench = Bench::new();
    let whole = bench.sweep("whole.txt", None);
    let leads = |stated: &str| {
        let outcome = bench.built(&["--impedance", &whole, "--lead", stated, "--json"]);
        document(&outcome)["measurement"]["leads_ohm"]
            .as_f64()
            .unwrap()
    };
    assert!((leads("0.2 ohm") - 0.2).abs() < 0.1);
    assert!((leads("200 mohm") - leads("0.2 ohm")).abs() < 1e-9);
    // Without mid and high is the same as low only.
    let project = netlist::project::load(Path::new(&bench.design))
        .unwrap()
        .project;
    let mut bare = project.clone();
    for name in ["MID", "HIGH"] {
        let network = bare.network.as_mut().unwrap();
        let between = network.parts()[name].kind.between().unwrap();
        network.parts_mut()[name].kind = netlist::network::PartKind::Resistor {
            resistance: netlist::quantity::Ohms(1e9),
            between,
        };
    }
    let alone = sweep(&bare, None, 300, &mut Dice::new(4));
    let alone = bench.write("alone.txt", alone.f_hz.into_iter().zip(alone.ohm));
    let only = bench.built(&["--impedance", &alone, "--only", "low", "--json"]);
    let without = bench.built(&["--impedance", &alone, "--without", "mid,high", "--json"]);
    assert_eq!(only.out, without.out);
    let found: Document = serde_json::from_str(&only.out).unwrap();
    assert!(found.as_designed > 0.8, "{found:?}");
}

#[test]
fn what_can_hurt_ends_with_status_1() {
    let bench = Bench::new();
    let file = bench.sweep(
        "short.txt",
        Some(&planted(solver::built::MistakeKind::Shorted, "L3", None)),
    );
    let outcome = bench.built(&["--impedance", &file, "--json"]);
    assert_eq!(outcome.status, 1, "{}", outcome.out);
    assert_eq!(codes(&document(&outcome))[0], "built-wrong");
    assert!(outcome.out.contains("play nothing on it"));
}

#[test]
fn one_way_alone_and_several_sweeps() {
    let bench = Bench::new();
    let project = netlist::project::load(Path::new(&bench.design))
        .unwrap()
        .project;
    let whole = bench.sweep("whole.txt", None);
    let off = sweep(
        &project,
        Some(&planted(solver::built::MistakeKind::Open, "LOW", None)),
        300,
        &mut Dice::new(12),
    );
    let without = bench.write("without.txt", off.f_hz.into_iter().zip(off.ohm));
    let both = [
        "--impedance",
        &whole,
        "--impedance",
        &without,
        "--without",
        "low",
        "--json",
    ];
    let found: Document = serde_json::from_str(&bench.built(&both).out).unwrap();
    assert!(found.as_designed > 0.8, "{found:?}");
    // Not told that it was off, it is missing.
    let untold = ["--impedance", &without, "--json"];
    let found: Document = serde_json::from_str(&bench.built(&untold).out).unwrap();
    assert_eq!(found.hypotheses[0].parts, ["LOW"]);
    assert_eq!(found.hypotheses[0].kind, "open");
}

#[test]
fn what_a_meter_should_show() {
    let outcome = handover(&["built", "--demo", "--expect", "--json"]);
    assert_eq!(outcome.status, 0, "{}", outcome.err);
    let document = document(&outcome);
    all_finite(&document);
    let readings = document["expect"]["readings"].as_array().unwrap();
    assert_eq!(readings.len(), 6);
    assert_eq!(readings[0]["frequency_hz"], 0.0);
    for reading in readings {
        let at = |field: &str| reading[field].as_f64().unwrap();
        assert!(at("least_ohm") < at("ohm") && at("ohm") < at("most_ohm"));
    }
    let screen = handover(&["built", "--demo", "--expect"]);
    assert!(screen.out.contains("direct current") && screen.out.lines().count() <= 50);
}

#[test]
fn the_page_is_written_once() {
    let bench = Bench::new();
    let file = bench.sweep("sound.txt", None);
    let page = bench.at("page.html");
    let ask = ["--impedance", &file, "-o", &page];
    assert_eq!(bench.built(&ask).status, 0);
    let text = std::fs::read_to_string(&page).unwrap();
    assert!(!tests::markup::read(&text).unwrap().is_empty());
    assert!(text.contains("best hypothesis") && text.contains("as designed"));
    let again = bench.built(&ask);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("--force"), "{}", again.err);
    assert_eq!(bench.built(&[&ask[..], &["--force"]].concat()).status, 0);
}

/// Every mistake of the input is told, with the way out, and nothing is written.
#[test]
fn input_that_cannot_be_used() {
    let bench = Bench::new();
    let good = bench.sweep("good.txt", None);
    let text = std::fs::read_to_string(&good).unwrap();
    let rows: Vec<(f64, f64)> = (text.lines())
        .map(|line| {
            let (f, z) = line.split_once(' ').unwrap();
            (f.parse().unwrap(), z.parse().unwrap())
        })
        .collect();
    let khz = bench.write("khz.txt", rows.iter().map(|(f, z)| (f / 1000.0, *z)));
    let cut = bench.write("cut.txt", rows.iter().copied().filter(|(f, _)| *f < 4000.0));
    let few = bench.write("few.txt", rows.iter().copied().step_by(25));
    let negative = bench.write(
        "negative.txt",
        rows.iter()
            .map(|(f, z)| (*f, if *f > 1e3 { -z } else { *z })),
    );
    let turned: String = rows.iter().map(|(f, z)| format!("{f} {z} 150\n")).collect();
    std::fs::write(bench.at("turned.txt"), turned).unwrap();
    let turned = bench.at("turned.txt");
    let page = bench.at("page.html");
    for (more, says) in [
        (&["--impedance", &khz][..], "kilohertz"),
        (&["--impedance", &cut], "judged from"),
        (&["--impedance", &few], "too few"),
        (&["--impedance", &negative], "must be above 0"),
        (&["--impedance", &turned], "negative resistance"),
        (&["--impedance", &good, "--without", "lo"], "no driver 'lo'"),
        (&["--impedance", &good, "--only", "top"], "no driver 'top'"),
        (
            &["--impedance", &good, "--without", "low,mid,high"],
            "no driver would have been connected",
        ),
        (&["--impedance", "nowhere.txt"], "there is no such file"),
        (&["--impedance", &good, "--lead", "-1 ohm"], "leads have"),
        (
            &["--impedance", &good, "--response", "low=nowhere.txt"],
            "there is no such file",
        ),
        (
            &["--impedance", &good, "--response", "lo=nowhere.txt"],
            "no driver 'lo'",
        ),
        (&["--impedance", &good, "--expect"], "--expect"),
        (&["--impedance", &good, "--lead", "2 mH"], "ohm"),
        (&["--without", "low"], "--impedance"),
        (&[], "no measurement"),
    ] {
        let outcome = bench.built(&[more, &["-o", &page]].concat());
        assert_eq!(outcome.status, 2, "{more:?}: {}", outcome.err);
        assert!(outcome.err.contains(says), "{more:?}: {}", outcome.err);
        assert!(outcome.out.is_empty() && !Path::new(&page).exists());
    }
    let brief = bench.at("brief.toml");
    let outcome = handover(&["built", &brief, "--impedance", &good]);
    assert_eq!(outcome.status, 2);
    assert!(outcome.err.contains("no parts"), "{}", outcome.err);
}

/// A capacitor in every way, however large: an ohmmeter shows nothing, on the bench and in the check.
#[test]
fn a_capacitor_passes_no_direct_current() {
    let (folder, file) = demo(|text| {
        let through_a_capacitor = "C9 = { capacitor = \"2200 uF\", between = [\"in\", \"i\"] }\nL1 = { inductor = \"2.7 mH\", between = [\"i\", \"l1\"]";
        text.replace(
            "L1 = { inductor = \"2.7 mH\", between = [\"in\", \"l1\"]",
            through_a_capacitor,
        )
    });
    let file = file.to_str().unwrap();
    let expected = document(&handover(&["built", file, "--expect", "--json"]));
    let reading = &expected["expect"]["readings"][0];
    assert_eq!(reading["frequency_hz"], 0.0);
    for bound in ["ohm", "least_ohm", "most_ohm"] {
        assert!(reading[bound].is_null(), "{reading}");
    }
    let checked = document(&handover(&["check", file, "--json", "--builds", "20"]));
    let load = &checked["load"];
    assert!(load["direct_current_ohm"].is_null(), "{load}");
    drop(folder);
}
