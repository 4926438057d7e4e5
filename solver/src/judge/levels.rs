//! What each way must lose, and the least load that the drivers allow.

use netlist::project::{LEAST_SHARE_OF_RATED_LOAD, Project};
use netlist::quantity::{Hertz, Ohms};

use super::finding::{Finding, beyond};
use super::finding_code::FindingCode;
use crate::load::LeastImpedance;
use crate::load::REFERENCE_V;
use crate::search::{Job, LeastLoadFrom, least_in_band};

/// A difference that is worth a pad, dB: ripple hides what is less.
pub(super) const WORTH_A_PAD_DB: f64 = 1.0;
/// Upper end of the usual attenuation of a horn over a woofer, 6 to 15 dB (common practice).
const USUAL_MOST_DB: f64 = 15.0;
/// A lower way that must lose this much throws away most of the amplifier's power, dB.
const COSTLY_DB: f64 = 3.0;

/// Findings on levels and on the least load.
pub(super) fn findings(project: &Project, job: &Job) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(at_listener(project, job));
    findings.extend(out_of_reach(job));
    attenuations(job, &mut findings);
    lower_ways(job, &mut findings);
    least_loads(project, job, &mut findings);
    findings
}

/// What the level asked for, at 1 m, is where the listener sits.
fn at_listener(project: &Project, job: &Job) -> Option<Finding> {
    let asked = project.aim.level?;
    let heard = job.aim.level?;
    let listener = project.listener.as_ref()?;
    Some(Finding::note(
        FindingCode::LevelAtListener,
        format!(
            "the level of {asked} asked for is at 1 m; the listener, {} in front, hears {:.1} dB of it ({:+.1} dB, each driver's own way taken), and all levels shown are his",
            listener.distance, heard.0, -job.spreading_db
        ),
    ))
}

/// A level that a driver cannot give, and what it can.
fn out_of_reach(job: &Job) -> Option<Finding> {
    let (way, short_db) = job.level_short()?;
    let most_db = way.reach.level_db + job.spreading_db;
    let coil = match way.reach.coil_ohm {
        ohm if ohm > 0.0 => format!(" and the least coil of a low pass ({:.2})", Ohms(ohm)),
        _ => String::new(),
    };
    let instead = match job.aim.level {
        Some(_) => "the loudspeaker stays below its aim there",
        None => "as loud as it can be is what is aimed at instead",
    };
    Some(Finding::caution(
        FindingCode::LevelOutOfReach,
        format!(
            "the level of {:.1} dB at 1 m asked for is {short_db:.1} dB more than {} can give in its band: {most_db:.1} dB at {REFERENCE_V} V, behind {:.2} of amplifier and cable{coil}; a passive network only takes away, so that {instead}; ask for {:.1} dB or less, or write level = \"auto\"",
            most_db + short_db,
            way.name,
            Ohms(way.reach.source_ohm),
            (10.0 * most_db).floor() / 10.0
        ),
    ))
}

fn attenuations(job: &Job, findings: &mut Vec<Finding>) {
    let reference_db = job.reference_db();
    let sets = match job.aim.level {
        Some(level) if job.spreading_db != 0.0 => format!(
            "the aim asks for {:.1} dB there ({:.1} dB at 1 m)",
            level.0,
            level.0 + job.spreading_db
        ),
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
                FindingCode::AttenuationUnusual,
                format!(
                    "{says}, more than the usual 6 to {USUAL_MOST_DB} dB (common practice); see whether level, drive voltage and distance of both drivers are right"
                ),
            ));
        } else if off_db > WORTH_A_PAD_DB {
            findings.push(Finding::note(FindingCode::AttenuationNeeded, says));
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
        Finding::caution(FindingCode::UpperWayLessSensitive, message)
    } else {
        Finding::note(FindingCode::UpperWayLessSensitive, message)
    });
}

/// Below this share of the rated load an amplifier is not at home (common practice: one step of its taps).
const FAR_BELOW_RATED: f64 = 0.6;

