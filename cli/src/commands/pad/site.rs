//! Where a pad stands: its driver, the network about it, and what feeds it.

use std::borrow::Cow;

use netlist::network::Network;
use netlist::project::Project;
use solver::amplifier::source_impedance;
use solver::grid::Grid;
use solver::nodal::SourceImpedance;
use solver::pad::{
    PadInNetwork, PadLoad, PadSource, Study, find_pad, return_lead_first, shared_with,
};
use solver::synthesis::{AutoformerWinding, Pad};
use solver::wiring::cable_ohm;

use super::request::Request;
use super::target::winding;
use super::work::USUAL_LOAD_OHM;
use crate::failure::Failure;

/// A pad's surroundings.
pub(super) struct Site<'a> {
    pub(super) request: &'a Request,
    pub(super) project: Option<&'a Project>,
    /// The driver behind the pad; `None` for a resistor.
    pub(super) driver: Option<(&'a Project, &'a str)>,
    /// With what is in the driver's return lead before the driver, where it is as good.
    network: Option<Cow<'a, Network>>,
    /// Parts that were moved for that.
    pub(super) return_lead: Vec<String>,
    /// An autoformer of the stock.
    stock_winding: Option<AutoformerWinding>,
    pub(super) place: Option<PadInNetwork>,
}

impl<'a> Site<'a> {
    pub(super) fn new(request: &'a Request) -> Result<Self, Failure> {
        let project = request.project();
        let driver = project.zip(request.driver.as_deref());
        let network = project.and_then(|project| project.network.as_ref());
        let forward =
            (network.zip(driver)).and_then(|(network, (_, name))| return_lead_first(network, name));
        let (network, return_lead) = match forward {
            Some((network, parts)) => (Some(Cow::Owned(network)), parts),
            None => (network.map(Cow::Borrowed), Vec::new()),
        };
        let stock_winding =
            project.and_then(|project| project.stock.autoformers.as_ref().map(winding));
        let place = driver.and_then(|(_, name)| {
            let place = find_pad(network.as_deref()?, name)?;
            Some(match &stock_winding {
                Some(winding) => place.wound(winding.clone()),
                None => place,
            })
        });
        let shared = (network.as_deref().zip(place.as_ref()))
            .and_then(|(network, place)| shared_with(network, place));
        if let Some(other) = shared {
            return Err(not_alone(request, &other));
        }
        Ok(Self {
            request,
            project,
            driver,
            network,
            return_lead,
            stock_winding,
            place,
        })
    }

    /// What is behind the pad, without anything beside it.
    pub(super) fn bare_load(&self) -> PadLoad {
        match self.driver {
            Some((project, name)) => PadLoad::driver(project, name, self.request.load_ohm, 0.0)
                .expect("the driver was looked up"),
            None => PadLoad::resistor(self.request.load_ohm.unwrap_or(USUAL_LOAD_OHM)),
        }
    }

    /// The project, the network and the pad's place in it, where there is one.
    pub(super) fn in_network(&self) -> Option<(&'a Project, &Network, &PadInNetwork)> {
        Some((
            self.project?,
            self.network.as_deref()?,
            self.place.as_ref()?,
        ))
    }

    /// A load with what lies beside it.
    pub(super) fn beside(&self, load: PadLoad) -> PadLoad {
        match self.in_network() {
            Some((project, network, place)) => load
                .beside(network, place)
                .with_drivers_of(project, network, place),
            None => PadLoad {
                winding: self.stock_winding.clone(),
                ..load
            },
        }
    }

    /// What drives the pad.
    pub(super) fn feed(&self, load: &PadLoad) -> Result<PadSource, Failure> {
        let Some((project, network, place)) = self.in_network() else {
            return Ok(self.textbook_feed(load));
        };
        PadSource::network(project, network, place, load).map_err(|error| Failure::Unusable {
            message: format!("{}: {error}", path(self.request)),
            help: "change the parts named above".to_owned(),
        })
    }

    fn textbook_feed(&self, load: &PadLoad) -> PadSource {
        PadSource::textbook(load, &self.source(load), load.rated_ohm)
    }

    fn source(&self, load: &PadLoad) -> SourceImpedance {
        match self.project {
            Some(project) => {
                source_impedance(&project.amplifier, &load.grid).plus(cable_ohm(project))
            }
            None => SourceImpedance::NONE,
        }
    }

    /// The load and what a pad does on it at other frequencies.
    pub(super) fn on_grid(&self, load: &PadLoad, pad: Pad, grid: Grid) -> (PadLoad, Study) {
        let on = self.beside(load.on_grid(self.driver, grid));
        let feed = match self.in_network() {
            // The same network was solved before.
            Some((project, network, place)) => PadSource::network(project, network, place, &on)
                .unwrap_or_else(|_| PadSource::amplifier(&on, &self.source(&on))),
            None => self.textbook_feed(&on),
        };
        let study = Study::new(pad, &on, &feed);
        (on, study)
    }
}

/// The project file as it was named.
pub(super) fn path(request: &Request) -> String {
    let loaded = request.loaded.as_ref();
    loaded.map_or_else(String::new, |loaded| loaded.path.display().to_string())
}

fn not_alone(request: &Request, other: &str) -> Failure {
    let name = request.driver.as_deref().unwrap_or_default();
    Failure::Unusable {
        message: format!(
            "{}: driver {name} is in series with {other}, or shares its return lead: what attenuates there serves both, and no pad of {name} alone can be told",
            path(request)
        ),
        help: format!(
            "enter the two as one driver with the impedance of both, or give {name} an L-pad of its own, with the shunt from terminal to terminal"
        ),
    }
}
