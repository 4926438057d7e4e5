//! Sources as large as the wavelength: their load by the air, and where they send their sound.
//!
//! | file | what |
//! |---|---|
//! | `special` | Bessel's J₁ and Struve's H₁ |
//! | `piston` | radiation impedance and directivity of a flat piston in an infinite baffle |
//! | `pattern` | the directivity of a source by its size or its stated coverage |

mod pattern;
mod piston;
mod special;

pub use pattern::{Direction, Pattern};
pub use piston::{circle_directivity, radiation_impedance, slit_directivity};
pub use special::{bessel_j1, struve_h1};
