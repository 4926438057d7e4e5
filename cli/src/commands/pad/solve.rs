//! Works out everything that is shown about a pad.

use solver::pad::{
    Candidate, LoudspeakerFigures, PadDrive, PadHeat, PadInNetwork, PadLoad, PadSource,
    PadSourceKind, PadTarget, PadTrials, Resistors, Study, ideal, sized, steps,
};
use solver::search::Job;
use solver::sound::{FLOOR_DB, level_db};
use solver::synthesis::{Pad, PadKind};

use super::judged::findings;
use super::request::{Goal, Request};
use super::site::{Site, path};
use super::target::{power, target};
use super::work::{Hot, PadColumn, PadOrigin, Power, Work};
use crate::failure::Failure;

/// Pads from stock that are offered: a document holds them all, a screen the first ones.
const OFFERED: usize = 5;

/// Works everything out.
pub(super) fn solve(request: &Request) -> Result<Work<'_>, Failure> {
    let site = Site::new(request)?;
    let bare_load = site.bare_load();
    let power = power(request, &bare_load);
    let load = site.beside(bare_load);
    let feed = site.feed(&load)?;
    let project = site.project;
    let job = project.and_then(|project| Job::new(project).ok());
    let loudspeaker =
        (project.zip(job.as_ref())).map(|(project, job)| PadTrials::new(project, job));
    let resistors = Resistors::new(&project.map(|p| p.stock.clone()).unwrap_or_default());
    let target = target(request, &load, &feed, site.place.as_ref());
    let fed = Fed {
        load: &load,
        feed: &feed,
        power,
    };
    let found = choose(&site, &fed, &target, &resistors)?;
    let wanted_db = wanted_db(request, &fed, found.pad);
    let columns = PadColumns::new(&site, &fed, loudspeaker.as_ref(), wanted_db);
    let chosen = columns.column(found.pad, found.origin == PadOrigin::AsBuilt);
    let built = (columns
        .built_pad
        .filter(|_| found.origin != PadOrigin::AsBuilt))
    .map(|pad| columns.column(pad, true));
    let textbook = (site.driver)
        .and_then(|_| textbook_pad(wanted_db, &load))
        .map(|pad| columns.column(pad, false));
    let built_speaker = columns.built_speaker;
    let steps = steps(
        &chosen.study,
        &load,
        &feed,
        &target,
        &resistors,
        power.open_circuit_v,
        request.steps_db,
    );
    let at = (request.at.clone()).map(|grid| site.on_grid(&load, found.pad, grid));
    let hot = site.driver.and_then(|(project, name)| {
        let hot = PadLoad::driver(project, name, request.load_ohm, request.hot_k)?;
        Some(warmed(found.pad, &fed, &site.beside(hot), request.hot_k))
    });
    let mut work = Work {
        request,
        power,
        origin: found.origin,
        chosen,
        built,
        textbook,
        ideal: found.ideal,
        candidates: found.candidates,
        target,
        steps,
        hot,
        findings: Vec::new(),
        at,
        load,
        feed,
        place: site.place,
        return_lead: site.return_lead,
    };
    work.findings = findings(&work, loudspeaker.as_ref(), built_speaker.as_ref());
    Ok(work)
}

/// A load with what feeds its pad.
struct Fed<'a> {
    load: &'a PadLoad,
    feed: &'a PadSource,
    power: Power,
}

impl Fed<'_> {
    fn study(&self, pad: Pad) -> Study {
        Study::new(pad, self.load, self.feed)
    }

    fn heat(&self, pad: Pad) -> PadHeat {
        PadHeat::new(pad, self.load, self.feed, self.power.open_circuit_v)
    }
}

/// The pad that is looked at, and where it comes from.
struct ChosenPad {
    origin: PadOrigin,
    pad: Pad,
    ideal: Option<(Study, PadHeat)>,
    candidates: Vec<Candidate>,
}

fn choose(
    site: &Site<'_>,
    fed: &Fed<'_>,
    target: &PadTarget,
    resistors: &Resistors,
) -> Result<ChosenPad, Failure> {
    let (request, place) = (site.request, site.place.as_ref());
    let of = |origin, pad| ChosenPad {
        origin,
        pad,
        ideal: None,
        candidates: Vec::new(),
    };
    match request.goal {
        Goal::Size { attenuation_db, .. } if attenuation_db <= fed.load.mean_tail_db() => {
            Err(tail_takes_more(request, fed.load, place))
        }
        Goal::Size { .. } => size(fed, target, resistors),
        Goal::Check(pad) => Ok(of(PadOrigin::Given, pad)),
        Goal::AsBuilt => {
            let built = place.and_then(|place| place.pad);
            let pad = built.ok_or_else(|| no_pad(request, place))?;
            Ok(of(PadOrigin::AsBuilt, pad))
        }
    }
}

