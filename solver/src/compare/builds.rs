//! Figures of builds drawn at random, so that it can be said whether one loudspeaker is better than another or
//! only came out so.
//!
//! Parts are bought anew for each loudspeaker, so those of two differ independently. A driver that two have in
//! common is the same piece in the same build of both: its own spread is not taken for a difference between them.
//! All numbers come from streams that belong to the network and to the driver, so that neither the order of the
//! loudspeakers nor the number of threads matters, and the same loudspeaker twice has the same builds.

use netlist::network::Network;
use netlist::project::Project;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use super::figure::ToleranceFigures;
use crate::goal::{Targets, figures};
use crate::judge::check::{Assessment, in_order_of_ways};
use crate::judge::tolerance::{Distribution, Varying, VaryingTarget, varying};
use crate::nodal::Values;
use crate::search::{AudioLoads, Job, audio_loads, judge, put_values, sounds};
use crate::spectrum::Spectrum;

/// Spread of each driver's level, ± dB, as a check has it.
const DRIVER_LEVEL_DB: f64 = 1.0;

/// Builds that are made even when the work is to end: of so many it is seen what tolerance blurs, and they take no time.
const FEW: usize = 60;

/// A loudspeaker on the bench.
pub(super) struct ComparedBuilds<'a> {
    job: &'a Job,
    network: Network,
    targets: Targets,
    /// The targets with only the common band judged, where the bands differ.
    common: Option<Targets>,
    audio: AudioLoads,
    varying: Vec<Varying>,
    parts_seed: u64,
    driver_seeds: Vec<u64>,
    parts: usize,
}

impl<'a> ComparedBuilds<'a> {
    /// `None` where its network cannot be solved.
    pub(super) fn new(
        project: &Project,
        network: &Network,
        assessed: &'a Assessment,
        common_hz: Option<[f64; 2]>,
    ) -> Option<Self> {
        let job = &assessed.job;
        let network = in_order_of_ways(job, network);
        let targets = job.targets(&assessed.alignments);
        let common = common_hz.map(|[from_hz, to_hz]| {
            let mut common = targets.clone();
            for (judged, f_hz) in common.judged.iter_mut().zip(job.grid.f_hz()) {
                *judged &= (from_hz..=to_hz).contains(f_hz);
            }
            common
        });
        let driver_seeds = (job.ways.iter())
            .map(|way| hash(&format!("{:?}", project.drivers[way.name.as_str()].source)))
            .collect();
        Some(Self {
            audio: audio_loads(project),
            varying: varying(&network, &project.stock, DRIVER_LEVEL_DB),
            parts_seed: hash(&format!("{network:?}")),
            driver_seeds,
            parts: network.part_count(),
            network,
            targets,
            common,
            job,
        })
    }

    /// The loudspeaker as it is drawn.
    pub(super) fn nominal(&self) -> Option<ToleranceFigures> {
        self.measure(self.job, &self.network)
    }

    /// The first `count` builds; fewer when `stop` says so, but [`FEW`] in any case.
    pub(super) fn builds(
        &self,
        count: usize,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Vec<ToleranceFigures> {
        let made: Vec<Option<ToleranceFigures>> = (0..count)
            .into_par_iter()
            .map_init(
                || (self.job.clone(), self.network.clone()),
                |(job, network), number| {
                    if number >= FEW && stop() {
                        return None;
                    }
                    self.draw(number as u64, job, network);
                    self.measure(job, network)
                },
            )
            .collect();
        made.into_iter().map_while(|build| build).collect()
    }

    /// Puts the values and levels of a build into a job and a network.
    fn draw(&self, number: u64, job: &mut Job, network: &mut Network) {
        let distribution = Distribution::default();
        let pieces: usize = self.varying.iter().map(|one| one.pieces.len()).sum();
        let mut units = vec![0.0; pieces];
        let mut rng = ChaCha8Rng::seed_from_u64(self.parts_seed);
        distribution.draw(&mut rng, number, &mut units);
        let nominal = Values::of(&self.network);
        let mut values = nominal.clone();
        let mut first = 0;
        for one in &self.varying {
            let own = &units[first..first + one.pieces.len()];
            first += one.pieces.len();
            one.put(one.deviation(own, 1.0), &nominal, &mut values);
            if let VaryingTarget::Driver { driver } = one.target {
                let mut own = [0.0];
                let mut rng = ChaCha8Rng::seed_from_u64(self.driver_seeds[driver]);
                distribution.draw(&mut rng, number, &mut own);
                let gain = 10f64.powf(one.deviation(&own, 1.0) / 20.0);
                let sound = &self.job.ways[driver].sound;
                job.ways[driver].sound = Spectrum::from_fn(sound.len(), |i| sound.at(i) * gain);
            }
        }
        put_values(network, &values);
    }

    fn measure(&self, job: &Job, network: &Network) -> Option<ToleranceFigures> {
        let (found, load) = judge(job, network, &self.targets, &self.audio)?;
        let common_rms_db = match &self.common {
            Some(common) => {
                let level = job.aim.level.map(|level| level.0);
                Some(figures(job.grid.f_hz(), &sounds(job, network)?, common, level).rms_db)
            }
            None => None,
        };
        let load = [load.least_ohm, load.least_epdr_ohm];
        Some(ToleranceFigures::new(
            job,
            &found,
            common_rms_db,
            load,
            self.parts,
        ))
    }
}

/// FNV-1a over the bytes of a text (Fowler, Noll and Vo; constants from memory): the same on every machine.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}
