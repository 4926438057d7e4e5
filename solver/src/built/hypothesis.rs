//! What may be wrong: every single mistake of the bench, as changes of the drawn network.

use netlist::network::{Network, NodeId, PartKind};
use serde::Serialize;

/// What kind of mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MistakeKind {
    /// A part or a driver carries no current: a joint that does not conduct, a wire that is off, a dead
    /// voice coil.
    Open,
    /// A part or a driver is bridged.
    Shorted,
    /// A part of another value.
    Value,
    /// A coil of another DC resistance.
    Resistance,
    /// A driver whose impedance is another throughout.
    Impedance,
    /// A box whose vent is tuned to another frequency.
    Tuning,
    /// Two parts of one kind, or two drivers, in each other's place.
    Exchanged,
    /// A part or a driver between other nodes than drawn.
    Misplaced,
    /// Two independent mistakes.
    Two,
}

/// One change of the drawn network; parts by position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BuiltChange {
    /// Carries no current.
    Open(usize),
    /// A piece of wire lies across it.
    Short(usize),
    /// Has another value, SI.
    Value(usize, f64),
    /// Has another series resistance, ohm.
    Loss(usize, f64),
    /// A driver's impedance is this many times as high.
    Impedance(usize, f64),
    /// The box of a driver is tuned to this many times the frequency.
    Tuning(usize, f64),
    /// Values and losses, or drivers, of two parts are exchanged.
    Exchange(usize, usize),
    /// Lies between other nodes.
    Move(usize, [usize; 2]),
}

impl BuiltChange {
    /// The parts that it is about.
    pub(super) fn parts(self) -> Vec<usize> {
        match self {
            BuiltChange::Exchange(one, other) => vec![one, other],
            BuiltChange::Open(part)
            | BuiltChange::Short(part)
            | BuiltChange::Value(part, _)
            | BuiltChange::Loss(part, _)
            | BuiltChange::Impedance(part, _)
            | BuiltChange::Tuning(part, _)
            | BuiltChange::Move(part, _) => vec![part],
        }
    }

    /// The kind of mistake that it is.
    pub(super) fn kind(self) -> MistakeKind {
        match self {
            BuiltChange::Open(_) => MistakeKind::Open,
            BuiltChange::Short(_) => MistakeKind::Shorted,
            BuiltChange::Value(..) => MistakeKind::Value,
            BuiltChange::Loss(..) => MistakeKind::Resistance,
            BuiltChange::Impedance(..) => MistakeKind::Impedance,
            BuiltChange::Tuning(..) => MistakeKind::Tuning,
            BuiltChange::Exchange(..) => MistakeKind::Exchanged,
            BuiltChange::Move(..) => MistakeKind::Misplaced,
        }
    }

    /// Its number, where it has one that is to be fitted.
    pub(super) fn number(self) -> Option<f64> {
        match self {
            BuiltChange::Value(_, number)
            | BuiltChange::Loss(_, number)
            | BuiltChange::Impedance(_, number)
            | BuiltChange::Tuning(_, number) => Some(number),
            BuiltChange::Open(_)
            | BuiltChange::Short(_)
            | BuiltChange::Exchange(..)
            | BuiltChange::Move(..) => None,
        }
    }

    /// The same with its number so many times as large.
    pub(super) fn times(mut self, times: f64) -> Self {
        if let BuiltChange::Value(_, number)
        | BuiltChange::Loss(_, number)
        | BuiltChange::Impedance(_, number)
        | BuiltChange::Tuning(_, number) = &mut self
        {
            *number *= times;
        }
        self
    }
}

/// How often a mistake happens, against 100 for a build as drawn (judgement of the bench, not counted):
/// what decides where the measurement does not.
#[must_use]
pub(super) fn prior(change: BuiltChange, network: &Network) -> f64 {
    let driver = |part: usize| matches!(network.parts()[part].kind, PartKind::Driver { .. });
    match change {
        BuiltChange::Open(part) if driver(part) => 1.5,
        BuiltChange::Open(_) => 1.0,
        BuiltChange::Short(_) => 0.7,
        BuiltChange::Value(..) => 2.0,
        BuiltChange::Loss(..) => 0.5,
        BuiltChange::Impedance(..) => 0.3,
        BuiltChange::Tuning(..) => 0.5,
        BuiltChange::Exchange(..) => 0.5,
        // One end on a wrong joint is likelier than both.
        BuiltChange::Move(part, to) => {
            let own = network.parts()[part].kind.between();
            let kept = own.is_some_and(|own| own.iter().any(|node| to.contains(&node.0)));
            if kept { 0.06 } else { 0.01 }
        }
    }
}

