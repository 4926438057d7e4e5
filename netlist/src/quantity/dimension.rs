//! What can be measured.

use std::ops::RangeInclusive;

use super::unit::{SPECS, Spec};

/// What a quantity measures; picks the units that may be written for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Ohm.
    Resistance,
    /// Henry.
    Inductance,
    /// Farad.
    Capacitance,
    /// Hertz.
    Frequency,
    /// Volt.
    Voltage,
    /// Ampere.
    Current,
    /// Watt.
    Power,
    /// Metre.
    Length,
    /// Square metre.
    Area,
    /// Cubic metre.
    Volume,
    /// Decibel.
    Level,
    /// Kelvin.
    TemperatureRise,
    /// A share of 1.
    Share,
    /// Kilogram.
    Mass,
    /// Tesla metre.
    ForceFactor,
    /// Degree.
    Angle,
}

impl Dimension {
    /// All of them, in the order in which a wrong unit is looked up.
    pub const ALL: [Dimension; 16] = [
        Dimension::Resistance,
        Dimension::Inductance,
        Dimension::Capacitance,
        Dimension::Frequency,
        Dimension::Voltage,
        Dimension::Current,
        Dimension::Power,
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Level,
        Dimension::TemperatureRise,
        Dimension::Share,
        Dimension::Mass,
        Dimension::ForceFactor,
        Dimension::Angle,
    ];

    /// With its article, for messages: `an inductance`.
    #[must_use]
    pub fn a_what(self) -> &'static str {
        self.spec().a_what
    }

    /// What is measured, for messages: `inductance`.
    #[must_use]
    pub fn what(self) -> &'static str {
        self.a_what().split_once(' ').map_or("", |(_, what)| what)
    }

    /// Symbol of the SI unit: `Ω`, `H`, `Hz`...
    #[must_use]
    pub fn symbol(self) -> &'static str {
        self.spec().symbol
    }

    /// A well-written value, for messages: `0.33 mH`.
    #[must_use]
    pub fn example(self) -> &'static str {
        self.spec().example
    }

    /// From this size on a number without unit is no value of a loudspeaker in the SI unit, but one
    /// whose unit was forgotten: 24 farad, 180 cubic metres.
    #[must_use]
    pub fn forgotten_unit_from(self) -> Option<f64> {
        self.spec().forgotten_unit_from
    }

    /// Magnitudes that a value of a loudspeaker can have when it is not 0, in the SI unit: wide enough for
    /// anything that is built or measured, narrow enough that no square or product of them overflows.
    #[must_use]
    pub fn within_reason(self) -> RangeInclusive<f64> {
        self.spec().within_reason.clone()
    }

    pub(super) fn spec(self) -> &'static Spec {
        &SPECS[self as usize]
    }
}
