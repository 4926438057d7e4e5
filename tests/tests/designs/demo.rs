//! Whole designs of the demo's invented loudspeakers: what the search reaches, that the same seed
//! gives the same bits, and that bad briefs are told so.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use netlist::network::PartKind;
use netlist::project::{Project, load, load_from};
use num_complex::Complex64;
use solver::goal::Figures;
use solver::search::{
    BriefError, Effort, Job, Outcome, Proposal, WayFit, audio_loads, choose_alignments, depths,
    design, fit_jointly, fit_shape,
};
use solver::synthesis::{PadForm, WayShape};

fn demo(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/demo");
    folder.join(name)
}

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

fn run(project: &Project, effort: Effort) -> Outcome {
    let job = Job::new(project).unwrap();
    let audio = audio_loads(project, &job);
    design(job, &audio, effort, &|| false, &mut |_| {}).unwrap()
}

fn plain(name: &str) -> Project {
    load(&demo(name)).unwrap().project
}

static DEMO: LazyLock<Outcome> = LazyLock::new(|| run(&plain("brief.toml"), Effort::default()));

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
        .flat_map(|(merit, proposal)| {
            let networks = [&proposal.ideal.network, &proposal.snapped.network];
            networks.map(|network| {
                (network.parts().iter())
                    .map(|(name, part)| {
                        let value = part.value_si().unwrap_or(0.0);
                        (format!("{merit:?} {name}"), value.to_bits())
                    })
                    .collect::<Vec<_>>()
            })
        })
        .flatten()
        .collect()
}

#[test]
fn the_demo_reaches_what_is_asked_for_with_parts_from_stock() {
    let best = &DEMO.proposals[0].1;
    let figures = &best.figures;
    let text = summary(figures);
    assert!(figures.rms_db <= 0.8, "{text}");
    assert!(figures.max_db <= 1.8, "{text}");
    assert!(figures.match_db.iter().all(|db| *db <= 1.2), "{text}");
    let phases = figures.crossovers.iter().map(|c| c.phase_match_deg);
    assert!(phases.into_iter().all(|deg| deg <= 30.0), "{text}");
    assert!(
        best.load.least_ohm >= DEMO.job.least_load_ohm,
        "{:?}",
        best.load
    );
    assert!(DEMO.shapes_tried >= 200, "{}", DEMO.shapes_tried);
    assert!(DEMO.proposals.len() >= 3, "{}", DEMO.proposals.len());
    assert!(!DEMO.interrupted);
}

#[test]
fn one_thread_and_two_give_the_same_bits() {
    let effort = Effort {
        starts: 3,
        shortlist: 2,
        finalists: 4,
        ..Effort::default()
    };
    let project = plain("brief.toml");
    let [one, two] = [1, 2].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| run(&project, effort))
    });
    assert_eq!(bits(&one), bits(&two));
    let other = run(&project, Effort { seed: 2, ..effort });
    assert_ne!(bits(&one), bits(&other), "the seed does nothing");
}

#[test]
fn ten_times_the_starts_find_little_more() {
    let effort = Effort::default();
    let more = Effort {
        starts: 10 * effort.starts,
        ..effort
    };
    let least = |outcome: &Outcome| {
        (outcome.proposals.iter())
            .map(|(_, p)| p.ideal.cost)
            .fold(f64::INFINITY, f64::min)
    };
    let (usual, best) = (least(&DEMO), least(&run(&plain("brief.toml"), more)));
    assert!(best >= 0.95 * usual, "{best} after {usual}");
}

/// The same of the chosen shapes alone: each way fitted again from ten times the starts and other
/// seeds, joined and searched to the end.
#[test]
fn ten_times_the_starts_find_little_more_for_the_chosen_network() {
    let chosen = &DEMO.proposals[0].1.ideal;
    let job = &DEMO.job;
    let targets = job.targets(&DEMO.alignments);
    let starts = 10 * Effort::default().starts;
    let best = (2..5).map(|seed| {
        let fits: Vec<WayFit> = (chosen.shapes.iter().enumerate())
            .map(|(way, &shape)| {
                fit_shape(job, way, &targets, shape, chosen.level_db, seed, 0..starts).unwrap()
            })
            .collect();
        let fits: Vec<&WayFit> = fits.iter().collect();
        let joined = fit_jointly(job, &targets, &fits, &chosen.inverted, chosen.level_db, 300);
        joined.unwrap().cost
    });
    let best = best.fold(f64::INFINITY, f64::min);
    assert!(best >= 0.95 * chosen.cost, "{best} after {}", chosen.cost);
}

