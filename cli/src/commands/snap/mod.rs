//! `handover snap`: the same network with values that can be bought.

mod compared;
mod document;
mod screen;

use std::io::Write;
use std::path::PathBuf;

use netlist::network::Network;
use netlist::project::{Project, StockKind};
use solver::goal::{Figures, LoadFigures, Targets};
use solver::judge::check::{Assessment, in_order_of_ways};
use solver::judge::{Finding, load_findings};
use solver::search::{
    AudioLoads, Selection, SnapGoal, SnapMerit, SnapSettings, Snapped, SoundChange, audio_loads,
    judge, snap_network, with_free_values,
};

use document::SnapDocument;

use super::existing::ExistingNetwork;
use super::picked;
use crate::args::SnapArguments;
use crate::failure::Failure;
use crate::interrupt;
use crate::project_file::{OutputRequest, ProjectFile};

/// A network with what it does.
struct JudgedNetwork {
    figures: Figures,
    load: LoadFigures,
    /// Change against the file; `None` of the file itself.
    change: Option<SoundChange>,
    /// Price of all parts; `None` where one has none.
    price: Option<f64>,
    /// Parts that are bought, those kept as they are not counted.
    pieces: Option<u32>,
}

/// Everything that the screen and the document show.
struct Shown<'a> {
    project: &'a Project,
    network: &'a Network,
    assessment: &'a Assessment,
    snapped: &'a Snapped,
    goal: SnapGoal,
    /// What the builder must know of the choice.
    findings: Vec<Finding>,
    window: u32,
    seconds: f64,
    before: JudgedNetwork,
    nearest: JudgedNetwork,
    /// The picked network with the values that suit it best, whatever can be bought: what is left to
    /// gain. Only against the aim; against the file's own curves that is the file.
    free: Option<JudgedNetwork>,
    /// The choice, then the alternatives.
    offers: Vec<(Option<SnapMerit>, JudgedNetwork)>,
    pick: usize,
    target: Option<PathBuf>,
}

/// How much worse a cheaper choice may be, dB.
const AS_GOOD_DB: f64 = 0.2;

pub(crate) fn run(
    args: &SnapArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), Failure> {
    let asked_for = OutputRequest {
        output: args.output.as_ref(),
        force: args.force,
        json: args.json,
        page: false,
        added: "snapped",
    };
    let mut existing = ExistingNetwork::open(&args.source, &asked_for)?;
    if let Some(series) = args.series {
        of_series(&mut existing.loaded.project, series);
    }
    let started = std::time::Instant::now();
    let (network, assessment) = existing.assessed((
        "it has no [parts], so there is nothing to move onto the stock",
        "make a design of it first: handover design FILE",
    ))?;
    let (project, target) = (&existing.loaded.project, &existing.target);
    let judging = Judging {
        existing: &existing,
        network,
        assessment: &assessment,
        targets: assessment.job.targets(&assessment.alignments),
        audio: audio_loads(project),
    };
    let goal = match args.to_aim {
        true => SnapGoal::Aim,
        false => SnapGoal::LeastChange,
    };
    let mut snapped = judging.search(args, goal, err)?;
    let seconds = started.elapsed().as_secs_f64();
    let offers = judging.offers(&mut snapped)?;
    let pick = picked(Some(args.pick), offers.len(), 1, err)?;
    let others = snapped.alternatives.iter().map(|(_, other)| other);
    let taken = (std::iter::once(&snapped.best).chain(others).nth(pick - 1))
        .expect("one of those that there are");
    let nearest = &snapped.nearest;
    let job = &assessment.job;
    let findings = load_findings(job, &offers[pick - 1].1.load);
    let free = match goal {
        SnapGoal::Aim => {
            let ordered = in_order_of_ways(job, &taken.network);
            with_free_values(job, &judging.targets, &ordered, taken.level_db)
        }
        SnapGoal::LeastChange => None,
    };
    let shown = Shown {
        free: free.and_then(|network| judging.judged(&network, None, None).ok()),
        project,
        network,
        assessment: &assessment,
        snapped: &snapped,
        goal,
        findings,
        window: args.window,
        seconds,
        before: judging.judged(network, None, None)?,
        nearest: judging.judged(&nearest.network, nearest.price, Some(nearest.pieces))?,
        offers,
        pick,
        target: target.as_ref().map(|target| target.path.clone()),
    };
    let text = match target {
        Some(target) => Some(target.text(&args.source, &existing.loaded, &taken.network, None)?),
        None => None,
    };
    if target.as_ref().is_some_and(ProjectFile::is_stdout) {
        // The design is what is asked for there.
    } else if args.json {
        crate::document::write(&SnapDocument::new(&shown), out)?;
    } else {
        screen::print(&shown, out)?;
    }
    if let (Some(target), Some(text)) = (target, &text) {
        target.write(text, None, "snapped design", out, err)?;
    }
    Ok(())
}

