//! The winding sheet, and what coils do to each other.

use std::collections::BTreeMap;

use netlist::network::{Network, Part, PartKind, primed_name};
use netlist::project::{Project, StockKind};
use netlist::quantity::Quantity;
use solver::coil::{AirCoil, Winding, air_coil_dcr_ohm};
use solver::grid::Grid;
use solver::loudspeaker::{Circumstances, Loudspeaker};
use solver::sound::level_db_series;

use super::facts::with_network;

/// Bare diameters of common winding wire, mm (IEC 60317-0-1, the R 20 sizes, from memory).
const WIRES_MM: [f64; 14] = [
    0.5, 0.56, 0.63, 0.71, 0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24,
];

/// Distances between the middles of two coils that are looked at, m.
pub(crate) const DISTANCES_M: [f64; 3] = [0.05, 0.1, 0.2];

/// Frequencies at which the response with and without coupling is compared.
const POINTS: usize = 120;

/// A coil to wind.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WindingSheet {
    pub(crate) name: String,
    pub(crate) coil: AirCoil,
    /// What a whole number of turns gives, H.
    pub(crate) wound_h: f64,
    /// Resistance that the design reckons with, ohm.
    pub(crate) reckoned_ohm: f64,
}

impl WindingSheet {
    pub(crate) fn turns(&self) -> f64 {
        self.coil.turns.round()
    }
}

/// How two coils must not stand.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pair {
    pub(crate) names: [String; 2],
    /// On one axis and side by side, at each of [`DISTANCES_M`]; `None` where they would overlap.
    pub(crate) on_axis: [Option<Effect>; 3],
    pub(crate) beside: [Option<Effect>; 3],
}

/// What a coupling does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Effect {
    /// Coupling factor, without its sign.
    pub(crate) factor: f64,
    /// Largest change of the sum in the aim's band, the worse way round, dB.
    pub(crate) change_db: f64,
}

impl Pair {
    /// The largest change of all places, dB.
    pub(crate) fn worst_db(&self) -> f64 {
        let all = self.on_axis.iter().chain(&self.beside).flatten();
        all.map(|effect| effect.change_db).fold(0.0, f64::max)
    }
}

/// A coil for every inductor, of the wire that the stock names, or of the thinnest common wire that has
/// no more resistance than the design reckons with.
pub(crate) fn sheets(project: &Project, network: &Network) -> Vec<WindingSheet> {
    let wire_m = project
        .stock
        .range(StockKind::Inductor)
        .wire
        .map(Quantity::si);
    (network.parts().iter())
        .filter_map(|(name, part)| {
            let PartKind::Inductor {
                inductance, dcr, ..
            } = &part.kind
            else {
                return None;
            };
            let l_h = inductance.si();
            let wire_m = wire_m.unwrap_or_else(|| wire_for(l_h, dcr.si()));
            let coil = AirCoil::for_inductance(l_h, wire_m).ok()?;
            let share = coil.turns.round() / coil.turns;
            Some(WindingSheet {
                name: name.clone(),
                coil,
                wound_h: l_h * share * share,
                reckoned_ohm: dcr.si(),
            })
        })
        .collect()
}

fn wire_for(l_h: f64, dcr_ohm: f64) -> f64 {
    let enough = WIRES_MM
        .into_iter()
        .find(|mm| air_coil_dcr_ohm(l_h, mm * 1e-3) <= dcr_ohm);
    // A coil without resistance is nobody's; the usual wire (common practice) then.
    let usual = if dcr_ohm > 0.0 { 2.24 } else { 1.25 };
    enough.unwrap_or(usual) * 1e-3
}

/// Every pair of the coils on the sheet, the worst first. Couplings that the network states already
/// are left as they are and not looked at.
pub(crate) fn pairs(project: &Project, network: &Network, sheets: &[WindingSheet]) -> Vec<Pair> {
    let Some(alone) = CoilsAlone::new(project, network) else {
        return Vec::new();
    };
    let windings: Vec<Winding> = sheets.iter().map(|sheet| sheet.coil.winding()).collect();
    let mut inductances: BTreeMap<usize, f64> = BTreeMap::new();
    for (i, winding) in windings.iter().enumerate() {
        if let Ok(l_h) = winding.inductance_h(8) {
            inductances.insert(i, l_h);
        }
    }
    let stated = |a: &str, b: &str| {
        network.parts().values().any(|part| match &part.kind {
            PartKind::Coupling { inductors, .. } => {
                let [c, d] = inductors;
                (c == a && d == b) || (c == b && d == a)
            }
            _ => false,
        })
    };
    let mut pairs = Vec::new();
    for a in 0..sheets.len() {
        for b in a + 1..sheets.len() {
            let names = [&sheets[a].name, &sheets[b].name].map(String::clone);
            let (Some(l_a), Some(l_b)) = (inductances.get(&a), inductances.get(&b)) else {
                continue;
            };
            if stated(&names[0], &names[1]) {
                continue;
            }
            let effect = |mutual_h: f64| {
                let factor = (mutual_h / (l_a * l_b).sqrt()).abs();
                let change_db = alone.change_db(&names, factor)?;
                Some(Effect { factor, change_db })
            };
            pairs.push(Pair {
                on_axis: DISTANCES_M
                    .map(|d| effect(windings[a].mutual_inductance_h(&windings[b], d).ok()?)),
                beside: DISTANCES_M.map(|d| {
                    effect(
                        windings[a]
                            .mutual_inductance_beside_h(&windings[b], d)
                            .ok()?,
                    )
                }),
                names,
            });
        }
    }
    pairs.sort_by(|a, b| b.worst_db().total_cmp(&a.worst_db()));
    pairs
}

/// The loudspeaker as long as no coil couples with another that is not said to.
struct CoilsAlone<'a> {
    project: &'a Project,
    network: &'a Network,
    loudspeaker: Loudspeaker,
    sum_db: Vec<f64>,
}

impl<'a> CoilsAlone<'a> {
    fn new(project: &'a Project, network: &'a Network) -> Option<Self> {
        let (from_hz, to_hz) = (project.aim.from.si(), project.aim.to.si());
        let grid = Grid::log_spaced(from_hz, to_hz, POINTS).ok()?;
        let loudspeaker = Loudspeaker::new(&with_network(project, network), grid).ok()??;
        Some(Self {
            project,
            network,
            sum_db: level_db_series(&loudspeaker.curves().ok()?.system),
            loudspeaker,
        })
    }

    /// Largest change of the sum when two coils couple, the worse of the two ways round.
    fn change_db(&self, names: &[String; 2], factor: f64) -> Option<f64> {
        let mut worst = 0.0f64;
        for turned in [false, true] {
            let mut coupled = self.network.clone();
            if turned
                && let Some(Part {
                    kind: PartKind::Inductor { between, .. },
                    ..
                }) = coupled.parts_mut().get_mut(&names[1])
            {
                between.swap(0, 1);
            }
            let name = primed_name("coupling", |name| coupled.parts().contains_key(name));
            let inductors = names.clone();
            coupled.insert(name, Part::new(PartKind::Coupling { inductors, factor }));
            let project = with_network(self.project, &coupled);
            let as_written = Circumstances::default();
            let changed = (self.loudspeaker.changed(&project, &as_written)).ok()??;
            let with_db = level_db_series(&changed.curves().ok()?.system);
            let changes = with_db.iter().zip(&self.sum_db).map(|(a, b)| (a - b).abs());
            worst = changes.fold(worst, f64::max);
        }
        Some(worst)
    }
}
