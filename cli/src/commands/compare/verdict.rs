//! The whole in one sentence: which comes first, and what speaks for the others.

use solver::compare::{Comparison, Figure};

use super::words;

/// Of figures that say nearly the same, the first that tells is enough.
const ALIKE: [(Figure, Figure); 3] = [
    (Figure::CommonFlatness, Figure::Flatness),
    (Figure::Flatness, Figure::Farthest),
    (Figure::LeastLoad, Figure::LeastEpdr),
];
/// So many reasons are enough.
const REASONS: usize = 4;

/// What is better in one than in another, in words.
fn reasons(comparison: &Comparison, is: usize, than: usize) -> Vec<String> {
    let wins = |figure: Figure| {
        comparison
            .row(figure)
            .is_some_and(|row| row.is_better(is, than))
    };
    Figure::ALL
        .into_iter()
        .filter(|&figure| figure != Figure::Score && wins(figure))
        .filter(|&figure| {
            !ALIKE
                .iter()
                .any(|&(first, second)| second == figure && wins(first))
        })
        .filter_map(|figure| {
            let values = &comparison.row(figure)?.values;
            Some(words::better(figure, values[is]?, values[than]?))
        })
        .take(REASONS)
        .collect()
}

fn listed(list: &[String]) -> String {
    match list {
        [] => String::new(),
        [one] => one.clone(),
        [head @ .., last] => format!("{} and {last}", head.join(", ")),
    }
}

/// Whether all figures of all are the same.
fn same(comparison: &Comparison) -> bool {
    comparison.rows.iter().all(|row| {
        let first = row.values.first().copied().flatten();
        row.values.iter().all(|value| match (first, value) {
            (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs().max(1.0),
            (None, None) => true,
            _ => false,
        })
    })
}

/// The sentence.
pub(super) fn sentence(names: &[&str], comparison: &Comparison) -> String {
    let order = &comparison.order;
    if order.len() < 2 {
        return "only one is finished".to_owned();
    }
    if same(comparison) {
        return "no difference: they are the same in every figure".to_owned();
    }
    let (first, second) = (order[0], order[1]);
    let Some(score) = comparison.row(Figure::Score) else {
        return "none can be held against an aim: only parts, load and copper are compared"
            .to_owned();
    };
    let for_first = reasons(comparison, first, second);
    let clear = score.is_better(first, second);
    let (a, b) = (names[first], names[second]);
    let mut text = match (clear, for_first.is_empty()) {
        (true, true) => format!("{a} comes first, by a little of everything"),
        (true, false) => format!("{a} comes first: against {b} it is {}", listed(&for_first)),
        (false, true) => format!("{a} and {b} come out alike, as far as tolerance lets it be said"),
        (false, false) => format!(
            "{a} and {b} come out alike in all; {a} is {}",
            listed(&for_first)
        ),
    };
    for &other in order.iter().skip(1) {
        let for_other = reasons(comparison, other, first);
        if !for_other.is_empty() {
            text += &format!("; {} is {}", names[other], listed(&for_other));
        }
        if other != second && text.chars().count() > 400 {
            break;
        }
    }
    text
}
