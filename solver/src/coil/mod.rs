//! Air-core coils: copper, resistance and size for an inductance, inductance from a shape, and
//! the coupling of coils that sit on one axis.
//!
//! | file | from | to |
//! |---|---|---|
//! | `copper` | wire diameter, temperature | resistance, mass |
//! | `air_coil` | inductance and wire | turns, size, DCR, copper of a Brooks coil |
//! | `winding` | shape and turns | inductance and coupling, by filaments |
//! | `beside` | two coils side by side | mutual inductance |
//! | `loops` | two circles on an axis | mutual inductance |

mod air_coil;
mod beside;
pub mod copper;
mod elliptic;
mod error;
mod loops;
mod winding;

pub(crate) use air_coil::DCR_EXPONENT;
pub use air_coil::{AirCoil, BROOKS_H_PER_M, PITCH_TO_BARE_DIAMETER, air_coil_dcr_ohm};
pub use error::CoilError;
pub use loops::mutual_inductance_h;
pub use winding::Winding;

/// Magnetic constant, H/m: 4π·10⁻⁷, which the measured value meets to 10⁻⁹.
pub(crate) const MU_0: f64 = 4e-7 * std::f64::consts::PI;
