//! What wire costs.

use netlist::project::{Project, Wire};
use serde::Serialize;

use super::change::{Changes, changes};
use crate::judge::stress::{Stress, StressedKind};
use crate::loudspeaker::Circumstances;
use crate::wiring::wire_ohm;

/// What cable and leads cost; in a project that says nothing of them there is no such thing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WireCost {
    /// The speaker cable.
    pub cable: Option<WireFigures>,
    /// The leads to the drivers, in file order.
    pub leads: Vec<LeadFigures>,
    /// Change of the sound against wire without resistance.
    #[serde(flatten)]
    pub changes: Changes,
    /// Share of the loudspeaker's power that all wire turns to heat under programme noise.
    pub power_share: f64,
}

/// One wire.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WireFigures {
    /// Length of the pair, m.
    pub length_m: f64,
    /// Section of one conductor, mm².
    pub gauge_mm2: f64,
    /// Resistance there and back at 20 °C, ohm.
    pub ohm: f64,
}

/// The wire to one driver.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeadFigures {
    /// Name of the driver.
    pub driver: String,
    /// The wire.
    #[serde(flatten)]
    pub wire: WireFigures,
}

impl WireFigures {
    fn of(wire: &Wire) -> Self {
        Self {
            length_m: wire.length.0,
            gauge_mm2: wire.gauge.0 * 1e6,
            ohm: wire_ohm(wire),
        }
    }
}

/// Everything as it is, but wire without resistance.
pub(super) fn without_wire() -> Circumstances {
    Circumstances {
        without_wiring: true,
        ..Circumstances::default()
    }
}

pub(super) fn wire_cost(
    project: &Project,
    views: &super::Views,
    stress: &Stress,
) -> Option<WireCost> {
    let bare = views.without_wire.as_ref()?;
    let wires = stress
        .parts
        .iter()
        .filter(|part| part.kind == StressedKind::Wire);
    let burnt_w: f64 = wires.map(|part| part.noise.power_w).sum();
    Some(WireCost {
        cable: project.wiring.cable.as_ref().map(WireFigures::of),
        leads: (project.wiring.internal.iter())
            .map(|(driver, wire)| LeadFigures {
                driver: driver.clone(),
                wire: WireFigures::of(wire),
            })
            .collect(),
        changes: changes(project, views.grid.f_hz(), bare, &views.normal),
        power_share: if burnt_w > 0.0 {
            burnt_w / stress.noise_power_w
        } else {
            0.0
        },
    })
}
