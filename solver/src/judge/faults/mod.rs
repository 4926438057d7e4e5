//! What a loose wire, an open part or a short circuit does: to the amplifier, and to the drivers that
//! are left.
//!
//! Every part is opened and shorted, every driver disconnected and shorted, every section of an
//! autoformer opened and shorted, one at a time. The network is changed exactly: an open part is taken
//! out, the ends of a shorted part become one node. Coils that are coupled to a shorted coil still feel
//! it.
//!
//! Power and voltage are those of programme noise (IEC 60268-1) of the amplifier's rated power into its
//! rated load, and of the worst steady sine of that voltage. A diaphragm's travel is compared with that
//! in the sound network, as the programme's voltage times a low pass of second order at the driver's
//! resonance: at constant voltage the travel of a moving coil falls by 12 dB per octave above it.
//!
//! A filter whose driver is gone can be a series resonance across the amplifier, which then sees little
//! more than the resistance of a coil. It is told with its frequency and the coil and the capacitor that
//! make it.
//!
//! | file | what |
//! |---|---|
//! | `change` | a network with something opened or shorted |
//! | `state` | a network under programme and sines |
//! | `zoom` | least load and series resonance between the frequencies of the grid |
//! | `hazard` | what is dangerous about a fault |
//! | `findings` | what the builder must know |

mod change;
mod findings;
mod hazard;
mod state;
mod zoom;

use std::ops::ControlFlow;

use netlist::network::{Network, PartKind};
use rayon::prelude::*;
use serde::Serialize;

use self::change::{FaultyNetwork, NetworkFault, changed};
use self::state::{FaultBench, State};
use super::Severity;
use super::judged_loudspeaker::JudgedLoudspeaker;
use crate::load::LeastImpedance;
use crate::load::REFERENCE_V;
use crate::nodal::PlanError;

pub use findings::{fault_findings, hazard_words};
pub use hazard::Hazard;

/// Share of the load of the sound network below which a dip is told as a series resonance.
const RESONANCE_SHARE: f64 = 0.5;

/// What may go wrong with a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultKind {
    /// A driver is not connected.
    DriverDisconnected,
    /// The wires of a driver touch.
    DriverShorted,
    /// A part carries no current.
    PartOpen,
    /// A part is bridged.
    PartShorted,
    /// One section of an autoformer is broken.
    SectionOpen,
    /// One section of an autoformer is bridged.
    SectionShorted,
}

/// One fault and what it does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fault {
    /// Name of the part.
    pub part: String,
    /// What is wrong with it.
    pub kind: FaultKind,
    /// Nodes of the section of an autoformer.
    pub section: Option<[String; 2]>,
    /// How bad it is where it happens: that of the worst hazard, [`Severity::Note`] without one.
    pub severity: Severity,
    /// What is bad about it, the worst first.
    pub hazards: Vec<Hazard>,
    /// Least load from 20 Hz to 20 kHz (over the grid's band); 0 Ω for a dead short, `None` where no
    /// current flows.
    pub least_load: Option<LeastImpedance>,
    /// The series resonance that a filter without its driver is.
    pub resonance: Option<FilterResonance>,
    /// What happens to the sum in the aim's band.
    pub sum: SumChange,
    /// The drivers, in the order of the parts.
    pub drivers: Vec<DriverUnderFault>,
}

/// A series resonance across the amplifier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilterResonance {
    /// Where, Hz.
    pub frequency_hz: f64,
    /// The load there, ohm.
    pub load_ohm: f64,
    /// The coil and the capacitor in which most energy goes to and fro.
    pub parts: Option<[String; 2]>,
}

/// Change of the sum against the sound network, in the aim's band, on the axis or over the window as the aim judges.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SumChange {
    /// Largest rise, dB; 0 where it rises nowhere.
    pub rise_db: f64,
    /// Where, Hz.
    pub rise_at_hz: f64,
    /// Largest fall, dB, above 0; 0 where it falls nowhere.
    pub fall_db: f64,
    /// Where, Hz.
    pub fall_at_hz: f64,
}

/// A driver in a network.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriverUnderFault {
    /// Name of the driver.
    pub name: String,
    /// Whether it gets no voltage at all.
    pub silent: bool,
    /// Power from programme noise at the amplifier's rated power, W; `None` where that is not stated.
    pub power_w: Option<f64>,
    /// Its rated power, W.
    pub rated_w: Option<f64>,
    /// Voltage of programme noise at its terminals, V rms.
    pub voltage_v: Option<f64>,
    /// Largest power from a steady sine of the amplifier's rated voltage, W.
    pub sine_power_w: Option<f64>,
    /// Where, Hz.
    pub sine_at_hz: f64,
    /// Power against that in the sound network, dB; `None` where one of them is none.
    pub power_change_db: Option<f64>,
    /// Travel of the diaphragm against that in the sound network, dB; `None` where its resonance is not
    /// known or one of them is none.
    pub travel_change_db: Option<f64>,
}

