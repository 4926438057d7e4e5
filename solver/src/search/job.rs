//! A brief made ready for the search: drivers, targets and limits on one grid.

use netlist::project::{Aim, AlignmentPair, Crossover, Project, Stock, StockKind};
use netlist::quantity::{Decibels, Quantity};

use super::brief_error::BriefError;
use super::heat::Heat;
use super::least_load::{self, LeastLoadFrom, rated_share_ohm};
use super::way::{Reach, Way};
use crate::amplifier::source_impedance;
use crate::directions::judged_over;
use crate::goal::{POINTS, Targets, ValueLaw};
use crate::grid::{AUDIO_BAND_HZ, Grid, GridError};
use crate::load::{Note, REFERENCE_V, driver_resonance, is_delicate};
use crate::loudspeaker::driver_behind_lead;
use crate::nodal::Drive;
use crate::sound::{Coherence, Ear, aim_at_listener, flight_of, level_db, spreading_db, way_to};
use crate::spectrum::Spectrum;
use crate::stock::{loss_law, value_bounds};
use crate::wiring::cable_ohm;

/// A second-order Butterworth high pass an octave above the resonance, the least that common practice
/// asks for, leaves 9 dB less at the resonance than at the crossover.
pub const MOST_BELOW_RESONANCE_DB: f64 = -9.0;

/// A level that is this little out of reach is not: ripple in the band is more, dB.
const WITHIN_RIPPLE_DB: f64 = 0.5;
/// A level further out of reach than this is given up for the loudest that there is, dB: half the power.
const HOPELESS_DB: f64 = 3.0;

/// The ends of a way's band say little of its level: they are left out up to this factor.
const BAND_MARGIN: f64 = 1.2;

/// Most ways of a loudspeaker.
const MOST_WAYS: usize = 5;

/// The aim's band, and the rest of the audio band more thinly.
pub(crate) fn aim_grid(from_hz: f64, to_hz: f64) -> Result<Grid, GridError> {
    let band = Grid::log_spaced(from_hz, to_hz, POINTS)?;
    let mut f_hz = Vec::with_capacity(POINTS + 24);
    // Down to where the impedance of a woofer's box still matters, up to the end of hearing.
    let [lowest_hz, highest_hz] = AUDIO_BAND_HZ;
    if from_hz > lowest_hz {
        let below = Grid::log_spaced(lowest_hz, from_hz, 13)?;
        f_hz.extend_from_slice(&below.f_hz()[..12]);
    }
    f_hz.extend_from_slice(band.f_hz());
    if to_hz < highest_hz {
        let above = Grid::log_spaced(to_hz, highest_hz, 6)?;
        f_hz.extend_from_slice(&above.f_hz()[1..]);
    }
    Grid::new(f_hz)
}

/// Everything that the search works with.
#[derive(Debug, Clone)]
pub struct Job {
    /// Frequencies: [`POINTS`] over the aim's band, and some beyond it for the load.
    pub grid: Grid,
    /// Ways, lowest first.
    pub ways: Vec<Way>,
    /// Crossovers, lowest first.
    pub crossovers: Vec<Crossover>,
    /// Aim, its level at the listener.
    pub aim: Aim,
    /// What the way to the listener takes of the level at 1 m, dB.
    pub spreading_db: f64,
    /// The amplifier at the voltage of [`REFERENCE_V`], with the speaker cable in its output impedance.
    pub drive: Drive,
    /// The speaker cable, ohm: the amplifier sees it in series with the network.
    pub cable_ohm: f64,
    /// The least load that is held, ohm; 0 where nothing limits it.
    pub least_load_ohm: f64,
    /// Who sets it.
    pub least_load_from: LeastLoadFrom,
    /// Level asked for, at the listener; the aim has none where it is far out of reach.
    pub level_asked: Option<Decibels>,
    /// What resistors must stand; `None` where the amplifier's power is not stated.
    pub heat: Option<Heat>,
    /// Most voltage of a delicate driver at and below its resonance, against that at its crossover, dB.
    pub most_below_resonance_db: f64,
    /// What can be bought.
    pub stock: Stock,
    /// How the ways add over the listening window, where the sum is judged there.
    pub window: Option<Coherence>,
}

