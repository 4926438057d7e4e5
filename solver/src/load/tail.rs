//! How a measured magnitude goes on beyond an end of its table.
//!
//! Where the table has a phase the fitted slope of its end is held: there the phase is known. Where it has
//! none, the phase at the end hangs on what comes after it, and a slope that is held for ever is wrong:
//!
//! - Below its table an impedance comes back to the voice coil's resistance. A table that begins on the flank of
//!   a resonance is continued as `Re·(1 + h/(1 + jQ(x − 1/x)))`, x = f/f₀, that goes through the end and is
//!   nearest to half an octave of rows, height h and Q being near the usual where the rows leave them open; one that begins on the rise of the coil's inductance
//!   as `Re·(1 + jx)`.
//! - A response falls in the end: beyond a table that ends within the knee of a high or low pass the slope goes on
//!   to steepen as that of a Butterworth filter does, `n·x²ⁿ/(1 + x²ⁿ)`, whose order n follows from slope and
//!   curvature: n = a + a'/(2a), up to 24 dB per octave (coil, mass of a diaphragm; closed box and horn; vented
//!   box). One that rises towards its end levels off.
//!
//! None of this is known; [`likely`] is the best guess, and [`others`] are what else there may be, from
//! which the doubt about the phase follows.

use std::f64::consts::LN_2;

use super::Curve;
use super::flank::{Flank, fitted};
use super::table_end::TableEnd;

/// A magnitude beyond an end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tail {
    /// Distance from the end in ln f, rising and above 0, and ln magnitude.
    pub(super) corners: Vec<(f64, f64)>,
    /// d ln magnitude / d ln f beyond the last corner.
    pub(super) slope: f64,
}

/// Corners of a curved tail in each octave.
const CORNERS: f64 = 12.0;
/// How far a curved tail is followed at most, in ln f.
const FARTHEST: f64 = 10.0 * LN_2;
/// A response with a slope below this is level: 0.12 dB per octave.
const LEVEL: f64 = 0.02;
/// One that rises towards its end goes on to rise for this long.
const RISING: f64 = LN_2 / 3.0;
/// Order of a response where its end says nothing of it: 12 dB per octave.
const USUAL_ORDER: f64 = 2.0;
/// The steepest that a response settles to, 24 dB per octave, unless it is steeper already.
const STEEPEST_ORDER: f64 = 4.0;
/// How soon that is gone below the table, in ln f.
const OTHERS_FADE: f64 = LN_2 / 2.0;
/// An impedance this near to its least value is on no flank.
const ON_FLOOR: f64 = 1.03;

impl Tail {
    /// ln magnitude at a distance beyond an end where it is `y`.
    pub(super) fn at(&self, end: &TableEnd, distance: f64) -> f64 {
        let sign = if end.upper { 1.0 } else { -1.0 };
        let next = self.corners.partition_point(|corner| corner.0 < distance);
        let (from, y) = match next.checked_sub(1) {
            Some(before) => self.corners[before],
            None => (0.0, end.y),
        };
        match self.corners.get(next) {
            Some((to, end_y)) => y + (end_y - y) * (distance - from) / (to - from),
            None => y + sign * self.slope * (distance - from),
        }
    }
}

/// The fitted slope for ever, or until the magnitude comes down to its floor.
pub(super) fn held(end: &TableEnd) -> Tail {
    let outward = if end.upper { end.slope } else { -end.slope };
    if outward < 0.0 && end.floor.is_finite() {
        let distance = (end.floor - end.y) / outward;
        let corners = match distance > 0.0 {
            true => vec![(distance, end.floor)],
            false => Vec::new(),
        };
        return Tail {
            corners,
            slope: 0.0,
        };
    }
    Tail {
        corners: Vec::new(),
        slope: end.slope,
    }
}

/// The best guess.
pub(super) fn likely(end: &TableEnd) -> Tail {
    match end.kind {
        Curve::Impedance if end.upper => held(end),
        Curve::Impedance if on_floor(end) => coil(end, 1.0),
        Curve::Impedance => resonance(end, fitted(end).0),
        Curve::Response => knee(end, order(end).0),
    }
}

