//! Sound in a horn as one wave along its axis: from the mouth back to the throat.
//!
//! Webster's equation for plane wavefronts of area S(x) = S₁·y², y the radius against the throat's: with
//! p = f/y it is f″ + (k² − y″/y)·f = 0. For the family y = cosh mx + T·sinh mx (V. Salmon, *Generalized Plane
//! Wave Horn Theory*, J. Acoust. Soc. Am. 17, 1946; from memory) and the cone y = 1 + x/x₀ the quotient y″/y is
//! constant, m² or 0, so that f has a closed form over the whole horn; a tractrix is many short cones in series.
//! The air has no losses and the walls do not yield; no wave runs across the horn.

use netlist::project::{FiniteHorn, Flare, tractrix_length_m};
use num_complex::Complex64;

use crate::air::Air;
use crate::radiation::radiation_impedance;

/// Pressure and volume velocity at one place of a horn, Pa and m³/s.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Wave {
    pressure: Complex64,
    flow: Complex64,
}

/// A stretch of horn whose f has a closed form.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    /// Radius at its narrow end, m.
    radius_m: f64,
    /// y and dy/dx at its wide end, y at the narrow end being 1; 1/m.
    widening: f64,
    slope_end: f64,
    /// dy/dx at its narrow end, 1/m.
    slope_start: f64,
    /// m, 1/m.
    flare_constant: f64,
    length_m: f64,
}

impl Stretch {
    fn cone(from_m: f64, to_m: f64, length_m: f64) -> Self {
        let slope = (to_m / from_m - 1.0) / length_m;
        Self {
            radius_m: from_m,
            widening: to_m / from_m,
            slope_end: slope,
            slope_start: slope,
            flare_constant: 0.0,
            length_m,
        }
    }

    fn hyperbolic(horn: &FiniteHorn, t: f64) -> Self {
        let m = horn.flare_constant_per_m();
        let (sinh, cosh) = ((m * horn.length.0).sinh(), (m * horn.length.0).cosh());
        Self {
            radius_m: horn.throat.radius_m(),
            widening: cosh + t * sinh,
            slope_end: m * (sinh + t * cosh),
            slope_start: m * t,
            flare_constant: m,
            length_m: horn.length.0,
        }
    }

    /// The wave at the narrow end that gives `end` at the wide end.
    fn back(&self, end: Wave, omega: f64, air: Air) -> Wave {
        let k = omega / air.c_m_per_s;
        let square = k * k - self.flare_constant * self.flare_constant;
        let kappa = square.abs().sqrt();
        let turn = kappa * self.length_m;
        // cos κl, sin(κl)/κ and κ·sin κl, with κ real above and imaginary below the cut-off.
        let (cos, over, times) = if turn < 1e-6 {
            (1.0, self.length_m, square * self.length_m)
        } else if square > 0.0 {
            (turn.cos(), turn.sin() / kappa, kappa * turn.sin())
        } else {
            (turn.cosh(), turn.sinh() / kappa, -kappa * turn.sinh())
        };
        // U = −S·p′/(jωρ) = −S₁(y·f′ − y′·f)/(jωρ).
        let area_m2 = std::f64::consts::PI * self.radius_m * self.radius_m;
        let mass = Complex64::new(0.0, omega * air.rho_kg_per_m3 / area_m2);
        let f_end = end.pressure * self.widening;
        let slope_end = (f_end * self.slope_end - mass * end.flow) / self.widening;
        let f = f_end * cos - slope_end * over;
        let slope = f_end * times + slope_end * cos;
        Wave {
            pressure: f,
            flow: (f * self.slope_start - slope) / mass,
        }
    }
}

/// Cones that stand for a tractrix; twice as many change its throat impedance by less than 0.1 %.
const TRACTRIX_CONES: usize = 160;

/// A horn made ready to be looked at over frequency.
#[derive(Debug, Clone)]
pub struct Waveguide {
    /// From throat to mouth.
    stretches: Vec<Stretch>,
    mouth_radius_m: f64,
}

/// What a horn does at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThroatLoad {
    /// Acoustic impedance at the throat, Pa·s/m³.
    pub impedance: Complex64,
    /// Volume velocity at the mouth for 1 m³/s into the throat.
    pub mouth_flow: Complex64,
}

