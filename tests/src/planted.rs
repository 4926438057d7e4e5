//! Loudspeakers with a mistake planted in them, and what an impedance sweep of them shows: solved by
//! [`dense_oracle`](crate::dense_oracle), which shares nothing with the program.
//!
//! Parts are drawn within their tolerances, every driver's impedance within ± 5 % and each of its
//! resonances within ± 5 %; the leads have 0.2 ohm that nobody states, the meter's scale is off by up to
//! 1 %, and every reading has 1 % of noise.

use netlist::network::{Network, NodeId, Part, PartKind};
use netlist::project::{Project, Source};
use netlist::quantity::{Farads, Henries, Hertz, Ohms};
use num_complex::Complex64;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use solver::built::{MistakeKind, Sweep};
use solver::grid::Grid;
use solver::load::{Conditions, driver_load};

use crate::dense_oracle;

/// Even numbers and normal ones from a seed.
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// Always the same numbers for the same seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly from 0 to 1.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * 0.5f64.powi(53)
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    /// Normal with deviation 1 (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// A mistake that was planted.
#[derive(Debug, Clone, PartialEq)]
pub struct Planted {
    /// What kind.
    pub kind: MistakeKind,
    /// The parts.
    pub parts: Vec<String>,
    /// The wrong value, ohm, henry or farad.
    pub value_si: Option<f64>,
    /// Where the part lies instead.
    pub between: Option<[String; 2]>,
}

/// Resistance of leads that nobody states, ohm.
pub const LEADS_OHM: f64 = 0.2;
/// Noise of every reading, a share.
pub const NOISE: f64 = 0.01;
const OPEN_OHM: f64 = 1e9;
const SHORT_OHM: f64 = 2e-3;

/// All kinds of single mistakes of a network, values and places drawn at random; `moves` for each part.
#[must_use]
pub fn mistakes(network: &Network, dice: &mut Dice, moves: usize) -> Vec<Planted> {
    let mut list = Vec::new();
    let names: Vec<String> = network.parts().keys().cloned().collect();
    let nodes: Vec<String> = network.node_names().map(String::from).collect();
    let one = |kind, name: &str, value_si| Planted {
        kind,
        parts: vec![name.to_owned()],
        value_si,
        between: None,
    };
    for (name, part) in network.parts() {
        // Two coils that see each other are no part that is soldered.
        let Some(own) = part.kind.between() else {
            continue;
        };
        list.push(one(MistakeKind::Open, name, None));
        list.push(one(MistakeKind::Shorted, name, None));
        if let Some(value) = part.value_si() {
            // Neighbours of E12 on either side, a decimal point, a unit.
            let up = dice.unit() < 0.5;
            let step = 10f64.powf((1 + dice.below(2)) as f64 / 12.0);
            list.push(one(
                MistakeKind::Value,
                name,
                Some(if up { value * step } else { value / step }),
            ));
            list.push(one(MistakeKind::Value, name, Some(value * 10.0)));
            list.push(one(MistakeKind::Value, name, Some(value / 10.0)));
            if matches!(part.kind, PartKind::Capacitor { .. }) {
                list.push(one(MistakeKind::Value, name, Some(value / 1000.0)));
            } else {
                list.push(one(MistakeKind::Value, name, Some(value * 1000.0)));
            }
        }
        if let PartKind::Inductor { dcr, .. } = part.kind {
            list.push(one(
                MistakeKind::Resistance,
                name,
                Some(dcr.0 * dice.between(2.5, 5.0)),
            ));
        }
        let moves = match part.kind {
            PartKind::Autoformer { .. } => 0,
            _ => moves,
        };
        for _ in 0..moves {
            let to = loop {
                let kept = own[dice.below(2)].0;
                let [a, b] = match dice.unit() {
                    u if u < 0.8 => [kept, dice.below(nodes.len())],
                    _ => [dice.below(nodes.len()), dice.below(nodes.len())],
                };
                let same = own.iter().all(|node| [a, b].contains(&node.0));
                if a != b && !same {
                    break [a, b];
                }
            };
            list.push(Planted {
                between: Some(to.map(|node| nodes[node].clone())),
                ..one(MistakeKind::Misplaced, name, None)
            });
        }
    }
    for (i, one) in names.iter().enumerate() {
        for other in &names[i + 1..] {
            let (a, b) = (&network.parts()[one], &network.parts()[other]);
            let same_kind = a.kind.word() == b.kind.word();
            let drivers = matches!(a.kind, PartKind::Driver { .. });
            if same_kind && (drivers || a.value_si() != b.value_si()) {
                list.push(Planted {
                    kind: MistakeKind::Exchanged,
                    parts: vec![one.clone(), other.clone()],
                    value_si: None,
                    between: None,
                });
            }
        }
    }
    list
}

