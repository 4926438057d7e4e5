//! Whole designs of the demo's invented loudspeakers: what the search reaches, that the same seed
//! gives the same bits, and that bad briefs are told so.

use std::io;
use std::path::Path;
use std::sync::LazyLock;

use netlist::network::{Network, PartKind};
use netlist::project::{Project, load_from};
use num_complex::Complex64;
use solver::air::SPEED_OF_SOUND_M_PER_S;
use solver::goal::Figures;
use solver::search::grow::{EARNS, Losses, Move, PART_WORTH, Problem, moved};
use solver::search::{
    BriefError, CHOICE_WORTH, DesignSettings, Job, Outcome, Proposal, choose_alignments, depths,
    design,
};
use solver::stock::stock_kind;
use tests::snapping::{demo, plain};

/// A demo brief with its text, and the files it names, changed.
fn changed(name: &str, change: impl Fn(&str, String) -> String) -> Project {
    let files = move |path: &Path| -> io::Result<Vec<u8>> {
        let text = std::fs::read_to_string(path)?;
        let file = path.file_name().and_then(|name| name.to_str());
        Ok(change(file.unwrap_or_default(), text).into_bytes())
    };
    load_from(&files, &demo(name)).unwrap().project
}

/// The brief with one piece of its text replaced, which must be there.
fn brief_with(replacements: &[(&str, &str)]) -> Project {
    changed("brief.toml", |file, mut text| {
        if file == "brief.toml" {
            for (old, new) in replacements {
                assert!(text.contains(old), "{old}");
                text = text.replace(old, new);
            }
        }
        text
    })
}

fn run(project: &Project, settings: DesignSettings) -> Outcome {
    design(project, settings, &|| false, &mut |_| {}).unwrap()
}

const QUICK: DesignSettings = DesignSettings {
    seed: 1,
    starts: 1,
    most_parts: None,
    budget: None,
    quick: true,
};

static DEMO: LazyLock<Outcome> =
    LazyLock::new(|| run(&plain("brief.toml"), DesignSettings::default()));

fn summary(figures: &Figures) -> String {
    let phases: Vec<f64> = (figures.crossovers.iter())
        .map(|c| c.phase_match_deg)
        .collect();
    format!(
        "rms {:.2} max {:.2} match {:.2?} phase {phases:.1?}",
        figures.rms_db, figures.max_db, figures.match_db
    )
}

/// Every value of a network, bit by bit, with the names.
fn bits(outcome: &Outcome) -> Vec<(String, u64)> {
    (outcome.proposals.iter())
        .flat_map(|proposal| [&proposal.ideal.network, &proposal.snapped.network])
        .flat_map(|network| {
            network.parts().iter().map(|(name, part)| {
                let value = part.value_si().unwrap_or(0.0);
                (name.clone(), value.to_bits())
            })
        })
        .collect()
}

#[test]
fn the_demo_reaches_what_is_asked_for_with_parts_from_stock() {
    let best = &DEMO.proposals[DEMO.chosen];
    let figures = &best.figures;
    let text = summary(figures);
    assert!(figures.rms_db <= 0.45 && best.part_count() <= 18, "{text}");
    assert!(figures.max_db <= 1.1, "{text}");
    assert!(figures.match_db.iter().all(|db| *db <= 0.8), "{text}");
    let phases = figures.crossovers.iter().map(|c| c.phase_match_deg);
    assert!(phases.into_iter().all(|deg| deg <= 15.0), "{text}");
    assert!(
        best.load.least_ohm >= 0.98 * DEMO.job.least_load_ohm,
        "{:?}",
        best.load
    );
    let simple = DEMO.proposals.iter().filter(|p| p.part_count() <= 14);
    let rms = simple
        .map(|p| p.figures.rms_db)
        .fold(f64::INFINITY, f64::min);
    assert!(rms <= 0.45, "{rms}");
    let richest = DEMO.proposals.last().expect("there are some");
    assert!(
        richest.figures.rms_db <= 0.36,
        "{}",
        summary(&richest.figures)
    );
    assert!(!DEMO.interrupted);
}

