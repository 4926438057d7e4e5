//! The report that goes with a design.

use std::path::Path;

use netlist::project::Loaded;

use super::Designed;
use crate::args::DesignArguments;
use crate::failure::Failure;
use crate::files::own_name;
use crate::report::{Proposed, Provenance, Report, Template};
use crate::words::quoted;

/// What is known of values from the stock.
const SNAPPING: &str = "Values were moved onto the stock so that the loudspeaker comes as near to its aim as \
    the stock allows, over the tolerance of the parts: from the nearest values and from others, with exchanges \
    of one and two parts as long as the goal gained; that no other combination is better was not proven.";

/// What makes the same design again.
fn command(args: &DesignArguments, pick: usize) -> String {
    let what = match &args.source.file {
        Some(file) => quoted(&file.display().to_string()),
        None => "--demo".to_owned(),
    };
    let ideal = if args.ideal { " --ideal" } else { "" };
    let search = args.search.words();
    format!("handover design {what} {search} --pick {pick}{ideal}")
}

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
    let made = Provenance {
        command: (!outcome.interrupted).then(|| command(args, pick)),
        seed: Some(args.search.seed),
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
    let project = outcome.project.with_network(match args.ideal {
        true => &chosen.ideal.network,
        false => &chosen.snapped.network,
    });
    let name = own_name(design);
    let network = project.network.as_ref();
    let made = Provenance {
        template: network.and_then(|network| Template::new(text, loaded.form, network)),
        ..made
    };
    let report = Report::new(&project, name, made).map_err(|error| {
        Failure::unusable(
            format!("{}: {error}", loaded.path.display()),
            "change the brief as said above",
        )
    })?;
    Ok(report.expect("a design has a network").page())
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;
    use crate::args::{Arguments, Command};

    #[test]
    fn the_command_makes_the_same_design() {
        let line = [
            "design",
            "my brief.toml",
            "--ideal",
            "--parts",
            "9",
            "--quick",
        ];
        let typed = ["handover"].into_iter().chain(line);
        let Command::Design(args) = Arguments::try_parse_from(typed).unwrap().command else {
            panic!("design");
        };
        assert_eq!(
            command(&args, 3),
            "handover design 'my brief.toml' --parts 9 --seed 1 --starts 2 --quick --pick 3 --ideal"
        );
    }
}
