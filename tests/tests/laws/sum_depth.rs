//! Depth fitted to a measured sum, through noise.

use netlist::project::Project;
use netlist::quantity::Quantity;
use netlist::table::Table;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use solver::grid::Grid;
use solver::judge::sum_depth::{SumDepth, SumDepthError, sum_depth};
use solver::loudspeaker::Loudspeaker;
use solver::sound::level_db_series;
use tests::random_loudspeaker::random_loudspeaker;

fn normal(rng: &mut impl Rng) -> f64 {
    let (a, b): (f64, f64) = (rng.random_range(1e-12..1.0), rng.random_range(0.0..1.0));
    (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

/// The sum of some ways as it would be measured, 24 rows to an octave with 0.1 dB of noise.
fn measured(project: &Project, ways: &[&str], rng: &mut impl Rng) -> Table {
    let grid = Grid::log_spaced(20.0, 20_000.0, 240).unwrap();
    let system = Loudspeaker::new(project, grid.clone()).unwrap().unwrap();
    let curves = system.curves().unwrap();
    let played = curves
        .ways
        .iter()
        .filter(|(name, _)| ways.contains(&name.as_str()));
    let sum = solver::sound::sum(played.map(|(_, sound)| sound));
    Table {
        file: "sum.txt".to_owned(),
        f_hz: grid.f_hz().to_vec(),
        magnitude: (level_db_series(&sum).iter())
            .map(|db| db + 7.0 + 0.1 * normal(rng))
            .collect(),
        phase_deg: None,
        zero_hz_left_out: false,
    }
}

/// The two lowest ways of a loudspeaker, the upper one farther back than the file says.
fn case(seed: u64) -> (f64, Result<SumDepth, SumDepthError>, f64) {
    let project = random_loudspeaker(seed);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let [low, mid] = project.crossovers[0].between.clone();
    let mut built = project.clone();
    // Within a sixth of a wavelength to each side nothing else is alike.
    let f_hz = project.crossovers[0].frequency.si();
    let reach_mm = (344_000.0 / f_hz / 6.0).min(80.0);
    let farther_mm = rng.random_range(-reach_mm..reach_mm);
    built.drivers[mid.as_str()].position.back.0 += farther_mm / 1000.0;
    let table = measured(&built, &[&low, &mid], &mut rng);
    let found = sum_depth(&project, &[low, mid], &table);
    (farther_mm, found, f_hz)
}

#[test]
fn the_depth_of_a_made_sum_is_found_within_3_mm() {
    let mut told = 0;
    for seed in 0..30 {
        let (farther_mm, found, _) = case(seed);
        let found = found.unwrap();
        let crossover = &found.crossovers[0];
        // Where two ways hardly meet the sum holds little of depth, and says so.
        let within_mm = (5.0 * crossover.sigma_mm).max(3.0);
        told += usize::from(crossover.sigma_mm <= 0.75);
        let off = |mm: f64| (mm - farther_mm).abs();
        let right = off(crossover.farther_mm) < within_mm && !crossover.reversed;
        let alike = crossover.or_mm.is_some_and(|mm| off(mm) < within_mm);
        assert!(
            right || alike,
            "{seed}: {farther_mm:.1} mm, found {crossover:?}, rms {:.3}",
            found.rms_db
        );
        assert!(found.rms_db < 0.15, "{seed}: {}", found.rms_db);
    }
    assert!(told >= 10, "{told} of 30");
}

#[test]
fn a_driver_with_its_wires_swapped_is_told() {
    let mut told = 0;
    for seed in 0..12 {
        let project = random_loudspeaker(seed);
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let mut built = project.clone();
        let upper = project.crossovers[0].between[1].clone();
        built.network.as_mut().unwrap().swap_wires(&upper);
        let [low, mid] = project.crossovers[0].between.clone();
        let table = measured(&built, &[&low, &mid], &mut rng);
        let found = sum_depth(&project, &[low, mid], &table).unwrap();
        let crossover = &found.crossovers[0];
        if crossover.sigma_mm < 1.0 && crossover.or_mm.is_none() {
            assert!(
                crossover.reversed && crossover.farther_mm.abs() < 3.0,
                "{seed}: {crossover:?}"
            );
            told += 1;
        }
    }
    assert!(told >= 6, "{told} of 12");
}

#[test]
fn what_cannot_be_fitted_is_refused() {
    let project = random_loudspeaker(3);
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let [low, mid] = project.crossovers[0].between.clone();
    let table = measured(&project, &[&low, &mid], &mut rng);
    let refused = |ways: &[&str]| {
        let ways: Vec<String> = ways.iter().map(ToString::to_string).collect();
        sum_depth(&project, &ways, &table).unwrap_err().to_string()
    };
    assert!(refused(&["nobody"]).contains("there is no way 'nobody'"));
    assert!(refused(&[low.as_str()]).contains("name two or more neighbours"));
    let mut far = table.clone();
    far.f_hz.iter_mut().for_each(|f| *f *= 1e4);
    let names = [low, mid];
    let error = sum_depth(&project, &names, &far).unwrap_err();
    assert!(matches!(error, SumDepthError::TooFewRows { rows: 0, .. }));
    let mut brief = project.clone();
    brief.network = None;
    assert_eq!(
        sum_depth(&brief, &names, &table),
        Err(SumDepthError::NoNetwork)
    );
}