/// From the simplest to the richest: every network has more parts than the one before and is better for it.
#[test]
fn no_proposal_is_beaten_by_another() {
    let proposals = &DEMO.proposals;
    assert!(proposals.len() >= 5);
    for pair in proposals.windows(2) {
        let more = pair[1].part_count() - pair[0].part_count();
        let gained = pair[0].expected() - pair[1].expected();
        assert!(more > 0 && gained >= EARNS * PART_WORTH * more as f64 - 1e-12);
    }
    let rank = |p: &Proposal| p.expected() + CHOICE_WORTH * p.part_count() as f64;
    let best = rank(&proposals[DEMO.chosen]);
    assert!(proposals.iter().all(|p| rank(p) >= best));
}

/// Each part of each proposal taken out, or replaced by a wire, with all other values fitted anew.
#[test]
fn every_part_of_every_proposal_is_worth_having() {
    let targets = DEMO.job.targets(&DEMO.alignments);
    let whole = Problem::whole(&DEMO.job, &targets);
    let losses = Losses::of(&DEMO.job);
    for proposal in &DEMO.proposals {
        let ideal = &proposal.ideal;
        for (index, (name, part)) in ideal.network.parts().iter().enumerate() {
            if stock_kind(&part.kind).is_none() {
                continue;
            }
            for step in [Move::Open(index), Move::Short(index)] {
                let Some(next) = moved(&ideal.network, &step, &losses) else {
                    continue;
                };
                let Some(without) = whole.fit(&next, ideal.level_db, 40) else {
                    continue;
                };
                let fewer = (ideal.part_count() - without.part_count()) as f64;
                let lost = without.expected() - ideal.expected();
                assert!(
                    lost > 0.2 * EARNS * PART_WORTH * fewer,
                    "{} parts: {name} is worth {lost:.3}",
                    ideal.part_count()
                );
            }
        }
    }
}

/// What the tolerance of the parts is said to add, against builds drawn at random: at the ideal values, where the goal
/// is level, and at those of the stock, where it slopes.
#[test]
fn what_tolerance_adds_is_what_builds_show() {
    let proposal = &DEMO.proposals[DEMO.chosen];
    for rated in [&proposal.ideal, &proposal.snapped] {
        let (said, drawn) = said_and_drawn(&rated.network, rated.level_db);
        assert!((said / drawn - 1.0).abs() < 0.05, "{said} against {drawn}");
    }
}

/// What small tolerances add to the goal of a network, as the search has it and as the mean of drawn builds.
fn said_and_drawn(network: &Network, level_db: f64) -> (f64, f64) {
    use rand::{RngExt, SeedableRng};
    const SMALL: f64 = 0.02;
    let targets = DEMO.job.targets(&DEMO.alignments);
    let whole = Problem::whole(&DEMO.job, &targets);
    let nominal = whole.rate(network, level_db).unwrap();
    let mut fixed = network.clone();
    for part in fixed.parts_mut().values_mut() {
        part.tolerance = Some(netlist::quantity::Fraction(SMALL));
    }
    let said = whole.rate(&fixed, level_db).unwrap().spread;
    let builds = 4000;
    let mut sum = 0.0;
    for build in 0..builds {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(build);
        let draw: Vec<f64> = (0..network.parts().len())
            .map(|_| rng.random_range(-SMALL..SMALL))
            .collect();
        let mirrored = [1.0, -1.0].map(|sign| {
            let mut built = network.clone();
            for ((name, part), draw) in network.parts().iter().zip(&draw) {
                if let (Some(value), true) = (part.value_si(), stock_kind(&part.kind).is_some()) {
                    let value = value * f64::exp(sign * draw);
                    built.set_value(name, value).unwrap();
                }
            }
            whole.cost(&built, nominal.level_db).unwrap()
        });
        sum += 0.5 * (mirrored[0] + mirrored[1]) - nominal.cost;
    }
    (said, sum / builds as f64)
}

#[test]
fn one_thread_and_two_give_the_same_bits() {
    let project = plain("brief.toml");
    let settings = DesignSettings { starts: 2, ..QUICK };
    let [one, two] = [1, 2].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| run(&project, settings))
    });
    assert_eq!(bits(&one), bits(&two));
}

#[test]
fn a_search_that_is_ended_at_once_still_gives_a_network() {
    let outcome = design(&plain("brief.toml"), QUICK, &|| true, &mut |_| {}).unwrap();
    assert!(outcome.interrupted);
    let figures = &outcome.proposals[outcome.chosen].figures;
    assert!(figures.rms_db.is_finite());
}

