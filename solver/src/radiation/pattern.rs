//! Where a source sends its sound.
//!
//! What is known decides: a stated coverage, or the size of what radiates.
//!
//! - Size alone: the flat piston (round: 2J₁(x)/x; a rectangle: sin(x)/x in either plane).
//! - Coverage, the angle between the two directions that are 6 dB down, in each plane: 2^(−(sin θ/sin θ₆)²),
//!   which is 1, 6 dB down at θ₆ and without side lobes. Where the mouth's size is known, the beam is the wider
//!   one of the coverage and the piston's: below, the mouth is too small to hold its coverage.
//! - Neither: alike in all directions.
//!
//! That is for a front without end. Where it ends the sound falls off aside and behind, the more the larger the front is
//! to the wave: with x = k·√(S/π), S its area (the cabinet's, or that of a source which stands alone), and
//! u = (1 − cos θ)/2
//!
//! ```text
//! 1 − x²/(x² + 0.69) · (0.27 u + 0.91 u² − 0.62 u⁶)
//! ```
//!
//! fitted to a point on the rigid sphere of that shadow (the series: Morse and Ingard, Theoretical Acoustics): for x from 0.1
//! to 16 within 1.6 dB up to 120°, 2.7 dB straight behind and 0.6 dB in the power. Between these, about 150°, a
//! sphere has dips of up to 15 dB more, where what comes round its sides cancels: no cabinet has these at the same place,
//! and they are left out. Behind, the beam is that at the rim: sound gets there only past it.

use netlist::project::{Coverage, Opening};

use super::piston::{circle_directivity, slit_directivity};
use crate::air::Air;

/// x at which 2J₁(x)/x is a half.
const CIRCLE_HALF: f64 = 2.215_089;
/// x at which sin(x)/x is a half.
const SLIT_HALF: f64 = 1.895_494;
/// Square of x at which a front has half of its shade.
const SHADE_FROM: f64 = 0.69;
/// Shares of u, u² and u⁶ in the shade of a large front.
const SHADE: [f64; 3] = [0.27, 0.91, -0.62];

/// The directivity of one source.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pattern {
    /// What it radiates from.
    pub size: Option<Opening>,
    /// What it is stated to cover.
    pub coverage: Option<Coverage>,
    /// The front of the cabinet around it; `None` where it stands alone.
    pub cabinet: Option<Opening>,
}

/// A direction from a source: the shares of it to the right, up and to the front, their squares adding to 1.
pub type Direction = [f64; 3];

impl Pattern {
    /// Pressure in a direction against that straight to the front, at the same distance.
    #[must_use]
    pub fn at(&self, direction: Direction, omega: f64, air: Air) -> f64 {
        let k = omega / air.c_m_per_s;
        self.around(direction, k) * self.shade(direction[2], k)
    }

    /// Sines of the angles in both planes at which the beam is 6 dB down; above 1 where it never is.
    fn half_pressure_sines(&self, k: f64) -> Option<[f64; 2]> {
        let coverage = self.coverage?;
        let stated = [coverage.horizontal, coverage.vertical]
            .map(|angle| (0.5 * angle.0).to_radians().sin());
        let piston = match self.size {
            None => [0.0; 2],
            Some(Opening::Round { diameter }) => [CIRCLE_HALF / (0.5 * k * diameter.0); 2],
            Some(Opening::Rectangle { width, height }) => {
                [width, height].map(|side| SLIT_HALF / (0.5 * k * side.0))
            }
        };
        Some([0, 1].map(|plane: usize| f64::max(stated[plane], piston[plane])))
    }

    fn front(&self, [right, up, _]: Direction, k: f64) -> f64 {
        if let Some([across, upwards]) = self.half_pressure_sines(k) {
            return (-(right / across).powi(2) - (up / upwards).powi(2)).exp2();
        }
        match self.size {
            None => 1.0,
            Some(Opening::Round { diameter }) => {
                circle_directivity(0.5 * k * diameter.0 * right.hypot(up))
            }
            Some(Opening::Rectangle { width, height }) => {
                slit_directivity(0.5 * k * width.0 * right)
                    * slit_directivity(0.5 * k * height.0 * up)
            }
        }
    }

