//! A loudspeaker over a band, for the script.

use serde::Serialize;
use solver::loudspeaker::Loudspeaker;
use solver::spectrum::Spectrum;

use super::bits::{Complexes, Reals};

/// Frequencies, output impedance of the amplifier, admittances of the drivers and their sounds for one volt.
#[derive(Debug, Serialize)]
pub(super) struct PageBand {
    f_hz: Reals,
    source: PageSource,
    loads: Vec<Complexes>,
    sounds: Vec<Complexes>,
}

/// Output impedance, ohm.
#[derive(Debug, Serialize)]
#[serde(untagged)]
enum PageSource {
    /// The same at all frequencies: real and imaginary part.
    One([f64; 2]),
    Each(Complexes),
}

impl PageBand {
    pub(super) fn new(system: &Loudspeaker) -> Self {
        let admittance = |z_ohm: &Spectrum| {
            Complexes::new(&Spectrum::from_fn(z_ohm.len(), |i| z_ohm.at(i).inv()))
        };
        let output = &system.drive.output_impedance_ohm;
        let all = Spectrum::from_fn(system.grid.len(), |i| output.at(i));
        let first = all.at(0);
        let source = match (0..all.len()).all(|i| all.at(i) == first) {
            true => PageSource::One([first.re, first.im]),
            false => PageSource::Each(Complexes::new(&all)),
        };
        Self {
            f_hz: Reals::new(system.grid.f_hz()),
            source,
            loads: (system.loads_z_ohm().into_iter()).map(admittance).collect(),
            sounds: (system.drivers.iter())
                .map(|driver| Complexes::new(&driver.sound_pa_per_v))
                .collect(),
        }
    }
}
