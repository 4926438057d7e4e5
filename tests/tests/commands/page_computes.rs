//! The page's script against the program: the same networks, changed in the same way, to rounding. Needs Chromium.

use netlist::network::NodeId;
use netlist::project::Project;
use num_complex::Complex64;
use serde_json::{Value, json};
use solver::grid::Grid;
use solver::loudspeaker::Loudspeaker;
use solver::nodal::{Drive, Flow, Plan, Solution, SourceImpedance, Values, Workspace};
use solver::programme::Loudness;
use solver::programme::power_weights;
use solver::spectrum::Spectrum;
use std::sync::Arc;
use tests::browser::answer;
use tests::check::FEW;
use tests::command::handover;
use tests::document::document;
use tests::made::REPORT;
use tests::random_network::{RandomNetwork, Recipe, random_network};
use tests::tab::{Look, Tab};

/// What the two may differ by, as a share.
const AGREEMENT: f64 = 1e-9;

const SOLVE: &str = include_str!("../../../cli/src/report/live/solve.js");

/// Runs every network in the page's solver; gives for each the node voltages and the admittance at `in`.
const RUN: &str = "return cases.map(function (one) {\
    var run = machine(one.plan), out = run(one.set, one.band, one.drive);\
    return { re: out.re.map(function (x) { return Array.from(x); }), im: out.im.map(function (x) { return Array.from(x); }),\
        inputRe: Array.from(out.inputRe), inputIm: Array.from(out.inputIm) };\
});";

/// Networks of every part kind with what Rust makes of them.
fn networks() -> (Vec<Value>, Vec<(Plan, Solution)>) {
    let grid = Grid::log_spaced(20.0, 20_000.0, 21).unwrap();
    let mut cases = Vec::new();
    let mut solved = Vec::new();
    for seed in 0..60 {
        let recipe = Recipe {
            nodes: 1 + (seed as usize * 7) % 16,
            lossless: false,
            windings: seed % 3 != 0,
        };
        let RandomNetwork { network, loads } = random_network(seed, recipe, &grid);
        let plan = Plan::compile(&network).unwrap();
        let values = Values::of(&network);
        let drive = Drive {
            open_circuit_v: 2.83,
            output_impedance_ohm: SourceImpedance::Over(Arc::new(Spectrum::from_fn(
                grid.len(),
                |i| {
                    let leaky = Complex64::new(1.0, grid.omega()[i] * 3e-4);
                    leaky * [0.0, 0.05, 1.8, 8.0][seed as usize % 4]
                },
            ))),
        };
        let loads: Vec<_> = loads.iter().collect();
        let mut workspace = Workspace::new(&plan, &grid, &loads).unwrap();
        let mut solution = Solution::new(&plan, &workspace);
        plan.run(&values, &drive, &mut workspace, &mut solution);
        let steps = plan.steps();
        let turns: Vec<_> = steps
            .groups
            .iter()
            .map(|group| group.turns.clone())
            .collect();
        let admittance = |part: fn(Complex64) -> f64| -> Vec<Vec<f64>> {
            let of = |z: &&Spectrum| z.iter().map(|z| part(z.inv())).collect();
            loads.iter().map(of).collect()
        };
        let source = |part: fn(Complex64) -> f64| -> Vec<f64> {
            let at = |i| part(drive.output_impedance_ohm.at(i));
            (0..grid.len()).map(at).collect()
        };
        cases.push(json!({
            "plan": steps,
            "set": { "value": values.value, "loss": values.loss, "turns": turns,
                "state": vec![""; network.parts().len()] },
            "band": { "omega": grid.omega(), "loadRe": admittance(|y| y.re), "loadIm": admittance(|y| y.im),
                "sourceRe": source(|z| z.re), "sourceIm": source(|z| z.im) },
            "drive": { "volts": drive.open_circuit_v },
        }));
        solved.push((plan, solution));
    }
    (cases, solved)
}

/// An empty page that has the networks.
fn with_networks(cases: &[Value]) -> Tab {
    let cases = Value::from(cases.to_vec()).to_string();
    let cases = cases.replace('<', "\\u003c");
    Tab::open(
        &format!(
            "<!DOCTYPE html><html><head><meta charset=\"utf-8\"><script>var cases = {cases};</script></head><body></body></html>"
        ),
        Look::desk(1280),
    )
}

