//! Power: what the amplifier gives is what parts and drivers burn, in every network.

use netlist::network::{Network, NodeId, PartKind};
use netlist::project::load;
use num_complex::Complex64;
use proptest::prelude::*;
use solver::grid::Grid;
use solver::judge::stress;
use solver::loudspeaker::Loudspeaker;
use solver::nodal::{Drive, Plan, Solution, Values, Workspace};
use solver::programme::power_weights;
use solver::spectrum::Spectrum;
use tests::command::handover;
use tests::random_network::{Recipe, random_network};

/// What 8 Ω would take, W; less than a hundredth of it is not looked at so closely.
const IN_8_OHM_W: f64 = 20.0;

/// Greatest difference between power given and power burnt, relative to what is given; or, where that is
/// more, to a hundredth of all currents times the highest voltage of a node. A branch's voltage is the
/// difference of two nodes' and has no more digits than those leave: in a resonance of hundreds of volts
/// a small resistor between two nodes has few.
fn imbalance(seed: u64, recipe: Recipe, output_impedance_ohm: f64) -> f64 {
    let grid = Grid::log_spaced(20.0, 20_000.0, 67).unwrap();
    let random = random_network(seed, recipe, &grid);
    let plan = Plan::compile(&random.network).unwrap();
    let values = Values::of(&random.network);
    let loads: Vec<&Spectrum> = random.loads.iter().collect();
    let drive = Drive {
        open_circuit_v: (8.0 * IN_8_OHM_W).sqrt(),
        output_impedance_ohm: output_impedance_ohm.into(),
    };
    let mut workspace = Workspace::new(&plan, &grid, &loads).unwrap();
    let mut solution = Solution::new(&plan, &workspace);
    plan.run(&values, &drive, &mut workspace, &mut solution);
    let flows = plan.flows(&values, &grid, &loads, &solution);
    let names = plan.part_names().len();
    assert!(
        flows.iter().all(|flow| flow.part < names),
        "every flow has its part"
    );
    (0..grid.len())
        .map(|i| {
            let burnt: f64 = flows.iter().map(|flow| flow.power_w(i)).sum();
            assert!(
                flows.iter().all(|flow| flow.power_w(i) >= 0.0),
                "no part gives power"
            );
            // Some random networks take no current at all.
            let current = match solution.input_impedance_at(i) {
                Some(z_ohm) => drive.open_circuit_v / (z_ohm + output_impedance_ohm),
                None => Complex64::ZERO,
            };
            let given = (drive.open_circuit_v * current.conj()).re;
            let inside = current.norm_sqr() * output_impedance_ohm;
            let current_a: f64 = flows.iter().map(|flow| flow.current_a.at(i).norm()).sum();
            let highest_v = (0..random.network.node_count())
                .map(|node| solution.node_at(NodeId(node), i).norm())
                .fold(0.0, f64::max);
            let leak = leakage_va(&random.network, grid.omega()[i], highest_v);
            (given - inside - burnt).abs()
                / given
                    .max(1e-2 * highest_v * current_a)
                    .max(1e-6 * leak)
                    .max(1e-2 * IN_8_OHM_W)
        })
        .fold(0.0, f64::max)
}

/// Apparent power that a voltage would drive through the leakage of the windings: the last digit
/// of a node's voltage becomes that much current in windings that are coupled closely.
fn leakage_va(network: &Network, omega: f64, volts: f64) -> f64 {
    (network.parts().values())
        .map(|part| match &part.kind {
            PartKind::Autoformer {
                inductance,
                coupling,
                taps,
                ..
            } => {
                let mut ends: Vec<f64> = taps.iter().map(|tap| tap.ratio).collect();
                ends.extend([0.0, 1.0]);
                ends.sort_by(f64::total_cmp);
                let least = ends
                    .windows(2)
                    .map(|pair| pair[1] - pair[0])
                    .fold(1.0, f64::min);
                volts * volts / (omega * inductance.0 * (1.0 - coupling) * least * least)
            }
            _ => 0.0,
        })
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Tellegen: the powers of all parts and drivers, and what stays in the amplifier, are what its
    /// source gives. Heat is worked out part by part as |I|²·R, so that a wrong current shows.
    #[test]
    fn what_is_given_is_burnt(seed in any::<u64>(), nodes in 2usize..12, output in 0.0..4.0f64) {
        let recipe = Recipe { nodes, lossless: false, windings: true };
        let off = imbalance(seed, recipe, output);
        prop_assert!(off < 1e-9, "{off:e}");
    }

    #[test]
    fn also_from_an_amplifier_without_output_impedance(seed in any::<u64>(), nodes in 2usize..10) {
        let recipe = Recipe { nodes, lossless: false, windings: true };
        let off = imbalance(seed, recipe, 0.0);
        prop_assert!(off < 1e-9, "{off:e}");
    }
}

/// The demo's network, strictly: every frequency to 1e-9 of what is given there, and the stress on all parts
/// and drivers adds up to what programme noise gives.
#[test]
fn the_demo_burns_what_it_is_given() {
    let folder = tempfile::tempdir().unwrap();
    let ran = handover(&["demo", folder.path().to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let project = load(&folder.path().join("network.toml")).unwrap().project;
    let grid = Grid::log_spaced(20.0, 20_000.0, 1200).unwrap();
    let weights = power_weights(&grid);
    let system = Loudspeaker::new(&project, grid).unwrap().unwrap();
    let (solution, _) = system.solve().unwrap();
    let flows = system.flows(&solution);
    let drive = &system.drive;
    let mut noise_w = 0.0;
    for (i, weight) in weights.iter().enumerate() {
        let z_ohm = solution.input_impedance_at(i).unwrap();
        let current = drive.open_circuit_v / (z_ohm + drive.output_impedance_ohm.at(i));
        let given = (drive.open_circuit_v * current.conj()).re;
        let inside = current.norm_sqr() * drive.output_impedance_ohm.at(i).re;
        let burnt: f64 = flows.iter().map(|flow| flow.power_w(i)).sum();
        assert!((given - inside - burnt).abs() < 1e-9 * given, "{i}");
        noise_w += weight * (given - inside);
    }
    let stress = stress(&project).unwrap().unwrap();
    let gain = stress
        .loudness
        .open_circuit_v(drive.output_impedance_ohm.at(0))
        / drive.open_circuit_v;
    let expected = gain * gain * noise_w;
    // On one grid strictly; the stress has a finer one where something is largest.
    assert!((stress.noise_power_w - stress.noise_given_w).abs() < 1e-9 * stress.noise_given_w);
    assert!((stress.noise_given_w - expected).abs() < 1e-4 * expected);
}
