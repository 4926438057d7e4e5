//! A multilayer air-core coil of the shape that needs the least wire.

use std::f64::consts::PI;

use super::copper::{wire_kg_per_m, wire_ohm_per_m};
use super::error::within;
use super::{CoilError, Winding};

/// L/(a·N²) of the Brooks shape (square section, inner radius equal to its side, mean radius
/// a = 1.5 sides), H/m. H. B. Brooks, NBS J. Research 7, 1931; Grover, Inductance Calculations, 1946.
pub const BROOKS_H_PER_M: f64 = 1.699_38e-6;

/// Distance between neighbouring turns, in bare wire diameters, in both directions.
///
/// Enamel of grade 2 makes 1 mm wire 1.09 mm thick at most (IEC 60317-0-1, from memory), and hand
/// winding leaves a little air: common practice. Thinner wire has relatively thicker enamel, about 1.14
/// at 0.5 mm. It matters little: the DCR goes with this factor to the power of 0.4.
pub const PITCH_TO_BARE_DIAMETER: f64 = 1.10;

/// Fewer turns than this do not fill a section with current evenly.
const LEAST_TURNS: f64 = 4.0;

/// A Brooks coil: section `length_m` × `depth_m` (equal), wound on a former of radius `inner_radius_m`
/// (equal too).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirCoil {
    /// Inductance, H.
    pub inductance_h: f64,
    /// Bare wire diameter, m.
    pub wire_diameter_m: f64,
    /// Turns that give the inductance exactly; a winder takes the nearest whole number.
    pub turns: f64,
    /// Radius of the former, m.
    pub inner_radius_m: f64,
    /// Length of the winding along the axis, m.
    pub length_m: f64,
    /// Depth of the winding, m.
    pub depth_m: f64,
    /// Length of the wire without leads, m.
    pub wire_length_m: f64,
    /// Resistance at 20 °C, Ω.
    pub dcr_ohm: f64,
    /// Copper without enamel, kg.
    pub copper_mass_kg: f64,
}

impl AirCoil {
    /// The coil of an inductance in henry, wound with wire of a bare diameter in metres.
    ///
    /// With side c and pitch p, N = (c/p)² turns and L = B·1.5·c·N² give N = (L/(1.5·B·p))^0.4.
    ///
    /// # Errors
    /// If the inductance is outside 0.1 µH to 10 H or the wire outside 0.05 mm to 10 mm, or the coil
    /// would have fewer than four turns.
    pub fn for_inductance(l_h: f64, wire_diameter_m: f64) -> Result<Self, CoilError> {
        let l_h = within("the inductance of an air-core coil", "H", l_h, 1e-7, 10.0)?;
        let wire_diameter_m = within(
            "the bare diameter of winding wire",
            "m",
            wire_diameter_m,
            5e-5,
            1e-2,
        )?;
        let turns = turns(l_h, wire_diameter_m);
        if turns < LEAST_TURNS {
            return Err(CoilError::TooFewTurns {
                inductance_h: l_h,
                wire_diameter_m,
                turns,
            });
        }
        let side_m = PITCH_TO_BARE_DIAMETER * wire_diameter_m * turns.sqrt();
        let wire_length_m = 3.0 * PI * side_m * turns;
        Ok(Self {
            inductance_h: l_h,
            wire_diameter_m,
            turns,
            inner_radius_m: side_m,
            length_m: side_m,
            depth_m: side_m,
            wire_length_m,
            dcr_ohm: wire_length_m * wire_ohm_per_m(wire_diameter_m),
            copper_mass_kg: wire_length_m * wire_kg_per_m(wire_diameter_m),
        })
    }

    /// Its winding, for coupling to others.
    #[must_use]
    pub fn winding(&self) -> Winding {
        Winding {
            inner_radius_m: self.inner_radius_m,
            depth_m: self.depth_m,
            length_m: self.length_m,
            turns: self.turns,
        }
    }
}

fn turns(l_h: f64, wire_m: f64) -> f64 {
    (l_h / (1.5 * BROOKS_H_PER_M * PITCH_TO_BARE_DIAMETER * wire_m)).powf(0.4)
}

/// How the resistance of a coil of given wire and shape follows its inductance: `r ∝ L^0.6`.
pub(crate) const DCR_EXPONENT: f64 = 0.6;

/// DCR at 20 °C in ohm of the coil of [`AirCoil::for_inductance`], as a smooth function for a search:
/// proportional to L^0.6, at any inductance. 0 where inductance or wire is not above zero: no coil.
#[must_use]
pub fn air_coil_dcr_ohm(l_h: f64, wire_m: f64) -> f64 {
    if !(l_h > 0.0 && wire_m > 0.0) {
        return 0.0;
    }
    let pitch_m = PITCH_TO_BARE_DIAMETER * wire_m;
    3.0 * PI * pitch_m * turns(l_h, wire_m).powf(1.5) * wire_ohm_per_m(wire_m)
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    #[test]
    fn the_coil_and_the_smooth_function_agree() {
        for l_h in [1e-4, 5e-4, 1.5e-3, 8e-3] {
            for wire_m in [0.5e-3, 1e-3, 2e-3] {
                let coil = AirCoil::for_inductance(l_h, wire_m).unwrap();
                let dcr_ohm = air_coil_dcr_ohm(l_h, wire_m);
                assert_relative_eq!(coil.dcr_ohm, dcr_ohm, max_relative = 1e-12);
                let mean_radius_m = coil.inner_radius_m + 0.5 * coil.depth_m;
                assert_relative_eq!(
                    BROOKS_H_PER_M * mean_radius_m * coil.turns * coil.turns,
                    l_h,
                    max_relative = 1e-12
                );
                assert_relative_eq!(
                    coil.wire_length_m,
                    2.0 * PI * mean_radius_m * coil.turns,
                    max_relative = 1e-12
                );
            }
        }
    }

    #[test]
    fn what_cannot_be_wound_is_refused_with_a_reason() {
        for (l_h, wire_m) in [
            (0.0, 1e-3),
            (-1e-3, 1e-3),
            (f64::NAN, 1e-3),
            (f64::INFINITY, 1e-3),
            (1e-3, 0.0),
            (1e-3, 1.0),
            (1e-3, f64::NAN),
        ] {
            let error = AirCoil::for_inductance(l_h, wire_m).unwrap_err();
            assert!(matches!(error, CoilError::OutOfRange { .. }), "{error}");
        }
        let error = AirCoil::for_inductance(1e-7, 5e-3).unwrap_err();
        assert!(error.to_string().contains("thinner wire"), "{error}");
        for (l_h, wire_m) in [(0.0, 0.0), (-1.0, 1e-3), (f64::NAN, 1e-3)] {
            assert!(air_coil_dcr_ohm(l_h, wire_m).abs() < f64::MIN_POSITIVE);
        }
    }
}
