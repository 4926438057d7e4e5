//! From a bare driver, or nearly, growing finds the correction that is the answer: the driver's response is made such
//! that one known network meets the target exactly, and no smaller one does.

use std::fmt::Write as _;
use std::io;
use std::path::Path;

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::project::{Project, load_from};
use netlist::quantity::{Farads, Ohms};
use num_complex::Complex64;
use solver::search::grow::{Catalogue, Growth, Pace, Population, Problem, in_reading_order};
use solver::search::{Job, choose_alignments};
use tests::flat::bare;

const CROSSOVER_HZ: f64 = 2000.0;
const LEVEL_DB: f64 = 90.0;

fn j(x: f64) -> Complex64 {
    Complex64::new(0.0, x)
}

fn parallel(a: Complex64, b: Complex64) -> Complex64 {
    a * b / (a + b)
}

/// A driver's impedance and what the known network makes of a volt at its input, at an angular frequency.
struct Known {
    z_ohm: fn(f64) -> Complex64,
    transfer: fn(f64, Complex64) -> Complex64,
}

/// A table of two columns and phase, one row for every 24th of an octave and more.
fn table(of: impl Fn(f64) -> (f64, f64)) -> String {
    let mut text = String::new();
    for i in 0..=400 {
        let f_hz = 40.0 * 10f64.powf(f64::from(i) / 400.0 * 2.8);
        let (value, phase_deg) = of(f_hz);
        writeln!(text, "{f_hz:.5} {value:.9} {phase_deg:.7}").unwrap();
    }
    text
}

/// A two-way whose `way` has the known network for its answer; the other driver is flat. No losses, and
/// parts so close that nothing is gained by a network that minds tolerance less. A stated resonance far below keeps
/// the protection of a diaphragm out of it.
fn project(way: &str, known: &Known) -> Project {
    let brief = r#"
title = "One driver that wants a correction"
[aim]
from = "100 Hz"
to = "18 kHz"
level = "90 dB"
[drivers.low]
measured = { impedance = "low-z.txt", response = "low-p.txt", drive = "2.83 V", distance = "1 m" }
resonance = "50 Hz"
[drivers.high]
measured = { impedance = "high-z.txt", response = "high-p.txt", drive = "2.83 V", distance = "1 m" }
resonance = "50 Hz"
[[crossovers]]
between = ["low", "high"]
frequency = "2 kHz"
alignment = "LR2"
[stock]
inductors = { series = "E192", from = "10 uH", to = "100 mH", tolerance = "0.1 %" }
capacitors = { series = "E192", from = "0.1 uF", to = "400 uF", tolerance = "0.1 %" }
resistors = { series = "E192", from = "0.2 ohm", to = "200 ohm", tolerance = "0.1 %" }
"#;
    let impedance = table(|f_hz| {
        let z_ohm = (known.z_ohm)(std::f64::consts::TAU * f_hz);
        (z_ohm.norm(), z_ohm.arg().to_degrees())
    });
    // Second-order Linkwitz–Riley: 1 / (1 + s)² and s² / (1 + s)², s = jf/fc.
    let response = table(|f_hz| {
        let s = j(f_hz / CROSSOVER_HZ);
        let low = 1.0 / (1.0 + s).powi(2);
        let target = if way == "low" { low } else { low * s * s };
        let omega = std::f64::consts::TAU * f_hz;
        let asked = target / (known.transfer)(omega, (known.z_ohm)(omega));
        (
            LEVEL_DB + 20.0 * asked.norm().log10(),
            asked.arg().to_degrees(),
        )
    });
    let way = way.to_owned();
    let files = move |path: &Path| -> io::Result<Vec<u8>> {
        let name = path.file_name().and_then(|name| name.to_str());
        let text = match name {
            Some("brief.toml") => brief.to_owned(),
            Some(name) if name == format!("{way}-z.txt") => impedance.clone(),
            Some(name) if name == format!("{way}-p.txt") => response.clone(),
            Some(name) if name.ends_with("-z.txt") => table(|_| (8.0, 0.0)),
            Some(name) if name.ends_with("-p.txt") => table(|_| (LEVEL_DB, 0.0)),
            _ => return Err(io::ErrorKind::NotFound.into()),
        };
        Ok(text.into_bytes())
    };
    load_from(&files, Path::new("brief.toml")).unwrap().project
}

const PACE: Pace = Pace {
    breadth: 4,
    tried: 24,
    kept: 8,
    exchanged: 6,
    short_steps: 12,
    long_steps: 100,
    rounds: 3,
    beyond: 4,
    asked: None,
    most_parts: 5,
};

