//! A driver and how another sample of it may differ: by its own data where it is modelled, by the shape of
//! its curve where it was measured.

use netlist::project::{Driver, Source};

use super::data::DataModel;
use super::over::DriverCurve;
use super::table::TableModel;
use crate::grid::Grid;

/// A driver with the ways in which a sample of it may differ; the first is all of its impedance.
#[derive(Debug, Clone)]
pub(super) enum DriverModel {
    Table(TableModel),
    Data(Box<DataModel>),
}

impl DriverModel {
    /// The driver behind a lead of that resistance, in ohm.
    pub(super) fn new(driver: &Driver, lead_ohm: f64) -> Self {
        match driver.source {
            Source::Measured(_) => Self::Table(TableModel::new(driver, lead_ohm)),
            Source::Cone(_) | Source::Compression(_) | Source::Horn(_) => {
                Self::Data(Box::new(DataModel::new(driver, lead_ohm)))
            }
        }
    }

    /// Standard deviations of the ways in which it may differ.
    pub(super) fn sigmas(&self) -> Vec<f64> {
        match self {
            Self::Table(table) => table.sigmas(),
            Self::Data(data) => data.sigmas(),
        }
    }

    /// Which difference is the tuning of its box, where it is modelled in one with a vent.
    pub(super) fn tuning(&self) -> Option<usize> {
        match self {
            Self::Table(_) => None,
            Self::Data(data) => data.tuning(),
        }
    }

    /// The driver over a grid for these differences.
    pub(super) fn over(&self, grid: &Grid, differences: &[f64]) -> DriverCurve {
        match self {
            Self::Table(table) => {
                let mut over = DriverCurve::default();
                let mut here = Vec::new();
                for &f_hz in grid.f_hz() {
                    over.z_ohm.push(table.at(f_hz, differences, &mut here));
                    over.slopes.extend_from_slice(&here);
                }
                over
            }
            Self::Data(data) => data.over(grid, differences),
        }
    }
}
