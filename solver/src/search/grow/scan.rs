//! What every possible move would do to the goal, without solving the network again.
//!
//! From one solution with its transfer impedances each move is a bilinear law ([`Transfers`]). Because the other
//! values are fitted anew afterwards, a move is judged by what is left of the residuals `r'` after the
//! best small step of all present values: `‖r'‖² − (Jᵀr')ᵀ (JᵀJ + λ diag)⁻¹ Jᵀr'`.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use netlist::network::Network;

use super::place::{Move, Place, block_of, places};
use super::problem::Problem;
use super::respond::{apply, bilinear, solve_lower};
use super::section::{Catalogue, Section};
use crate::goal::{Objective, TermSounds};
use crate::least_squares::{Residuals, dots};
use crate::nodal::{BranchChange, Plan, Transfers, Values, Workspace};
use crate::spectrum::Spectrum;

/// A move with what it is expected to come to.
#[derive(Debug, Clone)]
pub struct Promise {
    /// The move.
    pub step: Move,
    /// Goal to be expected after the other values have followed.
    pub cost: f64,
}

/// Damping of the step that the present values are expected to take.
const DAMPING: f64 = 0.05;

/// A network prepared to look at moves.
pub struct Scan<'a> {
    problem: &'a Problem<'a>,
    network: &'a Network,
    objective: Objective,
    transfers: Transfers,
    /// Voltage of each driver for one volt at `in`.
    unit: Vec<Spectrum>,
    input: Spectrum,
    /// Output impedance of the amplifier, ohm.
    source: Spectrum,
    residuals: Vec<f64>,
    jacobian: Vec<f64>,
    /// Part of each column of the slopes; the level has none.
    parts: Vec<Option<usize>>,
    normal: DMatrix<f64>,
    gradient: DVector<f64>,
    level_db: f64,
}

/// The block of a way, and the values that follow a move in it.
struct ScannedBlock {
    /// Ways that it feeds.
    ways: Vec<usize>,
    /// For each part of the network whether it is in it.
    inside: Vec<bool>,
    /// Columns of the slopes that belong to its parts, and to the level.
    columns: Vec<usize>,
    normal: Option<Cholesky<f64, Dyn>>,
    gradient: DVector<f64>,
}

impl std::fmt::Debug for Scan<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Scan")
            .field("network", &self.network)
            .finish_non_exhaustive()
    }
}

/// Room for one candidate.
struct ScanTrial {
    voltage: Vec<Spectrum>,
    pressure: Vec<Spectrum>,
    input: Spectrum,
    /// `q / (1 + d q)`.
    factor: Spectrum,
    residuals: Vec<f64>,
    along: DVector<f64>,
}

impl<'a> Scan<'a> {
    /// Solves `network`, whose values are fitted, at an aim of `level_db`.
    #[must_use]
    pub fn new(problem: &'a Problem<'a>, network: &'a Network, level_db: f64) -> Option<Self> {
        let free = problem.objective(network)?;
        let mut objective = free.objective;
        let x = objective.start(level_db);
        let (rows, columns) = (objective.residuals(), objective.variables());
        let mut residuals = vec![0.0; rows];
        let mut jacobian = vec![0.0; rows * columns];
        objective.evaluate(&x, &mut residuals, true);
        objective.slopes(&mut jacobian);
        let level_db = objective.level_at(&x);
        let (mut normal, gradient) =
            crate::least_squares::normal_equations(&jacobian, &residuals, columns);
        for k in 0..columns {
            normal[(k, k)] += DAMPING * normal[(k, k)] + 1e-9;
        }
        let plan = Plan::compile(network).ok()?;
        let loads: Vec<&Spectrum> = problem
            .ways
            .iter()
            .map(|&way| &problem.job.ways[way].z_ohm)
            .collect();
        let mut workspace = Workspace::new(&plan, &problem.job.grid, &loads).ok()?;
        let transfers = Transfers::new(&plan, &Values::of(network), &mut workspace);
        Some(Self {
            unit: plan
                .driver_outputs()
                .map(|(output, _)| transfers.output(output))
                .collect(),
            input: transfers.input_admittance(),
            source: Spectrum::from_fn(transfers.points(), |i| {
                objective.drive().output_impedance_ohm.at(i)
            }),
            transfers,
            problem,
            network,
            objective,
            residuals,
            jacobian,
            parts: free
                .variables
                .iter()
                .map(|variable| Some(variable.part))
                .chain(std::iter::repeat(None))
                .take(columns)
                .collect(),
            normal,
            gradient,
            level_db,
        })
    }

