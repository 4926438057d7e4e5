//! Briefs designed and all columns checked, side by side on all processors.

use std::io::Write;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use netlist::network::Network;
use netlist::project::Project;
use solver::compare::{Bill, Contender, Wish, broken};
use solver::judge::check::{Check, CheckProgress, check};
use solver::judge::tolerance::ToleranceOptions;
use solver::judge::{Severity, StressedKind};
use solver::search::{Job, Outcome, Reason, design};

use super::plan::ColumnPlan;
use crate::args::CompareArguments;
use crate::failure::Failure;
use crate::progress::{self, Teller};
use crate::report::coils::sheets;
use crate::report::purchase::Purchase;
use crate::{findings, interrupt};

/// A column when the work is done.
pub(super) struct Column {
    pub(super) name: String,
    pub(super) description: String,
    pub(super) file: String,
    /// With its network.
    pub(super) project: Project,
    /// How it was designed; `None` where it came with its network.
    pub(super) outcome: Option<Outcome>,
    pub(super) check: Check,
    pub(super) bill: Bill,
    pub(super) broken: Vec<Wish>,
}

impl Column {
    pub(super) fn candidate(&self) -> Contender<'_> {
        Contender {
            project: &self.project,
            check: &self.check,
            bill: self.bill,
            keeps: !self.broken.iter().any(|wish| wish.is_asked()),
        }
    }

    pub(super) fn network(&self) -> &Network {
        self.project
            .network
            .as_ref()
            .expect("a column has a network")
    }

    /// The part that programme noise heats most, and how much, W; `None` where no power is stated.
    pub(super) fn hottest(&self) -> Option<(&str, f64)> {
        let stress = &self.check.stress;
        let parts = stress
            .parts
            .iter()
            .filter(|part| part.kind != StressedKind::Wire && stress.loudness.stated);
        let hottest = parts.max_by(|a, b| a.noise.power_w.total_cmp(&b.noise.power_w))?;
        Some((&hottest.part, hottest.noise.power_w))
    }

    /// How many findings of a severity stand.
    pub(super) fn count(&self, severity: Severity) -> usize {
        findings::count(&self.check.findings, severity)
    }

    pub(super) fn interrupted(&self) -> bool {
        self.outcome
            .as_ref()
            .is_some_and(|outcome| outcome.interrupted)
    }
}

/// All columns, in their order.
pub(super) struct Done<T = Column> {
    pub(super) columns: Vec<T>,
    /// Names of those that were not begun before the work was ended.
    pub(super) left_out: Vec<String>,
    /// Why others could not be worked out.
    pub(super) failures: Vec<Failure>,
}

impl<T> Done<T> {
    /// What is finished is not lost for what could not be done; an error where nothing is finished for that.
    fn of(names: Vec<String>, found: Vec<Option<Result<T, Failure>>>) -> Result<Self, Failure> {
        let mut done = Self {
            columns: Vec::new(),
            left_out: Vec::new(),
            failures: Vec::new(),
        };
        for (name, found) in names.into_iter().zip(found) {
            match found {
                Some(Ok(column)) => done.columns.push(column),
                Some(Err(failure)) => done.failures.push(failure),
                None => done.left_out.push(name),
            }
        }
        match done.columns.is_empty() && !done.failures.is_empty() {
            true => Err(Failure::Several(done.failures)),
            false => Ok(done),
        }
    }
}

/// Designs and checks.
pub(super) fn work(
    args: &CompareArguments,
    plans: Vec<ColumnPlan>,
    err: &mut dyn Write,
) -> Result<Done, Failure> {
    let mistakes: Vec<Failure> = (plans.iter())
        .filter(|plan| plan.loaded.project.network.is_none())
        .filter_map(|plan| {
            Job::new(&plan.loaded.project)
                .err()
                .map(|error| cannot(plan, &error.to_string()))
        })
        .collect();
    if !mistakes.is_empty() {
        return Err(Failure::Several(mistakes));
    }
    let names: Vec<String> = plans.iter().map(|plan| plan.name.clone()).collect();
    let mut found: Vec<Option<Result<Column, Failure>>> = plans.iter().map(|_| None).collect();
    let (tell, told) = channel();
    rayon::in_place_scope(|scope| {
        for (plan, place) in plans.into_iter().zip(&mut found) {
            let tell = tell.clone();
            scope.spawn(move |_| *place = column(args, plan, &tell));
        }
        drop(tell);
        watch(&told, err);
    });
    Done::of(names, found)
}