impl Job {
    /// Makes a project ready.
    ///
    /// # Errors
    /// If it cannot be designed; see [`BriefError`].
    pub fn new(project: &Project) -> Result<Self, BriefError> {
        let crossovers = project.crossovers.clone();
        if crossovers.is_empty() || project.drivers.len() < 2 {
            return Err(BriefError::TooFewWays {
                drivers: project.drivers.len(),
                crossovers: crossovers.len(),
            });
        }
        let ways = crossovers.len() + 1;
        if ways > MOST_WAYS {
            return Err(BriefError::TooManyWays { ways });
        }
        let (from_hz, to_hz) = (project.aim.from.si(), project.aim.to.si());
        // What stands for a frequency that is left open is no choice yet: it is looked at once it is one.
        for crossover in crossovers.iter().filter(|one| one.open.is_none()) {
            let frequency_hz = crossover.frequency.si();
            if frequency_hz <= from_hz || frequency_hz >= to_hz {
                return Err(BriefError::OutsideAim {
                    frequency_hz,
                    from_hz,
                    to_hz,
                });
            }
        }
        for pair in crossovers.windows(2) {
            let [lower_hz, upper_hz] = [0, 1].map(|i: usize| pair[i].frequency.si());
            let settled = pair.iter().all(|one| one.open.is_none());
            if settled && upper_hz < 2.0 * lower_hz {
                return Err(BriefError::TooClose { lower_hz, upper_hz });
            }
        }
        let grid = aim_grid(from_hz, to_hz)?;
        let heat = Heat::new(project, &grid);
        let cable_ohm = cable_ohm(project);
        let source = source_impedance(&project.amplifier, &grid).plus(cable_ohm);
        let aim = aim_at_listener(project);
        let mut job = Self {
            level_asked: aim.level,
            grid,
            ways: Vec::new(),
            crossovers,
            aim,
            spreading_db: spreading_db(project),
            drive: Drive {
                open_circuit_v: REFERENCE_V,
                output_impedance_ohm: source,
            },
            cable_ohm,
            least_load_ohm: 0.0,
            least_load_from: LeastLoadFrom::Nobody,
            heat,
            most_below_resonance_db: MOST_BELOW_RESONANCE_DB,
            stock: project.stock.clone(),
            window: None,
        };
        job.ways = (0..ways)
            .map(|way| job.ready_way(project, way))
            .collect::<Result<_, _>>()?;
        let names: Vec<&str> = job.ways.iter().map(|way| way.name.as_str()).collect();
        job.window = judged_over(project, &names, &job.grid);
        (job.least_load_ohm, job.least_load_from) =
            least_load::settle(project, &job.ways, &job.bands_hz(), job.reference_db());
        if (job.level_short()).is_some_and(|(_, short_db)| short_db > HOPELESS_DB) {
            job.aim.level = None;
        }
        Ok(job)
    }

    /// The least load that is held, ohm; `None` where nothing limits it.
    #[must_use]
    pub fn least_load(&self) -> Option<f64> {
        (self.least_load_ohm > 0.0).then_some(self.least_load_ohm)
    }

    /// How much later the upper way of a crossover is heard than the lower one, s: by their places and the listener's, and
    /// by what their measured phases hold beyond that.
    #[must_use]
    pub fn later_s(&self, crossover: usize) -> f64 {
        let [lower, upper] = [crossover, crossover + 1];
        self.placed_later_s(lower, upper) + self.held_later_s(lower, upper).unwrap_or(0.0)
    }

    /// What of it the places make between any two ways.
    #[must_use]
    pub fn placed_later_s(&self, one: usize, other: usize) -> f64 {
        self.ways[other].delay_s - self.ways[one].delay_s
    }

    /// What of it measured phases hold between any two ways; `None` where either has no flight time, for one that is in
    /// none but one response says nothing of where that driver is.
    #[must_use]
    pub fn held_later_s(&self, one: usize, other: usize) -> Option<f64> {
        let [one, other] = [one, other].map(|way| self.ways[way].flight);
        Some(other?.delay_s - one?.delay_s)
    }

