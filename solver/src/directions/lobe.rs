//! Where the sum of two ways points at their crossover.

use netlist::project::{Plane, Project};
use netlist::quantity::Quantity;
use serde::Serialize;

use super::sources::Sources;
use crate::grid::Grid;
use crate::nodal::PlanError;

/// The lobe of two ways at their crossover.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lobe {
    /// The lower and the upper driver.
    pub between: [String; 2],
    /// The crossover, Hz.
    pub frequency_hz: f64,
    /// In which plane the drivers are further apart: `vertical` or `horizontal`.
    pub plane: &'static str,
    /// How far they are apart in it, m.
    pub apart_m: f64,
    /// Direction of the loudest sound, degrees above the axis or to its right; within ±60°.
    pub tilt_deg: f64,
    /// The lobe is within 6 dB of its loudest from this angle...
    pub from_deg: f64,
    /// ...to this.
    pub to_deg: f64,
}

/// How far the lobe is looked at, degrees.
const WIDEST_DEG: i32 = 60;
/// What counts as the lobe: half the pressure.
const HALF: f64 = 0.25;

/// A lobe so much below the loudest one counts as loud: half a decibel.
const AS_LOUD: f64 = 0.891;

/// The top of the lobe that is nearest to the middle among the loudest: far apart drivers have many of them.
fn lobe_towards(power: &[f64], middle: usize) -> usize {
    let most = power.iter().copied().fold(0.0, f64::max);
    let loud = (0..power.len()).filter(|&i| power[i] >= AS_LOUD * most);
    let mut top = loud.min_by_key(|i| i.abs_diff(middle)).unwrap_or(middle);
    loop {
        let around = top.saturating_sub(1)..(top + 2).min(power.len());
        let higher = around.max_by(|&a, &b| {
            power[a]
                .total_cmp(&power[b])
                .then(b.abs_diff(middle).cmp(&a.abs_diff(middle)))
        });
        match higher {
            Some(higher) if power[higher] > power[top] => top = higher,
            _ => return top,
        }
    }
}

/// The lobes of all crossovers whose ways are both in the network, lowest first.
pub(super) fn lobes(project: &Project) -> Result<Vec<Lobe>, PlanError> {
    let mut lobes = Vec::new();
    let mut f_hz: Vec<f64> = (project.crossovers.iter())
        .map(|crossover| crossover.frequency.si())
        .collect();
    f_hz.sort_by(f64::total_cmp);
    f_hz.dedup();
    let Ok(grid) = Grid::new(f_hz.clone()) else {
        return Ok(lobes);
    };
    let Some(sources) = Sources::new(project, grid)? else {
        return Ok(lobes);
    };
    let known = sources.known();
    let fed = |name: &String| known.iter().any(|source| source.driver == *name);
    for crossover in &project.crossovers {
        let frequency_hz = crossover.frequency.si();
        let at = f_hz.partition_point(|&f_hz| f_hz < frequency_hz);
        if !crossover.between.iter().all(fed) {
            continue;
        }
        let [lower, upper] =
            [0, 1].map(|i| &project.drivers[crossover.between[i].as_str()].position);
        let up_m = (lower.up.si() - upper.up.si()).abs();
        let right_m = (lower.right.si() - upper.right.si()).abs();
        let (plane, name, apart_m) = if right_m > up_m {
            (Plane::Horizontal, "horizontal", right_m)
        } else {
            (Plane::Vertical, "vertical", up_m)
        };
        let of_both = |driver: &str| crossover.between.iter().any(|name| name == driver);
        let power: Vec<f64> = (-WIDEST_DEG..=WIDEST_DEG)
            .map(|angle| sources.power_of((plane, angle), of_both)[at])
            .collect();
        let middle = WIDEST_DEG as usize;
        let loudest = lobe_towards(&power, middle);
        let within = |i: &usize| power[*i] >= HALF * power[loudest];
        let from = (0..=loudest)
            .rev()
            .take_while(within)
            .last()
            .unwrap_or(loudest);
        let to = (loudest..power.len())
            .take_while(within)
            .last()
            .unwrap_or(loudest);
        let deg = |i: usize| i as f64 - middle as f64;
        lobes.push(Lobe {
            between: crossover.between.clone(),
            frequency_hz,
            plane: name,
            apart_m,
            tilt_deg: deg(loudest),
            from_deg: deg(from),
            to_deg: deg(to),
        });
    }
    Ok(lobes)
}
