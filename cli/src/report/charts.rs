//! The pictures of curves.

use netlist::project::{Judged, Project};
use netlist::quantity::{Hertz, Quantity};

use super::facts::Facts;
use crate::picture::{Axis, AxisSide, Band, Chart, Ink, Mark, Spot};

/// All pictures of curves, in the order of the page.
pub(crate) fn charts(project: &Project, facts: &Facts) -> Vec<Chart> {
    let mut charts = vec![response(project, facts), sum(project, facts)];
    if !facts.between_deg.is_empty() {
        charts.push(phase(facts));
    }
    charts.extend([load(facts), transfer(facts), group_delay(project, facts)]);
    charts.extend(super::around::charts(facts));
    if let Ok(reached) = &facts.check.assessment {
        for chart in &mut charts {
            chart.marks = (reached.job.crossovers.iter())
                .map(|crossover| Mark {
                    f_hz: crossover.frequency.si(),
                    name: format!("{:.3}", crossover.frequency),
                })
                .collect();
        }
    }
    charts
}

fn response(project: &Project, facts: &Facts) -> Chart {
    let mut description = format!(
        "Level of the sum and of each way from 20 Hz to 20 kHz. The sum is at {}.",
        at_some(facts, &facts.sum_db, "dB", 1)
    );
    for way in &facts.ways {
        let top = way.level_db.iter().copied().fold(f64::MIN, f64::max);
        description += &format!(" {} reaches {top:.1} dB.", way.driver);
    }
    let axis = Axis::level("dB SPL", facts.highest_db());
    let mut chart = Chart::new("response", "Response", description, axis);
    chart.height = 350.0;
    for (number, way) in facts.ways.iter().enumerate() {
        let (f_hz, level_db) = (&facts.f_hz, way.level_db.clone());
        chart.curve(
            &way.driver,
            Ink::Way(number),
            AxisSide::Left,
            f_hz,
            level_db,
        );
    }
    chart.curve(
        "sum",
        Ink::Sum,
        AxisSide::Left,
        &facts.f_hz,
        facts.sum_db.clone(),
    );
    for (number, way) in facts.ways.iter().enumerate() {
        if let Some(target_db) = &way.target_db {
            // Dotted in the way's colour, which is said once under the picture.
            let ink = Ink::Target(number);
            chart.curve("", ink, AxisSide::Left, &facts.f_hz, target_db.clone());
        }
    }
    if let Ok(tolerance) = &facts.check.tolerance {
        let sum_at = |f_hz: f64| facts.sum_db[facts.nearest(f_hz)];
        let edge = |off_db: &[f64]| {
            let f_hz = tolerance.frequency_hz.iter();
            f_hz.zip(off_db).map(|(f, off)| sum_at(*f) + off).collect()
        };
        chart.bands.push(Band {
            name: "95 of 100 builds".to_owned(),
            least: edge(&tolerance.low_db),
            greatest: edge(&tolerance.high_db),
            f_hz: tolerance.frequency_hz.clone(),
        });
    }
    if let Ok(reached) = &facts.check.assessment {
        let (from_hz, to_hz) = (project.aim.from.si(), project.aim.to.si());
        let at = |f_hz: &f64| reached.figures.level_db + project.aim.tilt_db(*f_hz);
        let f_hz = [from_hz, to_hz];
        let values = f_hz.iter().map(at).collect();
        chart.curve("aim", Ink::Limit, AxisSide::Left, &f_hz, values);
    }
    chart
}

/// Half of what the close view of the sum spans, dB.
const CLOSE_DB: f64 = 3.0;

/// Where a sum is judged, unless on the axis.
pub(super) fn over_the_window(project: &Project) -> &'static str {
    match project.aim.judged {
        Judged::Axis => "",
        Judged::Window => " over the listening window",
    }
}

/// The sum against its aim, close enough to see what is left.
fn sum(project: &Project, facts: &Facts) -> Chart {
    let description = format!(
        "The sum{} against its aim, three decibels to both sides. It is {}.",
        over_the_window(project),
        at_some(facts, &facts.off_db, "dB", 1)
    );
    let axis = Axis::even("dB", -CLOSE_DB, CLOSE_DB, 6.0);
    let title = format!("The sum{} against its aim", over_the_window(project));
    let mut chart = Chart::new("sum", &title, description, axis);
    chart.height = 210.0;
    if let Ok(tolerance) = &facts.check.tolerance {
        let at = |f_hz: f64| facts.off_db[facts.nearest(f_hz)];
        let edge = |off_db: &[f64]| {
            let f_hz = tolerance.frequency_hz.iter();
            (f_hz.zip(off_db))
                .map(|(f, off)| (at(*f) + off).clamp(-CLOSE_DB, CLOSE_DB))
                .collect()
        };
        chart.bands.push(Band {
            name: "95 of 100 builds".to_owned(),
            least: edge(&tolerance.low_db),
            greatest: edge(&tolerance.high_db),
            f_hz: tolerance.frequency_hz.clone(),
        });
    }
    let band = [project.aim.from.si(), project.aim.to.si()];
    chart.curve("", Ink::Limit, AxisSide::Left, &band, vec![0.0; 2]);
    let off = facts.off_db.clone();
    chart.curve("sum", Ink::Sum, AxisSide::Left, &facts.f_hz, off);
    chart
}