    fn ready_way(&self, project: &Project, number: usize) -> Result<Way, BriefError> {
        let name = match number {
            0 => &self.crossovers[0].between[0],
            _ => &self.crossovers[number - 1].between[1],
        };
        let driver = &project.drivers[name.as_str()];
        let load = driver_behind_lead(project, name, &self.grid);
        let (low, high) = self.band_hz(number);
        for note in &load.notes {
            let Note::OutsideTable {
                table_from_hz,
                table_to_hz,
                ..
            } = *note
            else {
                continue;
            };
            // Only the crossovers matter: towards the ends of the aim a driver may fade out.
            let settled =
                |crossover: Option<&Crossover>| crossover.is_some_and(|one| one.open.is_none());
            let below =
                settled(number.checked_sub(1).map(|c| &self.crossovers[c])) && low < table_from_hz;
            let above = settled(self.crossovers.get(number)) && high > table_to_hz;
            if below || above {
                return Err(BriefError::OutsideData {
                    driver: name.clone(),
                    frequency_hz: if below { low } else { high },
                    table_hz: if below { table_from_hz } else { table_to_hz },
                });
            }
        }
        let ear = Ear::of(project.listener.as_ref());
        let delay_s = ear.from(&driver.position).0.delay_s;
        let path = way_to(driver, &ear, &self.grid);
        let sound = load.pressure_pa_per_v.times(&path);
        let inside = self.inside(low, high);
        let mean = |value: &dyn Fn(usize) -> f64| {
            inside.iter().map(|&i| value(i)).sum::<f64>() / inside.len() as f64
        };
        let level = |i: usize| level_db(sound.at(i) * REFERENCE_V);
        let coil_ohm = match number < self.crossovers.len() {
            true => self.least_coil_ohm(mean(&|i| load.z_ohm.at(i).norm()), high),
            false => 0.0,
        };
        let reach = |i: usize| {
            let z_ohm = load.z_ohm.at(i);
            level(i)
                - 20.0
                    * ((z_ohm + self.drive.output_impedance_ohm.at(i) + coil_ohm) / z_ohm)
                        .norm()
                        .log10()
        };
        let (level_db, reach_db) = (mean(&level), mean(&reach));
        Ok(Way {
            name: name.clone(),
            resonance_hz: driver_resonance(driver).map(Quantity::si),
            delicate: is_delicate(driver),
            z_ohm: load.z_ohm,
            sound,
            notes: load.notes,
            delay_s,
            flight: flight_of(driver),
            level_db,
            reach: Reach {
                level_db: reach_db,
                coil_ohm,
                source_ohm: mean(&|i| self.drive.output_impedance_ohm.at(i).norm()),
            },
        })
    }

    /// The frequencies of a way's band, less a margin at its ends; one at the least.
    fn inside(&self, low_hz: f64, high_hz: f64) -> Vec<usize> {
        let margin = (high_hz / low_hz).powf(0.25).min(BAND_MARGIN);
        let f_hz = self.grid.f_hz();
        let band = low_hz * margin..=high_hz / margin;
        let inside: Vec<usize> = (0..f_hz.len())
            .filter(|&i| band.contains(&f_hz[i]))
            .collect();
        match inside.is_empty() {
            false => inside,
            true => {
                let after = f_hz.partition_point(|&f_hz| f_hz < (low_hz * high_hz).sqrt());
                vec![after.min(f_hz.len() - 1)]
            }
        }
    }

    /// Resistance of the coil of a first-order low pass at that crossover, `L = |Z|/(2πf)`, the least that
    /// any low pass takes, as the stock has it.
    fn least_coil_ohm(&self, z_ohm: f64, crossover_hz: f64) -> f64 {
        let kind = StockKind::Inductor;
        let (least, most) = value_bounds(&self.stock, kind);
        let inductance_h = (z_ohm / (std::f64::consts::TAU * crossover_hz)).clamp(least, most);
        match loss_law(&self.stock, kind) {
            ValueLaw::Power { scale, exponent } => scale * inductance_h.powf(exponent),
            ValueLaw::FixedLoss => 0.0,
        }
    }

