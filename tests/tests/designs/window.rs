//! A loudspeaker that is judged over the listening window.

use netlist::project::Project;
use serde_json::Value;
use solver::goal::Targets;
use solver::loudspeaker::Loudspeaker;
use solver::search::{Job, SoundChange, choose_alignments, purposes};
use tests::command::handover;
use tests::document::{document, number};
use tests::project::project_from;

/// An invented three-way of dome and cones, its drivers 25 cm above each other.
const BRIEF: &str = r#"
amplifier = { rated_power = "50 W", rated_load = "8 ohm" }

[aim]
from = "80 Hz"
to = "16 kHz"
minimum_load = "4 ohm"
JUDGED

[drivers.low]
position = { up = "-0.25 m" }
modelled = { re = "6.3 ohm", fs = "33 Hz", qms = 5.5, qes = 0.29, vas = "235 L", sd = "530 cm2", l1 = "0.35 mH", l2 = "0.75 mH", r2 = "8 ohm", box = { volume = "130 L", tuning = "37.5 Hz" } }

[drivers.mid]
position = { back = "20 mm" }
resonance = "190 Hz"
size = "130 mm"
modelled = { re = "6.4 ohm", l1 = "0.15 mH", l2 = "0.2 mH", r2 = "5 ohm", resonances = [{ r = "18 ohm", f = "190 Hz", q = 2.6 }], level = "96 dB", horn = { cutoff = "190 Hz" }, top = { f = "6 kHz", q = 0.8 } }

[drivers.high]
position = { up = "0.25 m", back = "10 mm" }
resonance = "950 Hz"
size = "28 mm"
modelled = { re = "5.7 ohm", l1 = "22 uH", l2 = "30 uH", r2 = "2.5 ohm", resonances = [{ r = "5 ohm", f = "950 Hz", q = 1.6 }], level = "97 dB", horn = { cutoff = "950 Hz", q = 0.8 }, top = { f = "22 kHz", q = 0.9 } }

[[crossovers]]
between = ["low", "mid"]
frequency = "450 Hz"
alignment = "LR4"

[[crossovers]]
between = ["mid", "high"]
frequency = "2.8 kHz"
alignment = "LR4"

[stock]
capacitors = { series = "E12", from = "0.1 uF", to = "330 uF", tolerance = "5 %", esr = "20 mohm", together = 2 }
inductors = { series = "E12", from = "50 uH", to = "12 mH", tolerance = "3 %", wire = "1.25 mm" }
resistors = { series = "E24", from = "0.47 ohm", to = "100 ohm", tolerance = "5 %", power = "20 W" }
"#;

/// The design, and the check of it.
fn designed(judged: &str) -> [Value; 2] {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(at("brief.toml"), BRIEF.replace("JUDGED", judged)).unwrap();
    let (brief, design) = (at("brief.toml"), at("design.toml"));
    let args = [
        "design", &brief, "-o", &design, "--json", "--quick", "--seed", "1",
    ];
    let made = document(&handover(&args));
    let checked = document(&handover(&["check", &design, "--json", "--builds", "20"]));
    words(&design, !judged.is_empty());
    [made, checked]
}

/// Where the window is judged it is said, by each command that shows the sum.
fn words(design: &str, window: bool) {
    let snapped = design.replace(".toml", "-snapped.toml");
    for (args, told) in [
        (
            &["check", design, "--builds", "20"][..],
            "over the listening window",
        ),
        (
            &["snap", design, "--window", "1", "-o", &snapped],
            "it and the sum over the listening window",
        ),
        (
            &["compare", design, design, "--builds", "20"],
            "all sums are judged over the listening window",
        ),
    ] {
        let found = handover(args);
        assert!(found.status < 2, "{}", found.err);
        let text = (found.out + &found.err)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert_eq!(text.contains(told), window, "{text}");
    }
}