    /// The beam in front, and behind that at the rim: on its own side, and of all sides straight behind.
    fn around(&self, direction: Direction, k: f64) -> f64 {
        let [right, up, to_front] = direction;
        if to_front >= 0.0 {
            return self.front(direction, k);
        }
        let sides = 0.5 * (self.front([1.0, 0.0, 0.0], k) + self.front([0.0, 1.0, 0.0], k));
        let sine = right.hypot(up);
        if sine < 1e-9 {
            return sides;
        }
        let side = self.front([right / sine, up / sine, 0.0], k);
        sine * side + (1.0 - sine) * sides
    }

    fn shade(&self, to_front: f64, k: f64) -> f64 {
        let radii = [self.size, self.cabinet].map(|front| front.map(|front| front.radius_m()));
        let share = match radii.into_iter().flatten().reduce(f64::max) {
            Some(radius_m) => {
                let x = k * radius_m;
                x * x / (SHADE_FROM + x * x)
            }
            None if self.coverage.is_some() => 1.0,
            None => 0.0,
        };
        let u = 0.5 * (1.0 - to_front);
        1.0 - share * (SHADE[0] * u + SHADE[1] * u.powi(2) + SHADE[2] * u.powi(6))
    }

    /// Mean square of the pressure over the half space in front, against that on the axis; the sphere's other
    /// half left out, as in an infinite baffle. The directivity factor is 2 over this.
    #[must_use]
    pub fn front_mean_square(&self, omega: f64, air: Air) -> f64 {
        const RINGS: usize = 96;
        const SPOKES: usize = 16;
        let k = omega / air.c_m_per_s;
        let mut sum = 0.0;
        for ring in 0..RINGS {
            // Closer to each other about the axis, where a narrow beam is.
            let from_axis = (ring as f64 + 0.5) / RINGS as f64;
            let to_front = 1.0 - from_axis * from_axis;
            let sine = (1.0 - to_front * to_front).sqrt();
            for spoke in 0..SPOKES {
                let turn = (spoke as f64 + 0.5) / SPOKES as f64 * std::f64::consts::FRAC_PI_2;
                let direction = [sine * turn.cos(), sine * turn.sin(), to_front];
                sum += 2.0 * from_axis * self.front(direction, k).powi(2);
            }
        }
        sum / (RINGS * SPOKES) as f64
    }
}

#[cfg(test)]
mod tests {
    use netlist::quantity::{Degrees, Metres};

    use super::*;
    use crate::radiation::radiation_impedance;

    fn towards(plane: usize, deg: f64) -> Direction {
        let (sin, cos) = deg.to_radians().sin_cos();
        if plane == 0 {
            [sin, 0.0, cos]
        } else {
            [0.0, sin, cos]
        }
    }

    fn omega(f_hz: f64) -> f64 {
        std::f64::consts::TAU * f_hz
    }

    const HORN: Coverage = Coverage {
        horizontal: Degrees(90.0),
        vertical: Degrees(40.0),
    };

    /// Off the axis by half its coverage a horn is 6 dB down, in either plane; and below where its mouth holds
    /// it (f = 1.8955·c/(π·side·sin θ₆)) its beam is that of the mouth.
    #[test]
    fn coverage_is_held_down_to_where_the_mouth_holds_it() {
        let air = Air::default();
        let mouth = Opening::Rectangle {
            width: Metres(0.5),
            height: Metres(0.25),
        };
        let pattern = Pattern {
            size: Some(mouth),
            coverage: Some(HORN),
            cabinet: None,
        };
        let front =
            |plane, deg, f_hz: f64| pattern.front(towards(plane, deg), omega(f_hz) / air.c_m_per_s);
        for f_hz in [4000.0, 10e3] {
            assert!((front(0, 45.0, f_hz) - 0.5).abs() < 1e-12);
            assert!((front(1, 20.0, f_hz) - 0.5).abs() < 1e-12);
            assert!((front(1, -20.0, f_hz) - 0.5).abs() < 1e-12);
        }
        // Height 0.25 m at 1 kHz: the rectangle is 6 dB down at sin θ = 0.827, beyond the 40 degrees stated.
        let sine = SLIT_HALF / (0.125 * omega(1000.0) / air.c_m_per_s);
        assert!((front(1, sine.asin().to_degrees(), 1000.0) - 0.5).abs() < 1e-9);
        assert!((sine - 0.8283).abs() < 1e-3, "{sine}");
    }

