//! Several parts bought together as one value.

use netlist::network::Joined;
use netlist::project::{Stock, StockKind};

use super::choice::Choice;
use super::line::USUAL;
use super::single::SingleValue;
use super::stated;
use super::stated::off;

/// Joined values of each number of parts that are looked at on each side of the ideal one.
const JOINED_EACH_SIDE: usize = 2;

/// How far from the ideal value a joined one may lie, as a ratio less 1; farther away single parts are as near.
const JOINED_WITHIN: f64 = 0.06;

/// The joined values nearest to the ideal one, as few parts as will do.
pub(super) fn joined_choices(
    stock: &Stock,
    kind: StockKind,
    singles: &[SingleValue],
    ideal_si: f64,
) -> Vec<Choice> {
    let together = usize::from(stock.range(kind).together);
    if together < 2 {
        return Vec::new();
    }
    let mut found: Vec<Choice> = Vec::new();
    let reach = (ideal_si, JOINED_WITHIN);
    joined_sets(kind, singles, reach, together, &mut |joined, parts| {
        let choice = Choice::joined(kind, joined, parts, stated::value);
        let on_hand = |&(line, count): &(usize, u32)| {
            let there = stock.catalogue[line].count;
            there.is_none_or(|there| there >= count)
        };
        if choice.items.iter().all(on_hand) && off(choice.value_si, ideal_si) <= JOINED_WITHIN {
            found.push(choice);
        }
    });
    // What a single part gives within its own tolerance needs no second one.
    let single_gives = |choice: &Choice| {
        singles.iter().any(|single| {
            off(single.value_si, choice.value_si) <= single.tolerance.unwrap_or(USUAL)
        })
    };
    found.retain(|choice| !single_gives(choice));
    // The usual difference between two builds of a part is 1 %: nearer is no nearer. Capacitors in series and
    // resistors side by side take far more than they give.
    let rank = |c: &Choice| {
        let adds = |joined: Joined| joined.adds_up(kind == StockKind::Capacitor);
        let wasteful = c.made_of.as_ref().is_some_and(|m| !adds(m.joined));
        let pieces = f64::from(c.count()) * if wasteful { 2.0 } else { 1.0 };
        off(c.value_si, ideal_si).max(0.01) * pieces
    };
    found.sort_by(|a, b| {
        (rank(a).total_cmp(&rank(b)))
            .then(off(a.value_si, ideal_si).total_cmp(&off(b.value_si, ideal_si)))
    });
    let mut kept: Vec<Choice> = Vec::new();
    for below in [true, false] {
        let mut best = f64::INFINITY;
        for count in 2..=together as u32 {
            // A part more must bring the value nearer.
            let side = (found.iter()).filter(|choice| {
                choice.count() == count
                    && (choice.value_si < ideal_si) == below
                    && rank(choice) < best
            });
            let side: Vec<Choice> = side.take(JOINED_EACH_SIDE).cloned().collect();
            best = side.first().map_or(best, &rank);
            kept.extend(side);
        }
    }
    kept
}

/// Calls `found` with all sets of two to `most` parts that joined make a value within a share of a wanted one, and with
/// how they are joined.
pub(crate) fn joined_sets(
    kind: StockKind,
    singles: &[SingleValue],
    (wanted_si, within): (f64, f64),
    most: usize,
    found: &mut dyn FnMut(Joined, &[&SingleValue]),
) {
    // What adds up when joined: capacitance side by side, resistance one after the other; and what
    // adds its inverse the other way round.
    let ways: &[(Joined, bool)] = match kind {
        StockKind::Capacitor => &[(Joined::Parallel, false), (Joined::Series, true)],
        _ => &[(Joined::Series, false), (Joined::Parallel, true)],
    };
    for &(joined, inverse) in ways {
        let adds = |value: f64| if inverse { value.recip() } else { value };
        let mut values: Vec<(f64, usize)> = (singles.iter().enumerate())
            .map(|(i, single)| (adds(single.value_si), i))
            .collect();
        values.sort_by(|a, b| b.0.total_cmp(&a.0));
        let ends = about(adds(wanted_si), within);
        adding_up(&values, ends, most, 0, &mut Vec::new(), &mut |picked| {
            let parts: Vec<&SingleValue> =
                picked.iter().map(|&at| &singles[values[at].1]).collect();
            found(joined, &parts);
        });
    }
}

/// From a value less a share of it to the value and that share more.
pub(crate) fn about(value: f64, within: f64) -> [f64; 2] {
    [value / (1.0 + within), value * (1.0 + within)]
}

/// Calls `found` with all sets of two to `left` values (greatest first, by place) whose sum is between two ends.
fn adding_up(
    values: &[(f64, usize)],
    [least, most]: [f64; 2],
    left: usize,
    from: usize,
    picked: &mut Vec<usize>,
    found: &mut dyn FnMut(&[usize]),
) {
    let sum: f64 = picked.iter().map(|&at| values[at].0).sum();
    if left == 0 {
        return;
    }
    // Greatest first: the rest can add no more than `left` times the next one.
    let start = from + values[from..].partition_point(|(value, _)| sum + value > most);
    for at in start..values.len() {
        let value = values[at].0;
        if sum + value * left as f64 <= least {
            break;
        }
        picked.push(at);
        if picked.len() >= 2 && sum + value >= least {
            found(picked);
        }
        adding_up(values, [least, most], left - 1, at, picked, found);
        picked.pop();
    }
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    /// Capacitors side by side: the real part of the impedance of both branches together, well below the
    /// frequency at which the losses decide, by complex arithmetic and nothing else.
    #[test]
    fn the_loss_of_capacitors_side_by_side_is_that_of_the_circuit() {
        let single = |value_si: f64, loss_ohm: f64| SingleValue {
            value_si,
            loss_ohm,
            line: None,
            price: None,
            tolerance: None,
            rating: None,
            count: None,
        };
        let omega = 2.0 * std::f64::consts::PI * 1000.0;
        for pair in [
            [single(10e-6, 0.02), single(10e-6, 0.02)],
            [single(10e-6, 0.02), single(22e-6, 0.05)],
            [single(1e-6, 0.3), single(4.7e-6, 0.01)],
        ] {
            let branch =
                |one: &SingleValue| Complex64::new(one.loss_ohm, -1.0 / (omega * one.value_si));
            let [a, b] = [&pair[0], &pair[1]];
            let beside = (branch(a).inv() + branch(b).inv()).inv();
            let after = branch(a) + branch(b);
            for (joined, whole) in [(Joined::Parallel, beside), (Joined::Series, after)] {
                let value_si = -1.0 / (omega * whole.im);
                let kind = StockKind::Capacitor;
                let found = Choice::joined(kind, joined, &[a, b], stated::value);
                assert!((found.value_si / value_si - 1.0).abs() < 1e-3);
                assert!(
                    (found.loss_ohm / whole.re - 1.0).abs() < 2e-3,
                    "{joined:?} {found:?} {whole}"
                );
            }
        }
    }
}
