//! The page that lies on the bench: everything about a design in one file.
//!
//! | file | what |
//! |---|---|
//! | `facts` | curves, figures and findings, computed once |
//! | `charts` | the pictures of curves |
//! | `around` | the pictures of other directions |
//! | `purchase` | what is to be bought |
//! | `pieces` | names of the pieces that parts are made of |
//! | `coils` | the winding sheet, and what coils do to each other |
//! | `wiring` | what is soldered together, node by node |
//! | `page` | the page, put together: head, figures, curves |
//! | `glance` | its first screen: verdict, what must not be missed, response, drawing |
//! | `live` | what the page's script computes with, and the script |
//! | `leaf` | the bench leaf: one sheet for soldering and the first switch-on |
//! | `build` | the other sections for building |
//! | `board` | coils and parts on a board, at their size; labels |
//! | `stress` | what parts and drivers must survive |
//! | `pads` | steps of the pads, to adjust by ear |
//! | `trade_off` | error and number of parts of all that was proposed |
//! | `about` | where the data come from, and how to repeat the design |

mod about;
mod around;
mod board;
mod build;
mod charts;
pub(crate) mod coils;
pub(crate) mod facts;
mod glance;
mod leaf;
mod levels;
mod live;
mod pads;
mod page;
mod pieces;
pub(crate) mod purchase;
mod script;
mod stress;
mod trade_off;
mod wiring;

pub(crate) use live::Template;
pub(crate) use trade_off::Proposed;

use netlist::network::Network;
use netlist::project::Project;
use solver::compare::WishCost;
use solver::judge::Severity;
use solver::nodal::PlanError;

use crate::drawing::{Schematic, schematic, schematic_with_losses};
use crate::findings;
use crate::picture::Chart;
use crate::wishes;
use crate::words::plural;
use facts::Facts;

/// Seed of the builds drawn at random, where the design has none of its own.
const USUAL_SEED: u64 = 1;

/// How a design was made, where the program made it itself just now.
#[derive(Debug, Clone, Default)]
pub(crate) struct Provenance {
    /// The command that makes it again.
    pub(crate) command: Option<String>,
    pub(crate) seed: Option<u64>,
    pub(crate) shapes_tried: Option<usize>,
    /// How the values were moved onto the stock, and what is known of the result.
    pub(crate) snapping: Option<String>,
    /// Flatness before the values were moved onto the stock: rms and most, dB.
    pub(crate) ideal_db: Option<[f64; 2]>,
    /// What each wish costs, with what the search knows of parts and price.
    pub(crate) costs: Vec<WishCost>,
    /// All that was proposed, where there was a choice.
    pub(crate) proposed: Vec<Proposed>,
    /// The design file, to be saved with other values.
    pub(crate) template: Option<Template>,
}

/// A design with all that is shown of it.
#[derive(Debug)]
pub(crate) struct Report<'a> {
    project: &'a Project,
    network: &'a Network,
    /// Name of the design file.
    file: String,
    made: Provenance,
    facts: Facts,
    charts: Vec<Chart>,
    adjustments: Vec<pads::Adjustment<'a>>,
    levels: Vec<levels::Level>,
}

impl<'a> Report<'a> {
    /// Computes all that the page shows; `None` for a brief.
    pub(crate) fn new(
        project: &'a Project,
        file: String,
        made: Provenance,
    ) -> Result<Option<Self>, PlanError> {
        let facts = Facts::new(project, made.seed.unwrap_or(USUAL_SEED))?;
        let (Some(network), Some(facts)) = (&project.network, facts) else {
            return Ok(None);
        };
        let charts = charts::charts(project, &facts);
        let mut made = made;
        if made.costs.is_empty() {
            made.costs = wishes::costs(project, network, &facts.check);
        }
        let adjustments = pads::adjustments(project, network);
        let with_pad: Vec<&str> = adjustments.iter().map(|pad| pad.driver).collect();
        Ok(Some(Self {
            levels: levels::levels(project, network, &with_pad),
            adjustments,
            project,
            network,
            file,
            made,
            facts,
            charts,
        }))
    }

    /// The page.
    pub(crate) fn page(&self) -> String {
        page::page(self).into_string()
    }

    /// The schematic.
    fn drawing(&self) -> Schematic {
        schematic(self.network, &self.drawing_title())
    }

    /// The same with the resistance of each coil.
    fn drawing_with_losses(&self) -> Schematic {
        schematic_with_losses(self.network, &self.drawing_title())
    }

    fn drawing_title(&self) -> String {
        format!(
            "Schematic: {}",
            self.project.title.as_ref().unwrap_or(&self.file)
        )
    }

    /// Pictures as files of their own: name and text.
    pub(crate) fn pictures(&self) -> Vec<(String, String)> {
        let charts = self.charts.iter();
        let mut pictures: Vec<(String, String)> = charts
            .map(|chart| (format!("{}.svg", chart.id), chart.file()))
            .collect();
        pictures.push(("schematic.svg".to_owned(), self.drawing().svg));
        pictures
    }

    /// How many findings of a severity stand.
    fn count(&self, severity: Severity) -> usize {
        findings::count(&self.facts.check.findings, severity)
    }

    /// Whether a finding of severity `danger` stands.
    pub(crate) fn danger(&self) -> bool {
        self.count(Severity::Danger) > 0
    }

    /// What stands at the top of the page, in words.
    pub(crate) fn warns_of(&self) -> String {
        let words: Vec<String> = [(Severity::Danger, "danger"), (Severity::Caution, "caution")]
            .map(|(severity, what)| (self.count(severity), what))
            .into_iter()
            .filter(|(count, _)| *count > 0)
            .map(|(count, what)| plural(count, what))
            .collect();
        match words.is_empty() {
            true => "nothing stands against the design".to_owned(),
            false => format!("read its top first: {}", words.join(" and ")),
        }
    }
}

/// Where a drawing stands so that its letters are legible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Room {
    /// Beside the curves.
    Beside,
    /// Across the page.
    Across,
    /// Across a sheet that lies on its side.
    Sheet,
}

impl Schematic {
    /// Units of width that fit beside the curves.
    const BESIDE: i32 = 660;
    /// Units of width that an upright A4 page takes.
    const UPRIGHT: i32 = 900;

    /// The room that it needs.
    fn room(&self) -> Room {
        match self.width {
            width if width <= Self::BESIDE => Room::Beside,
            width if width <= Self::UPRIGHT => Room::Across,
            _ => Room::Sheet,
        }
    }
}
