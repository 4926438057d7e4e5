//! A design on one screen.

use std::io::{Result, Write};

use netlist::network::{Network, PartKind};
use netlist::project::OpenFrequency;
use netlist::quantity::{Hertz, Quantity};
use solver::judge::{Finding, Severity};
use solver::search::{Outcome, Proposal, purposes};
use solver::stock::stock_kind;

use super::{Designed, trade_off};
use crate::{centres, figures, findings, purpose, wishes, words};

impl Designed<'_> {
    pub(super) fn print(&self, out: &mut dyn Write) -> Result<()> {
        let chosen = self.taken();
        let mut above = Vec::new();
        self.heading(&mut above)?;
        self.decided(&mut above)?;
        self.ways(chosen, &mut above)?;
        parts_table(&chosen.snapped.network, &chosen.ideal.network, &mut above)?;
        figures_table(self.outcome, chosen, &mut above)?;
        centres::line(self.centres, &mut above)?;
        trade_off::print(self.outcome, self.pick, self.costs, self.full, &mut above)?;
        out.write_all(&above)?;
        if self.full {
            wishes::print(self.costs, out)?;
            return findings::whole(self.findings, out);
        }
        let shown: Vec<Finding> = (self.findings.iter())
            .filter(|finding| finding.severity > Severity::Note)
            .cloned()
            .collect();
        let cut = findings::on_screen(findings::lines(&above), &shown, out)?;
        let notes = match self.findings.len() - shown.len() {
            0 => "",
            1 => "1 note more",
            more => &format!("{more} notes more"),
        };
        let more = match (cut, notes) {
            (false, "") => return Ok(()),
            (false, notes) => notes.to_owned(),
            (true, "") => "what to do about the cautions".to_owned(),
            (true, notes) => format!("what to do about the cautions, and {notes}"),
        };
        writeln!(out, "{more}: add --full, or see the report")
    }

    fn heading(&self, out: &mut dyn Write) -> Result<()> {
        words::heading(self.project, out)?;
        let effort = self.outcome.effort;
        writeln!(
            out,
            "{} moves looked at, {} networks fitted in {:.1} s\n",
            effort.moves, effort.fits, self.seconds
        )
    }

    /// What the brief left open, and the next best.
    fn decided(&self, out: &mut dyn Write) -> Result<()> {
        const SHOWN: usize = 4;
        let variants = &self.outcome.variants;
        if variants.is_empty() {
            return Ok(());
        }
        writeln!(
            out,
            "left open by the brief, best first (error and parts in a quick design)"
        )?;
        for variant in variants.iter().take(SHOWN) {
            let crossovers: Vec<String> = (variant.frequencies_hz.iter().zip(&variant.alignments))
                .map(|(&f_hz, &pair)| format!("{:.3} {}", Hertz(f_hz), words::slopes(pair)))
                .collect();
            let backs: Vec<String> = (variant.backs_m.iter())
                .map(|(name, back_m)| format!("{name} {:.0} mm back", 1000.0 * back_m))
                .collect();
            let backs = match backs.is_empty() {
                true => String::new(),
                false => format!("; {}", backs.join(", ")),
            };
            writeln!(
                out,
                "  {:>5.1}  {}{backs}",
                variant.rank,
                crossovers.join(", ")
            )?;
        }
        for (crossover, &f_hz) in self
            .brief
            .crossovers
            .iter()
            .zip(&variants[0].frequencies_hz)
        {
            if let Some([from, to]) = range_that_ends_at(crossover.open, f_hz) {
                writeln!(
                    out,
                    "  {:.3} is an end of its range, {from} to {to}: a wider one may do better",
                    Hertz(f_hz)
                )?;
            }
        }
        writeln!(out)
    }

    fn ways(&self, chosen: &Proposal, out: &mut dyn Write) -> Result<()> {
        let job = &self.outcome.job;
        let network = &chosen.snapped.network;
        let targets = job.targets(&self.outcome.alignments);
        let purposes = purposes(job, network, &targets).unwrap_or_default();
        for (way, data) in job.ways.iter().enumerate() {
            let (from, to) = job.band_hz(way);
            let swapped = network.parts().values().any(|part| {
                matches!(&part.kind, PartKind::Driver { driver, inverted: true, .. } if *driver == data.name)
            });
            let swapped = if swapped { ", wires swapped" } else { "" };
            let sections: Vec<String> = (purposes.iter())
                .filter(|purpose| purpose.way == way)
                .map(|purpose| purpose::words(network, purpose))
                .collect();
            let text = format!(
                "{:<8} {:.3} to {:.3}, bare {:.1} dB{swapped}: {}",
                data.name,
                Hertz(from),
                Hertz(to),
                data.level_db,
                sections.join("; "),
            );
            words::folded(&text, 9, out)?;
        }
        writeln!(out)
    }
}

