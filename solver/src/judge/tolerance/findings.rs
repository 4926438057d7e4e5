//! What the builder must know about tolerance.

use netlist::quantity::Ohms;

use super::super::finding::{Finding, beyond};
use super::super::finding_code::FindingCode;
use super::super::judged_loudspeaker::JudgedLoudspeaker;
use super::{Amount, Contributor, FEW_BUILDS, Tolerance};
use crate::stock::Origin;

/// Deviation from the design within which 95 of 100 builds should stay, dB: about what is heard over a
/// wide band (common practice).
const WITHIN_DB: f64 = 1.5;
/// Share of builds below the least load that is worth a word.
const FEW_BELOW: f64 = 0.025;
/// What a tighter part must gain to be worth its price, dB.
const WORTH_BUYING_DB: f64 = 0.05;

/// Findings on the spread of builds, dangers first.
#[must_use]
pub fn tolerance_findings(speaker: &JudgedLoudspeaker, tolerance: &Tolerance) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(few_builds(tolerance.builds));
    spread(tolerance, &mut findings);
    load(speaker, tolerance, &mut findings);
    assumed(tolerance, &mut findings);
    super::super::sort_findings(&mut findings);
    findings
}

fn few_builds(builds: usize) -> Option<Finding> {
    (builds < FEW_BUILDS).then(|| {
        Finding::caution(
            FindingCode::FewBuilds,
            format!(
                "the tolerance is that of {builds} {} only: what 95 of 100 do is a guess below {FEW_BUILDS}; make 1000 or more",
                if builds == 1 { "build" } else { "builds" }
            ),
        )
    })
}

fn named(found: &Contributor) -> String {
    match found.amount {
        Amount::Share(share) => format!("{} (± {} %)", found.name, percent(share)),
        Amount::LevelDb(db) => format!("the level of {} (± {db} dB)", found.name),
    }
}

/// A percentage with a tenth where it has one.
fn percent(share: f64) -> f64 {
    (1000.0 * share).round() / 10.0
}

fn spread(tolerance: &Tolerance, findings: &mut Vec<Finding>) {
    let Some(most) = (tolerance.contributors.first()).filter(|found| found.share > 0.005) else {
        return;
    };
    let within_db = tolerance.all.within_db;
    let mut message = format!(
        "95 of 100 builds stay within ± {} of the design; {} contributes most, {:.0} % of the variance",
        beyond(within_db, WITHIN_DB, 1, "dB"),
        named(most),
        100.0 * most.share
    );
    if let Some(alone) = &tolerance.parts_alone
        && matches!(most.amount, Amount::LevelDb(_))
    {
        message += &format!(
            "; parts alone make ± {:.1} dB, so measure the drivers and set each pad to its own driver before buying closer parts",
            alone.within_db
        );
    }
    if let (Some(tighter), Some(alone)) = (&tolerance.tighter, &tolerance.parts_alone) {
        let gain_db = alone.within_db - tighter.parts_alone.within_db;
        if gain_db >= WORTH_BUYING_DB {
            message += &format!(
                "; of the parts, buy {} within ± {} % instead of {} %: what the parts make falls from ± {:.2} dB to ± {:.2} dB",
                tighter.part,
                percent(tighter.to),
                percent(tighter.from),
                alone.within_db,
                tighter.parts_alone.within_db
            );
        } else {
            message += &format!(
                "; no single part is worth buying closer: {} within ± {} % instead of {} % would gain less than {WORTH_BUYING_DB} dB",
                tighter.part,
                percent(tighter.to),
                percent(tighter.from)
            );
        }
    }
    findings.push(if within_db > WITHIN_DB {
        Finding::caution(FindingCode::BuildsSpreadWidely, message)
    } else {
        Finding::note(FindingCode::BuildsSpread, message)
    });
}

fn load(speaker: &JudgedLoudspeaker, tolerance: &Tolerance, findings: &mut Vec<Finding>) {
    let (Some(limit_ohm), Some(share)) = (speaker.least_load_ohm, tolerance.load.below_limit)
    else {
        return;
    };
    // Where the design itself is below, that is said already.
    if share <= FEW_BELOW || tolerance.load.nominal_ohm < limit_ohm {
        return;
    }
    findings.push(Finding::caution(
        FindingCode::BuildsBelowLeastLoad,
        format!(
            "the load of {:.0} of 100 builds falls below the least load of {:.3}, the lowest to {}; leave a margin: raise the load, or measure each build before connecting it",
            100.0 * share,
            Ohms(limit_ohm),
            beyond(tolerance.load.lowest_ohm, limit_ohm, 2, "Ω")
        ),
    ));
}

/// Tolerances that nobody stated.
fn assumed(tolerance: &Tolerance, findings: &mut Vec<Finding>) {
    let names: Vec<&str> = (tolerance.contributors.iter())
        .filter(|found| found.origin == Origin::Usual)
        .map(|found| found.name.as_str())
        .collect();
    if names.is_empty() {
        return;
    }
    let many = names.len() > 4;
    findings.push(Finding::note(
        FindingCode::ToleranceAssumed,
        format!(
            "no tolerance is stated for {}; the usual ones are taken, 5 % and 10 % for windings on a core (common practice): write tolerance = \"...\" under [stock] or at the part",
            if many {
                format!("{} parts", names.len())
            } else {
                super::super::finding::listed(&names)
            }
        ),
    ));
}