/// The largest difference of all voltages and admittances, as a share of the largest at the frequency.
fn difference(script: &str, tab: &Tab, solved: &[(Plan, Solution)]) -> f64 {
    let found = tab.answer(&format!("{script}\n{RUN}"));
    let mut worst = 0.0f64;
    for (found, (plan, solution)) in found.as_array().unwrap().iter().zip(solved) {
        let at = |value: &Value, i: usize| value[i].as_f64().unwrap_or(f64::NAN);
        for i in 0..solution.len() {
            let nodes: Vec<_> = (1..plan.node_names().len())
                .map(|node| (node, solution.node_at(NodeId(node), i)))
                .collect();
            let scale = nodes.iter().map(|(_, v)| v.norm()).fold(0.0, f64::max);
            for (node, volts) in nodes {
                let re = at(&found["re"][node], i) - volts.re;
                let im = at(&found["im"][node], i) - volts.im;
                let off = re.hypot(im) / scale;
                worst = if off.is_finite() {
                    worst.max(off)
                } else {
                    f64::INFINITY
                };
            }
            let (input_re, input_im) = solution.input_admittance();
            let re = at(&found["inputRe"], i) - input_re[i];
            let im = at(&found["inputIm"], i) - input_im[i];
            let off = re.hypot(im) / input_re[i].hypot(input_im[i]);
            worst = if off.is_finite() {
                worst.max(off)
            } else {
                f64::INFINITY
            };
        }
    }
    worst
}

#[test]
fn the_script_solves_networks_of_every_kind_as_the_program_does() {
    let (cases, solved) = networks();
    let kinds: String = cases
        .iter()
        .flat_map(|case| case["plan"]["branches"].as_array().unwrap())
        .map(|branch| branch["kind"].as_str().unwrap())
        .collect();
    for kind in ['R', 'L', 'C', 'D', 'W'] {
        assert!(kinds.contains(kind), "no {kind} among the networks");
    }
    let group = |of: &dyn Fn(&Value) -> bool| {
        let mut groups = cases
            .iter()
            .flat_map(|case| case["plan"]["groups"].as_array().unwrap());
        groups.any(of)
    };
    assert!(group(&|g| g["turns"].is_array()), "no autoformer");
    assert!(group(&|g| g["turns"].is_null()), "no coupled coils");
    let off = difference(SOLVE, &with_networks(&cases), &solved);
    assert!(off < AGREEMENT, "{off:e}");
}

/// A script that is changed anywhere in its way is seen to be wrong.
#[test]
fn a_changed_script_is_found_out() {
    let (cases, solved) = networks();
    let tab = with_networks(&cases);
    for (right, wrong) in [
        (
            "gather(lanes, pivot.diagonal, -1)",
            "gather(lanes, pivot.diagonal, 1)",
        ),
        ("sumRe[i] += w * re[s + i]", "sumRe[i] += re[s + i]"),
        (
            "a = 1 + zr * sumRe[i] - zi * sumIm[i]",
            "a = 1 + 1.000001 * zr * sumRe[i] - zi * sumIm[i]",
        ),
        ("b = zr * sumIm[i] + zi * sumRe[i]", "b = zr * sumIm[i]"),
        ("im[s + i] = -x * q", "im[s + i] = x * q"),
        ("x * loss * x * loss", "x * loss"),
        ("matrix[i * m + j] += mutual; ", ""),
        (
            "var scale = own + group.factor",
            "var scale = own + 0.999 * group.factor",
        ),
    ] {
        assert!(
            SOLVE.contains(right),
            "{right} is not in the script any more"
        );
        let off = difference(&SOLVE.replace(right, wrong), &tab, &solved);
        assert!(off > AGREEMENT, "{wrong} is not found out: {off:e}");
    }
}

/// Changes a few parts on the page; gives curves, figures and the design file that it saves.
const CHANGE: &str = "var B = handoverBench; CHANGES; B.update();\
    var r = B.result, list = function (x) { return Array.from(x); };\
    return { file: B.file(), figures: r.figures, least: r.least, heats: r.heats, sum: list(r.sum), ways: r.ways.map(list),\
        ohm: list(r.load.ohm), phase: list(r.load.phase), parts: r.parts, names: B.data.names, states: B.set().state };";

fn close(found: &Value, right: &Value, what: &str) {
    let (a, b) = (found.as_f64().unwrap(), right.as_f64().unwrap());
    assert!(
        (a - b).abs() <= AGREEMENT * b.abs().max(1e-3),
        "{what}: {a} is not {b}"
    );
}

