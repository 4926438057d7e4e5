//! The sections that a network may grow by: one to three parts that a builder knows by name.

use std::f64::consts::TAU;

use netlist::network::{NodeId, PartKind};
use netlist::project::StockKind;
use netlist::quantity::{Farads, Henries, Ohms};
use num_complex::Complex64;

use crate::grid::Grid;
use crate::search::job::Job;
use crate::spectrum::Spectrum;
use crate::stock::{loss_law, value_bounds};

/// How the parts of a section are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joining {
    /// One after the other: what lies across two nodes.
    InSeries,
    /// Side by side: what lies in a lead.
    SideBySide,
}

/// Values of a section, in SI; a part that it does not have is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Resistance, ohm.
    pub r_ohm: Option<f64>,
    /// Inductance, henry.
    pub l_h: Option<f64>,
    /// Capacitance, farad.
    pub c_f: Option<f64>,
}

impl Section {
    /// Number of parts.
    #[must_use]
    pub fn part_count(self) -> usize {
        [self.r_ohm, self.l_h, self.c_f]
            .into_iter()
            .flatten()
            .count()
    }

    /// Its parts between two nodes each still to be given, in the order R, L, C, with their losses.
    pub fn kinds(self, losses: &Losses) -> Vec<PartKind> {
        let between = [NodeId::GND; 2];
        let resistor = self.r_ohm.map(|r| PartKind::Resistor {
            resistance: Ohms(r),
            between,
        });
        let inductor = self.l_h.map(|l| PartKind::Inductor {
            inductance: Henries(l),
            dcr: Ohms(losses.coil_ohm(l)),
            between,
        });
        let capacitor = self.c_f.map(|c| PartKind::Capacitor {
            capacitance: Farads(c),
            esr: Ohms(losses.esr_ohm),
            between,
        });
        [resistor, inductor, capacitor]
            .into_iter()
            .flatten()
            .collect()
    }

    /// Admittance of the parts in series, or impedance of the parts side by side, at `omega`.
    #[must_use]
    pub fn immittance(self, joining: Joining, losses: &Losses, omega: f64) -> Complex64 {
        let z = [
            self.r_ohm.map(|r| Complex64::new(r, 0.0)),
            self.l_h
                .map(|l| Complex64::new(losses.coil_ohm(l), omega * l)),
            self.c_f
                .map(|c| Complex64::new(losses.esr_ohm, -1.0 / (omega * c))),
        ];
        let z = z.into_iter().flatten();
        match joining {
            Joining::InSeries => z.sum::<Complex64>().inv(),
            Joining::SideBySide => z.map(|z| z.inv()).sum::<Complex64>().inv(),
        }
    }
}

/// Losses of the parts of a stock.
#[derive(Debug, Clone, Copy)]
pub struct Losses {
    law: crate::goal::ValueLaw,
    esr_ohm: f64,
}

impl Losses {
    /// None at all.
    pub const NONE: Losses = Losses {
        law: crate::goal::ValueLaw::FixedLoss,
        esr_ohm: 0.0,
    };

    /// Those that the stock of a job states, or what is usual.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self {
            law: loss_law(&job.stock, StockKind::Inductor),
            esr_ohm: job
                .stock
                .range(StockKind::Capacitor)
                .esr
                .map_or(0.0, |esr| esr.0),
        }
    }

    fn coil_ohm(&self, inductance_h: f64) -> f64 {
        self.law.loss(inductance_h, 0.0)
    }
}

/// All sections in all sizes that are tried, each with its admittance (in series) or impedance (side by
/// side) over the grid.
#[derive(Debug)]
pub struct Catalogue {
    /// In series, with their admittances in siemens.
    pub in_series: Vec<(Section, Spectrum)>,
    /// Side by side, with their impedances in ohm.
    pub side_by_side: Vec<(Section, Spectrum)>,
}

