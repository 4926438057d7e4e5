//! Pictures of loudspeakers over each other.

use netlist::quantity::{Dimension, Hertz, Quantity};
use solver::compare::Figure;
use solver::grid::Grid;
use solver::loudspeaker::Loudspeaker;
use solver::sound::level_db_series;

use super::plan::Varied;
use super::work::Column;
use super::{Compared, screen, words};
use crate::picture::{Axis, AxisSide, Chart, Ink, Mark};

/// Points of the curves: 120 a decade.
const POINTS: usize = 361;

/// The curves of one column.
struct ColumnCurves {
    sum_db: Vec<f64>,
    /// Level of each way, in the order of the ways.
    ways_db: Vec<Vec<f64>>,
    load_ohm: Vec<f64>,
}

/// All pictures.
pub(super) fn charts(compared: &Compared) -> Vec<Chart> {
    let Ok(grid) = Grid::log_spaced(20.0, 20e3, POINTS) else {
        return Vec::new();
    };
    let f_hz = grid.f_hz().to_vec();
    let curves: Vec<Option<ColumnCurves>> = compared
        .columns
        .iter()
        .map(|column| curves(column, &grid))
        .collect();
    let mut charts = vec![
        sums(compared, &f_hz, &curves),
        loads(compared, &f_hz, &curves),
    ];
    for row in 0..compared.ways.len() {
        charts.push(way(compared, row, &f_hz, &curves));
    }
    charts.extend(trade_off(compared));
    charts.extend(
        compared
            .varied
            .as_ref()
            .and_then(|varied| over_values(compared, varied)),
    );
    charts
}

fn curves(column: &Column, grid: &Grid) -> Option<ColumnCurves> {
    let curves = Loudspeaker::new(&column.project, grid.clone())
        .ok()??
        .curves()
        .ok()?;
    let assessed = column.check.assessment.as_ref().ok();
    let order: Vec<&str> = match assessed {
        Some(assessed) => assessed
            .job
            .ways
            .iter()
            .map(|way| way.name.as_str())
            .collect(),
        None => curves.ways.iter().map(|(name, _)| name.as_str()).collect(),
    };
    let level = |name: &str| {
        let way = curves.ways.iter().find(|(way, _)| way == name);
        way.map_or_else(Vec::new, |(_, sound)| level_db_series(sound))
    };
    Some(ColumnCurves {
        sum_db: level_db_series(&curves.system),
        ways_db: order.into_iter().map(level).collect(),
        load_ohm: curves
            .load
            .iter()
            .map(|z| z.map_or(f64::NAN, |z| z.norm()))
            .collect(),
    })
}

fn numbered(place: usize, column: &Column) -> String {
    format!("{} {}", place + 1, column.name)
}

/// Crossovers, where all have the same.
fn marks(compared: &Compared) -> Vec<Mark> {
    let of = |column: &Column| -> Vec<f64> {
        let assessed = column.check.assessment.as_ref();
        assessed.map_or_else(
            |_| Vec::new(),
            |assessed| {
                assessed
                    .job
                    .crossovers
                    .iter()
                    .map(|crossover| crossover.frequency.si())
                    .collect()
            },
        )
    };
    let mut all: Vec<f64> = compared.columns.iter().flat_map(of).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-6 * *b);
    let mark = |f_hz: f64| Mark {
        f_hz,
        name: crate::words::hz(f_hz),
    };
    all.into_iter().map(mark).collect()
}