/// The network in the file, and what choices of values are judged with.
struct Judging<'a> {
    existing: &'a ExistingNetwork,
    network: &'a Network,
    assessment: &'a Assessment,
    targets: Targets,
    audio: AudioLoads,
}

impl Judging<'_> {
    /// Values of the stock that suit the network best.
    fn search(
        &self,
        args: &SnapArguments,
        goal: SnapGoal,
        err: &mut dyn Write,
    ) -> Result<Snapped, Failure> {
        let settings = SnapSettings {
            goal,
            window: args.window as usize,
            budget: args.budget,
            seed: args.seed,
            ..SnapSettings::default()
        };
        let level_db = self.assessment.figures.level_db;
        if interrupt::someone_watches() {
            writeln!(err, "searching among the values of the stock ...")?;
        }
        let job = &self.assessment.job;
        let snapped = snap_network(
            job,
            &self.targets,
            self.network,
            level_db,
            settings,
            &interrupt::asked,
        )
        .map_err(|error| {
            self.existing
                .unusable(&error, "change the parts named above")
        })?;
        if snapped.parts.is_empty() {
            return Err(self.existing.unusable(
                &"no part of it can be moved: all are fixed, or the stock has nothing of their kinds",
                "leave fixed = true away, or add to [stock] what can be bought",
            ));
        }
        if !snapped.best.cost.is_finite() {
            return Err(self.existing.unusable(
                &"the stock does not hold enough parts for this network, or they cost more than --budget",
                "raise the counts in the catalogue, list more values, look farther with --window, or spend more",
            ));
        }
        Ok(snapped)
    }

    /// A network with what it does; against the file where its parts are bought.
    fn judged(
        &self,
        network: &Network,
        price: Option<f64>,
        pieces: Option<u32>,
    ) -> Result<JudgedNetwork, Failure> {
        let job = &self.assessment.job;
        let level_db = self.assessment.figures.level_db;
        let ordered = in_order_of_ways(job, network);
        let (figures, load) =
            judge(job, &ordered, &self.targets, &self.audio).ok_or_else(|| {
                self.existing
                    .unusable(&"the network cannot be judged", "look at its parts")
            })?;
        let both = [self.network, network];
        let change = SoundChange::new(job, &self.targets, level_db, both).ok();
        Ok(JudgedNetwork {
            figures,
            load,
            change: change.filter(|_| pieces.is_some()),
            price,
            pieces,
        })
    }

    /// The choice, then the alternatives. What is only cheaper is one where the ear hardly knows: within 0.2 dB in
    /// flatness and every match.
    fn offers(
        &self,
        snapped: &mut Snapped,
    ) -> Result<Vec<(Option<SnapMerit>, JudgedNetwork)>, Failure> {
        let judged = |one: &Selection| self.judged(&one.network, one.price, Some(one.pieces));
        let mut offers = vec![(None, judged(&snapped.best)?)];
        for (merit, other) in std::mem::take(&mut snapped.alternatives) {
            let (known, found) = (&offers[0].1.figures, judged(&other)?);
            let mut pairs = found.figures.match_db.iter().zip(&known.match_db);
            let near = found.figures.rms_db <= known.rms_db + AS_GOOD_DB
                && pairs.all(|(other, best)| *other <= best + AS_GOOD_DB);
            if merit != SnapMerit::Cheapest || near {
                offers.push((Some(merit), found));
                snapped.alternatives.push((merit, other));
            }
        }
        Ok(offers)
    }
}

/// All values from one series, the rest of the stock as it is said.
fn of_series(project: &mut Project, series: netlist::series::Series) {
    let stock = &mut project.stock;
    stock.catalogue.clear();
    for kind in [
        StockKind::Capacitor,
        StockKind::Inductor,
        StockKind::Resistor,
    ] {
        let mut range = stock.range(kind);
        range.series = series;
        let said = match kind {
            StockKind::Capacitor => &mut stock.capacitors,
            StockKind::Inductor => &mut stock.inductors,
            StockKind::Resistor => &mut stock.resistors,
        };
        *said = Some(range);
    }
}
