//! Everything that is shown about a pad, worked out.

use netlist::network::Network;
use netlist::project::Project;
use solver::amplifier::source_impedance;
use solver::judge::Finding;
use solver::nodal::SourceImpedance;
use solver::pad::{
    Candidate, Drive, DriveChange, Loudspeaker, LoudspeakerChange, LoudspeakerFigures, PadHeat,
    PadInNetwork, PadLoad, PadSource, PadSourceKind, PadTarget, Resistors, Step, Study, find_pad,
    ideal, return_lead_first, shared_with, sized, steps,
};
use solver::search::Job;
use solver::sound::{FLOOR_DB, level_db};
use solver::synthesis::{Pad, PadKind};
use solver::wiring::cable_ohm;

use super::judged::findings;
use super::request::{Goal, Request};
use super::target::{power, target, winding};
use crate::failure::Failure;

/// Pads from stock that are offered: a document holds them all, a screen the first ones.
const OFFERED: usize = 5;
/// The load of an amplifier of which nothing is said, in ohm (common practice).
pub(super) const USUAL_LOAD_OHM: f64 = 8.0;

/// A pad with all figures that a column of the table shows.
#[derive(Debug)]
pub(crate) struct Column {
    pub(crate) study: Study,
    pub(crate) heat: PadHeat,
    pub(crate) drive: Drive,
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
pub(crate) enum Origin {
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
    pub(crate) origin: Origin,
    /// Place of the pad in the network.
    pub(crate) place: Option<PadInNetwork>,
    /// Parts in the driver's return lead, which count as if they were before it.
    pub(crate) return_lead: Vec<String>,
    /// The pad that is looked at.
    pub(crate) chosen: Column,
    /// The pad that is in the file, when another one is looked at.
    pub(crate) built: Option<Column>,
    /// The textbook's L-pad, for a driver.
    pub(crate) textbook: Option<Column>,
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
}

/// What belongs to a network, to compare loudspeakers in.
struct Frame<'a> {
    project: &'a Project,
    network: &'a Network,
    place: &'a PadInNetwork,
    loudspeaker: Option<&'a Loudspeaker<'a>>,
}

impl Frame<'_> {
    fn speaker(&self, pad: Option<Pad>) -> Option<LoudspeakerFigures> {
        let network = self.place.with_pad(self.network, pad);
        self.loudspeaker?.figures(&network).ok()
    }
}