/// What a way grows to from there, with so many parts.
fn grown(project: &Project, way: usize, parts: usize, begin: &Network) -> Network {
    let job = Job::new(project).unwrap();
    let targets = job.targets(&choose_alignments(&job));
    let problem = Problem::of_way(&job, &targets, way, LEVEL_DB);
    let mut population = Population::new(PACE.breadth);
    assert!(population.offer(problem.fit(begin, LEVEL_DB, 30).unwrap()));
    let growth = Growth {
        problem: &problem,
        catalogue: &Catalogue::new(&job),
        pace: PACE,
        stop: &|| false,
    };
    growth.evolve(&mut population, &mut |_, _| {});
    let cost = |parts: usize| -> f64 {
        let best = population.of_size(parts).first();
        best.map_or(f64::INFINITY, |best| best.fitted.cost)
    };
    let fitted = (population.of_size(parts).first())
        .and_then(|best| problem.fit_while(&best.fitted.network, LEVEL_DB, 500, 1e-12))
        .expect("one of this size");
    assert!(
        fitted.cost.sqrt() < 0.01,
        "{}: {:?}",
        fitted.cost,
        fitted.network
    );
    assert!(
        cost(parts - 1).sqrt() > 0.05,
        "{} parts do as well",
        parts - 1
    );
    in_reading_order(&fitted.network)
}

fn values(network: &Network) -> Vec<(&str, f64)> {
    (network.parts().values())
        .filter_map(|part| Some((part.kind.word(), part.value_si()?)))
        .collect()
}

fn assert_values(found: &[(&str, f64)], expected: &[(&str, f64)]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, expected) in found.iter().zip(expected) {
        let ratio = found.1 / expected.1;
        assert!(
            found.0 == expected.0 && (ratio - 1.0).abs() < 0.01,
            "{found:?} is not {expected:?}"
        );
    }
}

/// A horn driver with a resonance in its band, far too loud: only a resistor across it keeps the filter's load
/// and the driver's voltage even.
#[test]
fn an_l_pad_is_found() {
    let known = Known {
        z_ohm: |omega| {
            let f = omega / std::f64::consts::TAU;
            6.0 + 14.0 / (1.0 + j(2.0 * (f / 2500.0 - 2500.0 / f)))
        },
        transfer: |omega, z| {
            let padded = parallel(z, 3.3.into());
            padded / (1.0 / j(omega * 6.8e-6) + 5.6 + padded)
        },
    };
    // A capacitor is there already: it is the pad that is looked for.
    let mut begin = bare("high");
    let between = [NodeId::IN, begin.node("h")];
    if let PartKind::Driver { between: ends, .. } = &mut begin.parts_mut()[0].kind {
        ends[0] = between[1];
    }
    let kind = PartKind::Capacitor {
        capacitance: Farads(10e-6),
        esr: Ohms(0.0),
        between,
    };
    begin.insert("C1", Part::new(kind));
    let network = grown(&project("high", &known), 1, 3, &begin);
    // Two in series are the same in either order.
    let mut found = values(&network);
    found[..2].sort_by(|a, b| a.0.cmp(b.0));
    assert_values(
        &found,
        &[("capacitor", 6.8e-6), ("resistor", 5.6), ("resistor", 3.3)],
    );
}

/// A woofer whose coil rises: a resistor and a capacitor across it make a resistor of it.
#[test]
fn a_zobel_is_found() {
    let known = Known {
        z_ohm: |omega| 6.0 + j(omega * 0.6e-3),
        transfer: |omega, z| {
            let load = parallel(z, 6.0 + 1.0 / j(omega * 16.7e-6));
            load / (j(omega * 0.47e-3) + load)
        },
    };
    let network = grown(&project("low", &known), 0, 3, &bare("low"));
    let expected = [
        ("inductor", 0.47e-3),
        ("resistor", 6.0),
        ("capacitor", 16.7e-6),
    ];
    assert_values(&values(&network), &expected);
}

/// A driver with a peak above its band: a coil, a capacitor and a resistor in series across it.
#[test]
fn a_series_trap_is_found() {
    let known = Known {
        z_ohm: |_| 6.0.into(),
        transfer: |omega, z| {
            let trap = 1.5 + j(omega * 0.33e-3) + 1.0 / j(omega * 8.2e-6);
            let load = parallel(z, trap);
            load / (j(omega * 0.68e-3) + load)
        },
    };
    let network = grown(&project("low", &known), 0, 4, &bare("low"));
    // Three in series are the same in any order.
    let mut found = values(&network);
    found[1..].sort_by(|a, b| a.0.cmp(b.0));
    let expected = [
        ("inductor", 0.68e-3),
        ("capacitor", 8.2e-6),
        ("inductor", 0.33e-3),
        ("resistor", 1.5),
    ];
    assert_values(&found, &expected);
}
