//! The limits against which figures are held, together: for whoever judges figures that move.

use serde::Serialize;

/// What findings are counted from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Limits {
    /// Least load of a loudspeaker rated 4 Ω, 80 % of it: few amplifiers are made for less. Held against
    /// the load where the brief gives no limit.
    pub usual_least_ohm: f64,
    /// Below this share of the least load it is a danger: 60 % of the rated load, where the least load is
    /// 80 % of it as IEC 60268-5:2003, 16.1 has it.
    pub dangerous_share: f64,
    /// An equivalent peak dissipation resistance below half of the least load asked for makes the output
    /// stage twice as hot as that load would (common practice for class-B stages).
    pub epdr_share: f64,
    /// Direct current should see this share of the least load (common practice).
    pub direct_share: f64,
    /// Resistors are bought for this many times the power that they turn to heat (common practice).
    pub power_margin: f64,
    /// Capacitors are bought for this many times the peak voltage (common practice).
    pub voltage_margin: f64,
    /// Below this ratio of rating to peak voltage a capacitor has no margin worth the name (common practice
    /// is 1.5 to 2).
    pub least_voltage_margin: f64,
    /// Coils with a core are bought for this many times the peak current: hours of programme have peaks about
    /// 1.3 times those of the seconds that are looked at (extreme value of Gaussian noise), and a core loses
    /// inductance before the current for which it is rated (common practice).
    pub current_margin: f64,
    /// A wirewound resistor stands this many times its rating for the few seconds of a test tone (common for
    /// the type; from memory).
    pub short_overload: f64,
    /// A resistor that burns this much gets hot enough to burn skin, W: a wirewound one of 10 W in free air
    /// warms by some 20 K/W (common practice; from memory).
    pub hot_w: f64,
    /// Where no power is stated: a resistor that takes this share of what the loudspeaker takes.
    pub hot_share: f64,
    /// Largest rms deviation of the sum, dB.
    pub flatness_rms_db: f64,
    /// Largest deviation of the sum, dB.
    pub flatness_max_db: f64,
    /// Largest match of a way, dB.
    pub match_db: f64,
    /// Largest phase match at a crossover, degrees.
    pub phase_match_deg: f64,
    /// Usual ratings of power resistors for crossovers, W (common practice; from memory).
    pub resistor_w: [f64; 9],
    /// Usual ratings of film capacitors, V (common practice; from memory).
    pub capacitor_v: [f64; 7],
}

/// The limits of this program.
pub const LIMITS: Limits = Limits {
    usual_least_ohm: 3.2,
    dangerous_share: 0.6 / 0.8,
    epdr_share: 0.5,
    direct_share: 0.5,
    power_margin: 2.0,
    voltage_margin: 2.0,
    least_voltage_margin: 1.5,
    current_margin: 1.3,
    short_overload: 5.0,
    hot_w: 2.0,
    hot_share: 0.05,
    flatness_rms_db: 0.8,
    flatness_max_db: 1.8,
    match_db: 1.2,
    phase_match_deg: 30.0,
    resistor_w: [5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0, 200.0, 300.0],
    capacitor_v: [63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0],
};
