//! Figures of merit of a project that has a network, by the definitions of the search.

use netlist::network::Network;
use netlist::project::{AlignmentPair, Project};

use crate::goal::{Figures, LoadFigures, Targets};
use crate::judge::centres::{Centres, centres};
use crate::search::{AudioLoads, BriefError, Job, alignment_choices, audio_loads, judge};

/// A design held against what was asked for.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// The project made ready.
    pub job: Job,
    /// Slopes that it was held against, one pair a crossover.
    pub alignments: Vec<AlignmentPair>,
    /// Where its drivers are heard from.
    pub centres: Centres,
    /// Figures of the network.
    pub figures: Figures,
    /// Its load.
    pub load: LoadFigures,
    /// A driver whose wires are better swapped.
    pub swap: Option<Swap>,
}

/// What the wires of one driver swapped would do.
#[derive(Debug, Clone)]
pub struct Swap {
    /// Name of the driver.
    pub driver: String,
    /// Figures of the network then.
    pub figures: Figures,
}

/// A swap takes this much off the deviation of the sum, and at least that share of it, or is not worth a
/// word.
const SWAP_DB: f64 = 0.3;
const SWAP_SHARE: f64 = 0.25;

/// Figures of merit of a project's network, wire included. Where a crossover's alignment is `"auto"` the
/// slopes are those of the ones that a design would have tried to which the ways are nearer.
///
/// # Errors
/// If the project does not say what is asked for: no crossover, or one that cannot be; or if the network
/// does not feed every way.
pub fn assess(project: &Project, network: &Network) -> Result<Assessment, NotAssessed> {
    let job = Job::new(project)?;
    for way in &job.ways {
        if !network.driver_names().any(|name| name == way.name) {
            return Err(NotAssessed::Unfed {
                driver: way.name.clone(),
            });
        }
    }
    if network.driver_names().count() != job.ways.len() {
        return Err(NotAssessed::MoreDrivers);
    }
    let network = in_order_of_ways(&job, network);
    let audio = audio_loads(project);
    let slopes = alignment_choices(&job);
    let held = slopes.into_iter().filter_map(|alignments| {
        let (figures, load) = judge(&job, &network, &job.targets(&alignments), &audio)?;
        Some((alignments, figures, load))
    });
    let off = |figures: &Figures| figures.match_db.iter().map(|db| db * db).sum::<f64>();
    let best = held.min_by(|a, b| off(&a.1).total_cmp(&off(&b.1)));
    let (alignments, figures, load) = best.ok_or(NotAssessed::Unsolved)?;
    let targets = job.targets(&alignments);
    let swap = best_swap(&job, &network, &targets, &audio).filter(|swap| {
        let gained_db = figures.rms_db - swap.figures.rms_db;
        gained_db >= SWAP_DB.max(SWAP_SHARE * figures.rms_db)
    });
    Ok(Assessment {
        swap,
        centres: centres(&job, &alignments),
        job,
        alignments,
        figures,
        load,
    })
}

/// The driver whose wires swapped make the sum flattest.
fn best_swap(job: &Job, network: &Network, targets: &Targets, audio: &AudioLoads) -> Option<Swap> {
    let swapped = network
        .swappable_drivers()
        .into_iter()
        .filter_map(|driver| {
            let mut network = network.clone();
            network.swap_wires(driver);
            let (figures, _) = judge(job, &network, targets, audio)?;
            Some(Swap {
                driver: driver.to_owned(),
                figures,
            })
        });
    swapped.min_by(|a, b| a.figures.rms_db.total_cmp(&b.figures.rms_db))
}

/// The same network with the drivers in the order of the ways: the builder may have written them in any.
#[must_use]
pub fn in_order_of_ways(job: &Job, network: &Network) -> Network {
    let mut network = network.clone();
    let place = |driver: &str| job.ways.iter().position(|way| way.name == driver);
    network.parts_mut().sort_by(|_, a, _, b| {
        let way = |part: &netlist::network::Part| match &part.kind {
            netlist::network::PartKind::Driver { driver, .. } => place(driver),
            _ => None,
        };
        way(a).cmp(&way(b))
    });
    network
}

/// Why a network cannot be held against what was asked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NotAssessed {
    /// The project does not say what is asked for, or asks for what cannot be.
    #[error(transparent)]
    Brief(#[from] BriefError),
    /// A way has no driver in the network.
    #[error("the network does not feed {driver}, which a crossover names")]
    Unfed {
        /// The driver.
        driver: String,
    },
    /// The network feeds a driver that no crossover names.
    #[error("the network feeds a driver that no crossover names")]
    MoreDrivers,
    /// The network cannot be solved.
    #[error("the network takes no current at any frequency")]
    Unsolved,
}
