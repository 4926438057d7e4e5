//! All findings on a finished network.

use netlist::quantity::{Hertz, Metres, Ohms};

use super::finding::{Finding, listed, sort_findings};
use super::levels::WORTH_A_PAD_DB;
use crate::goal::{Figures, LoadFigures};
use crate::search::{Depth, Job};

/// Largest rms deviation of the sum, dB.
const FLATNESS_RMS_DB: f64 = 0.8;
/// Largest deviation of the sum, dB.
const FLATNESS_MAX_DB: f64 = 1.8;
/// Largest match of a way, dB.
const MATCH_DB: f64 = 1.2;
/// Largest phase match at a crossover, degrees.
const PHASE_MATCH_DEG: f64 = 30.0;
/// An angle between the ways from depth alone that is worth a word, degrees.
const DEPTH_DEG: f64 = 20.0;
/// What depth may cost the sum before it is a caution, dB.
const DEPTH_COST_DB: f64 = 0.5;
/// Below this share of the least load it is a danger: 60 % of the rated load, where the least load is
/// 80 % of it as IEC 60268-5:2003, 16.1 has it.
pub(super) const DANGEROUS_SHARE: f64 = 0.6 / 0.8;
/// Least load of a loudspeaker rated 4 Ω, 80 % of it: few amplifiers are made for less. Held against
/// the load where the brief gives no limit.
pub(super) const USUAL_LEAST_OHM: f64 = 3.2;
/// Solid-state amplifiers are below this output impedance, valve amplifiers mostly above (common
/// practice), ohm.
pub(super) const VALVE_OHM: f64 = 0.5;

/// What the builder must know about a network with these figures, dangers first.
///
/// The cautions for pads go by level: a way that gives more without a network than with it has a pad,
/// whatever form it takes.
#[must_use]
pub fn design_findings(
    job: &Job,
    depths: &[Depth],
    figures: &Figures,
    load: &LoadFigures,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    least_load(job, load, &mut findings);
    sum(job, figures, &mut findings);
    ways(job, figures, &mut findings);
    phases(job, depths, figures, &mut findings);
    for (c, depth) in depths.iter().enumerate() {
        findings.extend(of_depth(job, c, depth));
    }
    cautions(job, figures, &mut findings);
    sort_findings(&mut findings);
    findings
}

fn least_load(job: &Job, load: &LoadFigures, findings: &mut Vec<Finding>) {
    let stated = job.least_load_ohm > 0.0;
    let limit_ohm = if stated {
        job.least_load_ohm
    } else {
        USUAL_LEAST_OHM
    };
    if load.least_ohm >= limit_ohm {
        return;
    }
    let what = if stated {
        format!("the least load asked for is {:.3}", Ohms(limit_ohm))
    } else {
        format!(
            "few amplifiers are made for less than {:.3} (80 % of 4 Ω), and the brief gives no limit",
            Ohms(limit_ohm)
        )
    };
    let message = format!(
        "the load falls to {:.3} at {:.3}, {:.0} % of the limit, with a phase of {:.0}°; {what}; {}",
        Ohms(load.least_ohm),
        Hertz(load.at_hz),
        100.0 * load.least_ohm / limit_ohm,
        load.phase_deg,
        why_low(job, load, limit_ohm)
    );
    findings.push(if load.least_ohm < DANGEROUS_SHARE * limit_ohm {
        Finding::danger(
            "load-dangerously-low",
            format!("{message}; do not connect it to an amplifier rated for more"),
        )
    } else {
        Finding::caution("load-too-low", message)
    });
}

