//! Everything that is shown about a pad.

use solver::judge::Finding;
use solver::pad::{
    Candidate, DriveChange, LoudspeakerChange, LoudspeakerFigures, PadDrive, PadHeat, PadInNetwork,
    PadLoad, PadSource, PadSourceKind, PadTarget, Step, Study, shares,
};

use super::request::Request;

/// The load of an amplifier of which nothing is said, in ohm (common practice).
pub(super) const USUAL_LOAD_OHM: f64 = 8.0;

/// A pad with all figures that a column of the table shows.
#[derive(Debug)]
pub(crate) struct PadColumn {
    pub(crate) study: Study,
    pub(crate) heat: PadHeat,
    pub(crate) drive: PadDrive,
    /// Against what the filter was made for.
    pub(crate) change: Option<DriveChange>,
    pub(crate) speaker: Option<LoudspeakerFigures>,
    /// Against the network as it is in the file.
    pub(crate) speaker_change: Option<LoudspeakerChange>,
}

/// What a hotter voice coil does.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hot {
    pub(crate) rise_k: f64,
    /// Mean attenuation, in dB.
    pub(crate) mean_db: f64,
    /// Change of the driver's sound in its band, in dB.
    pub(crate) level_db: f64,
    /// The same without a pad.
    pub(crate) level_without_pad_db: f64,
}

/// The amplifier.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Power {
    pub(crate) power_w: f64,
    pub(crate) load_ohm: f64,
    pub(crate) output_impedance_ohm: f64,
    pub(crate) open_circuit_v: f64,
    /// Nobody said how strong it is.
    pub(crate) assumed: bool,
}

/// Where the pad that is looked at comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PadOrigin {
    /// The best from stock.
    Stock,
    /// Given.
    Given,
    /// In the network.
    AsBuilt,
}

/// Everything.
pub(crate) struct Work<'a> {
    pub(crate) request: &'a Request,
    pub(crate) load: PadLoad,
    pub(crate) feed: PadSource,
    pub(crate) power: Power,
    pub(crate) origin: PadOrigin,
    /// Place of the pad in the network.
    pub(crate) place: Option<PadInNetwork>,
    /// Parts in the driver's return lead, which count as if they were before it.
    pub(crate) return_lead: Vec<String>,
    /// The pad that is looked at.
    pub(crate) chosen: PadColumn,
    /// The pad that is in the file, when another one is looked at.
    pub(crate) built: Option<PadColumn>,
    /// The textbook's L-pad, for a driver.
    pub(crate) textbook: Option<PadColumn>,
    /// The ideal pad, when one was sized.
    pub(crate) ideal: Option<(Study, PadHeat)>,
    pub(crate) candidates: Vec<Candidate>,
    pub(crate) target: PadTarget,
    pub(crate) steps: Vec<Step>,
    pub(crate) hot: Option<Hot>,
    pub(crate) findings: Vec<Finding>,
    /// Curves at the frequencies of `--at`.
    pub(crate) at: Option<(PadLoad, Study)>,
}

impl Work<'_> {
    /// The driver's name, or what a resistor is called.
    pub(crate) fn name(&self) -> &str {
        self.request.driver.as_deref().unwrap_or("the load")
    }

    /// Where the data of an autoformer come from; the first word for documents, the other for people.
    pub(crate) fn winding_from(&self) -> (&'static str, &'static str) {
        let own = self
            .place
            .as_ref()
            .is_some_and(|p| p.winding_part().is_some());
        let stock = (self.request.project()).is_some_and(|p| p.stock.autoformers.is_some());
        match (&self.load.winding, own, stock) {
            (None, ..) => ("ideal", "taken as ideal"),
            (_, true, _) => ("file", "as in the file"),
            (_, _, true) => ("stock", "of the stock"),
            _ => ("assumed", "assumed"),
        }
    }

    /// What sees the pad's input.
    pub(crate) fn seen_by(&self) -> &'static str {
        match &self.place {
            Some(place) if place.at_amplifier() => "the amplifier",
            None if self.feed.kind == PadSourceKind::Amplifier && self.request.driver.is_some() => {
                "the amplifier"
            }
            _ => "the filter",
        }
    }

    /// What the filter's load, or its source, should be.
    pub(crate) fn made_for(&self) -> &'static str {
        match self.feed.kind {
            PadSourceKind::Network => "what it is in the file",
            _ => "the rated load",
        }
    }

    /// Whether the pad is looked at as an addition to the network: none was recognised there.
    pub(crate) fn added(&self) -> bool {
        self.place.as_ref().is_some_and(|place| place.pad.is_none())
    }

    /// Stock resistors of the pad that is looked at, when it was sized.
    pub(crate) fn best(&self) -> Option<&Candidate> {
        self.candidates.first()
    }

    /// Shares of the power in the resistors that the series or the shunt resistor is made of.
    pub(super) fn shares_of(&self, name: &str) -> Vec<f64> {
        let is_series = name == "series";
        if let Some(best) = self.best() {
            let resistor = if is_series { &best.series } else { &best.shunt };
            let made_of = resistor
                .as_ref()
                .and_then(|resistor| resistor.made_of.as_ref());
            return made_of.map_or_else(|| vec![1.0], shares);
        }
        match (self.origin, &self.place) {
            (PadOrigin::AsBuilt, Some(place)) => {
                let parts = if is_series {
                    &place.series
                } else {
                    &place.shunt
                };
                parts.iter().map(|(_, share)| *share).collect()
            }
            _ => vec![1.0],
        }
    }
}