/// A page with its values changed gives what the program gives of the file that the page saves.
fn same_as_its_file(page: &str, folder: &std::path::Path, changes: &str) -> String {
    let found = answer(page, 1280, &CHANGE.replace("CHANGES", changes));
    let text = found["file"].as_str().unwrap().to_owned();
    let file = folder.join("saved.toml");
    std::fs::write(&file, &text).unwrap();
    let file = file.to_str().unwrap();

    let checked = document(&handover(&["check", file, "--json", FEW[0], FEW[1]]));
    let figures = &found["figures"];
    close(&figures["level_db"], &checked["level_db"], "level");
    for name in ["rms_db", "max_db", "max_at_hz"] {
        close(&figures[name], &checked["flatness"][name], name);
    }
    for (k, crossover) in checked["crossovers"].as_array().unwrap().iter().enumerate() {
        close(
            &figures["phase_match_deg"][k],
            &crossover["phase_match_deg"],
            "phase",
        );
    }
    for (k, way) in checked["ways"].as_object().unwrap().values().enumerate() {
        close(&figures["match_db"][k], &way["match_db"], "match");
    }
    close(
        &found["least"]["ohm"],
        &checked["load"]["least_ohm"],
        "load",
    );
    close(
        &found["least"]["at_hz"],
        &checked["load"]["at_hz"],
        "where the load is least",
    );
    close(
        &found["heats"]["value"],
        &checked["load"]["least_epdr_ohm"],
        "EPDR",
    );

    let swept = handover(&["sweep", file, "--json", "--points", "600"]);
    let swept: Value = serde_json::from_str(&swept.out).unwrap();
    let each = |name: &str, right: &Value| {
        let right = right.as_array().unwrap();
        assert_eq!(right.len(), 600, "{name}");
        for (i, right) in right.iter().enumerate() {
            close(&found[name][i], right, &format!("{name} at place {i}"));
        }
    };
    each("sum", &swept["system"]["level_db"]);
    each("ohm", &swept["load"]["magnitude_ohm"]);
    each("phase", &swept["load"]["phase_deg"]);

    let loaded = netlist::project::load(std::path::Path::new(file)).unwrap();
    heat_is_the_same(&loaded.project, &found);
    text
}

/// Heat of the noise in every part, by the program's own flows on the page's frequencies.
fn heat_is_the_same(project: &Project, found: &Value) {
    let grid = Grid::audio_band();
    let system = Loudspeaker::new(project, grid.clone()).unwrap().unwrap();
    let (solution, _) = system.solve().unwrap();
    let drive = &system.drive;
    let gain = Loudness::of(&project.amplifier).open_circuit_v(system.nominal_output_ohm)
        / drive.open_circuit_v;
    let weights = power_weights(&grid);
    let flows = system.flows(&solution);
    let names = found["names"].as_array().unwrap();
    for (place, name) in system.plan.part_names().iter().enumerate() {
        let Some(at) = names.iter().position(|known| known == name) else {
            continue;
        };
        // A bridge is a wire on the page, and a resistor of next to nothing in the file.
        if found["states"][at] == "short" {
            continue;
        }
        let mine: Vec<&Flow> = flows.iter().filter(|flow| flow.part == place).collect();
        let power_w: f64 = (weights.iter().enumerate())
            .map(|(i, w)| w * mine.iter().map(|flow| flow.power_w(i)).sum::<f64>())
            .sum();
        let shown = found["parts"][at]["power_w"].as_f64().unwrap();
        let power_w = gain * gain * power_w;
        let off = (shown - power_w).abs();
        assert!(
            off <= AGREEMENT * power_w.max(1e-6),
            "{name}: {shown} W is not {power_w} W"
        );
    }
}

