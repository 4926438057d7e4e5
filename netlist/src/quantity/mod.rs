//! Quantities with units: typed where people type or read them, SI inside.
//!
//! Each type is a newtype over an `f64` in the SI base unit named by its symbol; `.0` is the plain
//! number that goes to the solver.

mod dimension;
mod error;
mod parse;
mod print;
#[cfg(test)]
mod tests;
mod unit;

use std::fmt;
use std::str::FromStr;

pub use dimension::Dimension;
pub use error::QuantityError;

/// Significant figures when a quantity is printed for people and no precision is asked for.
const FIGURES: usize = 4;

/// A physical quantity that is held in one SI unit.
pub trait Quantity: Copy {
    /// What is measured; picks the units.
    const DIMENSION: Dimension;

    /// Wraps a number that is already in the SI unit.
    fn from_si(value: f64) -> Self;

    /// The plain number in the SI unit.
    fn si(self) -> f64;

    /// Reads a written value; see [`Dimension`] for what is measured.
    ///
    /// # Errors
    /// [`QuantityError`] when the text is no number with a unit of this quantity. The number may be
    /// 0 or negative; it is finite.
    fn parse(text: &str) -> Result<Self, QuantityError> {
        Self::DIMENSION.parse(text).map(Self::from_si)
    }

    /// The value as it is written to files: exact, so that [`Quantity::parse`] gives the same
    /// number bit for bit. For a finite value.
    #[must_use]
    fn to_file_string(self) -> String {
        Self::DIMENSION.to_file_string(self.si())
    }
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident, $dimension:ident;)*) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone, Copy, Default, PartialEq, PartialOrd)]
            pub struct $name(pub f64);

            impl Quantity for $name {
                const DIMENSION: Dimension = Dimension::$dimension;

                fn from_si(value: f64) -> Self {
                    Self(value)
                }

                fn si(self) -> f64 {
                    self.0
                }
            }

            impl FromStr for $name {
                type Err = QuantityError;

                fn from_str(text: &str) -> Result<Self, QuantityError> {
                    Self::parse(text)
                }
            }

            /// For people: SI prefix and 4 significant figures; a precision sets the figures.
            impl fmt::Display for $name {
                fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    display(self.0, Dimension::$dimension, f)
                }
            }
        )*
    };
}

quantities! {
    /// Resistance or impedance magnitude, in ohm.
    Ohms, Resistance;
    /// Inductance, in henry.
    Henries, Inductance;
    /// Capacitance, in farad.
    Farads, Capacitance;
    /// Frequency, in hertz.
    Hertz, Frequency;
    /// Voltage, in volt (rms where nothing else is said).
    Volts, Voltage;
    /// Current, in ampere (rms where nothing else is said).
    Amperes, Current;
    /// Power, in watt.
    Watts, Power;
    /// Length, in metre.
    Metres, Length;
    /// Area, in square metre.
    SquareMetres, Area;
    /// Volume, in cubic metre.
    CubicMetres, Volume;
    /// Level or level difference, in decibel.
    Decibels, Level;
    /// Temperature difference, in kelvin.
    Kelvins, TemperatureRise;
    /// A share, held as a fraction: `5 %` is 0.05.
    Fraction, Share;
    /// Mass, in kilogram.
    Kilograms, Mass;
    /// Force factor of a motor, in tesla metre.
    TeslaMetres, ForceFactor;
    /// Angle, in degree: what people type, and what standards state directions in.
    Degrees, Angle;
}

fn display(value: f64, dimension: Dimension, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let text = print::for_people(value, dimension, f.precision().unwrap_or(FIGURES));
    let width = f.width().unwrap_or(0);
    match f.align() {
        Some(fmt::Alignment::Left) => write!(f, "{text:<width$}"),
        Some(fmt::Alignment::Center) => write!(f, "{text:^width$}"),
        _ => write!(f, "{text:>width$}"),
    }
}