/// Steps a factor of ten of single values, of resonances, and of pairs.
const SINGLE_STEPS: f64 = 4.0;
const PAIR_STEPS: f64 = 2.0;
const RESONANCE_STEPS: f64 = 5.0;
/// Characteristic impedances of resonant sections, ohm.
const RESONANT_OHM: [f64; 3] = [5.0, 15.0, 45.0];
/// Resistances of sections of three parts, ohm.
const DAMPING_OHM: [f64; 1] = [7.0];
/// Band of resonances that are tried, Hz.
const RESONANCES_HZ: (f64, f64) = (25.0, 22_000.0);

impl Catalogue {
    /// For the stock and the grid of a job.
    #[must_use]
    pub fn new(job: &Job) -> Self {
        let losses = Losses::of(job);
        let (r, l, c) = (
            StockKind::Resistor,
            StockKind::Inductor,
            StockKind::Capacitor,
        );
        let steps = |kind: StockKind, each: f64| {
            let (least, most) = value_bounds(&job.stock, kind);
            geometric(least, most, each)
        };
        let none = Section {
            r_ohm: None,
            l_h: None,
            c_f: None,
        };
        let mut sections = Vec::new();
        for r_ohm in steps(r, SINGLE_STEPS).into_iter().map(Some) {
            sections.push(Section { r_ohm, ..none });
        }
        for l_h in steps(l, SINGLE_STEPS).into_iter().map(Some) {
            sections.push(Section { l_h, ..none });
        }
        for c_f in steps(c, SINGLE_STEPS).into_iter().map(Some) {
            sections.push(Section { c_f, ..none });
        }
        let pair_ohm = geometric(1.0, 60.0, PAIR_STEPS);
        for &r_ohm in &pair_ohm {
            let r_ohm = Some(r_ohm);
            for l_h in steps(l, PAIR_STEPS).into_iter().map(Some) {
                sections.push(Section { r_ohm, l_h, ..none });
            }
            for c_f in steps(c, PAIR_STEPS).into_iter().map(Some) {
                sections.push(Section { r_ohm, c_f, ..none });
            }
        }
        let (least_l, most_l) = value_bounds(&job.stock, l);
        let (least_c, most_c) = value_bounds(&job.stock, c);
        for f_hz in geometric(RESONANCES_HZ.0, RESONANCES_HZ.1, RESONANCE_STEPS) {
            for z_ohm in RESONANT_OHM {
                let (l_h, c_f) = (z_ohm / (TAU * f_hz), 1.0 / (TAU * f_hz * z_ohm));
                if l_h < least_l || l_h > most_l || c_f < least_c || c_f > most_c {
                    continue;
                }
                let (l_h, c_f) = (Some(l_h), Some(c_f));
                sections.push(Section { l_h, c_f, ..none });
                for r_ohm in DAMPING_OHM {
                    sections.push(Section {
                        r_ohm: Some(r_ohm),
                        l_h,
                        c_f,
                    });
                }
            }
        }
        let tabled = |joining: Joining| {
            let tables = sections.iter();
            tables
                .map(|section| (*section, table(*section, joining, &losses, &job.grid)))
                .collect()
        };
        Self {
            in_series: tabled(Joining::InSeries),
            side_by_side: tabled(Joining::SideBySide),
        }
    }

    /// Those joined in one way.
    #[must_use]
    pub fn joined(&self, joining: Joining) -> &[(Section, Spectrum)] {
        match joining {
            Joining::InSeries => &self.in_series,
            Joining::SideBySide => &self.side_by_side,
        }
    }
}

fn table(section: Section, joining: Joining, losses: &Losses, grid: &Grid) -> Spectrum {
    Spectrum::from_fn(grid.len(), |i| {
        section.immittance(joining, losses, grid.omega()[i])
    })
}

/// Values from `least` to `most`, `per_decade` steps a factor of ten, the ends a half step inside.
fn geometric(least: f64, most: f64, per_decade: f64) -> Vec<f64> {
    let decades = (most / least).log10();
    let count = (decades * per_decade).round().max(1.0) as usize;
    (0..count)
        .map(|i| least * 10f64.powf(decades * (i as f64 + 0.5) / count as f64))
        .collect()
}
