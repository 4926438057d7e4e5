//! A whole network moved onto the stock: the nearest values, the best choice, what is proven of it, and
//! what else is worth a look.

use netlist::network::{Network, PartKind};
use netlist::project::StockKind;
use netlist::quantity::{Amperes, Volts, Watts};

use super::choices::{Choice, PartChoices, part_choices};
use super::search::{SHORTLIST, Search};
use crate::goal::Targets;
use crate::nodal::{PlanError, Values};
use crate::search::job::Job;
use crate::search::values::set_value;
use crate::search::values::stock_kind;

/// How to snap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SnapSettings {
    /// Steps of value on each side of the nearest.
    pub window: usize,
    /// Whether parts may be joined into one, where the stock allows it.
    pub joined: bool,
    /// What all parts together may cost, where the stock has prices.
    pub budget: Option<f64>,
    /// Seed of the builds whose expected goal counts instead of the nominal one.
    pub robust: Option<u64>,
}

impl Default for SnapSettings {
    fn default() -> Self {
        Self {
            window: 3,
            joined: true,
            budget: None,
            robust: None,
        }
    }
}

/// What is known of the choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Known {
    /// No other choice within the window is better: every combination of all parts was looked at.
    Proven,
    /// No other choice in any one way, the others as they are, is better; nor is any combination of the
    /// best [`SHORTLIST`] of each way. With one way that is all there is.
    WayByWay,
    /// No exchange of one or two parts of a way is better.
    OneOrTwoParts,
    /// The best of those whose expected goal was worked out.
    BestExpected,
}

/// Choices of all parts that were moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Selection {
    /// The network with them.
    pub network: Network,
    /// Which of its choices each part has, in the order of [`Snapped::parts`].
    pub chosen: Vec<usize>,
    /// Goal; [`f64::INFINITY`] where the stock does not hold that many.
    pub cost: f64,
    /// Level that suits best, dB SPL.
    pub level_db: f64,
    /// Price of all together; `None` where one has none.
    pub price: Option<f64>,
    /// Number of parts that are bought.
    pub pieces: u32,
}

/// What an alternative is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SnapMerit {
    /// Cheapest that is still about as good.
    Cheapest,
    /// Best without parts joined into one.
    SinglesOnly,
    /// Next best.
    RunnerUp,
}

/// Outcome of snapping.
#[derive(Debug, Clone)]
pub struct Snapped {
    /// The parts that were moved, with what there is for each.
    pub parts: Vec<PartChoices>,
    /// Parts kept because the builder wants them fixed, or the stock has nothing of their kind.
    pub kept: Vec<usize>,
    /// Goal with the values as they were.
    pub ideal_cost: f64,
    /// Nearest values.
    pub nearest: Selection,
    /// The choice.
    pub best: Selection,
    /// What is known of it.
    pub known: Known,
    /// Other choices.
    pub alternatives: Vec<(SnapMerit, Selection)>,
    /// Combinations that were looked at or bounded.
    pub looked_at: u64,
}

/// Parts that can be moved, those that keep their values, and the network with coils that are coupled
/// on their nearest values: coupled coils are not exchanged one by one.
fn movable(
    job: &Job,
    network: &Network,
    settings: SnapSettings,
) -> (Vec<PartChoices>, Vec<usize>, Network) {
    let values = Values::of(network);
    let coupled: Vec<&String> = (network.parts().values())
        .filter_map(|part| match &part.kind {
            PartKind::Coupling { inductors, .. } => Some(inductors),
            _ => None,
        })
        .flatten()
        .collect();
    let mut moved = network.clone();
    let (mut parts, mut kept) = (Vec::new(), Vec::new());
    for (index, (name, part)) in network.parts().iter().enumerate() {
        let Some(kind) = stock_kind(&part.kind) else {
            continue;
        };
        let (value, loss) = (values.value[index], values.loss[index]);
        let choices = (!part.fixed)
            .then(|| part_choices(job, index, kind, value, loss, settings.window))
            .flatten();
        let choices = choices.map(|all| if settings.joined { all } else { all.singles() });
        match choices {
            None => kept.push(index),
            Some(choices) if coupled.contains(&name) => {
                put(job, &mut moved, index, &choices.choices[choices.nearest]);
                kept.push(index);
            }
            Some(choices) => parts.push(choices),
        }
    }
    (parts, kept, moved)
}

/// Puts a choice into a network.
fn put(job: &Job, network: &mut Network, part: usize, choice: &Choice) {
    let part = &mut network.parts_mut()[part];
    set_value(&mut part.kind, choice.value_si, choice.loss_ohm);
    part.made_of.clone_from(&choice.made_of);
    // What a line of the catalogue says goes with its part; a series speaks for itself in the stock.
    let [(line, _)] = choice.items[..] else {
        (part.tolerance, part.power, part.voltage, part.current) = (None, None, None, None);
        return;
    };
    let item = &job.stock.catalogue[line];
    let single = choice.made_of.is_none();
    part.tolerance = item.tolerance.filter(|_| single);
    let rating = item.rating.filter(|_| single);
    match item.kind {
        StockKind::Resistor => part.power = rating.map(Watts),
        StockKind::Capacitor => part.voltage = rating.map(Volts),
        StockKind::Inductor => part.current = rating.map(Amperes),
    }
}