impl Waveguide {
    /// The horn of that shape.
    #[must_use]
    pub fn new(horn: &FiniteHorn) -> Self {
        Self::of(horn, TRACTRIX_CONES)
    }

    fn of(horn: &FiniteHorn, cones: usize) -> Self {
        let [throat_m, mouth_m] = [horn.throat, horn.mouth].map(|opening| opening.radius_m());
        let stretches = match horn.flare {
            Flare::Exponential => vec![Stretch::hyperbolic(horn, 1.0)],
            Flare::Hyperbolic { t } => vec![Stretch::hyperbolic(horn, t)],
            Flare::Conical => vec![Stretch::cone(throat_m, mouth_m, horn.length.0)],
            Flare::Tractrix => tractrix_cones(horn, cones),
        };
        Self {
            stretches,
            mouth_radius_m: mouth_m,
        }
    }

    /// The load on the throat, with the mouth in an infinite baffle.
    #[must_use]
    pub fn throat(&self, omega: f64, air: Air) -> ThroatLoad {
        self.throat_ending_in(
            radiation_impedance(self.mouth_radius_m, omega, air),
            omega,
            air,
        )
    }

    /// The load on the throat where the mouth sees that acoustic impedance, Pa·s/m³.
    #[must_use]
    pub fn throat_ending_in(&self, mouth: Complex64, omega: f64, air: Air) -> ThroatLoad {
        let at_mouth = Wave {
            pressure: mouth,
            flow: Complex64::new(1.0, 0.0),
        };
        let at_throat = (self.stretches.iter().rev())
            .fold(at_mouth, |wave, stretch| stretch.back(wave, omega, air));
        ThroatLoad {
            impedance: at_throat.pressure / at_throat.flow,
            mouth_flow: at_throat.flow.inv(),
        }
    }
}

