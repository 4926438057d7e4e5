//! Snapping on the demo: how much of what rounding spoils is won back, and the limits of the stock.

use netlist::project::{CatalogueItem, StockKind};
use netlist::quantity::Ohms;
use netlist::series::Series;
use solver::nodal::Values;
use solver::search::{SnapGoal, SnapMerit, SnapSettings, Snapped, snap_quickly};
use tests::planted::set_value;
use tests::snapping::{AS_PRINTED, plain, snapped, two_way};

const PLAIN: SnapSettings = SnapSettings {
    window: 2,
    ..AS_PRINTED
};

fn item(kind: StockKind, value_si: f64, price: f64, count: Option<u32>) -> CatalogueItem {
    CatalogueItem {
        loss: (kind == StockKind::Inductor).then_some(Ohms(0.3)),
        price: Some(price),
        count,
        ..CatalogueItem::of(kind, value_si, None)
    }
}

/// How often a line of the drawer is taken.
fn taken(outcome: &Snapped, chosen: &[usize], item: usize) -> u32 {
    (outcome.parts.iter().zip(chosen))
        .flat_map(|(part, &i)| &part.choices[i].items)
        .filter(|(known, _)| *known == item)
        .map(|(_, count)| count)
        .sum()
}

/// The demo's three-way with every value moved off the stock, by up to a tenth either way, always the same.
fn off_the_stock() -> netlist::project::Project {
    let mut project = plain("network.toml");
    let network = project.network.as_mut().unwrap();
    let names: Vec<String> = network.parts().keys().cloned().collect();
    for (i, name) in names.iter().enumerate() {
        let Some(value_si) = network.parts()[name].value_si() else {
            continue;
        };
        let by = 0.1 * (2.4 * i as f64).sin();
        set_value(&mut network.parts_mut()[name.as_str()], value_si * by.exp());
    }
    project
}

#[test]
fn what_rounding_to_the_nearest_changes_is_won_back() {
    let mut project = off_the_stock();
    for series in [Series::E6, Series::E12, Series::E24] {
        let stock = &mut project.stock;
        for range in [
            &mut stock.capacitors,
            &mut stock.inductors,
            &mut stock.resistors,
        ] {
            let range = range.as_mut().unwrap();
            (range.series, range.together) = (series, 1);
        }
        let settings = SnapSettings {
            goal: SnapGoal::LeastChange,
            ..PLAIN
        };
        let (_, outcome) = snapped(&project, settings);
        let (ideal, nearest, best) = (outcome.ideal_cost, outcome.nearest.cost, outcome.best.cost);
        let text = format!("{series}: ideal {ideal:.3}, nearest {nearest:.3}, chosen {best:.3}");
        assert!(
            ideal < 1e-9,
            "nothing changes where nothing is moved: {text}"
        );
        assert!(best <= nearest, "{text}");
        let share = outcome.removed_share().unwrap();
        assert!((share - (1.0 - best / nearest)).abs() < 1e-6, "{text}");
        let least = 0.4;
        assert!(share >= least, "{text}");
    }
}

#[test]
fn what_is_on_hand_limits_the_choice() {
    let mut project = two_way(|text| text);
    // The drawer has one each of two coils, and a third of which none is left.
    project.stock.catalogue = vec![
        item(StockKind::Inductor, 1.5e-3, 9.0, Some(1)),
        item(StockKind::Inductor, 2.2e-3, 11.0, Some(1)),
        item(StockKind::Inductor, 3.3e-3, 14.0, Some(0)),
    ];
    let (_, outcome) = snapped(&project, PLAIN);
    let others = outcome.alternatives.iter().map(|(_, other)| other);
    for selection in std::iter::once(&outcome.best).chain(others) {
        assert!(selection.cost.is_finite());
        for (number, line) in project.stock.catalogue.iter().enumerate() {
            assert!(taken(&outcome, &selection.chosen, number) <= line.count.unwrap());
        }
        let index = selection.network.parts().get_index_of("L1").unwrap();
        let dcr_ohm = Values::of(&selection.network).loss[index];
        assert!(
            (dcr_ohm - 0.3).abs() < 1e-12,
            "the loss is that of the line"
        );
    }
    let network = project.network.as_ref().unwrap();
    let ideal = solver::judge::check::assess(&project, network).unwrap();
    let targets = ideal.job.targets(&ideal.alignments);
    let level_db = ideal.figures.level_db;
    let quick = snap_quickly(&ideal.job, &targets, network, level_db, PLAIN).unwrap();
    for (number, line) in project.stock.catalogue.iter().enumerate() {
        assert!(taken(&outcome, &quick.chosen, number) <= line.count.unwrap());
    }
    // Two coils are needed and one is there.
    project.stock.catalogue.truncate(1);
    let (_, outcome) = snapped(&project, PLAIN);
    assert!(outcome.best.cost.is_infinite(), "{}", outcome.best.cost);
    let ideal = solver::judge::check::assess(&project, network).unwrap();
    assert!(snap_quickly(&ideal.job, &targets, network, level_db, PLAIN).is_none());
}

