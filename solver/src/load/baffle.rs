//! What the front of a cabinet and the planes next to it make of a driver's sound, on the axis and far away.
//!
//! **Edges** (first order). On a wall without end a driver gives its sound into half of all directions. Where the wall
//! ends at a distance r(φ) the sound goes round the edge, and the edge sends a share back: for a listener far away on
//! the axis
//!
//! ```text
//! p / p_wall = 1 − ½ · (1/2π) ∮ e^(−jk r(φ)) dφ
//! ```
//!
//! which is ½ (−6.02 dB: all directions) where the front is small to the wave. The idea of secondary sources along the
//! edges is Vanderkooy's (J. Audio Eng. Soc. 39, 1991; from memory); its first order agrees with a boundary element
//! solution of a box within 0.8 dB (`tests/fixtures/numpy_baffle.py`). r is averaged over the diaphragm.
//!
//! **Rounded edges**. Of an edge of radius R every bit of the bend sends its share: with r the distance to where the
//! bend begins, in place of e^(−jkr)
//!
//! ```text
//! e^(−jkr) · Σ w(θ) e^(−jkR(θ + 1 − cos θ)),   w(θ) a sum of powers of cos(θ/2)
//! ```
//!
//! The weights are fitted to the rigid sphere, which is nothing but bend (r = 0), whose closed-form series is classical
//! (Morse, Vibration and Sound; Morse and Ingard, Theoretical Acoustics): within 0.26 dB for ka from 0.05 to 20. Of boxes
//! whose edges are rounded boundary elements give what is within 0.6 dB for 6 cm and 1 dB for 10 cm of radius (the same
//! script, 60 Hz to 1.4 kHz).
//!
//! **Room**. The power that a small source gives off near planes (Waterhouse, J. Acoust. Soc. Am. 27, 1955; from
//! memory): 1 + Σ sin(2kx)/(2kx) over its images at distances 2x, 3.01 dB for each plane that is near to the wave and
//! nothing where it is far. It is laid on the level with its minimum phase.

use std::f64::consts::{PI, TAU};

use netlist::project::{Baffle, RoomLoading};
use num_complex::Complex64;

use super::minimum_phase::LogLogCurve;
use crate::grid::Grid;
use crate::spectrum::Spectrum;

/// Directions in which the edge is looked for, and distances that are told apart.
const DIRECTIONS: usize = 240;
const DISTANCES: usize = 256;
/// Rings of points on the diaphragm, each with six points more than the one within.
const RINGS: usize = 2;
/// Shares, and powers of cos(θ/2), of a bend; steps over it.
const BEND: [(f64, f64); 3] = [(0.5, 33.763), (0.629, 3.598), (-0.129, 0.402)];
const BEND_STEPS: usize = 200;

/// The front with its room: what a driver's sound on a wall without end is multiplied by. `radius_m` is that of the
/// diaphragm.
pub(super) fn factor(baffle: &Baffle, radius_m: f64, grid: &Grid, c_m_per_s: f64) -> Spectrum {
    let edges = Edges::new(baffle, radius_m);
    let room = room(baffle);
    Spectrum::from_fn(grid.len(), |i| {
        let k = grid.omega()[i] / c_m_per_s;
        let room = room.as_ref().map_or(Complex64::ONE, |room| room.at(k));
        edges.at(k) * room
    })
}

/// Where half of the 6 dB is lost that the end of a wall takes at low frequencies, Hz, for a square front with the driver
/// in its middle: `cos kr = 3/4` with r the mean distance to the edge, 0.56 widths.
#[must_use]
pub fn step_hz(width_m: f64) -> f64 {
    0.75f64.acos() * crate::air::SPEED_OF_SOUND_M_PER_S / (TAU * 0.56 * width_m)
}

/// Distances to where the front ends or begins to bend, from all of the diaphragm, with their shares.
struct Edges {
    distances: Vec<(f64, f64)>,
    bend_radius_m: f64,
}

impl Edges {
    fn new(baffle: &Baffle, radius_m: f64) -> Self {
        let cabinet = &baffle.cabinet;
        // What is flat of the front.
        let flat = |side: f64| (side - 2.0 * cabinet.edge.0).max(0.0);
        let (width, height) = (flat(cabinet.width.0), flat(cabinet.height.0));
        let (x0, y0) = (baffle.right.0, baffle.up.0 - cabinet.height.0 / 2.0);
        let longest = width.hypot(height).max(f64::MIN_POSITIVE);
        let mut share = vec![0.0; DISTANCES];
        let mut middle = vec![0.0; DISTANCES];
        let points = on_disc(radius_m);
        let each = 1.0 / (points.len() * DIRECTIONS) as f64;
        for (dx, dy) in points {
            // A diaphragm that hangs over what is flat ends there.
            let x = (x0 + dx).clamp(-width / 2.0, width / 2.0);
            let y = (y0 + dy).clamp(-height / 2.0, height / 2.0);
            for direction in 0..DIRECTIONS {
                let (sin, cos) = (TAU * (direction as f64 + 0.5) / DIRECTIONS as f64).sin_cos();
                let to_side = (width / 2.0 - x * cos.signum()) / cos.abs().max(1e-12);
                let to_end = (height / 2.0 - y * sin.signum()) / sin.abs().max(1e-12);
                let r = to_side.min(to_end);
                let bin = ((r / longest * DISTANCES as f64) as usize).min(DISTANCES - 1);
                share[bin] += each;
                middle[bin] += each * r;
            }
        }
        let distances = (share.iter().zip(&middle))
            .filter(|(share, _)| **share > 0.0)
            .map(|(share, middle)| (middle / share, *share))
            .collect();
        Self {
            distances,
            bend_radius_m: cabinet.edge.0,
        }
    }