/// The prior of a build as drawn, on the same scale.
pub(super) const PRIOR_AS_DESIGNED: f64 = 100.0;

/// Factors by which values are tried: closely within a decade, then widely, and closely about those of a
/// misread marking, where a capacitor that is much too small may make a sharp resonance.
fn value_factors() -> Vec<f64> {
    let fine = (1..=11).map(|k| 1.23f64.powi(k));
    let coarse = (1..=12).map(|k| 9.75 * 1.5f64.powi(k));
    let misread = [10.0, 1000.0]
        .into_iter()
        .flat_map(|decade| (-2..=2).map(move |k| decade * 1.02f64.powi(k)));
    let list = fine.chain(coarse).chain(misread);
    list.flat_map(|f| [f, 1.0 / f]).collect()
}

/// Factors by which the DC resistance of coils is tried.
const LOSS_FACTORS: [f64; 7] = [0.2, 0.45, 1.6, 2.5, 5.0, 12.0, 30.0];
/// Factors by which the impedance of drivers is tried.
const IMPEDANCE_FACTORS: [f64; 6] = [0.25, 0.5, 0.7, 1.4, 2.0, 4.0];
/// Factors by which the tuning of boxes is tried.
pub(super) const TUNING_FACTORS: [f64; 6] = [0.55, 0.7, 0.84, 1.19, 1.4, 1.8];

/// All single mistakes of a network, values in steps; those of boxes are none of the network.
#[must_use]
pub(super) fn all_single(network: &Network) -> Vec<BuiltChange> {
    let mut list = Vec::new();
    let parts: Vec<&PartKind> = network.parts().values().map(|part| &part.kind).collect();
    let factors = value_factors();
    for (part, kind) in parts.iter().enumerate() {
        let Some(between) = kind.between() else {
            continue;
        };
        list.extend([BuiltChange::Open(part), BuiltChange::Short(part)]);
        let known = network.parts()[part].value_si();
        if let Some(value) = known {
            list.extend(factors.iter().map(|f| BuiltChange::Value(part, value * f)));
        }
        if let PartKind::Inductor { dcr, .. } = kind {
            let from = dcr.0.max(LEAST_DCR_OHM);
            list.extend(LOSS_FACTORS.map(|f| BuiltChange::Loss(part, from * f)));
        }
        if matches!(kind, PartKind::Driver { .. }) {
            list.extend(IMPEDANCE_FACTORS.map(|f| BuiltChange::Impedance(part, f)));
        }
        if !matches!(kind, PartKind::Autoformer { .. }) {
            list.extend(moves(network, part, between));
        }
    }
    for one in 0..parts.len() {
        let others = one + 1..parts.len();
        list.extend(
            others
                .filter(|&other| can_be_exchanged(network, one, other))
                .map(|other| BuiltChange::Exchange(one, other)),
        );
    }
    list
}

/// A coil drawn without any resistance has at least this, ohm.
pub(super) const LEAST_DCR_OHM: f64 = 0.02;

/// A part between any other two nodes; a coil that another one sees also the other way round.
fn moves(
    network: &Network,
    part: usize,
    between: [NodeId; 2],
) -> impl Iterator<Item = BuiltChange> {
    let own = between.map(|node| node.0);
    let nodes = network.node_count();
    let own_name = network.parts().get_index(part).map(|(name, _)| name);
    let coupled = own_name.is_some_and(|name| network.is_coupled(name));
    (0..nodes).flat_map(move |a| {
        (0..nodes)
            .filter(move |&b| match coupled {
                true => a != b && own != [a, b],
                false => a < b && !(own.contains(&a) && own.contains(&b)),
            })
            .map(move |b| BuiltChange::Move(part, [a, b]))
    })
}

/// Whether two parts are of one kind and not the same.
fn can_be_exchanged(network: &Network, one: usize, other: usize) -> bool {
    let [a, b] = [one, other].map(|part| &network.parts()[part]);
    match (&a.kind, &b.kind) {
        (PartKind::Driver { .. }, PartKind::Driver { .. }) => true,
        (PartKind::Resistor { .. }, PartKind::Resistor { .. })
        | (PartKind::Inductor { .. }, PartKind::Inductor { .. })
        | (PartKind::Capacitor { .. }, PartKind::Capacitor { .. }) => {
            a.value_si() != b.value_si() || a.loss_ohm() != b.loss_ohm()
        }
        _ => false,
    }
}
