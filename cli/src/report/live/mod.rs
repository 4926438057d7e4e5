//! What the page needs to compute: the compiled network, the drivers over frequency, and what is asked for.
//!
//! The page's script only runs what is worked out here: the steps of the plan ([`solver::nodal::PlanSteps`]), the
//! admittances and sounds of the drivers on two grids (the audio band, on which curves, load and heat are computed, and
//! the grid on which figures of merit are), the targets, and the values that the stock holds.
//! Numbers go as they are in memory, so that the page is within rounding of the program.

mod bits;
mod save;
mod stock;

pub(crate) use save::Template;

use netlist::network::{Part, PartKind};
use netlist::quantity::Quantity;
use serde_json::{Value, json};
use solver::directions::judged_over;
use solver::goal::Targets;
use solver::grid::Grid;
use solver::judge::{DIRECT_HZ, Rating, limits};
use solver::loudspeaker::Loudspeaker;
use solver::nodal::PlanError;
use solver::programme::Loudness;
use solver::programme::power_weights;
use solver::sound::Coherence;
use solver::spectrum::Spectrum;

use super::Report;
use super::purchase::{Purchase, PurchaseLine};
use bits::{complex, reals};

/// The script that computes: the solver, then curves and figures. Neither knows of the page.
pub(crate) const COMPUTE: [&str; 2] = [include_str!("solve.js"), include_str!("figures.js")];

/// The script of the page, in the order in which it is read.
pub(super) const PAGE: [&str; 12] = [
    include_str!("draw.js"),
    include_str!("words.js"),
    include_str!("change.js"),
    include_str!("save.js"),
    include_str!("overlay.js"),
    include_str!("ratings.js"),
    include_str!("cautions.js"),
    include_str!("buying.js"),
    include_str!("controls.js"),
    include_str!("bar.js"),
    include_str!("follow.js"),
    include_str!("start.js"),
];

/// Everything that is computed with.
pub(super) fn data(report: &Report<'_>) -> Result<Value, PlanError> {
    let project = report.project;
    let audio = Grid::audio_band();
    let Some(system) = Loudspeaker::new(project, audio.clone())? else {
        return Ok(Value::Null);
    };
    let loudness = Loudness::of(&project.amplifier);
    let drive = &system.drive;
    let names = system.plan.part_names();
    let drivers: Vec<Value> = (system.plan.drivers().iter())
        .zip(system.plan.driver_outputs())
        .map(|(name, (output, inverted))| {
            json!({ "name": name, "nodes": [output.positive.0, output.negative.0], "inverted": inverted })
        })
        .collect();
    Ok(json!({
        "plan": system.plan.steps(),
        "names": names,
        "value": system.values.value,
        "loss": system.values.loss,
        "drive": { "volts": drive.open_circuit_v },
        "drivers": drivers,
        "audio": band(&system),
        "noise": {
            "weights": reals(&power_weights(&audio)),
            "gain": loudness.open_circuit_v(system.nominal_output_ohm) / drive.open_circuit_v,
            "stated": loudness.stated,
        },
        "ways": report.facts.ways.iter().map(|way| &way.driver).collect::<Vec<_>>(),
        "delay_octaves": super::facts::DELAY_OCTAVES,
        "aim": { "from_hz": project.aim.from.si(), "to_hz": project.aim.to.si(), "tilt_db": project.aim.tilt.si() },
        "merit": merit(report)?,
        "parts": parts(report, names),
        "stock": stock::stock(report),
        "pads": super::pads::changes(report),
        "save": report.made.template.as_ref().map(Template::json),
        "file": report.file,
        "limits": limits(),
        "asked": asked(report),
        "direct": direct(&system),
    }))
}

/// Pictures whose curves the script computes itself, the design's as well.
const COMPUTED: [&str; 5] = ["response", "sum", "load", "transfer", "group-delay"];

/// Whether the script computes the curves of a picture.
pub(super) fn computes(id: &str, data: &Value) -> bool {
    !data.is_null() && (COMPUTED.contains(&id) || (id == "phase" && !data["merit"].is_null()))
}

/// What the load is held against, and whether valves drive it.
fn asked(report: &Report<'_>) -> Value {
    let load = report.facts.check.load.as_ref();
    json!({
        "least_ohm": load.and_then(|load| load.minimum_ohm),
        "valves": load.is_some_and(|load| load.taps.is_some()),
    })
}

/// What direct current sees: drivers as their voice coils.
fn direct(system: &Loudspeaker) -> Value {
    let coils = (system.drivers.iter()).map(|driver| driver.re_ohm.recip());
    json!({ "omega": std::f64::consts::TAU * DIRECT_HZ, "siemens": coils.collect::<Vec<_>>() })
}

/// Frequencies, output impedance of the amplifier, admittances of the drivers and their sounds for one volt.
fn band(system: &Loudspeaker) -> Value {
    let loads = system.loads_z_ohm();
    let admittance =
        |z_ohm: &&Spectrum| complex(&Spectrum::from_fn(z_ohm.len(), |i| z_ohm.at(i).inv()));
    let output = &system.drive.output_impedance_ohm;
    let all = Spectrum::from_fn(system.grid.len(), |i| output.at(i));
    // Mostly it is the same at all frequencies.
    let first = all.at(0);
    let source = match (0..all.len()).all(|i| all.at(i) == first) {
        true => json!([first.re, first.im]),
        false => complex(&all),
    };
    json!({
        "f_hz": reals(system.grid.f_hz()),
        "source": source,
        "loads": loads.iter().map(admittance).collect::<Vec<_>>(),
        "sounds": system.drivers.iter().map(|driver| complex(&driver.sound_pa_per_v)).collect::<Vec<_>>(),
    })
}

