//! What each way must lose, and the least load that the drivers allow.

use netlist::project::{Driver, Project};
use netlist::quantity::{Hertz, Ohms};

use super::finding::{Finding, beyond};
use crate::grid::Grid;
use crate::load::{Conditions, LeastImpedance, driver_load, least_impedance};
use crate::search::{Job, REFERENCE_V};

/// A difference that is worth a pad, dB: ripple hides what is less.
pub(super) const WORTH_A_PAD_DB: f64 = 1.0;
/// Upper end of the usual attenuation of a horn over a woofer, 6 to 15 dB (common practice).
const USUAL_MOST_DB: f64 = 15.0;
/// A lower way that must lose this much throws away most of the amplifier's power, dB.
const COSTLY_DB: f64 = 3.0;

/// Findings on levels and on the least load.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    attenuations(job, &mut findings);
    lower_ways(job, &mut findings);
    least_loads(project, job, &mut findings);
    findings
}

/// The level that is aimed at, dB: asked for, or that of the least sensitive way.
fn reference_db(job: &Job) -> f64 {
    job.aim
        .level
        .map_or(job.ways[job.weakest()].level_db, |level| level.0)
}

fn attenuations(job: &Job, findings: &mut Vec<Finding>) {
    let reference_db = reference_db(job);
    let sets = match job.aim.level {
        Some(level) => format!("the aim asks for {level}"),
        None => format!(
            "{} sets the level with {reference_db:.1} dB",
            job.ways[job.weakest()].name
        ),
    };
    for way in &job.ways {
        let off_db = way.level_db - reference_db;
        let says = format!(
            "{} gives {:.1} dB in its band at {REFERENCE_V} V and {sets}: its branch must take away about {}",
            way.name,
            way.level_db,
            beyond(off_db, USUAL_MOST_DB, 1, "dB")
        );
        if off_db > USUAL_MOST_DB {
            findings.push(Finding::caution(
                "attenuation-unusual",
                format!(
                    "{says}, more than the usual 6 to {USUAL_MOST_DB} dB (common practice); see whether level, drive voltage and distance of both drivers are right"
                ),
            ));
        } else if off_db > WORTH_A_PAD_DB {
            findings.push(Finding::note("attenuation-needed", says));
        }
    }
}

/// A way that is louder than one above it has to be padded, and a pad in front of a woofer is costly.
fn lower_ways(job: &Job, findings: &mut Vec<Finding>) {
    let weakest = job.weakest();
    let (lowest, upper) = (&job.ways[0], &job.ways[weakest]);
    let less_db = lowest.level_db - upper.level_db;
    if weakest == 0 || less_db <= WORTH_A_PAD_DB {
        return;
    }
    let share = 100.0 * (1.0 - 10f64.powf(-less_db / 10.0));
    let message = format!(
        "{} gives {:.1} dB, {less_db:.1} dB less than {} with {:.1} dB: the lowest way would have to be padded, which turns about {share:.0} % of its power to heat and takes the damping from its resonance; take a more sensitive {} or a horn for it",
        upper.name, upper.level_db, lowest.name, lowest.level_db, upper.name
    );
    findings.push(if less_db > COSTLY_DB {
        Finding::caution("upper-way-less-sensitive", message)
    } else {
        Finding::note("upper-way-less-sensitive", message)
    });
}

/// Code of the finding that no network can keep the least load.
pub(super) const OUT_OF_REACH: &str = "least-load-out-of-reach";

/// Drivers whose own impedance is below the least load asked for and that have no level to spare for
/// a series resistance. In its own band a filter lets a driver through, so that the amplifier sees no
/// more than the driver and what is in series with it.
fn least_loads(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    let limit_ohm = job.least_load_ohm;
    let reference_db = reference_db(job);
    for (number, way) in job.ways.iter().enumerate() {
        let driver = &project.drivers[way.name.as_str()];
        let Some(least) = least_in_band(driver, job, number) else {
            continue;
        };
        if least.magnitude_ohm >= limit_ohm {
            continue;
        }
        // A resistance in series is worst where the impedance is real; that is what it must be sized for.
        let series_ohm = series_ohm(&least, limit_ohm);
        let cost_db = 20.0 * (limit_ohm / least.magnitude_ohm).log10();
        if way.level_db - reference_db >= cost_db {
            continue;
        }
        findings.push(Finding::caution(
            OUT_OF_REACH,
            format!(
                "the least load asked for is {:.3}, but {}'s own least impedance in its band is {:.3} at {:.3}: no filter that lets this band through shows the amplifier more, unless a series resistance of about {:.2} is added, which costs {cost_db:.1} dB of level that {} does not have to spare; take a driver of higher impedance, or ask for a minimum_load of {:.2} and use the amplifier's tap for it",
                Ohms(limit_ohm),
                way.name,
                Ohms(least.magnitude_ohm),
                Hertz(least.f_hz),
                Ohms(series_ohm),
                way.name,
                Ohms(least.magnitude_ohm),
            ),
        ));
    }
}

