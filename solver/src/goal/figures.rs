//! The figures of merit that are shown.

use super::target::Targets;
use crate::spectrum::Spectrum;

/// How a loudspeaker does.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Level of the aim: asked for, or the one of least rms deviation; dB SPL.
    pub level_db: f64,
    /// Rms deviation of the sum from the aim, dB.
    pub rms_db: f64,
    /// Largest deviation of the sum from the aim, dB.
    pub max_db: f64,
    /// Where it is, Hz.
    pub max_at_hz: f64,
    /// Match of each way, lowest first, dB.
    pub match_db: Vec<f64>,
    /// Each crossover, lowest first.
    pub crossovers: Vec<CrossoverFigures>,
}

/// One crossover.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossoverFigures {
    /// Mean |phase difference| of the two ways over ± half an octave, degrees; counted from what the
    /// alignment asks for, which is 0 for the even ones.
    pub phase_match_deg: f64,
}

/// Figures of ways (sound in pascal, lowest first) against their targets, on the targets' grid.
/// With no `level_db` asked for, the level is the one of least rms deviation of the sum.
///
/// # Panics
/// If there is not one sound a target.
#[must_use]
pub fn figures(
    f_hz: &[f64],
    ways: &[Spectrum],
    targets: &Targets,
    level_db: Option<f64>,
) -> Figures {
    assert_eq!(ways.len(), targets.ways.len(), "one sound a way");
    let points = f_hz.len();
    let over_tilt: Vec<f64> = (0..points)
        .map(|i| targets.sum_db(i, ways) - targets.tilt_db[i])
        .collect();
    let judged: Vec<usize> = (0..points).filter(|&i| targets.judged[i]).collect();
    let count = judged.len().max(1) as f64;
    let mean = judged.iter().map(|&i| over_tilt[i]).sum::<f64>() / count;
    let level_db = level_db.unwrap_or(mean);
    let mut worst = judged.first().copied().unwrap_or(0);
    let mut square = 0.0;
    for &i in &judged {
        let db = over_tilt[i];
        square += (db - level_db).powi(2);
        if (db - level_db).abs() > (over_tilt[worst] - level_db).abs() {
            worst = i;
        }
    }
    let match_db = ways
        .iter()
        .zip(&targets.ways)
        .map(|(way, target)| {
            let mut sum = 0.0;
            let mut weights = 0.0;
            for i in 0..points {
                let off = crate::sound::level_db(way.at(i)) - level_db - target.level_db[i];
                sum += target.weight[i] * off * off;
                weights += target.weight[i];
            }
            (sum / f64::max(weights, f64::MIN_POSITIVE)).sqrt()
        })
        .collect();
    let crossovers = targets
        .near_crossover
        .iter()
        .enumerate()
        .map(|(c, near)| {
            let near = (0..points).filter(|&i| near[i]);
            let between = |i: usize| ways[c].at(i) * ways[c + 1].at(i).conj();
            let reference = &targets.between[c];
            let turn = &reference.turns[reference.nearest(near.clone(), between)];
            let differences: Vec<f64> = near
                .map(|i| (between(i) * turn.at(i)).arg().to_degrees().abs())
                .collect();
            let count = differences.len().max(1) as f64;
            CrossoverFigures {
                phase_match_deg: differences.iter().sum::<f64>() / count,
            }
        })
        .collect();
    Figures {
        level_db,
        rms_db: (square / count).sqrt(),
        max_db: (over_tilt[worst] - level_db).abs(),
        max_at_hz: f_hz[worst],
        match_db,
        crossovers,
    }
}
