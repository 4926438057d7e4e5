//! What can be bought.

use std::str::FromStr;

use crate::quantity::{Decibels, Dimension, Fraction, Henries, Metres, Ohms, Watts};
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
    /// Tapped autoformers to pad a driver with; none are bought when nothing is said.
    pub autoformers: Option<AutoformerRange>,
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

/// Autoformers that pad a driver: one winding with taps in even steps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AutoformerRange {
    /// Inductance of the whole winding.
    pub inductance: Henries,
    /// DC resistance of the whole winding.
    pub dcr: Ohms,
    /// Coupling factor of any two sections.
    pub coupling: f64,
    /// Attenuation from one tap to the next.
    pub step: Decibels,
    /// Attenuation of the lowest tap.
    pub to: Decibels,
}

impl AutoformerRange {
    /// Number of taps below the top.
    #[must_use]
    pub fn taps(&self) -> u8 {
        // Rounding must not lose the last tap.
        (self.to.0 / self.step.0 + 1e-6).floor().clamp(1.0, 255.0) as u8
    }

    /// Share of the turns at a tap, counted in steps from the top; to a millionth, as it is written.
    #[must_use]
    pub fn ratio(&self, steps: u8) -> f64 {
        let ratio = 10f64.powf(-self.step.0 * f64::from(steps) / 20.0);
        (ratio * 1e6).round() / 1e6
    }
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

impl CatalogueItem {
    /// A line that says nothing but a value, and perhaps its name.
    #[must_use]
    pub fn of(kind: StockKind, value_si: f64, name: Option<String>) -> Self {
        Self {
            kind,
            value_si,
            tolerance: None,
            loss: None,
            rating: None,
            price: None,
            name: name.unwrap_or_else(|| kind.describe(value_si)),
            count: None,
        }
    }
}

/// A word that is no kind of stock.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not a kind of part; there are capacitor, inductor and resistor")]
pub struct StockKindError(pub String);

impl FromStr for StockKind {
    type Err = StockKindError;

    fn from_str(text: &str) -> Result<Self, StockKindError> {
        match text.trim().to_lowercase().as_str() {
            "capacitor" | "capacitors" => Ok(StockKind::Capacitor),
            "inductor" | "inductors" | "coil" | "coils" => Ok(StockKind::Inductor),
            "resistor" | "resistors" => Ok(StockKind::Resistor),
            _ => Err(StockKindError(text.chars().take(40).collect())),
        }
    }
}

impl StockKind {
    /// What the trade calls it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            StockKind::Capacitor => "capacitor",
            StockKind::Inductor => "inductor",
            StockKind::Resistor => "resistor",
        }
    }

    /// What its value measures.
    #[must_use]
    pub fn dimension(self) -> Dimension {
        match self {
            StockKind::Capacitor => Dimension::Capacitance,
            StockKind::Inductor => Dimension::Inductance,
            StockKind::Resistor => Dimension::Resistance,
        }
    }

    /// What its rating measures.
    #[must_use]
    pub fn rating_dimension(self) -> Dimension {
        match self {
            StockKind::Capacitor => Dimension::Voltage,
            StockKind::Inductor => Dimension::Current,
            StockKind::Resistor => Dimension::Power,
        }
    }

    /// A value of this kind for people: `22 µF`.
    #[must_use]
    pub fn show(self, value_si: f64) -> String {
        self.dimension().show(value_si)
    }

    /// The same with two figures, in the unit that another value is printed in.
    #[must_use]
    pub fn show_beside(self, value_si: f64, other_si: f64) -> String {
        self.dimension().show_beside(value_si, other_si)
    }

    /// A name for a part that has none: `capacitor 22 µF`.
    pub(super) fn describe(self, value_si: f64) -> String {
        format!("{} {}", self.word(), self.show(value_si))
    }

    /// What is taken for granted when the builder says nothing: E12 capacitors from 1 nF to 10 mF
    /// and coils from 1 µH to 1 H, E24 resistors from 10 mΩ to 100 kΩ. These ends lie far outside
    /// of what a loudspeaker network uses, so they do not limit it.
    #[must_use]
    pub fn default_range(self) -> SeriesRange {
        let (series, from_si, to_si) = match self {
            StockKind::Capacitor => (Series::E12, 1e-9, 1e-2),
            StockKind::Inductor => (Series::E12, 1e-6, 1.0),
            StockKind::Resistor => (Series::E24, 1e-2, 1e5),
        };
        SeriesRange {
            series,
            from_si,
            to_si,
            tolerance: None,
            esr: None,
            wire: None,
            dcr_at_1_mh: None,
            power: None,
            together: 1,
        }
    }
}

impl Stock {
    /// The series range of a kind: what the builder said, or the default.
    #[must_use]
    pub fn range(&self, kind: StockKind) -> SeriesRange {
        let said = match kind {
            StockKind::Capacitor => &self.capacitors,
            StockKind::Inductor => &self.inductors,
            StockKind::Resistor => &self.resistors,
        };
        said.clone().unwrap_or_else(|| kind.default_range())
    }

    /// The items of a kind in the catalogue, in its order.
    pub fn items(&self, kind: StockKind) -> impl Iterator<Item = &CatalogueItem> {
        self.catalogue.iter().filter(move |item| item.kind == kind)
    }
}
