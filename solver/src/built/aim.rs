//! A measured sum against the aim, and the steps of the pads that bring it nearest.

use netlist::network::Network;
use netlist::project::Project;

use super::combination::{Combination, Drawn, PadStep, SumHeard};
use crate::pad::find_pad;

/// Steps of a pad either way, dB.
const STEPS_DB: [f64; 7] = [0.0, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0];
/// A step that brings less is not made, dB rms.
const WORTH_DB: f64 = 0.05;
const MOST_STEPS: usize = 16;
/// Ways whose steps are tried in all combinations; of more ways one after the other.
const MOST_TOGETHER: usize = 5;

/// The measured sum against the aim, and the steps that bring it nearest.
pub(super) fn against_aim(
    project: &Project,
    network: &Network,
    drawn: &Drawn,
    best: &Combination,
) -> SumHeard {
    let f_hz = drawn.grid.f_hz();
    let tilt_db = |f_hz: f64| project.aim.tilt_db(f_hz);
    let now = off_aim(drawn, &drawn.at, tilt_db);
    let far = (0..now.len()).max_by(|&a, &b| now[a].abs().total_cmp(&now[b].abs()));
    let far = far.unwrap_or(0);
    let after = nearest(drawn, best, &pads(network), tilt_db);
    let drivers = network.driver_names();
    SumHeard {
        from_hz: f_hz[0],
        to_hz: f_hz[f_hz.len() - 1],
        rms_db: rms(&now),
        max_db: now[far],
        max_at_hz: f_hz[far],
        after_rms_db: after.0,
        steps: (drivers
            .zip(after.1)
            .filter(|(_, step)| *step != 0.0)
            .take(MOST_STEPS))
        .map(|(driver, step_db)| PadStep {
            driver: driver.to_owned(),
            step_db,
        })
        .collect(),
    }
}

/// Levels against the aim, its own level out, dB.
fn off_aim(drawn: &Drawn, levels_db: &[f64], tilt_db: impl Fn(f64) -> f64) -> Vec<f64> {
    let aimed: Vec<f64> = (levels_db.iter().zip(drawn.grid.f_hz()))
        .map(|(level, f_hz)| level - tilt_db(*f_hz))
        .collect();
    let mean = aimed.iter().sum::<f64>() / aimed.len() as f64;
    aimed.iter().map(|level| level - mean).collect()
}

fn rms(off: &[f64]) -> f64 {
    (off.iter().map(|db| db * db).sum::<f64>() / off.len() as f64).sqrt()
}

/// The steps of the padded ways that bring the sum nearest to the aim, and its deviation then, dB rms.
fn nearest(
    drawn: &Drawn,
    best: &Combination,
    padded: &[bool],
    tilt_db: impl Fn(f64) -> f64,
) -> (f64, Vec<f64>) {
    let none = vec![0.0; drawn.ways.len()];
    let fitted = best.level_db(drawn, &none);
    let off = |steps: &[f64]| {
        let moved = best.level_db(drawn, steps);
        let levels: Vec<f64> = (0..drawn.at.len())
            .map(|i| drawn.at[i] + moved[i] - fitted[i])
            .collect();
        rms(&off_aim(drawn, &levels, &tilt_db))
    };
    let mut after = (rms(&off_aim(drawn, &drawn.at, &tilt_db)), none.clone());
    let keep = |after: &mut (f64, Vec<f64>), steps: Vec<f64>| {
        let found = off(&steps);
        let gains = found < after.0 - WORTH_DB;
        if gains {
            *after = (found, steps);
        }
        gains
    };
    let padded: Vec<usize> = (0..padded.len()).filter(|&way| padded[way]).collect();
    if padded.len() <= MOST_TOGETHER {
        for number in 0..STEPS_DB.len().pow(padded.len() as u32) {
            let (mut rest, mut steps) = (number, none.clone());
            for &way in &padded {
                steps[way] = STEPS_DB[rest % STEPS_DB.len()];
                rest /= STEPS_DB.len();
            }
            keep(&mut after, steps);
        }
        return after;
    }
    loop {
        let mut gains = false;
        for &way in &padded {
            let tries = STEPS_DB.map(|step_db| {
                let mut steps = after.1.clone();
                steps[way] = step_db;
                steps
            });
            let best = (tries.into_iter()).min_by(|a, b| off(a).total_cmp(&off(b)));
            gains |= best.is_some_and(|steps| keep(&mut after, steps));
        }
        if !gains {
            return after;
        }
    }
}

/// Whether each driver has a pad, wherever it stands in its way.
fn pads(network: &Network) -> Vec<bool> {
    let has_pad = |driver| find_pad(network, driver).is_some_and(|found| found.pad.is_some());
    network.driver_names().map(has_pad).collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use netlist::project::load_from;

    use super::*;
    use crate::grid::Grid;
    use crate::spectrum::Spectrum;

    fn network(parts: &str) -> Network {
        let text = format!(
            "[drivers.low]\nmodelled = {{ re = 6, level = 90, horn = {{ cutoff = 300 }} }}\n[parts]\n{parts}\n\
             LOW = {{ driver = \"low\", between = [\"d\", \"gnd\"] }}\n"
        );
        let read = |_: &Path| Ok(text.as_bytes().to_vec());
        let loaded = load_from(&read, Path::new("p.toml"));
        let loaded = loaded.unwrap_or_else(|problems| panic!("{problems}"));
        loaded.project.network.unwrap()
    }

    const COIL: &str = "L1 = { inductor = \"1 mH\", between = [\"in\", \"d\"] }\n";

    #[test]
    fn steps_are_for_ways_with_a_pad() {
        let correction = "R1 = { resistor = 6, between = [\"d\", \"z\"] }\n\
                          C1 = { capacitor = \"10 uF\", between = [\"z\", \"gnd\"] }";
        assert_eq!(pads(&network(&format!("{COIL}{correction}"))), [false]);
        let before_the_filter = "R1 = { resistor = 3, between = [\"in\", \"a\"] }\n\
                                 R2 = { resistor = 8, between = [\"a\", \"gnd\"] }\n\
                                 L1 = { inductor = \"1 mH\", between = [\"a\", \"d\"] }";
        assert_eq!(pads(&network(before_the_filter)), [true]);
        let at_the_driver = "L1 = { inductor = \"1 mH\", between = [\"in\", \"a\"] }\n\
                             R1 = { resistor = 3, between = [\"a\", \"d\"] }";
        assert_eq!(pads(&network(at_the_driver)), [true]);
    }

    /// More ways than whose steps could all be tried together.
    #[test]
    fn steps_of_many_ways_are_found_one_at_a_time() {
        let ways = 24;
        let grid = Grid::log_spaced(100.0, 10_000.0, ways).unwrap();
        let own = |way: usize| Spectrum::from_fn(ways, |i| f64::from(u8::from(i == way)).into());
        let wanted = |way: usize| if way % 5 == 2 { 3.0 } else { 0.0 };
        let drawn = Drawn {
            grid,
            ways: (0..ways).map(own).collect(),
            at: (0..ways).map(|way| 80.0 - wanted(way)).collect(),
        };
        let mut best = Combination::none(ways);
        best.levels_db = (0..ways).map(|way| -wanted(way)).collect();
        let (rms_db, steps) = nearest(&drawn, &best, &vec![true; ways], |f_hz| 0.0 * f_hz);
        let expected: Vec<f64> = (0..ways).map(wanted).collect();
        assert!(rms_db < 1e-9 && steps == expected, "{rms_db} {steps:?}");
    }
}
