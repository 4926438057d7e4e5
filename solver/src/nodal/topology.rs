//! From the builder's network to branches: two-terminal admittances, and groups of coupled
//! windings whose admittances form a small symmetric block.

use indexmap::IndexMap;
use nalgebra::DMatrix;
use netlist::network::{Network, PartKind};
use num_complex::Complex64;

use super::PlanError;
use super::values::Values;

/// Index of `gnd` among the nodes.
pub(crate) const GND: usize = 0;
/// Index of `in` among the nodes.
pub(crate) const IN: usize = 1;

/// A two-terminal admittance. Its number is also the number of its admittance slot.
#[derive(Debug, Clone)]
pub(crate) struct Branch {
    pub(crate) nodes: [usize; 2],
    pub(crate) kind: BranchKind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BranchKind {
    Resistor {
        part: usize,
    },
    Inductor {
        part: usize,
    },
    Capacitor {
        part: usize,
    },
    Driver {
        part: usize,
        /// Its place among the drivers.
        driver: usize,
    },
    /// A coil of a [`Group`]; its own admittance is the group's diagonal entry.
    Winding,
}

impl BranchKind {
    /// Impedance at one angular frequency, ohm, `load` being that of a driver; `None` for a winding, which has none
    /// without the others of its group.
    pub(crate) fn impedance(
        self,
        values: &Values,
        omega: f64,
        load: impl Fn(usize) -> Complex64,
    ) -> Option<Complex64> {
        let (value, loss) = (&values.value, &values.loss);
        Some(match self {
            Self::Resistor { part } => value[part].into(),
            Self::Inductor { part } => Complex64::new(loss[part], omega * value[part]),
            Self::Capacitor { part } => Complex64::new(loss[part], -1.0 / (omega * value[part])),
            Self::Driver { driver, .. } => load(driver),
            Self::Winding => return None,
        })
    }
}

/// Coupled windings: the admittances are the inverse of the matrix `R + jωM`.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    /// Branches of the windings.
    pub(crate) branches: Vec<usize>,
    /// Admittance slot of each pair of windings, row by row of the full symmetric matrix.
    pub(crate) slots: Vec<usize>,
    pub(crate) kind: GroupKind,
}

#[derive(Debug, Clone)]
pub(crate) enum GroupKind {
    /// Inductors with couplings between them: parts of the windings, then (part, i, j).
    Coupled {
        inductors: Vec<usize>,
        couplings: Vec<(usize, usize, usize)>,
    },
    /// Sections of an autoformer, each with its share of the turns.
    Autoformer {
        part: usize,
        turns: Vec<f64>,
        factor: f64,
    },
}

/// What a part of the network became.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Element {
    Branch(usize),
    Group(usize),
}

#[derive(Debug, Clone)]
pub(crate) struct Topology {
    pub(crate) node_count: usize,
    pub(crate) branches: Vec<Branch>,
    pub(crate) groups: Vec<Group>,
    /// One for each part of the network, in order.
    pub(crate) elements: Vec<Element>,
    /// Number of admittance slots: branches, then the mutual ones of the groups.
    pub(crate) slot_count: usize,
    /// Names of the drivers, in the order of the parts.
    pub(crate) drivers: Vec<String>,
    /// Branch of each driver and whether it is inverted.
    pub(crate) driver_branches: Vec<(usize, bool)>,
}

impl Group {
    /// Number of windings.
    pub(crate) fn len(&self) -> usize {
        self.branches.len()
    }

    /// The part that winding `i` belongs to.
    pub(crate) fn part_of(&self, i: usize) -> usize {
        match &self.kind {
            GroupKind::Coupled { inductors, .. } => inductors[i],
            GroupKind::Autoformer { part, .. } => *part,
        }
    }

    /// Coil resistance of winding `i` and the inductance matrix entry `(i, j)`, from part values.
    pub(crate) fn resistance(&self, i: usize, loss: &[f64]) -> f64 {
        match &self.kind {
            GroupKind::Coupled { inductors, .. } => loss[inductors[i]],
            GroupKind::Autoformer { part, turns, .. } => loss[*part] * turns[i],
        }
    }

