//! The pictures of curves.

use netlist::project::Project;
use netlist::quantity::{Hertz, Quantity};

use super::facts::Facts;
use crate::picture::{Axis, AxisSide, Band, Chart, Ink, Mark};

/// All pictures of curves, in the order of the page.
pub(crate) fn charts(project: &Project, facts: &Facts) -> Vec<Chart> {
    let mut charts = vec![
        response(project, facts),
        phase(facts),
        load(facts),
        transfer(facts),
        group_delay(project, facts),
    ];
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
    chart.height = 400.0;
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
            let name = format!("{}, target", way.driver);
            let ink = Ink::Target(number);
            chart.curve(&name, ink, AxisSide::Left, &facts.f_hz, target_db.clone());
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
        let tilt = project.aim.tilt.si();
        let at = |f_hz: &f64| reached.figures.level_db + tilt * (f_hz / 1000.0).log2();
        let f_hz = [from_hz, to_hz];
        let values = f_hz.iter().map(at).collect();
        chart.curve("aim", Ink::Limit, AxisSide::Left, &f_hz, values);
    }
    chart
}

fn phase(facts: &Facts) -> Chart {
    let description = format!(
        "Phase of the sum and of each way at the listener. The sum is at {}.",
        at_some(facts, &facts.sum_phase_deg, "degrees", 0)
    );
    let mut chart = Chart::new("phase", "Phase", description, Axis::degrees(180.0));
    let highest = facts.highest_db();
    for (number, way) in facts.ways.iter().enumerate() {
        // Where a way is silent its phase says nothing.
        let heard = (way.phase_deg.iter().zip(&way.level_db))
            .map(|(phase, level)| {
                if *level > highest - 30.0 {
                    *phase
                } else {
                    f64::NAN
                }
            })
            .collect();
        let ink = Ink::Way(number);
        chart.curve(&way.driver, ink, AxisSide::Left, &facts.f_hz, heard);
    }
    let sum = facts.sum_phase_deg.clone();
    chart.curve("sum", Ink::Sum, AxisSide::Left, &facts.f_hz, sum);
    chart
}

fn load(facts: &Facts) -> Chart {
    let highest = (facts.load_ohm.iter().copied())
        .filter(|z| z.is_finite())
        .fold(0.0, f64::max);
    let mut description = format!(
        "Impedance that the amplifier sees, and its phase. It is {}.",
        at_some(facts, &facts.load_ohm, "ohm", 1)
    );
    if let Some(load) = &facts.check.load {
        description += &format!(
            " The least is {:.2} ohm at {:.3}.",
            load.least_ohm,
            Hertz(load.at_hz)
        );
    }
    let mut chart = Chart::new(
        "load",
        "Load on the amplifier",
        description,
        Axis::ohm(highest),
    );
    chart.right = Some(Axis::degrees(90.0));
    let (magnitude, phase) = (facts.load_ohm.clone(), facts.load_phase_deg.clone());
    chart.curve(
        "impedance",
        Ink::Sum,
        AxisSide::Left,
        &facts.f_hz,
        magnitude,
    );
    chart.curve(
        "phase (right)",
        Ink::Second,
        AxisSide::Right,
        &facts.f_hz,
        phase,
    );
    let load = facts.check.load.as_ref();
    if let Some(least) = load.and_then(|load| load.minimum_ohm) {
        let name = format!("least asked for, {least:.1} Ω");
        let (f_hz, values) = ([20.0, 100.0, 1000.0, 20e3], vec![least; 4]);
        chart.curve(&name, Ink::Limit, AxisSide::Left, &f_hz, values);
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
        "Group delay of the sum. It is {}.",
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
    let mut chart = Chart::new("group-delay", "Group delay", description, axis);
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
