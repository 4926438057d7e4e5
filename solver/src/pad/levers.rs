//! What may be changed in the way of a driver to move its level, and what each change and every two together do.

use std::ops::RangeInclusive;

use netlist::network::{Network, NodeId, Part, PartKind, numbered_name};
use netlist::project::{Stock, StockKind};
use netlist::quantity::Ohms;
use rayon::prelude::*;
use serde::{Serialize, Serializer};

use super::trials::mean_and_rms;
use super::walk::driver_ends;
use crate::nodal::{Drive, Plan, Solution, Values, Workspace};
use crate::search::{Job, choose_alignments, set_value};
use crate::spectrum::Spectrum;
use crate::stock::{enough, left_by, part_choices, singles, stock_kind};

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
pub enum PlaceOfChange {
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
/// Values of a new resistor that are tried, ohm, and how far apart they are at least, as a ratio.
const NEW_OHM: RangeInclusive<f64> = 0.5..=70.0;
const NEW_APART: f64 = 1.06;

/// A part that may be exchanged, and what for.
pub(super) struct Exchange {
    /// Position in the network that has the new ones too.
    index: usize,
    pub(super) place: PlaceOfChange,
    pub(super) lever: Lever,
    /// Values with their losses.
    pub(super) choices: Vec<(f64, f64)>,
}

/// One or two parts in other values, and what that does.
pub(super) struct Tried {
    /// Positions among the exchanges and among their choices.
    pub(super) picks: Vec<(usize, usize)>,
    pub(super) change_db: f64,
    pub(super) uneven_db: f64,
    /// What more parts to buy and to solder count, dB.
    parts_db: f64,
}

impl Tried {
    /// How far off a step it is, dB.
    pub(super) fn missed_db(&self, level_db: f64) -> f64 {
        (self.change_db - level_db).hypot(self.uneven_db) + self.parts_db
    }
}

/// A driver's level in its band, with other values in its network.
#[derive(Clone)]
struct Trial<'a> {
    drive: &'a Drive,
    plan: Plan,
    values: Values,
    workspace: Workspace,
    solution: Solution,
    output: usize,
    weight: Vec<f64>,
    before_db: Vec<f64>,
}

impl<'a> Trial<'a> {
    fn new(job: &'a Job, network: &Network, way: usize) -> Option<Self> {
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
            drive: &job.drive,
            values: Values::of(network),
            solution: Solution::new(&plan, &workspace),
            plan,
            workspace,
            output,
            weight: targets.ways[way].weight.clone(),
            before_db: Vec::new(),
        };
        trial.before_db = trial.levels_db(&trial.values.clone());
        Some(trial)
    }

    /// Voltage at the driver, dB of 1 V.
    fn levels_db(&mut self, values: &Values) -> Vec<f64> {
        (self.plan).run(values, self.drive, &mut self.workspace, &mut self.solution);
        let outputs = self.plan.driver_outputs();
        let (output, _) = outputs.into_iter().nth(self.output).expect("it is one");
        let volts = self.solution.output(output);
        (volts.iter())
            .map(|volts| 20.0 * volts.norm().log10())
            .collect()
    }

    /// Mean change of the level with these values and losses, and its rms about the mean; dB.
    fn change(&mut self, exchanged: &[(usize, (f64, f64))]) -> (f64, f64) {
        let mut values = self.values.clone();
        for &(index, (value, loss)) in exchanged {
            (values.value[index], values.loss[index]) = (value, loss);
        }
        let after_db = self.levels_db(&values);
        mean_and_rms(&self.weight, |i| after_db[i] - self.before_db[i])
    }
}

/// The parts of a driver's way that may be exchanged, and the resistors that may be put in.
pub(super) struct Levers<'a> {
    /// With a resistor before the driver that is as good as a wire, and one across it that is as good as none.
    network: Network,
    /// Their positions.
    new: [usize; 2],
    trial: Trial<'a>,
    pub(super) exchanges: Vec<Exchange>,
}

impl<'a> Levers<'a> {
    /// Of a way of a job; `block` says which parts of the network are in it. `None` where the network cannot be solved.
    pub(super) fn new(job: &'a Job, network: &Network, way: usize, block: &[bool]) -> Option<Self> {
        let (network, new) = with_new_resistors(network, &job.ways[way].name)?;
        let trial = Trial::new(job, &network, way)?;
        let mut levers = Self {
            network,
            new,
            trial,
            exchanges: Vec::new(),
        };
        let parts = 0..levers.network.parts().len();
        let mut exchanges: Vec<Exchange> = (parts)
            .filter(|index| new.contains(index) || block[*index])
            .filter_map(|index| levers.exchange(job, index))
            .collect();
        // New ones move nothing yet, and must not fall out for that.
        let moves = |one: &Exchange| match one.place {
            PlaceOfChange::InPlace => one.lever.tenth_db.abs(),
            _ => f64::INFINITY,
        };
        exchanges.sort_by(|a, b| moves(b).total_cmp(&moves(a)));
        exchanges.truncate(PARTS + new.len());
        levers.exchanges = exchanges;
        Some(levers)
    }