/// Sums against their aims, within ±3 dB.
fn sums(compared: &Compared, f_hz: &[f64], curves: &[Option<ColumnCurves>]) -> Chart {
    let axis = Axis::even("dB off the aim", -3.0, 3.0, 6.0);
    let told =
        "Sum of each loudspeaker against its own aim, level and tilt taken out, from −3 to 3 dB.";
    let mut chart = Chart::new("sums", "Sums, each against its aim", told.to_owned(), axis);
    chart.marks = marks(compared);
    for (place, (column, curves)) in compared.columns.iter().zip(curves).enumerate() {
        let (Some(curves), Ok(assessed)) = (curves, &column.check.assessment) else {
            continue;
        };
        let aim = &assessed.job.aim;
        let off = (f_hz.iter().zip(&curves.sum_db)).map(|(f, db)| {
            let asked = assessed.figures.level_db + aim.tilt_db(*f);
            let inside = (aim.from.si()..=aim.to.si()).contains(f);
            if inside { db - asked } else { f64::NAN }
        });
        let off: Vec<f64> = off.collect();
        chart.description += &format!(
            " {} is off by {:.2} dB rms and {:.2} dB at most, at {:.3}.",
            numbered(place, column),
            assessed.figures.rms_db,
            assessed.figures.max_db,
            Hertz(assessed.figures.max_at_hz)
        );
        chart.curve(
            &numbered(place, column),
            Ink::Whole(place),
            AxisSide::Left,
            f_hz,
            off,
        );
    }
    chart
}

fn loads(compared: &Compared, f_hz: &[f64], curves: &[Option<ColumnCurves>]) -> Chart {
    let all = curves
        .iter()
        .flatten()
        .flat_map(|curves| curves.load_ohm.iter().copied());
    let highest = all.filter(|z| z.is_finite()).fold(0.0, f64::max);
    let told = "Impedance that the amplifier sees of each loudspeaker.";
    let mut chart = Chart::new(
        "loads",
        "Loads on the amplifier",
        told.to_owned(),
        Axis::ohm(highest),
    );
    let mut limits: Vec<f64> = Vec::new();
    for (place, (column, curves)) in compared.columns.iter().zip(curves).enumerate() {
        let Some(curves) = curves else { continue };
        if let Some(load) = &column.check.load {
            chart.description += &format!(
                " The least of {} is {:.2} ohm at {:.3}.",
                numbered(place, column),
                load.figures.least_ohm,
                Hertz(load.figures.at_hz)
            );
            limits.extend(load.minimum_ohm);
        }
        let load = curves.load_ohm.clone();
        chart.curve(
            &numbered(place, column),
            Ink::Whole(place),
            AxisSide::Left,
            f_hz,
            load,
        );
    }
    limits.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    if let [least] = limits[..] {
        let name = format!("least asked for, {least:.1} Ω");
        chart.curve(
            &name,
            Ink::Limit,
            AxisSide::Left,
            &[20.0, 100.0, 1000.0, 20e3],
            vec![least; 4],
        );
    }
    chart
}

/// One way of all of them, at the levels that they have.
fn way(compared: &Compared, row: usize, f_hz: &[f64], curves: &[Option<ColumnCurves>]) -> Chart {
    let name = screen::way_name(compared, row);
    let found: Vec<Option<&Vec<f64>>> = (curves.iter().zip(&compared.ways[row]))
        .map(|(curves, way)| curves.as_ref()?.ways_db.get((*way)?))
        .collect();
    let highest = found
        .iter()
        .flatten()
        .flat_map(|db| db.iter().copied())
        .fold(f64::MIN, f64::max);
    let mut told = format!("Level of {name} of each loudspeaker behind its network.");
    for (place, db) in found.iter().enumerate() {
        if let Some(db) = db {
            let top = db.iter().copied().fold(f64::MIN, f64::max);
            told += &format!(
                " {} reaches {top:.1} dB.",
                numbered(place, &compared.columns[place])
            );
        }
    }
    let axis = Axis::level("dB SPL", highest);
    let mut chart = Chart::new(&format!("way-{row}"), &format!("Way: {name}"), told, axis);
    chart.height = 280.0;
    chart.marks = marks(compared);
    for (place, db) in found.iter().enumerate() {
        if let Some(db) = db {
            let name = numbered(place, &compared.columns[place]);
            chart.curve(
                &name,
                Ink::Whole(place),
                AxisSide::Left,
                f_hz,
                (*db).clone(),
            );
        }
    }
    chart
}

