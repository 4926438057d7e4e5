//! Reading and changing the values of parts without regard to their kind.

use super::{MadeOf, Network, Part, PartKind};
use crate::quantity::{Farads, Henries, Ohms};

/// Why a value cannot be set.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SetValueError {
    /// The network has no such part.
    #[error("the network has no part '{0}'")]
    NoSuchPart(String),
    /// A driver or a coupling has no value of that sort.
    #[error("'{0}' is a {1} and has no such value")]
    NoValue(String, &'static str),
    /// The value cannot be.
    #[error("{1} is not a value for '{0}'")]
    OutOfRange(String, f64),
}

impl Part {
    /// The value in SI: ohm, henry or farad; none for a coupling or a driver.
    #[must_use]
    pub fn value_si(&self) -> Option<f64> {
        match &self.kind {
            PartKind::Resistor { resistance, .. } => Some(resistance.0),
            PartKind::Inductor { inductance, .. } | PartKind::Autoformer { inductance, .. } => {
                Some(inductance.0)
            }
            PartKind::Capacitor { capacitance, .. } => Some(capacitance.0),
            PartKind::Coupling { .. } | PartKind::Driver { .. } => None,
        }
    }

    /// The series resistance in ohm: DCR or ESR; none for a part without one.
    #[must_use]
    pub fn loss_ohm(&self) -> Option<f64> {
        match &self.kind {
            PartKind::Inductor { dcr, .. } | PartKind::Autoformer { dcr, .. } => Some(dcr.0),
            PartKind::Capacitor { esr, .. } => Some(esr.0),
            _ => None,
        }
    }

    /// What it is made of, where that is told.
    #[must_use]
    pub fn pieces(&self) -> Option<&MadeOf> {
        (self.made_of.as_ref()).filter(|made_of| !made_of.values.is_empty())
    }

    /// What the parts of [`Part::made_of`] make together, in SI: capacitors side by side add up,
    /// and so do coils and resistors one after the other.
    #[must_use]
    pub fn made_of_value(&self) -> Option<f64> {
        let capacitors = matches!(self.kind, PartKind::Capacitor { .. });
        Some(self.pieces()?.value_si(capacitors))
    }

    /// The values of the pieces that it is bought as, in SI: its own where it is one piece; none of a coupling or a driver.
    #[must_use]
    pub fn pieces_si(&self) -> Vec<f64> {
        match (self.pieces(), self.value_si()) {
            (Some(made_of), Some(_)) => made_of.values.clone(),
            (_, value_si) => value_si.into_iter().collect(),
        }
    }
}

impl Network {
    /// Sets the value of a part, in SI; what it was made of is forgotten.
    ///
    /// # Errors
    /// When there is no such part, it has no value, or the value is not above 0 and finite; the
    /// network is then unchanged.
    pub fn set_value(&mut self, name: &str, value_si: f64) -> Result<(), SetValueError> {
        let part = self.part_mut(name)?;
        if !(value_si > 0.0 && value_si.is_finite()) {
            return Err(SetValueError::OutOfRange(name.to_owned(), value_si));
        }
        match &mut part.kind {
            PartKind::Resistor { resistance, .. } => *resistance = Ohms(value_si),
            PartKind::Inductor { inductance, .. } | PartKind::Autoformer { inductance, .. } => {
                *inductance = Henries(value_si);
            }
            PartKind::Capacitor { capacitance, .. } => *capacitance = Farads(value_si),
            kind => return Err(SetValueError::NoValue(name.to_owned(), kind.word())),
        }
        part.made_of = None;
        Ok(())
    }

    fn part_mut(&mut self, name: &str) -> Result<&mut Part, SetValueError> {
        self.parts_mut()
            .get_mut(name)
            .ok_or_else(|| SetValueError::NoSuchPart(name.to_owned()))
    }
}
