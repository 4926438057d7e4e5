//! Curves as paths, cut at the borders of the plot.

use super::axis::Axis;
use super::svg::tenths;

/// A place in the picture.
pub(super) type ChartPoint = [f64; 2];

/// The plot in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) from_hz: f64,
    pub(super) to_hz: f64,
}

impl Frame {
    pub(super) fn x(&self, f_hz: f64) -> f64 {
        let share = (f_hz / self.from_hz).ln() / (self.to_hz / self.from_hz).ln();
        self.left + share * (self.right - self.left)
    }

    pub(super) fn y(&self, axis: &Axis, value: f64) -> f64 {
        self.bottom - axis.share(value) * (self.bottom - self.top)
    }
}

/// The visible pieces of a curve. It is broken where a value is no number and where an angle wraps,
/// and cut where it leaves the plot.
pub(super) fn pieces(
    frame: &Frame,
    axis: &Axis,
    f_hz: &[f64],
    values: &[f64],
) -> Vec<Vec<ChartPoint>> {
    let mut pieces = Vec::new();
    let mut piece: Vec<ChartPoint> = Vec::new();
    let mut before: Option<ChartPoint> = None;
    let turn = axis.to - axis.from;
    for (&f_hz, &value) in f_hz.iter().zip(values) {
        if !(f_hz > 0.0 && f_hz.is_finite() && value.is_finite()) {
            before = None;
            end(&mut piece, &mut pieces);
            continue;
        }
        let here = [(f_hz / frame.from_hz).ln(), value];
        if let Some(last) = before {
            let jump = value - last[1];
            if axis.wraps && jump.abs() > 0.5 * turn {
                // Once around: to the one end, and on from the other.
                let around = turn.copysign(jump);
                let out = [here[0], value - around];
                add(frame, axis, last, out, &mut piece, &mut pieces);
                end(&mut piece, &mut pieces);
                let back = [last[0], last[1] + around];
                add(frame, axis, back, here, &mut piece, &mut pieces);
            } else {
                add(frame, axis, last, here, &mut piece, &mut pieces);
            }
        }
        before = Some(here);
    }
    end(&mut piece, &mut pieces);
    pieces
}

fn end(piece: &mut Vec<ChartPoint>, pieces: &mut Vec<Vec<ChartPoint>>) {
    if piece.len() > 1 {
        pieces.push(std::mem::take(piece));
    } else {
        piece.clear();
    }
}

/// Adds the visible part of a straight stretch between two points of (log frequency, value).
fn add(
    frame: &Frame,
    axis: &Axis,
    from: ChartPoint,
    to: ChartPoint,
    piece: &mut Vec<ChartPoint>,
    pieces: &mut Vec<Vec<ChartPoint>>,
) {
    let span = (frame.to_hz / frame.from_hz).ln();
    // Liang and Barsky, ACM Trans. Graphics 3, 1984: the part of the stretch within four borders.
    let (mut t0, mut t1) = (0.0f64, 1.0f64);
    // Heights as shares of the axis, so that it may be logarithmic.
    let [from, to] = [from, to].map(|[u, value]| [u, axis.share(value)]);
    let (du, dv) = (to[0] - from[0], to[1] - from[1]);
    for (p, q) in [
        (-du, from[0]),
        (du, span - from[0]),
        (-dv, from[1]),
        (dv, 1.0 - from[1]),
    ] {
        if p < 0.0 {
            t0 = t0.max(q / p);
        } else if p > 0.0 {
            t1 = t1.min(q / p);
        } else if q < 0.0 {
            t1 = -1.0;
        }
    }
    if t0 > t1 {
        end(piece, pieces);
        return;
    }
    let at = |t: f64| {
        let u = from[0] + t * (to[0] - from[0]);
        let share = from[1] + t * (to[1] - from[1]);
        [
            frame.left + u / span * (frame.right - frame.left),
            frame.bottom - share * (frame.bottom - frame.top),
        ]
    };
    if t0 > 0.0 {
        end(piece, pieces);
    }
    if piece.is_empty() {
        piece.push(at(t0));
    }
    piece.push(at(t1));
    if t1 < 1.0 {
        end(piece, pieces);
    }
}

/// A path through points, straight from one to the next; the points are nearer together than anybody sees. Steps are
/// from where the last one came to, in tenths of a unit, so that rounding does not add up.
pub(super) fn path(points: &[ChartPoint]) -> String {
    let mut text = String::new();
    let Some(first) = points.first() else {
        return text;
    };
    let whole = |v: f64| (10.0 * v).round() as i64;
    let mut at = first.map(whole);
    text.push('M');
    tenths(at[0], &mut text);
    text.push(' ');
    tenths(at[1], &mut text);
    text.push('l');
    for point in &points[1..] {
        let to = point.map(whole);
        let (dx, dy) = (to[0] - at[0], to[1] - at[1]);
        at = to;
        if !text.ends_with('l') && dx >= 0 {
            text.push(' ');
        }
        tenths(dx, &mut text);
        if dy >= 0 {
            text.push(' ');
        }
        tenths(dy, &mut text);
    }
    text
}

/// How far a thinned line may be off, in units of the picture: as fine as a path is written.
const THIN: f64 = 0.1;

