//! The report that goes with a design.

use std::path::Path;

use netlist::project::{Loaded, Project};

use super::Designed;
use crate::args::DesignArguments;
use crate::failure::Failure;
use crate::files::own_name;
use crate::report::{Made, Proposed, Report, Template};

/// What is known of values from the stock.
const SNAPPING: &str = "Values were moved onto the stock so that the loudspeaker comes as near to its aim as \
    the stock allows, over the tolerance of the parts: from the nearest values and from others, with exchanges \
    of one and two parts as long as the goal gained; that no other combination is better was not proven.";

/// The page about the design that is picked.
pub(super) fn page(
    args: &DesignArguments,
    loaded: &Loaded,
    designed: &Designed<'_>,
    design: &Path,
    text: &str,
) -> Result<String, Failure> {
    let (outcome, pick) = (designed.outcome, designed.pick);
    let chosen = designed.taken();
    let ideal = &chosen.ideal_figures;
    let what = match &args.source.file {
        Some(file) => file.display().to_string(),
        None => "--demo".to_owned(),
    };
    let (seed, starts) = (args.search.seed, args.search.starts);
    let made = Made {
        command: (!outcome.interrupted).then(|| {
            let quick = if args.search.quick { " --quick" } else { "" };
            format!("handover design {what} --seed {seed} --starts {starts} --pick {pick}{quick}")
        }),
        seed: Some(seed),
        shapes_tried: Some(outcome.effort.fits),
        snapping: (!args.ideal).then(|| SNAPPING.to_owned()),
        costs: designed.costs.to_vec(),
        ideal_db: (!args.ideal).then_some([ideal.rms_db, ideal.max_db]),
        proposed: (outcome.proposals.iter().enumerate())
            .map(|(i, proposal)| Proposed {
                parts: proposal.part_count(),
                rms_db: proposal.figures.rms_db,
                taken: i + 1 == pick,
            })
            .collect(),
        template: None,
    };
    let project = Project {
        network: Some(if args.ideal {
            chosen.ideal.network.clone()
        } else {
            chosen.snapped.network.clone()
        }),
        ..outcome.project.clone()
    };
    let name = own_name(design);
    let network = project.network.as_ref();
    let made = Made {
        template: network.and_then(|network| Template::new(text, loaded.form, network)),
        ..made
    };
    let report = Report::new(&project, name, made).map_err(|error| Failure::Unusable {
        message: format!("{}: {error}", loaded.path.display()),
        help: "change the brief as said above".to_owned(),
    })?;
    Ok(report.expect("a design has a network").page())
}
