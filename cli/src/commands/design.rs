//! `handover design`: from a brief to a network.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use netlist::network::{Network, PartKind};
use netlist::project::{Form, Loaded, Project, write_parts};
use netlist::quantity::{Hertz, Quantity};
use serde_json::{Value, json};
use solver::judge::{Finding, Severity, brief_findings, design_findings, sort_findings};
use solver::search::{
    Effort, Job, Merit, Outcome, Progress, Proposal, WayFit, audio_loads, design,
};
use solver::synthesis::{CorrectionForm, EqualiserForm, PadForm, WayShape};

use super::open;
use crate::args::Design;
use crate::failure::Failure;
use crate::files::write_whole;
use crate::interrupt;
use crate::report::{Made, Report};
use crate::words;

/// Whether a finding of severity `danger` stands.
pub(crate) type Danger = bool;

pub(crate) fn run(
    args: &Design,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = open(&args.source, "brief.toml")?;
    let target = target(args, &loaded);
    // Before the work, not after it.
    let page = target.as_deref().map(super::report::beside);
    for path in target.iter().chain(&page) {
        super::report::not_there(path, args.force)?;
    }
    if target.is_some() && target == page {
        return Err(Failure::Unusable {
            message: format!(
                "{} is for the report that goes with the design",
                page.as_deref().map(super::report::name).unwrap_or_default()
            ),
            help: "end the name of the design file in .toml or .json".to_owned(),
        });
    }
    let file = loaded.path.display().to_string();
    let unusable = |error: solver::search::BriefError| Failure::Unusable {
        message: format!("{file}: {error}"),
        help: "change the brief as said above; see the README for what a brief holds".to_owned(),
    };
    let started = std::time::Instant::now();
    let job = Job::new(&loaded.project).map_err(unusable)?;
    let audio = audio_loads(&loaded.project, &job).map_err(unusable)?;
    let mut findings = brief_findings(&loaded.project, &job);
    let stop = interrupt::flag();
    let asked = || stop.load(Ordering::Relaxed);
    let effort = Effort {
        seed: args.seed,
        starts: args.starts as usize,
        ..Effort::default()
    };
    let quiet = !interrupt::someone_watches();
    let mut progress = |step: Progress| {
        if !quiet {
            let seconds = started.elapsed().as_secs_f64();
            let _ = writeln!(err, "{seconds:5.1} s  {}", progress_words(&step));
        }
    };
    let outcome = design(job, &audio, effort, &asked, &mut progress).map_err(unusable)?;
    let seconds = started.elapsed().as_secs_f64();
    let pick = args.pick as usize;
    let Some((_, proposal)) = outcome.proposals.get(pick - 1) else {
        return Err(Failure::Unusable {
            message: format!(
                "--pick {pick}, but there are {} alternatives",
                outcome.proposals.len()
            ),
            help: format!("pick 1 to {}", outcome.proposals.len()),
        });
    };
    let designed = Project {
        network: Some(proposal.snapped.network.clone()),
        ..loaded.project.clone()
    };
    findings.extend(design_findings(
        &designed,
        &outcome.job,
        &outcome.depths,
        &proposal.figures,
        &proposal.load,
    ));
    sort_findings(&mut findings);
    let danger = findings
        .iter()
        .any(|finding| finding.severity == Severity::Danger);

    let network = &proposal.snapped.network;
    if let Some(path) = &target {
        let text = design_text(&loaded, network)?;
        write_whole(path, text.as_bytes(), args.force)?;
        let report = report(args, &loaded, &outcome, path)?;
        write_whole(&super::report::beside(path), report.as_bytes(), args.force)?;
    }
    if args.json {
        let document = document(&outcome, pick, &findings, seconds, target.as_deref());
        writeln!(out, "{document}")?;
    } else {
        screen(&loaded.project, &outcome, pick, &findings, seconds, out)?;
    }
    if outcome.interrupted {
        writeln!(err, "ended early: this is the best found until then")?;
    }
    if let Some(path) = &target {
        writeln!(err, "design written to {}", path.display())?;
    }
    if let Some(page) = &page {
        writeln!(err, "report written to {}", page.display())?;
    }
    Ok(danger)
}

/// Where the design goes: where the builder says, or beside the brief; nowhere for the demo.
fn target(args: &Design, loaded: &Loaded) -> Option<PathBuf> {
    if args.output.is_some() {
        return args.output.clone();
    }
    args.source.file.as_ref()?;
    let stem = loaded.path.file_stem()?.to_string_lossy();
    let ending = match loaded.form {
        Form::Toml => "toml",
        Form::Json => "json",
    };
    Some(
        loaded
            .path
            .with_file_name(format!("{stem}-design.{ending}")),
    )
}

