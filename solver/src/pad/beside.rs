//! What lies about a pad besides its own parts, as figures: across the driver, across the series resistor, and
//! between the pad and the driver.

use netlist::network::{Network, NodeId};
use num_complex::Complex64;

use super::in_network::PadInNetwork;
use crate::grid::Grid;
use crate::nodal::{Plan, STIFF, Solution, Values, Workspace};
use crate::spectrum::Spectrum;

/// Two resistors, in ohm, on which the filter behind a pad is tried.
const TRIAL_OHM: [f64; 2] = [6.0, 24.0];

/// The filter between a pad and its driver as a chain matrix: V₁ = a·V₂ + b·I₂ and I₁ = c·V₂ + d·I₂,
/// where 1 is the pad's output and 2 the driver.
#[derive(Debug, Clone)]
pub struct ChainMatrix {
    a: Spectrum,
    b: Spectrum,
    c: Spectrum,
    d: Spectrum,
}

impl ChainMatrix {
    /// Impedance at the pad's output with `z_ohm` behind the filter, at a place of the grid; ohm.
    pub(super) fn input_ohm(&self, i: usize, z_ohm: Complex64) -> Complex64 {
        (self.a.at(i) * z_ohm + self.b.at(i)) / (self.c.at(i) * z_ohm + self.d.at(i))
    }

    /// Voltage at the driver over that at the pad's output.
    pub(super) fn transfer(&self, i: usize, z_ohm: Complex64) -> Complex64 {
        z_ohm / (self.a.at(i) * z_ohm + self.b.at(i))
    }

    /// Impedance that the driver sees when the filter is driven from `source_ohm`; ohm.
    pub(super) fn source_ohm(&self, i: usize, source_ohm: Complex64) -> Complex64 {
        (self.d.at(i) * source_ohm + self.b.at(i)) / (self.c.at(i) * source_ohm + self.a.at(i))
    }
}

impl PadInNetwork {
    /// Admittances across the driver and across the series resistor, over a grid; in siemens.
    #[must_use]
    pub fn beside_siemens(&self, network: &Network, grid: &Grid) -> [Option<Spectrum>; 2] {
        [(&self.across, self.back), (&self.bridge, self.top)]
            .map(|(parts, end)| self.two_terminal(network, parts, end, grid, &|_| None))
    }

    /// Admittance of the other drivers across the driver, in siemens; `z_ohm_of` gives the impedance of a
    /// driver by its name, lead included.
    #[must_use]
    pub fn drivers_siemens(
        &self,
        network: &Network,
        grid: &Grid,
        z_ohm_of: &dyn Fn(&str) -> Option<Spectrum>,
    ) -> Option<Spectrum> {
        self.two_terminal(network, &self.across_drivers, self.back, grid, z_ohm_of)
    }

    /// Admittance of some parts between the driver's terminal and `end`.
    fn two_terminal(
        &self,
        network: &Network,
        parts: &[String],
        end: NodeId,
        grid: &Grid,
        z_ohm_of: &dyn Fn(&str) -> Option<Spectrum>,
    ) -> Option<Spectrum> {
        if parts.is_empty() {
            return None;
        }
        let mut alone = Network::new();
        for name in parts {
            let mut part = network.parts()[name].clone();
            for node in part.kind.nodes_mut() {
                *node = if *node == self.hot {
                    NodeId::IN
                } else if *node == end {
                    NodeId::GND
                } else {
                    alone.node(&format!("inner {}", network.node_name(*node)))
                };
            }
            alone.insert(name.clone(), part);
        }
        // Parts of a network that can be solved have sensible values.
        let plan = Plan::compile(&alone).ok()?;
        let loads: Vec<Spectrum> = (plan.drivers().iter())
            .map(|name| z_ohm_of(name))
            .collect::<Option<_>>()?;
        let loads: Vec<&Spectrum> = loads.iter().collect();
        let mut workspace = Workspace::new(&plan, grid, &loads).ok()?;
        let mut solution = Solution::new(&plan, &workspace);
        plan.run(&Values::of(&alone), &STIFF, &mut workspace, &mut solution);
        let (re, im) = solution.input_admittance();
        Some(Spectrum {
            re: re.to_vec(),
            im: im.to_vec(),
        })
    }

    /// What is between the pad and the driver, over a grid; `None` where the pad is right before the driver.
    #[must_use]
    pub fn chain(&self, network: &Network, grid: &Grid) -> Option<ChainMatrix> {
        if self.hot == self.driver_hot {
            return None;
        }
        let mut alone = Network::new();
        let mut place = |node: NodeId| {
            if node == self.hot {
                NodeId::IN
            } else if node == self.back || node == NodeId::GND {
                NodeId::GND
            } else {
                alone.node(&format!("inner {}", network.node_name(node)))
            }
        };
        let terminal = place(self.driver_hot);
        let mut parts = Vec::new();
        for (name, part) in network.parts() {
            let coils_behind = match &part.kind {
                netlist::network::PartKind::Coupling { inductors, .. } => {
                    inductors.iter().all(|coil| self.behind.contains(coil))
                }
                _ => false,
            };
            if self.behind.contains(name) || *name == self.driver_part || coils_behind {
                let mut part = part.clone();
                for node in part.kind.nodes_mut() {
                    *node = place(*node);
                }
                parts.push((name.clone(), part));
            }
        }
        for (name, part) in parts {
            alone.insert(name, part);
        }
        let plan = Plan::compile(&alone).ok()?;
        let mut sides = Vec::new();
        for ohm in TRIAL_OHM {
            let trial = Spectrum::from_fn(grid.len(), |_| ohm.into());
            let mut workspace = Workspace::new(&plan, grid, &[&trial]).ok()?;
            let mut solution = Solution::new(&plan, &workspace);
            plan.run(&Values::of(&alone), &STIFF, &mut workspace, &mut solution);
            let (re, im) = solution.input_admittance();
            let seen: Vec<Complex64> = (re.iter().zip(im))
                .map(|(re, im)| Complex64::new(*re, *im))
                .collect();
            let volts: Vec<Complex64> = (0..grid.len())
                .map(|i| solution.node_at(terminal, i))
                .collect();
            sides.push((volts, seen));
        }
        let [za, zb] = TRIAL_OHM;
        let [(va, ya), (vb, yb)] = sides.as_slice() else {
            return None;
        };
        // 1/T = a + b/Z and Y/T = c + d/Z, each from two trials.
        let line = |first: &dyn Fn(usize) -> Complex64, second: &dyn Fn(usize) -> Complex64| {
            let slope = |i: usize| (first(i) - second(i)) / (1.0 / za - 1.0 / zb);
            [
                Spectrum::from_fn(grid.len(), |i| first(i) - slope(i) / za),
                Spectrum::from_fn(grid.len(), slope),
            ]
        };
        // What lets nothing at all through is taken to let a hair through.
        let over = |value: Complex64| {
            let least = 1e-150;
            if value.norm() > least {
                value.inv()
            } else {
                Complex64::new(1.0 / least, 0.0)
            }
        };
        let [a, b] = line(&|i| over(va[i]), &|i| over(vb[i]));
        let [c, d] = line(&|i| ya[i] * over(va[i]), &|i| yb[i] * over(vb[i]));
        Some(ChainMatrix { a, b, c, d })
    }
}