fn parts_table(snapped: &Network, ideal: &Network, out: &mut dyn Write) -> Result<()> {
    let names = snapped.parts().keys().map(|name| name.chars().count());
    let width = names.max().unwrap_or(0).max(4) + 2;
    writeln!(
        out,
        "{:<width$}{:>10}  {:<26}{:<12}from, to",
        "part", "ideal", "from the stock", "loss"
    )?;
    for ((name, part), ideal) in snapped.parts().iter().zip(ideal.parts().values()) {
        let between = part.kind.between().map_or(String::new(), |nodes| {
            nodes.map(|node| snapped.node_name(node)).join(", ")
        });
        let (Some(kind), Some(value), Some(ideal)) =
            (stock_kind(&part.kind), part.value_si(), ideal.value_si())
        else {
            let (what, between) = match &part.kind {
                PartKind::Driver {
                    driver, inverted, ..
                } => {
                    let swapped = if *inverted { " (wires swapped)" } else { "" };
                    (format!("driver {driver}{swapped}"), between)
                }
                PartKind::Autoformer {
                    inductance, taps, ..
                } => {
                    let steps = (taps.iter())
                        .map(|tap| format!("{:.0} dB", -20.0 * tap.ratio.log10()))
                        .collect::<Vec<_>>();
                    let nodes = (taps.iter()).map(|tap| snapped.node_name(tap.node));
                    let taps = nodes.collect::<Vec<_>>().join(", ");
                    (
                        format!("autoformer {inductance}, tap at {}", steps.join(", ")),
                        format!("{between}, tap {taps}"),
                    )
                }
                _ => continue,
            };
            writeln!(out, "{name:<width$}{:>10}  {what:<38}{between}", "")?;
            continue;
        };
        let shown = words::made_of(kind, value, part.made_of.as_ref());
        let loss = match &part.kind {
            PartKind::Inductor { dcr, .. } => format!("{:.2} ohm", dcr.si()),
            _ => String::new(),
        };
        writeln!(
            out,
            "{name:<width$}{:>10}  {shown:<26}{loss:<12}{between}",
            kind.show(ideal)
        )?;
    }
    Ok(())
}

/// The range that a frequency was left open in, where it ended at one of its ends.
fn range_that_ends_at(open: Option<OpenFrequency>, f_hz: f64) -> Option<[Hertz; 2]> {
    /// A frequency is stated to three figures.
    const NEAR: f64 = 0.005;
    match open? {
        OpenFrequency::Range(ends) => (ends.iter())
            .any(|end| (f_hz / end.0 - 1.0).abs() <= NEAR)
            .then_some(ends),
        OpenFrequency::Auto => None,
    }
}

/// The figures of merit with ideal values and with those of the stock.
fn figures_table(outcome: &Outcome, chosen: &Proposal, out: &mut dyn Write) -> Result<()> {
    let rows = [
        ("ideal", &chosen.ideal_figures),
        ("from stock", &chosen.figures),
    ];
    figures::table(&outcome.job, &rows, out)?;
    let most_at = chosen.figures.max_at_hz;
    figures::legend(
        &outcome.job.aim,
        &outcome.alignments,
        most_at,
        &chosen.load,
        out,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frequency_at_an_end_of_its_range_is_told() {
        let range = OpenFrequency::Range([Hertz(450.0), Hertz(900.0)]);
        for (open, f_hz, told) in [
            (Some(range), 450.0, true),
            (Some(range), 898.0, true),
            (Some(range), 535.0, false),
            (Some(OpenFrequency::Auto), 450.0, false),
            (None, 450.0, false),
        ] {
            assert_eq!(range_that_ends_at(open, f_hz).is_some(), told, "{f_hz}");
        }
    }
}
