//! A pad with all that findings are made from.

use netlist::project::Driver;

use super::drive::{DriveChange, PadDrive};
use super::drive_source::PadSourceKind;
use super::load::PadLoad;
use super::power::PadHeat;
use super::study::Study;
use crate::goal::LoadFigures;

/// A pad with all that is judged about it.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// What stands behind the pad, for people.
    pub name: &'a str,
    /// The driver, when it is one.
    pub driver: Option<&'a Driver>,
    /// Its load.
    pub load: &'a PadLoad,
    /// The pad on it.
    pub study: &'a Study,
    /// Heat in it.
    pub heat: &'a PadHeat,
    /// The voltage at the driver with this pad.
    pub drive: &'a PadDrive,
    /// Attenuation asked for, in dB, when the pad was sized from stock.
    pub wanted_db: Option<f64>,
    /// Level of the way against that of the loudspeaker, in dB: above 0 is too loud.
    pub level_off_db: Option<f64>,
    /// Attenuation of a pad of this kind with which it would have that level, in dB; `None` where none has.
    pub right_db: Option<f64>,
    /// What the pad does to the crossover, and against what, for people.
    pub change: Option<(&'a DriveChange, &'a str)>,
    /// Rated power of the series resistor, where it is known; watt.
    pub series_rating_w: Option<f64>,
    /// Rated power of the shunt resistor, where it is known; watt.
    pub shunt_rating_w: Option<f64>,
    /// Shares of the power in the resistors that the series and the shunt resistor are made of.
    pub shares: [&'a [f64]; 2],
    /// What should be kept as it is, |Z| in ohm, one a frequency: the filter's load, or its source where the
    /// pad stands before it; and what that is, for people.
    pub kept_ohm: (&'a [f64], &'a str),
    /// What the pad is seen by: the filter or the amplifier.
    pub seen_by: &'a str,
    /// Least load asked for, in ohm; 0 for none.
    pub least_ohm: f64,
    /// What the amplifier sees of the whole loudspeaker with this pad, where it is in a network.
    pub speaker_load: Option<LoadFigures>,
    /// What the core of an autoformer stands, rms volts for each hertz.
    pub core_v_per_hz: f64,
    /// What drives the pad.
    pub feed: PadSourceKind,
    /// Parts at the driver's terminal that belong to no plain pad.
    pub beside: &'a [String],
}
