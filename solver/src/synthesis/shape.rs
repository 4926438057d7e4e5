//! The ladder that a way's network grows from: which sections it has.

use netlist::project::AutoformerRange;

/// The sections of one way, from the amplifier to the driver: high pass, low pass, pad.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct WayShape {
    /// Electrical order of the high pass, 0 (none) to 4.
    pub high_pass: u8,
    /// Electrical order of the low pass, 0 (none) to 4.
    pub low_pass: u8,
    /// Pad.
    pub pad: PadForm,
}

/// How a way is attenuated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PadForm {
    /// Not at all.
    None,
    /// L-pad between the filter and the driver.
    After,
    /// Series resistor between the filter and the driver.
    Series,
    /// Autoformer between the filter and the driver, on a tap this many steps below the top, with a
    /// resistor across its winding: a tap makes the driver's impedance so high that no filter of
    /// parts that can be bought would work into it (common practice).
    Autoformer {
        /// Steps of the stock's autoformers.
        steps: u8,
    },
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
            PadForm::After | PadForm::Autoformer { .. } => 2,
        };
        usize::from(self.high_pass + self.low_pass) + pad
    }
}
