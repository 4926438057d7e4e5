//! Candidate networks for one way: which sections it has.

use netlist::project::AutoformerRange;

/// The sections of one way, from the amplifier to the driver: high pass, low pass, pad with
/// equaliser, impedance correction across the driver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct WayShape {
    /// Electrical order of the high pass, 0 (none) to 4.
    pub high_pass: u8,
    /// Electrical order of the low pass, 0 (none) to 4.
    pub low_pass: u8,
    /// A resistor in series with the first shunt capacitor of the low pass.
    pub damped: bool,
    /// Pad.
    pub pad: PadForm,
    /// What bypasses the pad's series resistor.
    pub equaliser: EqualiserForm,
    /// What lies across the driver to even out its impedance.
    pub correction: CorrectionForm,
    /// A parallel trap in series with the driver.
    pub notch: bool,
}

/// Where and how a way is attenuated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PadForm {
    /// Not at all.
    None,
    /// L-pad between the filter and the driver.
    After,
    /// Series resistor between the filter and the driver.
    Series,
    /// L-pad in front of the filter.
    Before,
    /// Autoformer between the filter and the driver, on a tap this many steps below the top, with a
    /// resistor across its winding: a tap makes the driver's impedance so high that no filter of
    /// parts that can be bought would work into it (common practice).
    Autoformer {
        /// Steps of the stock's autoformers.
        steps: u8,
    },
}

/// What evens out a driver's impedance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CorrectionForm {
    /// Nothing.
    None,
    /// A resistor and a capacitor, against the voice coil's inductance.
    Zobel,
    /// A resistor, a capacitor and a coil in series, against the resonance's peak.
    Resonant,
}

impl CorrectionForm {
    /// Number of parts.
    #[must_use]
    pub fn part_count(self) -> usize {
        match self {
            CorrectionForm::None => 0,
            CorrectionForm::Zobel => 2,
            CorrectionForm::Resonant => 3,
        }
    }
}

/// What lets the top pass a pad's series resistor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum EqualiserForm {
    /// Nothing.
    None,
    /// A capacitor.
    Capacitor,
    /// A capacitor and a coil in series.
    Resonant,
}

/// What a way's starting values are worked out from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayStart {
    /// Corner of the high pass, Hz.
    pub from_hz: f64,
    /// Corner of the low pass, Hz.
    pub to_hz: f64,
    /// Impedance level of the driver near the corners, ohm.
    pub load_ohm: f64,
    /// Attenuation wanted, dB.
    pub attenuation_db: f64,
    /// Frequency of a response peak to cut, Hz.
    pub notch_hz: f64,
    /// Frequency of the impedance peak to even out, Hz.
    pub resonance_hz: f64,
    /// Autoformers of the stock.
    pub autoformer: Option<AutoformerRange>,
}

impl WayShape {
    /// Number of parts, the driver not counted.
    #[must_use]
    pub fn part_count(self) -> usize {
        let pad = match self.pad {
            PadForm::None => 0,
            PadForm::Series => 1,
            PadForm::After | PadForm::Before | PadForm::Autoformer { .. } => 2,
        };
        let equaliser = match self.equaliser {
            EqualiserForm::None => 0,
            EqualiserForm::Capacitor => 1,
            EqualiserForm::Resonant => 2,
        };
        usize::from(self.high_pass + self.low_pass)
            + usize::from(self.damped)
            + pad
            + equaliser
            + self.correction.part_count()
            + 3 * usize::from(self.notch)
    }

    /// Shapes worth trying for the lowest way: nothing is attenuated, a low pass of any order.
    #[must_use]
    pub fn for_lowest() -> Vec<WayShape> {
        let mut shapes = Vec::new();
        for low_pass in 1..=4 {
            for damped in [false, true] {
                for correction in [CorrectionForm::None, CorrectionForm::Zobel] {
                    for notch in [false, true] {
                        if damped && low_pass < 2 {
                            continue;
                        }
                        shapes.push(WayShape {
                            high_pass: 0,
                            low_pass,
                            damped,
                            pad: PadForm::None,
                            equaliser: EqualiserForm::None,
                            correction,
                            notch,
                        });
                    }
                }
            }
        }
        shapes
    }

    /// Shapes worth trying for a way above the lowest; a low pass only for one that is not the
    /// highest, an autoformer only on the taps in `tap_steps`.
    #[must_use]
    pub fn for_upper(highest: bool, tap_steps: &[u8]) -> Vec<WayShape> {
        let mut shapes = Vec::new();
        let low_orders = if highest { 0..=0 } else { 0..=3 };
        let mut pads = vec![
            PadForm::None,
            PadForm::After,
            PadForm::Series,
            PadForm::Before,
        ];
        pads.extend((tap_steps.iter()).map(|&steps| PadForm::Autoformer { steps }));
        for high_pass in 1..=4 {
            for low_pass in low_orders.clone() {
                for &pad in &pads {
                    let plain = WayShape {
                        high_pass,
                        low_pass,
                        damped: false,
                        pad,
                        equaliser: EqualiserForm::None,
                        correction: CorrectionForm::None,
                        notch: false,
                    };
                    shapes.push(plain);
                    // The resonance lies below the band: a high pass of one part does not mind it,
                    // and an L-pad at the driver evens the load out already.
                    if high_pass > 1 && pad != PadForm::After {
                        let correction = CorrectionForm::Resonant;
                        shapes.push(WayShape {
                            correction,
                            ..plain
                        });
                    }
                    // A low pass and a lift of the top undo each other.
                    if low_pass > 1 || !matches!(pad, PadForm::After | PadForm::Series) {
                        continue;
                    }
                    for equaliser in [EqualiserForm::Capacitor, EqualiserForm::Resonant] {
                        shapes.push(WayShape { equaliser, ..plain });
                    }
                }
            }
        }
        shapes
    }
}
