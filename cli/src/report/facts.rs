//! Everything that the report shows of a loudspeaker, computed once.

use netlist::network::{Network, NodeId, PartKind};
use netlist::project::{AlignmentPair, Project};
use netlist::quantity::Quantity;
use num_complex::Complex64;
use solver::goal::{Figures, LoadFigures, Targets, figures};
use solver::grid::Grid;
use solver::judge::{Finding, brief_findings, design_findings, sort_findings};
use solver::load::Note;
use solver::nodal::PlanError;
use solver::search::{Job, REFERENCE_V, choose_alignments, depths};
use solver::sound::{level_db, level_db_series, phase_deg_series, unwrap_deg};
use solver::spectrum::Spectrum;
use solver::system::{Curves, System};

/// Points of the curves: 160 a decade.
const POINTS: usize = 481;

/// Points in a twelfth of an octave.
const TWELFTH: usize = 4;

/// A way of the loudspeaker: a driver that the network feeds.
#[derive(Debug, Clone)]
pub(crate) struct Way {
    pub(crate) driver: String,
    pub(crate) level_db: Vec<f64>,
    pub(crate) phase_deg: Vec<f64>,
    /// Voltage at the driver against the amplifier's open-circuit voltage, dB.
    pub(crate) transfer_db: Vec<f64>,
    /// Target, dB SPL; without crossovers there is none.
    pub(crate) target_db: Option<Vec<f64>>,
    pub(crate) match_db: Option<f64>,
}

/// What was asked for and how far it was reached.
#[derive(Debug, Clone)]
pub(crate) struct Reached {
    pub(crate) job: Job,
    pub(crate) alignments: Vec<AlignmentPair>,
    pub(crate) figures: Figures,
}

/// Everything that the report shows of a loudspeaker.
#[derive(Debug)]
pub(crate) struct Facts {
    pub(crate) f_hz: Vec<f64>,
    /// Lowest crossover first where there are crossovers; otherwise in the order of the parts.
    pub(crate) ways: Vec<Way>,
    pub(crate) sum_db: Vec<f64>,
    pub(crate) sum_phase_deg: Vec<f64>,
    pub(crate) group_delay_ms: Vec<f64>,
    pub(crate) load_ohm: Vec<f64>,
    pub(crate) load_phase_deg: Vec<f64>,
    pub(crate) load: Option<LoadFigures>,
    /// Least load asked for, ohm.
    pub(crate) least_load_ohm: Option<f64>,
    pub(crate) reached: Option<Reached>,
    /// Why there are no targets and findings, where there are none.
    pub(crate) unjudged: Option<String>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) notes: Vec<(String, Note)>,
}

/// A network of a project, without any of its own.
pub(crate) fn system(
    project: &Project,
    network: &Network,
    grid: Grid,
) -> Result<System, PlanError> {
    let with_network = Project {
        network: Some(network.clone()),
        ..project.clone()
    };
    let system = System::new(&with_network, grid)?;
    Ok(system.expect("a project with a network is a system"))
}

impl Facts {
    /// Computes everything; `alignments` are those of a search that has just ended.
    pub(crate) fn new(
        project: &Project,
        network: &Network,
        alignments: Option<Vec<AlignmentPair>>,
    ) -> Result<Self, PlanError> {
        let grid = Grid::log_spaced(20.0, 20e3, POINTS).expect("the audio band is a band");
        let system_here = system(project, network, grid.clone())?;
        let curves = system_here.curves()?;
        let (load_ohm, load_phase_deg) = load(&curves);
        let load_figures = load_figures(grid.f_hz(), &curves);
        let mut unjudged = None;
        let reached = match reach(project, network, alignments) {
            Ok(reached) => Some(reached),
            Err(why) => {
                unjudged = Some(why);
                None
            }
        };
        let mut findings = Vec::new();
        if let (Some(reached), Some(load)) = (&reached, &load_figures) {
            findings = brief_findings(project, &reached.job);
            let depths = depths(&reached.job, &reached.alignments);
            let of_design = design_findings(&reached.job, &depths, &reached.figures, load);
            findings.extend(of_design);
            sort_findings(&mut findings);
        }
        let rated = project.amplifier.rated_load.map(Quantity::si);
        let least = project.aim.minimum_load.map(Quantity::si);
        Ok(Self {
            ways: ways(network, &curves, reached.as_ref(), &grid),
            sum_db: level_db_series(&curves.system),
            sum_phase_deg: phase_deg_series(&curves.system),
            group_delay_ms: group_delay_ms(&grid, &curves.system),
            load_ohm,
            load_phase_deg,
            load: load_figures,
            least_load_ohm: least.or(rated.map(|z| solver::search::LEAST_SHARE_OF_RATED_LOAD * z)),
            reached,
            unjudged,
            findings,
            notes: (system_here.notes())
                .map(|(driver, note)| (driver.to_owned(), note.clone()))
                .collect(),
            f_hz: grid.f_hz().to_vec(),
        })
    }

    /// Highest level of the sum, dB.
    pub(crate) fn highest_db(&self) -> f64 {
        self.sum_db.iter().copied().fold(f64::MIN, f64::max)
    }

