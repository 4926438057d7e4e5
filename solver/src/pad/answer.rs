//! What is said of a pad: all that a screen, a document or a page shows.

use netlist::network::Part;
use netlist::project::Project;
use netlist::quantity::Quantity;
use serde::Serialize;

use super::bench::PadBench;
use super::candidate::Candidate;
use super::drive::DriveChange;
use super::drive_source::PadSourceKind;
use super::load::PadLoad;
use super::power::PartHeat;
use super::question::{PadGoal, PadQuestion};
use super::steps::Step;
use super::study::Study;
use super::target::PadTarget;
use super::trials::{LoudspeakerChange, LoudspeakerFigures};
use crate::judge::{Finding, resistor_rated_w};
use crate::stock::{resistor_power_w, whole_rating};

/// A pad with its figures, to be held against others.
#[derive(Debug)]
pub struct PadColumn {
    /// What it does.
    pub study: Study,
    /// Its change against what the filter was made for.
    pub change: Option<DriveChange>,
    /// The whole loudspeaker.
    pub speaker: Option<LoudspeakerFigures>,
    /// Its change against the network as it is in the file.
    pub speaker_change: Option<LoudspeakerChange>,
}

/// What a hotter voice coil does.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct HotPad {
    /// How much hotter, K.
    pub rise_k: f64,
    /// Mean attenuation, dB.
    #[serde(rename = "mean_attenuation_db")]
    pub mean_db: f64,
    /// Change of the driver's sound in its band, dB.
    pub level_db: f64,
    /// The same without a pad.
    pub level_without_pad_db: f64,
}

/// Where the data of an autoformer come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WindingOrigin {
    /// Nothing is known of it.
    Ideal,
    /// It is in the network.
    File,
    /// The stock says them.
    Stock,
    /// They are usual.
    Assumed,
}

/// A resistor of a pad, or several that act as one.
#[derive(Debug, Clone, PartialEq)]
pub struct PadResistor {
    /// `series` or `shunt`.
    pub word: &'static str,
    /// Heat in the whole.
    pub heat: PartHeat,
    /// What each of several has of it; 1 of a single one.
    pub shares: Vec<f64>,
    /// Rated power of the whole, W, where it is known: of the parts in the file, or of the stock.
    pub rating_w: Option<f64>,
}

/// Level of the way against that of the loudspeaker.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelOff {
    /// Above 0 is too loud, dB.
    pub off_db: f64,
    /// Attenuation of a pad of this kind with which it would have that level, dB; `None` where none has.
    pub right_db: Option<f64>,
}

/// All of it.
#[derive(Debug)]
pub struct PadAnswer<'a> {
    /// What was asked.
    pub question: &'a PadQuestion,
    /// Where the pad stands, on what load and feed.
    pub bench: PadBench<'a>,
    /// The pad that is looked at.
    pub chosen: PadColumn,
    /// The pad that is in the file, when another one is looked at.
    pub built: Option<PadColumn>,
    /// The textbook's L-pad, for a driver.
    pub textbook: Option<PadColumn>,
    /// The ideal pad, when one was sized.
    pub ideal: Option<Study>,
    /// Pads from stock, best first.
    pub candidates: Vec<Candidate>,
    /// What was wanted.
    pub target: PadTarget,
    /// Steps by ear.
    pub steps: Vec<Step>,
    /// With a hotter voice coil.
    pub hot: Option<HotPad>,
    /// Load and pad at the frequencies that were asked for.
    pub at: Option<(PadLoad, Study)>,
    /// The way's level, where it can be told.
    pub level: Option<LevelOff>,
    /// What the builder must know, dangers first.
    pub findings: Vec<Finding>,
}