#[test]
fn a_cheaper_choice_is_offered_with_its_price() {
    let mut project = two_way(|text| text.replace(", together = 2", ""));
    // Every value twice: dear, and cheap with a little more loss.
    for kind in [StockKind::Capacitor, StockKind::Inductor] {
        let range = project.stock.range(kind);
        for value_si in range.series.within(range.from_si, range.to_si) {
            for (loss_ohm, price) in [(0.02, 20.0), (0.05, 12.0)] {
                let coil = if kind == StockKind::Inductor {
                    0.4
                } else {
                    0.0
                };
                project.stock.catalogue.push(CatalogueItem {
                    loss: Some(Ohms(coil + loss_ohm)),
                    ..item(kind, value_si, price, None)
                });
            }
        }
    }
    for ohm in [1.0, 1.2, 1.5, 4.7, 5.1, 5.6, 6.2, 8.2, 9.1, 10.0, 11.0] {
        project
            .stock
            .catalogue
            .push(item(StockKind::Resistor, ohm, 1.5, None));
    }
    let settings = SnapSettings { window: 1, ..PLAIN };
    let (_, outcome) = snapped(&project, settings);
    let sum = |chosen: &[usize]| -> f64 {
        let priced = outcome.parts.iter().zip(chosen);
        priced
            .map(|(part, &i)| part.choices[i].price.unwrap())
            .sum()
    };
    let best = &outcome.best;
    assert!((best.price.unwrap() - sum(&best.chosen)).abs() < 1e-9);
    let (_, cheaper) = (outcome.alternatives.iter())
        .find(|(merit, _)| *merit == SnapMerit::Cheapest)
        .expect("a cheaper choice");
    assert!((cheaper.price.unwrap() - sum(&cheaper.chosen)).abs() < 1e-9);
    assert!(cheaper.price.unwrap() < best.price.unwrap());
    assert!(cheaper.cost >= best.cost);
    // What may be spent limits the choice itself.
    let price = best.price.unwrap();
    let budget = Some(0.8 * price);
    let (_, bound) = snapped(&project, SnapSettings { budget, ..settings });
    assert!(
        bound.best.price.unwrap() <= 0.8 * price,
        "{:?} of {price}",
        bound.best.price
    );
    assert!(bound.best.cost >= best.cost);
    let nothing = SnapSettings {
        budget: Some(1.0),
        ..settings
    };
    assert!(snapped(&project, nothing).1.best.cost.is_infinite());
}

#[test]
fn a_fixed_part_is_not_touched() {
    let project = two_way(|text| {
        assert!(text.contains("R1 = { "));
        text.replace("R1 = { ", "R1 = { fixed = true, ")
    });
    let (_, outcome) = snapped(&project, SnapSettings { window: 1, ..PLAIN });
    let network = project.network.as_ref().unwrap();
    let kept = network.parts().get_index_of("R1").unwrap();
    assert_eq!(outcome.kept, [kept]);
    for selection in [&outcome.best, &outcome.nearest] {
        assert_eq!(selection.network.parts()["R1"], network.parts()["R1"]);
    }
}