fn design_text(loaded: &Loaded, network: &Network) -> Result<String, Failure> {
    write_parts(&loaded.text, loaded.form, network).map_err(|error| Failure::Unusable {
        message: format!("the design cannot be written into a copy of the brief: {error}"),
        help: "mend the brief as said above".to_owned(),
    })
}

/// What is known of values from the stock.
const SNAPPING: &str = "Values were moved onto the stock so that the loudspeaker changes least: from \
    the nearest ones, one part at a time and two at a time, as long as the goal gained. So no exchange of \
    one or two parts for their neighbours in the stock is better; that no other combination is, was not \
    proven.";

/// The page about the design that is picked.
fn report(
    args: &Design,
    loaded: &Loaded,
    outcome: &Outcome,
    design: &Path,
) -> Result<String, Failure> {
    let (_, chosen) = &outcome.proposals[args.pick as usize - 1];
    let ideal = &chosen.ideal_figures;
    let what = match &args.source.file {
        Some(file) => file.display().to_string(),
        None => "--demo".to_owned(),
    };
    let (seed, starts, pick) = (args.seed, args.starts, args.pick);
    let made = Made {
        command: (!outcome.interrupted).then(|| {
            format!("handover design {what} --seed {seed} --starts {starts} --pick {pick}")
        }),
        seed: Some(seed),
        shapes_tried: Some(outcome.shapes_tried),
        snapping: Some(SNAPPING.to_owned()),
        ideal_db: Some([ideal.rms_db, ideal.max_db]),
    };
    let designed = Project {
        network: Some(chosen.snapped.network.clone()),
        ..loaded.project.clone()
    };
    let name = super::report::name(design);
    let report = Report::new(&designed, name, made).map_err(|error| Failure::Unusable {
        message: format!("{}: {error}", loaded.path.display()),
        help: "change the brief as said above".to_owned(),
    })?;
    Ok(report.expect("a design has a network").page())
}

