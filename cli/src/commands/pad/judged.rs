//! What is judged about a pad that was worked out.

use netlist::network::Part;
use netlist::quantity::Quantity;
use solver::judge::{Finding, sort_findings};
use solver::pad::{
    Case, LoudspeakerFigures, PadSourceKind, PadTarget, PadTrials, ideal_at_driver, pad_findings,
};
use solver::search::Job;

use super::request::Goal;
use super::work::{PadOrigin, Work};

/// Level of the way against the loudspeaker, in dB, with these figures of the loudspeaker.
fn level_off_db(
    work: &Work<'_>,
    job: &Job,
    built: Option<&LoudspeakerFigures>,
    speaker: Option<&LoudspeakerFigures>,
) -> Option<f64> {
    let name = work.request.driver.as_deref()?;
    let way = job.ways.iter().position(|way| way.name == name)?;
    let bare_db = job.ways[way].level_db;
    let aim_db = job.aim.level.map(Quantity::si);
    match (work.feed.kind, built) {
        (PadSourceKind::Network, Some(built)) => {
            let way_db = speaker?.way_level_db[way];
            Some(way_db - aim_db.unwrap_or(built.figures.level_db))
        }
        (PadSourceKind::Textbook, _) if way != job.weakest() => {
            let reference_db = aim_db.unwrap_or(job.ways[job.weakest()].level_db);
            Some(bare_db - work.chosen.study.mean_db - reference_db)
        }
        _ => None,
    }
}

/// Attenuation of the pad of this kind with which the way has the level of the others, in dB.
fn right_db(
    work: &Work<'_>,
    loudspeaker: &PadTrials<'_>,
    built: Option<&LoudspeakerFigures>,
    mut off_db: f64,
) -> Option<f64> {
    /// The way's level is taken over a band of its own: a few rounds find it.
    const ROUNDS: usize = 4;
    let chosen = &work.chosen.study;
    if work.feed.kind != PadSourceKind::Network {
        return Some(chosen.mean_db + off_db).filter(|right_db| *right_db > 0.0);
    }
    // The filter gives another level to another pad: it is solved anew.
    let place = work.place.as_ref()?;
    let network = work.request.project()?.network.as_ref()?;
    let target = PadTarget {
        kind: chosen.pad.kind(),
        ..work.target.clone()
    };
    let mut insertion_db = chosen.insertion_db;
    let mut right_db = None;
    for _ in 0..ROUNDS {
        insertion_db += off_db;
        let study = ideal_at_driver(&work.load, &work.feed, &target, insertion_db)?;
        right_db = Some(study.mean_db);
        let network = place.with_pad(network, Some(study.pad));
        let speaker = loudspeaker.figures(&network).ok()?;
        off_db = level_off_db(work, loudspeaker.job(), built, Some(&speaker))?;
    }
    right_db
}

pub(super) fn findings(
    work: &Work<'_>,
    loudspeaker: Option<&PadTrials<'_>>,
    speaker: Option<&LoudspeakerFigures>,
) -> Vec<Finding> {
    let project = work.request.project();
    let driver =
        (project.zip(work.request.driver.as_deref())).map(|(project, name)| &project.drivers[name]);
    let [series_shares, shunt_shares] = ["series", "shunt"].map(|name| work.shares_of(name));
    let [series_rating_w, shunt_rating_w] = ratings(work);
    let against = match work.feed.kind {
        PadSourceKind::Network if work.built.is_some() => "against the pad in the file",
        PadSourceKind::Network => "against the file, which has no pad",
        _ => "against a textbook filter on a resistor",
    };
    let none = Vec::new();
    let level_off_db = loudspeaker.and_then(|loudspeaker| {
        let chosen = work.chosen.speaker.as_ref();
        level_off_db(work, loudspeaker.job(), speaker, chosen)
    });
    let case = Case {
        name: work.name(),
        driver,
        load: &work.load,
        study: &work.chosen.study,
        heat: &work.chosen.heat,
        drive: &work.chosen.drive,
        wanted_db: match work.request.goal {
            Goal::Size { attenuation_db, .. } => Some(attenuation_db),
            _ => None,
        },
        level_off_db,
        right_db: level_off_db
            .zip(loudspeaker)
            .and_then(|(off_db, loudspeaker)| right_db(work, loudspeaker, speaker, off_db)),
        change: (work.chosen.change.as_ref()).map(|change| (change, against)),
        series_rating_w,
        shunt_rating_w,
        shares: [&series_shares, &shunt_shares],
        kept_ohm: (&work.target.kept_ohm, work.made_for()),
        seen_by: work.seen_by(),
        least_ohm: work.target.least_ohm,
        speaker_load: (work.chosen.speaker.as_ref()).and_then(|speaker| speaker.load),
        core_v_per_hz: work.request.core_v_per_hz,
        feed: work.feed.kind,
        beside: work.place.as_ref().map_or(&none, |place| &place.beside),
    };
    let mut findings = pad_findings(&case);
    sort_findings(&mut findings);
    findings
}

/// Ratings of the series and the shunt resistor: of the parts in the file, or of the stock.
fn ratings(work: &Work<'_>) -> [Option<f64>; 2] {
    if let Some(best) = work.best() {
        return [&best.series, &best.shunt].map(|r| r.as_ref().and_then(|r| r.rating_w));
    }
    let project = work.request.project();
    let stock = project.and_then(|project| {
        let range = project.stock.resistors.as_ref()?;
        range.power.map(Quantity::si)
    });
    let network = project.and_then(|project| project.network.as_ref());
    // Of several that act as one, the one nearest to its rating decides.
    let of_parts = |shares: &[(String, f64)]| {
        let ratings = shares.iter().map(|(name, share)| {
            let part: Option<&Part> = network.and_then(|network| network.parts().get(name));
            let rating = part.and_then(|part| part.power).map(Quantity::si).or(stock);
            rating.map(|rating| rating / share)
        });
        let whole: Option<Vec<f64>> = ratings.collect();
        whole?.into_iter().reduce(f64::min)
    };
    let (PadOrigin::AsBuilt, Some(place)) = (work.origin, &work.place) else {
        return [stock; 2];
    };
    [of_parts(&place.series), of_parts(&place.shunt)]
}