    /// Fills the inductance matrix (row by row), in henry.
    pub(crate) fn inductances(&self, value: &[f64], matrix: &mut [f64]) {
        let m = self.len();
        match &self.kind {
            GroupKind::Coupled {
                inductors,
                couplings,
            } => {
                matrix.fill(0.0);
                for i in 0..m {
                    matrix[i * m + i] = value[inductors[i]];
                }
                for &(part, i, j) in couplings {
                    let mutual = value[part] * (value[inductors[i]] * value[inductors[j]]).sqrt();
                    matrix[i * m + j] += mutual;
                    matrix[j * m + i] += mutual;
                }
            }
            GroupKind::Autoformer {
                part,
                turns,
                factor,
            } => {
                for i in 0..m {
                    for j in 0..m {
                        let k = if i == j { 1.0 } else { *factor };
                        matrix[i * m + j] = k * value[*part] * turns[i] * turns[j]
                            / autoformer_scale(turns, *factor);
                    }
                }
            }
        }
    }
}

/// What the section inductances must be divided by so that the whole winding, all sections in
/// series, has the stated inductance although its sections do not couple perfectly.
pub(crate) fn autoformer_scale(turns: &[f64], factor: f64) -> f64 {
    let total: f64 = turns.iter().sum();
    let own: f64 = turns.iter().map(|n| n * n).sum();
    own + factor * (total * total - own)
}

impl Topology {
    pub(crate) fn new(network: &Network) -> Result<Self, PlanError> {
        let mut topology = Topology {
            node_count: network.node_count(),
            branches: Vec::new(),
            groups: Vec::new(),
            elements: Vec::new(),
            slot_count: 0,
            drivers: Vec::new(),
            driver_branches: Vec::new(),
        };
        let mut couplings = Vec::new();
        let mut autoformers = Vec::new();
        for (index, (name, part)) in network.parts().iter().enumerate() {
            let branch = topology.branches.len();
            let kind = match &part.kind {
                PartKind::Resistor { .. } => BranchKind::Resistor { part: index },
                PartKind::Inductor { .. } => BranchKind::Inductor { part: index },
                PartKind::Capacitor { .. } => BranchKind::Capacitor { part: index },
                PartKind::Driver {
                    driver, inverted, ..
                } => {
                    topology.drivers.push(driver.clone());
                    topology.driver_branches.push((branch, *inverted));
                    BranchKind::Driver {
                        part: index,
                        driver: topology.drivers.len() - 1,
                    }
                }
                PartKind::Coupling { inductors, .. } => {
                    couplings.push((index, name.clone(), inductors.clone()));
                    topology.elements.push(Element::Group(usize::MAX));
                    continue;
                }
                PartKind::Autoformer {
                    between,
                    taps,
                    coupling,
                    ..
                } => {
                    autoformers.push((index, *between, taps.clone(), *coupling));
                    topology.elements.push(Element::Group(usize::MAX));
                    continue;
                }
            };
            let [a, b] = part.kind.between().expect("only couplings have no nodes");
            topology.branches.push(Branch {
                nodes: [a.0, b.0],
                kind,
            });
            topology.elements.push(Element::Branch(branch));
        }
        for (part, between, mut taps, factor) in autoformers {
            taps.sort_by(|a, b| b.ratio.total_cmp(&a.ratio));
            let (mut branches, mut turns) = (Vec::new(), Vec::new());
            let mut upper = (between[0].0, 1.0);
            let ends = taps.iter().map(|tap| (tap.node.0, tap.ratio));
            for lower in ends.chain([(between[1].0, 0.0)]) {
                branches.push(topology.branches.len());
                topology.branches.push(Branch {
                    nodes: [upper.0, lower.0],
                    kind: BranchKind::Winding,
                });
                turns.push(upper.1 - lower.1);
                upper = lower;
            }
            topology.elements[part] = Element::Group(topology.groups.len());
            topology.groups.push(Group {
                branches,
                slots: Vec::new(),
                kind: GroupKind::Autoformer {
                    part,
                    turns,
                    factor,
                },
            });
        }
        topology.group_coupled_inductors(network, &couplings)?;
        topology.number_slots();
        Ok(topology)
    }