/// All faults of a loudspeaker.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Faults {
    /// Least load of the sound network; `None` where no current flows.
    pub least_load: Option<LeastImpedance>,
    /// The drivers in the sound network.
    pub drivers: Vec<DriverUnderFault>,
    /// Least load that the faults are held against, ohm.
    pub limit_ohm: f64,
    /// Faults that were not tried, because somebody asked to end.
    pub untried: usize,
    /// The faults, the most dangerous first.
    pub faults: Vec<Fault>,
}

/// Faults that are tried between two reports of progress.
const BETWEEN_REPORTS: usize = 16;

/// Tries every fault of a loudspeaker, on all threads of the current rayon pool. `progress` hears how many
/// are tried and how many there are; when it breaks, those tried so far are given.
///
/// The grid should go from 20 Hz to 20 kHz with 300 points or more: the least load is looked for between
/// its points as well, where loads are taken to be smooth.
///
/// # Errors
/// If the network cannot be solved.
pub fn faults(
    speaker: &JudgedLoudspeaker,
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Faults, PlanError> {
    tried(speaker, &changes(speaker), progress)
}

/// Tries only the likeliest faults: each driver that is not connected.
///
/// # Errors
/// If the network cannot be solved.
pub fn loose_drivers(speaker: &JudgedLoudspeaker) -> Result<Faults, PlanError> {
    let mut changes = changes(speaker);
    changes.retain(|change| change.kind == FaultKind::DriverDisconnected);
    tried(speaker, &changes, &mut |_, _| ControlFlow::Continue(()))
}

fn tried(
    speaker: &JudgedLoudspeaker,
    changes: &[NetworkFault],
    progress: &mut dyn FnMut(usize, usize) -> ControlFlow<()>,
) -> Result<Faults, PlanError> {
    let bench = FaultBench::new(speaker);
    let sound = bench.state(&speaker.loudspeaker.network)?;
    let limit_ohm = hazard::limit_ohm(speaker);
    let mut faults = Vec::with_capacity(changes.len());
    for some in changes.chunks(BETWEEN_REPORTS) {
        if progress(faults.len(), changes.len()).is_break() {
            break;
        }
        let tried: Result<Vec<Fault>, PlanError> = (some.par_iter())
            .map(|&change| fault(&bench, &sound, change, limit_ohm))
            .collect();
        faults.extend(tried?);
    }
    let untried = changes.len() - faults.len();
    faults.sort_by(|a, b| {
        let badness = |fault: &Fault| {
            let worst = fault.hazards.first();
            worst.map_or(0.0, |hazard| hazard.badness(limit_ohm))
        };
        let by_severity = b.severity.cmp(&a.severity);
        by_severity.then(badness(b).total_cmp(&badness(a)))
    });
    Ok(Faults {
        least_load: sound.least,
        drivers: drivers(&bench, &sound, &sound),
        limit_ohm,
        untried,
        faults,
    })
}

/// What is dangerous about `network` in the place of the loudspeaker's own, the worst first, and the least
/// load that it is held against, ohm. It holds drivers of the loudspeaker, all or some.
///
/// # Errors
/// If one of the networks cannot be solved.
pub fn hazards_of(
    speaker: &JudgedLoudspeaker,
    network: &Network,
) -> Result<(Vec<Hazard>, f64), PlanError> {
    let bench = FaultBench::new(speaker);
    let (sound, state) = (
        bench.state(&speaker.loudspeaker.network)?,
        bench.state(network)?,
    );
    let limit_ohm = hazard::limit_ohm(speaker);
    let drivers = drivers(&bench, &state, &sound);
    let found = hazard::hazards(speaker, limit_ohm, &state, &sound, &drivers)?;
    Ok((found, limit_ohm))
}

/// Everything that can go wrong, part by part.
fn changes(speaker: &JudgedLoudspeaker) -> Vec<NetworkFault> {
    let mut changes = Vec::new();
    for (part, found) in speaker.loudspeaker.network.parts().values().enumerate() {
        let mut add = |kinds: &[FaultKind], section| {
            changes.extend(kinds.iter().map(|&kind| NetworkFault {
                part,
                kind,
                section,
            }));
        };
        match &found.kind {
            PartKind::Coupling { .. } => {}
            PartKind::Driver { .. } => add(
                &[FaultKind::DriverDisconnected, FaultKind::DriverShorted],
                None,
            ),
            PartKind::Autoformer { .. } => {
                // Any broken wire is in one of the sections.
                for section in 0..change::sections(&found.kind).len() {
                    let kinds = [FaultKind::SectionOpen, FaultKind::SectionShorted];
                    add(&kinds, Some(section));
                }
                add(&[FaultKind::PartShorted], None);
            }
            PartKind::Resistor { .. } | PartKind::Inductor { .. } | PartKind::Capacitor { .. } => {
                add(&[FaultKind::PartOpen, FaultKind::PartShorted], None);
            }
        }
    }
    changes
}

fn fault(
    bench: &FaultBench<'_>,
    sound: &State,
    change: NetworkFault,
    limit_ohm: f64,
) -> Result<Fault, PlanError> {
    let speaker = bench.speaker;
    let network = &speaker.loudspeaker.network;
    let grid = &speaker.loudspeaker.grid;
    let state = match changed(network, change) {
        FaultyNetwork::Network(network) => bench.state(&network)?,
        FaultyNetwork::NoLoad => bench.silent(None),
        FaultyNetwork::DeadShort => bench.silent(Some(LeastImpedance {
            f_hz: grid.f_hz()[0],
            magnitude_ohm: 0.0,
            phase_deg: 0.0,
        })),
    };
    let lost = (state.drivers.iter().zip(&sound.drivers))
        .any(|(now, before)| now.is_silent() && !before.is_silent());
    let resonance = match (&state.zoom, &sound.zoom) {
        (Some(now), Some(before)) if lost => now.series_resonance(grid, before, RESONANCE_SHARE)?,
        _ => None,
    };
    let drivers = drivers(bench, &state, sound);
    let hazards = hazard::hazards(speaker, limit_ohm, &state, sound, &drivers)?;
    let (name, found) = (network.parts().get_index(change.part)).expect("a part of the network");
    let section = change.section.map(|section| {
        let (ends, _) = change::sections(&found.kind)[section];
        ends.map(|node| network.node_name(node).to_owned())
    });
    let severities = hazards.iter().map(|hazard| hazard.severity(limit_ohm));
    Ok(Fault {
        part: name.clone(),
        kind: change.kind,
        section,
        severity: severities.max().unwrap_or(Severity::Note),
        least_load: state.least,
        resonance,
        sum: sum_change(bench, &state, sound),
        hazards,
        drivers,
    })
}

fn sum_change(bench: &FaultBench<'_>, state: &State, sound: &State) -> SumChange {
    let f_hz = bench.speaker.loudspeaker.grid.f_hz();
    let mut change = SumChange {
        rise_db: 0.0,
        rise_at_hz: f_hz[0],
        fall_db: 0.0,
        fall_at_hz: f_hz[0],
    };
    for (&i, (now, before)) in bench
        .judged
        .iter()
        .zip(state.sum_db.iter().zip(&sound.sum_db))
    {
        let db = now - before;
        if db > change.rise_db {
            change.rise_db = db;
            change.rise_at_hz = f_hz[i];
        }
        if -db > change.fall_db {
            change.fall_db = -db;
            change.fall_at_hz = f_hz[i];
        }
    }
    change
}

/// The drivers of a network, at the amplifier's rated power, against the sound one.
fn drivers(bench: &FaultBench<'_>, state: &State, sound: &State) -> Vec<DriverUnderFault> {
    let system = &bench.speaker.loudspeaker;
    let rated = (system.loudness.stated)
        .then(|| system.loudness.open_circuit_v(system.nominal_output_ohm) / REFERENCE_V);
    let change =
        |now: f64, before: f64| (now > 0.0 && before > 0.0).then(|| 10.0 * (now / before).log10());
    (system.drivers.iter().enumerate())
        .map(|(i, driver)| {
            let (now, before) = (&state.drivers[i], &sound.drivers[i]);
            DriverUnderFault {
                name: driver.name.clone(),
                silent: now.is_silent(),
                power_w: rated.map(|scale| scale * scale * now.power_w),
                rated_w: driver.rated_w,
                voltage_v: rated.map(|scale| scale * now.volts),
                sine_power_w: rated.map(|scale| scale * scale * now.sine_w),
                sine_at_hz: now.sine_at_hz,
                power_change_db: change(now.power_w, before.power_w),
                travel_change_db: change(now.travel, before.travel),
            }
        })
        .collect()
}

impl Fault {
    /// What happened, for people: `low disconnected`, `C2 shorted`.
    #[must_use]
    pub fn words(&self) -> String {
        let part = match &self.section {
            Some([upper, lower]) => format!("{} between {upper} and {lower}", self.part),
            None => self.part.clone(),
        };
        let what = match self.kind {
            FaultKind::DriverDisconnected => "disconnected",
            FaultKind::PartOpen | FaultKind::SectionOpen => "open",
            FaultKind::DriverShorted | FaultKind::PartShorted | FaultKind::SectionShorted => {
                "shorted"
            }
        };
        format!("{part} {what}")
    }
}
