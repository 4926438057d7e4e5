//! A design on one screen.

use std::io::{Result, Write};

use netlist::network::{Network, PartKind};
use netlist::project::Project;
use netlist::quantity::{Hertz, Quantity};
use solver::judge::{Finding, Severity};
use solver::search::{Merit, Outcome, Proposal, WayFit, stock_kind};
use solver::synthesis::{CorrectionForm, EqualiserForm, PadForm, WayShape};

use crate::{figures, findings, words};

/// What is shown.
pub(super) struct Screen<'a> {
    pub(super) project: &'a Project,
    pub(super) outcome: &'a Outcome,
    /// Number of the alternative that is taken, from 1.
    pub(super) pick: usize,
    pub(super) findings: &'a [Finding],
    pub(super) seconds: f64,
    /// Notes too.
    pub(super) full: bool,
}

impl Screen<'_> {
    pub(super) fn print(&self, out: &mut dyn Write) -> Result<()> {
        let chosen = &self.outcome.proposals[self.pick - 1].1;
        let mut above = Vec::new();
        self.heading(&mut above)?;
        self.ways(chosen, &mut above)?;
        parts_table(&chosen.snapped.network, &chosen.ideal.network, &mut above)?;
        figures_table(self.outcome, chosen, &mut above)?;
        self.alternatives(&mut above)?;
        out.write_all(&above)?;
        if self.full {
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
        if let Some(title) = &self.project.title {
            writeln!(out, "{title}")?;
        }
        if let Some(note) = &self.project.note {
            words::folded(note, 0, out)?;
        }
        let (shapes, seconds) = (self.outcome.shapes_tried, self.seconds);
        writeln!(out, "{shapes} shapes tried in {seconds:.1} s\n")
    }

    fn ways(&self, chosen: &Proposal, out: &mut dyn Write) -> Result<()> {
        for (way, data) in self.outcome.job.ways.iter().enumerate() {
            let (from, to) = self.outcome.job.band_hz(way);
            let swapped = if chosen.snapped.inverted[way] {
                ", wires swapped"
            } else {
                ""
            };
            let text = format!(
                "{:<8} {:.3} to {:.3}, bare {:.1} dB: {}{swapped}",
                data.name,
                Hertz(from),
                Hertz(to),
                data.level_db,
                shape_words(chosen.snapped.shapes[way]),
            );
            words::folded(&text, 9, out)?;
            let why = why(&self.outcome.shortlists[way]);
            words::folded(&format!("{:<9}{why}", ""), 9, out)?;
        }
        writeln!(out)
    }

    fn alternatives(&self, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "\nalternatives (--pick)")?;
        for (i, (merit, proposal)) in self.outcome.proposals.iter().enumerate() {
            let mark = if i + 1 == self.pick { '*' } else { ' ' };
            writeln!(
                out,
                "{mark}{} {:<13}{:>3} parts  {:.2} dB rms {:.2} dB most  {:>5.2} ohm least  {:.1} dB",
                i + 1,
                merit_words(*merit),
                proposal.snapped.part_count(),
                proposal.figures.rms_db,
                proposal.figures.max_db,
                proposal.load.least_ohm,
                proposal.figures.level_db,
            )?;
        }
        Ok(())
    }
}

fn merit_words(merit: Merit) -> &'static str {
    match merit {
        Merit::Balanced => "balanced",
        Merit::BestFit => "best fit",
        Merit::FewestParts => "fewest parts",
        Merit::KindestLoad => "kindest load",
        Merit::RunnerUp => "runner-up",
    }
}

/// What speaks for a shape: how near the way comes to its target alone, for more and more parts.
fn why(shortlist: &[WayFit]) -> String {
    let mut tried: Vec<(usize, f64)> = (shortlist.iter())
        .map(|fit| (fit.shape.part_count(), fit.cost.sqrt()))
        .collect();
    tried.sort_by(|a, b| (a.0.cmp(&b.0)).then(a.1.total_cmp(&b.1)));
    // More parts that do no better say nothing.
    let mut least = f64::INFINITY;
    let mut words = Vec::new();
    for (parts, match_db) in tried {
        if match_db < least - 0.005 {
            least = match_db;
            words.push(format!("{match_db:.2} dB with {parts} parts"));
        }
    }
    // The simplest, the next and the best say enough.
    if words.len() > 3 {
        words.drain(2..words.len() - 1);
    }
    format!("alone off its target by {}", words.join(", "))
}

fn shape_words(shape: WayShape) -> String {
    const ORDINAL: [&str; 5] = [
        "no",
        "first-order",
        "second-order",
        "third-order",
        "fourth-order",
    ];
    let mut words = Vec::new();
    if shape.high_pass > 0 {
        words.push(format!(
            "{} high pass",
            ORDINAL[usize::from(shape.high_pass)]
        ));
    }
    if shape.low_pass > 0 {
        let damped = if shape.damped { ", damped" } else { "" };
        words.push(format!(
            "{} low pass{damped}",
            ORDINAL[usize::from(shape.low_pass)]
        ));
    }
    match shape.pad {
        PadForm::None => {}
        PadForm::After => words.push("L-pad at the driver".into()),
        PadForm::Series => words.push("series resistor".into()),
        PadForm::Before => words.push("L-pad before the filter".into()),
        PadForm::Autoformer { .. } => words.push("autoformer".into()),
    }
    match shape.equaliser {
        EqualiserForm::None => {}
        EqualiserForm::Capacitor => words.push("bypassed by a capacitor for the top".into()),
        EqualiserForm::Resonant => {
            words.push("bypassed by a capacitor and coil for the top".into())
        }
    }
    if shape.notch {
        words.push("parallel trap".into());
    }
    match shape.correction {
        CorrectionForm::None => {}
        CorrectionForm::Zobel => words.push("impedance correction".into()),
        CorrectionForm::Resonant => words.push("resonance evened out".into()),
    }
    words.join(", ")
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

/// The figures of merit with ideal values and with those of the stock.
fn figures_table(outcome: &Outcome, chosen: &Proposal, out: &mut dyn Write) -> Result<()> {
    let rows = [
        ("ideal", &chosen.ideal_figures),
        ("from stock", &chosen.figures),
    ];
    figures::table(&outcome.job, &rows, out)?;
    let most_at = chosen.figures.max_at_hz;
    figures::legend(&outcome.alignments, most_at, &chosen.load, out)
}
