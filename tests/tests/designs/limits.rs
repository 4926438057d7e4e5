//! What stands at the edge of a brief: a band that is hardly one, resistors that burn.

use netlist::project::Project;
use netlist::quantity::{Hertz, Watts};
use solver::judge::StressedKind;
use solver::judge::stress;
use solver::search::grow::{PART_WORTH, Problem};
use solver::search::{Job, choose_alignments};
use tests::snapping::plain;

/// The level of a way is that of its driver, however little of its band is in the aim.
#[test]
fn a_narrow_band_has_a_level() {
    let mut brief = plain("brief.toml");
    let level_db = |brief: &Project, way: usize| Job::new(brief).unwrap().ways[way].level_db;
    let whole = level_db(&brief, 0);
    for from_hz in [350.0, 500.0, 600.0, 640.0, 649.0] {
        brief.aim.from = Hertz(from_hz);
        let narrow = level_db(&brief, 0);
        assert!((narrow - whole).abs() < 4.0, "{from_hz}: {narrow} {whole}");
    }
    brief.aim.from = Hertz(60.0);
    let whole = level_db(&brief, 2);
    for to_hz in [8000.0, 6600.0] {
        brief.aim.to = Hertz(to_hz);
        let narrow = level_db(&brief, 2);
        assert!((narrow - whole).abs() < 4.0, "{to_hz}: {narrow} {whole}");
    }
}

/// What the search adds for hot resistors, from the powers that `check` finds: what two parts are worth for every
/// doubling beyond the rating.
#[test]
fn hot_resistors_count_as_check_finds_them() {
    let mut project = plain("network.toml");
    let mut before = 0.0;
    for rated_w in [200.0, 20.0, 5.0, 1.0, 0.25] {
        let resistors = project.stock.resistors.as_mut().unwrap();
        resistors.power = Some(Watts(rated_w));
        let job = Job::new(&project).unwrap();
        let targets = job.targets(&choose_alignments(&job));
        let problem = Problem::whole(&job, &targets);
        let network = project.network.as_ref().unwrap();
        let rated = problem.rate(network, job.loudest_db()).unwrap();
        let found = stress(&project).unwrap().unwrap();
        let expected: f64 = (found.parts.iter())
            .filter(|part| part.kind == StressedKind::Resistor)
            .map(|part| 2.0 * PART_WORTH * (part.noise.power_w / rated_w).log2().max(0.0))
            .sum();
        // The search hears the band of the aim only, on a coarser grid.
        let off = (rated.heat - expected).abs();
        assert!(off < 0.02 + 0.03 * expected, "{} {expected}", rated.heat);
        assert!(rated.heat >= before);
        before = rated.heat;
    }
    assert!(before > 2.0, "{before}");
}

/// Where nobody says how much power there is, none of it is held against a resistor.
#[test]
fn without_a_stated_power_nothing_burns() {
    let mut project = plain("network.toml");
    project.amplifier.rated_power = None;
    project.stock.resistors.as_mut().unwrap().power = Some(Watts(0.01));
    let job = Job::new(&project).unwrap();
    let targets = job.targets(&choose_alignments(&job));
    let network = project.network.as_ref().unwrap();
    let rated = Problem::whole(&job, &targets).rate(network, job.loudest_db());
    assert!(rated.unwrap().heat.abs() < 1e-12);
}