/// The best pad from stock.
fn size(fed: &Fed<'_>, target: &PadTarget, resistors: &Resistors) -> Result<ChosenPad, Failure> {
    let ideal = ideal(fed.load, fed.feed, target).map_err(|error| Failure::Unusable {
        message: error.to_string(),
        help: "ask for another attenuation".to_owned(),
    })?;
    let candidates = sized(
        fed.load,
        fed.feed,
        target,
        resistors,
        fed.power.open_circuit_v,
        OFFERED,
    );
    let best = candidates.first().map(|best| best.study.pad);
    let pad = best.ok_or_else(|| Failure::Unusable {
        message: "the stock has no resistors for such a pad".to_owned(),
        help: "widen the range of resistors in [stock], or take another --kind".to_owned(),
    })?;
    Ok(ChosenPad {
        origin: PadOrigin::Stock,
        pad,
        ideal: Some((fed.study(ideal), fed.heat(ideal))),
        candidates,
    })
}

/// What the filter was made for, in dB.
fn wanted_db(request: &Request, fed: &Fed<'_>, pad: Pad) -> f64 {
    match request.goal {
        Goal::Size { attenuation_db, .. } => attenuation_db,
        // What bridges the series resistor is for the horn; the textbook knows only the resistors.
        _ => {
            let plain = fed.load.clone().without_bridge();
            Study::new(pad, &plain, fed.feed).mean_db
        }
    }
}

/// The textbook's pad of the same attenuation, on the rated impedance.
fn textbook_pad(wanted_db: f64, load: &PadLoad) -> Option<Pad> {
    let own_db = wanted_db - load.mean_tail_db();
    Pad::size(PadKind::LPad, own_db, load.rated_ohm).ok()
}

/// Columns of the table, and what they are held against.
struct PadColumns<'a> {
    site: &'a Site<'a>,
    fed: &'a Fed<'a>,
    loudspeaker: Option<&'a PadTrials<'a>>,
    /// The pad in the file.
    built_pad: Option<Pad>,
    built_speaker: Option<LoudspeakerFigures>,
    /// What the filter was made for: the pad in the file, or a resistor.
    before: Option<PadDrive>,
}

impl<'a> PadColumns<'a> {
    fn new(
        site: &'a Site<'a>,
        fed: &'a Fed<'a>,
        loudspeaker: Option<&'a PadTrials<'a>>,
        wanted_db: f64,
    ) -> Self {
        let built_pad = site.place.as_ref().and_then(|place| place.pad);
        let (load, feed) = (fed.load, fed.feed);
        let mut columns = Self {
            site,
            fed,
            loudspeaker,
            built_pad,
            built_speaker: None,
            before: match feed.kind {
                PadSourceKind::Network => Some(PadDrive::new(built_pad, load, feed)),
                PadSourceKind::Textbook => {
                    Some(PadDrive::on_resistor(load.rated_ohm, wanted_db, load, feed))
                }
                PadSourceKind::Amplifier => None,
            },
        };
        columns.built_speaker = columns.speaker(built_pad);
        columns
    }

    /// The loudspeaker with this pad in the place of the one that is there.
    fn speaker(&self, pad: Option<Pad>) -> Option<LoudspeakerFigures> {
        let (_, network, place) = self.site.in_network()?;
        let network = place.with_pad(network, pad);
        self.loudspeaker?.figures(&network).ok()
    }

    fn column(&self, pad: Pad, as_built: bool) -> PadColumn {
        let fed = self.fed;
        let drive = PadDrive::new(Some(pad), fed.load, fed.feed);
        let speaker = self.speaker(Some(pad));
        let speaker_change = (self.built_speaker.as_ref().zip(speaker.as_ref()))
            .filter(|_| !as_built)
            .map(|(before, after)| before.change_to(after));
        PadColumn {
            study: fed.study(pad),
            heat: fed.heat(pad),
            change: (self.before.as_ref().filter(|_| !as_built))
                .map(|before| before.change_to(&drive, fed.load)),
            drive,
            speaker,
            speaker_change,
        }
    }
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

fn warmed(pad: Pad, cold: &Fed<'_>, hot: &PadLoad, rise_k: f64) -> Hot {
    let feed = cold.feed;
    let change = |pad: Option<Pad>| {
        let [cold_db, hot_db] = [cold.load, hot].map(|load| {
            let drive = PadDrive::new(pad, load, feed);
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
