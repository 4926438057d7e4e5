//! Closed forms: values of ladders and pads.
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
//! | `autoformer` | winding, tap | its impedances where it is not ideal |
//! | `shape` | — | which sections a way may have |
//! | `build` | shape, corner frequencies, load | parts of a network |

mod autoformer;
mod build;
mod error;
mod ladder;
mod pad;
mod polynomial;
mod shape;

pub use autoformer::{AutoformerWinding, whole_is_no_tap};
pub use error::SynthesisError;
pub use ladder::{Ladder, LadderElement, LadderKind, LadderSide};
pub use pad::{Pad, PadKind};
pub use polynomial::{Polynomial, Prototype};
pub use shape::{PadForm, WayShape, WayStart};
