//! Parts that are made of several: how what the whole gets is shared among its pieces.

use netlist::network::{Joined, MadeOf, Part, PartKind};

/// A piece of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StressedPiece {
    /// Its value, SI.
    pub(super) value: f64,
    /// Its share of what counts for its rating: of a resistor's power, a capacitor's voltage, a coil's
    /// current.
    pub(super) share: f64,
}

/// The pieces of a part: one, with all of it, for a part that is not made of several. None for a coupling
/// and for a driver.
pub(super) fn pieces(part: &Part) -> Vec<StressedPiece> {
    let Some(value) = part.value_si() else {
        return Vec::new();
    };
    let Some(made_of) = &part.made_of else {
        return vec![StressedPiece { value, share: 1.0 }];
    };
    let weight = weight(&part.kind, made_of);
    let sum: f64 = made_of.values.iter().map(|value| weight(*value)).sum();
    let all_alike = sum == 0.0;
    (made_of.values.iter())
        .map(|&value| StressedPiece {
            value,
            share: if all_alike { 1.0 } else { weight(value) / sum },
        })
        .collect()
}

/// By what the pieces divide it; 0 where each gets all of it.
///
/// In series one current flows through all, so that power and voltage divide as the impedances do; side
/// by side all have one voltage, so that power and current divide as the admittances do.
fn weight(kind: &PartKind, made_of: &MadeOf) -> fn(f64) -> f64 {
    match (kind, made_of.joined) {
        (PartKind::Resistor { .. }, Joined::Series) => |ohm| ohm,
        (PartKind::Resistor { .. }, Joined::Parallel)
        | (PartKind::Capacitor { .. }, Joined::Series)
        | (PartKind::Inductor { .. }, Joined::Parallel) => f64::recip,
        _ => |_| 0.0,
    }
}

#[cfg(test)]
mod tests {
    use netlist::network::NodeId;
    use netlist::quantity::{Farads, Ohms};

    use super::*;

    fn shares(kind: PartKind, joined: Joined, values: &[f64]) -> Vec<f64> {
        let mut part = Part::new(kind);
        part.made_of = Some(MadeOf {
            joined,
            values: values.to_vec(),
        });
        pieces(&part).iter().map(|piece| piece.share).collect()
    }

    #[track_caller]
    fn near(found: &[f64], right: &[f64]) {
        assert_eq!(found.len(), right.len());
        for (found, right) in found.iter().zip(right) {
            assert!((found - right).abs() < 1e-12, "{found} {right}");
        }
    }

    /// Ohm's law by hand: 4 and 12 Ω in series have a quarter and three quarters of the power, side by
    /// side the other way round; 10 and 30 µF in series have three quarters and a quarter of the voltage.
    #[test]
    fn shares_by_hand() {
        let between = [NodeId::IN, NodeId::GND];
        let resistor = PartKind::Resistor {
            resistance: Ohms(16.0),
            between,
        };
        near(
            &shares(resistor.clone(), Joined::Series, &[4.0, 12.0]),
            &[0.25, 0.75],
        );
        near(
            &shares(resistor.clone(), Joined::Parallel, &[4.0, 12.0]),
            &[0.75, 0.25],
        );
        let capacitor = PartKind::Capacitor {
            capacitance: Farads(7.5e-6),
            esr: Ohms(0.0),
            between,
        };
        let values = [10e-6, 30e-6];
        near(
            &shares(capacitor.clone(), Joined::Series, &values),
            &[0.75, 0.25],
        );
        near(&shares(capacitor, Joined::Parallel, &values), &[1.0, 1.0]);
        near(
            &pieces(&Part::new(resistor))
                .iter()
                .map(|p| p.share)
                .collect::<Vec<_>>(),
            &[1.0],
        );
    }
}
