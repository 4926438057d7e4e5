//! Values of parts without regard to their kind.

use super::{MadeOf, Part, PartKind};

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

    /// What it is made of, where that is more than one piece.
    #[must_use]
    pub fn several(&self) -> Option<&MadeOf> {
        self.pieces().filter(|made_of| made_of.values.len() > 1)
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
