//! The limits against which figures are held, together: for whoever judges figures that move.

use serde::Serialize;

use super::check::{DIRECT_SHARE, EPDR_SHARE};
use super::design::{
    DANGEROUS_SHARE, FLATNESS_MAX_DB, FLATNESS_RMS_DB, MATCH_DB, PHASE_MATCH_DEG, USUAL_LEAST_OHM,
};
use super::stress::rating::{
    CAPACITOR_V, CURRENT_MARGIN, LEAST_VOLTAGE_MARGIN, POWER_MARGIN, RESISTOR_W, SHORT_OVERLOAD,
    VOLTAGE_MARGIN,
};
use super::stress::{HOT_SHARE, HOT_W};

/// What findings are counted from; each is explained where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Limits {
    /// Least load where none is asked for, ohm.
    pub usual_least_ohm: f64,
    /// Share of the least load below which it is a danger.
    pub dangerous_share: f64,
    /// Share of the least load below which the EPDR is told.
    pub epdr_share: f64,
    /// Share of the least load below which the resistance for direct current is told.
    pub direct_share: f64,
    /// Rating over heat, of resistors to buy.
    pub power_margin: f64,
    /// Rating over peak voltage, of capacitors to buy.
    pub voltage_margin: f64,
    /// Rating over peak voltage below which a capacitor has no margin.
    pub least_voltage_margin: f64,
    /// Rating over peak current, of coils with a core to buy.
    pub current_margin: f64,
    /// Power over rating that a resistor stands for seconds.
    pub short_overload: f64,
    /// Heat of a resistor that burns skin, W, and its share of all power where none is stated.
    pub hot_w: f64,
    /// See `hot_w`.
    pub hot_share: f64,
    /// Largest rms deviation of the sum, dB.
    pub flatness_rms_db: f64,
    /// Largest deviation of the sum, dB.
    pub flatness_max_db: f64,
    /// Largest deviation of a way from its target, rms dB.
    pub match_db: f64,
    /// Largest mean phase between two ways, degrees.
    pub phase_match_deg: f64,
    /// Ratings in which resistors are sold, W.
    pub resistor_w: [f64; 9],
    /// Ratings in which capacitors are sold, V.
    pub capacitor_v: [f64; 7],
}

/// The limits of this program.
#[must_use]
pub fn limits() -> Limits {
    Limits {
        usual_least_ohm: USUAL_LEAST_OHM,
        dangerous_share: DANGEROUS_SHARE,
        epdr_share: EPDR_SHARE,
        direct_share: DIRECT_SHARE,
        power_margin: POWER_MARGIN,
        voltage_margin: VOLTAGE_MARGIN,
        least_voltage_margin: LEAST_VOLTAGE_MARGIN,
        current_margin: CURRENT_MARGIN,
        short_overload: SHORT_OVERLOAD,
        hot_w: HOT_W,
        hot_share: HOT_SHARE,
        flatness_rms_db: FLATNESS_RMS_DB,
        flatness_max_db: FLATNESS_MAX_DB,
        match_db: MATCH_DB,
        phase_match_deg: PHASE_MATCH_DEG,
        resistor_w: RESISTOR_W,
        capacitor_v: CAPACITOR_V,
    }
}
