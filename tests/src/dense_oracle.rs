//! A network at one frequency, solved the long way: node voltages *and* the currents of all
//! windings and of the source are unknowns, so that nothing is inverted or eliminated beforehand.
//! Shares no code with the solver's plan.

use nalgebra::{DMatrix, DVector};
use netlist::network::{Network, NodeId, PartKind};
use num_complex::Complex64;

/// What [`solve`] finds.
#[derive(Debug, Clone)]
pub struct DenseSolution {
    /// Voltage of every node against `gnd`, `gnd` included; volt.
    pub voltage: Vec<Complex64>,
    /// Current that the amplifier delivers; ampere.
    pub source_current: Complex64,
    /// Share of the right-hand side that the solution misses by.
    pub residual: f64,
}

struct Winding {
    ends: [usize; 2],
    resistance: f64,
    inductance: f64,
    part: String,
}

/// Solves the network at angular frequency `omega` for an amplifier of open-circuit voltage
/// `open_circuit_v` behind `output_impedance_ohm`; `loads` are the drivers' impedances in part order.
///
/// # Panics
/// If the system has no solution.
#[must_use]
pub fn solve(
    network: &Network,
    loads: &[Complex64],
    omega: f64,
    open_circuit_v: f64,
    output_impedance_ohm: impl Into<Complex64>,
) -> DenseSolution {
    let nodes = network.node_count();
    let mut windings: Vec<Winding> = Vec::new();
    let mut mutual: Vec<(usize, usize, f64)> = Vec::new();
    for (name, part) in network.parts() {
        match &part.kind {
            PartKind::Inductor {
                inductance,
                dcr,
                between,
            } => windings.push(Winding {
                ends: between.map(|n| n.0),
                resistance: dcr.0,
                inductance: inductance.0,
                part: name.clone(),
            }),
            PartKind::Autoformer {
                inductance,
                dcr,
                coupling,
                between,
                taps,
            } => {
                let mut points: Vec<(NodeId, f64)> =
                    taps.iter().map(|t| (t.node, t.ratio)).collect();
                points.push((between[0], 1.0));
                points.push((between[1], 0.0));
                points.sort_by(|a, b| b.1.total_cmp(&a.1));
                let turns: Vec<f64> = points.windows(2).map(|p| p[0].1 - p[1].1).collect();
                let mut unscaled = 0.0;
                for (i, a) in turns.iter().enumerate() {
                    for (j, b) in turns.iter().enumerate() {
                        unscaled += if i == j { a * b } else { coupling * a * b };
                    }
                }
                let first = windings.len();
                for (pair, n) in points.windows(2).zip(&turns) {
                    windings.push(Winding {
                        ends: [pair[0].0.0, pair[1].0.0],
                        resistance: dcr.0 * n,
                        inductance: inductance.0 * n * n / unscaled,
                        part: String::new(),
                    });
                }
                for i in 0..turns.len() {
                    for j in 0..i {
                        let m = coupling * inductance.0 * turns[i] * turns[j] / unscaled;
                        mutual.push((first + i, first + j, m));
                    }
                }
            }
            _ => {}
        }
    }
    for part in network.parts().values() {
        if let PartKind::Coupling { inductors, factor } = &part.kind {
            let [i, j] = [0, 1].map(|k| {
                let found = windings.iter().position(|w| w.part == inductors[k]);
                found.expect("a coupling names inductors")
            });
            let m = factor * (windings[i].inductance * windings[j].inductance).sqrt();
            mutual.push((i, j, m));
        }
    }

    // Unknowns: node voltages without gnd, winding currents, source current.
    let first_winding = nodes - 1;
    let source = first_winding + windings.len();
    let size = source + 1;
    let mut a = DMatrix::<Complex64>::zeros(size, size);
    let mut b = DVector::<Complex64>::zeros(size);
    let mut admittance = |ends: [usize; 2], y: Complex64| {
        for (row, row_sign) in [(ends[0], 1.0), (ends[1], -1.0)] {
            for (column, column_sign) in [(ends[0], 1.0), (ends[1], -1.0)] {
                if row > 0 && column > 0 {
                    a[(row - 1, column - 1)] += y * (row_sign * column_sign);
                }
            }
        }
    };
    let mut driver = 0;
    for part in network.parts().values() {
        match &part.kind {
            PartKind::Resistor {
                resistance,
                between,
            } => admittance(between.map(|n| n.0), Complex64::from(1.0 / resistance.0)),
            PartKind::Capacitor {
                capacitance,
                esr,
                between,
            } => {
                let z = Complex64::new(esr.0, -1.0 / (omega * capacitance.0));
                admittance(between.map(|n| n.0), 1.0 / z);
            }
            PartKind::Driver { between, .. } => {
                admittance(between.map(|n| n.0), 1.0 / loads[driver]);
                driver += 1;
            }
            _ => {}
        }
    }
    for (i, winding) in windings.iter().enumerate() {
        let row = first_winding + i;
        for (end, sign) in [(winding.ends[0], 1.0), (winding.ends[1], -1.0)] {
            if end > 0 {
                a[(end - 1, row)] += Complex64::from(sign);
                a[(row, end - 1)] += Complex64::from(sign);
            }
        }
        a[(row, row)] -= Complex64::new(winding.resistance, omega * winding.inductance);
    }
    for (i, j, m) in mutual {
        a[(first_winding + i, first_winding + j)] -= Complex64::new(0.0, omega * m);
        a[(first_winding + j, first_winding + i)] -= Complex64::new(0.0, omega * m);
    }
    // The amplifier: v_in + Z₀ i = E, and i flows into node `in`.
    let input = NodeId::IN.0 - 1;
    a[(input, source)] -= Complex64::ONE;
    a[(source, input)] += Complex64::ONE;
    a[(source, source)] += output_impedance_ohm.into();
    b[source] = Complex64::from(open_circuit_v);

    let x = a
        .clone()
        .full_piv_lu()
        .solve(&b)
        .expect("a network with a solution");
    let residual = (&a * &x - &b).norm() / (a.norm() * x.norm());
    let mut voltage = vec![Complex64::ZERO];
    voltage.extend(x.iter().take(nodes - 1));
    DenseSolution {
        voltage,
        source_current: x[source],
        residual,
    }
}