/// Boxes of modelled drivers with a vent that is tuned wrong by a quarter to a half.
#[must_use]
pub fn wrong_boxes(project: &Project, dice: &mut Dice) -> Vec<Planted> {
    let network = project.network.as_ref().expect("a design");
    let mut list = Vec::new();
    for (name, part) in network.parts() {
        let PartKind::Driver { driver, .. } = &part.kind else {
            continue;
        };
        let mut source = project.drivers[driver.as_str()].source.clone();
        if let Some(tuning) = tuning_of(&mut source) {
            let times = dice.between(1.25, 1.5);
            let up = dice.unit() < 0.5;
            list.push(Planted {
                kind: MistakeKind::Tuning,
                parts: vec![name.clone()],
                value_si: Some(if up {
                    tuning.0 * times
                } else {
                    tuning.0 / times
                }),
                between: None,
            });
        }
    }
    list
}

fn tuning_of(source: &mut Source) -> Option<&mut Hertz> {
    match source {
        Source::Cone(cone) => cone.enclosure.as_mut()?.tuning.as_mut(),
        _ => None,
    }
}

/// A sweep of a build of the project with a mistake in it, or none.
///
/// # Panics
/// If the project has no network.
#[must_use]
pub fn sweep(
    project: &Project,
    planted: Option<&Planted>,
    points: usize,
    dice: &mut Dice,
) -> Sweep {
    let mut network = project.network.clone().expect("a design");
    let grid = Grid::log_spaced(20.0, 20e3, points).expect("a band");
    for part in network.parts_mut().values_mut() {
        draw(part, dice);
    }
    let mut loads = Vec::new();
    for (name, part) in network.parts() {
        if let PartKind::Driver { driver, .. } = &part.kind {
            let mut driver = project.drivers[driver.as_str()].clone();
            let wrong = planted.filter(|p| p.kind == MistakeKind::Tuning && p.parts[0] == *name);
            if let (Some(planted), Some(tuning)) = (wrong, tuning_of(&mut driver.source)) {
                tuning.0 = planted.value_si.expect("a frequency");
            }
            loads.push(sample(&driver, &grid, dice));
        }
    }
    if let Some(planted) = planted {
        plant(&mut network, &mut loads, planted, dice);
    }
    let scale = 1.0 + dice.between(-0.01, 0.01);
    let ohm = (0..points)
        .map(|i| {
            let here: Vec<Complex64> = loads.iter().map(|load| load[i]).collect();
            let found = dense_oracle::solve(&network, &here, grid.omega()[i], 1.0, 0.0);
            let z_ohm = found.source_current.inv() + LEADS_OHM;
            z_ohm.norm() * scale * (1.0 + NOISE * dice.normal())
        })
        .collect();
    Sweep {
        file: "planted".to_owned(),
        f_hz: grid.f_hz().to_vec(),
        ohm,
        phase_deg: None,
        off: Vec::new(),
    }
}

/// A part within its tolerance: 3 % for coils and their wire 8 %, 5 % for all others.
fn draw(part: &mut Part, dice: &mut Dice) {
    match &mut part.kind {
        PartKind::Resistor { resistance, .. } => resistance.0 *= 1.0 + dice.between(-0.05, 0.05),
        PartKind::Capacitor { capacitance, .. } => capacitance.0 *= 1.0 + dice.between(-0.05, 0.05),
        PartKind::Inductor {
            inductance, dcr, ..
        } => {
            inductance.0 *= 1.0 + dice.between(-0.03, 0.03);
            dcr.0 *= 1.0 + dice.between(-0.08, 0.08);
        }
        PartKind::Autoformer {
            inductance, dcr, ..
        } => {
            inductance.0 *= 1.0 + dice.between(-0.03, 0.03);
            dcr.0 *= 1.0 + dice.between(-0.08, 0.08);
        }
        _ => {}
    }
}

/// Impedance of another sample of a driver.
fn sample(driver: &netlist::project::Driver, grid: &Grid, dice: &mut Dice) -> Vec<Complex64> {
    let mut driver = driver.clone();
    let mut other = || 1.0 + dice.between(-0.05, 0.05);
    let all = other();
    let mut warp = 1.0;
    match &mut driver.source {
        Source::Measured(_) => warp = other(),
        Source::Cone(cone) => {
            cone.fs.0 *= other();
            if let Some(tuning) = cone.enclosure.as_mut().and_then(|e| e.tuning.as_mut()) {
                tuning.0 *= other();
            }
        }
        Source::Horn(horn) => horn.fs.0 *= other(),
        Source::Compression(compression) => {
            for resonance in &mut compression.resonances {
                resonance.f.0 *= other();
            }
        }
    }
    let warped = grid.f_hz().iter().map(|f| f / warp).collect();
    let grid = Grid::new(warped).expect("still rising");
    let load = driver_load(&driver, &grid, &Conditions::default());
    load.z_ohm.iter().map(|z| z * all).collect()
}