/// Measured when it was written: over the listening window 0.53 dB rms and 1.3 dB at most designed on the axis, 0.23
/// and 0.5 designed over the window; with `--quick` a little more.
#[test]
fn the_window_is_half_as_uneven_when_it_is_aimed_at() {
    let [_, on_axis] = designed("");
    let [made, over_window] = designed("judged = \"window\"");
    let window = "/directions/listening_window/rms_db";
    let (before, after) = (number(&on_axis, window), number(&over_window, window));
    assert!(after < 0.65 * before, "{before} {after}");
    // What the search counted, by the way that the ways add over the window, is what the directions one by one give.
    let flat = "/flatness/rms_db";
    assert!(
        (number(&made, flat) - after).abs() < 0.03,
        "{} {after}",
        number(&made, flat)
    );
    assert!((number(&made, flat) - number(&over_window, flat)).abs() < 1e-9);
    assert!(number(&over_window, "/directions/on_axis/rms_db") > after);
}

/// First-order filters; `{MID}` is the coil or the capacitor before the mid.
const NETWORK: &str = r#"
[parts]
L1 = { inductor = "2.2 mH", between = ["in", "a"] }
W1 = { driver = "low", between = ["a", "gnd"] }
C1 = { capacitor = "{MID}", between = ["in", "b"] }
L2 = { inductor = "0.33 mH", between = ["b", "c"] }
W2 = { driver = "mid", between = ["c", "gnd"], inverted = true }
C2 = { capacitor = "8.2 uF", between = ["in", "d"] }
W3 = { driver = "high", between = ["d", "gnd"] }
"#;

/// Sum of a loudspeaker where the aim judges it, dB SPL, over the job's grid.
fn judged_sum_db(project: &Project, job: &Job, targets: &Targets) -> Vec<f64> {
    let loudspeaker = Loudspeaker::new(project, job.grid.clone())
        .unwrap()
        .unwrap();
    let ways = loudspeaker.curves().unwrap().ways;
    let in_order = |name: &String| ways.iter().find(|(way, _)| way == name).unwrap().1.clone();
    let ways: Vec<_> = job.ways.iter().map(|way| in_order(&way.name)).collect();
    (0..job.grid.len())
        .map(|i| targets.sum_db(i, &ways))
        .collect()
}

/// What a change of a network does is told of the sum that is judged: the whole loudspeaker solved anew says so.
#[test]
fn changes_are_those_of_the_sum_over_the_window() {
    let with = |mid: &str| {
        let text = BRIEF.replace("JUDGED", "judged = \"window\"") + &NETWORK.replace("{MID}", mid);
        project_from(&text, &[])
    };
    let (before, after) = (with("47 uF"), with("15 uF"));
    let job = Job::new(&before).unwrap();
    let targets = job.targets(&choose_alignments(&job));
    let judged: Vec<usize> = (0..job.grid.len()).filter(|&i| targets.judged[i]).collect();
    let networks = [&before, &after].map(|project| project.network.as_ref().unwrap());
    let sums = [&before, &after].map(|project| judged_sum_db(project, &job, &targets));
    let change = SoundChange::new(&job, &targets, 90.0, networks).unwrap();
    let most = (judged.iter())
        .map(|&i| (sums[1][i] - sums[0][i]).abs())
        .fold(0.0, f64::max);
    assert!(
        (change.max_db.abs() - most).abs() < 1e-6,
        "{} {most}",
        change.max_db
    );
    // Without its capacitor the mid plays down to the end of the aim.
    let left_out = with("1 F");
    let without = judged_sum_db(&left_out, &job, &targets);
    let position = networks[0].parts().get_index_of("C1").unwrap();
    let found = purposes(&job, networks[0], &targets).unwrap();
    let capacitor = found.iter().find(|one| one.parts == [position]).unwrap();
    let most = (judged.iter())
        .map(|&i| (without[i] - sums[0][i]).abs())
        .fold(0.0, f64::max);
    assert!(
        (capacitor.without_db.abs() - most).abs() < 0.01,
        "{} {most}",
        capacitor.without_db
    );
}