    /// Joins inductors that are coupled, directly or through others, into groups.
    fn group_coupled_inductors(
        &mut self,
        network: &Network,
        couplings: &[(usize, String, [String; 2])],
    ) -> Result<(), PlanError> {
        // Each coil's group, by the smallest part number in it.
        let mut leader: IndexMap<usize, usize> = IndexMap::new();
        let mut pairs = Vec::new();
        for (part, name, coils) in couplings {
            let mut pair = [0; 2];
            for (slot, coil) in pair.iter_mut().zip(coils) {
                *slot = match network.parts().get_full(coil) {
                    Some((index, _, p)) if matches!(p.kind, PartKind::Inductor { .. }) => index,
                    _ => {
                        return Err(PlanError::NotAnInductor {
                            coupling: name.clone(),
                            coil: coil.clone(),
                        });
                    }
                };
            }
            if pair[0] == pair[1] {
                return Err(PlanError::NotAnInductor {
                    coupling: name.clone(),
                    coil: coils[1].clone(),
                });
            }
            let [a, b] = pair.map(|coil| leader.get(&coil).copied().unwrap_or(coil));
            let (low, high) = (a.min(b), a.max(b));
            for coil in pair {
                leader.entry(coil).or_insert(coil);
            }
            for group in leader.values_mut() {
                if *group == high || *group == low {
                    *group = low;
                }
            }
            pairs.push((*part, pair));
        }
        let mut leaders: Vec<usize> = leader.values().copied().collect();
        leaders.sort_unstable();
        leaders.dedup();
        for lead in leaders {
            let mut inductors: Vec<usize> = leader
                .iter()
                .filter(|&(_, &group)| group == lead)
                .map(|(&coil, _)| coil)
                .collect();
            inductors.sort_unstable();
            let place = |coil: usize| inductors.iter().position(|&c| c == coil);
            let members: Vec<(usize, usize, usize)> = pairs
                .iter()
                .filter_map(|&(part, [a, b])| Some((part, place(a)?, place(b)?)))
                .collect();
            let index = self.groups.len();
            let mut branches = Vec::new();
            for &coil in &inductors {
                let Element::Branch(branch) = self.elements[coil] else {
                    unreachable!("an inductor is a branch until it is grouped");
                };
                self.branches[branch].kind = BranchKind::Winding;
                branches.push(branch);
                self.elements[coil] = Element::Group(index);
            }
            for &(part, ..) in &members {
                self.elements[part] = Element::Group(index);
            }
            self.groups.push(Group {
                branches,
                slots: Vec::new(),
                kind: GroupKind::Coupled {
                    inductors,
                    couplings: members,
                },
            });
        }
        Ok(())
    }

    fn number_slots(&mut self) {
        self.slot_count = self.branches.len();
        for group in &mut self.groups {
            let m = group.branches.len();
            group.slots = vec![0; m * m];
            for i in 0..m {
                group.slots[i * m + i] = group.branches[i];
                for j in i + 1..m {
                    group.slots[i * m + j] = self.slot_count;
                    group.slots[j * m + i] = self.slot_count;
                    self.slot_count += 1;
                }
            }
        }
    }

    /// Refuses groups whose inductance matrix cannot belong to real coils.
    pub(crate) fn check_groups(&self, network: &Network, value: &[f64]) -> Result<(), PlanError> {
        for group in &self.groups {
            let m = group.len();
            let mut matrix = vec![0.0; m * m];
            group.inductances(value, &mut matrix);
            // Scaled to ones on the diagonal, so that the test does not depend on the values.
            let scaled = DMatrix::from_fn(m, m, |i, j| {
                matrix[i * m + j] / (matrix[i * m + i] * matrix[j * m + j]).sqrt()
            });
            if scaled.cholesky().is_none() {
                let part = match &group.kind {
                    GroupKind::Coupled { couplings, .. } => couplings[0].0,
                    GroupKind::Autoformer { part, .. } => *part,
                };
                let (name, _) = network.parts().get_index(part).expect("its own part");
                return Err(PlanError::ImpossibleCoupling { part: name.clone() });
            }
        }
        Ok(())
    }
}
