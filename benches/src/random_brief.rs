//! Random briefs: invented drivers as measurements show them, with ripple, noise and depth.

use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::io;
use std::path::Path;

use netlist::project::{Project, load_from};
use num_complex::Complex64;
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A brief of two to four ways from a seed.
///
/// # Panics
/// If the text that is made has mistakes, which would be one of this generator.
#[must_use]
pub fn random_brief(seed: u64) -> Project {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let ways = rng.random_range(2..=4usize);
    let (text, tables) = brief(&mut rng, ways, seed);
    loaded(text, tables)
}

/// The project of a text and its tables.
pub(crate) fn loaded(text: String, tables: BTreeMap<String, String>) -> Project {
    let files = |path: &Path| -> io::Result<Vec<u8>> {
        let name = path
            .file_name()
            .and_then(|name| name.to_str())
            .unwrap_or("");
        match name {
            "brief.toml" => Ok(text.clone().into_bytes()),
            _ => tables
                .get(name)
                .map(|table| table.clone().into_bytes())
                .ok_or_else(|| io::ErrorKind::NotFound.into()),
        }
    };
    match load_from(&files, Path::new("brief.toml")) {
        Ok(loaded) => loaded.project,
        Err(problems) => panic!("{problems}\n{text}"),
    }
}

/// What one driver is drawn with.
pub(crate) struct Draw {
    pub(crate) name: &'static str,
    pub(crate) level_db: f64,
    /// Band that it can play.
    pub(crate) band_hz: (f64, f64),
    pub(crate) re_ohm: f64,
    pub(crate) le_h: f64,
    /// Resonances: frequency, height over Re, Q.
    pub(crate) peaks: Vec<(f64, f64, f64)>,
    pub(crate) back_m: f64,
}

fn brief(rng: &mut impl Rng, ways: usize, seed: u64) -> (String, BTreeMap<String, String>) {
    let crossovers_hz: Vec<f64> = match ways {
        2 => vec![rng.random_range(800.0..1600.0)],
        3 => vec![
            rng.random_range(450.0..900.0),
            rng.random_range(4000.0..8000.0),
        ],
        _ => {
            let lowest = rng.random_range(180.0..320.0);
            let middle = rng.random_range(900.0..1500.0);
            vec![lowest, middle, rng.random_range(5000.0..8500.0)]
        }
    };
    let names: &[&str] = match ways {
        2 => &["low", "high"],
        3 => &["low", "mid", "high"],
        _ => &["sub", "low", "mid", "high"],
    };
    let base_db = rng.random_range(89.0..97.0);
    let mut text = String::new();
    let mut tables = BTreeMap::new();
    let output_ohm = [0.0, 0.0, rng.random_range(0.5..2.5)][rng.random_range(0..3usize)];
    let _ = writeln!(
        text,
        "title = \"Random brief {seed} (invented data)\"\n[amplifier]\noutput_impedance = \"{output_ohm:.1} ohm\"\n\
         rated_power = \"25 W\"\nrated_load = \"8 ohm\"\n[aim]\nfrom = \"70 Hz\"\nto = \"15 kHz\"\nminimum_load = \"4.6 ohm\""
    );
    for (way, name) in names.iter().enumerate() {
        let low_hz = if way == 0 {
            25.0
        } else {
            crossovers_hz[way - 1]
        };
        let high_hz = crossovers_hz.get(way).copied().unwrap_or(15_000.0);
        let horn = way > 0 && !(ways == 4 && way == 1);
        let resonance_hz = match way {
            0 => rng.random_range(28.0..45.0),
            _ => low_hz / rng.random_range(1.4..2.4),
        };
        let draw = Draw {
            name,
            level_db: match (way, horn) {
                (0, _) => base_db,
                (_, true) => base_db + rng.random_range(7.0..14.0),
                (_, false) => base_db + rng.random_range(0.5..4.0),
            },
            band_hz: (
                if way == 0 {
                    22.0
                } else {
                    0.75 * resonance_hz.max(0.45 * low_hz)
                },
                if way + 1 == ways {
                    19_000.0
                } else {
                    high_hz * rng.random_range(2.0..4.0)
                },
            ),
            re_ohm: rng.random_range(5.3..7.2),
            le_h: rng.random_range(0.2..0.9) * if way == 0 { 1e-3 } else { 0.1e-3 },
            peaks: match way {
                0 => vec![
                    (0.6 * resonance_hz, rng.random_range(2.0..5.0), 4.0),
                    (1.7 * resonance_hz, rng.random_range(2.0..5.0), 4.0),
                ],
                _ => vec![
                    (resonance_hz, rng.random_range(0.8..3.0), 2.5),
                    (2.3 * resonance_hz, rng.random_range(0.1..0.6), 3.0),
                ],
            },
            back_m: if way == 0 {
                0.0
            } else {
                rng.random_range(0.0..0.11)
            },
        };
        let usable = (0.7 * low_hz, (1.6 * high_hz).min(20_000.0));
        let _ = writeln!(
            text,
            "[drivers.{name}]\nmeasured = {{ impedance = \"{name}-z.txt\", response = \"{name}-p.txt\" }}\n\
             usable = {{ from = \"{:.0} Hz\", to = \"{:.0} Hz\" }}\npower = \"60 W\"\nposition = {{ back = \"{:.0} mm\" }}",
            usable.0,
            usable.1,
            1000.0 * draw.back_m
        );
        let (impedance, response) = measured(rng, &draw);
        tables.insert(format!("{}-z.txt", draw.name), impedance);
        tables.insert(format!("{}-p.txt", draw.name), response);
    }
    for (c, f_hz) in crossovers_hz.iter().enumerate() {
        let _ = writeln!(
            text,
            "[[crossovers]]\nbetween = [\"{}\", \"{}\"]\nfrequency = \"{f_hz:.0} Hz\"\nalignment = \"LR4\"",
            names[c],
            names[c + 1]
        );
    }
    text.push_str(
        "[stock]\ncapacitors = { series = \"E12\", from = \"0.1 uF\", to = \"330 uF\", tolerance = \"5 %\", esr = \"20 mohm\", together = 2 }\n\
         inductors = { series = \"E12\", from = \"50 uH\", to = \"15 mH\", tolerance = \"3 %\", wire = \"1.25 mm\" }\n\
         resistors = { series = \"E24\", from = \"0.47 ohm\", to = \"100 ohm\", tolerance = \"5 %\", power = \"20 W\" }\n",
    );
    (text, tables)
}