/// Shows what is done until all are through. Called from one of the workers it works too.
fn watch(told: &Receiver<(String, String)>, err: &mut dyn Write) {
    /// Seconds between two lines.
    const EVERY_S: f64 = 0.5;
    let mut teller = Teller::new(err);
    loop {
        let worked = matches!(rayon::yield_now(), Some(rayon::Yield::Executed));
        let wait = Duration::from_millis(if worked { 0 } else { 50 });
        match told.recv_timeout(wait) {
            Ok((name, words)) => teller.tell(EVERY_S, || format!("{name}: {words}")),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return,
        }
    }
}

fn cannot(plan: &ColumnPlan, why: &str) -> Failure {
    let file = plan.loaded.path.display();
    let which = match plan.edited {
        true => format!("{file}, {}", plan.description),
        false => file.to_string(),
    };
    Failure::unusable(
        format!("{which}: {why}"),
        "change what is said above, or leave this column away",
    )
}

/// One column; `None` where the work was ended before it began.
fn column(
    args: &CompareArguments,
    plan: ColumnPlan,
    tell: &Sender<(String, String)>,
) -> Option<Result<Column, Failure>> {
    if interrupt::asked() {
        return None;
    }
    let say = |words: String| {
        // Nobody hears when the other end is gone.
        let _ = tell.send((plan.name.clone(), words));
    };
    let read = &plan.loaded.project;
    let outcome = match read.network {
        Some(_) => None,
        None => match design(
            read,
            args.search.settings(),
            &interrupt::asked,
            &mut |step| say(progress::words(&step)),
        ) {
            Ok(outcome) => Some(outcome),
            Err(error) => return Some(Err(cannot(&plan, &error.to_string()))),
        },
    };
    let project = match &outcome {
        Some(outcome) => {
            let chosen = &outcome.proposals[outcome.chosen];
            outcome.project.with_network(&chosen.snapped.network)
        }
        None => read.clone(),
    };
    let options = ToleranceOptions {
        builds: args.builds as usize,
        ..ToleranceOptions::default()
    };
    let mut on = |step| {
        if let CheckProgress::Builds { done, to_do } = step {
            say(format!("{done} of {to_do} builds"));
        }
        interrupt::until_asked()
    };
    let check = match check(&project, &options, &mut on) {
        Ok(check) => check.expect("there is a network"),
        Err(error) => {
            return Some(Err(cannot(
                &plan,
                &format!("the network cannot be solved: {error}"),
            )));
        }
    };
    let mut broken = broken(&check.findings);
    if outcome
        .as_ref()
        .is_some_and(|outcome| outcome.reason == Reason::OutOfReach)
    {
        broken.extend(args.search.parts.map(|_| Wish::Parts));
        broken.extend(args.search.budget.map(|_| Wish::Price));
    }
    Some(Ok(Column {
        file: plan.loaded.path.display().to_string(),
        bill: bill(&project),
        name: plan.name,
        description: plan.description,
        project,
        outcome,
        check,
        broken,
    }))
}

fn bill(project: &Project) -> Bill {
    let Some(network) = &project.network else {
        return Bill::default();
    };
    let bought = Purchase::new(network, &project.stock, &[]);
    let priced = bought.without_price == 0 && bought.pieces() > 0;
    let copper_kg: f64 = (sheets(project, network).iter())
        .map(|sheet| sheet.coil.copper_mass_kg)
        .sum();
    Bill {
        parts: network.part_count(),
        price_of_pair: priced.then_some(2.0 * bought.price),
        copper_of_pair_kg: 2.0 * copper_kg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_finished_is_not_lost_for_what_cannot_be() {
        let cannot = || Some(Err(Failure::unusable("no network", "change it")));
        let names = || ["a", "b", "c"].map(str::to_owned).to_vec();
        let done = Done::of(names(), vec![Some(Ok(1)), cannot(), None]).unwrap();
        assert_eq!((done.columns, done.failures.len()), (vec![1], 1));
        assert_eq!(done.left_out, ["c"]);
        assert!(Done::<u8>::of(names(), vec![cannot(), None, None]).is_err());
        assert!(Done::<u8>::of(names(), vec![None, None, None]).is_ok());
    }
}
