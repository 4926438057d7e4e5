//! What each wish costs, in words: for the screen of a design and for the report.

use std::io::{Result, Write};

use netlist::network::Network;
use netlist::project::Project;
use netlist::quantity::{Hertz, Ohms};
use solver::compare::{CostMethod, Relaxed, WishContext, WishCost, wish_costs};
use solver::judge::check::{Check, in_order_of_ways};
use solver::search::audio_loads;

use crate::words;

/// Heads of the table.
pub(crate) const HEADS: [&str; 4] = ["Wish", "A tenth easier", "What is gained", "Found by"];
/// What the table is.
pub(crate) const CAPTION: &str = "Each wish made a tenth easier on its own: what the figures would gain (ideal values; for parts and price those of the stock)";
/// What it does not say.
pub(crate) const NOTE: &str =
    "Gains of single wishes do not add up. A wish that gains nothing binds nothing.";

/// Costs of the wishes of a finished network, whatever made it; none where it cannot be held against an aim.
pub(crate) fn costs(project: &Project, network: &Network, check: &Check) -> Vec<WishCost> {
    let Ok(assessed) = &check.assessment else {
        return Vec::new();
    };
    let context = WishContext {
        job: &assessed.job,
        alignments: &assessed.alignments,
        audio: &audio_loads(project),
        network: &in_order_of_ways(&assessed.job, network),
        level_db: assessed.figures.level_db,
        trade_off: None,
    };
    wish_costs(&context, false, &|| false)
}

/// One row a wish: the wish, what it becomes, what is gained, how that was found.
pub(crate) fn rows(costs: &[WishCost]) -> Vec<[String; 4]> {
    costs
        .iter()
        .map(|cost| {
            [
                wish(cost),
                eased(cost),
                gained(cost),
                found(cost).to_owned(),
            ]
        })
        .collect()
}

/// The table on the screen.
pub(crate) fn print(costs: &[WishCost], out: &mut dyn Write) -> Result<()> {
    if costs.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    words::folded(
        "what each wish costs: made a tenth easier on its own, what the figures would gain (ideal values; for parts and price those of the stock)",
        0,
        out,
    )?;
    for [wish, eased, gained, found] in rows(costs) {
        words::folded(
            &format!("  {:<26}{gained} ({found})", format!("{wish} {eased}:")),
            28,
            out,
        )?;
    }
    Ok(())
}

fn wish(cost: &WishCost) -> String {
    match cost.wish {
        Relaxed::Band { .. } => "aim's band",
        Relaxed::LeastLoad { .. } => "least load",
        Relaxed::Level { .. } => "level",
        Relaxed::Protection { .. } => "protection",
        Relaxed::Parts { .. } => "parts",
        Relaxed::Price { .. } => "price",
    }
    .to_owned()
}

fn eased(cost: &WishCost) -> String {
    match cost.wish {
        Relaxed::Band {
            to_hz: [from, to], ..
        } => format!("{:.2} to {:.3}", Hertz(from), Hertz(to)),
        Relaxed::LeastLoad { to_ohm, .. } => format!("{:.3}", Ohms(to_ohm)),
        Relaxed::Level { to_db, .. } => format!("{to_db:.1} dB"),
        Relaxed::Protection { to_db, .. } => format!("{to_db:.1} dB").replace('-', "−"),
        Relaxed::Parts { to, .. } => format!("up to {to}"),
        Relaxed::Price { to, .. } => format!("up to {to:.2}"),
    }
}

fn gained(cost: &WishCost) -> String {
    let (before, after) = (cost.before, cost.after);
    let mut changes = Vec::new();
    // What nobody would see or hear is no gain.
    let mut change = |what: &str, before: f64, after: f64, least: f64, unit: &str| {
        let digits = if least < 0.05 { 2 } else { 1 };
        let [from, to] = [before, after].map(|value| format!("{value:.digits$}"));
        if (after - before).abs() >= least && from != to {
            changes.push(format!("{what} {from} to {to} {unit}"));
        }
    };
    change("flat", before.rms_db, after.rms_db, 0.01, "dB rms");
    change("most", before.max_db, after.max_db, 0.04, "dB");
    change("level", before.level_db, after.level_db, 0.05, "dB");
    change("load", before.least_ohm, after.least_ohm, 0.04, "Ω");
    if after.parts != before.parts {
        changes.push(format!(
            "{} parts in place of {}",
            after.parts, before.parts
        ));
    }
    match changes.is_empty() {
        true if cost.gain > 0.0 => "next to nothing".to_owned(),
        true => "nothing".to_owned(),
        false => changes.join(", "),
    }
}

fn found(cost: &WishCost) -> &'static str {
    match cost.how {
        CostMethod::Multiplier => "it does not bind, says its multiplier",
        CostMethod::SameParts => "same parts fitted anew, as the multiplier says",
        CostMethod::AtLeast => "same parts fitted anew; another network may gain more",
        CostMethod::NewSearch => "a new search from this network",
        CostMethod::TradeOff => "the trade-off of the search",
    }
}
