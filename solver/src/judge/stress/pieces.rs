//! Parts that are made of several: how what the whole gets is shared among its pieces.

use netlist::network::{Joined, Part, PartKind};

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
    let capacitor = matches!(part.kind, PartKind::Capacitor { .. });
    let values = part.pieces_si();
    let shares = match part.pieces() {
        Some(made_of) if !each_gets_all(&part.kind, made_of.joined) => made_of.shares(capacitor),
        _ => vec![1.0; values.len()],
    };
    (values.into_iter().zip(shares))
        .map(|(value, share)| StressedPiece { value, share })
        .collect()
}

/// Whether each piece gets all of it: the voltage of capacitors side by side, the current of coils one after the
/// other. Else power and voltage divide in series as the impedances do, and power and current side by side as the
/// admittances do.
fn each_gets_all(kind: &PartKind, joined: Joined) -> bool {
    match kind {
        PartKind::Resistor { .. } => false,
        PartKind::Capacitor { .. } => joined == Joined::Parallel,
        _ => joined == Joined::Series,
    }
}

#[cfg(test)]
mod tests {
    use netlist::network::{MadeOf, NodeId};
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
