//! Variance of the sum to first order in all tolerances, from the nodal sensitivities.
//!
//! With `P = Σ p_w V_w` the sum of all ways, a part value moves its level by
//! `∂L/∂δ = (20/ln 10) · Re(Σ p_w ∂V_w/∂δ / P)` dB for a relative deviation δ, and a driver that is
//! louder by 1 dB moves it by `Re(p_w V_w / P)` dB; where the sum is judged over the listening window, its power there takes
//! the place of |P|². The mean over the band is taken out where it is from
//! the builds. What varies is independent, so that variances add up.

use num_complex::Complex64;

use super::builds::ToleranceBench;
use super::spread::VaryingTarget;
use crate::coil::DCR_EXPONENT;
use crate::nodal::{PlanError, Sensitivities, Solution, Workspace};
use crate::sound::{Coherence, DB_PER_NEPER};

/// Variance of the sum, to first order.
#[derive(Debug, Clone)]
pub(super) struct FirstOrder {
    /// For each varying thing, at each judged frequency: its variance, dB².
    pub(super) variances: Vec<Vec<f64>>,
}

impl FirstOrder {
    /// Standard deviation from all that varies, at each judged frequency; dB.
    pub(super) fn total_db(&self) -> Vec<f64> {
        let points = self.variances.first().map_or(0, Vec::len);
        (0..points)
            .map(|i| self.variances.iter().map(|v| v[i]).sum::<f64>().sqrt())
            .collect()
    }

    /// Variance of each thing, in the mean over the judged frequencies; dB².
    pub(super) fn means(&self) -> Vec<f64> {
        let mean = |v: &Vec<f64>| v.iter().sum::<f64>() / v.len() as f64;
        self.variances.iter().map(mean).collect()
    }
}

/// Works the first-order variances out.
pub(super) fn variances(bench: &ToleranceBench<'_>) -> Result<FirstOrder, PlanError> {
    let grid = &bench.speaker.loudspeaker.grid;
    let mut workspace =
        Workspace::new(&bench.plan, grid, &bench.speaker.loudspeaker.loads_z_ohm())?;
    let mut solution = Solution::new(&bench.plan, &workspace);
    let mut sensitivities = Sensitivities::new(&bench.plan, &workspace, &bench.outputs);
    bench.plan.run_sensitivities(
        &bench.values,
        &bench.drive,
        &mut workspace,
        &mut solution,
        &mut sensitivities,
    );
    let ways = |i: usize| {
        (bench.outputs.iter().zip(&bench.sounds)).map(move |(output, sound)| (*output, sound.at(i)))
    };
    let unit = bench.options.distribution.variance();
    let variances = (bench.varying.iter())
        .map(|varying| {
            let mut slopes: Vec<f64> = (bench.judged.iter())
                .map(|&i| {
                    let sounds: Vec<Complex64> = (ways(i))
                        .map(|(o, p)| p * solution.output_at(o, i))
                        .collect();
                    let window = bench.speaker.window.as_ref();
                    let toward = Coherence::judged_slopes(window, i, &sounds);
                    let moved = match varying.target {
                        VaryingTarget::Driver { driver } => toward[driver] * sounds[driver],
                        VaryingTarget::Part {
                            part, loss_follows, ..
                        } => {
                            // ∂V/∂r of a coil is ∂V/∂L / jω.
                            let loss = if loss_follows {
                                -DCR_EXPONENT * bench.values.loss[part] / grid.omega()[i]
                            } else {
                                0.0
                            };
                            let chain = Complex64::new(bench.values.value[part], loss);
                            let moved: Complex64 = (ways(i).enumerate())
                                .map(|(way, (_, p))| {
                                    toward[way] * p * sensitivities.at(way, part, i)
                                })
                                .sum();
                            DB_PER_NEPER * chain * moved
                        }
                    };
                    let slope = moved.re;
                    // In silence nothing can be said.
                    if slope.is_finite() { slope } else { 0.0 }
                })
                .collect();
            let mean = match bench.own_level() {
                true => slopes.iter().sum::<f64>() / slopes.len() as f64,
                false => 0.0,
            };
            let variance = varying.variance(unit);
            for slope in &mut slopes {
                *slope = variance * (*slope - mean).powi(2);
            }
            slopes
        })
        .collect();
    Ok(FirstOrder { variances })
}