/// Moves the parts of `network`, whose drivers are those of the ways of `job`, onto its stock.
///
/// `level_db` is about the level of the aim; deviations are counted from it, and it moves where the aim
/// leaves it free.
///
/// # Errors
/// If the network cannot be solved.
pub fn snap_network(
    job: &Job,
    targets: &Targets,
    network: &Network,
    level_db: f64,
    settings: SnapSettings,
) -> Result<Snapped, PlanError> {
    let (parts, kept, network) = movable(job, network, settings);
    let mut search = Search::new(job, targets, &network, &parts, settings.budget, level_db)?;
    let before = Values::of(&network);
    let as_it_was = |number: usize| {
        let part = parts[number].part;
        (before.value[part], before.loss[part])
    };
    let ideal_cost = search.cost_of_values(&as_it_was).0;
    let nearest = search.nearest();
    let mut chosen = nearest.clone();
    let (_, lists) = search.best(&mut chosen);
    let mut known = if search.runs_through_all() {
        Known::WayByWay
    } else {
        Known::OneOrTwoParts
    };
    if search.exhaust(&mut chosen) {
        known = Known::Proven;
    }
    if let Some(seed) = settings.robust {
        search.most_robust(&mut chosen, &lists, seed);
        known = Known::BestExpected;
    }
    let selection = |search: &Search<'_>, chosen: &[usize]| {
        let mut moved = network.clone();
        let taken: Vec<&Choice> = (0..parts.len())
            .map(|number| search.choice(number, chosen))
            .collect();
        for (choices, choice) in parts.iter().zip(&taken) {
            put(job, &mut moved, choices.part, choice);
        }
        let (cost, level_db) = search.cost(chosen);
        Selection {
            network: moved,
            chosen: chosen.to_vec(),
            cost: if cost < 1e5 { cost } else { f64::INFINITY },
            level_db,
            price: taken.iter().map(|choice| choice.price).sum(),
            pieces: taken.iter().map(|choice| choice.count()).sum(),
        }
    };
    let best = selection(&search, &chosen);
    let mut alternatives = Vec::new();
    let mut seen = vec![chosen.clone(), nearest.clone()];
    let mut offer = |merit: SnapMerit, other: Selection| {
        if !seen.contains(&other.chosen) && other.cost.is_finite() {
            seen.push(other.chosen.clone());
            alternatives.push((merit, other));
        }
    };
    if let Some(price) = best.price {
        // A step at a time cheaper, as long as the loudspeaker bears it.
        let mut cheapest = None;
        let mut budget = 0.93 * price;
        for _ in 0..CHEAPER {
            let mut search = Search::new(job, targets, &network, &parts, Some(budget), level_db)?;
            let mut chosen = chosen.clone();
            search.settle(&mut chosen);
            let other = selection(&search, &chosen);
            let still_good = other.cost <= best.cost + AS_GOOD;
            let (true, Some(price)) = (still_good, other.price) else {
                break;
            };
            budget = 0.93 * price;
            cheapest = Some(other);
        }
        if let Some(other) = cheapest {
            offer(SnapMerit::Cheapest, other);
        }
    }
    if best.pieces as usize > parts.len() {
        let single: Vec<PartChoices> = parts.iter().map(PartChoices::singles).collect();
        let mut of_singles =
            Search::new(job, targets, &network, &single, settings.budget, level_db)?;
        let mut chosen = of_singles.nearest();
        of_singles.settle(&mut chosen);
        let among_all: Vec<usize> = (single.iter().zip(&parts).zip(&chosen))
            .map(|((single, all), &chosen)| all.place_of(&single.choices[chosen]))
            .collect();
        offer(SnapMerit::SinglesOnly, selection(&search, &among_all));
    }
    let mut next: Vec<&(f64, Vec<usize>)> = lists.iter().flatten().collect();
    next.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    for (_, next) in next.into_iter().take(SHORTLIST) {
        offer(SnapMerit::RunnerUp, selection(&search, next));
    }
    alternatives.truncate(ALTERNATIVES);
    Ok(Snapped {
        nearest: selection(&search, &nearest),
        looked_at: search.looked_at,
        kept,
        ideal_cost,
        best,
        known,
        alternatives,
        parts,
    })
}

/// Alternatives that are offered.
const ALTERNATIVES: usize = 4;
/// Steps towards a lower price.
const CHEAPER: usize = 12;
/// How much worse the cheapest choice may be, in the unit of the goal: about 0.2 dB of a curve that is
/// flat within 0.5 dB.
const AS_GOOD: f64 = 1.0;
