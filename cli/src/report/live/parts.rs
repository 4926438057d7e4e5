//! What the script knows of each part: what it is, where it lies, and what it stands.

use netlist::network::{Part, PartKind};
use serde::Serialize;
use solver::judge::{PartStress, Rating};

use crate::report::Report;
use crate::report::purchase::{PageLine, Purchase};

/// A part or a driver.
#[derive(Debug, Serialize)]
pub(super) struct PagePart {
    name: String,
    /// Its place among the values that are computed with; nothing of a driver.
    at: Option<usize>,
    kind: &'static str,
    /// Names of its nodes.
    nodes: Vec<String>,
    /// What it stands, in the unit of its kind.
    rated: Option<f64>,
    /// Most that one of its pieces gets of that.
    share: Option<f64>,
    /// Peak over rms of programme noise, of the voltage and of the current. Peaks behind a filter keep it, as far as the
    /// script can tell.
    crest: Option<[f64; 2]>,
    /// Values of what it is bought as.
    pieces: Vec<f64>,
    lines: Vec<PageLine>,
    /// Of an autoformer: node and share of the turns, the highest first.
    #[serde(skip_serializing_if = "Option::is_none")]
    taps: Option<Vec<(String, f64)>>,
    /// The driver that it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    driver: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    inverted: Option<bool>,
}

/// All of them; `names` are those that are computed with, in order.
pub(super) fn parts(report: &Report<'_>, names: &[String]) -> Vec<PagePart> {
    (report.network.parts().iter())
        .map(|(name, part)| {
            let at = names.iter().position(|known| known == name);
            of_part(report, name, part, at)
        })
        .collect()
}

fn of_part(report: &Report<'_>, name: &str, part: &Part, at: Option<usize>) -> PagePart {
    let node_name = |node| report.network.node_name(node).to_owned();
    let stress = &report.facts.check.stress;
    let own = stress.parts.iter().find(|stress| stress.part == *name);
    let lines = Purchase::of_part(name, part, &report.project.stock);
    let mut about = PagePart {
        name: name.to_owned(),
        at,
        kind: part.kind.word(),
        nodes: part.kind.nodes().map(node_name).collect(),
        rated: own.and_then(|stress| stress.rated).map(Rating::size),
        share: own.map(|stress| stress.largest_share),
        crest: own.map(crests),
        pieces: part.pieces_si(),
        lines: lines.iter().map(PageLine::new).collect(),
        taps: None,
        driver: None,
        inverted: None,
    };
    match &part.kind {
        PartKind::Autoformer { taps, .. } => {
            let mut taps: Vec<_> = (taps.iter())
                .map(|tap| (node_name(tap.node), tap.ratio))
                .collect();
            taps.sort_by(|a, b| b.1.total_cmp(&a.1));
            about.taps = Some(taps);
        }
        PartKind::Driver {
            driver, inverted, ..
        } => {
            let mut drivers = stress.drivers.iter();
            let own = drivers.find(|stress| stress.driver == *driver);
            about.rated = own.and_then(|stress| stress.rated_w);
            about.crest = own.map(|own| [crest(own.noise.peak_v, own.noise.rms_v), 0.0]);
            about.driver = Some(driver.clone());
            about.inverted = Some(*inverted);
        }
        _ => {}
    }
    about
}

fn crests(stress: &PartStress) -> [f64; 2] {
    let noise = &stress.noise;
    [
        crest(noise.peak_v, noise.rms_v),
        crest(noise.peak_a, noise.rms_a),
    ]
}

fn crest(peak: f64, rms: f64) -> f64 {
    if rms > 0.0 { peak / rms } else { 0.0 }
}
