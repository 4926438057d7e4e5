//! Several of the same driver in one way, as one load.
//!
//! Each has the same impedance and gives the same sound, so that they share voltage or current evenly, and at
//! the listener their sounds add in phase. That holds where he is about as far from all of them; what they do
//! to each other's radiation, and the narrower beam of a group, is left out.

use netlist::project::Wired;

use super::DriverLoad;

/// `count` drivers between one pair of terminals.
///
/// - Parallel: each has the whole voltage. Z/n, and n times the pressure per volt: 6 dB more for two.
/// - Series: each has 1/n of it. Z·n, and the pressure per volt of one.
pub(super) fn together(mut one: DriverLoad, count: u32, wired: Wired) -> DriverLoad {
    if count < 2 {
        return one;
    }
    let n = f64::from(count);
    let (ohms, pressure) = match wired {
        Wired::Parallel => (1.0 / n, n),
        Wired::Series => (n, 1.0),
    };
    for i in 0..one.z_ohm.len() {
        one.z_ohm.set(i, one.z_ohm.at(i) * ohms);
        let p = one.pressure_pa_per_v.at(i) * pressure;
        one.pressure_pa_per_v.set(i, p);
    }
    one.re_ohm *= ohms;
    one
}
