//! What is dangerous about a fault.

use serde::Serialize;

use super::super::Severity;
use super::super::judged_loudspeaker::JudgedLoudspeaker;
use super::super::limits::LIMITS;
use super::DriverUnderFault;
use super::state::State;
use crate::amplifier::VALVE_OHM;
use crate::nodal::PlanError;

/// A load that is this much lower than that of the sound network at the same frequency is the fault's doing.
const LOWER: f64 = 0.9;
/// A power that is this much higher than in the sound network is the fault's doing.
const HIGHER: f64 = 1.05;
/// A diaphragm that moves this much further is told, dB: twice as far.
const FURTHER_DB: f64 = 6.0;
/// Travel must have grown by this much more than the power, dB: low frequencies, not level alone.
const MORE_THAN_LEVEL_DB: f64 = 3.0;

/// Something dangerous about a fault.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "hazard", rename_all = "snake_case")]
pub enum Hazard {
    /// The amplifier's terminals are joined.
    DeadShort,
    /// The load falls below the limit.
    LowLoad {
        /// The load, ohm.
        least_ohm: f64,
        /// Where, Hz.
        at_hz: f64,
    },
    /// A valve amplifier is left without a load.
    NoLoad,
    /// More power from programme than a driver is rated for.
    TooMuchPower {
        /// The driver.
        driver: String,
        /// Its power, W.
        power_w: f64,
        /// Its rating, W.
        rated_w: f64,
    },
    /// Low frequencies in a driver that is not made for them.
    BassInDriver {
        /// The driver.
        driver: String,
        /// How many times as far its diaphragm moves.
        times: f64,
    },
}

impl Hazard {
    /// How bad it is where the least load asked for is `limit_ohm`.
    #[must_use]
    pub fn severity(&self, limit_ohm: f64) -> Severity {
        match self {
            Hazard::LowLoad { least_ohm, .. }
                if *least_ohm >= LIMITS.dangerous_share * limit_ohm =>
            {
                Severity::Caution
            }
            Hazard::DeadShort
            | Hazard::LowLoad { .. }
            | Hazard::NoLoad
            | Hazard::TooMuchPower { .. }
            | Hazard::BassInDriver { .. } => Severity::Danger,
        }
    }

    /// How far beyond its limit it is, to sort by: 1 at the limit.
    pub(super) fn badness(&self, limit_ohm: f64) -> f64 {
        match self {
            Hazard::DeadShort => f64::INFINITY,
            Hazard::NoLoad => f64::MAX,
            Hazard::LowLoad { least_ohm, .. } => limit_ohm / least_ohm,
            Hazard::TooMuchPower {
                power_w, rated_w, ..
            } => power_w / rated_w,
            Hazard::BassInDriver { times, .. } => times / 10f64.powf(FURTHER_DB / 20.0),
        }
    }
}

/// Least load that faults are held against, ohm.
pub(super) fn limit_ohm(speaker: &JudgedLoudspeaker) -> f64 {
    let stated = speaker.least_load_ohm.filter(|ohm| *ohm > 0.0);
    stated.unwrap_or(LIMITS.usual_least_ohm)
}

/// What is dangerous about a fault, the worst first: `now` is the network with it.
pub(super) fn hazards(
    speaker: &JudgedLoudspeaker,
    limit_ohm: f64,
    now: &State,
    sound: &State,
    drivers: &[DriverUnderFault],
) -> Result<Vec<Hazard>, PlanError> {
    // The least load where it is the fault's doing.
    let lower = match (&now.zoom, &sound.zoom) {
        (Some(now), Some(before)) => now.least_below(&speaker.loudspeaker.grid, before, LOWER)?,
        _ => now.least,
    };
    let mut hazards = Vec::new();
    match &now.least {
        None if speaker.loudspeaker.nominal_output_ohm.norm() > VALVE_OHM => {
            hazards.push(Hazard::NoLoad)
        }
        None => {}
        Some(least) if least.magnitude_ohm <= 0.0 => hazards.push(Hazard::DeadShort),
        Some(_) => {
            if let Some(least) = lower.filter(|least| least.magnitude_ohm < limit_ohm) {
                hazards.push(Hazard::LowLoad {
                    least_ohm: least.magnitude_ohm,
                    at_hz: least.f_hz,
                });
            }
        }
    }
    for driver in speaker.loudspeaker.drivers.iter().zip(drivers) {
        let (known, found) = driver;
        let grown = found.power_change_db;
        if let (Some(power_w), Some(rated_w)) = (found.power_w, found.rated_w)
            && power_w > rated_w
            && grown.is_some_and(|db| db > 10.0 * HIGHER.log10())
        {
            hazards.push(Hazard::TooMuchPower {
                driver: found.name.clone(),
                power_w,
                rated_w,
            });
        }
        if let (Some(travel_db), Some(power_db)) = (found.travel_change_db, grown)
            && known.delicate
            && travel_db >= FURTHER_DB
            && travel_db >= power_db + MORE_THAN_LEVEL_DB
        {
            hazards.push(Hazard::BassInDriver {
                driver: found.name.clone(),
                times: 10f64.powf(travel_db / 20.0),
            });
        }
    }
    hazards.sort_by(|a, b| b.badness(limit_ohm).total_cmp(&a.badness(limit_ohm)));
    Ok(hazards)
}
