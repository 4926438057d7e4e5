//! Ladders of L and C between a source without resistance and a resistive load.

use std::f64::consts::TAU;

use super::error::{positive, realisable};
use super::{Prototype, SynthesisError};

/// Which side of the corner a ladder passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LadderSide {
    /// Passes what is below: series inductor first.
    LowPass,
    /// Passes what is above: series capacitor first.
    HighPass,
}

/// Kind and place of an element of a ladder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LadderKind {
    /// Inductor in the path from source to load.
    SeriesInductor,
    /// Capacitor from the path to the return.
    ShuntCapacitor,
    /// Capacitor in the path from source to load.
    SeriesCapacitor,
    /// Inductor from the path to the return.
    ShuntInductor,
}

/// An element of a ladder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LadderElement {
    /// Kind and place.
    pub kind: LadderKind,
    /// Value in henry or farad.
    pub value_si: f64,
}

/// A ladder, elements in order from source to load.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// Passes above or below.
    pub side: LadderSide,
    /// Elements from source to load, as many as the order.
    pub elements: Vec<LadderElement>,
}

impl Ladder {
    /// The ladder of a prototype with its corner at `f_hz`, for a load of `r_ohm` and an ideal
    /// voltage source.
    ///
    /// With g the normalised elements ([`Prototype::ladder_elements`]): low pass L = g·R/2πf and
    /// C = g/2πfR; high pass by s → 1/s, C = 1/(2πf·g·R) and L = R/(2πf·g) in the same places.
    ///
    /// # Errors
    /// As [`Prototype::denominator`]; if `f_hz` or `r_ohm` is not positive and finite, or so extreme
    /// that a value over- or underflows.
    pub fn new(
        prototype: Prototype,
        side: LadderSide,
        f_hz: f64,
        r_ohm: f64,
    ) -> Result<Self, SynthesisError> {
        let omega = TAU * positive("corner frequency in Hz", f_hz)?;
        let r_ohm = positive("load resistance in ohm", r_ohm)?;
        let elements = prototype
            .ladder_elements()?
            .into_iter()
            .enumerate()
            .map(|(i, g)| {
                let in_series = i % 2 == 0;
                let (kind, value_si) = match (side, in_series) {
                    (LadderSide::LowPass, true) => (LadderKind::SeriesInductor, g * r_ohm / omega),
                    (LadderSide::LowPass, false) => {
                        (LadderKind::ShuntCapacitor, g / (omega * r_ohm))
                    }
                    (LadderSide::HighPass, true) => {
                        (LadderKind::SeriesCapacitor, 1.0 / (omega * g * r_ohm))
                    }
                    (LadderSide::HighPass, false) => {
                        (LadderKind::ShuntInductor, r_ohm / (omega * g))
                    }
                };
                let value_si = realisable("ladder element", value_si)?;
                Ok(LadderElement { kind, value_si })
            })
            .collect::<Result<_, _>>()?;
        Ok(Self { side, elements })
    }
}

impl Prototype {
    /// Elements of the normalised low-pass ladder, source first: source resistance 0, load 1 Ω,
    /// corner 1 rad/s; odd places are series inductors, even places shunt capacitors.
    ///
    /// Darlington's synthesis for a lossless ladder between an ideal source and a resistor: split
    /// the denominator into even and odd part, and expand the part of the order's parity over the
    /// other as a continued fraction about infinity; the quotients are the elements, the load's
    /// first.
    ///
    /// # Errors
    /// As [`Prototype::denominator`].
    pub fn ladder_elements(self) -> Result<Vec<f64>, SynthesisError> {
        let denominator = self.denominator()?;
        let coefficients = denominator.coefficients();
        let order = coefficients.len() - 1;
        // Both parts over the same powers of s; every second coefficient is zero.
        let (mut over, mut under): (Vec<f64>, Vec<f64>) = coefficients
            .iter()
            .enumerate()
            .map(|(power, &c)| {
                if (order - power).is_multiple_of(2) {
                    (c, 0.0)
                } else {
                    (0.0, c)
                }
            })
            .unzip();
        let mut elements = Vec::with_capacity(order);
        for degree in (1..=order).rev() {
            let quotient = over[degree] / under[degree - 1];
            elements.push(realisable("ladder element", quotient)?);
            for power in 1..=degree {
                over[power] -= quotient * under[power - 1];
            }
            std::mem::swap(&mut over, &mut under);
        }
        elements.reverse();
        Ok(elements)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_alternate_from_the_source() {
        let prototype = Prototype::Butterworth { order: 3 };
        let kinds = |side| -> Vec<LadderKind> {
            let ladder = Ladder::new(prototype, side, 1000.0, 8.0).unwrap();
            ladder.elements.iter().map(|e| e.kind).collect()
        };
        assert_eq!(
            kinds(LadderSide::LowPass),
            [
                LadderKind::SeriesInductor,
                LadderKind::ShuntCapacitor,
                LadderKind::SeriesInductor
            ]
        );
        assert_eq!(
            kinds(LadderSide::HighPass),
            [
                LadderKind::SeriesCapacitor,
                LadderKind::ShuntInductor,
                LadderKind::SeriesCapacitor
            ]
        );
    }

    #[test]
    fn nonsense_is_refused() {
        let prototype = Prototype::Butterworth { order: 2 };
        for (f_hz, r_ohm) in [
            (0.0, 8.0),
            (1000.0, -8.0),
            (f64::NAN, 8.0),
            (1000.0, f64::INFINITY),
        ] {
            assert!(matches!(
                Ladder::new(prototype, LadderSide::LowPass, f_hz, r_ohm),
                Err(SynthesisError::NotPositive { .. })
            ));
        }
        assert!(matches!(
            Ladder::new(prototype, LadderSide::LowPass, 1e-300, 1e300),
            Err(SynthesisError::NotRealisable { .. })
        ));
    }
}