    /// Position of the frequency nearest to this.
    pub(crate) fn nearest(&self, f_hz: f64) -> usize {
        let off = |f: &f64| (f / f_hz).ln().abs();
        (0..self.f_hz.len())
            .min_by(|&a, &b| off(&self.f_hz[a]).total_cmp(&off(&self.f_hz[b])))
            .unwrap_or(0)
    }
}

/// Magnitude and phase; where no current flows they are no numbers.
fn load(curves: &Curves) -> (Vec<f64>, Vec<f64>) {
    (curves.load.iter())
        .map(|z| z.map_or((f64::NAN, f64::NAN), |z| (z.norm(), z.arg().to_degrees())))
        .unzip()
}

fn load_figures(f_hz: &[f64], curves: &Curves) -> Option<LoadFigures> {
    let admittance: (Vec<f64>, Vec<f64>) = (curves.load.iter())
        .map(|z| z.map_or(Complex64::ZERO, |z| z.inv()))
        .map(|y| (y.re, y.im))
        .unzip();
    LoadFigures::new(f_hz, (&admittance.0, &admittance.1))
}

/// What was asked for, where the project says enough.
fn reach(
    project: &Project,
    network: &Network,
    alignments: Option<Vec<AlignmentPair>>,
) -> Result<Reached, String> {
    let job = Job::new(project).map_err(|error| error.to_string())?;
    let alignments = alignments.unwrap_or_else(|| choose_alignments(&job));
    let curves = system(project, network, job.grid.clone())
        .and_then(|system| system.curves())
        .map_err(|error| error.to_string())?;
    let sounds: Option<Vec<Spectrum>> = (job.ways.iter())
        .map(|way| {
            let found = curves.ways.iter().find(|(driver, _)| *driver == way.name);
            found.map(|(_, sound)| sound.clone())
        })
        .collect();
    let sounds = sounds.filter(|sounds| sounds.len() == curves.ways.len());
    let sounds =
        sounds.ok_or("the network does not feed the very drivers that the crossovers name")?;
    let asked_db = job.aim.level.map(|level| level.si());
    let targets = job.targets(&alignments);
    let figures = figures(job.grid.f_hz(), &sounds, &targets, asked_db);
    Ok(Reached {
        job,
        alignments,
        figures,
    })
}

fn ways(network: &Network, curves: &Curves, reached: Option<&Reached>, grid: &Grid) -> Vec<Way> {
    let targets = reached.map(|reached| {
        let job = &reached.job;
        Targets::new(&job.aim, &job.crossovers, &reached.alignments, grid)
    });
    let order: Vec<&str> = match reached {
        Some(reached) => reached.job.ways.iter().map(|way| &*way.name).collect(),
        None => curves.ways.iter().map(|(driver, _)| &**driver).collect(),
    };
    (order.into_iter().enumerate())
        .filter_map(|(number, driver)| {
            let (_, sound) = curves.ways.iter().find(|(name, _)| name == driver)?;
            Some(Way {
                driver: driver.to_owned(),
                level_db: level_db_series(sound),
                phase_deg: phase_deg_series(sound),
                transfer_db: transfer_db(network, driver, curves),
                target_db: targets.as_ref().zip(reached).map(|(targets, reached)| {
                    let aim = reached.figures.level_db;
                    let target = targets.ways[number].level_db.iter();
                    target.map(|db| aim + db).collect()
                }),
                match_db: reached.map(|reached| reached.figures.match_db[number]),
            })
        })
        .collect()
}

/// Voltage across a driver against the amplifier's open-circuit voltage.
fn transfer_db(network: &Network, driver: &str, curves: &Curves) -> Vec<f64> {
    let between = network.parts().values().find_map(|part| match &part.kind {
        PartKind::Driver {
            driver: name,
            between,
            ..
        } if name == driver => Some(*between),
        _ => None,
    });
    let points = curves.system.len();
    let Some([plus, minus]) = between else {
        return vec![f64::NAN; points];
    };
    let volts = |node: NodeId, i: usize| {
        let name = network.node_name(node);
        let found = curves.nodes.iter().find(|(node, _)| node == name);
        found.map_or(Complex64::ZERO, |(_, volts)| volts.at(i))
    };
    (0..points)
        .map(|i| {
            let ratio = (volts(plus, i) - volts(minus, i)).norm() / REFERENCE_V;
            (20.0 * ratio.log10()).max(solver::sound::FLOOR_DB)
        })
        .collect()
}

/// −dφ/dω of a sound, in ms, by differences over a sixth of an octave, so that the noise of a
/// measurement does not hide it; no number where nothing sounds.
fn group_delay_ms(grid: &Grid, sound: &Spectrum) -> Vec<f64> {
    let phase = unwrap_deg(&phase_deg_series(sound));
    let omega = grid.omega();
    let last = grid.len() - 1;
    (0..=last)
        .map(|i| {
            if level_db(sound.at(i)) < -100.0 {
                return f64::NAN;
            }
            let (a, b) = (i.saturating_sub(TWELFTH), (i + TWELFTH).min(last));
            -(phase[b] - phase[a]).to_radians() / (omega[b] - omega[a]) * 1e3
        })
        .collect()
}
