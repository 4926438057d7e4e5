//! Phases that were worked out from a table's level: what they are off where the table ends early, and the doubt that is
//! told.

use netlist::project::{Driver, Source};
use num_complex::Complex64;
use solver::grid::Grid;
use solver::load::Curve;

use super::load_measured::{demo, driver_load, exported, level_db, reconstructed_deg, spaced};

/// Phase error in degrees, impedance then response, of a model that is read back from a table without phase over
/// the given band, and the doubt that is told.
fn errors_deg(model: &Driver, from_hz: f64, to_hz: f64, at_hz: f64) -> [(f64, f64); 2] {
    let f_hz = spaced(from_hz, to_hz, (48.0 * (to_hz / from_hz).log2()) as usize);
    let written = exported(model, &f_hz, false);
    let grid = Grid::new(vec![at_hz]).unwrap();
    let (right, found) = (
        driver_load(model, &grid, 0.0),
        driver_load(&written, &grid, 0.0),
    );
    let Source::Measured(tables) = &written.source else {
        unreachable!()
    };
    let off = |a: Complex64, b: Complex64| (a / b).arg().to_degrees().abs();
    let doubt = |curve| {
        let table = match curve {
            Curve::Impedance => &tables.impedance,
            Curve::Response => &tables.response,
        };
        let doubt = solver::load::phase_doubt(table, curve, &[at_hz]);
        doubt.unwrap().most_deg
    };
    [
        (
            off(found.z_ohm.at(0), right.z_ohm.at(0)),
            doubt(Curve::Impedance),
        ),
        (
            off(found.pressure_pa_per_v.at(0), right.pressure_pa_per_v.at(0)),
            doubt(Curve::Response),
        ),
    ]
}

/// A table that begins on the flank of an impedance peak or at its top: with a slope that is held for ever the phase
/// at its end is 52° to 74° off, since |Z| comes back to the coil's resistance below the peak.
#[test]
fn an_impedance_table_that_begins_at_a_peak() {
    let project = demo("data-sheet.toml");
    for (name, from_hz, at_end, half_octave_inside) in [
        ("mid", 400.0, 25.0, 12.0),
        ("high", 2000.0, 15.0, 5.0),
        ("high", 3000.0, 20.0, 10.0),
    ] {
        let model = &project.drivers[name];
        let errors = [1.0, 1.4].map(|ratio| errors_deg(model, from_hz, 20e3, from_hz * ratio)[0]);
        assert!(errors[0].0 < at_end, "{name} from {from_hz}: {errors:?}");
        assert!(
            errors[1].0 < half_octave_inside,
            "{name} from {from_hz}: {errors:?}"
        );
    }
}

/// A response that ends within the knee of a Butterworth low pass: with a slope that is held for ever the phase at
/// its end is up to 25° off. The closed form is 1/(1 − x² + j√2·x).
#[test]
fn a_response_table_that_ends_in_the_knee_of_a_low_pass() {
    let f_hz = spaced(20.0, 20_000.0, 481);
    for corner_hz in [9e3, 14e3, 20e3, 28e3] {
        let low_pass = |f: f64| {
            let x = f / corner_hz;
            Complex64::new(1.0 - x * x, 2f64.sqrt() * x).inv()
        };
        let levels = f_hz.iter().map(|f| level_db(low_pass(*f))).collect();
        let at = [2e3, 10e3, 20e3];
        for (found, f) in reconstructed_deg(&f_hz, levels, &at).iter().zip(at) {
            let exact = low_pass(f).arg().to_degrees();
            assert!(
                (found - exact).abs() < 7.0,
                "{corner_hz} {f}: {found} {exact}"
            );
        }
    }
}

/// What is told of the doubt is at least what the phase is off by, over horns and cones cut off at many places; and it
/// is not told where the table goes far enough.
#[test]
fn the_doubt_about_a_phase_covers_its_error() {
    let project = demo("data-sheet.toml");
    let mut covered = 0;
    let mut tried = 0;
    for (name, from_to) in [
        (
            "mid",
            [
                (250.0, 20e3),
                (400.0, 20e3),
                (500.0, 8e3),
                (700.0, 4e3),
                (100.0, 12e3),
            ],
        ),
        (
            "high",
            [
                (900.0, 16e3),
                (1500.0, 20e3),
                (2000.0, 20e3),
                (3000.0, 12e3),
                (400.0, 20e3),
            ],
        ),
        (
            "low",
            [
                (60.0, 4e3),
                (90.0, 8e3),
                (120.0, 20e3),
                (15.0, 2e3),
                (20.0, 1e3),
            ],
        ),
    ] {
        for (from_hz, to_hz) in from_to {
            for at_hz in [1.0, 1.4, 2.0]
                .iter()
                .flat_map(|r| [from_hz * r, to_hz / r])
            {
                for (error, doubt) in errors_deg(&project.drivers[name], from_hz, to_hz, at_hz) {
                    tried += 1;
                    if error < doubt + 5.0 {
                        covered += 1;
                    } else {
                        assert!(
                            error < 3.0 * doubt + 15.0,
                            "{name} {from_hz} {to_hz} {at_hz}: {error} {doubt}"
                        );
                    }
                }
            }
        }
    }
    assert!(20 * covered > 18 * tried, "{covered} of {tried}");
    // Where the table goes three octaves further there is next to none.
    let [z, p] = errors_deg(&project.drivers["mid"], 20.0, 80e3, 650.0);
    assert!(z.1 < 5.0 && p.1 < 10.0, "{z:?} {p:?}");
}
