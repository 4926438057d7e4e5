//! A driver is one driver: what is known of it is the same to whoever asks.

use netlist::project::Source;
use netlist::quantity::Quantity;
use solver::grid::Grid;
use solver::load::{Conditions, driver_resonance, is_delicate};
use solver::loudspeaker::LoudspeakerDriver;
use solver::pad::PadLoad;
use solver::search::Job;
use tests::snapping::plain;

/// The search, the judgement and the pad find the same resonance, to the last bit, whatever grid they work on.
#[test]
fn the_resonance_is_worked_out_in_one_way() {
    for name in [
        "brief.toml",
        "two-way.toml",
        "data-sheet.toml",
        "network.toml",
    ] {
        let project = plain(name);
        let job = Job::new(&project).unwrap();
        let grid = Grid::log_spaced(20.0, 20_000.0, 77).unwrap();
        for (way, driver) in job.ways.iter().zip(project.drivers.values()) {
            let known = driver_resonance(driver).map(Quantity::si);
            assert!(known.is_some(), "{name}: {}", way.name);
            let judged = LoudspeakerDriver::new(&project, &way.name, &grid, &Conditions::default());
            let padded = PadLoad::driver(&project, &way.name, None).unwrap();
            assert_eq!(way.resonance_hz, known, "{name}: {}", way.name);
            assert_eq!(judged.resonance_hz, known, "{name}: {}", way.name);
            assert_eq!(padded.resonance_hz, known, "{name}: {}", way.name);
            assert_eq!(way.delicate, is_delicate(driver), "{name}: {}", way.name);
            assert_eq!(judged.delicate, way.delicate, "{name}: {}", way.name);
        }
    }
}

/// A compression driver is delicate however low it resonates, and any driver that is made for high
/// frequencies; what is stated goes before what is found.
#[test]
fn delicate_is_what_is_made_for_a_short_travel() {
    let project = plain("data-sheet.toml");
    for driver in project.drivers.values() {
        let mut driver = driver.clone();
        let compression = matches!(driver.source, Source::Compression(_));
        for (resonance_hz, delicate) in [(100.0, compression), (299.0, compression), (300.0, true)]
        {
            driver.resonance = Some(netlist::quantity::Hertz(resonance_hz));
            assert_eq!(
                driver_resonance(&driver).map(Quantity::si),
                Some(resonance_hz)
            );
            assert_eq!(is_delicate(&driver), delicate, "{resonance_hz} Hz");
        }
    }
}
