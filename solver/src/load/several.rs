//! Several of the same driver in one way, as one load.
//!
//! Each has the same impedance and gives the same sound, so that they share voltage or current evenly, and at
//! the listener their sounds add in phase. That holds where he is about as far from all of them; what they do
//! to each other's radiation, and the narrower beam of a group, is left out.

use netlist::project::Wired;

use super::DriverLoad;

/// `count` drivers between one pair of terminals.
///
/// - Parallel: each has the whole voltage. Z/n, and n times the pressure per volt: 6 dB more for two.
/// - Series: each has 1/n of it. Z·n, and the pressure per volt of one.
pub(super) fn together(mut one: DriverLoad, count: u32, wired: Wired) -> DriverLoad {
    if count < 2 {
        return one;
    }
    let n = f64::from(count);
    let (ohms, pressure) = match wired {
        Wired::Parallel => (1.0 / n, n),
        Wired::Series => (n, 1.0),
    };
    for i in 0..one.z_ohm.len() {
        one.z_ohm.set(i, one.z_ohm.at(i) * ohms);
        let p = one.pressure_pa_per_v.at(i) * pressure;
        one.pressure_pa_per_v.set(i, p);
    }
    one.re_ohm *= ohms;
    one
}

#[cfg(test)]
mod tests {
    use std::io;
    use std::path::Path;

    use netlist::project::{Driver, Project, load_from};

    use crate::grid::Grid;
    use crate::load::{Conditions, DriverLoad, driver_load, driver_resonance};
    use crate::loudspeaker::{Curves, Loudspeaker};

    const CONE: &str = "modelled = { re = 5.6, fs = 38, qms = 5, qes = 0.4, vas = \"120 L\", sd = \"520 cm2\", \
        l1 = \"0.6 mH\", box = { volume = \"60 L\", tuning = \"40 Hz\" } }";
    const HORN: &str = "modelled = { re = 6, level = \"107 dB\", horn = { cutoff = \"500 Hz\" }, \
        resonances = [{ r = 15, f = \"800 Hz\", q = 2 }] }";
    const MEASURED: &str = "measured = { impedance = \"z\", response = \"spl\" }";

    fn project(text: &str) -> Project {
        let files = |path: &Path| -> io::Result<Vec<u8>> {
            let table = match path.to_str() {
                Some("z") => "20 8\n30 20\n50 9\n100 7\n300 6\n1000 7\n5000 12\n20000 25\n",
                Some("spl") => "20 70\n30 78\n50 84\n100 88\n300 90\n1000 90\n5000 86\n20000 60\n",
                _ => text,
            };
            Ok(table.as_bytes().to_vec())
        };
        load_from(&files, Path::new("p.toml"))
            .unwrap_or_else(|problems| panic!("{problems}"))
            .project
    }

    fn driver(source: &str, more: &str) -> Driver {
        let mut project = project(&format!("[drivers.d]\n{source}\n{more}\n"));
        project.drivers.swap_remove("d").unwrap()
    }

    fn grid() -> Grid {
        Grid::log_spaced(25.0, 15e3, 60).unwrap()
    }

    fn load(source: &str, more: &str, coil_rise_k: f64) -> DriverLoad {
        let conditions = Conditions {
            coil_rise_k,
            ..Conditions::default()
        };
        driver_load(&driver(source, more), &grid(), &conditions)
    }

    /// Impedance and pressure of several against those of one, by kind of driver and warmth of the coil: two in
    /// parallel are 20·log10(2) = 6.02 dB louder for one voltage, two in series no louder.
    #[test]
    fn impedance_and_level_by_number_and_wiring() {
        for source in [CONE, HORN, MEASURED] {
            for rise_k in [0.0, 80.0] {
                let one = load(source, "", rise_k);
                for (more, ohms, db) in [
                    ("count = 1", 1.0, 0.0),
                    ("count = 2", 0.5, 6.020_6),
                    ("count = 2\nwired = \"parallel\"", 0.5, 6.020_6),
                    ("count = 2\nwired = \"series\"", 2.0, 0.0),
                    ("count = 4", 0.25, 12.041_2),
                    ("count = 3\nwired = \"series\"", 3.0, 0.0),
                ] {
                    let all = load(source, more, rise_k);
                    assert!((all.re_ohm / one.re_ohm - ohms).abs() < 1e-12);
                    assert_eq!(all.notes, one.notes);
                    for i in 0..grid().len() {
                        let z = all.z_ohm.at(i) / one.z_ohm.at(i);
                        assert!((z - ohms).norm() < 1e-12, "{more}: {z}");
                        let p = all.pressure_pa_per_v.at(i) / one.pressure_pa_per_v.at(i);
                        let gained = 20.0 * p.norm().log10();
                        assert!((gained - db).abs() < 1e-4, "{more}: {gained}");
                        assert!(p.arg().abs() < 1e-12, "{more}: {p}");
                    }
                }
            }
        }
    }

    #[test]
    fn several_resonate_where_one_does() {
        for source in [CONE, HORN, MEASURED] {
            let [one, two] = ["", "count = 2\nwired = \"series\""]
                .map(|more| driver_resonance(&driver(source, more)).unwrap().0);
            assert!((two / one - 1.0).abs() < 1e-9, "{one} {two}");
        }
    }

    fn curves(drivers: &str, parts: &str) -> Curves {
        let text = format!(
            "amplifier = {{ output_impedance = \"1.5 ohm\" }}\n{drivers}\n[parts]\n\
             L1 = {{ inductor = \"1.2 mH\", between = [\"in\", \"a\"], dcr = \"0.3 ohm\" }}\n{parts}"
        );
        let system = Loudspeaker::new(&project(&text), grid()).unwrap().unwrap();
        system.curves().unwrap()
    }

    /// The same drivers as parts of their own, each in the network: the same load and the same sound.
    #[test]
    fn several_are_what_the_network_makes_of_each() {
        let part = |name: &str, driver: &str, between: &str| {
            format!("{name} = {{ driver = \"{driver}\", between = [{between}] }}\n")
        };
        let each = format!("[drivers.x]\n{CONE}\n[drivers.y]\n{CONE}");
        for (wired, x, y) in [
            ("parallel", "\"a\", \"gnd\"", "\"a\", \"gnd\""),
            ("series", "\"a\", \"b\"", "\"b\", \"gnd\""),
        ] {
            let one = format!("[drivers.x]\n{CONE}\ncount = 2\nwired = \"{wired}\"");
            let together = curves(&one, &part("X", "x", "\"a\", \"gnd\""));
            let apart = curves(&each, &(part("X", "x", x) + &part("Y", "y", y)));
            for i in 0..grid().len() {
                let sound = together.system.at(i) / apart.system.at(i);
                assert!((sound - 1.0).norm() < 1e-9, "{wired}: {sound}");
                let load = together.load[i].unwrap() / apart.load[i].unwrap();
                assert!((load - 1.0).norm() < 1e-9, "{wired}: {load}");
            }
        }
    }
}
