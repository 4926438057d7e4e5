//! Quantities with units: typed where people type or read them, SI inside.
//!
//! Each type is a newtype over an `f64` in the SI base unit named by its symbol; `.0` is the plain
//! number that goes to the solver.

/// A physical quantity that is held in one SI unit.
pub trait Quantity: Copy {
    /// Symbol of the unit, as printed: `Ω`, `H`, `Hz`...
    const SYMBOL: &'static str;
    /// What is measured, for messages: `resistance`, `inductance`...
    const WHAT: &'static str;

    /// Wraps a number that is already in the SI unit.
    fn from_si(value: f64) -> Self;

    /// The plain number in the SI unit.
    fn si(self) -> f64;
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident, $symbol:literal, $what:literal;)*) => {
        $(
            $(#[$doc])*
            #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
            pub struct $name(pub f64);

            impl Quantity for $name {
                const SYMBOL: &'static str = $symbol;
                const WHAT: &'static str = $what;

                fn from_si(value: f64) -> Self {
                    Self(value)
                }

                fn si(self) -> f64 {
                    self.0
                }
            }
        )*
    };
}

quantities! {
    /// Resistance or impedance magnitude, in ohm.
    Ohms, "Ω", "resistance";
    /// Inductance, in henry.
    Henries, "H", "inductance";
    /// Capacitance, in farad.
    Farads, "F", "capacitance";
    /// Frequency, in hertz.
    Hertz, "Hz", "frequency";
    /// Voltage, in volt (rms where nothing else is said).
    Volts, "V", "voltage";
    /// Current, in ampere (rms where nothing else is said).
    Amperes, "A", "current";
    /// Power, in watt.
    Watts, "W", "power";
    /// Length, in metre.
    Metres, "m", "length";
    /// Area, in square metre.
    SquareMetres, "m²", "area";
    /// Volume, in cubic metre.
    CubicMetres, "m³", "volume";
    /// Level or level difference, in decibel.
    Decibels, "dB", "level";
    /// Temperature difference, in kelvin.
    Kelvins, "K", "temperature rise";
    /// A share, held as a fraction: `5 %` is 0.05.
    Fraction, "%", "share";
}