#[test]
fn a_number_of_parts_and_a_price_are_kept_to() {
    let settings = DesignSettings {
        most_parts: Some(10),
        ..QUICK
    };
    let outcome = run(&plain("brief.toml"), settings);
    assert!(outcome.proposals[outcome.chosen].part_count() <= 10);
    let none = DesignSettings {
        most_parts: Some(1),
        ..QUICK
    };
    let outcome = run(&plain("brief.toml"), none);
    assert_eq!(
        outcome.chosen, 0,
        "the nearest is the one with the fewest parts"
    );
}

/// Crossed ever higher above the resonance of its horn, the loudspeaker gets better or stays: no cliff where a
/// rule sets in.
#[test]
fn there_is_no_cliff_at_any_crossover() {
    let ratios = [1.2, 1.4, 1.6, 2.0];
    let rms: Vec<f64> = ratios
        .iter()
        .map(|ratio| {
            let hz = format!("frequency = \"{:.0} Hz\"", 385.0 * ratio);
            let project = brief_with(&[("frequency = \"650 Hz\"", &hz)]);
            let outcome = run(&project, QUICK);
            outcome.proposals[outcome.chosen].figures.rms_db
        })
        .collect();
    let most = rms.iter().copied().fold(0.0, f64::max);
    assert!(most < 1.0, "{rms:?}");
}

#[test]
fn an_autoformer_pads_where_the_stock_has_one() {
    let project = brief_with(&[
        (
            "[stock]",
            "[stock]\nautoformers = { inductance = \"60 mH\", dcr = \"0.4 ohm\", step = \"1 dB\" }",
        ),
        ("from = \"0.47 ohm\"", "from = \"6.8 ohm\""),
    ]);
    let outcome = run(&project, QUICK);
    let best = &outcome.proposals[outcome.chosen];
    assert!(best.figures.rms_db <= 0.8, "{}", summary(&best.figures));
    for proposal in &outcome.proposals {
        for part in proposal.snapped.network.parts().values() {
            if let PartKind::Autoformer {
                inductance, taps, ..
            } = &part.kind
            {
                assert!((inductance.0 - 60e-3).abs() < 1e-12);
                let steps = -20.0 * taps[0].ratio.log10();
                // The ratio is written to a millionth.
                assert!((steps - steps.round()).abs() < 1e-4, "{steps} dB is no tap");
            }
        }
    }
}

#[test]
fn the_other_demo_briefs_are_designed_too() {
    for (name, ways) in [("two-way.toml", 2), ("data-sheet.toml", 3)] {
        let outcome = run(&plain(name), QUICK);
        let best = &outcome.proposals[outcome.chosen];
        assert_eq!(best.figures.match_db.len(), ways);
        assert!(
            best.figures.rms_db < 1.2,
            "{name}: {}",
            summary(&best.figures)
        );
    }
}

/// 11 cm at 700 Hz turn the upper way by 81°: no pair of like slopes can be right then.
#[test]
fn depth_between_acoustic_centres_is_seen_and_other_ideal_slopes_suit_it() {
    let deep = [
        ("back = \"28 mm\"", "back = \"110 mm\""),
        ("back = \"24 mm\"", "back = \"106 mm\""),
        ("frequency = \"650 Hz\"", "frequency = \"700 Hz\""),
    ];
    let fixed = brief_with(&deep);
    let first = "frequency = \"700 Hz\"\nalignment = \"LR4\"";
    let auto = changed("brief.toml", |file, mut text| {
        if file == "brief.toml" {
            for (old, new) in deep {
                text = text.replace(old, new);
            }
            assert!(text.contains(first));
            text = text.replacen(first, "frequency = \"700 Hz\"\nalignment = \"auto\"", 1);
        }
        text
    });
    let (fixed_job, auto_job) = (Job::new(&fixed).unwrap(), Job::new(&auto).unwrap());
    let like = choose_alignments(&fixed_job);
    let chosen = choose_alignments(&auto_job);
    assert_ne!(like[0], chosen[0]);
    assert_eq!(like[1], chosen[1], "only the first crossover is free");
    let (before, after) = (depths(&fixed_job, &like)[0], depths(&auto_job, &chosen)[0]);
    // 360° · 700 Hz · 0.11 m / 343.2 m/s. The phases of the tables, which hold no flight time, say so to 3 mm.
    assert!((before.angle_deg - 80.8).abs() < 2.3, "{before:?}");
    assert!((before.offset_m - 0.11).abs() < 3e-3, "{before:?}");
    let placed_m = fixed_job.placed_later_s(0, 1) * SPEED_OF_SOUND_M_PER_S;
    assert!((placed_m - 0.11).abs() < 1e-6, "{placed_m}");
    assert!(
        after.deviation_db < before.deviation_db,
        "{after:?} {before:?}"
    );
}

