//! A way of a job.

use crate::load::Note;
use crate::sound::Flight;
use crate::spectrum::Spectrum;

/// One way of a job.
#[derive(Debug, Clone)]
pub struct Way {
    /// Name of its driver.
    pub name: String,
    /// Impedance over the grid of the job, the lead to it included, ohm.
    pub z_ohm: Spectrum,
    /// Sound at the listener for one volt at the network's end of the lead, pascal.
    pub sound: Spectrum,
    /// What had to be supplied where the driver's data have gaps.
    pub notes: Vec<Note>,
    /// Delay of the path to the listener, s.
    pub delay_s: f64,
    /// The flight time that its measured phase holds; `None` where it holds none.
    pub flight: Option<Flight>,
    /// Level of the bare driver in its own band, dB SPL at 2.83 V and the listener.
    pub level_db: f64,
    /// The most that a network can leave of it: behind the amplifier's output impedance, the cable and,
    /// where it has an upper crossover, the resistance of the least coil that a low pass there takes.
    pub reach: Reach,
    /// Its resonance, stated or found from its impedance, Hz.
    pub resonance_hz: Option<f64>,
    /// Whether its diaphragm is made for a short travel.
    pub delicate: bool,
}

/// The most that a network can leave of a driver's level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Level in the driver's band, dB SPL at 2.83 V open circuit and the listener.
    pub level_db: f64,
    /// Resistance of the least coil in series with it, ohm; 0 for the highest way.
    pub coil_ohm: f64,
    /// Mean magnitude in that band of what amplifier and cable put in series, ohm.
    pub source_ohm: f64,
}
