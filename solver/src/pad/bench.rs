//! A pad's surroundings: its driver or a resistor, the network about it, what feeds it, and the stock it is made from.

use std::borrow::Cow;

use netlist::network::Network;
use netlist::project::Project;
use num_complex::Complex64;

use super::drive_source::{PadSource, PadSourceKind};
use super::find::find_pad;
use super::in_network::PadInNetwork;
use super::load::PadLoad;
use super::question::PadError;
use super::return_lead::{return_lead_first, shared_with};
use super::size::PadSite;
use super::stock::Resistors;
use super::study::Study;
use super::target::{Counted, PadTarget};
use crate::amplifier::{nominal_output_ohm, source_impedance};
use crate::grid::Grid;
use crate::loudspeaker::driver_behind_lead;
use crate::nodal::SourceImpedance;
use crate::programme::Loudness;
use crate::search::least_load_ohm;
use crate::stock::left_by;
use crate::synthesis::{AutoformerWinding, Pad, PadKind};
use crate::wiring::cable_ohm;

/// Where a pad stands, recognised and made ready: any pad can be put there.
#[derive(Debug)]
pub struct PadBench<'a> {
    driver: Option<(&'a Project, &'a str)>,
    /// With what is in the driver's return lead before the driver, where it is as good.
    network: Option<Cow<'a, Network>>,
    /// Parts in the driver's return lead, which count as if they were before it.
    pub return_lead: Vec<String>,
    /// Place of the pad in the network.
    pub place: Option<PadInNetwork>,
    /// What is behind the pad.
    pub load: PadLoad,
    /// What drives it.
    pub feed: PadSource,
    /// How loud the amplifier is.
    pub loudness: Loudness,
    /// Its output impedance in one number, ohm.
    pub output_ohm: Complex64,
    /// Resistors of the stock.
    pub resistors: Resistors,
}

impl<'a> PadBench<'a> {
    /// Before a driver of a project, or on a resistor of `load_ohm`, which for a driver is its rated impedance; `power_w`
    /// in place of the amplifier's.
    ///
    /// # Errors
    /// If what attenuates before the driver serves another one too, or the network cannot be solved.
    ///
    /// # Panics
    /// If the project has no such driver, or neither driver nor resistor is given.
    pub fn new(
        driver: Option<(&'a Project, &'a str)>,
        load_ohm: Option<f64>,
        power_w: Option<f64>,
    ) -> Result<Self, PadError> {
        let load = match driver {
            Some((project, name)) => {
                PadLoad::driver(project, name, load_ohm).expect("the driver is one of the project")
            }
            None => PadLoad::resistor(load_ohm.expect("a resistor or a driver")),
        };
        let amplifier = driver.map(|(project, _)| &project.amplifier);
        // A plain resistor is its own rated load.
        let mut loudness = amplifier.map_or(
            Loudness {
                power_w: 1.0,
                load_ohm: load.rated_ohm,
                stated: false,
            },
            Loudness::of,
        );
        if let Some(power_w) = power_w {
            (loudness.power_w, loudness.stated) = (power_w, true);
        }
        let output_ohm = amplifier.map_or(Complex64::ZERO, nominal_output_ohm);
        let (network, return_lead, place) = match driver {
            Some((project, name)) => recognised(project, name)?,
            None => (None, Vec::new(), None),
        };
        let stock = driver.map(|(project, _)| {
            let parts = network.iter().flat_map(|network| network.parts());
            let own = |name: &String| (place.iter()).any(|place| place.parts.contains(name));
            let others = parts.filter(|(name, _)| place.is_some() && !own(name));
            left_by(&project.stock, others.map(|(_, part)| part))
        });
        let mut bench = Self {
            driver,
            network,
            return_lead,
            place,
            feed: PadSource::amplifier(&load, &SourceImpedance::NONE),
            loudness,
            output_ohm,
            resistors: Resistors::new(&stock.unwrap_or_default()),
            load: load.clone(),
        };
        bench.load = bench.beside(load);
        bench.feed = bench.fed(&bench.load)?;
        Ok(bench)
    }

