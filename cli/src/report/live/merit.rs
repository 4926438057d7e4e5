//! What the figures of merit are counted from, for the script.

use netlist::quantity::Quantity;
use serde::Serialize;
use solver::directions::judged_over;
use solver::goal::Targets;
use solver::grid::Grid;
use solver::loudspeaker::Loudspeaker;
use solver::nodal::PlanError;
use solver::sound::Coherence;
use solver::spectrum::Spectrum;

use super::band::PageBand;
use super::bits::{Complexes, Reals};
use crate::report::Report;
use crate::report::facts::PHASE_OCTAVES;

/// What the figures of merit are counted from, on their grid.
#[derive(Debug, Serialize)]
pub(super) struct PageMerit {
    band: PageBand,
    /// Place of each way's driver among the drivers.
    order: Vec<usize>,
    /// Level that is asked for, dB SPL.
    level_db: Option<f64>,
    tilt_db: Reals,
    /// Frequencies that count for the sum.
    judged: Vec<usize>,
    /// How the ways add over the window; nothing where the sum is that on the axis.
    window: Option<Vec<Complexes>>,
    /// The same on the grid of the audio band.
    audio_window: Option<Vec<Complexes>>,
    ways: Vec<PageTarget>,
    crossovers: Vec<PageCrossover>,
}

/// What a way should do.
#[derive(Debug, Serialize)]
struct PageTarget {
    level_db: Reals,
    weight: Reals,
}

/// Where phases are compared, and what turns each slope that suits to 0.
#[derive(Debug, Serialize)]
struct PageCrossover {
    /// Frequencies of the figure.
    near: Vec<usize>,
    turns: Vec<Complexes>,
    /// Those of the curve, of the audio band.
    wide: Vec<usize>,
    wide_turns: Vec<Complexes>,
}

impl PageMerit {
    /// `None` where no figures can be told.
    pub(super) fn new(report: &Report<'_>) -> Result<Option<Self>, PlanError> {
        let Ok(reached) = &report.facts.check.assessment else {
            return Ok(None);
        };
        let job = &reached.job;
        let Some(system) = Loudspeaker::new(report.project, job.grid.clone())? else {
            return Ok(None);
        };
        let order = (job.ways.iter())
            .filter_map(|way| {
                let mut drivers = system.plan.drivers().iter();
                drivers.position(|driver| *driver == way.name)
            })
            .collect();
        let targets = job.targets(&reached.alignments);
        let audio = Grid::audio_band();
        let heard = Targets::new(&job.aim, &job.crossovers, &reached.alignments, &audio);
        let crossovers = (job.crossovers.iter().enumerate())
            .map(|(c, crossover)| {
                let near = (0..job.grid.len()).filter(|&i| targets.near_crossover[c][i]);
                let near: Vec<usize> = near.collect();
                // The curve of the phase goes further than the figure.
                let f_hz = crossover.frequency.si();
                let octaves = |i: usize| (audio.f_hz()[i] / f_hz).log2().abs();
                let wide = (0..audio.len()).filter(|&i| octaves(i) <= PHASE_OCTAVES);
                let wide: Vec<usize> = wide.collect();
                PageCrossover {
                    turns: some_of(&targets.between[c].turns, &near),
                    near,
                    wide_turns: some_of(&heard.between[c].turns, &wide),
                    wide,
                }
            })
            .collect();
        let names: Vec<&str> = job.ways.iter().map(|way| way.name.as_str()).collect();
        let ways = targets.ways.iter().map(|way| PageTarget {
            level_db: Reals::new(&way.level_db),
            weight: Reals::new(&way.weight),
        });
        Ok(Some(Self {
            band: PageBand::new(&system),
            order,
            level_db: job.aim.level.map(Quantity::si),
            tilt_db: Reals::new(&targets.tilt_db),
            judged: (0..job.grid.len()).filter(|&i| targets.judged[i]).collect(),
            window: targets.window.as_ref().map(pairs),
            audio_window: judged_over(report.project, &names, &audio)
                .as_ref()
                .map(pairs),
            ways: ways.collect(),
            crossovers,
        }))
    }
}

fn pairs(window: &Coherence) -> Vec<Complexes> {
    window.pairs().iter().map(Complexes::new).collect()
}

/// Each at some of its frequencies.
fn some_of(turns: &[Spectrum], at: &[usize]) -> Vec<Complexes> {
    let some = |turn: &Spectrum| Spectrum::from_fn(at.len(), |i| turn.at(at[i]));
    turns
        .iter()
        .map(|turn| Complexes::new(&some(turn)))
        .collect()
}
