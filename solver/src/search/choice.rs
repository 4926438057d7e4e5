//! Which of the proposals are shown, and which is taken.

use super::grow::{EARNS, PART_WORTH};
use super::proposal::{DesignSettings, Proposal, Reason};

/// Those that no smaller one beats with values of the stock.
pub(super) fn front_of(proposals: Vec<Proposal>) -> Vec<Proposal> {
    let mut front: Vec<Proposal> = Vec::new();
    for proposal in proposals {
        let pays = |smaller: &Proposal| {
            let more = (proposal.part_count() - smaller.part_count()) as f64;
            let expected = proposal.expected();
            expected <= smaller.expected() - EARNS * PART_WORTH * more
        };
        if front.iter().all(pays) {
            front.push(proposal);
        }
    }
    front
}

/// Proposals that are moved onto the stock once more, with more effort.
const MOVED_AGAIN: usize = 4;

/// Of all proposals that are within the limits those that are next to being chosen, where there are any.
pub(super) fn nearest_to_choice(proposals: &[Proposal], settings: DesignSettings) -> Vec<usize> {
    let mut near: Vec<usize> = (0..proposals.len()).collect();
    near.retain(|&i| within(&proposals[i], settings));
    near.sort_by(|&a, &b| {
        let (a, b) = (&proposals[a], &proposals[b]);
        score(a, settings).total_cmp(&score(b, settings))
    });
    near.truncate(MOVED_AGAIN);
    near
}

/// Whether a proposal keeps the asked number of parts and the budget.
fn within(proposal: &Proposal, settings: DesignSettings) -> bool {
    let parts = (settings.most_parts).is_none_or(|most| proposal.part_count() <= most);
    let price = |most| proposal.price.is_some_and(|price| price <= most);
    parts && settings.budget.is_none_or(price)
}

/// What proposals are chosen by, the less the better: error alone where parts or price are limited, else parts
/// count too.
fn score(proposal: &Proposal, settings: DesignSettings) -> f64 {
    match settings.most_parts.is_some() || settings.budget.is_some() {
        true => proposal.expected(),
        false => proposal.score(),
    }
}

/// The one that is taken, and why: the least score of those within the limits, else the nearest to them.
pub(super) fn choose(proposals: &[Proposal], settings: DesignSettings) -> (usize, Reason) {
    if let Some(&chosen) = nearest_to_choice(proposals, settings).first() {
        let reason = match (settings.most_parts, settings.budget) {
            (_, Some(budget)) => Reason::Budget(budget),
            (Some(parts), None) => Reason::Parts(parts),
            (None, None) => Reason::Balanced,
        };
        return (chosen, reason);
    }
    let price = |p: &Proposal| match settings.budget {
        Some(_) => p.price.unwrap_or(f64::INFINITY),
        None => 0.0,
    };
    let nearest = (0..proposals.len()).min_by(|&a, &b| {
        let (a, b) = (&proposals[a], &proposals[b]);
        let cheaper = price(a).total_cmp(&price(b));
        cheaper.then(a.part_count().cmp(&b.part_count()))
    });
    (nearest.unwrap_or(0), Reason::OutOfReach)
}

/// More hazard than that of the network that is taken is nothing to offer beside it.
const AS_SAFE: f64 = 1.0;

/// Without those that are more of a hazard to amplifier or diaphragm than the chosen one; and where that one is then.
pub(super) fn as_safe_as_chosen(proposals: Vec<Proposal>, chosen: usize) -> (Vec<Proposal>, usize) {
    let most = proposals[chosen].hazard + AS_SAFE;
    let safe = |p: &Proposal| p.hazard <= most;
    let before = proposals[..chosen].iter().filter(|p| safe(p)).count();
    (proposals.into_iter().filter(safe).collect(), before)
}

#[cfg(test)]
mod tests {
    use netlist::network::{Network, NodeId, Part, PartKind};
    use netlist::quantity::Ohms;

