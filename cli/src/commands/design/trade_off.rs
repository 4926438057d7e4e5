//! Error against parts, from the simplest network to the richest.

use std::io::{Result, Write};

use netlist::quantity::Hertz;
use solver::compare::{CostMethod, Relaxed, WishCost};
use solver::search::{Outcome, Proposal, Reason};

/// Rows on the screen; all of them with `--full`.
const ROWS: usize = 12;

pub(super) fn print(
    outcome: &Outcome,
    pick: usize,
    costs: &[WishCost],
    full: bool,
    out: &mut dyn Write,
) -> Result<()> {
    let proposals = &outcome.proposals;
    let priced = (proposals.iter()).any(|p| p.part_count() > 0 && p.price.is_some());
    let price = if priced { "    price" } else { "" };
    writeln!(
        out,
        "\n  pick  parts{price} flat, rms     most    match  phase     load    level   gained"
    )?;
    let shown = shown(proposals.len(), pick - 1, outcome.chosen, full);
    let mut before = None;
    for &i in &shown {
        if before.is_some_and(|before| i > before + 1) {
            writeln!(out, "     …")?;
        }
        before = Some(i);
        let mark = if i + 1 == pick { '*' } else { ' ' };
        writeln!(out, "{mark}{}", row(i, &proposals[i], priced))?;
    }
    let text = format!("{}{}", why(outcome, pick), limit(costs));
    crate::words::folded(&text, 0, out)
}

fn row(i: usize, proposal: &Proposal, priced: bool) -> String {
    let figures = &proposal.figures;
    let price = match (priced, proposal.price) {
        (false, _) => String::new(),
        (true, Some(price)) => format!("{price:>9.2}"),
        (true, None) => format!("{:>9}", "-"),
    };
    let worst = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
    let gained = proposal
        .bought_db
        .map_or(String::new(), |db| format!("{db:.2} dB"));
    format!(
        "{:>5}  {:>5}{price}{:>10}{:>9}{:>9}{:>7}{:>9}{:>9}{gained:>9}",
        i + 1,
        proposal.part_count(),
        format!("{:.2} dB", figures.rms_db),
        format!("{:.2} dB", figures.max_db),
        format!("{:.2} dB", worst(&mut figures.match_db.iter().copied())),
        format!(
            "{:.0}°",
            worst(&mut figures.crossovers.iter().map(|c| c.phase_match_deg))
        ),
        // Three digits before the point must not run into the column before.
        format!(" {:.2} ohm", proposal.load.least_ohm),
        format!("{:.1} dB", figures.level_db),
    )
}

/// Positions of the rows that are shown: the first, the last, and those about what is taken.
fn shown(count: usize, pick: usize, chosen: usize, full: bool) -> Vec<usize> {
    if full || count <= ROWS {
        return (0..count).collect();
    }
    let mut order: Vec<usize> = vec![pick, chosen, 0, count - 1];
    for away in 1..count {
        order.extend(pick.checked_sub(away));
        order.extend((pick + away < count).then_some(pick + away));
    }
    let mut rows: Vec<usize> = Vec::new();
    for i in order {
        if rows.len() < ROWS && !rows.contains(&i) {
            rows.push(i);
        }
    }
    rows.sort_unstable();
    rows
}

fn why(outcome: &Outcome, pick: usize) -> String {
    let parts = outcome.proposals[pick - 1].part_count();
    if pick != outcome.chosen + 1 {
        return format!(
            "* is what was asked for; {} would be taken",
            outcome.chosen + 1
        );
    }
    match outcome.reason {
        Reason::Balanced => format!(
            "* is taken: with more than {parts} parts the next gains less than it is worth, with fewer the sum, the ways or the phases lose more"
        ),
        Reason::Parts(most) => format!("* is the best with at most {most} parts"),
        Reason::Budget(most) => format!("* is the best that costs no more than {most:.2}"),
        Reason::OutOfReach => {
            "* is the nearest: nothing keeps to the number of parts or the price asked for"
                .to_owned()
        }
    }
}

/// Less than this is not worth a word, dB rms.
const WORTH_A_WORD_DB: f64 = 0.015;

/// The wish that holds the network back most, and what it costs.
fn limit(costs: &[WishCost]) -> String {
    let felt = costs.iter().filter(|cost| {
        cost.how != CostMethod::Multiplier
            && cost.before.rms_db - cost.after.rms_db > WORTH_A_WORD_DB
    });
    let worst = felt
        .filter_map(|cost| Some((cost, wish(cost.wish)?)))
        .max_by(|a, b| a.0.gain.total_cmp(&b.0.gain));
    worst.map_or(String::new(), |(cost, wish)| {
        format!(
            "; {wish} the same parts, fitted anew, would give {:.2} dB rms at {:.1} dB in place of {:.2} dB at {:.1} dB (ideal values)",
            cost.after.rms_db, cost.after.level_db, cost.before.rms_db, cost.before.level_db
        )
    })
}

/// A wish as what holds back; `None` where the trade-off says it.
fn wish(wish: Relaxed) -> Option<String> {
    Some(match wish {
        Relaxed::LeastLoad { from_ohm, .. } => {
            format!("the least load of {from_ohm:.2} ohm holds it back: with 10 % less")
        }
        Relaxed::Level { from_db, to_db } => {
            format!("the level of {from_db:.1} dB holds it back: at {to_db:.1} dB")
        }
        Relaxed::Band { from_hz, to_hz } => {
            let band = |[from, to]: [f64; 2]| format!("{:.3} to {:.3}", Hertz(from), Hertz(to));
            let (asked, narrower) = (band(from_hz), band(to_hz));
            format!("the band from {asked} holds it back: from {narrower}")
        }
        Relaxed::Protection { .. } => String::from(
            "what is asked of a delicate driver's voltage below its resonance holds it back: with a tenth more",
        ),
        Relaxed::Parts { .. } | Relaxed::Price { .. } => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::shown;

    #[test]
    fn what_is_taken_and_both_ends_are_always_seen() {
        assert_eq!(shown(3, 1, 1, false), [0, 1, 2]);
        assert_eq!(shown(30, 29, 29, true).len(), 30);
        for (pick, chosen) in [(0, 29), (15, 15), (29, 3)] {
            let rows = shown(30, pick, chosen, false);
            assert_eq!(rows.len(), 12);
            for row in [0, 29, pick, chosen] {
                assert!(rows.contains(&row), "{rows:?}");
            }
        }
    }
}