/// The mid horn's resonance is at 385 Hz, 0.76 octaves below its crossover: one capacitor leaves it nearly
/// all of its voltage there, third order 11 dB less. What does not protect is not proposed.
#[test]
fn a_gentle_high_pass_does_not_protect_a_compression_driver() {
    let job = &DEMO.job;
    let targets = job.targets(&DEMO.alignments);
    let shape = DEMO.proposals[0].1.ideal.shapes[1];
    let fit = |high_pass: u8| {
        let shape = WayShape { high_pass, ..shape };
        fit_shape(job, 1, &targets, shape, 95.9, 1, 0..6).unwrap()
    };
    assert!(!fit(1).protects && fit(3).protects);
    assert!(DEMO.shortlists.iter().flatten().all(|fit| fit.protects));
}

/// With autoformers in the stock they compete, and without small resistors for the lower branch of an
/// L-pad they win.
#[test]
fn an_autoformer_pads_where_the_stock_has_one() {
    let project = brief_with(&[
        (
            "[stock]",
            "[stock]\nautoformers = { inductance = \"60 mH\", dcr = \"0.4 ohm\", step = \"1 dB\" }",
        ),
        ("from = \"0.47 ohm\"", "from = \"6.8 ohm\""),
    ]);
    let outcome = run(&project, Effort::default());
    assert!(outcome.shapes_tried > DEMO.shapes_tried);
    let padded = |proposal: &Proposal| {
        let shapes = proposal.snapped.shapes.iter();
        let forms: Vec<bool> = shapes
            .map(|shape| matches!(shape.pad, PadForm::Autoformer { .. }))
            .collect();
        forms.contains(&true)
    };
    let found = outcome.proposals.iter().find(|(_, p)| padded(p));
    let (_, proposal) = found.expect("one of the best has an autoformer");
    let figures = &proposal.figures;
    assert!(figures.rms_db <= 0.8, "{}", summary(figures));
    let parts = proposal.snapped.network.parts();
    let autoformer = parts.values().find_map(|part| match &part.kind {
        PartKind::Autoformer {
            inductance, taps, ..
        } => Some((inductance.0, taps[0].ratio)),
        _ => None,
    });
    let (henry, ratio) = autoformer.unwrap();
    assert!((henry - 60e-3).abs() < 1e-12);
    let steps = -20.0 * ratio.log10();
    // The ratio is written to a millionth.
    assert!((steps - steps.round()).abs() < 1e-4, "{steps} dB is no tap");
}

#[test]
fn the_other_demo_briefs_are_designed_too() {
    for (name, ways) in [("two-way.toml", 2), ("data-sheet.toml", 3)] {
        let outcome = run(&plain(name), Effort::default());
        let best = &outcome.proposals[0].1;
        assert_eq!(best.figures.match_db.len(), ways);
        assert!(
            best.figures.rms_db < 2.0,
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
    // 360° · 700 Hz · 0.11 m / 343.2 m/s.
    assert!((before.angle_deg - 80.8).abs() < 0.3, "{before:?}");
    assert!((before.offset_m - 0.11).abs() < 1e-6, "{before:?}");
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
    let outcome = run(&project, Effort::default());
    let figures = &outcome.proposals[0].1.figures;
    let text = summary(figures);
    assert!(figures.rms_db <= 1.0 && figures.max_db <= 2.5, "{text}");
    assert!(figures.match_db.iter().all(|db| *db <= 1.5), "{text}");
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
    let loud = error(&[("level = \"auto\"", "level = \"112 dB\"")]);
    match loud {
        BriefError::LevelOutOfReach {
            ref driver,
            asked_db,
            ..
        } => {
            assert_eq!(driver, "low");
            assert!((asked_db - 112.0).abs() < 1e-9);
        }
        other => panic!("{other:?}"),
    }
    assert!(loud_message_has_the_way_out(&error(&[(
        "level = \"auto\"",
        "level = \"112 dB\""
    )])));
}

fn loud_message_has_the_way_out(error: &BriefError) -> bool {
    let text = error.to_string();
    text.contains("112.0 dB") && text.contains("low") && text.contains("auto")
}