#[test]
fn a_changed_page_is_the_file_that_it_saves() {
    let folder = REPORT.copy();
    let page = REPORT.text("network.html");
    let text = same_as_its_file(
        page,
        folder.path(),
        "B.step('R2', true); B.value('C1', 39e-6); B.state('C4', 'out'); B.state('L4', 'short'); \
         B.swap('MID', true); B.step('L1', false)",
    );
    let design = folder.path().join("network.toml");
    let design = std::fs::read_to_string(design).unwrap();
    let kept = |line: &&str| line.starts_with('#') && !line.starts_with("# taken out");
    let comments = |text: &str| {
        text.lines()
            .filter(kept)
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(comments(&text), comments(&design), "comments stay");
    assert!(text.contains("# taken out: C4 = "), "{text}");
    // Nothing changed: nothing changed in the file either.
    assert_eq!(same_as_its_file(page, folder.path(), ""), design);
}

/// JudgedLoudspeaker over the listening window the page counts the sum as the program does.
#[test]
fn the_page_counts_over_the_window_too() {
    let folder = REPORT.copy();
    let text = std::fs::read_to_string(folder.path().join("network.toml")).unwrap();
    let design = folder.path().join("window.toml");
    let judged = text.replace("[aim]", "[aim]\njudged = \"window\"");
    assert_ne!(judged, text);
    std::fs::write(&design, judged).unwrap();
    let outcome = handover(&["report", design.to_str().unwrap()]);
    assert!(outcome.status < 2, "{}", outcome.err);
    let page = std::fs::read_to_string(folder.path().join("window.html")).unwrap();
    same_as_its_file(
        &page,
        folder.path(),
        "B.step('R2', true); B.swap('MID', true)",
    );
    assert!(page.contains("The sum over the listening window against its aim"));
    // What is drawn is what the directions one by one give, to the bend between two frequencies of the page.
    let script =
        "var B = handoverBench; return [Array.from(B.design.f), Array.from(B.off(B.design))];";
    let found = answer(&page, 1280, script);
    let drawn = |row: usize, i: usize| found[row][i].as_f64().unwrap();
    let args = ["check", design.to_str().unwrap(), "--json", "--builds", "5"];
    let checked = document(&handover(&args));
    let level_db = checked["level_db"].as_f64().unwrap();
    let list = |name: &str| checked["directions"][name].as_array().unwrap().clone();
    let mut off_axis: f64 = 0.0;
    let rows = list("frequency_hz")
        .into_iter()
        .zip(list("listening_window_db"))
        .zip(list("on_axis_db"));
    for ((f, window), axis) in rows {
        let [f, window, axis] = [f, window, axis].map(|value| value.as_f64().unwrap());
        let after = (1..found[0].as_array().unwrap().len() - 1)
            .find(|&i| drawn(0, i) >= f)
            .unwrap_or(1);
        let [low, high] = [drawn(0, after - 1), drawn(0, after)];
        let share = ((f / low).ln() / (high / low).ln()).clamp(0.0, 1.0);
        let here = drawn(1, after - 1) + share * (drawn(1, after) - drawn(1, after - 1));
        if (100.0..10e3).contains(&f) {
            let right = window - level_db;
            assert!((here - right).abs() < 0.02, "{f}: {here} {right}");
            off_axis = off_axis.max((axis - window).abs());
        }
    }
    assert!(off_axis > 0.5, "the axis is another: {off_axis}");
}

/// Coupled coils, an autoformer, cable and leads, a part of two pieces, an amplifier without output impedance.
#[test]
fn every_kind_of_part_can_be_changed() {
    let folder = REPORT.copy();
    let text = std::fs::read_to_string(folder.path().join("network.toml")).unwrap();
    let text = text
        .replace("output_impedance = \"1.8 ohm\"", "output_impedance = \"0 ohm\"")
        .replace(
            "R2 = { resistor = \"9.1 ohm\", between = [\"m3\", \"m4\"] }\nR3 = { resistor = \"6.2 ohm\", between = [\"m4\", \"gnd\"] }",
            "T1 = { autoformer = \"60 mH\", between = [\"m3\", \"gnd\"], taps = { \"m4\" = 0.3, spare = 0.5 }, coupling = 0.999, dcr = \"0.8 ohm\" }",
        )
        .replace(
            "C5 = { capacitor = \"1.2 uF\",",
            "K1 = { coupling = [\"L1\", \"L2\"], factor = 0.05 }\nC5 = { capacitor = \"1.2 uF\", made_of = { series = [\"2.2 uF\", \"2.64 uF\"] },",
        )
        .replace(
            "[stock]",
            "[wiring]\ncable = { length = \"5 m\", gauge = \"1.5 mm2\" }\ninternal = { low = { length = \"1 m\", gauge = \"1 mm2\" } }\n\n[stock]",
        );
    let design = folder.path().join("all.toml");
    std::fs::write(&design, &text).unwrap();
    let outcome = handover(&["report", design.to_str().unwrap()]);
    assert!(outcome.status < 2, "{}", outcome.err);
    let page = std::fs::read_to_string(folder.path().join("all.html")).unwrap();
    for changes in [
        "B.ratio('T1', 0.35); B.value('K1', 0.1); B.value('L1', 3.3e-3); B.value('C5', 1.5e-6)",
        "B.value('T1', 0.1); B.state('L2', 'short'); B.state('L3', 'out'); B.state('HIGH', 'out')",
        "B.state('L1', 'out'); B.step('C3', true)",
        "B.state('T1', 'out'); B.swap('LOW', true)",
    ] {
        // What hangs in the air on the page hangs on next to nothing in the file.
        if changes.contains("out") && (changes.contains("L1") || changes.contains("T1")) {
            let found = answer(&page, 1280, &CHANGE.replace("CHANGES", changes));
            let file = folder.path().join("open.toml");
            std::fs::write(&file, found["file"].as_str().unwrap()).unwrap();
            let outcome = handover(&["check", file.to_str().unwrap(), FEW[0], FEW[1]]);
            assert!(outcome.status < 2, "{changes}: {}", outcome.err);
            continue;
        }
        let text = same_as_its_file(&page, folder.path(), changes);
        assert!(
            !changes.contains("C5") || !text.contains("made_of"),
            "{text}"
        );
    }
}