/// Runs from one to a thousand across, which is hidden behind an axis of its own.
fn plain(id: &str, title: &str, told: String, left: Axis, across: Axis) -> Chart {
    let mut chart = Chart::new(id, title, told, left);
    (chart.from_hz, chart.to_hz) = (1.0, 1000.0);
    chart.across = Some(across);
    chart
}

/// A point of a plain chart is a short stroke.
fn stroke(across: f64, span: f64) -> [f64; 2] {
    [across - 0.012 * span, across + 0.012 * span]
}

/// Error against parts of all that was designed, and where those of the files are.
fn trade_off(compared: &Compared) -> Option<Chart> {
    let columns = &compared.columns;
    let lists: Vec<Vec<(f64, f64)>> = (columns.iter())
        .map(|column| match (&column.outcome, &column.check.assessment) {
            (Some(outcome), _) => (outcome.proposals.iter())
                .map(|proposal| (proposal.part_count() as f64, proposal.figures.rms_db))
                .collect(),
            (None, Ok(assessed)) => vec![(column.bill.parts as f64, assessed.figures.rms_db)],
            _ => Vec::new(),
        })
        .collect();
    if lists.iter().all(|list| list.len() < 2) {
        return None;
    }
    let all = || lists.iter().flatten();
    let most_parts = all().map(|point| point.0).fold(0.0, f64::max);
    let least_parts = all().map(|point| point.0).fold(f64::INFINITY, f64::min);
    // What has next to no parts is far off and of no interest.
    let most_db = all().map(|point| point.1).fold(0.0, f64::max).min(3.0);
    let across = Axis::even("parts", (least_parts - 1.0).max(0.0), most_parts + 1.0, 8.0);
    let told = "Rms deviation of the sum against the number of parts, of every network that the searches offer.";
    let mut chart = plain(
        "trade-off",
        "Error against parts",
        told.to_owned(),
        Axis::even("dB rms off the aim", 0.0, most_db, 6.0),
        across,
    );
    let span = chart
        .across
        .as_ref()
        .map_or(1.0, |axis| axis.to - axis.from);
    for (place, (column, list)) in columns.iter().zip(&lists).enumerate() {
        let (x, db): (Vec<f64>, Vec<f64>) = match list[..] {
            [(parts, db)] => (stroke(parts, span).to_vec(), vec![db; 2]),
            _ => list.iter().copied().unzip(),
        };
        let x: Vec<f64> = x.into_iter().map(|parts| chart.place(parts)).collect();
        if let (Some(first), Some(last)) = (list.first(), list.last()) {
            chart.description += &format!(
                " {}: from {:.2} dB with {:.0} parts to {:.2} dB with {:.0}.",
                numbered(place, column),
                first.1,
                first.0,
                last.1,
                last.0
            );
        }
        chart.curve(
            &numbered(place, column),
            Ink::Whole(place),
            AxisSide::Left,
            &x,
            db,
        );
    }
    Some(chart)
}

