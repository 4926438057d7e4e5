//! Where somebody listens, and in which direction each driver sees him.

use netlist::project::{Listener, Plane, Position, Project};

use super::path::Path;
use crate::air::SPEED_OF_SOUND_M_PER_S;
use crate::radiation::Direction;

/// No listener is taken to be nearer than this, m: the 1/distance law has no meaning there.
const LEAST_DISTANCE_M: f64 = 1e-3;

/// A place to the right, above and in front of the origin of the drivers' positions, m.
type PlaceSeen = [f64; 3];

/// Where somebody listens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ear {
    /// Far away in a direction: levels are for 1 m.
    Far(Direction),
    /// At a place.
    At {
        /// The place.
        place: PlaceSeen,
        /// Distance whose delay is left out, as all drivers share it, m.
        shared_m: f64,
    },
}

impl Ear {
    /// The listener's; far away on the axis without one.
    #[must_use]
    pub fn of(listener: Option<&Listener>) -> Self {
        match listener {
            None => Self::Far([0.0, 0.0, 1.0]),
            Some(listener) => Self::At {
                place: [listener.right.0, listener.up.0, listener.distance.0],
                shared_m: listener.distance.0,
            },
        }
    }

    /// The same ear carried about `pivot` by an angle in a plane, degrees; to the right or upwards above 0.
    #[must_use]
    pub fn turned(&self, plane: Plane, angle_deg: f64, pivot: PlaceSeen) -> Self {
        let turn = |[right, up, front]: PlaceSeen| {
            let length = right.hypot(up).hypot(front);
            let (mut azimuth, mut elevation) = (right.atan2(front), (up / length).asin());
            match plane {
                Plane::Horizontal => azimuth += angle_deg.to_radians(),
                Plane::Vertical => elevation += angle_deg.to_radians(),
            }
            let along = length * elevation.cos();
            [
                along * azimuth.sin(),
                length * elevation.sin(),
                along * azimuth.cos(),
            ]
        };
        match *self {
            Self::Far(direction) => Self::Far(turn(direction)),
            Self::At { place, shared_m } => {
                let from = [0, 1, 2].map(|i| place[i] - pivot[i]);
                let turned = turn(from);
                Self::At {
                    place: [0, 1, 2].map(|i| pivot[i] + turned[i]),
                    shared_m,
                }
            }
        }
    }

    /// Path from a driver at `position`, and the direction in which it lies from there; a driver faces the front.
    #[must_use]
    pub fn from(&self, position: &Position) -> (Path, Direction) {
        let driver = [position.right.0, position.up.0, -position.back.0];
        match *self {
            Self::Far(direction) => {
                let nearer_m: f64 = (0..3).map(|i| driver[i] * direction[i]).sum();
                let path = Path {
                    delay_s: -nearer_m / SPEED_OF_SOUND_M_PER_S,
                    distance_m: 1.0,
                };
                (path, direction)
            }
            Self::At { place, shared_m } => {
                let way = [0, 1, 2].map(|i: usize| place[i] - driver[i]);
                let length_m = way[0].hypot(way[1]).hypot(way[2]);
                let distance_m = length_m.max(LEAST_DISTANCE_M);
                let path = Path {
                    delay_s: (length_m - shared_m) / SPEED_OF_SOUND_M_PER_S,
                    distance_m,
                };
                let direction = if length_m < LEAST_DISTANCE_M {
                    [0.0, 0.0, 1.0]
                } else {
                    way.map(|share| share / length_m)
                };
                (path, direction)
            }
        }
    }
}

/// The place about which a loudspeaker is turned: the middle of the drivers of its crossovers, or of all where there
/// is none; in the plane of the origin.
#[must_use]
pub fn pivot(project: &Project) -> PlaceSeen {
    let places: Vec<&Position> = (project.drivers.iter())
        .filter(|(name, _)| plays(project, name))
        .map(|(_, driver)| &driver.position)
        .collect();
    let mean = |of: &dyn Fn(&Position) -> f64| {
        places.iter().map(|place| of(place)).sum::<f64>() / places.len().max(1) as f64
    };
    [mean(&|place| place.right.0), mean(&|place| place.up.0), 0.0]
}

/// Whether a driver is one of the loudspeaker's: one that the crossovers name, or any where there is no crossover.
pub(super) fn plays(project: &Project, name: &str) -> bool {
    let mut crossovers = project.crossovers.iter();
    project.crossovers.is_empty()
        || crossovers.any(|crossover| crossover.between.iter().any(|one| one == name))
}

#[cfg(test)]
mod tests {
    use netlist::quantity::Metres;

    use super::*;
    use crate::sound::path;

    fn position(right: f64, up: f64, back: f64) -> Position {
        Position {
            right: Metres(right),
            up: Metres(up),
            back: Metres(back),
            back_to: None,
        }
    }

    /// Two drivers 25 cm above each other, heard 10 degrees above the axis: the upper one is 0.25·sin 10° = 43.4 mm
    /// nearer. Far behind, depth leads as it trailed in front.
    #[test]
    fn far_directions() {
        let far = Ear::of(None);
        let above = far.turned(Plane::Vertical, 10.0, [0.0; 3]);
        let delay = |ear: &Ear, position: &Position| ear.from(position).0.delay_s;
        let nearer =
            delay(&above, &position(0.0, 0.0, 0.0)) - delay(&above, &position(0.3, 0.25, 0.0));
        assert!((nearer * SPEED_OF_SOUND_M_PER_S - 0.043_412).abs() < 1e-6);
        let behind = far.turned(Plane::Horizontal, 180.0, [0.0; 3]);
        let deep = position(0.0, 0.0, 0.1);
        assert!((delay(&behind, &deep) + delay(&far, &deep)).abs() < 1e-15);
        assert!((delay(&far, &deep) - path(&deep, None).delay_s).abs() < 1e-18);
        // Over the top: as far as the other way round.
        let over = far.turned(Plane::Vertical, 180.0, [0.0; 3]);
        assert!((delay(&over, &deep) - delay(&behind, &deep)).abs() < 1e-15);
    }

    /// A turned listener keeps his distance from the pivot, and a full turn brings him back.
    #[test]
    fn near_listeners() {
        let listener = Listener {
            distance: Metres(3.0),
            up: Metres(1.2),
            right: Metres(0.4),
        };
        let ear = Ear::of(Some(&listener));
        let pivot = [0.0, 0.9, 0.0];
        let at_pivot = position(0.0, 0.9, 0.0);
        let (straight, _) = ear.from(&at_pivot);
        for plane in [Plane::Horizontal, Plane::Vertical] {
            for angle in [-40.0, 15.0, 130.0] {
                let (path, _) = ear.turned(plane, angle, pivot).from(&at_pivot);
                assert!((path.distance_m - straight.distance_m).abs() < 1e-12);
            }
            let (_, back) = ear.turned(plane, 360.0, pivot).from(&at_pivot);
            let (_, before) = ear.from(&at_pivot);
            assert!((0..3).all(|i| (back[i] - before[i]).abs() < 1e-12));
        }
        let (_, direction) = ear.from(&at_pivot);
        let size: f64 = direction.iter().map(|share| share * share).sum();
        assert!((size - 1.0).abs() < 1e-12);
    }
}
