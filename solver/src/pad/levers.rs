//! What may be changed in the way of a driver to move its level, and what each change and every two together do.

use netlist::network::{Network, NodeId, Part, PartKind, numbered_name};
use netlist::project::StockKind;
use netlist::quantity::Ohms;
use rayon::prelude::*;
use serde::{Serialize, Serializer};

use crate::nodal::{Drive, Plan, Solution, Values, Workspace};
use crate::search::{Job, choose_alignments, set_value};
use crate::spectrum::Spectrum;
use crate::stock::{left_by, part_choices, stock_kind};

/// What one part does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// Its name.
    pub part: String,
    /// Its kind.
    #[serde(serialize_with = "kind_word")]
    pub kind: StockKind,
    /// Its value, SI.
    pub value_si: f64,
    /// Change of the driver's level in its band with a tenth more of it, dB.
    #[serde(rename = "tenth_more_db")]
    pub tenth_db: f64,
    /// Rms of that change about its mean over the band, dB.
    pub uneven_db: f64,
}

/// Where a part to change is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Where {
    /// It is in the network.
    #[serde(rename = "network")]
    InPlace,
    /// A new one in the lead right before the driver.
    BeforeDriver,
    /// A new one from terminal to terminal of the driver.
    AcrossDriver,
}

/// A kind by its word.
pub(super) fn kind_word<S: Serializer>(kind: &StockKind, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(kind.word())
}

/// Values of the stock on either side of the one in the network that are tried.
const VALUES: usize = 6;
/// Most parts of a way that are tried, those first that move the level most.
const PARTS: usize = 10;
/// A second part to change, and a part that is not there yet, must make a step so much better, dB.
const SECOND_DB: f64 = 0.15;
const NEW_DB: f64 = 0.05;
/// A resistor that is not there yet, before the driver and across it, ohm.
const NO_SERIES_OHM: f64 = 1e-6;
const NO_SHUNT_OHM: f64 = 1e9;
/// Values from which those of a new resistor are tried, ohm; the stock's steps about them reach far enough.
const NEW_OHM: [f64; 2] = [1.5, 22.0];

/// A part that may be changed, and what to.
pub(super) struct LeverChoices {
    /// Position in the network that has the new ones too.
    pub(super) index: usize,
    pub(super) place: Where,
    pub(super) lever: Lever,
    /// Values with their losses.
    pub(super) choices: Vec<(f64, f64)>,
}

/// One or two candidates in other values, and what that does.
pub(super) struct Tried {
    /// Positions among the candidates and among their choices.
    pub(super) picks: Vec<(usize, usize)>,
    pub(super) change_db: f64,
    pub(super) uneven_db: f64,
    /// What more parts to buy and to solder count, dB.
    pub(super) trouble_db: f64,
}

impl Tried {
    /// How far off a step it is, dB.
    pub(super) fn missed_db(&self, level_db: f64) -> f64 {
        (self.change_db - level_db).hypot(self.uneven_db) + self.trouble_db
    }
}

/// A driver's level in its band, in a network some of whose parts have other values.
#[derive(Clone)]
pub(super) struct Trial<'a> {
    network: Network,
    drive: &'a Drive,
    plan: Plan,
    workspace: Workspace,
    solution: Solution,
    output: usize,
    weight: Vec<f64>,
    before: Vec<f64>,
}

impl<'a> Trial<'a> {
    pub(super) fn new(job: &'a Job, network: &Network, way: usize) -> Option<Self> {
        let plan = Plan::compile(network).ok()?;
        let z_of = |name: &String| {
            let way = job.ways.iter().find(|way| way.name == *name)?;
            Some(&way.z_ohm)
        };
        let loads: Option<Vec<&Spectrum>> = plan.drivers().iter().map(z_of).collect();
        let workspace = Workspace::new(&plan, &job.grid, &loads?).ok()?;
        let output = (plan.drivers().iter()).position(|name| *name == job.ways[way].name)?;
        let targets = job.targets(&choose_alignments(job));
        let mut trial = Self {
            network: network.clone(),
            drive: &job.drive,
            solution: Solution::new(&plan, &workspace),
            plan,
            workspace,
            output,
            weight: targets.ways[way].weight.clone(),
            before: Vec::new(),
        };
        trial.before = trial.levels_db();
        Some(trial)
    }

