//! The ways of a loudspeaker as sources in a direction.

use netlist::project::{Position, Project};
use num_complex::Complex64;

use super::SourceKnown;
use super::window::{AXIS, Ray, Window};
use crate::grid::Grid;
use crate::loudspeaker::Loudspeaker;
use crate::nodal::PlanError;
use crate::sound::{Directivity, Ear, pivot, way_of};
use crate::spectrum::Spectrum;

/// The ways of a loudspeaker, ready to be heard from anywhere.
#[derive(Debug, Clone)]
pub struct Sources {
    grid: Grid,
    /// Towards the reference axis.
    ear: Ear,
    pivot: [f64; 3],
    ways: Vec<RadiatingWay>,
}

#[derive(Debug, Clone)]
struct RadiatingWay {
    driver: String,
    position: Position,
    directivity: Directivity,
    /// At 1 m on its own axis, pascal.
    sound: Spectrum,
}

impl Sources {
    /// Of a project with a network; `None` for a brief.
    ///
    /// # Errors
    /// If the network cannot be solved.
    pub fn new(project: &Project, grid: Grid) -> Result<Option<Self>, PlanError> {
        let Some(system) = Loudspeaker::new(project, grid.clone())? else {
            return Ok(None);
        };
        let ways = system.radiated()?.into_iter().map(|(name, sound)| {
            let driver = &project.drivers[name.as_str()];
            RadiatingWay {
                position: driver.position,
                directivity: Directivity::of(driver, &grid),
                driver: name,
                sound,
            }
        });
        Ok(Some(Self {
            ear: Ear::of(project.listener.as_ref()),
            pivot: pivot(project),
            ways: ways.collect(),
            grid,
        }))
    }

    /// The frequencies.
    #[must_use]
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// What is known of each driver's directions.
    #[must_use]
    pub fn known(&self) -> Vec<SourceKnown> {
        let known = self.ways.iter().map(|way| SourceKnown {
            driver: way.driver.clone(),
            known_from: way.directivity.known_from(),
        });
        known.collect()
    }

    /// Mean square pressure of all ways along a ray, pascal².
    #[must_use]
    pub fn power(&self, ray: Ray) -> Vec<f64> {
        self.power_of(ray, |_| true)
    }

    /// The same of those ways whose driver is wanted.
    pub(super) fn power_of(&self, (plane, angle): Ray, wanted: impl Fn(&str) -> bool) -> Vec<f64> {
        let ear = match (plane, angle) {
            AXIS => self.ear,
            _ => self.ear.turned(plane, f64::from(angle), self.pivot),
        };
        let mut sum = vec![Complex64::ZERO; self.grid.len()];
        for way in self.ways.iter().filter(|way| wanted(&way.driver)) {
            let heard = way_of(&way.position, &way.directivity, &ear, &self.grid);
            for (i, sum) in sum.iter_mut().enumerate() {
                *sum += way.sound.at(i) * heard.at(i);
            }
        }
        sum.iter().map(Complex64::norm_sqr).collect()
    }

    /// Mean square pressure over a window, pascal².
    #[must_use]
    pub fn mean(&self, window: &Window) -> Vec<f64> {
        let mut mean = vec![0.0; self.grid.len()];
        for &(ray, weight) in &window.rays {
            for (mean, power) in mean.iter_mut().zip(self.power(ray)) {
                *mean += weight * power;
            }
        }
        mean
    }
}
