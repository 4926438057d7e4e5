//! A real autoformer as a pad: its inductance, its loss and its coupling count.

use num_complex::Complex64;

use super::pad_on_load::PadOnLoad;

/// A tapped winding.
#[derive(Debug, Clone, PartialEq)]
pub struct AutoformerWinding {
    /// Inductance of the whole winding, in henry.
    pub inductance_h: f64,
    /// Resistance of the whole winding, in ohm; shared among its sections by turns.
    pub dcr_ohm: f64,
    /// Coupling factor of any two sections, 0 or more and below 1.
    pub coupling: f64,
    /// Taps that it has besides the one in use, as shares of the turns: they part the winding into
    /// sections, which do not couple perfectly.
    pub taps: Vec<f64>,
}

impl AutoformerWinding {
    /// Winding of which nothing is known: 100 mH, 0.4 Ω, coupled by 0.999 (common practice).
    #[must_use]
    pub fn usual() -> Self {
        Self {
            inductance_h: 0.1,
            dcr_ohm: 0.4,
            coupling: 0.999,
            taps: Vec::new(),
        }
    }

    /// What its tap at `ratio` does at an angular frequency on a driver impedance, fed from `source_ohm`,
    /// with a resistor across the whole winding or none.
    ///
    /// The winding is a two-port: with sections of nᵢ of the turns, coupled by k, and
    /// s = Σnᵢ² + k(1 − Σnᵢ²), so that all sections in series are L, the impedances are
    /// z₁₁ = R + jωL, z₁₂ = rR + jωL(kr + (1 − k)Σ'nᵢ²)/s and z₂₂ = rR + jωL(kr² + (1 − k)Σ'nᵢ²)/s, where
    /// Σ' goes over the sections below the tap. Derived for this program.
    #[must_use]
    pub fn on(
        &self,
        ratio: f64,
        shunt_ohm: Option<f64>,
        omega: f64,
        load_ohm: Complex64,
        source_ohm: Complex64,
    ) -> PadOnLoad {
        // The whole winding is no tap: a hair below it is as good.
        let ratio = whole_is_no_tap(ratio);
        // Sections have squares that do not depend on the order in which the taps are told.
        let next_below = |top: f64| {
            let taps = self.taps.iter().copied().chain([ratio]);
            taps.filter(|tap| *tap < top).fold(0.0, f64::max)
        };
        let (mut all, mut below) = (0.0, 0.0);
        let mut top = 1.0;
        while top > 0.0 {
            let next = next_below(top);
            let square = (top - next) * (top - next);
            all += square;
            if top <= ratio {
                below += square;
            }
            top = next;
        }
        let k = self.coupling;
        let scale = self.inductance_h * omega / (all + k * (1.0 - all));
        let imperfect = (1.0 - k) * below;
        let z11 = Complex64::new(self.dcr_ohm, self.inductance_h * omega);
        let loss = ratio * self.dcr_ohm;
        let z12 = Complex64::new(loss, scale * (k * ratio + imperfect));
        let z22 = Complex64::new(loss, scale * (k * ratio * ratio + imperfect));
        let beside = |z: Complex64| shunt_ohm.map_or(z, |r| z * r / (z + r));
        PadOnLoad {
            transfer: z12 * load_ohm / (z11 * (load_ohm + z22) - z12 * z12),
            seen_ohm: beside(z11 - z12 * z12 / (z22 + load_ohm)),
            behind_ohm: z22 - z12 * z12 / (z11 + beside(source_ohm)),
        }
    }
}

/// A tap, for the whole winding too.
#[must_use]
pub fn whole_is_no_tap(ratio: f64) -> f64 {
    ratio.min(1.0 - 1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synthesis::Pad;

    #[test]
    fn a_perfect_winding_is_the_ideal_tap() {
        let winding = AutoformerWinding {
            inductance_h: 1e4,
            dcr_ohm: 0.0,
            coupling: 1.0 - 1e-13,
            taps: vec![0.8, 0.2],
        };
        let (load, source) = (Complex64::new(7.0, 3.0), Complex64::new(1.8, 0.4));
        for shunt_ohm in [None, Some(15.0)] {
            let ratio = 0.35;
            let real = winding.on(ratio, shunt_ohm, 6000.0, load, source);
            let ideal = Pad::Autoformer { ratio, shunt_ohm }.on(load, source);
            for (a, b) in [
                (real.transfer, ideal.transfer),
                (real.seen_ohm, ideal.seen_ohm),
                (real.behind_ohm, ideal.behind_ohm),
            ] {
                assert!((a - b).norm() < 1e-5 * b.norm(), "{a} {b}");
            }
        }
    }

    #[test]
    fn a_small_winding_takes_more_at_low_frequencies() {
        let winding = AutoformerWinding {
            inductance_h: 0.02,
            ..AutoformerWinding::usual()
        };
        let at = |f_hz: f64| {
            let omega = std::f64::consts::TAU * f_hz;
            let source = Complex64::new(8.0, 0.0);
            let on = winding.on(0.5, None, omega, 8.0.into(), source);
            (on.seen_ohm / (on.seen_ohm + source) * on.transfer).norm()
        };
        assert!(at(40.0) < 0.7 * at(1000.0));
    }
}