    /// What a part may be exchanged for.
    fn exchange(&mut self, job: &Job, index: usize) -> Option<Exchange> {
        let (part, own) = self.network.parts().get_index(index)?;
        let place = match self.new.iter().position(|&at| at == index) {
            Some(0) => PlaceOfChange::BeforeDriver,
            Some(_) => PlaceOfChange::AcrossDriver,
            None => PlaceOfChange::InPlace,
        };
        let (kind, value_si) = (stock_kind(&own.kind)?, own.value_si()?);
        let loss_ohm = own.loss_ohm().unwrap_or(0.0);
        if own.fixed {
            return None;
        }
        let stock = self.left_beside(&job.stock, &[index]);
        let mut choices: Vec<(f64, f64)> = match place {
            PlaceOfChange::InPlace => part_choices(&stock, index, kind, value_si, loss_ohm, VALUES)
                .map_or_else(Vec::new, |found| found.singles().choices)
                .into_iter()
                .map(|one| (one.value_si, one.loss_ohm))
                .collect(),
            _ => {
                let mut new: Vec<(f64, f64)> = (singles(&stock, kind, loss_ohm).into_iter())
                    .filter(|one| NEW_OHM.contains(&one.value_si))
                    .map(|one| (one.value_si, one.loss_ohm))
                    .collect();
                new.dedup_by(|later, kept| later.0 < NEW_APART * kept.0);
                new
            }
        };
        choices.retain(|(value, _)| (value / value_si - 1.0).abs() > 1e-6);
        choices.dedup_by(|a, b| a.0.total_cmp(&b.0).is_eq());
        let part = part.clone();
        let (tenth_db, uneven_db) = self.trial.change(&[(index, (1.1 * value_si, loss_ohm))]);
        Some(Exchange {
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
        })
    }

    /// What is left of a stock beside all parts but these; new ones take nothing yet.
    fn left_beside(&self, stock: &Stock, but: &[usize]) -> Stock {
        let parts = self.network.parts().values().enumerate();
        let others = parts.filter(|(at, _)| !but.contains(at) && !self.new.contains(at));
        left_by(stock, others.map(|(_, part)| part))
    }

    /// Whether the stock has all that is picked at once.
    pub(super) fn can_be_had(&self, stock: &Stock, picks: &[(usize, usize)]) -> bool {
        let picked = || picks.iter().map(|&(a, i)| (&self.exchanges[a], i));
        let but: Vec<usize> = picked().map(|(one, _)| one.index).collect();
        let wanted: Vec<(StockKind, f64)> = picked()
            .map(|(one, i)| (one.lever.kind, one.choices[i].0))
            .collect();
        enough(&self.left_beside(stock, &but), &wanted)
    }

    /// What is missing at the driver of the voltage that the amplifier gives without load, in the mean, dB.
    pub(super) fn taken_db(&self) -> f64 {
        let open_db = 20.0 * self.trial.drive.open_circuit_v.log10();
        mean_and_rms(&self.trial.weight, |i| open_db - self.trial.before_db[i]).0
    }

    /// Every part in its other values, and every two together. Each is worked out by itself, so that it is the same
    /// on any number of threads.
    pub(super) fn tried(&self) -> Vec<Tried> {
        let choices = |a: usize| (0..self.exchanges[a].choices.len()).map(move |i| (a, i));
        let mut sets: Vec<Vec<(usize, usize)>> = Vec::new();
        for a in 0..self.exchanges.len() {
            sets.extend(choices(a).map(|one| vec![one]));
            for b in 0..a {
                sets.extend(
                    choices(a).flat_map(|one| choices(b).map(move |other| vec![one, other])),
                );
            }
        }
        let of = |trial: &mut Trial<'_>, picks: Vec<(usize, usize)>| {
            let picked = picks.iter().map(|&(a, i)| (&self.exchanges[a], i));
            let values: Vec<_> = (picked.clone())
                .map(|(one, i)| (one.index, one.choices[i]))
                .collect();
            let new = picked
                .filter(|(one, _)| one.place != PlaceOfChange::InPlace)
                .count();
            let (change_db, uneven_db) = trial.change(&values);
            Tried {
                change_db,
                uneven_db,
                parts_db: SECOND_DB * (picks.len() - 1) as f64 + NEW_DB * new as f64,
                picks,
            }
        };
        (sets.into_par_iter())
            .map_init(|| self.trial.clone(), of)
            .collect()
    }

    /// The network with these values, without those of the new resistors that are not put in.
    pub(super) fn changed(&self, picks: &[(usize, usize)]) -> Network {
        let mut network = self.network.clone();
        let put_in = |index: usize| (picks.iter()).any(|&(a, _)| self.exchanges[a].index == index);
        for &(a, i) in picks {
            let (value, loss) = self.exchanges[a].choices[i];
            let part = &mut network.parts_mut()[self.exchanges[a].index];
            part.made_of = None;
            set_value(&mut part.kind, value, loss);
        }
        // One in the lead that is not put in stays as the wire that it is; one across goes.
        if !put_in(self.new[1]) {
            network.parts_mut().shift_remove_index(self.new[1]);
        }
        network
    }
}

/// The network with a resistor before the driver that is as good as a wire, and one across it that is as good as
/// none; and their positions.
fn with_new_resistors(network: &Network, driver: &str) -> Option<(Network, [usize; 2])> {
    let mut network = network.clone();
    let (part, [hot, back]) = driver_ends(&network, driver)?;
    let part = part.clone();
    let name = numbered_name("behind", |name| network.find_node(name).is_some());
    let behind = network.node(&name);
    for node in network.parts_mut()[&part].kind.nodes_mut() {
        if *node == hot {
            *node = behind;
        }
    }
    let mut add = |between: [NodeId; 2], ohm: f64| {
        let name = numbered_name("R", |name| network.parts().contains_key(name));
        let resistance = Ohms(ohm);
        let kind = PartKind::Resistor {
            resistance,
            between,
        };
        network.insert(name, Part::new(kind));
        network.parts().len() - 1
    };
    let new = [
        add([hot, behind], NO_SERIES_OHM),
        add([behind, back], NO_SHUNT_OHM),
    ];
    Some((network, new))
}