    /// Voltage at the driver, dB of 1 V.
    fn levels_db(&mut self) -> Vec<f64> {
        let values = Values::of(&self.network);
        (self.plan).run(&values, self.drive, &mut self.workspace, &mut self.solution);
        let outputs = self.plan.driver_outputs();
        let (output, _) = outputs.into_iter().nth(self.output).expect("it is one");
        let volts = self.solution.output(output);
        (volts.iter())
            .map(|volts| 20.0 * volts.norm().log10())
            .collect()
    }

    /// Mean change of the level with these values and losses, and its rms about the mean; dB.
    fn change(&mut self, values: &[(usize, (f64, f64))]) -> (f64, f64) {
        let parts = self.network.parts_mut();
        let old: Vec<PartKind> = (values.iter())
            .map(|&(index, (value, loss))| {
                let old = parts[index].kind.clone();
                set_value(&mut parts[index].kind, value, loss);
                old
            })
            .collect();
        let after = self.levels_db();
        for (&(index, _), old) in values.iter().zip(old) {
            self.network.parts_mut()[index].kind = old;
        }
        let (mut sum, mut square, mut weights) = (0.0, 0.0, f64::MIN_POSITIVE);
        for ((after, before), weight) in after.iter().zip(&self.before).zip(&self.weight) {
            let change = after - before;
            sum += weight * change;
            square += weight * change * change;
            weights += weight;
        }
        let mean = sum / weights;
        (mean, (square / weights - mean * mean).max(0.0).sqrt())
    }

    /// What is missing at the driver of the voltage that the amplifier gives without load, in the mean, dB.
    pub(super) fn taken_db(&self) -> f64 {
        let (mut sum, mut weights) = (0.0, f64::MIN_POSITIVE);
        for (level, weight) in self.before.iter().zip(&self.weight) {
            sum += weight * (20.0 * self.drive.open_circuit_v.log10() - level);
            weights += weight;
        }
        sum / weights
    }
}

/// The network with a resistor before the driver that is as good as a wire, and one across it that is as good as
/// none; and their positions.
pub(super) fn with_new_resistors(network: &Network, driver: &str) -> Option<(Network, [usize; 2])> {
    let mut network = network.clone();
    let index = (network.parts().values()).position(
        |part| matches!(&part.kind, PartKind::Driver { driver: name, .. } if name == driver),
    )?;
    let [a, b] = network.parts()[index].kind.between()?;
    let (hot, back) = if a == NodeId::GND { (b, a) } else { (a, b) };
    let name = numbered_name("behind", |name| network.find_node(name).is_some());
    let behind = network.node(&name);
    for node in network.parts_mut()[index].kind.nodes_mut() {
        if *node == hot {
            *node = behind;
        }
    }
    let mut add = |between: [NodeId; 2], ohm: f64| {
        let name = numbered_name("R", |name| network.parts().contains_key(name));
        let resistance = Ohms(ohm);
        network.insert(
            name,
            Part::new(PartKind::Resistor {
                resistance,
                between,
            }),
        );
        network.parts().len() - 1
    };
    let new = [
        add([hot, behind], NO_SERIES_OHM),
        add([behind, back], NO_SHUNT_OHM),
    ];
    Some((network, new))
}

