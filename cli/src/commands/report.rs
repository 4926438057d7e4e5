//! `handover report`: one page about a design, and its pictures.

use std::io::Write;
use std::path::{Path, PathBuf};

use netlist::project::Loaded;

use crate::args::ReportArguments;
use crate::failure::Failure;
use crate::files::{
    can_be_written, is_stdout, is_stream, not_over, own_name, write_all, write_out,
};
use crate::findings::Danger;
use crate::report::{Provenance, Report, Template};

/// Name of the demo's page, in the folder where the command is run.
const DEMO_PAGE: &str = "handover-demo.html";

pub(crate) fn run(
    options: &ReportArguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<Danger, Failure> {
    let loaded = super::open(&options.source, "network.toml")?;
    let page = match &options.output {
        Some(page) => page.clone(),
        None if options.source.demo => PathBuf::from(DEMO_PAGE),
        None => loaded.path.with_extension("html"),
    };
    not_over(&page, &loaded.path, "the design itself")?;
    can_be_written(&page, options.force)?;
    let file = own_name(&loaded.path);
    let template = (loaded.project.network.as_ref())
        .and_then(|network| Template::new(&loaded.text, loaded.form, network));
    let made = Provenance {
        template,
        ..Provenance::default()
    };
    let report = Report::new(&loaded.project, file.clone(), made)
        .map_err(|error| unusable(&loaded, &error))?;
    let Some(report) = report else {
        return Err(Failure::unusable(
            format!("{file} has no [parts], so there is no network to report on"),
            "design a network from it first: handover design",
        ));
    };
    if let Some(folder) = &options.pictures {
        write_pictures(&report, folder, options.force, err)?;
    }
    write_out(&page, report.page().as_bytes(), options.force, out)?;
    if is_stdout(&page) {
        writeln!(err, "{}", report.warns_of())?;
    } else {
        let (page, warns_of) = (page.display(), report.warns_of());
        writeln!(err, "report written to {page}; {warns_of}")?;
    }
    if options.open && !is_stream(&page) {
        show(&page, err)?;
    }
    Ok(report.danger())
}

fn unusable(loaded: &Loaded, error: &solver::nodal::PlanError) -> Failure {
    Failure::unusable(
        format!("{}: {error}", loaded.path.display()),
        "change the parts named above",
    )
}

fn write_pictures(
    report: &Report<'_>,
    folder: &Path,
    force: bool,
    err: &mut dyn Write,
) -> Result<(), Failure> {
    let pictures = report.pictures();
    write_all(folder, &pictures, "for the pictures", force)?;
    let count = pictures.len();
    writeln!(err, "{count} pictures written to {}", folder.display())?;
    Ok(())
}

/// Opens a page with whatever the desktop opens pages with.
fn show(page: &Path, err: &mut dyn Write) -> Result<(), Failure> {
    if let Err(error) = open::that_detached(page) {
        writeln!(
            err,
            "note: the page could not be opened ({error}); open it in a browser yourself"
        )?;
    }
    Ok(())
}
