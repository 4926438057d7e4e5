//! Laws that hold for every network: the plan against a slow independent solution, reciprocity,
//! power balance, sensitivities against difference quotients, what-if against a new solution.

use std::sync::Arc;

use netlist::network::{Network, NodeId, PartKind};
use num_complex::Complex64;
use proptest::prelude::*;
use solver::grid::Grid;
use solver::nodal::{
    Drive, Output, Plan, Sensitivities, Solution, SourceImpedance, Values, Workspace,
};
use solver::spectrum::Spectrum;
use tests::dense_oracle;
use tests::random_network::{RandomNetwork, Recipe, random_network};

/// Relative agreement asked of two solutions, where the network itself is well conditioned.
const AGREEMENT: f64 = 1e-9;

fn grid() -> Grid {
    Grid::log_spaced(20.0, 20_000.0, 21).unwrap()
}

fn drive(z_ohm: impl Into<SourceImpedance>) -> Drive {
    Drive {
        open_circuit_v: 2.83,
        output_impedance_ohm: z_ohm.into(),
    }
}

/// None, a resistance, or a resistance with a leakage inductance.
fn sources() -> impl Strategy<Value = SourceImpedance> {
    let leaky = (0.01f64..10.0, 1e-5f64..2e-3).prop_map(|(r_ohm, l_h)| {
        let omega = grid().omega().to_vec();
        let z_ohm = |i: usize| Complex64::new(r_ohm, omega[i] * l_h);
        SourceImpedance::Over(Arc::new(Spectrum::from_fn(omega.len(), z_ohm)))
    });
    prop_oneof![
        Just(0.0.into()),
        (0.01f64..10.0).prop_map(Into::into),
        leaky
    ]
}

struct Case {
    network: Network,
    loads: Vec<Vec<Complex64>>,
    plan: Plan,
    workspace: Workspace,
    solution: Solution,
    grid: Grid,
}

fn case(seed: u64, recipe: Recipe) -> Case {
    let grid = grid();
    let RandomNetwork { network, loads } = random_network(seed, recipe, &grid);
    let plan = Plan::compile(&network).unwrap();
    let refs: Vec<_> = loads.iter().collect();
    let workspace = Workspace::new(&plan, &grid, &refs).unwrap();
    let solution = Solution::new(&plan, &workspace);
    let loads = (0..grid.len())
        .map(|i| loads.iter().map(|z| z.at(i)).collect())
        .collect();
    Case {
        network,
        loads,
        plan,
        workspace,
        solution,
        grid,
    }
}

/// Largest voltage of a solution, the scale that differences are judged against.
fn scale(voltages: &[Complex64]) -> f64 {
    voltages.iter().map(|v| v.norm()).fold(0.0, f64::max)
}

