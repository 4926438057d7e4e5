//! What the page needs to compute: the compiled network, the drivers over frequency, and what is asked for.
//!
//! The page's script only runs what is worked out here: the steps of the plan ([`solver::nodal::PlanSteps`]), the
//! admittances and sounds of the drivers on two grids (the audio band, on which curves, load and heat are computed, and
//! the grid on which figures of merit are), the targets, and the values that the stock holds.
//! Numbers go as they are in memory, so that the page is within rounding of the program.

mod band;
mod bits;
mod merit;
mod parts;
mod save;
mod stock;

pub(crate) use save::Template;

use std::collections::BTreeMap;

use netlist::quantity::Quantity;
use netlist::table::LEAST_ROWS;
use serde::Serialize;
use solver::grid::Grid;
use solver::judge::{DIRECT_HZ, LIMITS, Limits};
use solver::loudspeaker::Loudspeaker;
use solver::nodal::{PlanError, PlanSteps};
use solver::programme::{Loudness, power_weights};
use solver::wiring::cable_ohm;

use super::Report;
use super::levels::PageLevel;
use band::PageBand;
use bits::Reals;
use merit::PageMerit;
use parts::{PagePart, parts};
use save::PageFile;
use stock::{PageStock, stock};

/// The script that computes: the solver, then curves and figures. Neither knows of the page.
pub(crate) const COMPUTE: [&str; 2] = [include_str!("solve.js"), include_str!("figures.js")];

/// The script of the page, in the order in which it is read.
pub(super) const PAGE: [&str; 12] = [
    include_str!("draw.js"),
    include_str!("words.js"),
    include_str!("change.js"),
    include_str!("save.js"),
    include_str!("overlay.js"),
    include_str!("ratings.js"),
    include_str!("cautions.js"),
    include_str!("buying.js"),
    include_str!("controls.js"),
    include_str!("bar.js"),
    include_str!("follow.js"),
    include_str!("start.js"),
];

/// Everything that is computed with.
#[derive(Debug, Serialize)]
pub(super) struct PageData {
    plan: PlanSteps,
    /// Of the parts, in the order of their values.
    names: Vec<String>,
    value: Vec<f64>,
    loss: Vec<f64>,
    drive: PageDrive,
    drivers: Vec<PageDriver>,
    audio: PageBand,
    noise: PageNoise,
    /// The driver of each way.
    ways: Vec<String>,
    delay_octaves: f64,
    aim: PageAim,
    /// What the figures of merit are counted from; nothing where they cannot be told.
    merit: Option<PageMerit>,
    parts: Vec<PagePart>,
    stock: BTreeMap<&'static str, PageStock>,
    pads: Vec<PageLevel>,
    /// What the page saves; nothing where it offers no file.
    save: Option<PageFile>,
    file: String,
    limits: Limits,
    /// Rows that a measured table has at the least.
    least_rows: usize,
    asked: PageAsked,
    direct: PageDirect,
}

#[derive(Debug, Serialize)]
struct PageDrive {
    volts: f64,
}

/// A driver: between which nodes, and whether its wires are swapped.
#[derive(Debug, Serialize)]
struct PageDriver {
    name: String,
    nodes: [usize; 2],
    inverted: bool,
}

/// Programme noise at full power.
#[derive(Debug, Serialize)]
struct PageNoise {
    /// Share of the power of each frequency.
    weights: Reals,
    /// Its volts for one of `drive`.
    gain: f64,
    /// Whether the power of the amplifier is stated.
    stated: bool,
}

#[derive(Debug, Serialize)]
struct PageAim {
    from_hz: f64,
    to_hz: f64,
    tilt_db: f64,
}

/// What the load is held against, and whether valves drive it.
#[derive(Debug, Serialize)]
struct PageAsked {
    least_ohm: Option<f64>,
    valves: bool,
}

/// What direct current sees: drivers as their voice coils.
#[derive(Debug, Serialize)]
struct PageDirect {
    omega: f64,
    siemens: Vec<f64>,
    /// Of what a meter at the loudspeaker does not see.
    cable_ohm: f64,
}

impl PageData {
    /// `None` of a loudspeaker without a network.
    pub(super) fn new(report: &Report<'_>) -> Result<Option<Self>, PlanError> {
        let project = report.project;
        let audio = Grid::audio_band();
        let Some(system) = Loudspeaker::new(project, audio.clone())? else {
            return Ok(None);
        };
        let loudness = Loudness::of(&project.amplifier);
        let volts = system.drive.open_circuit_v;
        let names = system.plan.part_names();
        let load = report.facts.check.load.as_ref();
        let coils = (system.drivers.iter()).map(|driver| driver.re_ohm.recip());
        Ok(Some(Self {
            plan: system.plan.steps(),
            names: names.to_vec(),
            value: system.values.value.clone(),
            loss: system.values.loss.clone(),
            drive: PageDrive { volts },
            drivers: drivers(&system),
            audio: PageBand::new(&system),
            noise: PageNoise {
                weights: Reals::new(&power_weights(&audio)),
                gain: loudness.open_circuit_v(system.nominal_output_ohm) / volts,
                stated: loudness.stated,
            },
            ways: (report.facts.ways.iter())
                .map(|way| way.driver.clone())
                .collect(),
            delay_octaves: super::facts::DELAY_OCTAVES,
            aim: PageAim {
                from_hz: project.aim.from.si(),
                to_hz: project.aim.to.si(),
                tilt_db: project.aim.tilt.si(),
            },
            merit: PageMerit::new(report)?,
            parts: parts(report, names),
            stock: stock(report),
            pads: super::pads::changes(report),
            save: report.made.template.as_ref().map(Template::page_file),
            file: report.file.to_owned(),
            limits: LIMITS,
            least_rows: LEAST_ROWS,
            asked: PageAsked {
                least_ohm: load.and_then(|load| load.minimum_ohm),
                valves: load.is_some_and(|load| load.taps.is_some()),
            },
            direct: PageDirect {
                omega: std::f64::consts::TAU * DIRECT_HZ,
                siemens: coils.collect(),
                cable_ohm: cable_ohm(project),
            },
        }))
    }

    /// Whether the script computes the curves of a picture.
    pub(super) fn computes(&self, id: &str) -> bool {
        COMPUTED.contains(&id) || (id == "phase" && self.merit.is_some())
    }
}

/// Pictures whose curves the script computes itself, the design's as well.
const COMPUTED: [&str; 5] = ["response", "sum", "load", "transfer", "group-delay"];

fn drivers(system: &Loudspeaker) -> Vec<PageDriver> {
    let plan = &system.plan;
    (plan.drivers().iter())
        .zip(plan.driver_outputs())
        .map(|(name, (output, inverted))| PageDriver {
            name: name.clone(),
            nodes: [output.positive.0, output.negative.0],
            inverted,
        })
        .collect()
}