/// Where a low load comes from, with the way out.
fn why_low(job: &Job, load: &LoadFigures, limit_ohm: f64) -> String {
    let at_hz = load.at_hz;
    let way = (0..job.crossovers.len())
        .take_while(|&c| at_hz > job.crossovers[c].frequency.0)
        .count();
    let name = &job.ways[way].name;
    let f_hz = job.grid.f_hz();
    let nearest = (0..f_hz.len()).min_by(|&a, &b| {
        let off = |i: usize| (f_hz[i] / at_hz).ln().abs();
        off(a).total_cmp(&off(b))
    });
    if let Some(i) = nearest {
        let own_ohm = job.ways[way].z_ohm.at(i).norm();
        if own_ohm < limit_ohm {
            return format!(
                "{name} itself has {:.3} there: add resistance in series with it, take a driver of higher impedance, or use an amplifier or a tap for a lower load",
                Ohms(own_ohm)
            );
        }
    }
    let near = (job.crossovers.iter().enumerate())
        .find(|(_, crossover)| (crossover.frequency.0 / at_hz).log2().abs() <= 1.0);
    match near {
        Some((c, crossover)) => format!(
            "it is near the crossover at {}, where the branches of {} and {} are in parallel and each filter draws reactive current: choose another of the proposals, gentler slopes, or more pad in front of the filter of {}",
            crossover.frequency,
            job.ways[c].name,
            job.ways[c + 1].name,
            job.ways[c + 1].name
        ),
        None => format!(
            "it is in the band of {name}, and the filters of the other ways add to it: choose another of the proposals, or add resistance in series with the shunt parts"
        ),
    }
}

fn sum(job: &Job, figures: &Figures, findings: &mut Vec<Finding>) {
    let at = Hertz(figures.max_at_hz);
    let out = "choose another proposal, more values in the stock, an alignment of \"auto\", or an aim that stays in the drivers' bands";
    if figures.rms_db > FLATNESS_RMS_DB {
        findings.push(Finding::caution(
            "sum-not-flat",
            format!(
                "the sum is off the aim by {:.2} dB rms from {} to {}, more than {FLATNESS_RMS_DB} dB; {out}",
                figures.rms_db, job.aim.from, job.aim.to
            ),
        ));
    }
    if figures.max_db > FLATNESS_MAX_DB {
        findings.push(Finding::caution(
            "sum-far-off-the-aim",
            format!(
                "the sum is off the aim by {:.1} dB at {at:.3}, in the band of {}, more than {FLATNESS_MAX_DB} dB; see whether the driver itself has a dip or a peak there, and otherwise {out}",
                figures.max_db,
                name_at(job, figures.max_at_hz)
            ),
        ));
    }
}

/// Names of the way or the two ways that play at a frequency.
fn name_at(job: &Job, at_hz: f64) -> String {
    let names: Vec<&str> = (0..job.ways.len())
        .filter(|&way| {
            let (low, high) = job.band_hz(way);
            let half_octave = std::f64::consts::SQRT_2;
            at_hz >= low / half_octave && at_hz <= high * half_octave
        })
        .map(|way| job.ways[way].name.as_str())
        .collect();
    listed(&names)
}

fn ways(job: &Job, figures: &Figures, findings: &mut Vec<Finding>) {
    for (way, &match_db) in job.ways.iter().zip(&figures.match_db) {
        if match_db > MATCH_DB {
            findings.push(Finding::caution(
                "way-off-its-target",
                format!(
                    "{} is off its target by {match_db:.2} dB rms, more than {MATCH_DB} dB, so that its slope is not the one asked for; choose another proposal or an alignment nearer to the driver's own roll-off",
                    way.name
                ),
            ));
        }
    }
}

fn phases(job: &Job, depths: &[Depth], figures: &Figures, findings: &mut Vec<Finding>) {
    for (c, found) in figures.crossovers.iter().enumerate() {
        let deg = found.phase_match_deg;
        if deg <= PHASE_MATCH_DEG {
            continue;
        }
        let depth = depths.get(c).filter(|d| d.angle_deg.abs() > DEPTH_DEG);
        let out = match depth {
            Some(depth) => format!(
                "depth alone makes {:.0}° there: {}",
                depth.angle_deg.abs(),
                set_back(job, c, depth)
            ),
            None => "choose another proposal, or an alignment nearer to the drivers' own roll-offs"
                .to_owned(),
        };
        findings.push(Finding::caution(
            "phases-apart",
            format!(
                "{} and {} are {deg:.0}° apart in the mean over half an octave on both sides of the crossover at {}, more than {PHASE_MATCH_DEG}°; {out}",
                job.ways[c].name,
                job.ways[c + 1].name,
                job.crossovers[c].frequency
            ),
        ));
    }
}