/// What else there may be.
pub(super) fn others(end: &TableEnd) -> Vec<Tail> {
    let straight = |slope: f64| {
        held(&TableEnd {
            slope,
            ..end.clone()
        })
    };
    match end.kind {
        // A coil rises with a slope between those of eddy currents and of a pure inductance.
        Curve::Impedance if end.upper => vec![
            straight((end.slope - 0.25).max(0.0)),
            straight((end.slope + 0.25).min(1.0)),
        ],
        Curve::Impedance if on_floor(end) => vec![straight(0.0), coil(end, 2.0)],
        // Another resonance, or one that is far off, or none.
        Curve::Impedance => (fitted(end).1.into_iter())
            .map(|flank| resonance(end, flank))
            .chain([held(end), straight(0.0)])
            .collect(),
        Curve::Response => {
            let slope = falling(end);
            let (order, settled) = order(end);
            if settled {
                return vec![straight(0.9 * end.slope), straight(1.1 * end.slope)];
            }
            // It may turn down right there, or go on as it is.
            let steeper = if slope > 0.5 { order.max(slope) } else { 0.0 } + 2.0;
            vec![
                straight(end.slope),
                Tail {
                    corners: Vec::new(),
                    slope: if end.upper { -steeper } else { steeper },
                },
            ]
        }
    }
}

/// Slope with which the magnitude falls away from the table; below 0 where it rises.
fn falling(end: &TableEnd) -> f64 {
    if end.upper { -end.slope } else { end.slope }
}

/// Order of the filter in whose knee a response ends by its slope and curvature, and whether the slope has
/// settled.
fn order(end: &TableEnd) -> (f64, bool) {
    let slope = falling(end);
    if slope < LEVEL {
        return (USUAL_ORDER, false);
    }
    // Of a gentle slope the curvature says little, and a filter with a peak bends more than one without: more than
    // the usual order is only believed of what is steep already.
    let [middle, gain] = end.bend;
    let bent = middle + gain / (2.0 * middle.max(0.1));
    let known = (2.0 * slope).min(1.0).sqrt();
    let bent = known * bent + (1.0 - known) * USUAL_ORDER.max(slope);
    let most = USUAL_ORDER.max(1.25 * slope).min(STEEPEST_ORDER).max(slope);
    let order = bent.clamp(slope, most);
    (order, slope > 1.8 && (bent - slope).abs() < 0.2)
}

/// A Butterworth knee of slope `order`, of which the end is a part.
fn knee(end: &TableEnd, order: f64) -> Tail {
    let slope = falling(end);
    if slope < LEVEL {
        let rise = (-slope).clamp(0.0, 1.0) * RISING;
        return Tail {
            corners: if rise > 0.0 {
                vec![(RISING, end.y + rise)]
            } else {
                Vec::new()
            },
            slope: 0.0,
        };
    }
    if slope >= 0.98 * order {
        return held(end);
    }
    // ln x at the middle of the fitted rows, and at the end; x is 1 at the corner of the filter.
    let ln_x = (slope / (order - slope)).ln() / (2.0 * order) + end.inside;
    let loss = |u: f64| 0.5 * (2.0 * order * u).exp().ln_1p();
    let at_end = loss(ln_x);
    // Until the slope is within 2 % of the final one.
    let settled = 50f64.ln() / (2.0 * order) - ln_x;
    let far = settled.clamp(LN_2 / CORNERS, FARTHEST);
    Tail {
        corners: spaced(far)
            .map(|d| (d, end.y + at_end - loss(ln_x + d)))
            .collect(),
        slope: if end.upper { -order } else { order },
    }
}

/// Whether an impedance is about the least of its table at its end.
fn on_floor(end: &TableEnd) -> bool {
    (end.y - end.floor).exp() < ON_FLOOR
}

/// The lower end of an impedance on the rise of the coil's inductance, with a rise that bends `times` as
/// gently.
fn coil(end: &TableEnd, times: f64) -> Tail {
    if end.slope < LEVEL {
        return held(end);
    }
    // d ln|1 + jx|/d ln x = x²/(1 + x²), at the middle of the fitted rows.
    let slope = end.slope.min(0.9) / times;
    let square = slope / (1.0 - slope) * (-2.0 * end.inside).exp();
    let over = |d: f64| 0.5 * times * (square * (-2.0 * d).exp()).ln_1p();
    Tail {
        corners: spaced(4.0 * LN_2)
            .map(|d| (d, end.y - over(0.0) + over(d)))
            .collect(),
        slope: 0.0,
    }
}