/// The mid is replaced by one 3 dB louder with a third more impedance: only its tables change.
#[test]
fn another_compression_driver_needs_no_other_edit() {
    let scaled = |text: String, by: &dyn Fn(f64) -> f64| {
        text.lines()
            .map(|line| {
                let fields: Vec<&str> = line.split_whitespace().collect();
                match fields.as_slice() {
                    [f_hz, value, phase] if f_hz.parse::<f64>().is_ok() => {
                        let value: f64 = value.parse().unwrap();
                        format!("{f_hz} {:.4} {phase}\n", by(value))
                    }
                    _ => format!("{line}\n"),
                }
            })
            .collect::<String>()
    };
    let project = changed("brief.toml", |file, text| match file {
        "mid-response.txt" => scaled(text, &|db| db + 3.0),
        "mid-impedance.txt" => scaled(text, &|ohm| ohm * 4.0 / 3.0),
        _ => text,
    });
    let louder = Job::new(&project).unwrap();
    let gained = louder.ways[1].level_db - DEMO.job.ways[1].level_db;
    assert!((gained - 3.0).abs() < 1e-3, "{gained}");
    let z: Complex64 = louder.ways[1].z_ohm.at(100) / DEMO.job.ways[1].z_ohm.at(100);
    assert!((z - 4.0 / 3.0).norm() < 1e-3, "{z}");
    let outcome = run(&project, QUICK);
    let figures = &outcome.proposals[outcome.chosen].figures;
    let text = summary(figures);
    assert!(figures.rms_db <= 1.0 && figures.max_db <= 2.5, "{text}");
    assert!(figures.match_db.iter().all(|db| *db <= 1.5), "{text}");
}

#[test]
fn an_open_frequency_is_not_refused_for_what_stands_for_it() {
    // Stands at 1.02 and 1.70 kHz, less than an octave apart; 450 Hz with 2.4 kHz is as good as any.
    let ranges = brief_with(&[
        (
            "frequency = \"650 Hz\"",
            "frequency = { from = \"400 Hz\", to = \"2.6 kHz\" }",
        ),
        (
            "frequency = \"6.5 kHz\"",
            "frequency = { from = \"1.2 kHz\", to = \"2.4 kHz\" }",
        ),
    ]);
    Job::new(&ranges).unwrap();
    // Stands at 77 Hz, where the mid's tables have not begun.
    let low = (
        "frequency = \"650 Hz\"",
        "frequency = { from = \"10 Hz\", to = \"600 Hz\" }",
    );
    Job::new(&brief_with(&[low])).unwrap();
}

#[test]
fn bad_briefs_are_told_so() {
    let mut lonely = plain("two-way.toml");
    lonely.drivers.truncate(1);
    lonely.crossovers.clear();
    assert_eq!(
        Job::new(&lonely).unwrap_err(),
        BriefError::TooFewWays {
            drivers: 1,
            crossovers: 0
        }
    );
    let error = |replacements: &[(&str, &str)]| Job::new(&brief_with(replacements)).unwrap_err();
    let outside = error(&[("from = \"60 Hz\"", "from = \"800 Hz\"")]);
    assert!(
        matches!(outside, BriefError::OutsideAim { .. }),
        "{outside:?}"
    );
    let close = error(&[("frequency = \"6.5 kHz\"", "frequency = \"1.2 kHz\"")]);
    assert!(matches!(close, BriefError::TooClose { .. }), "{close:?}");
    // The mid's tables begin at 100 Hz.
    let blind = error(&[("frequency = \"650 Hz\"", "frequency = \"90 Hz\"")]);
    match blind {
        BriefError::OutsideData { ref driver, .. } => assert_eq!(driver, "mid"),
        other => panic!("{other:?}"),
    }
    // Far out of reach: the loudest is designed in its place, and said.
    let loud = brief_with(&[("level = \"auto\"", "level = \"112 dB\"")]);
    let job = Job::new(&loud).unwrap();
    assert!(job.aim.level.is_none());
    let (way, short_db) = job.level_short().unwrap();
    assert_eq!(way.name, "low");
    assert!((way.reach.level_db + short_db - 112.0).abs() < 1e-9);
}
