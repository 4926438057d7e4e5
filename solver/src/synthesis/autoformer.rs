//! A real autoformer as a pad: its inductance, its loss and its coupling count.

use num_complex::Complex64;

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

    /// Impedances of the two-port from the whole winding to its tap at `ratio`, at an angular frequency: z₁₁, z₁₂ and z₂₂
    /// in ohm.
    ///
    /// With sections of nᵢ of the turns, coupled by k, and
    /// s = Σnᵢ² + k(1 − Σnᵢ²), so that all sections in series are L, the impedances are
    /// z₁₁ = R + jωL, z₁₂ = rR + jωL(kr + (1 − k)Σ'nᵢ²)/s and z₂₂ = rR + jωL(kr² + (1 − k)Σ'nᵢ²)/s, where
    /// Σ' goes over the sections below the tap. Derived for this program.
    #[must_use]
    pub fn impedances_ohm(&self, ratio: f64, omega: f64) -> [Complex64; 3] {
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
        [z11, z12, z22]
    }
}

impl Default for AutoformerWinding {
    fn default() -> Self {
        Self::usual()
    }
}

/// A tap, for the whole winding too.
#[must_use]
pub fn whole_is_no_tap(ratio: f64) -> f64 {
    ratio.min(1.0 - 1e-6)
}