/// Cones of equal widening from throat to mouth.
fn tractrix_cones(horn: &FiniteHorn, cones: usize) -> Vec<Stretch> {
    let [throat_m, mouth_m] = [horn.throat, horn.mouth].map(|opening| opening.radius_m());
    let rim_m = horn.tractrix_rim_m();
    let radius_m = |i: usize| throat_m * (mouth_m / throat_m).powf(i as f64 / cones as f64);
    (0..cones)
        .map(|i| {
            let (from_m, to_m) = (radius_m(i), radius_m(i + 1).min(mouth_m));
            Stretch::cone(from_m, to_m, tractrix_length_m(from_m, to_m, rim_m))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use netlist::project::Opening;
    use netlist::quantity::Metres;

    use super::*;

    fn horn(flare: Flare) -> FiniteHorn {
        let round = |mm: f64| Opening::Round {
            diameter: Metres(1e-3 * mm),
        };
        let (throat, mouth) = (round(25.0), round(300.0));
        let length = match flare {
            Flare::Tractrix => tractrix_length_m(0.0125, 0.15, 0.15),
            _ => 0.28,
        };
        FiniteHorn {
            throat,
            mouth,
            length: Metres(length),
            flare,
        }
    }

    fn off(one: Complex64, other: Complex64) -> f64 {
        (one - other).norm() / other.norm()
    }

    const F_HZ: [f64; 12] = [
        40.0, 150.0, 300.0, 480.0, 484.1, 600.0, 900.0, 1500.0, 2700.0, 5000.0, 9000.0, 17e3,
    ];

    /// The same horn as many short pieces of pipe, each of the area in its middle: no closed form but that of a
    /// pipe, and none of this file's.
    #[test]
    fn pipes_in_series() {
        let air = Air::default();
        for (flare, within) in [
            (Flare::Exponential, 1e-3),
            (Flare::Hyperbolic { t: 0.5 }, 1e-3),
            (Flare::Hyperbolic { t: 0.0 }, 1e-3),
            (Flare::Conical, 1e-3),
            (Flare::Tractrix, 1e-2),
        ] {
            let horn = horn(flare);
            let guide = Waveguide::new(&horn);
            for f_hz in F_HZ {
                let omega = std::f64::consts::TAU * f_hz;
                let found = guide.throat(omega, air);
                let (impedance, flow) = by_pipes(&horn, omega, air);
                assert!(
                    off(found.impedance, impedance) < within,
                    "{flare:?} {f_hz}: {} {impedance}",
                    found.impedance
                );
                assert!(off(found.mouth_flow, flow) < within, "{flare:?} {f_hz}");
            }
        }
    }

    fn by_pipes(horn: &FiniteHorn, omega: f64, air: Air) -> (Complex64, Complex64) {
        let pieces = 20_000;
        let [throat_m, mouth_m] = [horn.throat, horn.mouth].map(|opening| opening.radius_m());
        let (m, length) = (horn.flare_constant_per_m(), horn.length.0);
        // Ends of the pieces: by radius for the tractrix, whose x is known of r only.
        let ends: Vec<(f64, f64)> = (0..=pieces)
            .map(|i| {
                let share = f64::from(i) / f64::from(pieces);
                let x = share * length;
                match horn.flare {
                    Flare::Exponential => (x, throat_m * (m * x).exp()),
                    Flare::Hyperbolic { t } => {
                        (x, throat_m * ((m * x).cosh() + t * (m * x).sinh()))
                    }
                    Flare::Conical => (x, throat_m + share * (mouth_m - throat_m)),
                    Flare::Tractrix => {
                        let r = throat_m + share * (mouth_m - throat_m);
                        (tractrix_length_m(throat_m, r, horn.tractrix_rim_m()), r)
                    }
                }
            })
            .collect();
        let mut p = radiation_impedance(mouth_m, omega, air);
        let mut u = Complex64::new(1.0, 0.0);
        for pair in ends.windows(2).rev() {
            let [(from_x, from_r), (to_x, to_r)] = [pair[0], pair[1]];
            let area = std::f64::consts::PI * from_r * to_r;
            let z = air.rho_kg_per_m3 * air.c_m_per_s / area;
            let (sin, cos) = (omega / air.c_m_per_s * (to_x - from_x)).sin_cos();
            let j = Complex64::new(0.0, 1.0);
            (p, u) = (p * cos + j * z * sin * u, j * sin / z * p + u * cos);
        }
        (p / u, u.inv())
    }

    /// Closed forms of H. F. Olson, *Elements of Acoustical Engineering*, for the finite exponential and the
    /// finite conical horn (from memory), with the flat piston at the mouth; above the cut-off, where the
    /// exponential one holds as it is written.
    #[test]
    fn closed_forms() {
        let air = Air::default();
        let rc = air.rho_kg_per_m3 * air.c_m_per_s;
        let j = Complex64::new(0.0, 1.0);
        for f_hz in F_HZ {
            let omega = std::f64::consts::TAU * f_hz;
            let k = omega / air.c_m_per_s;
            let end = radiation_impedance(0.15, omega, air);
            let [s1, s2] = [0.0125f64, 0.15].map(|r| std::f64::consts::PI * r * r);

            let a = horn(Flare::Exponential).flare_constant_per_m();
            if k > a {
                let b = (k * k - a * a).sqrt();
                let theta = (a / b).atan();
                let bl = b * 0.28;
                let z = rc / s1 * (s2 * end * (bl + theta).cos() + j * rc * bl.sin())
                    / (j * s2 * end * bl.sin() + rc * (bl - theta).cos());
                let found = Waveguide::new(&horn(Flare::Exponential)).throat(omega, air);
                assert!(
                    off(found.impedance, z) < 1e-9,
                    "exponential {f_hz}: {} {z}",
                    found.impedance
                );
            }

            let x1 = 0.28 * 0.0125 / (0.15 - 0.0125);
            let x2 = x1 + 0.28;
            let kl = k * 0.28;
            let (t1, t2) = ((k * x1).atan(), (k * x2).atan());
            let z = rc / s1 * (j * end * (kl - t2).sin() / t2.sin() + rc / s2 * kl.sin())
                / (end * (kl + t1 - t2).sin() / (t1.sin() * t2.sin())
                    - j * rc / s2 * (kl + t1).sin() / t1.sin());
            let found = Waveguide::new(&horn(Flare::Conical)).throat(omega, air);
            assert!(
                off(found.impedance, z) < 1e-9,
                "conical {f_hz}: {} {z}",
                found.impedance
            );
        }
    }

    /// A mouth that reflects nothing: the infinite exponential horn's √(1 − (fc/f)²) + j·fc/f, in ρc/S, its
    /// published throat curve, and below the cut-off no resistance, j·(fc/f − √((fc/f)² − 1)) (Olson; Beranek, Acoustics,
    /// 1954; Kinsler and Frey; from memory).
    #[test]
    fn infinite_exponential_horn() {
        let air = Air::default();
        let horn = horn(Flare::Exponential);
        let cutoff_hz = horn.flare_constant_per_m() * air.c_m_per_s / std::f64::consts::TAU;
        let infinite = |ratio: f64, area: f64| {
            let unit = air.rho_kg_per_m3 * air.c_m_per_s / area;
            let square = 1.0 - ratio.powi(-2);
            unit * match square >= 0.0 {
                true => Complex64::new(square.sqrt(), ratio.recip()),
                false => Complex64::new(0.0, ratio.recip() - (-square).sqrt()),
            }
        };
        for ratio in [0.3, 0.7, 0.95, 1.05, 1.2, 1.5, 2.0, 4.0, 10.0] {
            let omega = std::f64::consts::TAU * ratio * cutoff_hz;
            let end = infinite(ratio, horn.mouth.area_m2());
            let found = Waveguide::new(&horn).throat_ending_in(end, omega, air);
            let right = infinite(ratio, horn.throat.area_m2());
            assert!(
                off(found.impedance, right) < 1e-9,
                "{ratio}: {}",
                found.impedance
            );
        }
    }

    /// The same of the infinite cone: with x₀ from its apex to the throat (kx₀)² + j·kx₀ over 1 + (kx₀)², in ρc/S (Olson;
    /// Beranek; from memory).
    #[test]
    fn infinite_conical_horn() {
        let air = Air::default();
        let horn = horn(Flare::Conical);
        let apex_m = 0.28 * 0.0125 / (0.15 - 0.0125);
        let infinite = |k: f64, x: f64, area: f64| {
            let kx = k * x;
            let unit = air.rho_kg_per_m3 * air.c_m_per_s / area;
            unit * Complex64::new(kx * kx, kx) / (1.0 + kx * kx)
        };
        for f_hz in F_HZ {
            let omega = std::f64::consts::TAU * f_hz;
            let k = omega / air.c_m_per_s;
            let end = infinite(k, apex_m + 0.28, horn.mouth.area_m2());
            let found = Waveguide::new(&horn).throat_ending_in(end, omega, air);
            let right = infinite(k, apex_m, horn.throat.area_m2());
            assert!(
                off(found.impedance, right) < 1e-9,
                "{f_hz}: {} {right}",
                found.impedance
            );
        }
    }

    /// What goes into the throat leaves at the mouth: nothing is lost on the way.
    #[test]
    fn power_is_kept() {
        let air = Air::default();
        for flare in [
            Flare::Exponential,
            Flare::Hyperbolic { t: 0.6 },
            Flare::Conical,
            Flare::Tractrix,
        ] {
            for f_hz in F_HZ {
                let omega = std::f64::consts::TAU * f_hz;
                let found = Waveguide::new(&horn(flare)).throat(omega, air);
                let out = found.mouth_flow.norm_sqr() * radiation_impedance(0.15, omega, air).re;
                assert!(
                    (out / found.impedance.re - 1.0).abs() < 1e-6,
                    "{flare:?} {f_hz}"
                );
            }
        }
    }

    #[test]
    fn enough_cones() {
        let air = Air::default();
        let horn = horn(Flare::Tractrix);
        let [few, many] = [TRACTRIX_CONES, 2 * TRACTRIX_CONES].map(|n| Waveguide::of(&horn, n));
        for f_hz in F_HZ {
            let omega = std::f64::consts::TAU * f_hz;
            let [few, many] = [&few, &many].map(|guide| guide.throat(omega, air).impedance);
            assert!(off(few, many) < 1e-3, "{f_hz}: {few} {many}");
        }
    }
}