/// The points of a line that goes on to the right without those that lie on the straight line between others, within
/// `THIN`: where a curve is straight, a browser has less to read and to draw. By Ramer (1972) and Douglas and
/// Peucker (1973): of a stretch the point that is farthest off its chord is kept, and both halves are looked at.
pub(super) fn without_straight(points: &[ChartPoint]) -> Vec<ChartPoint> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let last = points.len() - 1;
    let mut kept = vec![false; points.len()];
    (kept[0], kept[last]) = (true, true);
    let mut stretches = vec![(0, last)];
    while let Some((from, to)) = stretches.pop() {
        let ([x, y], [x_to, y_to]) = (points[from], points[to]);
        let (dx, dy) = (x_to - x, y_to - y);
        let length = dx.hypot(dy).max(f64::MIN_POSITIVE);
        let off = |i: usize| ((points[i][0] - x) * dy - (points[i][1] - y) * dx).abs() / length;
        let farthest = (from + 1..to).max_by(|&a, &b| off(a).total_cmp(&off(b)));
        if let Some(middle) = farthest.filter(|&i| off(i) > THIN) {
            kept[middle] = true;
            stretches.extend([(from, middle), (middle, to)]);
        }
    }
    let kept = points.iter().zip(kept).filter(|(_, kept)| *kept);
    kept.map(|(point, _)| *point).collect()
}

/// An area between an upper and a lower edge, straight from point to point.
pub(super) fn area(upper: &[ChartPoint], lower: &[ChartPoint]) -> String {
    let (upper, lower) = (without_straight(upper), without_straight(lower));
    let around: Vec<ChartPoint> = upper.iter().chain(lower.iter().rev()).copied().collect();
    let mut text = path(&around);
    if !text.is_empty() {
        text.push('Z');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame {
        left: 50.0,
        top: 10.0,
        right: 350.0,
        bottom: 210.0,
        from_hz: 20.0,
        to_hz: 20e3,
    };

    #[test]
    fn what_leaves_the_plot_is_cut_at_its_border() {
        let axis = Axis::level("dB", 96.0);
        let f_hz = [10.0, 20.0, 200.0, 2000.0, 20e3, 40e3];
        let values = [75.0, 75.0, 200.0, -400.0, 75.0, 75.0];
        let pieces = pieces(&FRAME, &axis, &f_hz, &values);
        assert_eq!(pieces.len(), 3);
        for [x, y] in pieces.iter().flatten() {
            assert!((49.999..=350.001).contains(x) && (9.999..=210.001).contains(y));
        }
        assert!((pieces[0][0][0] - 50.0).abs() < 1e-9);
        let last = pieces[0].last().unwrap();
        assert!((last[1] - 10.0).abs() < 1e-9, "it leaves at the top");
        assert!((pieces[2].last().unwrap()[0] - 350.0).abs() < 1e-9);
    }

    #[test]
    fn an_angle_goes_around_and_a_gap_stays_a_gap() {
        let axis = Axis::degrees(180.0);
        let f_hz = [100.0, 200.0, 300.0, 400.0, 500.0, 600.0];
        let values = [-100.0, -170.0, 170.0, 100.0, f64::NAN, 0.0];
        let pieces = pieces(&FRAME, &axis, &f_hz, &values);
        assert_eq!(pieces.len(), 2);
        let (out, back) = (pieces[0].last().unwrap(), pieces[1][0]);
        assert!((out[1] - 210.0).abs() < 1e-9 && (back[1] - 10.0).abs() < 1e-9);
        assert!((out[0] - back[0]).abs() < 1e-9);
    }

    /// A reader adds the steps up, and comes out within half a tenth of every point.
    #[test]
    fn steps_lead_to_the_points() {
        let points: Vec<ChartPoint> = (0..500)
            .map(|i| {
                [
                    f64::from(i) * 1.337,
                    100.0 + 40.0 * (f64::from(i) / 9.0).sin(),
                ]
            })
            .collect();
        let text = path(&points);
        let (start, steps) = text[1..].split_once('l').unwrap();
        let numbers = |text: &str| -> Vec<f64> {
            let spaced = text.replace('-', " -");
            spaced
                .split_whitespace()
                .map(|n| n.parse().unwrap())
                .collect()
        };
        let (mut at, steps) = (numbers(start), numbers(steps));
        assert_eq!(steps.len(), 2 * (points.len() - 1));
        for (step, point) in steps.chunks(2).zip(&points[1..]) {
            for axis in 0..2 {
                at[axis] += step[axis];
                assert!((at[axis] - point[axis]).abs() < 0.051, "{at:?} {point:?}");
            }
        }
        assert!(path(&[]).is_empty());
    }

    #[test]
    fn a_line_without_straight_points_is_within_a_tenth_everywhere_and_bends_stay() {
        // Straight, a bend, a wave, straight.
        let line: Vec<ChartPoint> = (0..400)
            .map(f64::from)
            .map(|x| {
                let wave = if (200.0..300.0).contains(&x) {
                    5.0 * ((x - 200.0) / 9.0).sin()
                } else {
                    0.0
                };
                [x, (x - 100.0).max(0.0) + wave]
            })
            .collect();
        let thin = without_straight(&line);
        assert!(thin.len() < 120, "{}", thin.len());
        assert!(thin.contains(&[100.0, 0.0]));
        assert_eq!((thin[0], thin.last()), (line[0], line.last()));
        for [x, y] in &line {
            let pair = thin.windows(2).find(|pair| pair[1][0] >= *x).unwrap();
            let slope = (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]);
            let off = (y - pair[0][1] - slope * (x - pair[0][0])) / slope.hypot(1.0);
            assert!(off.abs() < THIN + 1e-9, "{x}: {off}");
        }
        for few in [&line[..0], &line[..1], &line[..2]] {
            assert_eq!(without_straight(few), few);
        }
    }
}
