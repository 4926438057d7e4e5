//! Acoustic centres against each other: where positions put them, and what the measured phases hold beyond that.

use netlist::project::AlignmentPair;
use netlist::quantity::Quantity;
use serde::Serialize;

use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::search::{Depth, Job, depths, slopes_for};

/// Where the drivers are heard from, and what that does at each crossover.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Centres {
    /// The ways, lowest first.
    pub drivers: Vec<Centre>,
    /// The crossovers, lowest first.
    pub crossovers: Vec<CentresApart>,
    /// The same as the findings have it.
    #[serde(skip)]
    pub depths: Vec<Depth>,
}

/// The acoustic centre of one way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Centre {
    /// Its driver.
    pub driver: String,
    /// Behind that of the lowest way, as the listener hears it, mm.
    pub behind_mm: f64,
    /// How much of it positions and the listener's place make, mm.
    pub placed_mm: f64,
    /// How much of it the measured phases hold, mm; `None` where either has no flight time.
    pub held_mm: Option<f64>,
    /// One standard deviation of that, mm.
    pub sigma_mm: Option<f64>,
}

/// Two acoustic centres at the crossover between them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CentresApart {
    /// The lower and the upper driver.
    pub between: [String; 2],
    /// The crossover, Hz.
    pub frequency_hz: f64,
    /// How much farther the upper one is, mm.
    pub offset_mm: f64,
    /// That as an angle at the crossover, degrees.
    pub angle_deg: f64,
    /// Largest deviation of the sum of ideal slopes within an octave, dB.
    pub deviation_db: f64,
    /// What of it depth alone costs, dB.
    pub cost_db: f64,
    /// The slopes that suffer least from this depth.
    pub slopes: Slopes,
}

/// Slopes of both sides, and what depth does to them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slopes {
    /// The falling side.
    pub lower: String,
    /// The rising side.
    pub upper: String,
    /// Largest deviation of their ideal sum within an octave with this depth, dB.
    pub deviation_db: f64,
}

/// The acoustic centres of a job, for the slopes at its crossovers.
#[must_use]
pub fn centres(job: &Job, alignments: &[AlignmentPair]) -> Centres {
    let mm = 1000.0 * SPEED_OF_SOUND_M_PER_S;
    let drivers = (job.ways.iter().enumerate())
        .map(|(number, way)| {
            let placed_mm = mm * job.placed_later_s(0, number);
            let held_mm = job.held_later_s(0, number).map(|held| mm * held);
            let sigma = (job.ways[0].flight.zip(way.flight)).filter(|_| number > 0);
            Centre {
                driver: way.name.clone(),
                behind_mm: placed_mm + held_mm.unwrap_or(0.0),
                placed_mm,
                held_mm,
                sigma_mm: sigma.map(|(a, b)| mm * a.sigma_s.hypot(b.sigma_s)),
            }
        })
        .collect();
    let depths = depths(job, alignments);
    let crossovers = (job.crossovers.iter().zip(&depths).enumerate())
        .map(|(c, (crossover, depth))| {
            let frequency_hz = crossover.frequency.si();
            let best = slopes_for(frequency_hz, job.later_s(c));
            CentresApart {
                between: [c, c + 1].map(|way| job.ways[way].name.clone()),
                frequency_hz,
                offset_mm: 1000.0 * depth.offset_m,
                angle_deg: depth.angle_deg,
                deviation_db: depth.deviation_db,
                cost_db: depth.deviation_db - depth.deviation_aligned_db,
                slopes: Slopes {
                    lower: best.lower.to_string(),
                    upper: best.upper.to_string(),
                    deviation_db: Depth::at(best, frequency_hz, job.later_s(c)).deviation_db,
                },
            }
        })
        .collect();
    Centres {
        drivers,
        crossovers,
        depths,
    }
}

impl Centres {
    /// Whether any driver lies elsewhere than the lowest, or a phase says something of it.
    #[must_use]
    pub fn is_told(&self) -> bool {
        (self.drivers.iter().skip(1)).any(|d| d.held_mm.is_some() || d.behind_mm.abs() >= 0.5)
    }
}
