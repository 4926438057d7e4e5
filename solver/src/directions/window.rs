//! Windows of directions and their weights.
//!
//! ANSI/CTA-2034-A, *Standard Method of Measurement for In-Home Loudspeakers*: responses every 10° on a horizontal and
//! a vertical orbit about the loudspeaker, 70 in all. Which angles belong to which window, and that all means are
//! those of powers, is from memory. The weights of the sound power are the standard's: see [`sphere_share`].

use netlist::project::Plane;

/// A direction of a window: its plane, and its angle from the reference axis in degrees.
pub type Ray = (Plane, i32);

/// Mean over directions.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Directions and their weights, which add to 1.
    pub rays: Vec<(Ray, f64)>,
}

impl Window {
    fn even(rays: impl IntoIterator<Item = Ray>) -> Self {
        let rays: Vec<Ray> = rays.into_iter().collect();
        let weight = 1.0 / rays.len() as f64;
        Self {
            rays: rays.into_iter().map(|ray| (ray, weight)).collect(),
        }
    }

    /// The listening window: the axis, ±10° vertically, ±10° to ±30° horizontally; nine directions.
    #[must_use]
    pub fn listening() -> Self {
        let across = both_ways(Plane::Horizontal, [10, 20, 30]);
        let upright = both_ways(Plane::Vertical, [10]);
        Self::even([AXIS].into_iter().chain(upright).chain(across))
    }

    /// ±10° vertically with the axis.
    #[must_use]
    pub fn vertical() -> Self {
        Self::even(
            [AXIS]
                .into_iter()
                .chain(both_ways(Plane::Vertical, [5, 10])),
        )
    }

    /// ±30° horizontally with the axis.
    #[must_use]
    pub fn horizontal() -> Self {
        let across = both_ways(Plane::Horizontal, [10, 20, 30]);
        Self::even([AXIS].into_iter().chain(across))
    }

    /// Early reflections: the mean of five bounces, each the mean over its directions.
    #[must_use]
    pub fn early_reflections() -> Self {
        let horizontal = |from: i32, to: i32| {
            both_ways(
                Plane::Horizontal,
                (from..=to).step_by(10).filter(|angle| *angle < 180),
            )
        };
        let vertical = |angles: [i32; 3]| angles.map(|angle| (Plane::Vertical, angle)).to_vec();
        let bounces: [Vec<Ray>; 5] = [
            vertical([-20, -30, -40]),
            vertical([40, 50, 60]),
            [AXIS].into_iter().chain(horizontal(10, 30)).collect(),
            horizontal(40, 80).collect(),
            (horizontal(90, 170).chain([(Plane::Horizontal, 180)])).collect(),
        ];
        let share = 1.0 / bounces.len() as f64;
        let rays = bounces.iter().flat_map(|bounce| {
            let weight = share / bounce.len() as f64;
            bounce.iter().map(move |&ray| (ray, weight))
        });
        Self {
            rays: rays.collect(),
        }
    }

    /// Sound power: all directions, each with its share of the sphere.
    #[must_use]
    pub fn sound_power() -> Self {
        let mut rays = Vec::new();
        for plane in [Plane::Horizontal, Plane::Vertical] {
            for step in -17..=18 {
                let angle = 10 * step;
                rays.push(((plane, angle), sphere_share(angle)));
            }
        }
        let whole: f64 = rays.iter().map(|(_, weight)| weight).sum();
        rays.iter_mut().for_each(|(_, weight)| *weight /= whole);
        Self { rays }
    }
}

/// The reference axis.
pub const AXIS: Ray = (Plane::Horizontal, 0);

fn both_ways(plane: Plane, angles: impl IntoIterator<Item = i32>) -> impl Iterator<Item = Ray> {
    (angles.into_iter()).flat_map(move |angle| [(plane, -angle), (plane, angle)])
}