/// Which driver to set back to bring two acoustic centres into one plane.
fn set_back(job: &Job, c: usize, depth: &Depth) -> String {
    let (mut nearer, mut farther) = (&job.ways[c].name, &job.ways[c + 1].name);
    if depth.offset_m < 0.0 {
        std::mem::swap(&mut nearer, &mut farther);
    }
    format!(
        "set {nearer} back, or {farther} forward, by {:.0} mm",
        1000.0 * depth.offset_m.abs()
    )
}

fn of_depth(job: &Job, c: usize, depth: &Depth) -> Option<Finding> {
    if depth.angle_deg.abs() <= DEPTH_DEG {
        return None;
    }
    let (lower, upper) = (&job.ways[c].name, &job.ways[c + 1].name);
    let crossover = &job.crossovers[c];
    let cost_db = depth.deviation_db - depth.deviation_aligned_db;
    let side = if depth.offset_m > 0.0 {
        "farther from the listener"
    } else {
        "nearer to the listener"
    };
    let offset = Metres(depth.offset_m.abs());
    let says = format!(
        "the acoustic centre of {upper} is {offset:.3} {side} than that of {lower}, which is {:.0}° at {}",
        depth.angle_deg.abs(),
        crossover.frequency
    );
    let cure = set_back(job, c, depth);
    Some(if cost_db >= DEPTH_COST_DB {
        let slopes = if crossover.alignment.is_some() {
            ", or write alignment = \"auto\" to have slopes chosen that suffer less"
        } else {
            ""
        };
        Finding::caution(
            "depth-costs",
            format!(
                "{says}: even with ideal slopes the sum is off by up to {:.1} dB within an octave, against {:.1} dB in one plane; {cure}{slopes}",
                depth.deviation_db, depth.deviation_aligned_db
            ),
        )
    } else {
        Finding::note(
            "depth-costs-little",
            format!(
                "{says}; the slopes in use bear it, with {:.1} dB off at most within an octave when they are ideal, against {:.1} dB in one plane; to be rid of it {cure}",
                depth.deviation_db, depth.deviation_aligned_db
            ),
        )
    })
}

/// Cautions that go with every network of the kind.
fn cautions(job: &Job, figures: &Figures, findings: &mut Vec<Finding>) {
    let output_ohm = job.drive.output_impedance_ohm;
    if output_ohm > VALVE_OHM {
        findings.push(Finding::caution(
            "valve-amplifier",
            format!(
                "an output impedance of {:.3} is that of a valve amplifier: never run it without a load, which can break its output transformer, so switch it off before you change anything in the network; inside are hundreds of volts that stay after it is off: leave them to a licensed person",
                Ohms(output_ohm)
            ),
        ));
    }
    findings.push(Finding::caution(
        "low-pass-without-driver",
        format!(
            "a low-pass filter without its driver is a series resonance across the amplifier, nearly a short circuit at one frequency: play nothing while {} is not connected",
            job.ways[0].name
        ),
    ));
    let padded: Vec<(&str, f64)> = (job.ways.iter())
        .map(|way| (way.name.as_str(), way.level_db - figures.level_db))
        .filter(|(_, off_db)| *off_db > WORTH_A_PAD_DB)
        .collect();
    if padded.is_empty() {
        return;
    }
    let shares: Vec<String> = (padded.iter())
        .map(|(name, off_db)| {
            let share = 100.0 * (1.0 - 10f64.powf(-off_db / 10.0));
            format!("{off_db:.1} dB off {name} (about {share:.0} % of the power of its branch)")
        })
        .collect();
    findings.push(Finding::caution(
        "hot-pad-resistors",
        format!(
            "pads take {}; resistors that do so get hot enough to burn skin: rate them at twice the power they turn to heat or more (common practice) and mount them clear of wood, cable and capacitors",
            listed(&shares)
        ),
    ));
}