    /// The project, where there is one.
    #[must_use]
    pub fn project(&self) -> Option<&'a Project> {
        self.driver.map(|(project, _)| project)
    }

    /// The driver's name, where there is one.
    #[must_use]
    pub fn driver(&self) -> Option<&'a str> {
        self.driver.map(|(_, name)| name)
    }

    /// The driver's name, or what a resistor is called.
    #[must_use]
    pub fn name(&self) -> &'a str {
        self.driver().unwrap_or("the load")
    }

    /// The network and the pad's place in it, where there is one.
    #[must_use]
    pub fn in_network(&self) -> Option<(&Network, &PadInNetwork)> {
        self.network.as_deref().zip(self.place.as_ref())
    }

    /// A load with what lies beside it.
    fn beside(&self, load: PadLoad) -> PadLoad {
        match (self.project(), self.in_network()) {
            (Some(project), Some((network, place))) => {
                let grid = load.grid.clone();
                load.beside(network, place, &|name| {
                    let known = project.drivers.contains_key(name);
                    known.then(|| driver_behind_lead(project, name, &grid).z_ohm)
                })
            }
            _ => load.wound(self.project().and_then(stock_winding)),
        }
    }

    /// What drives a load's pad.
    fn fed(&self, load: &PadLoad) -> Result<PadSource, PadError> {
        let source = match (self.project(), self.in_network()) {
            (Some(project), Some((network, place))) => {
                PadSource::network(project, network, place, load)?
            }
            (Some(project), None) => {
                let source = source_impedance(&project.amplifier, &load.grid);
                PadSource::textbook(load, &source.plus(cable_ohm(project)), load.rated_ohm)
            }
            (None, _) => PadSource::amplifier(load, &SourceImpedance::NONE),
        };
        Ok(source.at_volts(self.loudness.open_circuit_v(self.output_ohm)))
    }

    /// The load and what a pad does on it at other frequencies.
    ///
    /// # Errors
    /// If the network cannot be solved, which it was on [`PadBench::load`].
    pub fn on_grid(&self, pad: Pad, grid: &Grid) -> Result<(PadLoad, Study), PadError> {
        let load = self.beside(self.load.around(self.driver, grid.clone(), 0.0));
        let study = Study::new(pad, &load, &self.fed(&load)?);
        Ok((load, study))
    }

    /// The load with a voice coil that is so much hotter, K; `None` on a resistor.
    pub(super) fn hot(&self, coil_rise_k: f64) -> Option<PadLoad> {
        let grid = self.load.grid.clone();
        let driver = Some(self.driver?);
        Some(self.beside(self.load.around(driver, grid, coil_rise_k)))
    }

    /// What a pad does here.
    #[must_use]
    pub fn study(&self, pad: Pad) -> Study {
        Study::new(pad, &self.load, &self.feed)
    }

    /// What a pad here should be: it keeps what the filter has now, or what a filter will be designed for. `taps` in place
    /// of those of the winding in the file or of the stock, where there are any.
    #[must_use]
    pub fn target(&self, kind: PadKind, attenuation_db: f64, taps: &[f64]) -> PadTarget {
        let load = &self.load;
        let built = self.place.as_ref().and_then(|place| place.pad);
        PadTarget {
            kind,
            attenuation_db,
            counted: Counted::Attenuation,
            kept_ohm: match (self.feed.kind, built) {
                (PadSourceKind::Network, Some(pad)) => self.study(pad).kept_ohm(load),
                (PadSourceKind::Network, None) => load.z_ohm.magnitude(),
                _ => vec![load.rated_ohm; load.grid.len()],
            },
            least_ohm: self.project().and_then(least_load_ohm).unwrap_or(0.0),
            taps: if taps.is_empty() {
                self.taps()
            } else {
                taps.to_vec()
            },
        }
    }

    /// Taps of the winding in the file, or else of the stock; none for a winding to order.
    fn taps(&self) -> Vec<f64> {
        if let Some(place) = &self.place
            && let Some(ratio) = place.pad.and_then(Pad::ratio)
            && !place.winding.taps.is_empty()
        {
            return place.winding.taps.iter().copied().chain([ratio]).collect();
        }
        let stock = self.project().and_then(|project| project.stock.autoformers);
        stock.map_or_else(Vec::new, |range| {
            (1..=range.taps()).map(|steps| range.ratio(steps)).collect()
        })
    }

    /// Where a pad goes here, and what it is made of.
    #[must_use]
    pub fn site(&self) -> PadSite<'_> {
        PadSite {
            load: &self.load,
            feed: &self.feed,
            resistors: &self.resistors,
        }
    }
}

/// The network with what is in the driver's return lead before it, the parts that were moved for that, and the pad's place.
type Recognised<'a> = (Option<Cow<'a, Network>>, Vec<String>, Option<PadInNetwork>);

fn recognised<'a>(project: &'a Project, driver: &str) -> Result<Recognised<'a>, PadError> {
    let Some(network) = &project.network else {
        return Ok((None, Vec::new(), None));
    };
    let (network, return_lead) = match return_lead_first(network, driver) {
        Some((network, parts)) => (Cow::Owned(network), parts),
        None => (Cow::Borrowed(network), Vec::new()),
    };
    let place = find_pad(&network, driver).map(|place| match stock_winding(project) {
        Some(winding) => place.wound(winding),
        None => place,
    });
    let shared = (place.as_ref()).and_then(|place| shared_with(&network, place));
    match shared {
        Some(other) => Err(PadError::Shared {
            driver: driver.to_owned(),
            other,
        }),
        None => Ok((Some(network), return_lead, place)),
    }
}

/// Winding of an autoformer of the stock.
fn stock_winding(project: &Project) -> Option<AutoformerWinding> {
    let range = project.stock.autoformers.as_ref()?;
    Some(AutoformerWinding {
        inductance_h: range.inductance.0,
        dcr_ohm: range.dcr.0,
        coupling: range.coupling,
        taps: Vec::new(),
    })
}