/// Tables of impedance and response, without phase: it is the least that belongs to them.
pub(crate) fn measured(rng: &mut impl Rng, draw: &Draw) -> (String, String) {
    let ripple: Vec<(f64, f64, f64)> = (0..7)
        .map(|_| {
            let at = f64::ln(draw.band_hz.0)
                + rng.random_range(0.0..1.0) * f64::ln(draw.band_hz.1 / draw.band_hz.0);
            (at, rng.random_range(-1.8..1.8), rng.random_range(0.08..0.4))
        })
        .collect();
    let slopes = (
        rng.random_range(2..=4) as f64,
        rng.random_range(2..=4) as f64,
    );
    let (mut impedance, mut response) = (String::new(), String::new());
    let rows = 260;
    for i in 0..rows {
        let f_hz = 15.0 * (22_000.0f64 / 15.0).powf(f64::from(i) / f64::from(rows - 1));
        let mut z = Complex64::new(draw.re_ohm, 0.0);
        // A coil on iron: its resistance rises with it.
        z += Complex64::from_polar((TAU * f_hz * draw.le_h).powf(0.75) * 1.2, 0.65 * TAU / 4.0);
        for &(f0_hz, height, q) in &draw.peaks {
            let off = Complex64::new(1.0, q * (f_hz / f0_hz - f0_hz / f_hz));
            z += draw.re_ohm * height / off;
        }
        let noise = 1.0 + 0.004 * rng.random_range(-1.0..1.0);
        let _ = writeln!(impedance, "{f_hz:.3} {:.4}", z.norm() * noise);
        let below = 10.0 * (1.0 + (draw.band_hz.0 / f_hz).powf(2.0 * slopes.0)).log10();
        let above = 10.0 * (1.0 + (f_hz / draw.band_hz.1).powf(2.0 * slopes.1)).log10();
        let bumps: f64 = (ripple.iter())
            .map(|&(at, db, width)| db * (-((f_hz.ln() - at) / width).powi(2)).exp())
            .sum();
        let noise_db = 0.1 * rng.random_range(-1.0..1.0);
        let _ = writeln!(
            response,
            "{f_hz:.3} {:.3}",
            draw.level_db - below - above + bumps + noise_db
        );
    }
    (impedance, response)
}
