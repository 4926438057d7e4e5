//! Options of `pad`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use netlist::quantity::{Decibels, Hertz, Kelvins, Ohms, Volts, Watts};
use solver::synthesis::PadKind;

use super::value::{number, quantity};

/// How a pad is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PadKindArgument {
    /// Series resistor, then a resistor across the driver
    LPad,
    /// Series resistor alone
    Series,
    /// Resistor across the filter's output, then a series resistor
    ShuntSeries,
    /// Tap of an autoformer, with a resistor across the winding where the filter needs its load
    Autoformer,
}

impl From<PadKindArgument> for PadKind {
    fn from(kind: PadKindArgument) -> Self {
        match kind {
            PadKindArgument::LPad => PadKind::LPad,
            PadKindArgument::Series => PadKind::Series,
            PadKindArgument::ShuntSeries => PadKind::ShuntSeries,
            PadKindArgument::Autoformer => PadKind::Autoformer,
        }
    }
}

#[derive(Debug, Args)]
pub(crate) struct PadArguments {
    /// Project file, TOML or JSON: the pad works on the real impedance of one of its drivers
    #[arg(conflicts_with = "demo")]
    pub(crate) file: Option<PathBuf>,
    /// Use the demo inside the program
    #[arg(long)]
    pub(crate) demo: bool,
    /// Driver of the project that the pad is for
    #[arg(long, value_name = "NAME")]
    pub(crate) driver: Option<String>,
    /// A plain resistor in place of a driver, such as "8 ohm"; with a project, the rated impedance that the
    /// textbook's pad is sized for
    #[arg(long, value_name = "OHM", allow_hyphen_values = true, value_parser = quantity::<Ohms>)]
    pub(crate) load: Option<Ohms>,
    /// Size a pad of so much attenuation, such as "10 dB"
    #[arg(long, value_name = "DB", conflicts_with_all = ["series", "shunt"], allow_hyphen_values = true, value_parser = quantity::<Decibels>)]
    pub(crate) attenuation: Option<Decibels>,
    /// Check a pad with this series resistor
    #[arg(long, value_name = "OHM", allow_hyphen_values = true, value_parser = quantity::<Ohms>)]
    pub(crate) series: Option<Ohms>,
    /// Check a pad with this shunt resistor
    #[arg(long, value_name = "OHM", allow_hyphen_values = true, value_parser = quantity::<Ohms>)]
    pub(crate) shunt: Option<Ohms>,
    /// How the pad is built [default: l-pad, or what --series and --shunt make]
    #[arg(long, value_enum)]
    pub(crate) kind: Option<PadKindArgument>,
    /// Taps of the autoformer as shares of its turns, such as 0.71,0.5,0.35 [default: wound to order]
    #[arg(long, value_name = "RATIOS", value_delimiter = ',', allow_hyphen_values = true, value_parser = number)]
    pub(crate) taps: Vec<f64>,
    /// Rms voltage that the autoformer's core stands at 100 Hz [default: 10 V]
    #[arg(long, value_name = "V", allow_hyphen_values = true, value_parser = quantity::<Volts>)]
    pub(crate) core: Option<Volts>,
    /// Amplifier's power [default: rated_power of the project, or 1 W]
    #[arg(long, value_name = "W", allow_hyphen_values = true, value_parser = quantity::<Watts>)]
    pub(crate) power: Option<Watts>,
    /// Frequencies to show, such as 650,"6.5 kHz"; rising
    #[arg(long, value_delimiter = ',', value_name = "FREQUENCIES", allow_hyphen_values = true, value_parser = quantity::<Hertz>)]
    pub(crate) at: Vec<Hertz>,
    /// How much hotter the voice coil gets [default: 100 K]
    #[arg(long, value_name = "K", allow_hyphen_values = true, value_parser = quantity::<Kelvins>)]
    pub(crate) hot: Option<Kelvins>,
    /// How far the steps of 1 dB go on either side
    #[arg(long, value_name = "DB", default_value = "3 dB", allow_hyphen_values = true, value_parser = quantity::<Decibels>)]
    pub(crate) steps: Decibels,
    /// Write a picture (SVG) of impedance and attenuation over frequency
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// Overwrite the picture if it is there
    #[arg(long, requires = "picture")]
    pub(crate) force: bool,
    /// Print one JSON document
    #[arg(long)]
    pub(crate) json: bool,
}