fn recipes() -> impl Strategy<Value = Recipe> {
    (1usize..=22, any::<bool>(), any::<bool>()).prop_map(|(nodes, lossless, windings)| Recipe {
        nodes,
        lossless,
        windings,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn the_plan_agrees_with_the_long_way(
        seed in any::<u64>(), recipe in recipes(), z_ohm in sources(),
    ) {
        let mut case = case(seed, recipe);
        let values = Values::of(&case.network);
        case.plan.run(&values, &drive(z_ohm.clone()), &mut case.workspace, &mut case.solution);
        for i in 0..case.grid.len() {
            let omega = case.grid.omega()[i];
            let dense = dense_oracle::solve(&case.network, &case.loads[i], omega, 2.83, z_ohm.at(i));
            let scale = scale(&dense.voltage);
            // An undamped resonance close by magnifies the rounding of both solutions alike.
            let allowed = AGREEMENT * scale * (scale / 2.83).max(1.0);
            for node in 0..case.network.node_count() {
                let difference = (case.solution.node_at(NodeId(node), i) - dense.voltage[node]).norm();
                prop_assert!(difference <= allowed, "node {node} at {i}: {difference:e} of {scale}");
            }
            let drawn = case.solution.node_at(NodeId::IN, i)
                * Complex64::new(case.solution.input_admittance().0[i], case.solution.input_admittance().1[i]);
            let drawn_scale = dense.source_current.norm().max(1e-3 * scale);
            prop_assert!((drawn - dense.source_current).norm() <= AGREEMENT * drawn_scale * (scale / 2.83).max(1.0));
        }
    }

    #[test]
    fn currents_into_every_node_sum_to_zero_and_power_in_is_power_burnt(
        seed in any::<u64>(), recipe in recipes(), z_ohm in sources(),
    ) {
        // Coupled windings exchange current between branches; the plan is held against the long
        // way for them above.
        let recipe = Recipe { windings: false, ..recipe };
        let mut case = case(seed, recipe);
        let values = Values::of(&case.network);
        case.plan.run(&values, &drive(z_ohm.clone()), &mut case.workspace, &mut case.solution);
        for i in 0..case.grid.len() {
            let omega = case.grid.omega()[i];
            let mut sums = vec![Complex64::ZERO; case.network.node_count()];
            let mut magnitudes = vec![0.0; case.network.node_count()];
            let mut burnt = 0.0;
            let mut driver = 0;
            let mut apparent = 0.0;
            for part in case.network.parts().values() {
                let [a, b] = part.kind.between().unwrap();
                let v = case.solution.node_at(a, i) - case.solution.node_at(b, i);
                let z = match &part.kind {
                    PartKind::Resistor { resistance, .. } => Complex64::from(resistance.0),
                    PartKind::Inductor { inductance, dcr, .. } =>
                        Complex64::new(dcr.0, omega * inductance.0),
                    PartKind::Capacitor { capacitance, esr, .. } =>
                        Complex64::new(esr.0, -1.0 / (omega * capacitance.0)),
                    PartKind::Driver { .. } => { driver += 1; case.loads[i][driver - 1] }
                    _ => unreachable!(),
                };
                let current = v / z;
                burnt += current.norm_sqr() * z.re;
                let volts = case.solution.node_at(a, i).norm() + case.solution.node_at(b, i).norm();
                apparent += volts * volts / z.norm();
                sums[a.0] += current;
                sums[b.0] -= current;
                // What the currents are made of: a node may carry almost none at all.
                let parts = (case.solution.node_at(a, i).norm() + case.solution.node_at(b, i).norm()) / z.norm();
                magnitudes[a.0] += parts;
                magnitudes[b.0] += parts;
            }
            for node in 2..case.network.node_count() {
                prop_assert!(sums[node].norm() <= 1e-12 * magnitudes[node],
                    "Kirchhoff at node {node}: {:e} of {:e}", sums[node].norm(), magnitudes[node]);
            }
            let input = case.solution.node_at(NodeId::IN, i);
            let (g, _) = case.solution.input_admittance();
            let delivered = input.norm_sqr() * g[i];
            prop_assert!((delivered - burnt).abs() <= 1e-12 * apparent, "{delivered} of {burnt}");
        }
    }

    #[test]
    fn what_is_driven_and_what_is_observed_may_be_swapped(
        seed in any::<u64>(), recipe in recipes(), z_ohm in sources(),
    ) {
        // ∂V_a/∂Y of a branch at b equals ∂V_b/∂Y of a branch at a up to the branch voltages:
        // −z_ab v_b against −z_ba v_a, so that z_ab = z_ba.
        let mut case = case(seed, recipe);
        let values = Values::of(&case.network);
        let resistors: Vec<(usize, Output)> = case.network.parts().values().enumerate()
            .filter_map(|(i, part)| match part.kind {
                PartKind::Resistor { between: [positive, negative], .. } =>
                    Some((i, Output { positive, negative })),
                _ => None,
            })
            .take(4)
            .collect();
        let outputs: Vec<Output> = resistors.iter().map(|&(_, o)| o).collect();
        let mut sensitivities = Sensitivities::new(&case.plan, &case.workspace, &outputs);
        case.plan.run_sensitivities(&values, &drive(z_ohm.clone()), &mut case.workspace, &mut case.solution, &mut sensitivities);
        for i in 0..case.grid.len() {
            let v: Vec<Complex64> = outputs.iter().map(|&o| case.solution.output_at(o, i)).collect();
            for a in 0..resistors.len() {
                for b in 0..a {
                    let square = |k: usize| values.value[resistors[k].0].powi(2);
                    let z_ab = sensitivities.at(a, resistors[b].0, i) * square(b) * v[a];
                    let z_ba = sensitivities.at(b, resistors[a].0, i) * square(a) * v[b];
                    let size = z_ab.norm().max(z_ba.norm());
                    let floor = 1e-12 * (v[a].norm() * v[b].norm());
                    prop_assert!((z_ab - z_ba).norm() <= 1e-7 * size + floor, "{z_ab} {z_ba}");
                }
            }
        }
    }

    #[test]
    fn sensitivities_are_difference_quotients(
        seed in any::<u64>(), recipe in recipes(), z_ohm in sources(),
    ) {
        let recipe = Recipe { lossless: false, nodes: recipe.nodes.min(12), ..recipe };
        let mut case = case(seed, recipe);
        let values = Values::of(&case.network);
        let mut outputs: Vec<Output> = case.plan.driver_outputs().map(|(o, _)| o).take(2).collect();
        outputs.push(Output { positive: NodeId::IN, negative: NodeId::GND });
        outputs.push(Output { positive: NodeId(2), negative: NodeId::IN });
        let mut sensitivities = Sensitivities::new(&case.plan, &case.workspace, &outputs);
        case.plan.run_sensitivities(&values, &drive(z_ohm.clone()), &mut case.workspace, &mut case.solution, &mut sensitivities);
        let middle = case.solution.clone();
        for (k, part) in case.network.parts().values().enumerate() {
            if matches!(part.kind, PartKind::Driver { .. }) {
                continue;
            }
            let step = 1e-5 * values.value[k];
            let mut at = |value: f64| {
                let mut moved = values.clone();
                moved.value[k] = value;
                case.plan.run(&moved, &drive(z_ohm.clone()), &mut case.workspace, &mut case.solution);
                outputs.iter()
                    .map(|&o| case.solution.output(o))
                    .collect::<Vec<_>>()
            };
            let above = at(values.value[k] + step);
            let below = at(values.value[k] - step);
            for o in 0..outputs.len() {
                for i in 0..case.grid.len() {
                    // As a change of the output for a change of the value by its own size.
                    let quotient = (above[o].at(i) - below[o].at(i)) / 2e-5;
                    let computed = sensitivities.at(o, k, i) * values.value[k];
                    let size = middle.output_at(outputs[o], i).norm().max(computed.norm());
                    // What rounding of the voltages does to the quotient.
                    let bend = (above[o].at(i) + below[o].at(i)) / 2.0 - middle.output_at(outputs[o], i);
                    let noise = 20.0 * bend.norm() / 1e-5;
                    prop_assert!((quotient - computed).norm() <= 1e-6 * size.max(2.83) + noise,
                        "output {o}, part {k} ({}), frequency {i}: {quotient} {computed}", part.kind.word());
                }
            }
        }
    }
}

/// A coil from `in` to `n`, a capacitor from `n` to `gnd`, and a driver behind a large resistor.
fn undamped(r_ohm: f64) -> Network {
    use netlist::network::Part;
    use netlist::quantity::{Farads, Henries, Ohms};
    let mut network = Network::new();
    let n = network.node("n");
    let m = network.node("m");
    let parts = [
        PartKind::Inductor {
            inductance: Henries(1e-3),
            dcr: Ohms(0.0),
            between: [NodeId::IN, n],
        },
        PartKind::Capacitor {
            capacitance: Farads(1e-6),
            esr: Ohms(0.0),
            between: [n, NodeId::GND],
        },
        PartKind::Resistor {
            resistance: Ohms(r_ohm),
            between: [n, m],
        },
        PartKind::Driver {
            driver: "d".into(),
            between: [m, NodeId::GND],
            inverted: false,
        },
    ];
    for (i, kind) in parts.into_iter().enumerate() {
        network.insert(format!("P{i}"), Part::new(kind));
    }
    network
}

#[test]
fn a_frequency_that_loses_accuracy_is_solved_with_pivoting() {
    let network = undamped(1e7);
    let f0_hz = 1.0 / (std::f64::consts::TAU * (1e-3f64 * 1e-6).sqrt());
    let grid = Grid::new(vec![100.0, f0_hz, 10_000.0]).unwrap();
    let load = solver::spectrum::Spectrum::from_fn(3, |_| Complex64::from(8.0));
    let plan = Plan::compile(&network).unwrap();
    let mut workspace = Workspace::new(&plan, &grid, &[&load]).unwrap();
    let mut solution = Solution::new(&plan, &workspace);
    let values = Values::of(&network);
    let report = plan.run(&values, &drive(2.0), &mut workspace, &mut solution);
    assert_eq!((report.dense, report.lossless), (1, 0));
    for i in 0..3 {
        let dense = dense_oracle::solve(
            &network,
            &[Complex64::from(8.0)],
            grid.omega()[i],
            2.83,
            2.0,
        );
        for node in 1..network.node_count() {
            let difference = (solution.node_at(NodeId(node), i) - dense.voltage[node]).norm();
            assert!(
                difference <= 1e-9 * scale(&dense.voltage),
                "{node} {i} {difference:e}"
            );
        }
    }
    // Sensitivities take the same way.
    let (output, _) = plan.driver_outputs().next().unwrap();
    let mut sensitivities = Sensitivities::new(&plan, &workspace, &[output]);
    plan.run_sensitivities(
        &values,
        &drive(2.0),
        &mut workspace,
        &mut solution,
        &mut sensitivities,
    );
    let mut moved = values.clone();
    moved.value[2] *= 1.0 + 1e-6;
    let before = solution.output_at(output, 1);
    plan.run(&moved, &drive(2.0), &mut workspace, &mut solution);
    let quotient = (solution.output_at(output, 1) - before) / (moved.value[2] - values.value[2]);
    let computed = sensitivities.at(0, 2, 1);
    assert!(
        (quotient - computed).norm() <= 1e-4 * computed.norm(),
        "{quotient} {computed}"
    );
}

#[test]
fn a_resonance_without_any_loss_gives_numbers_all_the_same() {
    let mut network = undamped(1.0);
    // Only the coil and the capacitor are left of it: 2 Ω and nothing else limits the current.
    let mut bare = Network::new();
    let n = bare.node("n");
    assert_eq!(n, network.node("n"));
    for (name, part) in network.parts().iter().take(2) {
        bare.insert(name.clone(), part.clone());
    }
    let plan = Plan::compile(&bare).unwrap();
    let f0_hz = 1.0 / (std::f64::consts::TAU * (1e-3f64 * 1e-6).sqrt());
    // The exact frequency is no number; try the neighbours on both sides.
    for ulps in -3..=3 {
        let f_hz = f0_hz * (1.0 + f64::from(ulps) * f64::EPSILON);
        let grid = Grid::new(vec![f_hz]).unwrap();
        let mut workspace = Workspace::new(&plan, &grid, &[]).unwrap();
        let mut solution = Solution::new(&plan, &workspace);
        for z_ohm in [0.0, 2.0] {
            let report = plan.run(
                &Values::of(&bare),
                &drive(z_ohm),
                &mut workspace,
                &mut solution,
            );
            assert_eq!(report.dense, 1);
            for node in 0..bare.node_count() {
                assert!(solution.node_at(NodeId(node), 0).is_finite());
            }
            let (g, b) = solution.input_admittance();
            assert!(g[0].is_finite() && b[0].is_finite());
        }
    }
}