    use super::super::grow::Fitted;
    use super::*;
    use crate::goal::{Figures, LoadFigures};

    /// Of so many parts; the goal with it, and the hazard.
    fn proposal(parts: usize, cost: f64, hazard: f64) -> Proposal {
        let mut network = Network::new();
        let end = network.node("end");
        for number in 0..parts {
            let kind = PartKind::Resistor {
                resistance: Ohms(1.0),
                between: [NodeId::IN, end],
            };
            network.insert(format!("R{number}"), Part::new(kind));
        }
        let fitted = Fitted {
            network,
            cost,
            spread: 0.0,
            at_bound: 0,
            heat: 0.0,
            level_db: 90.0,
        };
        let figures = Figures {
            level_db: 90.0,
            rms_db: 0.0,
            max_db: 0.0,
            max_at_hz: 0.0,
            match_db: Vec::new(),
            crossovers: Vec::new(),
        };
        Proposal {
            ideal: fitted.clone(),
            ideal_figures: figures.clone(),
            snapped: fitted,
            figures,
            load: LoadFigures {
                least_ohm: 8.0,
                at_hz: 0.0,
                phase_deg: 0.0,
                least_epdr_ohm: 8.0,
                least_epdr_at_hz: 0.0,
            },
            price: None,
            hazard,
            bought_db: None,
        }
    }

    fn taken(proposals: Vec<Proposal>) -> (Vec<usize>, usize) {
        let proposals = front_of(proposals);
        let (chosen, _) = choose(&proposals, DesignSettings::default());
        let (shown, chosen) = as_safe_as_chosen(proposals, chosen);
        let parts: Vec<usize> = shown.iter().map(Proposal::part_count).collect();
        (parts.clone(), parts[chosen])
    }

    /// A network that just keeps a rule, however poor, does not remove all that just do not.
    #[test]
    fn a_rule_that_is_just_missed_removes_nothing() {
        let (poor, good) = (proposal(13, 38.0, 0.0), proposal(27, 14.0, 0.4));
        assert_eq!(taken(vec![poor, good]), (vec![13, 27], 27));
    }

    /// Where nothing joins the drivers well, parts that gain a little each are not bought.
    #[test]
    fn many_parts_that_hardly_help_are_not_taken() {
        let (simple, rich) = (proposal(13, 79.0, 0.0), proposal(24, 62.0, 0.0));
        assert_eq!(taken(vec![simple, rich]), (vec![13, 24], 13));
        let (simple, rich) = (proposal(13, 9.0, 0.0), proposal(18, 5.0, 0.0));
        assert_eq!(taken(vec![simple, rich]), (vec![13, 18], 18));
    }

    /// What is more of a hazard than the chosen one is neither taken nor shown, unless all is.
    #[test]
    fn what_is_a_hazard_is_not_offered_where_it_need_not_be() {
        let (open, safe) = (proposal(5, 20.0, 30.0), proposal(14, 12.0, 0.0));
        let richer = proposal(15, 10.0, 4.0);
        assert_eq!(taken(vec![open.clone(), safe, richer]), (vec![14], 14));
        assert_eq!(taken(vec![open]), (vec![5], 5));
    }

    /// Where a number of parts cannot be kept to, the fewest are the nearest; where a price cannot, the cheapest.
    #[test]
    fn the_nearest_to_limits_out_of_reach_is_what_they_ask_for() {
        let mut proposals = vec![proposal(11, 10.0, 0.0), proposal(9, 20.0, 0.0)];
        proposals[0].price = Some(60.0);
        proposals[1].price = Some(90.0);
        let parts = DesignSettings {
            most_parts: Some(5),
            ..DesignSettings::default()
        };
        assert_eq!(choose(&proposals, parts), (1, Reason::OutOfReach));
        let budget = DesignSettings {
            budget: Some(40.0),
            ..DesignSettings::default()
        };
        assert_eq!(choose(&proposals, budget), (0, Reason::OutOfReach));
    }
}