/// Distances from the first corner to `far`.
fn spaced(far: f64) -> impl Iterator<Item = f64> {
    let count = (far * CORNERS / LN_2).ceil().max(1.0) as usize;
    (1..=count).map(move |i| far * i as f64 / count as f64)
}

/// The lower end of an impedance on the flank of a resonance.
fn resonance(end: &TableEnd, flank: Flank) -> Tail {
    // Down to where the peak is some octaves above.
    let far = (flank.x / 0.05).ln().clamp(LN_2 / CORNERS, FARTHEST);
    let y = |d: f64| end.floor + flank.base.ln() * (-d / OTHERS_FADE).exp() + flank.ln_over(-d);
    Tail {
        corners: spaced(far).map(|d| (d, y(d))).collect(),
        slope: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(kind: Curve, upper: bool, y: f64, slope: f64, floor: f64) -> TableEnd {
        TableEnd {
            kind,
            upper,
            y,
            slope,
            inside: 0.0,
            near: Vec::new(),
            bend: [0.0; 2],
            floor,
        }
    }

    /// The tail of a resonance's flank is the resonance, where its height is the one that is taken.
    #[test]
    fn a_flank_is_continued_over_the_peak_and_down_to_the_resistance() {
        let ln_z = |x: f64| {
            let t = 3.0 * (x - 1.0 / x);
            0.5 * ((81.0 + t * t) / (1.0 + t * t)).ln()
        };
        for x in [0.6f64, 0.9, 1.2, 1.6, 2.2] {
            let slope = (ln_z(x * 1.0001) - ln_z(x / 1.0001)) / (2.0 * 1.0001f64.ln());
            let mut end = end(Curve::Impedance, false, ln_z(x), slope, 0.0);
            end.near = (0..24)
                .map(|i| 0.5 * LN_2 * f64::from(i) / 23.0)
                .map(|inside| (inside, ln_z(x * inside.exp())))
                .collect();
            let tail = likely(&end);
            for below in [1.1f64, 1.5, 3.0, 8.0] {
                let (found, right) = (tail.at(&end, below.ln()), ln_z(x / below));
                assert!((found - right).abs() < 0.2, "{x} {below}: {found} {right}");
            }
            assert!(tail.at(&end, 6.0) < 0.1 && tail.at(&end, 20.0) < 0.1);
        }
    }

    /// The tail of a Butterworth low pass's knee is the low pass.
    #[test]
    fn a_knee_goes_on_as_the_filter_that_it_is_of() {
        let loss = |x: f64| -0.5 * x.powi(4).ln_1p();
        for x in [0.8f64, 1.0, 1.4] {
            let slope = -2.0 * x.powi(4) / (1.0 + x.powi(4));
            let mut end = end(Curve::Response, true, loss(x), slope, f64::NEG_INFINITY);
            end.bend = [-slope, -2.0 * slope * (2.0 + slope)];
            let tail = likely(&end);
            for above in [1.1f64, 2.0, 5.0, 100.0] {
                let (found, right) = (tail.at(&end, above.ln()), loss(x * above));
                assert!((found - right).abs() < 0.03, "{x} {above}: {found} {right}");
            }
        }
    }

    #[test]
    fn every_tail_is_finite_and_settles() {
        for kind in [Curve::Impedance, Curve::Response] {
            for upper in [false, true] {
                for slope in [-1.0, -0.3, -1e-12, 0.0, 1e-12, 0.3, 1.0] {
                    for y in [0.0, 1e-9, 0.02, 0.5, 2.0, 4.0] {
                        let floor = match kind {
                            Curve::Impedance => 0.0,
                            Curve::Response => f64::NEG_INFINITY,
                        };
                        let end = end(kind, upper, y, slope, floor);
                        for tail in others(&end).into_iter().chain([likely(&end)]) {
                            let mut before = 0.0;
                            for (distance, y) in &tail.corners {
                                assert!(*distance > before && y.is_finite());
                                assert!(*y >= floor - 2.0, "{end:?} {tail:?}");
                                before = *distance;
                            }
                            assert!(tail.slope.is_finite() && tail.at(&end, 30.0).is_finite());
                        }
                    }
                }
            }
        }
    }
}
