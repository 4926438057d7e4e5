//! The whole in one sentence: which comes first, and what speaks for the others.

use solver::compare::{Comparison, Figure};
use solver::judge::listed;

use super::words;

/// Of figures that say nearly the same, the first that tells is enough.
const ALIKE: [(Figure, Figure); 3] = [
    (Figure::CommonFlatness, Figure::Flatness),
    (Figure::Flatness, Figure::Farthest),
    (Figure::LeastLoad, Figure::LeastEpdr),
];
/// More columns than these are not gone through one by one.
const MOST_AGAINST: usize = 4;
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

/// Numbers and names: `1 brief`.
pub(super) fn numbered(names: &[&str]) -> Vec<String> {
    names
        .iter()
        .enumerate()
        .map(|(place, name)| format!("{} {name}", place + 1))
        .collect()
}

/// The sentence.
pub(super) fn sentence(names: &[&str], comparison: &Comparison) -> String {
    let order = &comparison.order;
    let names = numbered(names);
    if order.len() < 2 {
        return "only one is finished: mend what stands against the others, or let them run longer"
            .to_owned();
    }
    if same(comparison) {
        return "no difference: they are the same in every figure".to_owned();
    }
    let Some(score) = comparison.row(Figure::Score) else {
        return "none can be held against an aim: only load, parts and copper are compared"
            .to_owned();
    };
    let first = order[0];
    // Those that the first is not surely better than share its place.
    let alike: Vec<String> = (order.iter().skip(1))
        .filter(|&&other| comparison.keeps[other] == comparison.keeps[first])
        .filter(|&&other| score.values[other].is_some() && !score.is_better(first, other))
        .map(|&other| names[other].clone())
        .collect();
    let all = alike.len() + 1 == order.len();
    let mut text = match (alike.is_empty(), all) {
        (true, _) => format!("{} comes first, in error and parts together", names[first]),
        (false, true) => {
            "in error and parts together they come out alike: tolerance blurs the rest".to_owned()
        }
        (false, false) => format!(
            "{} and {} come first, alike in error and parts together",
            names[first],
            listed(&alike)
        ),
    };
    let broken: Vec<String> = (order.iter())
        .filter(|&&place| comparison.keeps[first] && !comparison.keeps[place])
        .map(|&place| names[place].clone())
        .collect();
    if !broken.is_empty() {
        let does = if broken.len() == 1 { "does" } else { "do" };
        text += &format!("; {} {does} not keep what is asked for", listed(&broken));
    }
    if order.len() == 2 {
        text += &format!("; {}", pair(&names, comparison, first, order[1]));
    }
    text
}

/// What speaks for each of two.
fn pair(names: &[String], comparison: &Comparison, is: usize, than: usize) -> String {
    let (for_it, for_other) = (reasons(comparison, is, than), reasons(comparison, than, is));
    match (for_it.is_empty(), for_other.is_empty()) {
        (true, true) => format!("nothing speaks for {} or {} alone", names[is], names[than]),
        (false, true) => format!(
            "{} is {}, and nothing speaks for {}",
            names[is],
            listed(&for_it),
            names[than]
        ),
        (true, false) => format!(
            "{} is {}, and nothing speaks for {}",
            names[than],
            listed(&for_other),
            names[is]
        ),
        (false, false) => format!(
            "{} is {}; {} is {}",
            names[is],
            listed(&for_it),
            names[than],
            listed(&for_other)
        ),
    }
}

/// Of more than two, what speaks for and against each beside the first column.
pub(super) fn against_the_first(names: &[&str], comparison: &Comparison) -> Vec<String> {
    let names = numbered(names);
    if !(3..=MOST_AGAINST).contains(&names.len()) || comparison.row(Figure::Score).is_none() {
        return Vec::new();
    }
    (1..names.len())
        .map(|place| pair(&names, comparison, place, 0))
        .collect()
}

#[cfg(test)]
mod tests {
    use solver::compare::{Better, Row};

    use super::*;

    fn row(figure: Figure, values: &[f64], better: &[(usize, usize)]) -> Row {
        Row {
            figure,
            values: values.iter().copied().map(Some).collect(),
            comparable: true,
            better: better
                .iter()
                .map(|&(is, than)| Better {
                    is,
                    than,
                    share: 1.0,
                })
                .collect(),
        }
    }

    fn comparison(rows: Vec<Row>, order: &[usize]) -> Comparison {
        Comparison {
            rows,
            order: order.to_vec(),
            common_hz: None,
            builds: 400,
            keeps: vec![true; order.len()],
        }
    }

    #[test]
    fn one_of_two_comes_first_with_what_speaks_for_both() {
        let found = comparison(
            vec![
                row(Figure::Flatness, &[0.5, 0.3], &[(1, 0)]),
                row(Figure::Farthest, &[1.5, 0.9], &[(1, 0)]),
                row(Figure::Parts, &[12.0, 15.0], &[(0, 1)]),
                row(Figure::Score, &[8.0, 6.0], &[(1, 0)]),
            ],
            &[1, 0],
        );
        assert_eq!(
            sentence(&["a", "b"], &found),
            "2 b comes first, in error and parts together; 2 b is flatter (0.30 against 0.50 dB rms); 1 a is 3 parts smaller"
        );
    }

    #[test]
    fn what_is_blurred_is_alike_and_what_is_equal_no_difference() {
        let blurred = comparison(vec![row(Figure::Score, &[6.1, 6.0, 6.2], &[])], &[1, 0, 2]);
        assert!(sentence(&["a", "b", "c"], &blurred).contains("alike"));
        assert!(against_the_first(&["a", "b", "c"], &blurred)[0].contains("nothing speaks for"));
        let mut unsafe_one = comparison(vec![row(Figure::Score, &[6.0, 5.0], &[(1, 0)])], &[0, 1]);
        unsafe_one.keeps[1] = false;
        let told = sentence(&["a", "b"], &unsafe_one);
        assert!(
            told.contains("1 a comes first") && told.contains("2 b does not keep"),
            "{told}"
        );
        let equal = comparison(vec![row(Figure::Score, &[6.0, 6.0], &[])], &[0, 1]);
        assert!(sentence(&["a", "b"], &equal).starts_with("no difference"));
        let two = comparison(
            vec![row(Figure::Score, &[6.0, 6.1, 9.0], &[(0, 2), (1, 2)])],
            &[0, 1, 2],
        );
        assert!(sentence(&["a", "b", "c"], &two).starts_with("1 a and 2 b come first, alike"));
    }
}
