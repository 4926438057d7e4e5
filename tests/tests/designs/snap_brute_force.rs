//! Snapping against plain enumeration, which solves the whole network anew for every combination.

use netlist::network::Network;
use netlist::quantity::Decibels;
use netlist::series::Series;
use rayon::prelude::*;
use solver::judge::check::Assessment;
use solver::search::{Known, SnapSettings, Snapped};
use solver::stock::{Choice, PartChoices};
use tests::snapping::{AS_PRINTED, plain, plain_cost, snapped, two_way};

const ROUNDING: f64 = 1e-7;

fn within(window: usize) -> SnapSettings {
    SnapSettings {
        window,
        ..AS_PRINTED
    }
}

/// Least goal over all combinations of the choices of `free` parts, the rest as chosen.
fn least(
    ideal: &Assessment,
    outcome: &Snapped,
    network: &Network,
    chosen: &[usize],
    free: &[usize],
) -> (f64, Vec<usize>) {
    let sizes: Vec<usize> = (free.iter())
        .map(|&i| outcome.parts[i].choices.len())
        .collect();
    let count: usize = sizes.iter().product();
    (0..count)
        .into_par_iter()
        .map(|number| {
            let mut rest = number;
            let mut chosen = chosen.to_vec();
            for (&part, size) in free.iter().zip(&sizes) {
                chosen[part] = rest % size;
                rest /= size;
            }
            let choices: Vec<(&PartChoices, &Choice)> = (outcome.parts.iter().zip(&chosen))
                .map(|(part, &i)| (part, &part.choices[i]))
                .collect();
            (plain_cost(ideal, network, &choices), chosen)
        })
        .collect::<Vec<_>>()
        .into_iter()
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap()
}

#[test]
fn a_two_way_of_eight_parts_is_snapped_as_brute_force_does() {
    for (series, output_impedance) in [
        (Series::E12, "{ r = \"1.8 ohm\", l = \"0.2 mH\" }"),
        (Series::E6, "\"0 ohm\""),
    ] {
        let mut project = two_way(|text| {
            let old = "output_impedance = \"1.8 ohm\"";
            assert!(text.contains(old) && text.contains(", together = 2"));
            let new = format!("output_impedance = {output_impedance}");
            let text = text.replace(old, &new).replace(", together = 2", "");
            text.replace("\"E12\"", &format!("\"{series}\""))
        });
        // At a free level the search holds the voltage of delicate drivers to the level that it begins with.
        project.aim.level = Some(Decibels(94.0));
        let (ideal, outcome) = snapped(&project, within(1));
        let combinations: usize = outcome
            .parts
            .iter()
            .map(|part| part.choices.len())
            .product();
        assert_eq!((outcome.parts.len(), combinations), (8, 6561));
        assert_eq!(outcome.known, Known::Proven);
        let network = project.network.as_ref().unwrap();
        let best = &outcome.best;
        let all: Vec<usize> = (0..8).collect();
        let (cost, chosen) = least(&ideal, &outcome, network, &best.chosen, &all);
        assert!((cost - best.cost).abs() < ROUNDING, "{cost} {}", best.cost);
        assert_eq!(chosen, best.chosen);
        assert!(best.cost <= outcome.nearest.cost);
    }
}

#[test]
fn joined_parts_are_enumerated_too() {
    const FIXED: [&str; 4] = ["L1", "R1", "L2", "R3"];
    let project = two_way(|text| {
        // Four parts stay, so that the rest with joined capacitors is soon enumerated.
        let fixed = |text: String, name: &str| {
            let begin = format!("{name} =");
            let line = text.lines().find(|line| line.starts_with(&begin)).unwrap();
            text.replace(line, &line.replace(" }", ", fixed = true }"))
        };
        FIXED.into_iter().fold(text, fixed)
    });
    let (ideal, outcome) = snapped(&project, within(2));
    let network = project.network.as_ref().unwrap();
    let kept: Vec<&str> = (outcome.kept.iter())
        .map(|&part| network.parts().get_index(part).unwrap().0.as_str())
        .collect();
    assert_eq!(kept, FIXED);
    assert_eq!(outcome.known, Known::Proven);
    let joined = |part: &PartChoices| part.choices.iter().any(|choice| choice.made_of.is_some());
    assert!(outcome.parts.iter().any(joined), "{:?}", outcome.parts);
    let best = &outcome.best;
    let all: Vec<usize> = (0..outcome.parts.len()).collect();
    let (cost, chosen) = least(&ideal, &outcome, network, &best.chosen, &all);
    assert!((cost - best.cost).abs() < ROUNDING, "{cost} {}", best.cost);
    assert_eq!(chosen, best.chosen);
    for name in FIXED {
        assert_eq!(best.network.parts()[name], network.parts()[name]);
    }
}

#[test]
fn each_way_of_the_three_way_is_snapped_as_brute_force_does() {
    let mut project = plain("network.toml");
    for (range, series) in [
        (&mut project.stock.capacitors, Series::E6),
        (&mut project.stock.inductors, Series::E6),
        (&mut project.stock.resistors, Series::E12),
    ] {
        let range = range.as_mut().unwrap();
        (range.series, range.together) = (series, 1);
    }
    project.aim.level = Some(Decibels(94.0));
    let (ideal, outcome) = snapped(&project, within(1));
    assert_eq!(outcome.known, Known::WayByWay);
    assert!(outcome.best.cost <= outcome.nearest.cost);
    let network = project.network.as_ref().unwrap();
    let best = &outcome.best;
    let ways = [
        &["L1", "C1", "R1", "L2"][..],
        &["C2", "L3", "C3", "L4", "C4", "R2", "R3"],
        &["C5", "L5", "C6", "R4", "R5"],
    ];
    for way in ways {
        let own: Vec<usize> = (0..outcome.parts.len())
            .filter(|&i| {
                let (name, _) = network.parts().get_index(outcome.parts[i].part).unwrap();
                way.contains(&name.as_str())
            })
            .collect();
        assert_eq!(own.len(), way.len());
        let (cost, chosen) = least(&ideal, &outcome, network, &best.chosen, &own);
        assert!(
            (cost - best.cost).abs() < ROUNDING,
            "{way:?}: {cost} {}",
            best.cost
        );
        assert_eq!(chosen, best.chosen, "{way:?}");
    }
}

#[test]
fn one_thread_and_two_choose_the_same() {
    let project = plain("network.toml");
    let settings = SnapSettings {
        robust: true,
        ..within(1)
    };
    let [one, two] = [1, 2].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| snapped(&project, settings).1)
    });
    let all = |outcome: &Snapped| {
        let others = outcome.alternatives.iter().map(|(_, other)| other.clone());
        std::iter::once(outcome.best.clone())
            .chain(others)
            .collect::<Vec<_>>()
    };
    assert_eq!(one.alternatives.len(), two.alternatives.len());
    for (a, b) in all(&one).iter().zip(all(&two)) {
        assert_eq!(a.chosen, b.chosen);
        assert_eq!(a.cost.to_bits(), b.cost.to_bits());
    }
    assert_eq!(one.looked_at, two.looked_at);
}