/// Works everything out.
pub(crate) fn work(request: &Request) -> Result<Work<'_>, Failure> {
    let project = request.project();
    let named = project.zip(request.driver.as_deref());
    let bare_load = match named {
        Some((project, name)) => {
            PadLoad::driver(project, name, request.load_ohm, 0.0).expect("the driver was looked up")
        }
        None => PadLoad::resistor(request.load_ohm.unwrap_or(USUAL_LOAD_OHM)),
    };
    let power = power(request, &bare_load);
    let source = |load: &PadLoad| match project {
        Some(project) => source_impedance(&project.amplifier, &load.grid).plus(cable_ohm(project)),
        None => SourceImpedance::NONE,
    };
    let network = project.and_then(|project| project.network.as_ref());
    // What is in the driver's return lead is as good before the driver.
    let forward =
        (network.zip(named)).and_then(|(network, (_, name))| return_lead_first(network, name));
    let network = forward.as_ref().map(|(network, _)| network).or(network);
    let stock_winding = project.and_then(|project| project.stock.autoformers.as_ref().map(winding));
    let place = named.and_then(|(_, name)| {
        let place = find_pad(network?, name)?;
        Some(match &stock_winding {
            Some(winding) => place.wound(winding.clone()),
            None => place,
        })
    });
    if let Some(other) = (network.zip(place.as_ref())).and_then(|(n, place)| shared_with(n, place))
    {
        return Err(not_alone(request, &other));
    }
    let beside = |load: PadLoad| match (project, network, &place) {
        (Some(project), Some(network), Some(place)) => load
            .beside(network, place)
            .with_drivers_of(project, network, place),
        _ => PadLoad {
            winding: stock_winding.clone(),
            ..load
        },
    };
    let load = beside(bare_load);
    let job = project.and_then(|project| Job::new(project).ok());
    let loudspeaker =
        (project.zip(job.as_ref())).map(|(project, job)| Loudspeaker::new(project, job));
    let frame = match (project, network, &place) {
        (Some(project), Some(network), Some(place)) => Some(Frame {
            project,
            network,
            place,
            loudspeaker: loudspeaker.as_ref(),
        }),
        _ => None,
    };
    let feed = match &frame {
        Some(frame) => PadSource::network(frame.project, frame.network, frame.place, &load)
            .map_err(|error| Failure::Unusable {
                message: format!("{}: {error}", path(request)),
                help: "change the parts named above".to_owned(),
            })?,
        None => PadSource::textbook(&load, &source(&load), load.rated_ohm),
    };
    let built_pad = place.as_ref().and_then(|place| place.pad);

    let resistors = Resistors::new(&project.map(|p| p.stock.clone()).unwrap_or_default());
    let target = target(request, &load, &feed, place.as_ref());
    let mut candidates = Vec::new();
    let mut ideal_study = None;
    let (origin, pad) = match request.goal {
        Goal::Size { attenuation_db, .. } if attenuation_db <= load.mean_tail_db() => {
            return Err(tail_takes_more(request, &load, place.as_ref()));
        }
        Goal::Size { .. } => {
            let pad = ideal(&load, &feed, &target).map_err(|error| Failure::Unusable {
                message: error.to_string(),
                help: "ask for another attenuation".to_owned(),
            })?;
            ideal_study = Some((
                Study::new(pad, &load, &feed),
                PadHeat::new(pad, &load, &feed, power.open_circuit_v),
            ));
            candidates = sized(
                &load,
                &feed,
                &target,
                &resistors,
                power.open_circuit_v,
                OFFERED,
            );
            let best = candidates.first().map(|best| best.study.pad);
            let best = best.ok_or_else(|| Failure::Unusable {
                message: "the stock has no resistors for such a pad".to_owned(),
                help: "widen the range of resistors in [stock], or take another --kind".to_owned(),
            })?;
            (Origin::Stock, best)
        }
        Goal::Check(pad) => (Origin::Given, pad),
        Goal::AsBuilt => {
            let pad = built_pad.ok_or_else(|| no_pad(request, place.as_ref()))?;
            (Origin::AsBuilt, pad)
        }
    };

    // What the filter was made for: the pad in the file, or a resistor.
    let wanted_db = match request.goal {
        Goal::Size { attenuation_db, .. } => attenuation_db,
        // What bridges the series resistor is for the horn; the textbook knows only the resistors.
        _ => {
            let plain = PadLoad {
                bridge_siemens: None,
                ..load.clone()
            };
            Study::new(pad, &plain, &feed).mean_db
        }
    };
    let before = match feed.kind {
        PadSourceKind::Network => Some(Drive::new(built_pad, &load, &feed)),
        PadSourceKind::Textbook => {
            Some(Drive::on_resistor(load.rated_ohm, wanted_db, &load, &feed))
        }
        PadSourceKind::Amplifier => None,
    };
    let built_speaker = frame.as_ref().and_then(|frame| frame.speaker(built_pad));
    let column = |pad: Pad, as_built: bool| {
        let drive = Drive::new(Some(pad), &load, &feed);
        let speaker = frame.as_ref().and_then(|frame| frame.speaker(Some(pad)));
        let speaker_change = (built_speaker.as_ref().zip(speaker.as_ref()))
            .filter(|_| !as_built)
            .map(|(before, after)| before.change_to(after));
        Column {
            study: Study::new(pad, &load, &feed),
            heat: PadHeat::new(pad, &load, &feed, power.open_circuit_v),
            change: (before.as_ref().filter(|_| !as_built))
                .map(|before| before.change_to(&drive, &load)),
            drive,
            speaker,
            speaker_change,
        }
    };
    let chosen = column(pad, origin == Origin::AsBuilt);
    let built = built_pad
        .filter(|_| origin != Origin::AsBuilt)
        .map(|pad| column(pad, true));
    // The textbook's pad of the same attenuation, on the rated impedance.
    let textbook = (named.is_some())
        .then(|| {
            Pad::size(
                PadKind::LPad,
                wanted_db - load.mean_tail_db(),
                load.rated_ohm,
            )
            .ok()
        })
        .flatten()
        .map(|pad| column(pad, false));
    let steps = steps(
        &chosen.study,
        &load,
        &feed,
        &target,
        &resistors,
        power.open_circuit_v,
        request.steps_db,
    );
    let at = request.at.clone().map(|grid| {
        let on = beside(load.on_grid(named, grid));
        let feed = match &frame {
            // The same network was solved before.
            Some(frame) => PadSource::network(frame.project, frame.network, frame.place, &on)
                .unwrap_or_else(|_| PadSource::amplifier(&on, &source(&on))),
            None => PadSource::textbook(&on, &source(&on), load.rated_ohm),
        };
        let study = Study::new(pad, &on, &feed);
        (on, study)
    });
    let hot = named.and_then(|(project, name)| {
        let hot = PadLoad::driver(project, name, request.load_ohm, request.hot_k)?;
        Some(warmed(pad, &load, &beside(hot), &feed, request.hot_k))
    });
    let mut work = Work {
        request,
        power,
        origin,
        chosen,
        built,
        textbook,
        ideal: ideal_study,
        candidates,
        target,
        steps,
        hot,
        findings: Vec::new(),
        at,
        load,
        feed,
        place: place.clone(),
        return_lead: forward
            .as_ref()
            .map_or_else(Vec::new, |(_, parts)| parts.clone()),
    };
    work.findings = findings(&work, loudspeaker.as_ref(), built_speaker.as_ref());
    Ok(work)
}