    /// Band that a way is for: between its crossovers, or to the end of the aim.
    #[must_use]
    pub fn band_hz(&self, way: usize) -> (f64, f64) {
        let low = way
            .checked_sub(1)
            .map(|c| self.crossovers[c].frequency.si());
        let high = self.crossovers.get(way).map(|c| c.frequency.si());
        (
            low.unwrap_or(self.aim.from.si()),
            high.unwrap_or(self.aim.to.si()),
        )
    }

    /// Bands of all ways, lowest first.
    #[must_use]
    pub fn bands_hz(&self) -> Vec<(f64, f64)> {
        (0..=self.crossovers.len())
            .map(|way| self.band_hz(way))
            .collect()
    }

    /// Level that the ways are brought to: the aim's, or that of the weakest way, dB SPL.
    #[must_use]
    pub fn reference_db(&self) -> f64 {
        (self.aim.level).map_or(self.ways[self.weakest()].level_db, |level| level.0)
    }

    /// The way that can least reach the level asked for, and by how much it falls short, dB; `None` where
    /// all can. Ripple in the band makes half a decibel a matter of taste.
    #[must_use]
    pub fn level_short(&self) -> Option<(&Way, f64)> {
        let asked_db = self.level_asked?.si();
        (self.ways.iter())
            .map(|way| (way, asked_db - way.reach.level_db))
            .filter(|(_, short_db)| *short_db > WITHIN_RIPPLE_DB)
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The least sensitive way, which sets the level.
    #[must_use]
    pub fn weakest(&self) -> usize {
        (0..self.ways.len())
            .min_by(|&a, &b| self.ways[a].level_db.total_cmp(&self.ways[b].level_db))
            .expect("at least two ways")
    }

    /// Level of the least sensitive way, dB SPL: a passive network only takes away.
    #[must_use]
    pub fn loudest_db(&self) -> f64 {
        self.ways[self.weakest()].level_db
    }

    /// The same on every `step`-th frequency of the grid, for a coarser look.
    ///
    /// # Panics
    /// If `step` is 0.
    #[must_use]
    pub fn thinned(&self, step: usize) -> Self {
        let kept: Vec<usize> = (0..self.grid.len()).step_by(step).collect();
        let f_hz = kept.iter().map(|&i| self.grid.f_hz()[i]).collect();
        let part = |all: &Spectrum| all.picked(&kept);
        let ways = self.ways.iter().map(|way| Way {
            z_ohm: part(&way.z_ohm),
            sound: part(&way.sound),
            ..way.clone()
        });
        let grid = Grid::new(f_hz).expect("some of rising frequencies rise");
        Self {
            heat: self.heat.as_ref().map(|heat| heat.on(&grid)),
            grid,
            ways: ways.collect(),
            window: self.window.as_ref().map(|window| window.at(&kept)),
            drive: Drive {
                output_impedance_ohm: self.drive.output_impedance_ohm.on(part),
                ..self.drive
            },
            ..self.clone()
        }
    }

    /// Targets for given alignments.
    #[must_use]
    pub fn targets(&self, alignments: &[AlignmentPair]) -> Targets {
        let targets = Targets::new(&self.aim, &self.crossovers, alignments, &self.grid);
        match &self.window {
            Some(window) => targets.over_window(window.clone()),
            None => targets,
        }
    }
}

/// The least load that a project is held to, ohm; `None` where nothing limits it. A project that cannot be
/// designed, for want of crossovers say, is held to what its amplifier is rated for.
#[must_use]
pub fn least_load_ohm(project: &Project) -> Option<f64> {
    if let Some(asked) = project.aim.minimum_load {
        return Some(asked.si());
    }
    let rated_ohm = rated_share_ohm(project)?;
    Some(Job::new(project).map_or(rated_ohm, |job| job.least_load_ohm))
}
