//! How the sound changes from one set of curves to another.

use netlist::project::Project;
use netlist::quantity::Quantity;
use serde::Serialize;

use crate::loudspeaker::Curves;
use crate::sound::level_db;
use crate::spectrum::Spectrum;

/// Change of a level over a band, dB.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LevelChange {
    /// Mean over the band: what the volume control can take back.
    pub mean_db: f64,
    /// Lowest change in the band.
    pub least_db: f64,
    /// Highest change in the band.
    pub most_db: f64,
    /// Largest deviation from the mean: what it cannot.
    pub shape_db: f64,
    /// Where that is, Hz.
    pub shape_at_hz: f64,
}

/// Change of every way in its own band and of the sum in the aim's band.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Changes {
    /// Ways in the order of the parts.
    pub ways: Vec<WayChange>,
    /// The sum.
    pub system: LevelChange,
}

/// Change of one way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayChange {
    /// Name of the driver.
    pub driver: String,
    /// Change in its band.
    #[serde(flatten)]
    pub change: LevelChange,
}

/// Band of a driver: between the crossovers that name it, or to the end of the aim.
pub(super) fn band_hz(project: &Project, driver: &str) -> (f64, f64) {
    let at = |side: usize| {
        (project.crossovers.iter())
            .find(|crossover| crossover.between[side] == driver)
            .map(|crossover| crossover.frequency.si())
    };
    let (from, to) = (project.aim.from.si(), project.aim.to.si());
    (at(1).unwrap_or(from), at(0).unwrap_or(to))
}

/// What changes from `before` to `after`, both on the frequencies `f_hz`, evenly spaced in log-frequency.
pub(super) fn changes(project: &Project, f_hz: &[f64], before: &Curves, after: &Curves) -> Changes {
    let aim = (project.aim.from.si(), project.aim.to.si());
    Changes {
        ways: (before.ways.iter().zip(&after.ways))
            .map(|((driver, before), (_, after))| WayChange {
                driver: driver.clone(),
                change: change(f_hz, before, after, band_hz(project, driver)),
            })
            .collect(),
        system: change(f_hz, &before.system, &after.system, aim),
    }
}

fn change(f_hz: &[f64], before: &Spectrum, after: &Spectrum, band: (f64, f64)) -> LevelChange {
    let found: Vec<(f64, f64)> = (0..f_hz.len())
        .filter(|&i| f_hz[i] >= band.0 && f_hz[i] <= band.1)
        .map(|i| (f_hz[i], level_db(after.at(i)) - level_db(before.at(i))))
        .collect();
    let mean_db = found.iter().map(|(_, db)| db).sum::<f64>() / found.len().max(1) as f64;
    let mut change = LevelChange {
        mean_db,
        least_db: mean_db,
        most_db: mean_db,
        shape_db: 0.0,
        shape_at_hz: band.0,
    };
    for (f, db) in found {
        change.least_db = change.least_db.min(db);
        change.most_db = change.most_db.max(db);
        if (db - mean_db).abs() > change.shape_db {
            change.shape_db = (db - mean_db).abs();
            change.shape_at_hz = f;
        }
    }
    change
}
