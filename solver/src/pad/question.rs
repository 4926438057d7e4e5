//! What is asked about a pad, and why it cannot be answered.

use serde::Serialize;

use crate::grid::Grid;
use crate::nodal::PlanError;
use crate::synthesis::{Pad, PadKind, SynthesisError};

/// Which pad is asked about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PadGoal {
    /// Find one.
    Size {
        /// How it is built.
        kind: PadKind,
        /// Attenuation in dB.
        attenuation_db: f64,
    },
    /// Look at one.
    Check(Pad),
    /// Look at the one that is in the network.
    AsBuilt,
}

impl PadGoal {
    /// Where the pad comes from then.
    #[must_use]
    pub fn origin(&self) -> PadOrigin {
        match self {
            Self::Size { .. } => PadOrigin::Stock,
            Self::Check(_) => PadOrigin::Given,
            Self::AsBuilt => PadOrigin::AsBuilt,
        }
    }
}

/// Where the pad that is looked at comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PadOrigin {
    /// The best from stock.
    Stock,
    /// Given.
    Given,
    /// In the network.
    #[serde(rename = "design")]
    AsBuilt,
}

/// What is asked about a pad on a resistor or before a driver of a project.
#[derive(Debug, Clone)]
pub struct PadQuestion {
    /// Which pad.
    pub goal: PadGoal,
    /// The resistor; of a driver its rated impedance, where it is not what the impedance says; ohm.
    pub load_ohm: Option<f64>,
    /// Taps at hand as shares of the turns; none when nobody named any.
    pub taps: Vec<f64>,
    /// What the core of an autoformer stands, rms volts for each hertz.
    pub core_v_per_hz: f64,
    /// Power of the amplifier, W; `None` for what the project says.
    pub power_w: Option<f64>,
    /// Frequencies to show.
    pub at: Option<Grid>,
    /// How much hotter the voice coil gets, K.
    pub hot_k: f64,
    /// Steps of 1 dB to each side.
    pub steps_db: u8,
}

/// Why nothing can be said of a pad; its text says what is the matter, [`PadError::help`] the way out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PadError {
    /// Another driver is served by the same parts.
    #[error(
        "driver {driver} is in series with {other}, or shares its return lead: what attenuates there serves both, and no pad of {driver} alone can be told"
    )]
    Shared {
        /// The driver.
        driver: String,
        /// Part of the other one.
        other: String,
    },
    /// The network before the pad cannot be solved.
    #[error(transparent)]
    Network(#[from] PlanError),
    /// The rest of a larger pad takes more than is asked for.
    #[error("behind the pad {} already takes {takes_db:.1} dB", .behind.join(", "))]
    TailTakesMore {
        /// Its parts.
        behind: Vec<String>,
        /// What it takes, dB.
        takes_db: f64,
    },
    /// The network does not feed the driver.
    #[error("the network does not feed driver {0}")]
    NotFed(String),
    /// There is no pad to look at.
    #[error("no pad was found in front of driver {driver}{}", cannot_be(.stays))]
    NoPad {
        /// The driver.
        driver: String,
        /// What attenuates and cannot be taken for it.
        stays: Vec<String>,
    },
    /// No pad has the attenuation.
    #[error(transparent)]
    Attenuation(#[from] SynthesisError),
    /// The stock makes none.
    #[error("the stock has no resistors for such a pad")]
    NoResistors,
}

fn cannot_be(stays: &[String]) -> String {
    match stays {
        [] => String::new(),
        [one] => format!("; {one} cannot be taken for it"),
        several => format!("; none of {} can be taken for it", several.join(", ")),
    }
}

impl PadError {
    /// The way out.
    #[must_use]
    pub fn help(&self) -> String {
        match self {
            Self::Shared { driver, .. } => format!(
                "enter the two as one driver with the impedance of both, or give {driver} an L-pad of its own, with the shunt from terminal to terminal"
            ),
            Self::Network(_) => "change the parts named above".to_owned(),
            Self::TailTakesMore { .. } => {
                "ask for more, or take that out of the file first".to_owned()
            }
            Self::NoPad { stays, .. } if !stays.is_empty() => "--attenuation \"10 dB\" sizes a new pad behind all that is there, right before the driver; to have one of these replaced, take it out of the file first".to_owned(),
            Self::NoPad { .. } | Self::NotFed(_) => "size one with --attenuation \"10 dB\", or check one with --series \"8.2 ohm\" --shunt \"3.3 ohm\"".to_owned(),
            Self::Attenuation(_) => "ask for another attenuation".to_owned(),
            Self::NoResistors => "widen the range of resistors in [stock], or take another --kind".to_owned(),
        }
    }

    /// Whether the project is at fault, not what is asked for.
    #[must_use]
    pub fn of_project(&self) -> bool {
        !matches!(self, Self::Attenuation(_) | Self::NoResistors)
    }
}