    /// The power that a piston radiates, ρc/S·R₁·U², is its pressure on the axis, ωρU/(2πr), over all directions
    /// of the half space: mean square = 2R₁/(ka)². Two ways to one number.
    #[test]
    fn power_of_a_piston_by_its_impedance_and_by_its_beam() {
        let air = Air::default();
        let radius_m = 0.1;
        let pattern = Pattern {
            size: Some(Opening::Round {
                diameter: Metres(2.0 * radius_m),
            }),
            coverage: None,
            cabinet: None,
        };
        let unit = air.rho_kg_per_m3 * air.c_m_per_s / (std::f64::consts::PI * radius_m * radius_m);
        for ka in [0.1, 0.7, 1.5, 3.0, 6.0, 10.0] {
            let omega = ka * air.c_m_per_s / radius_m;
            let resistance = radiation_impedance(radius_m, omega, air).re / unit;
            let found = pattern.front_mean_square(omega, air);
            let right = 2.0 * resistance / (ka * ka);
            assert!((found / right - 1.0).abs() < 2e-3, "{ka}: {found} {right}");
        }
    }

    /// At low frequencies as loud behind as in front, at high ones with little there; never louder than on the axis, and
    /// without a jump where the front ends.
    #[test]
    fn behind() {
        let air = Air::default();
        let size = Some(Opening::Round {
            diameter: Metres(0.3),
        });
        for coverage in [None, Some(HORN)] {
            let pattern = Pattern {
                size,
                coverage,
                cabinet: None,
            };
            let at = |deg, f_hz| pattern.at(towards(0, deg), omega(f_hz), air).abs();
            assert!(at(180.0, 20.0) > 0.99 && at(90.0, 20.0) > 0.99);
            // 20 dB and more.
            assert!(at(180.0, 10e3) < 0.1, "{}", at(180.0, 10e3));
            for f_hz in [50.0, 400.0, 3000.0, 15e3] {
                for deg in 0..=180 {
                    assert!(at(f64::from(deg), f_hz) <= 1.0 + 1e-12);
                }
                assert!((at(89.99, f_hz) - at(90.01, f_hz)).abs() < 1e-3);
                // One place, whichever way round.
                let up = pattern.at(towards(1, 180.0), omega(f_hz), air).abs();
                assert!((at(180.0, f_hz) - up).abs() < 1e-9);
            }
        }
        let point = Pattern::default();
        assert!((point.at(towards(1, 170.0), omega(1e4), air) - 1.0).abs() < 1e-15);
    }

    /// A small source in a cabinet has the shade of the cabinet's front, and one that is larger than the cabinet its own.
    #[test]
    fn the_larger_front_shades() {
        let air = Air::default();
        let square = |side| {
            Some(Opening::Rectangle {
                width: Metres(side),
                height: Metres(side),
            })
        };
        let at = |size, cabinet| {
            let pattern = Pattern {
                size,
                cabinet,
                coverage: None,
            };
            pattern.at(towards(0, 180.0), omega(300.0), air)
        };
        let (small, large) = (square(0.02), square(0.5));
        assert!(at(small, None) > 0.99 && at(small, large) < 0.8);
        assert!((at(None, large) - at(small, large)).abs() < 1e-3);
        assert!((at(large, small) - at(large, None)).abs() < 1e-12);
    }
}