fn path(request: &Request) -> String {
    let loaded = request.loaded.as_ref();
    loaded.map_or_else(String::new, |loaded| loaded.path.display().to_string())
}

fn tail_takes_more(request: &Request, load: &PadLoad, place: Option<&PadInNetwork>) -> Failure {
    let behind = place.map_or_else(String::new, |place| place.behind.join(", "));
    Failure::Unusable {
        message: format!(
            "{}: behind the pad {behind} already takes {:.1} dB",
            path(request),
            load.mean_tail_db()
        ),
        help: "ask for more, or take that out of the file first".to_owned(),
    }
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

fn no_pad(request: &Request, place: Option<&PadInNetwork>) -> Failure {
    let name = request.driver.as_deref().unwrap_or_default();
    let message = match place {
        Some(_) => format!(
            "{}: no pad was found in front of driver {name}",
            path(request)
        ),
        None => format!("{}: the network does not feed driver {name}", path(request)),
    };
    let stays = place.map_or(&[][..], |place| &place.stays);
    if stays.is_empty() {
        return Failure::Unusable {
            message,
            help: "size one with --attenuation \"10 dB\", or check one with --series \"8.2 ohm\" --shunt \"3.3 ohm\"".to_owned(),
        };
    }
    Failure::Unusable {
        message: match stays {
            [one] => format!("{message}; {one} cannot be taken for it"),
            several => format!(
                "{message}; none of {} can be taken for it",
                several.join(", ")
            ),
        },
        help: "--attenuation \"10 dB\" sizes a new pad behind all that is there, right before the driver; to have one of these replaced, take it out of the file first".to_owned(),
    }
}

fn warmed(pad: Pad, cold: &PadLoad, hot: &PadLoad, feed: &PadSource, rise_k: f64) -> Hot {
    let change = |pad: Option<Pad>| {
        let [cold_db, hot_db] = [cold, hot].map(|load| {
            let drive = Drive::new(pad, load, feed);
            let sound = load.pressure_pa_per_v.as_ref();
            let levels = load.band().map(|i| {
                let sound_db = sound.map_or(FLOOR_DB, |sound| level_db(sound.at(i)));
                drive.level_db()[i] + sound_db
            });
            levels.sum::<f64>() / load.band().len() as f64
        });
        hot_db - cold_db
    };
    Hot {
        rise_k,
        mean_db: Study::new(pad, hot, feed).mean_db,
        level_db: change(Some(pad)),
        level_without_pad_db: change(None),
    }
}
