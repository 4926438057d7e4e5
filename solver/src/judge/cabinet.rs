//! What a modelled driver without a cabinet is taken for.

use netlist::project::Project;

use super::finding::{Finding, listed};
use super::finding_code::FindingCode;
use crate::load::step_hz;
use crate::search::Job;

/// Width of a front that stands for all, m.
const USUAL_WIDTH_M: f64 = 0.4;

/// A note where cones, or diaphragms measured in the near field, radiate from a wall without end because nothing is said of a cabinet.
pub(super) fn finding(project: &Project, job: &Job) -> Option<Finding> {
    let bare: Vec<&str> = (job.ways.iter())
        .map(|way| way.name.as_str())
        .filter(|name| {
            let driver = &project.drivers[*name];
            driver.baffle.is_none() && driver.source.is_in_the_cabinet()
        })
        .collect();
    (!bare.is_empty()).then(|| {
        Finding::note(
            FindingCode::NoCabinet,
            format!(
                "{} is worked out as on a wall without end; on a cabinet it loses up to 6 dB towards the bass, half of it by {:.0} Hz for a front {:.0} cm wide, which the floor and the walls of a room give back in part; write [cabinet] with width, height and depth, and on_baffle for the driver",
                listed(&bare),
                step_hz(USUAL_WIDTH_M),
                100.0 * USUAL_WIDTH_M
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::super::Severity::Note;
    use super::super::fixture::{Brief, find, has};

    #[test]
    fn a_cone_without_a_cabinet_says_what_it_assumes() {
        let findings = Brief::default().findings();
        let found = find(&findings, "no-cabinet");
        assert_eq!(found.severity, Note);
        assert!(found.message.starts_with("low is worked out as on a wall"));
        let built = Brief::default()
            .with(
                "power_low",
                "power = \"200 W\"\non_baffle = { up = \"0.5 m\" }",
            )
            .with(
                "extra",
                "[cabinet]\nwidth = \"0.4 m\"\nheight = \"0.9 m\"\ndepth = \"0.4 m\"",
            );
        assert!(!has(&built.findings(), "no-cabinet"));
    }
}