    fn block(&self, way: usize) -> ScannedBlock {
        let driver = &self.problem.job.ways[self.problem.ways[way]].name;
        let inside = block_of(self.network, driver);
        let columns: Vec<usize> = (0..self.parts.len())
            .filter(|&k| self.parts[k].is_none_or(|part| inside[part]))
            .collect();
        let n = columns.len();
        let normal = DMatrix::from_fn(n, n, |i, j| self.normal[(columns[i], columns[j])]);
        ScannedBlock {
            ways: self.ways_of(&inside),
            inside,
            normal: normal.cholesky(),
            gradient: DVector::from_fn(n, |i, _| self.gradient[columns[i]]),
            columns,
        }
    }

    fn trial(&self, block: &ScannedBlock) -> ScanTrial {
        let heard = self.objective.heard();
        ScanTrial {
            voltage: heard.voltage.to_vec(),
            pressure: heard.pressure.to_vec(),
            input: self.input.clone(),
            factor: Spectrum::zeros(self.input.len()),
            residuals: self.residuals.clone(),
            along: block.gradient.clone(),
        }
    }

    /// The ways that one block feeds.
    fn ways_of(&self, inside: &[bool]) -> Vec<usize> {
        let drivers = self
            .network
            .parts()
            .values()
            .enumerate()
            .filter_map(|(index, part)| {
                let driver = matches!(part.kind, netlist::network::PartKind::Driver { .. });
                driver.then_some(inside[index])
            });
        drivers
            .enumerate()
            .filter(|(_, inside)| *inside)
            .map(|(way, _)| way)
            .collect()
    }

    /// All sections of the catalogue at all places of the block that feeds way number `way` of the
    /// problem: of every place and kind of section the best sizes.
    #[must_use]
    pub fn additions(&self, way: usize, catalogue: &Catalogue) -> Vec<Promise> {
        let block = self.block(way);
        let mut trial = self.trial(&block);
        let mut promises = Vec::new();
        for place in places(self.network, &block.inside) {
            let change = self.change(&place);
            let mut best: [Option<(f64, Section)>; 8] = [None; 8];
            for (section, q) in catalogue.joined(place.joining()) {
                let cost = self.promise(&block, &change, q, &mut trial);
                let kind = kind_of(*section);
                if best[kind].is_none_or(|(least, _)| cost < least) {
                    best[kind] = Some((cost, *section));
                }
            }
            for (cost, section) in best.into_iter().flatten() {
                promises.push(Promise {
                    step: Move::Add(place.clone(), section),
                    cost,
                });
            }
        }
        promises
    }

    /// Sections that [`Scan::additions`] tries at all places together, the best of which it gives.
    #[must_use]
    pub fn trials(&self, way: usize, catalogue: &Catalogue) -> usize {
        let places = places(self.network, &self.block(way).inside);
        let sections = |place: &Place| catalogue.joined(place.joining()).len();
        places.iter().map(sections).sum()
    }

    /// Every part of the block of `way` taken out, shorted, or exchanged for a part of another kind.
    #[must_use]
    pub fn reductions(&self, way: usize, catalogue: &Catalogue) -> Vec<Promise> {
        let block = self.block(way);
        let mut trial = self.trial(&block);
        let mut promises = Vec::new();
        for (index, branch) in self.transfers.branches().iter().enumerate() {
            let part = &self.network.parts()[branch.part];
            let Some(own) = crate::stock::stock_kind(&part.kind) else {
                continue;
            };
            if !block.inside[branch.part] || part.fixed {
                continue;
            }
            let change = self.transfers.across(branch.nodes);
            let y = self.transfers.branch_admittance(index);
            let out = Spectrum::from_fn(y.len(), |i| -y.at(i));
            let cost = self.promise(&block, &change, &out, &mut trial);
            promises.push(Promise {
                step: Move::Open(branch.part),
                cost,
            });
            // An admittance that is large beside all others, and not so large that digits are lost.
            let wire = Spectrum::from_fn(y.len(), |i| change.divisor.at(i).inv() * WIRE);
            let cost = self.promise(&block, &change, &wire, &mut trial);
            promises.push(Promise {
                step: Move::Short(branch.part),
                cost,
            });
            let mut best: [Option<(f64, Section)>; 8] = [None; 8];
            for (section, q) in &catalogue.in_series {
                let kind = kind_of(*section);
                let same = matches!(
                    (own, kind),
                    (netlist::project::StockKind::Resistor, 1)
                        | (netlist::project::StockKind::Inductor, 2)
                        | (netlist::project::StockKind::Capacitor, 4)
                );
                if section.part_count() != 1 || same {
                    continue;
                }
                let difference = Spectrum::from_fn(y.len(), |i| q.at(i) - y.at(i));
                let cost = self.promise(&block, &change, &difference, &mut trial);
                if best[kind].is_none_or(|(least, _)| cost < least) {
                    best[kind] = Some((cost, *section));
                }
            }
            for (cost, section) in best.into_iter().flatten() {
                promises.push(Promise {
                    step: Move::Exchange(branch.part, section),
                    cost,
                });
            }
        }
        promises
    }