/// Share of the sphere that one measurement at a whole multiple of 10° on an orbit stands for: what lies within 5° of
/// its angle, seen from the pole of the orbit, and nearer to this orbit than to the other one.
///
/// Between a − 5° and a + 5° that is (asin(cos(a − 5°)/√2) − asin(cos(a + 5°)/√2))/2π; the axis and its opposite are
/// on both orbits, and count half on either. Derived from that, and the same as the weights printed in the standard's
/// appendix to all their digits (those from memory, see the test).
#[must_use]
pub fn sphere_share(angle_deg: i32) -> f64 {
    let angle_deg = angle_deg.rem_euclid(360);
    // Folded to 0 to 90 degrees.
    let angle_deg = if angle_deg > 180 {
        360 - angle_deg
    } else {
        angle_deg
    };
    let folded = f64::from(angle_deg.min(180 - angle_deg));
    let edge = |deg: f64| (deg.to_radians().cos() * std::f64::consts::FRAC_1_SQRT_2).asin();
    (edge((folded - 5.0).max(0.0)) - edge(folded + 5.0)) / std::f64::consts::TAU
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Weights of ANSI/CTA-2034-A, appendix C; from memory, to the printed digits.
    #[test]
    fn weights_of_the_standard() {
        for (angle, printed) in [
            (0, 0.000_604_486),
            (10, 0.004_730_189),
            (20, 0.008_955_027),
            (30, 0.012_387_354),
            (40, 0.014_989_611),
            (50, 0.016_868_154),
            (60, 0.018_165_962),
            (70, 0.019_006_744),
            (80, 0.019_477_787),
            (90, 0.019_629_373),
        ] {
            for angle in [angle, -angle, 180 - angle, angle - 180] {
                let found = sphere_share(angle);
                assert!(
                    (found - printed).abs() < 6e-10,
                    "{angle}: {found} {printed}"
                );
            }
        }
    }

    #[test]
    fn windows_are_means_over_the_directions_of_the_standard() {
        for (window, rays) in [
            (Window::listening(), 9),
            (Window::early_reflections(), 3 + 3 + 7 + 10 + 19),
            // The axis and its opposite stand on both orbits: 70 directions.
            (Window::sound_power(), 72),
            (Window::vertical(), 5),
            (Window::horizontal(), 7),
        ] {
            assert_eq!(window.rays.len(), rays);
            let whole: f64 = window.rays.iter().map(|(_, weight)| weight).sum();
            assert!((whole - 1.0).abs() < 1e-12);
        }
    }

    /// Floor, ceiling, front wall, side walls and rear wall of ANSI/CTA-2034-A, each a fifth (from memory).
    #[test]
    fn early_reflections_come_from_five_walls() {
        let (v, h) = (Plane::Vertical, Plane::Horizontal);
        let both = |angles: &[i32]| -> Vec<Ray> {
            angles.iter().flat_map(|&a| [(h, a), (h, -a)]).collect()
        };
        let mut rear = both(&[90, 100, 110, 120, 130, 140, 150, 160, 170]);
        rear.push((h, 180));
        let walls = [
            vec![(v, -20), (v, -30), (v, -40)],
            vec![(v, 40), (v, 50), (v, 60)],
            [vec![AXIS], both(&[10, 20, 30])].concat(),
            both(&[40, 50, 60, 70, 80]),
            rear,
        ];
        let window = Window::early_reflections();
        assert_eq!(window.rays.len(), walls.concat().len());
        for wall in walls {
            for ray in &wall {
                let found = window.rays.iter().find(|(found, _)| found == ray);
                let weight = found.unwrap_or_else(|| panic!("{ray:?} is missing")).1;
                assert!((weight - 0.2 / wall.len() as f64).abs() < 1e-12, "{ray:?}");
            }
        }
    }

    /// A source whose power goes as (1 + cos θ)²/4 has the mean 1/3 over the sphere, and so has a dipole's cos²θ. What
    /// two orbits can know of the sphere by the weights of the standard is 0.4 dB from it.
    #[test]
    fn sound_power_of_known_sources() {
        for power in [|cos: f64| 0.25 * (1.0 + cos).powi(2), |cos: f64| cos * cos] {
            let mean: f64 = (Window::sound_power().rays.iter())
                .map(|((_, angle), weight)| weight * power(f64::from(*angle).to_radians().cos()))
                .sum();
            let off_db = 10.0 * (3.0 * mean).log10();
            assert!(off_db.abs() < 0.4, "{off_db}");
        }
    }
}
