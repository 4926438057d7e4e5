//! The figures of merit that are shown.

use num_complex::Complex64;

use super::target::Targets;
use crate::spectrum::Spectrum;

/// How a loudspeaker does.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Level of the aim: asked for, or the one of least rms deviation; dB SPL.
    pub level_db: f64,
    /// Rms deviation of the sum from the aim, dB.
    pub rms_db: f64,
    /// Largest deviation of the sum from the aim, dB.
    pub max_db: f64,
    /// Where it is, Hz.
    pub max_at_hz: f64,
    /// Match of each way, lowest first, dB.
    pub match_db: Vec<f64>,
    /// Each crossover, lowest first.
    pub crossovers: Vec<CrossoverFigures>,
}

/// One crossover.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossoverFigures {
    /// Mean |phase difference| of the two ways over ± half an octave, degrees.
    pub phase_match_deg: f64,
}

/// The load on the amplifier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadFigures {
    /// Least |Z|, ohm.
    pub least_ohm: f64,
    /// Where, Hz.
    pub at_hz: f64,
    /// Phase there, degrees.
    pub phase_deg: f64,
    /// Least equivalent peak dissipation resistance, ohm.
    pub least_epdr_ohm: f64,
}

/// Equivalent peak dissipation resistance of a load on a class-B stage: the resistor that heats one
/// output device as much at its worst moment, `|Z| / (8 sin³(30° + |φ|/3))`.
///
/// The idea is E. Benjamin's (J. Audio Eng. Soc. 42(9), 1994); the closed form follows from the
/// largest value of `(1 − sin t) sin(t − φ)`.
#[must_use]
pub fn epdr_ohm(z_ohm: Complex64) -> f64 {
    let angle = std::f64::consts::FRAC_PI_6 + z_ohm.arg().abs() / 3.0;
    z_ohm.norm() / (8.0 * angle.sin().powi(3))
}

impl LoadFigures {
    /// Of an admittance at `in` over frequency; `None` where no current flows at any of them.
    #[must_use]
    pub fn new(f_hz: &[f64], admittance: (&[f64], &[f64])) -> Option<Self> {
        let z_ohm = |i: usize| Complex64::new(admittance.0[i], admittance.1[i]).inv();
        let finite = (0..f_hz.len()).filter(|&i| z_ohm(i).is_finite());
        let least = finite
            .clone()
            .min_by(|&a, &b| z_ohm(a).norm().total_cmp(&z_ohm(b).norm()))?;
        Some(Self {
            least_ohm: z_ohm(least).norm(),
            at_hz: f_hz[least],
            phase_deg: z_ohm(least).arg().to_degrees(),
            least_epdr_ohm: finite
                .map(|i| epdr_ohm(z_ohm(i)))
                .fold(f64::INFINITY, f64::min),
        })
    }
}

/// Figures of ways (sound in pascal, lowest first) against their targets, on the targets' grid.
/// With no `level_db` asked for, the level is the one of least rms deviation of the sum.
///
/// # Panics
/// If there is not one sound a target.
#[must_use]
pub fn figures(
    f_hz: &[f64],
    ways: &[Spectrum],
    targets: &Targets,
    level_db: Option<f64>,
) -> Figures {
    assert_eq!(ways.len(), targets.ways.len(), "one sound a way");
    let points = f_hz.len();
    let total = crate::sound::sum(ways);
    let over_tilt: Vec<f64> = (0..points)
        .map(|i| crate::sound::level_db(total.at(i)) - targets.tilt_db[i])
        .collect();
    let judged: Vec<usize> = (0..points).filter(|&i| targets.judged[i]).collect();
    let count = judged.len().max(1) as f64;
    let mean = judged.iter().map(|&i| over_tilt[i]).sum::<f64>() / count;
    let level_db = level_db.unwrap_or(mean);
    let mut worst = judged.first().copied().unwrap_or(0);
    let mut square = 0.0;
    for &i in &judged {
        let db = over_tilt[i];
        square += (db - level_db).powi(2);
        if (db - level_db).abs() > (over_tilt[worst] - level_db).abs() {
            worst = i;
        }
    }
    let match_db = ways
        .iter()
        .zip(&targets.ways)
        .map(|(way, target)| {
            let mut sum = 0.0;
            let mut weights = 0.0;
            for i in 0..points {
                let off = crate::sound::level_db(way.at(i)) - level_db - target.level_db[i];
                sum += target.weight[i] * off * off;
                weights += target.weight[i];
            }
            (sum / f64::max(weights, f64::MIN_POSITIVE)).sqrt()
        })
        .collect();
    let crossovers = targets
        .near_crossover
        .iter()
        .enumerate()
        .map(|(c, near)| {
            let differences: Vec<f64> = (0..points)
                .filter(|&i| near[i])
                .map(|i| {
                    (ways[c].at(i) * ways[c + 1].at(i).conj())
                        .arg()
                        .to_degrees()
                        .abs()
                })
                .collect();
            let count = differences.len().max(1) as f64;
            CrossoverFigures {
                phase_match_deg: differences.iter().sum::<f64>() / count,
            }
        })
        .collect();
    Figures {
        level_db,
        rms_db: (square / count).sqrt(),
        max_db: (over_tilt[worst] - level_db).abs(),
        max_at_hz: f_hz[worst],
        match_db,
        crossovers,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form recomputed from the definition to eight digits; 45° and 90° are exact:
    /// √2/4 and 1/(3√3).
    #[test]
    fn a_reactive_load_heats_a_class_b_stage_more() {
        for (phase_deg, ratio) in [
            (0.0, 1.0),
            (10.0, 0.753_330_65),
            (30.0, 0.470_660_25),
            (45.0, std::f64::consts::SQRT_2 / 4.0),
            (60.0, 0.278_066_14),
            (90.0, 1.0 / (3.0 * 3f64.sqrt())),
        ] {
            for sign in [-1.0, 1.0] {
                let z = Complex64::from_polar(7.0, sign * f64::to_radians(phase_deg));
                assert!((epdr_ohm(z) / 7.0 - ratio).abs() < 1e-8, "{phase_deg}");
            }
        }
    }

    /// The definition itself: the worst moment of a device, `(V²/|Z|) (1 − sin t) sin(t − φ)`,
    /// against that of a resistor, `V²/(4R)`.
    #[test]
    fn the_closed_form_is_the_worst_moment() {
        for phase_deg in [5.0, 25.0, 50.0, 75.0] {
            let phase = f64::to_radians(phase_deg);
            let worst = (0..200_000)
                .map(|i| std::f64::consts::TAU * f64::from(i) / 200_000.0)
                .map(|t| (1.0 - t.sin()) * (t - phase).sin())
                .fold(0.0, f64::max);
            let z = Complex64::from_polar(8.0, phase);
            assert!((epdr_ohm(z) - 8.0 / (4.0 * worst)).abs() < 1e-6);
        }
    }
}