#[cfg(test)]
mod tests {
    use super::super::Severity::{Caution, Danger, Note};
    use super::super::fixture::{Brief, find, has};
    use super::*;
    use crate::goal::CrossoverFigures;
    use crate::search::{choose_alignments, depths};

    /// Figures without fault: of a way that needs no pad, with a load above the limit.
    fn good(job: &Job) -> (Figures, LoadFigures) {
        let figures = Figures {
            level_db: job.ways[job.weakest()].level_db,
            rms_db: 0.5,
            max_db: 1.2,
            max_at_hz: 3000.0,
            match_db: vec![0.8, 0.9],
            crossovers: vec![CrossoverFigures {
                phase_match_deg: 12.0,
            }],
        };
        let load = LoadFigures {
            least_ohm: 6.5,
            at_hz: 200.0,
            phase_deg: -10.0,
            least_epdr_ohm: 4.0,
        };
        (figures, load)
    }

    fn found(brief: &Brief, change: impl Fn(&mut Figures, &mut LoadFigures)) -> Vec<Finding> {
        let job = brief.job();
        let depths = depths(&job, &choose_alignments(&job));
        let (mut figures, mut load) = good(&job);
        change(&mut figures, &mut load);
        design_findings(&job, &depths, &figures, &load)
    }

    #[test]
    fn a_good_design_has_only_the_cautions_of_its_kind() {
        let codes: Vec<&str> = found(&Brief::default(), |_, _| {})
            .iter()
            .map(|f| f.code)
            .collect();
        assert_eq!(codes, ["low-pass-without-driver", "hot-pad-resistors"]);
    }

    #[test]
    fn load_below_the_limit() {
        // The limit is 80 % of 8 ohm; 60 % of it is 4.8 ohm.
        let brief = Brief::default();
        let at = |ohm: f64| found(&brief, |_, load| load.least_ohm = ohm);
        assert!(!at(6.41).iter().any(|f| f.code.starts_with("load")));
        let low = at(4.81);
        let finding = find(&low, "load-too-low");
        assert_eq!(finding.severity, Caution);
        assert!(
            finding
                .message
                .contains("4.81 Ω at 200 Hz, 75 % of the limit"),
            "{finding:?}"
        );
        let dangerous = at(4.79);
        assert_eq!(dangerous[0].code, "load-dangerously-low");
        assert_eq!(dangerous[0].severity, Danger);
    }

    #[test]
    fn load_without_a_limit() {
        let brief = Brief::default().with("amplifier", "");
        let at = |ohm: f64| found(&brief, |_, load| load.least_ohm = ohm);
        assert!(!at(3.21).iter().any(|f| f.code.starts_with("load")));
        assert!(
            find(&at(3.0), "load-too-low")
                .message
                .contains("gives no limit")
        );
        assert!(has(&at(2.0), "load-dangerously-low"));
    }

    #[test]
    fn why_the_load_is_low() {
        let low = |brief: &Brief, at_hz: f64| {
            let found = found(brief, |_, load| {
                load.least_ohm = 5.2;
                load.at_hz = at_hz;
            });
            find(&found, "load-too-low").message.clone()
        };
        let driver = low(&Brief::default().with("re_low", "5 ohm"), 200.0);
        assert!(driver.contains("low itself has 5."), "{driver}");
        let crossover = low(&Brief::default(), 1000.0);
        assert!(
            crossover.contains("near the crossover at 800 Hz"),
            "{crossover}"
        );
        let elsewhere = low(&Brief::default(), 5000.0);
        assert!(elsewhere.contains("in the band of high"), "{elsewhere}");
    }