/// Parts of the way that can be changed, and the new ones.
pub(super) fn candidates(
    job: &Job,
    trial: &mut Trial<'_>,
    block: &[bool],
    new: [usize; 2],
) -> Vec<LeverChoices> {
    let mut candidates: Vec<LeverChoices> = Vec::new();
    for index in 0..trial.network.parts().len() {
        let (part, own) = trial.network.parts().get_index(index).expect("one of them");
        let (part, fixed) = (part.clone(), own.fixed);
        let place = match new.iter().position(|&at| at == index) {
            Some(0) => Where::BeforeDriver,
            Some(_) => Where::AcrossDriver,
            None => Where::InPlace,
        };
        if fixed || (place == Where::InPlace && !block[index]) {
            continue;
        }
        let (Some(kind), Some(value_si)) = (stock_kind(&own.kind), own.value_si()) else {
            continue;
        };
        let loss_ohm = own.loss_ohm().unwrap_or(0.0);
        let about = match place {
            Where::InPlace => vec![value_si],
            _ => NEW_OHM.to_vec(),
        };
        let others = trial.network.parts().values().enumerate();
        let others = others.filter(|(other, _)| *other != index && !new.contains(other));
        let stock = left_by(&job.stock, others.map(|(_, part)| part));
        let mut choices: Vec<(f64, f64)> = Vec::new();
        for about in about {
            let found = part_choices(&stock, index, kind, about, loss_ohm, VALUES);
            let singles = found.map_or_else(Vec::new, |found| found.singles().choices);
            choices.extend(singles.iter().map(|one| (one.value_si, one.loss_ohm)));
        }
        choices.retain(|(value, _)| (value / value_si - 1.0).abs() > 1e-6);
        choices.sort_by(|a, b| a.0.total_cmp(&b.0));
        choices.dedup_by(|a, b| a.0.total_cmp(&b.0).is_eq());
        let (tenth_db, uneven_db) = trial.change(&[(index, (1.1 * value_si, loss_ohm))]);
        candidates.push(LeverChoices {
            index,
            place,
            lever: Lever {
                part,
                kind,
                value_si,
                tenth_db,
                uneven_db,
            },
            choices,
        });
    }
    // New ones move nothing yet, and must not fall out for that.
    let moves = |c: &LeverChoices| match c.place {
        Where::InPlace => c.lever.tenth_db.abs(),
        _ => f64::INFINITY,
    };
    candidates.sort_by(|a, b| moves(b).total_cmp(&moves(a)));
    candidates.truncate(PARTS + new.len());
    candidates
}

/// Every candidate in its other values, and every two together. Each is worked out by itself, so that it is the same
/// on any number of threads.
pub(super) fn tried(candidates: &[LeverChoices], trial: &Trial<'_>) -> Vec<Tried> {
    let choices = |c: usize| 0..candidates[c].choices.len();
    let mut sets: Vec<Vec<(usize, usize)>> = Vec::new();
    for a in 0..candidates.len() {
        sets.extend(choices(a).map(|i| vec![(a, i)]));
        for b in 0..a {
            sets.extend(choices(a).flat_map(|i| choices(b).map(move |j| vec![(a, i), (b, j)])));
        }
    }
    (sets.into_par_iter())
        .map_init(
            || trial.clone(),
            |trial, picks| {
                let values: Vec<(usize, (f64, f64))> = (picks.iter())
                    .map(|&(c, i)| (candidates[c].index, candidates[c].choices[i]))
                    .collect();
                let (change_db, uneven_db) = trial.change(&values);
                let new = |(c, _): &&(usize, usize)| candidates[*c].place != Where::InPlace;
                let new = picks.iter().filter(new).count();
                Tried {
                    change_db,
                    uneven_db,
                    trouble_db: SECOND_DB * (picks.len() - 1) as f64 + NEW_DB * new as f64,
                    picks,
                }
            },
        )
        .collect()
}

/// The network with these values, without those of the new resistors that are not put in.
pub(super) fn changed(
    with_new: &Network,
    new: [usize; 2],
    candidates: &[LeverChoices],
    picks: &[(usize, usize)],
) -> Network {
    let mut network = with_new.clone();
    for &(c, i) in picks {
        let (value, loss) = candidates[c].choices[i];
        let part = &mut network.parts_mut()[candidates[c].index];
        part.made_of = None;
        set_value(&mut part.kind, value, loss);
    }
    let put_in = |index: usize| picks.iter().any(|&(c, _)| candidates[c].index == index);
    // One in the lead that is not put in stays as the wire that it is; one across goes.
    if !put_in(new[1]) {
        network.parts_mut().shift_remove_index(new[1]);
    }
    network
}
