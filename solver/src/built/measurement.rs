//! The sweep that was measured: what must hold of it before anything is judged, and its noise.

use netlist::project::{Aim, Project};
use netlist::quantity::{Hertz, Quantity};

/// One impedance sweep at the loudspeaker's terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// File it came from, for messages.
    pub file: String,
    /// Frequencies, Hz, rising.
    pub f_hz: Vec<f64>,
    /// Magnitude, ohm.
    pub ohm: Vec<f64>,
    /// Phase in degrees, where it was measured.
    pub phase_deg: Option<Vec<f64>>,
    /// Names of the drivers that were disconnected.
    pub off: Vec<String>,
}

/// Why a sweep cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SweepError {
    /// Too few points to see a network in.
    #[error(
        "{file}: {points} points are too few to see a network in; at least {LEAST_POINTS} are needed, better 200"
    )]
    TooFew {
        /// The file.
        file: String,
        /// Points.
        points: usize,
    },
    /// Frequencies in kilohertz.
    #[error(
        "{file}: the frequencies run from {from} to {to}: these are kilohertz; column 1 must be in Hz"
    )]
    Kilohertz {
        /// The file.
        file: String,
        /// Lowest number.
        from: f64,
        /// Highest number.
        to: f64,
    },
    /// The table does not reach over the band.
    #[error(
        "{file}: the table runs from {} to {}, but the design is judged from {} to {}; measure at least from {} to {}",
        hz(*.from_hz), hz(*.to_hz), hz(.aim_hz[0]), hz(.aim_hz[1]), hz(.needed_hz[0]), hz(.needed_hz[1])
    )]
    Band {
        /// The file.
        file: String,
        /// Lowest frequency, Hz.
        from_hz: f64,
        /// Highest frequency, Hz.
        to_hz: f64,
        /// Band of the aim, Hz.
        aim_hz: [f64; 2],
        /// Band that would do, Hz.
        needed_hz: [f64; 2],
    },
    /// Phases that no impedance has.
    #[error(
        "{file}: at {} the phase of {phase_deg:.0}° would be a negative resistance, which no loudspeaker has; is column 3 the phase in degrees, and of this measurement?",
        hz(*.f_hz)
    )]
    NegativeResistance {
        /// The file.
        file: String,
        /// First frequency, Hz.
        f_hz: f64,
        /// Phase there.
        phase_deg: f64,
    },
    /// A driver that the network does not feed.
    #[error("the design's network has no driver '{name}'; it has {known}")]
    NoSuchDriver {
        /// The name.
        name: String,
        /// The drivers that there are.
        known: String,
    },
}

/// Least points of a sweep.
pub const LEAST_POINTS: usize = 24;
/// A sweep may begin and end a little inside the aim's band: a third of an octave.
const SHORT_OF: f64 = 1.26;
/// No loudspeaker is measured below this only, Hz.
const KILOHERTZ_BELOW: f64 = 100.0;
/// A phase beyond this is a negative resistance and not noise, degrees.
const MOST_PHASE_DEG: f64 = 95.0;

fn hz(f_hz: f64) -> String {
    format!("{:.3}", Hertz(f_hz))
}

impl Sweep {
    /// Finds what makes it useless for this project; all of it at once.
    #[must_use]
    pub fn mistakes(&self, project: &Project) -> Vec<SweepError> {
        let file = || self.file.clone();
        let mut found = Vec::new();
        let [from, to] = [self.f_hz[0], self.f_hz[self.f_hz.len() - 1]];
        if self.f_hz.len() < LEAST_POINTS {
            found.push(SweepError::TooFew {
                file: file(),
                points: self.f_hz.len(),
            });
        }
        if to <= KILOHERTZ_BELOW {
            found.push(SweepError::Kilohertz {
                file: file(),
                from,
                to,
            });
        } else if let Some(mistake) = self.short_of(&project.aim) {
            found.push(mistake);
        }
        if let Some(phase_deg) = &self.phase_deg {
            let turned = |deg: f64| deg - 360.0 * (deg / 360.0).round();
            let bad = phase_deg
                .iter()
                .position(|deg| turned(*deg).abs() > MOST_PHASE_DEG);
            if let Some(at) = bad {
                found.push(SweepError::NegativeResistance {
                    file: file(),
                    f_hz: self.f_hz[at],
                    phase_deg: turned(phase_deg[at]),
                });
            }
        }
        let fed: Vec<&str> = match &project.network {
            Some(network) => network.driver_names().collect(),
            None => Vec::new(),
        };
        for name in &self.off {
            if !fed.contains(&name.as_str()) {
                found.push(SweepError::NoSuchDriver {
                    name: name.clone(),
                    known: fed.join(", "),
                });
            }
        }
        found
    }

    fn short_of(&self, aim: &Aim) -> Option<SweepError> {
        let [from_hz, to_hz] = [self.f_hz[0], self.f_hz[self.f_hz.len() - 1]];
        let aim_hz = [aim.from.si(), aim.to.si()];
        let needed_hz = [aim_hz[0] * SHORT_OF, aim_hz[1] / SHORT_OF];
        (from_hz > needed_hz[0] || to_hz < needed_hz[1]).then(|| SweepError::Band {
            file: self.file.clone(),
            from_hz,
            to_hz,
            aim_hz,
            needed_hz,
        })
    }
}

/// Standard deviation of noise that is independent from point to point, from the roughness of a curve:
/// the median of the magnitudes of its third differences, which slow changes hardly move. Third
/// differences of noise of deviation 1 have deviation √20; the median of the magnitude of a normal
/// deviate is 0.6745. `None` below 8 points.
#[must_use]
pub(super) fn roughness(values: &[f64]) -> Option<f64> {
    const LEAST: usize = 8;
    if values.len() < LEAST {
        return None;
    }
    let mut rough: Vec<f64> = values
        .windows(4)
        .map(|v| (v[3] - 3.0 * v[2] + 3.0 * v[1] - v[0]).abs())
        .collect();
    rough.sort_by(f64::total_cmp);
    let median = rough[rough.len() / 2];
    Some(median / (0.6745 * 20f64.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against noise that was drawn: sums of twelve even deviates are nearly normal.
    #[test]
    fn roughness_is_the_deviation_of_drawn_noise() {
        let mut state = 1u64;
        let mut even = || {
            state = state
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        for sigma in [0.003, 0.01, 0.05] {
            let values: Vec<f64> = (0..500)
                .map(|i| {
                    let slow = (i as f64 / 40.0).sin();
                    let normal: f64 = (0..12).map(|_| even()).sum::<f64>() - 6.0;
                    slow + sigma * normal
                })
                .collect();
            let found = roughness(&values).unwrap();
            assert!((found / sigma - 1.0).abs() < 0.15, "{sigma}: {found}");
        }
        assert_eq!(roughness(&[1.0; 7]), None);
        assert_eq!(roughness(&[1.0; 9]), Some(0.0));
    }
}
