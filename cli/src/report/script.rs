//! The script of the page, and the data that it works with.

use std::collections::BTreeMap;

use maud::{Markup, PreEscaped, html};
use serde::Serialize;

use super::Report;
use super::live::{self, PageData};
use crate::picture::{AxisSide, Chart, Ink, PlottedCurve};

/// What the script of a page works with.
#[derive(Debug, Serialize)]
struct ScriptData<'a> {
    /// Frequencies, where nothing is computed: they are among what is computed with.
    f: Option<&'a [f64]>,
    charts: BTreeMap<&'a str, Vec<ScriptCurve<'a>>>,
    /// Without it the page is as without script: what the program computed.
    compute: Option<PageData>,
}

/// A curve of a picture.
#[derive(Debug, Serialize)]
struct ScriptCurve<'a> {
    name: &'a str,
    unit: &'a str,
    /// Its number in the picture.
    curve: usize,
    key: String,
    right: bool,
    /// Its values, where the script does not compute them itself.
    values: Option<Vec<f64>>,
}

/// Values for the pointer and the keys, and the script that shows them.
pub(super) fn script(report: &Report<'_>) -> Markup {
    let compute = PageData::new(report).ok().flatten();
    let charts = (report.charts.iter())
        .map(|chart| {
            let computed = (compute.as_ref()).is_some_and(|data| data.computes(&chart.id));
            (chart.id.as_str(), curves_of(report, chart, computed))
        })
        .collect();
    let data = ScriptData {
        f: compute.is_none().then_some(&report.facts.f_hz),
        charts,
        compute,
    };
    let data = serde_json::to_string(&data).expect("plain data are written");
    // Nothing in the data can end the element.
    let data = data.replace('<', "\\u003c");
    html! {
        script type="application/json" id="data" { (PreEscaped(data)) }
        script { (PreEscaped(whole_script())) }
    }
}

/// The curves of a chart, with their values where they are not `computed` by the script.
fn curves_of<'a>(report: &Report<'_>, chart: &'a Chart, computed: bool) -> Vec<ScriptCurve<'a>> {
    let mut curves: Vec<(usize, &PlottedCurve)> = (chart.curves.iter().enumerate())
        .filter(|(_, curve)| {
            curve.values.len() == report.facts.f_hz.len() && !curve.name.is_empty()
        })
        .collect();
    // The whole before its parts.
    curves.sort_by_key(|(_, curve)| curve.ink != Ink::Sum);
    let of_curve = |(number, curve): (usize, &'a PlottedCurve)| {
        let axis = match curve.side {
            AxisSide::Left => &chart.left,
            AxisSide::Right => chart.right.as_ref().unwrap_or(&chart.left),
        };
        let key = key(curve.ink);
        // A hundredth is finer than any picture; what is no number is null.
        let round = |v: &f64| (*v * 100.0).round() / 100.0;
        ScriptCurve {
            name: &curve.name,
            unit: match axis.degrees {
                true => "°",
                false => axis.unit.split(' ').next().unwrap_or_default(),
            },
            curve: number,
            right: curve.side == AxisSide::Right,
            values: (!computed || key.is_empty()).then(|| curve.values.iter().map(round).collect()),
            key,
        }
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