/// Phase between neighbours, counted from what the slopes ask for.
fn phase(facts: &Facts) -> Chart {
    let names: Vec<String> = (facts.ways.windows(2))
        .map(|pair| format!("{} and {}", pair[0].driver, pair[1].driver))
        .collect();
    let words: Vec<String> = (names.iter().zip(&facts.between_deg))
        .map(|(name, deg)| {
            let most = deg
                .iter()
                .filter(|d| d.is_finite())
                .fold(0.0f64, |a, d| a.max(d.abs()));
            format!("{name} differ by {most:.0} degrees at most")
        })
        .collect();
    let description = format!(
        "Phase between the two ways of each crossover, within an octave of it, against what its slopes ask for: {}.",
        words.join("; ")
    );
    let mut chart = Chart::new(
        "phase",
        "Phase between neighbours",
        description,
        Axis::degrees(180.0),
    );
    chart.height = 260.0;
    for (number, (name, deg)) in names.iter().zip(&facts.between_deg).enumerate() {
        let ink = Ink::Way(number);
        chart.curve(name, ink, AxisSide::Left, &facts.f_hz, deg.clone());
    }
    chart
}

fn load(facts: &Facts) -> Chart {
    let finite =
        |values: &[f64]| -> Vec<f64> { values.iter().copied().filter(|z| z.is_finite()).collect() };
    let asked = (facts.check.load.as_ref()).and_then(|load| load.minimum_ohm);
    let highest = finite(&facts.load_ohm).into_iter().fold(0.0, f64::max);
    let least = (finite(&facts.epdr_ohm).into_iter().chain(asked)).fold(f64::INFINITY, f64::min);
    let mut description = format!(
        "Impedance that the amplifier sees, and its phase. It is {}.",
        at_some(facts, &facts.load_ohm, "ohm", 1)
    );
    if let Some(load) = &facts.check.load {
        description += &format!(
            " The least is {:.2} ohm at {:.3}.",
            load.figures.least_ohm,
            Hertz(load.figures.at_hz)
        );
    }
    let mut chart = Chart::new(
        "load",
        "Load on the amplifier",
        description,
        Axis::ohm_logarithmic(least, highest),
    );
    chart.height = 360.0;
    chart.right = Some(Axis::degrees(90.0));
    for (name, ink, side, values) in [
        (
            "phase (right)",
            Ink::Second,
            AxisSide::Right,
            &facts.load_phase_deg,
        ),
        ("EPDR", Ink::Way(1), AxisSide::Left, &facts.epdr_ohm),
        ("impedance", Ink::Sum, AxisSide::Left, &facts.load_ohm),
    ] {
        chart.curve(name, ink, side, &facts.f_hz, values.clone());
    }
    if let Some(least) = asked {
        let name = format!("asked for: {least:.1} Ω");
        let (f_hz, values) = ([20.0, 100.0, 1000.0, 20e3], vec![least; 4]);
        chart.curve(&name, Ink::Limit, AxisSide::Left, &f_hz, values);
    }
    if let Some(load) = &facts.check.load {
        chart.points.push(Spot {
            f_hz: load.figures.at_hz,
            value: load.figures.least_ohm,
            name: format!(
                "{:.2} Ω at {:.3}",
                load.figures.least_ohm,
                Hertz(load.figures.at_hz)
            ),
        });
    }
    chart
}

fn transfer(facts: &Facts) -> Chart {
    let mut description = String::from(
        "Voltage at each driver against the open-circuit voltage of the amplifier, in dB.",
    );
    let mut highest = f64::MIN;
    for way in &facts.ways {
        let top = way.transfer_db.iter().copied().fold(f64::MIN, f64::max);
        highest = highest.max(top);
        description += &format!(" {} gets {top:.1} dB at most.", way.driver);
    }
    let axis = Axis::level("dB", highest);
    let mut chart = Chart::new("transfer", "Voltage at each driver", description, axis);
    for (number, way) in facts.ways.iter().enumerate() {
        let (f_hz, values) = (&facts.f_hz, way.transfer_db.clone());
        chart.curve(&way.driver, Ink::Way(number), AxisSide::Left, f_hz, values);
    }
    chart
}

fn group_delay(project: &Project, facts: &Facts) -> Chart {
    let description = format!(
        "Group delay of the sum, over a third of an octave. It is {}.",
        at_some(facts, &facts.group_delay_ms, "ms", 2)
    );
    let band = project.aim.from.si()..=project.aim.to.si();
    let judged = (facts.f_hz.iter().zip(&facts.group_delay_ms))
        .filter(|(f, delay)| band.contains(f) && delay.is_finite());
    let (mut least, mut greatest) = (0.0f64, 1.0f64);
    for (_, delay) in judged {
        least = least.min(*delay);
        greatest = greatest.max(*delay);
    }
    let axis = Axis::even("ms", least, greatest, 5.0);
    let mut chart = Chart::new(
        "group-delay",
        "Group delay, over a third of an octave",
        description,
        axis,
    );
    chart.height = 260.0;
    let delay = facts.group_delay_ms.clone();
    chart.curve("sum", Ink::Sum, AxisSide::Left, &facts.f_hz, delay);
    chart
}

/// Values at a few frequencies, in words.
fn at_some(facts: &Facts, values: &[f64], unit: &str, digits: usize) -> String {
    let words: Vec<String> = [50.0, 200.0, 1000.0, 5000.0, 15_000.0]
        .into_iter()
        .map(|f_hz| (f_hz, values[facts.nearest(f_hz)]))
        .filter(|(_, value)| value.is_finite())
        .map(|(f_hz, value)| format!("{value:.digits$} {unit} at {:.3}", Hertz(f_hz)))
        .collect();
    words.join(", ")
}