fn progress_words(step: &Progress) -> String {
    match step {
        Progress::Way {
            name,
            shapes,
            match_db,
        } => {
            format!("{name}: {shapes} shapes tried, the best within {match_db:.2} dB of its target")
        }
        Progress::Joint { combinations } => {
            format!("{combinations} combinations of the best, searched together")
        }
        Progress::Snapping {
            networks,
            flatness_db,
        } => {
            let best = flatness_db.map_or(String::new(), |db| {
                format!("; the best so far is flat within {db:.2} dB rms with ideal values")
            });
            format!("{networks} networks moved onto the stock{best}")
        }
        Progress::Slopes {
            alignments,
            flatness_db,
        } => {
            let slopes: Vec<String> = alignments.iter().map(|&pair| words::slopes(pair)).collect();
            format!(
                "slopes {}: flat within {flatness_db:.2} dB rms in a quick design",
                slopes.join(", ")
            )
        }
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

fn merit_code(merit: Merit) -> &'static str {
    match merit {
        Merit::Balanced => "balanced",
        Merit::BestFit => "best_fit",
        Merit::FewestParts => "fewest_parts",
        Merit::KindestLoad => "kindest_load",
        Merit::RunnerUp => "runner_up",
    }
}

fn screen(
    project: &Project,
    outcome: &Outcome,
    pick: usize,
    findings: &[Finding],
    seconds: f64,
    out: &mut dyn Write,
) -> std::io::Result<()> {
    let (_, chosen) = &outcome.proposals[pick - 1];
    if let Some(title) = &project.title {
        writeln!(out, "{title}")?;
    }
    if let Some(note) = &project.note {
        writeln!(out, "{note}")?;
    }
    writeln!(
        out,
        "{} shapes tried in {seconds:.1} s\n",
        outcome.shapes_tried
    )?;

    for (way, data) in outcome.job.ways.iter().enumerate() {
        let shape = chosen.snapped.shapes[way];
        let (from, to) = outcome.job.band_hz(way);
        let polarity = if chosen.snapped.inverted[way] {
            ", wires swapped"
        } else {
            ""
        };
        writeln!(
            out,
            "{:<8} {:>7} to {:<8} bare {:.1} dB: {}{polarity}",
            data.name,
            format!("{:.3}", Hertz(from)),
            format!("{:.3}", Hertz(to)),
            data.level_db,
            shape_words(shape),
        )?;
        writeln!(out, "{:<9}{}", "", why(&outcome.shortlists[way]))?;
    }
    writeln!(out)?;
    parts_table(&chosen.snapped.network, &chosen.ideal.network, out)?;
    figures_table(outcome, chosen, out)?;

    writeln!(out, "\nalternatives")?;
    for (i, (merit, proposal)) in outcome.proposals.iter().enumerate() {
        let mark = if i + 1 == pick { '*' } else { ' ' };
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
    words::findings(findings, out)
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

fn parts_table(snapped: &Network, ideal: &Network, out: &mut dyn Write) -> std::io::Result<()> {
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
        let (Some(kind), Some(value), Some(ideal)) = (
            solver::search::stock_kind(&part.kind),
            part.value_si(),
            ideal.value_si(),
        ) else {
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
        let mut shown = kind.show(value);
        if let Some(made_of) = &part.made_of {
            let values: Vec<String> = made_of.values.iter().map(|v| kind.show(*v)).collect();
            shown = match made_of.joined {
                netlist::network::Joined::Parallel => format!("{shown}: {}", values.join(" ∥ ")),
                netlist::network::Joined::Series => format!("{shown}: {}", values.join(" + ")),
            };
        }
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

fn figures_table(outcome: &Outcome, chosen: &Proposal, out: &mut dyn Write) -> std::io::Result<()> {
    let (before, after) = (&chosen.ideal_figures, &chosen.figures);
    writeln!(out, "\n{:<34}{:>10}{:>12}", "", "ideal", "from stock")?;
    let mut row = |what: String, a: f64, b: f64, unit: &str| {
        writeln!(
            out,
            "{what:<34}{:>10}{:>12}",
            format!("{a:.2} {unit}"),
            format!("{b:.2} {unit}")
        )
    };
    row(
        "level at 2.83 V".into(),
        before.level_db,
        after.level_db,
        "dB",
    )?;
    row("flatness, rms".into(), before.rms_db, after.rms_db, "dB")?;
    row(
        format!("flatness, most (at {:.3})", Hertz(after.max_at_hz)),
        before.max_db,
        after.max_db,
        "dB",
    )?;
    for (i, way) in outcome.job.ways.iter().enumerate() {
        row(
            format!("match of {}", way.name),
            before.match_db[i],
            after.match_db[i],
            "dB",
        )?;
    }
    for (i, crossover) in outcome.job.crossovers.iter().enumerate() {
        row(
            format!(
                "phase match at {:.3}, {}",
                crossover.frequency,
                words::slopes(outcome.alignments[i])
            ),
            before.crossovers[i].phase_match_deg,
            after.crossovers[i].phase_match_deg,
            "°",
        )?;
    }
    let load = &chosen.load;
    writeln!(
        out,
        "least load {:.2} ohm at {:.3}, phase {:.0}°; least equivalent peak dissipation resistance {:.2} ohm",
        load.least_ohm,
        Hertz(load.at_hz),
        load.phase_deg,
        load.least_epdr_ohm
    )
}

fn document(
    outcome: &Outcome,
    pick: usize,
    findings: &[Finding],
    seconds: f64,
    file: Option<&Path>,
) -> Value {
    let (_, chosen) = &outcome.proposals[pick - 1];
    let mut document = figures_json(outcome, chosen);
    let alternatives: Vec<Value> = (outcome.proposals.iter().enumerate())
        .map(|(i, (merit, proposal))| {
            let mut alternative = figures_json(outcome, proposal);
            alternative["pick"] = json!(i + 1);
            alternative["merit"] = json!(merit_code(*merit));
            alternative["parts"] = json!(proposal.snapped.part_count());
            alternative
        })
        .collect();
    document["ideal"] = json!({
        "level_db": chosen.ideal_figures.level_db,
        "flatness": { "rms_db": chosen.ideal_figures.rms_db, "max_db": chosen.ideal_figures.max_db,
            "max_at_hz": chosen.ideal_figures.max_at_hz },
    });
    document["findings"] = json!(findings);
    document["shapes_tried"] = json!(outcome.shapes_tried);
    document["seconds"] = json!(seconds);
    document["interrupted"] = json!(outcome.interrupted);
    document["alternatives"] = json!(alternatives);
    document["design_file"] = json!(file.map(|path| path.display().to_string()));
    document
}

fn figures_json(outcome: &Outcome, proposal: &Proposal) -> Value {
    let figures = &proposal.figures;
    let ways: serde_json::Map<String, Value> = (outcome.job.ways.iter().zip(&figures.match_db))
        .map(|(way, match_db)| (way.name.clone(), json!({ "match_db": match_db })))
        .collect();
    let crossovers: Vec<Value> = (outcome.job.crossovers.iter().zip(&figures.crossovers))
        .map(|(crossover, figures)| {
            json!({
                "frequency_hz": crossover.frequency.si(),
                "phase_match_deg": figures.phase_match_deg,
            })
        })
        .collect();
    let load = &proposal.load;
    json!({
        "level_db": figures.level_db,
        "flatness": { "rms_db": figures.rms_db, "max_db": figures.max_db, "max_at_hz": figures.max_at_hz },
        "ways": ways,
        "crossovers": crossovers,
        "load": { "least_ohm": load.least_ohm, "at_hz": load.at_hz, "phase_deg": load.phase_deg,
            "least_epdr_ohm": load.least_epdr_ohm },
    })
}
