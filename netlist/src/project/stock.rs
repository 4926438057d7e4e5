//! What can be bought.

use crate::quantity::{Fraction, Metres, Ohms, Watts};
use crate::series::Series;

/// What can be bought, for each kind of part; nothing said means E12 capacitors and coils and E24
/// resistors without limits of range.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stock {
    /// Capacitors from a series.
    pub capacitors: Option<SeriesRange>,
    /// Coils from a series.
    pub inductors: Option<SeriesRange>,
    /// Resistors from a series.
    pub resistors: Option<SeriesRange>,
    /// Parts from a list; kinds that the list holds are taken from it, the rest from the series.
    pub catalogue: Vec<CatalogueItem>,
}

/// Preferred values within limits, with the properties of every part of the range.
#[derive(Debug, Clone, PartialEq)]
pub struct SeriesRange {
    /// Series of preferred values.
    pub series: Series,
    /// Least value in the SI unit of the kind.
    pub from_si: f64,
    /// Greatest value in the SI unit of the kind.
    pub to_si: f64,
    /// Tolerance of every part.
    pub tolerance: Option<Fraction>,
    /// Equivalent series resistance of capacitors.
    pub esr: Option<Ohms>,
    /// Wire diameter of air-core coils; their resistance follows from it.
    pub wire: Option<Metres>,
    /// DC resistance of coils at 1 mH where no wire is given, scaled by the square root of the inductance.
    pub dcr_at_1_mh: Option<Ohms>,
    /// Rated power of resistors.
    pub power: Option<Watts>,
    /// How many parts may be joined into one; 1 when not said.
    pub together: u8,
}

/// Kind of a stock item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StockKind {
    /// Capacitor.
    Capacitor,
    /// Inductor.
    Inductor,
    /// Resistor.
    Resistor,
}

/// One line of a catalogue.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueItem {
    /// Kind.
    pub kind: StockKind,
    /// Value in the SI unit of the kind.
    pub value_si: f64,
    /// Tolerance.
    pub tolerance: Option<Fraction>,
    /// DC resistance of a coil, equivalent series resistance of a capacitor.
    pub loss: Option<Ohms>,
    /// Rating as written: watt for resistors, volt for capacitors, ampere for coils.
    pub rating: Option<f64>,
    /// Price of one.
    pub price: Option<f64>,
    /// Name.
    pub name: String,
    /// How many are on hand; no limit when absent.
    pub count: Option<u32>,
}