    #[test]
    fn figures_beyond_their_limits() {
        let brief = Brief::default();
        let found = found(&brief, |figures, _| {
            figures.rms_db = 0.81;
            figures.max_db = 1.9;
            figures.match_db = vec![1.1, 1.3];
            figures.crossovers[0].phase_match_deg = 31.0;
        });
        assert!(find(&found, "sum-not-flat").message.contains("0.81 dB rms"));
        let most = &find(&found, "sum-far-off-the-aim").message;
        assert!(
            most.contains("1.9 dB at 3 kHz, in the band of high,"),
            "{most}"
        );
        let off: Vec<&Finding> = (found.iter())
            .filter(|f| f.code == "way-off-its-target")
            .collect();
        assert_eq!(off.len(), 1);
        assert!(
            off[0]
                .message
                .starts_with("high is off its target by 1.30 dB")
        );
        let phases = &find(&found, "phases-apart").message;
        assert!(
            phases.contains("31° apart") && phases.contains("another proposal"),
            "{phases}"
        );
        assert!(found.iter().all(|f| f.severity == Caution));
    }

    /// 110 mm at 700 Hz and 343 m/s: 360 · 700 · 0.11 / 343 = 81°.
    #[test]
    fn depth_with_its_cure() {
        let deep = Brief::default()
            .with("crossover", "700 Hz")
            .with("back_high", "110 mm");
        let costs = found(&deep, |_, _| {});
        let finding = find(&costs, "depth-costs");
        assert_eq!(finding.severity, Caution);
        for part in [
            "high is 110 mm farther",
            "81° at 700 Hz",
            "set low back, or high forward, by 110 mm",
            "alignment = \"auto\"",
        ] {
            assert!(finding.message.contains(part), "{part}: {finding:?}");
        }
        let other = Brief::default().with("back_low", "110 mm");
        let message = &find(&found(&other, |_, _| {}), "depth-costs")
            .message
            .clone();
        assert!(message.contains("110 mm nearer"), "{message}");
        assert!(
            message.contains("set high back, or low forward"),
            "{message}"
        );
        let apart = found(&deep, |figures, _| {
            figures.crossovers[0].phase_match_deg = 40.0
        });
        let message = &find(&apart, "phases-apart").message;
        assert!(message.contains("depth alone makes 81°"), "{message}");
    }

    #[test]
    fn a_little_depth_is_a_note_or_nothing() {
        // 8 mm at 800 Hz: 7°.
        let flat = found(&Brief::default().with("back_high", "8 mm"), |_, _| {});
        assert!(!flat.iter().any(|f| f.code.starts_with("depth")));
        // 26 mm: 22°.
        let some = found(&Brief::default().with("back_high", "26 mm"), |_, _| {});
        assert_eq!(find(&some, "depth-costs-little").severity, Note);
    }

    #[test]
    fn cautions_of_the_kind() {
        let valve = found(&Brief::default().with("output", "1.8 ohm"), |_, _| {});
        assert!(find(&valve, "valve-amplifier").message.contains("1.8 Ω"));
        assert!(!has(
            &found(&Brief::default().with("output", "0.1 ohm"), |_, _| {}),
            "valve-amplifier"
        ));
        let brief = Brief::default();
        let job = brief.job();
        let no_pad = found(&brief, |figures, _| {
            figures.level_db = job.ways[1].level_db - 0.5;
        });
        assert!(!has(&no_pad, "hot-pad-resistors"));
        // 10 dB leave a tenth of the power.
        let pad = found(&brief, |figures, _| {
            figures.level_db = job.ways[1].level_db - 10.0;
        });
        let message = &find(&pad, "hot-pad-resistors").message;
        assert!(
            message.contains("10.0 dB off high (about 90 %"),
            "{message}"
        );
    }
}
