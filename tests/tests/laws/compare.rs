//! What wishes cost, and what holds for any loudspeakers that are compared.

use std::ops::ControlFlow;
use std::path::Path;

use netlist::project::{Project, load_from};
use solver::compare::{
    Bill, Contender, CostMethod, Figure, Relaxed, WishContext, WishCost, compare, roles, wish_costs,
};
use solver::judge::check::{Check, check};
use solver::judge::tolerance::ToleranceOptions;
use solver::search::{DesignSettings, Outcome, design};
use tests::compared::brief;

fn project(text: &str) -> Project {
    let read = |_: &Path| -> std::io::Result<Vec<u8>> { Ok(text.as_bytes().to_vec()) };
    load_from(&read, Path::new("brief.toml"))
        .unwrap_or_else(|problems| panic!("{problems}"))
        .project
}

fn designed(text: &str) -> Outcome {
    let settings = DesignSettings {
        quick: true,
        starts: 1,
        ..DesignSettings::default()
    };
    design(&project(text), settings, &|| false, &mut |_| {}).unwrap()
}

fn costs(outcome: &Outcome, search: bool) -> Vec<WishCost> {
    let chosen = &outcome.proposals[outcome.chosen];
    let context = WishContext {
        job: &outcome.job,
        alignments: &outcome.alignments,
        audio: &outcome.audio,
        network: &chosen.ideal.network,
        level_db: chosen.ideal.level_db,
        trade_off: Some((&outcome.proposals, outcome.chosen)),
    };
    wish_costs(&context, search, &|| false)
}

fn load_cost(costs: &[WishCost]) -> WishCost {
    *costs
        .iter()
        .find(|cost| matches!(cost.wish, Relaxed::LeastLoad { .. }))
        .unwrap()
}

#[test]
fn a_wish_costs_where_it_binds_and_nothing_where_it_does_not() {
    let asked = |ohm: &str| {
        brief("high", "").replace(
            "minimum_load = \"5 ohm\"",
            &format!("minimum_load = \"{ohm}\""),
        )
    };
    let free = costs(&designed(&asked("1 ohm")), false);
    let cost = load_cost(&free);
    assert_eq!(cost.how, CostMethod::Multiplier, "{cost:?}");
    assert_eq!(cost.before, cost.after);
    // More than the woofer itself has leaves something to gain.
    let bound = designed(&asked("6.6 ohm"));
    let cost = load_cost(&costs(&bound, false));
    assert!(
        cost.how != CostMethod::Multiplier && cost.gain > 0.0,
        "{cost:?}"
    );
    assert!(cost.multiplier_gain.is_some_and(|gain| gain > 0.0));
    // A search that may change the network gains no less than the same parts.
    let searched = load_cost(&costs(&bound, true));
    assert!(searched.gain >= cost.gain - 1e-9, "{searched:?} {cost:?}");
    // The trade-off of parts is that of the proposals.
    let parts = free
        .iter()
        .find(|cost| matches!(cost.wish, Relaxed::Parts { .. }))
        .unwrap();
    assert_eq!(
        (parts.how, parts.multiplier_gain),
        (CostMethod::TradeOff, None)
    );
    assert!(free.iter().all(|cost| cost.gain >= 0.0), "{free:?}");
}

fn finished(outcome: &Outcome, place: usize) -> (Project, Check) {
    let project = Project {
        network: Some(outcome.proposals[place].snapped.network.clone()),
        ..outcome.project.clone()
    };
    let options = ToleranceOptions {
        builds: 50,
        ..ToleranceOptions::default()
    };
    let found = check(&project, &options, &mut |_| ControlFlow::Continue(()))
        .unwrap()
        .unwrap();
    (project, found)
}

#[test]
fn what_is_better_is_so_whichever_comes_first_and_never_both_ways() {
    let outcome = designed(&brief("high", ""));
    let last = outcome.proposals.len() - 1;
    assert!(last >= 2, "three that differ");
    let all: Vec<(Project, Check)> = [0, last / 2, last]
        .map(|place| finished(&outcome, place))
        .into();
    let bill = |place: usize| Bill {
        parts: all[place].0.network.as_ref().unwrap().parts().len(),
        ..Bill::default()
    };
    let candidates = |order: &[usize]| -> Vec<Contender<'_>> {
        let one = |&place: &usize| Contender {
            project: &all[place].0,
            check: &all[place].1,
            bill: bill(place),
            keeps: true,
        };
        order.iter().map(one).collect()
    };
    let found = compare(&candidates(&[0, 1, 2]), 100, &|| false);
    let turned = compare(&candidates(&[2, 1, 0]), 100, &|| false);
    assert_eq!(found.builds, 100);
    let place = |place: usize| 2 - place;
    for (row, other) in found.rows.iter().zip(&turned.rows) {
        for pair in &row.better {
            assert!(!row.is_better(pair.than, pair.is), "{row:?}");
            assert!(
                other.is_better(place(pair.is), place(pair.than)),
                "{row:?} {other:?}"
            );
        }
        assert_eq!(row.better.len(), other.better.len());
    }
    let order: Vec<usize> = turned.order.iter().map(|&at| place(at)).collect();
    assert_eq!(found.order, order);
    // The simplest network is far off: what many parts gain there no tolerance blurs.
    let score = found.row(Figure::Score).unwrap();
    assert!(score.values.iter().all(Option::is_some));
    assert!(score.is_better(2, 0), "{score:?}");
    let (ways, roles) = roles(&candidates(&[1, 1]));
    assert!(ways.len() == 2 && !roles.is_empty() && roles.iter().all(solver::compare::Role::same));
}

/// A driver's own limits move a crossover that is a range: the horn is usable from 800 Hz, its resonance is 520 Hz.
#[test]
fn a_range_is_kept_to_what_both_drivers_can_do() {
    let range = "frequency = { from = \"500 Hz\", to = \"1.6 kHz\" }";
    let decided = |text: &str| -> Vec<f64> {
        let text = text.replace("frequency = \"1.1 kHz\"", range);
        let outcome = designed(&text);
        outcome
            .variants
            .iter()
            .map(|variant| variant.frequencies_hz[0])
            .collect()
    };
    let text = brief("high", "");
    let tried = decided(&text);
    assert!(
        tried.len() > 4 && tried.iter().all(|f| (800.0..=1600.0).contains(f)),
        "{tried:?}"
    );
    // Where nothing of the range can be done it is tried all the same, and the findings tell.
    let beyond = text.replace(
        "from = \"800 Hz\", to = \"16 kHz\"",
        "from = \"3 kHz\", to = \"16 kHz\"",
    );
    assert_ne!(beyond, text);
    assert!(
        decided(&beyond)
            .iter()
            .all(|f| (500.0..=1600.0).contains(f))
    );
}