/// Figures over the values of a field, where there are enough of them.
fn over_values(compared: &Compared, varied: &Varied) -> Option<Chart> {
    let (values, unit) = numbers(&varied.values)?;
    if values.len() < screen::CURVE_FROM {
        return None;
    }
    let curve = |figure: Figure| -> Option<Vec<(f64, f64)>> {
        let row = compared.comparison.row(figure)?;
        let mut points: Vec<(f64, f64)> = (values.iter().zip(&row.values))
            .map(|(at, value)| Some((*at, (*value)?)))
            .collect::<Option<_>>()?;
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Some(points)
    };
    let (flat, most, load) = (
        curve(Figure::Flatness)?,
        curve(Figure::Farthest)?,
        curve(Figure::LeastLoad)?,
    );
    let (least, greatest) = (flat.first()?.0, flat.last()?.0);
    let rms_db = &compared.comparison.row(Figure::Flatness)?.values;
    let told = format!(
        "Deviation of the sum and least load over the values of {}: {}.",
        varied.field,
        deviations(rms_db, &varied.values)
    );
    let across = match unit {
        "" => varied.field.clone(),
        unit => format!("{}, {unit}", varied.field),
    };
    let highest = most.iter().map(|point| point.1).fold(0.0, f64::max);
    let mut chart = plain(
        "varied",
        &format!("Over {}", varied.field),
        told,
        Axis::even("dB off the aim", 0.0, highest, 6.0),
        Axis::even(&across, least, greatest, 6.0),
    );
    chart.right = Some(Axis::ohm(
        load.iter().map(|point| point.1).fold(0.0, f64::max),
    ));
    for (name, ink, side, points) in [
        (
            words::figure(Figure::Flatness, &compared.comparison),
            Ink::Whole(0),
            AxisSide::Left,
            flat,
        ),
        (
            words::figure(Figure::Farthest, &compared.comparison),
            Ink::Whole(1),
            AxisSide::Left,
            most,
        ),
        (
            "least load, Ω (right)".to_owned(),
            Ink::Whole(2),
            AxisSide::Right,
            load,
        ),
    ] {
        let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        let x: Vec<f64> = x.into_iter().map(|x| chart.place(x)).collect();
        chart.curve(&name, ink, side, &x, y);
    }
    Some(chart)
}

/// Each with the value that it belongs to.
fn deviations(rms_db: &[Option<f64>], values: &[String]) -> String {
    let pairs = rms_db.iter().zip(values);
    let each: Vec<String> = pairs
        .filter_map(|(db, value)| Some(format!("{:.2} dB rms at {value}", (*db)?)))
        .collect();
    each.join(", ")
}

/// Values as numbers with their unit, where all are of one quantity; without a unit where none is said, or only a
/// prefix, which fits several.
fn numbers(values: &[String]) -> Option<(Vec<f64>, &'static str)> {
    let all = |dimension: Dimension| -> Option<Vec<f64>> {
        let parsed = |value: &String| dimension.parse(value.trim_matches('"')).ok();
        values.iter().map(parsed).collect()
    };
    let fit: Vec<Dimension> = (Dimension::ALL.into_iter())
        .filter(|dimension| all(*dimension).is_some())
        .collect();
    // What is a metre is a thousandth of others too; a bare number is of all of them.
    let bare = fit.len() == Dimension::ALL.len();
    let metres = !bare && fit.contains(&Dimension::Length);
    let (dimension, unit) = match fit[..] {
        [] => return None,
        [one] => (one, one.symbol()),
        _ if metres => (Dimension::Length, Dimension::Length.symbol()),
        [first, ..] => (first, ""),
    };
    Some((all(dimension)?, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deviation_stays_with_its_value() {
        let values = ["3 ohm", "1 ohm"].map(str::to_owned);
        assert_eq!(
            deviations(&[Some(0.9), Some(0.4)], &values),
            "0.90 dB rms at 3 ohm, 0.40 dB rms at 1 ohm"
        );
    }

    #[test]
    fn values_of_one_quantity_are_numbers() {
        let of = |values: &[&str]| {
            let values: Vec<String> = values.iter().map(|v| (*v).to_owned()).collect();
            numbers(&values)
        };
        assert_eq!(
            of(&["0 ohm", "1.5 ohm", "2"]).map(|found| found.0),
            Some(vec![0.0, 1.5, 2.0])
        );
        assert_eq!(of(&["1 kHz", "2 kHz"]), Some((vec![1000.0, 2000.0], "Hz")));
        assert_eq!(of(&["E12", "E24"]), None);
        assert_eq!(of(&["0.5 m", "1 m"]), Some((vec![0.5, 1.0], "m")));
        assert_eq!(of(&["20 cm", "30 mm"]), Some((vec![0.2, 0.03], "m")));
        assert_eq!(of(&["1", "2.5"]), Some((vec![1.0, 2.5], "")));
        assert_eq!(of(&["1k", "2k"]), Some((vec![1000.0, 2000.0], "")));
        assert_eq!(of(&["0.1 mH", "2 mH"]).map(|found| found.1), Some("H"));
    }
}