/// What the figures of merit are counted from; nothing where they cannot be told.
fn merit(report: &Report<'_>) -> Result<Value, PlanError> {
    let Ok(reached) = &report.facts.check.assessment else {
        return Ok(Value::Null);
    };
    let job = &reached.job;
    let Some(system) = Loudspeaker::new(report.project, job.grid.clone())? else {
        return Ok(Value::Null);
    };
    let order: Vec<usize> = (job.ways.iter())
        .filter_map(|way| {
            let mut drivers = system.plan.drivers().iter();
            drivers.position(|driver| *driver == way.name)
        })
        .collect();
    let targets = job.targets(&reached.alignments);
    let audio = Grid::audio_band();
    let heard = Targets::new(&job.aim, &job.crossovers, &reached.alignments, &audio);
    let judged: Vec<usize> = (0..job.grid.len()).filter(|&i| targets.judged[i]).collect();
    let crossovers: Vec<Value> = (job.crossovers.iter().enumerate())
        .map(|(c, crossover)| {
            let near: Vec<usize> = (0..job.grid.len())
                .filter(|&i| targets.near_crossover[c][i])
                .collect();
            let turns = |turns: &[Spectrum], at: &[usize]| -> Vec<Value> {
                let some = |turn: &Spectrum| Spectrum::from_fn(at.len(), |i| turn.at(at[i]));
                turns.iter().map(|turn| complex(&some(turn))).collect()
            };
            // The curve of the phase goes further than the figure: two octaves.
            let f0 = crossover.frequency.si();
            let wide: Vec<usize> = (0..audio.len())
                .filter(|&i| (audio.f_hz()[i] / f0).log2().abs() <= 1.0)
                .collect();
            json!({
                "f_hz": f0,
                "near": near,
                "turns": turns(&targets.between[c].turns, &near),
                "wide": wide,
                "wide_turns": turns(&heard.between[c].turns, &wide),
            })
        })
        .collect();
    let pairs = |window: &Coherence| window.pairs().iter().map(complex).collect::<Vec<_>>();
    let names: Vec<&str> = job.ways.iter().map(|way| way.name.as_str()).collect();
    Ok(json!({
        "band": band(&system),
        "order": order,
        "level_db": job.aim.level.map(Quantity::si),
        "tilt_db": reals(&targets.tilt_db),
        "judged": judged,
        "window": targets.window.as_ref().map(pairs),
        "audio_window": judged_over(report.project, &names, &audio).as_ref().map(pairs),
        "ways": targets.ways.iter().map(|way| json!({ "level_db": reals(&way.level_db), "weight": reals(&way.weight) }))
            .collect::<Vec<_>>(),
        "crossovers": crossovers,
    }))
}

/// What is known of each part: what it is, where it lies, and what it stands.
fn parts(report: &Report<'_>, names: &[String]) -> Vec<Value> {
    let network = report.network;
    (network.parts().iter())
        .map(|(name, part)| {
            let stress = &report.facts.check.stress.parts;
            let stress = stress.iter().find(|stress| stress.part == *name);
            let rated = stress.and_then(|stress| stress.rated);
            let at = names.iter().position(|known| known == name);
            let mut about =
                json!({ "name": name, "at": at, "kind": part.kind.word(), "fixed": part.fixed });
            let nodes: Vec<&str> = part
                .kind
                .nodes()
                .map(|node| network.node_name(node))
                .collect();
            about["nodes"] = json!(nodes);
            about["rated"] = json!(rated.map(size));
            about["buy"] = json!(stress.and_then(|stress| stress.buy).map(size));
            about["share"] = json!(stress.map(|stress| stress.largest_share));
            // Peaks of programme behind a filter keep their ratio to its rms value, as far as the script can tell.
            let crest = |peak: f64, rms: f64| if rms > 0.0 { peak / rms } else { 0.0 };
            about["crest"] = json!(stress.map(|stress| {
                let noise = &stress.noise;
                [
                    crest(noise.peak_v, noise.rms_v),
                    crest(noise.peak_a, noise.rms_a),
                ]
            }));
            about["pieces"] = json!(pieces(part));
            let lines = Purchase::of_part(name, part, &report.project.stock);
            about["lines"] = json!(lines.iter().map(PurchaseLine::json).collect::<Vec<_>>());
            if let PartKind::Autoformer { taps, .. } = &part.kind {
                let mut taps: Vec<_> = taps.iter().collect();
                taps.sort_by(|a, b| b.ratio.total_cmp(&a.ratio));
                let taps = taps
                    .iter()
                    .map(|tap| json!([network.node_name(tap.node), tap.ratio]));
                about["taps"] = json!(taps.collect::<Vec<_>>());
            }
            if let PartKind::Driver {
                driver, inverted, ..
            } = &part.kind
            {
                let all = &report.facts.check.stress.drivers;
                let stress = all.iter().find(|stress| stress.driver == *driver);
                about["driver"] = json!(driver);
                about["rated"] = json!(stress.and_then(|stress| stress.rated_w));
                about["crest"] = json!(
                    stress.map(|stress| [crest(stress.noise.peak_v, stress.noise.rms_v), 0.0])
                );
                about["inverted"] = json!(inverted);
            }
            about
        })
        .collect()
}

fn size(rating: Rating) -> f64 {
    match rating {
        Rating::PowerW(size) | Rating::VoltageV(size) | Rating::CurrentA(size) => size,
    }
}

/// Values of the pieces that a part is made of: mostly one.
fn pieces(part: &Part) -> Vec<f64> {
    match &part.made_of {
        Some(made_of) => made_of.values.clone(),
        None => part.value_si().into_iter().collect(),
    }
}
