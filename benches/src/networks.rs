//! Networks of known size: a three-way of ten nodes, and ladders.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::quantity::{Farads, Henries, Ohms};
use num_complex::Complex64;
use solver::grid::Grid;
use solver::nodal::{Drive, Output, Plan, Solution, SourceImpedance, Values, Workspace};
use solver::spectrum::Spectrum;

/// The amplifier of all benchmarks.
pub const DRIVE: Drive = Drive {
    open_circuit_v: 2.83,
    output_impedance_ohm: SourceImpedance::Resistance(1.8),
};

/// Everything that a run needs.
pub struct Job {
    /// The network.
    pub network: Network,
    /// The grid, 20 Hz to 20 kHz.
    pub grid: Grid,
    /// Loads of the drivers.
    pub loads: Vec<Spectrum>,
    /// The compiled network.
    pub plan: Plan,
    /// Its values.
    pub values: Values,
    /// Room to run.
    pub workspace: Workspace,
    /// Room for the result.
    pub solution: Solution,
    /// Voltages of the first three drivers, or of some nodes where there are fewer.
    pub outputs: Vec<Output>,
}

impl Job {
    /// Compiles a network for a number of frequencies.
    ///
    /// # Panics
    /// If the network is no network; those of this module are.
    #[must_use]
    pub fn new(network: Network, points: usize) -> Self {
        let grid = Grid::log_spaced(20.0, 20_000.0, points).expect("a rising grid");
        let plan = Plan::compile(&network).expect("a connected network");
        let loads: Vec<Spectrum> = (0..plan.drivers().len()).map(|i| load(i, &grid)).collect();
        let refs: Vec<&Spectrum> = loads.iter().collect();
        let workspace = Workspace::new(&plan, &grid, &refs).expect("one load a driver");
        let solution = Solution::new(&plan, &workspace);
        let mut outputs: Vec<Output> = plan.driver_outputs().map(|(o, _)| o).take(3).collect();
        for node in (2..network.node_count()).rev() {
            if outputs.len() < 3 {
                outputs.push(Output {
                    positive: NodeId(node),
                    negative: NodeId::GND,
                });
            }
        }
        Self {
            values: Values::of(&network),
            network,
            grid,
            loads,
            plan,
            workspace,
            solution,
            outputs,
        }
    }

    /// One sweep.
    pub fn sweep(&mut self) {
        self.plan.run(
            &self.values,
            &DRIVE,
            &mut self.workspace,
            &mut self.solution,
        );
    }
}

struct Builder(Network);

impl Builder {
    fn add(&mut self, kind: PartKind) {
        let name = format!("P{}", self.0.parts().len());
        self.0.insert(name, Part::new(kind));
    }

    fn between(&mut self, a: &str, b: &str) -> [NodeId; 2] {
        [self.0.node(a), self.0.node(b)]
    }

    fn r(&mut self, ohm: f64, a: &str, b: &str) {
        let between = self.between(a, b);
        self.add(PartKind::Resistor {
            resistance: Ohms(ohm),
            between,
        });
    }

    fn l(&mut self, mh: f64, a: &str, b: &str) {
        let between = self.between(a, b);
        self.add(PartKind::Inductor {
            inductance: Henries(mh * 1e-3),
            dcr: Ohms(0.25 * mh.sqrt()),
            between,
        });
    }

    fn c(&mut self, uf: f64, a: &str, b: &str) {
        let between = self.between(a, b);
        self.add(PartKind::Capacitor {
            capacitance: Farads(uf * 1e-6),
            esr: Ohms(0.02),
            between,
        });
    }

    fn driver(&mut self, name: &str, a: &str) {
        let between = self.between(a, "gnd");
        self.add(PartKind::Driver {
            driver: name.to_owned(),
            between,
            inverted: false,
        });
    }
}

/// A three-way with ten nodes besides `gnd`: fourth-order low pass with impedance correction, band
/// pass and high pass with pads.
#[must_use]
pub fn three_way() -> Network {
    let mut n = Builder(Network::new());
    n.l(2.7, "in", "l1");
    n.c(47.0, "l1", "gnd");
    n.l(1.2, "l1", "l2");
    n.c(15.0, "l2", "gnd");
    n.r(7.5, "l2", "l3");
    n.c(22.0, "l3", "gnd");
    n.driver("low", "l2");
    n.c(22.0, "in", "m1");
    n.l(2.2, "m1", "gnd");
    n.l(0.27, "m1", "m2");
    n.c(2.2, "m2", "gnd");
    n.r(10.0, "m2", "m3");
    n.r(6.8, "m3", "gnd");
    n.driver("mid", "m3");
    n.c(3.3, "in", "h1");
    n.l(0.22, "h1", "gnd");
    n.c(6.8, "h1", "h2");
    n.r(8.2, "h2", "h3");
    n.r(5.6, "h3", "gnd");
    n.driver("high", "h3");
    n.0
}

/// A ladder with `nodes` nodes besides `gnd`, resistors in between, and a driver at its end.
#[must_use]
pub fn ladder(nodes: usize) -> Network {
    let mut n = Builder(Network::new());
    let mut last = String::from("in");
    for i in 1..nodes {
        let here = format!("n{i}");
        match i % 3 {
            0 => n.r(2.2 + i as f64, &last, &here),
            1 => n.l(0.5 + 0.1 * i as f64, &last, &here),
            _ => n.c(10.0 + i as f64, &last, &here),
        }
        match i % 3 {
            0 => n.r(15.0 + i as f64, &here, "gnd"),
            1 => n.c(4.7 + i as f64, &here, "gnd"),
            _ => n.l(0.8 + 0.1 * i as f64, &here, "gnd"),
        }
        last = here;
    }
    n.driver("end", &last);
    n.0
}

/// A voice coil with one resonance.
fn load(number: usize, grid: &Grid) -> Spectrum {
    let f0_hz = [40.0, 430.0, 1500.0][number % 3];
    Spectrum::from_fn(grid.len(), |i| {
        let x = grid.f_hz()[i] / f0_hz;
        let coil = Complex64::new(6.0, grid.omega()[i] * 0.1e-3);
        coil + 20.0 / Complex64::new(1.0, 3.0 * (x - 1.0 / x))
    })
}