    fn at(&self, k: f64) -> Complex64 {
        let sum: Complex64 = (self.distances.iter())
            .map(|(r, share)| Complex64::from_polar(*share, -k * r))
            .sum();
        1.0 - 0.5 * sum * bend(k * self.bend_radius_m)
    }
}

/// Points evenly over a disc.
fn on_disc(radius_m: f64) -> Vec<(f64, f64)> {
    let mut points = vec![(0.0, 0.0)];
    for ring in 1..=RINGS {
        let r = radius_m * (ring as f64) / (RINGS as f64 + 0.5);
        points.extend((0..6 * ring).map(|i| {
            let (sin, cos) = (TAU * i as f64 / (6 * ring) as f64).sin_cos();
            (r * cos, r * sin)
        }));
    }
    points
}

/// Sum over a bend of radius R, of `kR`; 1 for a sharp edge.
fn bend(k_radius: f64) -> Complex64 {
    if k_radius <= 0.0 {
        return Complex64::ONE;
    }
    let angle = |step: usize| PI * (step as f64 + 0.5) / BEND_STEPS as f64;
    let mut sum = Complex64::ZERO;
    let mut totals = [0.0; BEND.len()];
    let mut sums = [Complex64::ZERO; BEND.len()];
    for step in 0..BEND_STEPS {
        let theta = angle(step);
        let turned = Complex64::from_polar(1.0, -k_radius * (theta + 1.0 - theta.cos()));
        let ln_cos = (theta / 2.0).cos().ln();
        for (place, (_, power)) in BEND.iter().enumerate() {
            let weight = (power * ln_cos).exp();
            totals[place] += weight;
            sums[place] += weight * turned;
        }
    }
    for (place, (share, _)) in BEND.iter().enumerate() {
        sum += share * sums[place] / totals[place];
    }
    sum
}

/// Level and minimum phase of a room's planes over ln k.
struct RoomGain {
    ln_k: Vec<f64>,
    ln_gain: Vec<f64>,
    phase: LogLogCurve,
}

/// Wave numbers between which a room has any say, per metre, and how many are looked at.
const ROOM_K: [f64; 2] = [0.01, 1000.0];
const ROOM_POINTS: usize = 241;

fn room(baffle: &Baffle) -> Option<RoomGain> {
    let cabinet = &baffle.cabinet;
    let floor = baffle.up.0;
    let wall = cabinet.depth.0;
    let side = cabinet.width.0 / 2.0 - baffle.right.0;
    let planes: &[f64] = match cabinet.room {
        RoomLoading::Free => return None,
        RoomLoading::Floor => &[floor],
        RoomLoading::Wall => &[floor, wall],
        RoomLoading::Corner => &[floor, wall, side],
    };
    // One image for each set of planes, at twice the way to where they meet.
    let images: Vec<f64> = (1..1usize << planes.len())
        .map(|set| {
            let square = |(bit, x): (usize, &f64)| f64::from(u8::from(set >> bit & 1 == 1)) * x * x;
            2.0 * (planes.iter().enumerate().map(square).sum::<f64>()).sqrt()
        })
        .collect();
    let step = (ROOM_K[1] / ROOM_K[0]).ln() / (ROOM_POINTS - 1) as f64;
    let ln_k: Vec<f64> = (0..ROOM_POINTS)
        .map(|i| ROOM_K[0].ln() + step * i as f64)
        .collect();
    let ln_gain: Vec<f64> = (ln_k.iter())
        .map(|ln_k| {
            let k = ln_k.exp();
            let power: f64 = 1.0 + images.iter().map(|r| (k * r).sin() / (k * r)).sum::<f64>();
            0.5 * power.max(1e-3).ln()
        })
        .collect();
    Some(RoomGain {
        phase: LogLogCurve::new(&ln_k, &ln_gain, 0.0, 0.0),
        ln_k,
        ln_gain,
    })
}

impl RoomGain {
    fn at(&self, k: f64) -> Complex64 {
        let ln_k = k.ln();
        let last = self.ln_k.len() - 1;
        let above = self.ln_k.partition_point(|x| *x <= ln_k).clamp(1, last);
        let along = (ln_k - self.ln_k[above - 1]) / (self.ln_k[above] - self.ln_k[above - 1]);
        let along = along.clamp(0.0, 1.0);
        let ln_gain = self.ln_gain[above - 1] * (1.0 - along) + self.ln_gain[above] * along;
        Complex64::from_polar(ln_gain.exp(), self.phase.phase_rad(ln_k))
    }
}