/// Drivers whose own impedance is below the least load asked for and that have no level to spare for
/// a series resistance. In its own band a filter lets a driver through, so that the amplifier sees no
/// more than the driver and what is in series with it.
fn least_loads(project: &Project, job: &Job, findings: &mut Vec<Finding>) {
    if let LeastLoadFrom::Driver { way, own } = job.least_load_from {
        findings.push(held_by_driver(project, job, way, &own));
        return;
    }
    let limit_ohm = job.least_load_ohm;
    let reference_db = job.reference_db();
    for (number, way) in job.ways.iter().enumerate() {
        let driver = &project.drivers[way.name.as_str()];
        let Some(least) = least_in_band(driver, &job.bands_hz(), number) else {
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
            FindingCode::LeastLoadOutOfReach,
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

/// Nothing is asked for, and a driver cannot give what the amplifier is rated for.
fn held_by_driver(project: &Project, job: &Job, way: usize, own: &LeastImpedance) -> Finding {
    let rated = project.amplifier.rated_load.unwrap_or(Ohms(0.0));
    let name = &job.ways[way].name;
    let message = format!(
        "no minimum_load is asked for; {:.0} % of the rated load would be {:.2}, but {name}'s own least impedance in its band is {:.3} at {:.3}, so that {:.3} is held in its place",
        100.0 * LEAST_SHARE_OF_RATED_LOAD,
        Ohms(LEAST_SHARE_OF_RATED_LOAD * rated.0),
        Ohms(own.magnitude_ohm),
        Hertz(own.f_hz),
        Ohms(job.least_load_ohm),
    );
    if job.least_load_ohm < FAR_BELOW_RATED * rated.0 {
        let message = format!(
            "{message}: far below what the amplifier is rated for, so that a transistor amplifier can overheat and a valve amplifier distorts early; take its tap for a lower load, or drivers of higher impedance"
        );
        Finding::caution(FindingCode::LeastLoadOfDriver, message)
    } else {
        Finding::note(FindingCode::LeastLoadOfDriver, message)
    }
}

/// Resistance in series that lifts |Z| to the limit: `√(limit² − X²) − R`.
fn series_ohm(least: &LeastImpedance, limit_ohm: f64) -> f64 {
    let (sin, cos) = least.phase_deg.to_radians().sin_cos();
    let reactance = least.magnitude_ohm * sin;
    (limit_ohm * limit_ohm - reactance * reactance).sqrt() - least.magnitude_ohm * cos
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
        let notes = found
            .iter()
            .filter(|f| f.code.text().starts_with("attenuation"));
        assert_eq!(notes.count(), 2, "{found:#?}");
        assert!(
            find(&found, "attenuation-needed")
                .message
                .contains("the aim asks for 85 dB")
        );
    }

    /// The bare woofer gives a certain level; behind 2 Ω and its low pass's coil it gives less, and a level in
    /// between is out of reach, which is told with what can be reached.
    #[test]
    fn a_level_is_reached_behind_the_amplifier_or_not() {
        let brief = Brief::default().with("output", "2 ohm");
        let low = brief.job().ways[0].clone();
        assert!(low.reach.coil_ohm > 0.05, "{:?}", low.reach);
        assert!(low.reach.level_db < low.level_db - 1.5, "{low:?}");
        let at = |db: f64| brief.with("aim", &format!("level = \"{db} dB\""));
        let code = "level-out-of-reach";
        assert!(!has(&at(low.reach.level_db + 0.4).findings(), code));
        let found = at(low.level_db).findings();
        let finding = find(&found, code);
        assert_eq!(finding.severity, Caution);
        let most = format!("{:.1} dB at 2.83 V, behind 2 Ω", low.reach.level_db);
        assert!(finding.message.contains(&most), "{finding:?} {most}");
        assert!(finding.message.contains("more than low can give"));
        assert!(finding.message.contains("stays below its aim"));
        // More than half the power more is not aimed at.
        let hopeless = at(low.reach.level_db + 3.1);
        assert!(hopeless.job().aim.level.is_none());
        let found = hopeless.findings();
        let finding = find(&found, code);
        assert!(finding.message.contains("at 1 m") && finding.message.contains("instead"));
    }

    /// From 1 m to 3 m a level falls by 20·lg 3 = 9.54 dB: one that is asked for at 1 m is held there.
    #[test]
    fn a_level_is_meant_at_1_m_wherever_the_listener_is() {
        let aim = Brief::default().with("aim", "level = \"92 dB\"");
        let near = aim.job();
        let far_brief = aim.with("extra", "[listener]\ndistance = \"3 m\"");
        let far = far_brief.job();
        let (asked, heard) = (near.aim.level.unwrap().0, far.aim.level.unwrap().0);
        assert!((asked - heard - 9.542_425).abs() < 1e-5, "{asked} {heard}");
        for (near, far) in near.ways.iter().zip(&far.ways) {
            let off = (near.level_db - asked) - (far.level_db - heard);
            assert!(off.abs() < 1e-9, "{off}");
        }
        let found = far_brief.findings();
        let finding = find(&found, "level-at-listener");
        assert_eq!(finding.severity, Note);
        assert!(finding.message.contains("82.5 dB"), "{finding:?}");
        assert!(!has(&aim.findings(), "level-at-listener"));
        // What cannot be reached is told as it is stated, at 1 m.
        let reach_db = near.ways[0].reach.level_db;
        let loud = far_brief.with("aim", &format!("level = \"{} dB\"", reach_db + 1.0));
        let found = loud.findings();
        let finding = find(&found, "level-out-of-reach");
        let most = format!("{reach_db:.1} dB at 2.83 V");
        assert!(finding.message.contains(&most), "{finding:?}");
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
        let sound = Brief::default().with("aim", "minimum_load = \"6.4 ohm\"");
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
    }

    /// Nothing is asked for: the amplifier's rating is held as far as the drivers allow it.
    #[test]
    fn what_is_held_is_never_more_than_the_drivers_allow() {
        let sound = Brief::default();
        let held = |brief: &Brief| {
            let job = brief.job();
            (job.least_load_ohm, job.least_load_from)
        };
        assert_eq!(held(&sound), (6.4, LeastLoadFrom::RatedLoad));
        assert!(!has(&sound.findings(), "least-load-of-driver"));

        let low = sound.with("re_low", "5 ohm");
        let (least_ohm, from) = held(&low);
        assert!((5.0..5.5).contains(&least_ohm), "{least_ohm}");
        assert!(
            matches!(from, LeastLoadFrom::Driver { way: 0, own } if (own.magnitude_ohm - least_ohm).abs() < 1e-12)
        );
        let finding = find(&low.findings(), "least-load-of-driver").clone();
        assert_eq!(finding.severity, Note);
        assert!(
            finding
                .message
                .contains("80 % of the rated load would be 6.4"),
            "{finding:?}"
        );
        assert!(!has(&low.findings(), "least-load-out-of-reach"));

        let very_low = sound.with("re_low", "3 ohm").findings();
        assert_eq!(find(&very_low, "least-load-of-driver").severity, Caution);

        // A loud driver has level to spare for a series resistance, so that it is no obstacle.
        assert_eq!(
            held(&sound.with("re_high", "5 ohm")).1,
            LeastLoadFrom::RatedLoad
        );
        let nothing = low.with("amplifier", "");
        assert_eq!(held(&nothing), (0.0, LeastLoadFrom::Nobody));
        assert!(!has(&nothing.findings(), "least-load-of-driver"));
    }

    /// Measured: the number and the place are those of the table.
    #[test]
    fn the_number_is_that_of_the_data() {
        let z = |f: f64| format!("{:.4}", 5.1 + 4.0 * (f / 140.0).ln().powi(2));
        let found = Brief::default()
            .with("aim", "minimum_load = \"6.4 ohm\"")
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
