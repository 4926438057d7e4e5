//! What to measure before the first switch-on: a few frequencies and direct current, with the band that
//! tolerance allows.

use netlist::project::Project;
use rayon::prelude::*;
use serde::Serialize;

use super::BuiltOptions;
use super::assembly::Assembly;
use super::bench::{Bench, SweepGrid, Target};
use super::hypothesis::{BuiltChange, all_single};
use super::screen::Screen;
use crate::grid::Grid;
use crate::judge::check::direct_ohm;
use crate::load::{Conditions, driver_load};
use crate::nodal::PlanError;
use crate::wiring::lead_ohm;

/// What a meter should show at one frequency.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// Frequency, Hz; 0 for direct current.
    pub frequency_hz: f64,
    /// As drawn, ohm; `None` where nothing flows.
    pub ohm: Option<f64>,
    /// Least that tolerance allows, ohm.
    pub least_ohm: Option<f64>,
    /// Most that tolerance allows, ohm.
    pub most_ohm: Option<f64>,
}

/// What to expect, and how many mistakes show in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expectation {
    /// Direct current first, then rising.
    pub readings: Vec<Expected>,
    /// Mistakes (open, bridged, exchanged, ten times or a tenth of the value) that leave a band.
    pub seen: usize,
    /// Of so many.
    pub mistakes: usize,
    /// Parts of which no mistake leaves a band.
    pub unseen_parts: Vec<String>,
}

/// Frequencies that a generator is set to: third octaves after IEC 61260-1, rounded as printed there.
const NOMINAL_HZ: [f64; 21] = [
    50.0, 80.0, 100.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1600.0,
    2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10_000.0,
];
/// So many of them are asked for.
const READINGS: usize = 5;
/// Deviations on either side: 95 of 100 builds.
const DEVIATIONS: f64 = 1.96;
/// A meter's own error, a share.
const METER: f64 = 0.02;

/// What a meter should show of a design; `None` for a brief.
///
/// # Errors
/// If the network cannot be solved.
pub fn expect(project: &Project, options: &BuiltOptions) -> Result<Option<Expectation>, PlanError> {
    let Some(network) = &project.network else {
        return Ok(None);
    };
    let options = BuiltOptions {
        // A meter is zeroed with its leads.
        leads_ohm: Some(options.leads_ohm.unwrap_or(0.0)),
    };
    let bench = Bench::new(project, network, &[], &options)?;
    let grid = Grid::new(NOMINAL_HZ.to_vec()).expect("they rise");
    let set = SweepGrid::empty(&bench, grid);
    let (none, sigma) = (vec![0.0; bench.drift.len()], bench.sigmas());
    let drawn = Assembly::new(&bench, &[])?;
    let Some(curve) = drawn.curve(&bench, &set, &none, &sigma) else {
        return Ok(None);
    };
    let size = sigma.len();
    let band: Vec<f64> = (curve.slopes.chunks_exact(size))
        .map(|row| {
            let squares = row.iter().zip(&bench.drift).map(|(slope, drift)| {
                let own = !matches!(drift.target, Target::Scale | Target::Leads);
                if own { slope.re * slope.re } else { 0.0 }
            });
            (squares.sum::<f64>() + METER * METER).sqrt() * DEVIATIONS
        })
        .collect();
    let changes = plain_mistakes(&bench);
    let screen = Screen::new(&bench, vec![set])?;
    let leaves: Vec<Vec<bool>> = (changes.par_iter())
        .map(|change| match screen.curves(&[*change]) {
            Some(curves) => (curves[0].ln_z.iter().zip(&curve.ln_z).zip(&band))
                .map(|((found, drawn), band)| (found.re - drawn.re).abs() > *band)
                .collect(),
            None => vec![false; NOMINAL_HZ.len()],
        })
        .collect();
    let chosen = choose(&leaves);
    let mut readings = vec![direct(project, &bench)?];
    readings.extend(chosen.iter().map(|&i| {
        let ohm = curve.ln_z[i].re.exp();
        Expected {
            frequency_hz: NOMINAL_HZ[i],
            ohm: Some(ohm),
            least_ohm: Some(ohm * (-band[i]).exp()),
            most_ohm: Some(ohm * band[i].exp()),
        }
    }));
    let shows = |leaves: &Vec<bool>| chosen.iter().any(|&i| leaves[i]);
    let unseen_parts = (bench.network.parts().keys().enumerate())
        .filter(|(part, _)| {
            let mut own = changes
                .iter()
                .zip(&leaves)
                .filter(|(change, _)| change.parts().contains(part));
            own.clone().next().is_some() && own.all(|(_, leaves)| !shows(leaves))
        })
        .map(|(_, name)| name.clone())
        .collect();
    Ok(Some(Expectation {
        readings,
        seen: leaves.iter().filter(|leaves| shows(leaves)).count(),
        mistakes: changes.len(),
        unseen_parts,
    }))
}