    /// What a quantity at a place does.
    fn change(&self, place: &Place) -> BranchChange {
        match place {
            Place::Across(nodes) => self.transfers.across(*nodes),
            Place::InLead { node, parts } => {
                let branches = self.transfers.branches();
                let of = |part: &usize| branches.iter().position(|branch| branch.part == *part);
                let group: Vec<usize> = parts.iter().filter_map(of).collect();
                self.transfers.in_series(*node, &group)
            }
        }
    }

    /// Goal to be expected with `q` in a block that feeds `ways`.
    fn promise(
        &self,
        block: &ScannedBlock,
        change: &BranchChange,
        q: &Spectrum,
        trial: &mut ScanTrial,
    ) -> f64 {
        let only = self.respond(&block.ways, change, q, trial);
        let heard = TermSounds {
            voltage: &trial.voltage,
            pressure: &trial.pressure,
            admittance: (&trial.input.re, &trial.input.im),
            level_db: self.level_db,
        };
        self.objective
            .measure
            .fill(&heard, only, &mut trial.residuals);
        self.remains(block, only, trial)
    }

    /// The sound and the admittance with `q`; gives the way whose residuals alone have moved, if it is
    /// just one.
    fn respond(
        &self,
        ways: &[usize],
        change: &BranchChange,
        q: &Spectrum,
        trial: &mut ScanTrial,
    ) -> Option<usize> {
        bilinear(change, q, &self.input, &mut trial.factor, &mut trial.input);
        let drive = self.objective.drive();
        let stiff = drive.output_impedance_ohm.is_none();
        for way in 0..self.unit.len() {
            let within = ways.contains(&way);
            if stiff && !within {
                continue;
            }
            let own = within.then(|| &change.output[way]);
            apply(
                &self.unit[way],
                own,
                &trial.factor,
                &trial.input,
                drive.open_circuit_v,
                &self.source,
                &self.objective.sound[way],
                &mut trial.voltage[way],
                &mut trial.pressure[way],
            );
        }
        match ways {
            [way] if stiff => Some(*way),
            _ => None,
        }
    }

    /// What is left of the residuals after the best step of the present values.
    fn remains(&self, block: &ScannedBlock, only: Option<usize>, trial: &mut ScanTrial) -> f64 {
        let rows = self.residuals.len();
        let measure = &self.objective.measure;
        let mut square = dots(&self.residuals, [&self.residuals])[0];
        trial.along.copy_from(&block.gradient);
        for range in measure.touched(only) {
            let (before, after) = (
                &self.residuals[range.clone()],
                &mut trial.residuals[range.clone()],
            );
            square -= dots(before, [before])[0];
            square += dots(after, [after])[0];
            for (after, before) in after.iter_mut().zip(before) {
                *after -= before;
            }
            let after = &trial.residuals[range.clone()];
            let column = |k: usize| &self.jacobian[block.columns[k] * rows..][range.clone()];
            let columns = block.columns.len();
            let fours = columns / 4 * 4;
            for k in (0..fours).step_by(4) {
                let four = dots(
                    after,
                    [column(k), column(k + 1), column(k + 2), column(k + 3)],
                );
                for (i, product) in four.into_iter().enumerate() {
                    trial.along[k + i] += product;
                }
            }
            for k in fours..columns {
                trial.along[k] += dots(after, [column(k)])[0];
            }
        }
        if let Some(normal) = &block.normal {
            let lower = normal.l_dirty();
            solve_lower(lower, &mut trial.along);
            square -= trial.along.norm_squared();
        }
        if square.is_finite() {
            square.max(0.0)
        } else {
            f64::INFINITY
        }
    }
}

/// A wire's admittance over that of what it bridges.
const WIRE: f64 = 1e6;

/// Which kinds of parts a section has, as bits.
fn kind_of(section: Section) -> usize {
    usize::from(section.r_ohm.is_some())
        | usize::from(section.l_h.is_some()) << 1
        | usize::from(section.c_f.is_some()) << 2
}
