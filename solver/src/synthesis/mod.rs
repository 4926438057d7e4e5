//! Closed forms: values of ladders, pads, impedance correction, horn equalisation and notches.
//!
//! They hold for a resistive load, or for the driver model that each one names, and serve as
//! starting values for the search on the real load and as checks on it. Plain SI values in `f64`;
//! inputs that cannot be meant are a [`SynthesisError`], so no result is ever infinite or NaN.
//!
//! | file | from | to |
//! |---|---|---|
//! | `polynomial` | a family of filters and its order | the denominator |
//! | `ladder` | denominator, frequency, load | L and C from source to load |
//! | `pad` | attenuation, load | resistors, or a tap of an autoformer |
//! | `autoformer` | winding, tap, impedance | the same for a winding that is not ideal |
//! | `pad_on_load` | pad, impedance | attenuation, load of the filter, source of the driver, power |
//! | `impedance_correction` | coil resistance, inductance and peaks | networks across the driver |
//! | `horn_equalisation` | lift, corner, load | bypassed series resistor |
//! | `notch` | height, frequency, Q, load | parallel trap in series |
//! | `shape` | — | which sections a way may have |
//! | `build` | shape, corner frequencies, load | parts of a network |

mod autoformer;
mod build;
mod error;
mod horn_equalisation;
mod impedance_correction;
mod ladder;
mod notch;
mod pad;
mod pad_on_load;
mod polynomial;
mod shape;

pub use autoformer::{Winding, whole_is_no_tap};
pub use error::SynthesisError;
pub use horn_equalisation::{Bypass, HornEqualiser};
pub use impedance_correction::{Compensation, Peak, SeriesTrap, Zobel};
pub use ladder::{Ladder, LadderElement, LadderKind, Side, electrical_prototype};
pub use notch::ParallelTrap;
pub use pad::{Pad, PadKind, minimum_loss_pad};
pub use pad_on_load::{PadOnLoad, PadPower};
pub use polynomial::{Polynomial, Prototype};
pub use shape::{PadForm, WayShape, WayStart};