/// Mistakes that a meter is to show: opened, bridged, exchanged, ten times or a tenth of the value.
fn plain_mistakes(bench: &Bench) -> Vec<BuiltChange> {
    let plain = all_single(&bench.network).into_iter().filter(|change| {
        matches!(
            change,
            BuiltChange::Open(_) | BuiltChange::Short(_) | BuiltChange::Exchange(..)
        )
    });
    let values = (bench.network.parts().values().enumerate()).filter_map(|(part, found)| {
        let value = found.value_si()?;
        Some([
            BuiltChange::Value(part, 10.0 * value),
            BuiltChange::Value(part, 0.1 * value),
        ])
    });
    plain.chain(values.flatten()).collect()
}

/// The frequencies at which together most mistakes show, one after the other; rising.
fn choose(leaves: &[Vec<bool>]) -> Vec<usize> {
    let mut chosen: Vec<usize> = Vec::new();
    while chosen.len() < READINGS {
        let gain = |i: usize| {
            let news = leaves
                .iter()
                .filter(|leaves| leaves[i] && !chosen.iter().any(|&k| leaves[k]));
            // Of equals the one that shows more in all, then the one further from those chosen.
            let all = leaves.iter().filter(|leaves| leaves[i]).count();
            let apart = chosen.iter().map(|&k| k.abs_diff(i)).min().unwrap_or(0);
            (news.count(), apart, all)
        };
        let open = (0..NOMINAL_HZ.len()).filter(|i| !chosen.contains(i));
        let Some(best) = open.max_by_key(|&i| (gain(i), std::cmp::Reverse(i))) else {
            break;
        };
        chosen.push(best);
    }
    chosen.sort_unstable();
    chosen
}

/// What direct current sees: voice coils and wire, with the tolerance of both.
fn direct(project: &Project, bench: &Bench) -> Result<Expected, PlanError> {
    let coils: Vec<f64> = (bench.plan.drivers().iter())
        .map(|name| {
            let driver = &project.drivers[name.as_str()];
            let load = driver_load(driver, &Grid::audio_band(), &Conditions::default());
            load.re_ohm + lead_ohm(project, name)
        })
        .collect();
    // With every resistance at its least and at its most.
    let at = |values: f64, wire: f64, coil: f64| -> Result<Option<f64>, PlanError> {
        let mut changed = bench.values.clone();
        for (part, found) in bench.network.parts().values().enumerate() {
            use netlist::network::PartKind;
            match found.kind {
                PartKind::Resistor { .. } => {
                    changed.value[part] *= 1.0 + values * bench.tolerance[part];
                }
                _ => changed.loss[part] *= 1.0 + wire,
            }
        }
        let coils = coils.iter().map(|ohm| ohm * (1.0 + coil));
        direct_ohm(&bench.plan, &changed, coils)
    };
    // A coil's wire and a voice coil with their limits (judgement), and the meter.
    const WIRE: f64 = 0.15;
    const COIL: f64 = 0.07;
    Ok(Expected {
        frequency_hz: 0.0,
        ohm: at(0.0, 0.0, 0.0)?,
        least_ohm: at(-1.0, -WIRE, -COIL)?.map(|ohm| ohm * (1.0 - METER)),
        most_ohm: at(1.0, WIRE, COIL)?.map(|ohm| ohm * (1.0 + METER)),
    })
}