fn plant(network: &mut Network, loads: &mut [Vec<Complex64>], planted: &Planted, dice: &mut Dice) {
    let name = &planted.parts[0];
    let place = |network: &Network, name: &str| {
        let drivers = network
            .parts()
            .iter()
            .filter(|(_, p)| matches!(p.kind, PartKind::Driver { .. }));
        drivers
            .map(|(name, _)| name.clone())
            .position(|other| other == name)
    };
    let driver = place(network, name);
    match planted.kind {
        MistakeKind::Open => match driver {
            Some(driver) => loads[driver].fill(OPEN_OHM.into()),
            None => {
                let part = &mut network.parts_mut()[name.as_str()];
                let between = part.kind.between().expect("nodes");
                match &mut part.kind {
                    // Coils stay coupled to what they are coupled to; taps stay where they are.
                    PartKind::Inductor { dcr, .. } | PartKind::Autoformer { dcr, .. } => {
                        dcr.0 = OPEN_OHM;
                    }
                    kind => {
                        *kind = PartKind::Resistor {
                            resistance: Ohms(OPEN_OHM),
                            between,
                        };
                    }
                }
            }
        },
        MistakeKind::Shorted => {
            let between = network.parts()[name.as_str()]
                .kind
                .between()
                .expect("nodes");
            let resistance = Ohms(SHORT_OHM);
            let bridge = PartKind::Resistor {
                resistance,
                between,
            };
            network.insert("bridge", Part::new(bridge));
        }
        MistakeKind::Value => {
            let part = &mut network.parts_mut()[name.as_str()];
            set_value(part, planted.value_si.expect("a value"));
            draw(part, dice);
        }
        MistakeKind::Resistance => {
            if let PartKind::Inductor { dcr, .. } = &mut network.parts_mut()[name.as_str()].kind {
                dcr.0 = planted.value_si.expect("a value");
            }
        }
        MistakeKind::Exchanged => match (driver, place(network, &planted.parts[1])) {
            (Some(one), Some(other)) => loads.swap(one, other),
            _ => exchange(network, name, &planted.parts[1]),
        },
        MistakeKind::Misplaced => {
            let to = planted.between.clone().expect("nodes");
            let to = to.map(|node| network.find_node(&node).expect("a node of the network"));
            set_between(&mut network.parts_mut()[name.as_str()].kind, to);
        }
        // In the drivers already.
        MistakeKind::Tuning => {}
        MistakeKind::Impedance | MistakeKind::Two => unreachable!("not planted"),
    }
}

fn exchange(network: &mut Network, one: &str, other: &str) {
    let (a, b) = (
        network.parts()[one].kind.clone(),
        network.parts()[other].kind.clone(),
    );
    let ([from, to], swapped) = (
        [&a, &b].map(|kind| kind.between().expect("nodes")),
        (b.clone(), a.clone()),
    );
    network.parts_mut()[one].kind = swapped.0;
    set_between(&mut network.parts_mut()[one].kind, from);
    network.parts_mut()[other].kind = swapped.1;
    set_between(&mut network.parts_mut()[other].kind, to);
}

fn set_between(kind: &mut PartKind, to: [NodeId; 2]) {
    match kind {
        PartKind::Resistor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Autoformer { between, .. }
        | PartKind::Driver { between, .. } => *between = to,
        PartKind::Coupling { .. } => {}
    }
}

/// Sets the value of a part, in ohm, henry or farad.
pub fn set_value(part: &mut Part, value: f64) {
    match &mut part.kind {
        PartKind::Resistor { resistance, .. } => *resistance = Ohms(value),
        PartKind::Capacitor { capacitance, .. } => *capacitance = Farads(value),
        PartKind::Inductor { inductance, .. } | PartKind::Autoformer { inductance, .. } => {
            *inductance = Henries(value);
        }
        _ => {}
    }
}

/// Sets the DCR of a coil or the ESR of a capacitor, in ohm.
pub fn set_loss(part: &mut Part, loss_ohm: f64) {
    match &mut part.kind {
        PartKind::Capacitor { esr, .. } => *esr = Ohms(loss_ohm),
        PartKind::Inductor { dcr, .. } | PartKind::Autoformer { dcr, .. } => *dcr = Ohms(loss_ohm),
        _ => {}
    }
}
