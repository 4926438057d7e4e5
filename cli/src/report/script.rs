//! The script of the page, and the data that it works with.

use maud::{Markup, PreEscaped, html};
use serde_json::{Value, json};

use super::{Report, live};
use crate::picture::{AxisSide, Chart, Ink, PlottedCurve};

/// Values for the pointer and the keys, and the script that shows them.
pub(super) fn script(report: &Report<'_>) -> Markup {
    // Without it the page is as without script: what the program computed.
    let compute = live::data(report).unwrap_or(Value::Null);
    let charts: serde_json::Map<String, Value> = (report.charts.iter())
        .map(|chart| (chart.id.clone(), json!(curves_of(report, chart, &compute))))
        .collect();
    // The frequencies are among what is computed with.
    let f_hz = compute.is_null().then_some(&report.facts.f_hz);
    let data = json!({ "f": f_hz, "charts": charts, "compute": compute });
    // Nothing in the data can end the element.
    let data = data.to_string().replace('<', "\\u003c");
    html! {
        script type="application/json" id="data" { (PreEscaped(data)) }
        script { (PreEscaped(whole_script())) }
    }
}

/// The curves of a chart for the script: with their values, where it does not compute them itself.
fn curves_of(report: &Report<'_>, chart: &Chart, compute: &Value) -> Vec<Value> {
    let computed = live::computes(&chart.id, compute);
    let mut curves: Vec<(usize, &PlottedCurve)> = (chart.curves.iter().enumerate())
        .filter(|(_, curve)| {
            curve.values.len() == report.facts.f_hz.len() && !curve.name.is_empty()
        })
        .collect();
    // The whole before its parts.
    curves.sort_by_key(|(_, curve)| curve.ink != Ink::Sum);
    let of_curve = |(number, curve): (usize, &PlottedCurve)| {
        let axis = match curve.side {
            AxisSide::Left => &chart.left,
            AxisSide::Right => chart.right.as_ref().unwrap_or(&chart.left),
        };
        let unit = match axis.degrees {
            true => "°",
            false => axis.unit.split(' ').next().unwrap_or_default(),
        };
        let key = key(curve.ink);
        // A hundredth is finer than any picture; what is no number is null.
        let round = |v: &f64| (*v * 100.0).round() / 100.0;
        let values: Option<Vec<f64>> =
            (!computed || key.is_empty()).then(|| curve.values.iter().map(round).collect());
        json!({ "name": curve.name, "unit": unit, "curve": number, "key": key, "right": curve.side == AxisSide::Right, "values": values })
    };
    curves.into_iter().map(of_curve).collect()
}

/// What a curve is to the script.
fn key(ink: Ink) -> String {
    match ink {
        Ink::Way(number) => format!("way{number}"),
        Ink::Sum => "sum".to_owned(),
        Ink::Second => "second".to_owned(),
        Ink::Target(_) | Ink::Limit | Ink::Whole(_) => String::new(),
    }
}

/// All files of the script as one function, so that none of its names is the page's. Comments and indentation are for
/// who reads the files.
fn whole_script() -> String {
    let files = live::COMPUTE.iter().chain(&live::PAGE);
    let lines = files.flat_map(|file| file.lines()).map(str::trim);
    let lines = lines.filter(|line| !line.is_empty() && !line.starts_with("//"));
    let text: String = lines.flat_map(|line| [line, "\n"]).collect();
    format!("(function () {{\n'use strict';\n{text}}}());")
}