/// Resistance in series that lifts |Z| to the limit: `√(limit² − X²) − R`.
fn series_ohm(least: &LeastImpedance, limit_ohm: f64) -> f64 {
    let (sin, cos) = least.phase_deg.to_radians().sin_cos();
    let reactance = least.magnitude_ohm * sin;
    (limit_ohm * limit_ohm - reactance * reactance).sqrt() - least.magnitude_ohm * cos
}

/// Least impedance in the band of a way, which for the load goes to the ends of the audio band.
fn least_in_band(driver: &Driver, job: &Job, way: usize) -> Option<LeastImpedance> {
    let (mut low, mut high) = job.band_hz(way);
    if way == 0 {
        low = low.min(20.0);
    }
    if way + 1 == job.ways.len() {
        high = high.max(20_000.0);
    }
    let grid = Grid::log_spaced(low, high, 400).ok()?;
    let load = driver_load(driver, &grid, &Conditions::default());
    least_impedance(&grid, &load.z_ohm, low, high)
}

#[cfg(test)]
mod tests {
    use super::super::Severity::{Caution, Note};
    use super::super::fixture::{Brief, find, has, table};
    use super::*;

    #[test]
    fn what_a_pad_must_take_away() {
        let brief = Brief::default();
        let job = brief.job();
        let found = brief.findings();
        let off = job.ways[1].level_db - job.ways[0].level_db;
        let finding = find(&found, "attenuation-needed");
        assert_eq!(finding.severity, Note);
        assert!(
            finding.message.starts_with("high gives 108.0 dB"),
            "{finding:?}"
        );
        assert!(
            finding.message.contains(&format!("about {off:.1} dB")),
            "{finding:?}"
        );
        assert!(!has(&found, "attenuation-unusual"));

        let found = brief.with("level", "124 dB").findings();
        assert_eq!(find(&found, "attenuation-unusual").severity, Caution);
    }

    #[test]
    fn a_level_asked_for_is_what_counts() {
        let found = Brief::default().with("aim", "level = \"85 dB\"").findings();
        let notes = found.iter().filter(|f| f.code.starts_with("attenuation"));
        assert_eq!(notes.count(), 2, "{found:#?}");
        assert!(
            find(&found, "attenuation-needed")
                .message
                .contains("the aim asks for 85 dB")
        );
    }

    #[test]
    fn a_quiet_upper_way() {
        let brief = Brief::default();
        assert!(!has(&brief.findings(), "upper-way-less-sensitive"));
        let found = brief.with("level", "90 dB").findings();
        let finding = find(&found, "upper-way-less-sensitive");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding.message.contains("take a more sensitive high"),
            "{finding:?}"
        );
    }

    #[test]
    fn the_woofer_sets_the_least_load() {
        let sound = Brief::default();
        assert!(!has(&sound.findings(), "least-load-out-of-reach"));
        let found = sound.with("re_low", "5 ohm").findings();
        let finding = find(&found, "least-load-out-of-reach");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding
                .message
                .contains("asked for is 6.4 Ω, but low's own"),
            "{finding:?}"
        );
        // A loud driver has level to spare for a series resistance, so that it is no obstacle.
        let found = sound.with("re_high", "5 ohm").findings();
        assert!(!has(&found, "least-load-out-of-reach"), "{found:#?}");
        // Nothing asked for, nothing to miss.
        let found = sound
            .with("re_low", "5 ohm")
            .with("amplifier", "")
            .findings();
        assert!(!has(&found, "least-load-out-of-reach"));
    }

    /// Measured: the number and the place are those of the table.
    #[test]
    fn the_number_is_that_of_the_data() {
        let z = |f: f64| format!("{:.4}", 5.1 + 4.0 * (f / 140.0).ln().powi(2));
        let found = Brief::default()
            .measured(
                "low",
                table(15.0, 25_000.0, z),
                table(15.0, 25_000.0, |_| "95 0".into()),
            )
            .findings();
        let message = &find(&found, "least-load-out-of-reach").message;
        assert!(
            message.contains("is 5.1") && message.contains("Ω at 1"),
            "{message}"
        );
        assert!(
            message.contains("costs 2.0 dB") || message.contains("costs 1.9 dB"),
            "{message}"
        );
    }

    #[test]
    fn a_series_resistance_lifts_to_the_limit() {
        for phase_deg in [-40.0, 0.0, 25.0] {
            let least = LeastImpedance {
                f_hz: 100.0,
                magnitude_ohm: 5.0,
                phase_deg,
            };
            let z = num_complex::Complex64::from_polar(5.0, f64::to_radians(phase_deg));
            assert!(((z + series_ohm(&least, 6.4)).norm() - 6.4).abs() < 1e-12);
        }
    }
}