impl<'a> PadAnswer<'a> {
    /// The project, where there is one.
    #[must_use]
    pub fn project(&self) -> Option<&'a Project> {
        self.bench.project()
    }

    /// The driver's name, where there is one.
    #[must_use]
    pub fn driver(&self) -> Option<&'a str> {
        self.bench.driver()
    }

    /// The driver's name, or what a resistor is called.
    #[must_use]
    pub fn name(&self) -> &'a str {
        self.bench.name()
    }

    /// Power that the driver bears, W, where it is stated.
    #[must_use]
    pub fn driver_rated_w(&self) -> Option<f64> {
        let (project, name) = self.project().zip(self.driver())?;
        project.drivers[name].rated_power().map(Quantity::si)
    }

    /// Attenuation asked for, dB, when the pad was sized.
    #[must_use]
    pub fn wanted_db(&self) -> Option<f64> {
        match self.question.goal {
            PadGoal::Size { attenuation_db, .. } => Some(attenuation_db),
            _ => None,
        }
    }

    /// Where the data of an autoformer come from.
    #[must_use]
    pub fn winding_from(&self) -> WindingOrigin {
        let place = self.bench.place.as_ref();
        let own = place.is_some_and(|place| place.winding_part().is_some());
        let stock = (self.project()).is_some_and(|project| project.stock.autoformers.is_some());
        match (&self.bench.load.winding, own, stock) {
            (None, ..) => WindingOrigin::Ideal,
            (_, true, _) => WindingOrigin::File,
            (_, _, true) => WindingOrigin::Stock,
            _ => WindingOrigin::Assumed,
        }
    }

    /// What sees the pad's input.
    #[must_use]
    pub fn seen_by(&self) -> &'static str {
        let straight = self.bench.feed.kind == PadSourceKind::Amplifier && self.driver().is_some();
        let at_amplifier = (self.bench.place.as_ref()).map_or(straight, |p| p.at_amplifier());
        match at_amplifier {
            true => "the amplifier",
            false => "the filter",
        }
    }

    /// What the filter's load, or its source, should be.
    #[must_use]
    pub fn made_for(&self) -> &'static str {
        match self.bench.feed.kind {
            PadSourceKind::Network => "what it is in the file",
            _ => "the rated load",
        }
    }

    /// Whether the pad is looked at as an addition to the network: none was recognised there.
    #[must_use]
    pub fn added(&self) -> bool {
        (self.bench.place.as_ref()).is_some_and(|place| place.pad.is_none())
    }

    /// The best of the stock, when a pad was sized.
    #[must_use]
    pub fn best(&self) -> Option<&Candidate> {
        self.candidates.first()
    }

    /// The resistors of the pad that is looked at.
    #[must_use]
    pub fn resistors(&self) -> Vec<PadResistor> {
        let project = self.project();
        let network = project.and_then(|project| project.network.as_ref());
        let place = self.bench.place.as_ref();
        let in_file = place.filter(|_| self.question.goal == PadGoal::AsBuilt);
        let in_file = in_file.map(|place| [&place.series, &place.shunt]);
        let bought = self.best().map(|best| [&best.series, &best.shunt]);
        let part = |name: &String| network.and_then(|network| network.parts().get(name));
        let rated_w = |name: &String| {
            let stock = project.map(|project| &project.stock)?;
            resistor_rated_w(stock, part(name)?)
        };
        let shares = |(name, share): &(String, f64)| -> Vec<f64> {
            let pieces = part(name).and_then(Part::pieces);
            let pieces = pieces.map_or_else(|| vec![1.0], |made| made.shares(false));
            pieces.into_iter().map(|piece| share * piece).collect()
        };
        let Study { pad, heat, .. } = &self.chosen.study;
        let words = [
            ("series", heat.series, pad.series_ohm()),
            ("shunt", heat.shunt, pad.shunt_ohm()),
        ];
        let resistors = words
            .into_iter()
            .enumerate()
            .filter_map(|(i, (word, heat, ohm))| {
                let (shares, rating_w) = match (bought, in_file) {
                    (Some(bought), _) => {
                        let resistor = bought[i].as_ref()?;
                        let made_of = resistor.made_of.as_ref();
                        let shares = made_of.map_or_else(|| vec![1.0], |made| made.shares(false));
                        (shares, resistor.rating)
                    }
                    (None, Some(parts)) => {
                        let rated = parts[i].iter().map(|(name, share)| (rated_w(name), *share));
                        (
                            parts[i].iter().flat_map(shares).collect(),
                            whole_rating(rated),
                        )
                    }
                    (None, None) => {
                        let rated = project.zip(ohm);
                        let rated_w =
                            rated.and_then(|(project, ohm)| resistor_power_w(&project.stock, ohm));
                        (vec![1.0], rated_w)
                    }
                };
                Some(PadResistor {
                    word,
                    heat: heat?,
                    shares,
                    rating_w,
                })
            });
        resistors.collect()
    }
}
