//! A closer look at a network between the frequencies of its grid.

use netlist::network::{Network, PartKind};
use num_complex::Complex64;

use super::FilterResonance;
use crate::grid::Grid;
use crate::load::LeastImpedance;
use crate::nodal::{Closer, Drive, Look, Output, Plan, PlanError, Values};
use crate::spectrum::{Spectrum, phase_deg};

/// A compiled network with its loads over a grid.
#[derive(Debug, Clone)]
pub(super) struct Zoom {
    pub(super) network: Network,
    pub(super) plan: Plan,
    pub(super) values: Values,
    pub(super) drive: Drive,
    /// Impedance of each driver of the network over the grid, ohm.
    pub(super) loads: Vec<Spectrum>,
    /// Admittance at `in` over the grid, siemens.
    pub(super) admittance: Spectrum,
}

impl Zoom {
    /// The least |Z| over the frequencies of the grid that are `among` those looked at, and between these;
    /// `None` where there are none or no current flows.
    pub(super) fn least(
        &self,
        grid: &Grid,
        among: impl Fn(usize) -> bool,
    ) -> Result<Option<LeastImpedance>, PlanError> {
        let most = (0..grid.len()).filter(|&i| among(i)).max_by(|&a, &b| {
            let square = |i: usize| self.admittance.at(i).norm_sqr();
            // The lowest frequency among equals.
            square(a).total_cmp(&square(b)).then(b.cmp(&a))
        });
        let Some(most) = most else {
            return Ok(None);
        };
        let look = self.look(grid, most)?;
        let z_ohm = look.solution.input_impedance_at(look.at);
        Ok(z_ohm.map(|z_ohm| LeastImpedance {
            f_hz: look.grid.f_hz()[look.at],
            magnitude_ohm: z_ohm.norm(),
            phase_deg: phase_deg(z_ohm),
        }))
    }

    /// The least |Z| where it is below `share` of that of `sound`: a fault's own doing, also where the sound
    /// network has a lower load somewhere else.
    pub(super) fn least_below(
        &self,
        grid: &Grid,
        sound: &Zoom,
        share: f64,
    ) -> Result<Option<LeastImpedance>, PlanError> {
        self.least(grid, |i| {
            share * self.admittance.at(i).norm() > sound.admittance.at(i).norm()
        })
    }

    /// The series resonance of lowest impedance: a dip of |Z| at which the load turns from capacitive to
    /// inductive, and to less than `share` of what `sound` shows there.
    pub(super) fn series_resonance(
        &self,
        grid: &Grid,
        sound: &Zoom,
        share: f64,
    ) -> Result<Option<FilterResonance>, PlanError> {
        let y = |i: usize| self.admittance.at(i);
        let dip = (1..grid.len().saturating_sub(1))
            .filter(|&i| {
                let peak = y(i).norm() >= y(i - 1).norm() && y(i).norm() >= y(i + 1).norm();
                peak && y(i - 1).im > 0.0 && y(i + 1).im < 0.0
            })
            .filter(|&i| y(i).norm() * share > sound.admittance.at(i).norm())
            .max_by(|&a, &b| y(a).norm().total_cmp(&y(b).norm()));
        let Some(dip) = dip else {
            return Ok(None);
        };
        let look = self.look(grid, dip)?;
        let z_ohm = look.solution.input_impedance_at(look.at);
        Ok(z_ohm.map(|z_ohm| FilterResonance {
            frequency_hz: look.grid.f_hz()[look.at],
            load_ohm: z_ohm.norm(),
            parts: self.resonant_parts(&look),
        }))
    }

    /// Looks closer and closer at the greatest admittance near position `at` of the grid.
    fn look(&self, grid: &Grid, at: usize) -> Result<Look, PlanError> {
        let loads: Vec<&Spectrum> = self.loads.iter().collect();
        let closer = Closer {
            plan: &self.plan,
            values: &self.values,
            drive: &self.drive,
            grid,
            loads: &loads,
        };
        closer.look(at, |solution, i| {
            let (re, im) = solution.input_admittance();
            re[i] * re[i] + im[i] * im[i]
        })
    }

    /// The coil and the capacitor in which most energy goes to and fro.
    fn resonant_parts(&self, look: &Look) -> Option<[String; 2]> {
        let omega = look.grid.omega()[look.at];
        let mut most: [(f64, Option<&str>); 2] = [(0.0, None); 2];
        for (name, part) in self.network.parts() {
            let Some([positive, negative]) = part.kind.between() else {
                continue;
            };
            let output = Output { positive, negative };
            let volts = look.solution.output_at(output, look.at);
            let (kind, energy) = match part.kind {
                PartKind::Inductor {
                    inductance, dcr, ..
                } => {
                    let z_ohm = Complex64::new(dcr.0, omega * inductance.0);
                    (0, inductance.0 * (volts / z_ohm).norm_sqr())
                }
                PartKind::Capacitor {
                    capacitance, esr, ..
                } => {
                    let on_plates = volts / Complex64::new(1.0, omega * capacitance.0 * esr.0);
                    (1, capacitance.0 * on_plates.norm_sqr())
                }
                _ => continue,
            };
            if energy > most[kind].0 {
                most[kind] = (energy, Some(name));
            }
        }
        Some([most[0].1?.to_owned(), most[1].1?.to_owned()])
    }
}
