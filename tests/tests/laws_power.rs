//! Power: what the amplifier gives is what parts and drivers burn, in every network.

use proptest::prelude::*;
use solver::grid::Grid;
use solver::nodal::{Drive, Plan, Solution, Values, Workspace};
use solver::spectrum::Spectrum;
use tests::random_network::{Recipe, random_network};

/// Greatest difference between power given and power burnt, relative to what is given or, where a
/// network takes hardly any real power, to the apparent power; with the parts that were in it.
fn imbalance(seed: u64, recipe: Recipe, output_impedance_ohm: f64) -> f64 {
    let grid = Grid::log_spaced(20.0, 20_000.0, 67).unwrap();
    let random = random_network(seed, recipe, &grid);
    let plan = Plan::compile(&random.network).unwrap();
    let values = Values::of(&random.network);
    let loads: Vec<&Spectrum> = random.loads.iter().collect();
    let drive = Drive {
        open_circuit_v: 12.65,
        output_impedance_ohm,
    };
    let mut workspace = Workspace::new(&plan, &grid, &loads).unwrap();
    let mut solution = Solution::new(&plan, &workspace);
    plan.run(&values, drive, &mut workspace, &mut solution);
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
            let z_ohm = solution.input_impedance_at(i).unwrap();
            let current = drive.open_circuit_v / (z_ohm + output_impedance_ohm);
            let given = (drive.open_circuit_v * current.conj()).re;
            let inside = current.norm_sqr() * output_impedance_ohm;
            let apparent = drive.open_circuit_v * current.norm();
            (given - inside - burnt).abs() / given.max(1e-3 * apparent)
        })
        .fold(0.0, f64::max)
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
