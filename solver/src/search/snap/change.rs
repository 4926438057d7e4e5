//! How much two networks for the same drivers differ in sound, in the builder's figures.

use netlist::network::Network;

use crate::goal::{Targets, match_weight};
use crate::nodal::PlanError;
use crate::search::assess::SolvedWays;
use crate::search::job::Job;
use crate::sound::level_db;

/// What a change of values does.
#[derive(Debug, Clone, PartialEq)]
pub struct SoundChange {
    /// Rms change of the sum over the band that is judged, dB.
    pub rms_db: f64,
    /// Most change of the sum there, dB.
    pub max_db: f64,
    /// Where it is, Hz.
    pub max_at_hz: f64,
    /// Rms change of each way where it is audible beside the others, lowest first, dB; weighted as the match of
    /// a way is, by its own level before.
    pub ways_db: Vec<f64>,
    /// Mean change of the phase between the two ways of each crossover over ± half an octave, degrees.
    pub phase_deg: Vec<f64>,
}

impl SoundChange {
    /// From one network to another, both with the drivers of the ways of `job`; `level_db_aimed` is the level of
    /// the aim.
    ///
    /// # Errors
    /// If one of them cannot be solved.
    pub fn new(
        job: &Job,
        targets: &Targets,
        level_db_aimed: f64,
        [from, to]: [&Network; 2],
    ) -> Result<Self, PlanError> {
        let (from, to) = (SolvedWays::of(job, from)?, SolvedWays::of(job, to)?);
        let judged: Vec<usize> = (0..job.grid.len()).filter(|&i| targets.judged[i]).collect();
        let count = judged.len().max(1) as f64;
        let off = |i: usize| targets.sum_db(i, &to.pressure) - targets.sum_db(i, &from.pressure);
        let most = (judged.iter().copied())
            .max_by(|&a, &b| off(a).abs().total_cmp(&off(b).abs()))
            .unwrap_or(0);
        let ways_db = (from.pressure.iter().zip(&to.pressure))
            .map(|(from, to)| {
                let (mut square, mut weights) = (0.0, 0.0);
                for &i in &judged {
                    let before = level_db(from.at(i));
                    let weight = match_weight(before - level_db_aimed - targets.tilt_db[i]);
                    square += weight * (level_db(to.at(i)) - before).powi(2);
                    weights += weight;
                }
                (square / f64::max(weights, f64::MIN_POSITIVE)).sqrt()
            })
            .collect();
        let phase_deg = (targets.near_crossover.iter().enumerate())
            .map(|(c, near)| {
                let near = (0..near.len()).filter(|&i| near[i]);
                let turned = near.map(|i| {
                    let turn = to.between(c, i) * from.between(c, i).conj();
                    turn.arg().to_degrees().abs()
                });
                let turned: Vec<f64> = turned.collect();
                turned.iter().sum::<f64>() / turned.len().max(1) as f64
            })
            .collect();
        Ok(Self {
            rms_db: (judged.iter().map(|&i| off(i).powi(2)).sum::<f64>() / count).sqrt(),
            max_db: off(most).abs(),
            max_at_hz: job.grid.f_hz()[most],
            ways_db,
            phase_deg,
        })
    }
}
