//! A place for the name of each curve: at the curve, off all other names, and clear of other curves as
//! far as that can be.

use super::text;
use super::trace::ChartPoint;

/// Length of the piece of line before a name, and its distance from the name.
pub(super) const SAMPLE: f64 = 18.0;
pub(super) const SAMPLE_GAP: f64 = 4.0;

/// How far a name may be moved off its curve, nearest first.
const OFFSETS: [f64; 6] = [0.0, 8.0, 18.0, 32.0, 52.0, 76.0];

/// Distance of a name from its curve, where it is not moved.
const NEAR: f64 = 4.0;

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ChartRect {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl ChartRect {
    fn grown(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    pub(super) fn meets(&self, other: &ChartRect) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn holds(&self, point: ChartPoint) -> bool {
        (self.left..=self.right).contains(&point[0]) && (self.top..=self.bottom).contains(&point[1])
    }

    fn distance(&self, point: ChartPoint) -> f64 {
        let dx = (self.left - point[0]).max(point[0] - self.right).max(0.0);
        let dy = (self.top - point[1]).max(point[1] - self.bottom).max(0.0);
        dx.hypot(dy)
    }

    fn within(&self, other: &ChartRect) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }
}

/// Where a name goes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed {
    /// Room for the piece of line and the name.
    pub(super) room: ChartRect,
    /// From the curve to the name, where it had to be moved off.
    pub(super) leader: Option<[ChartPoint; 2]>,
}

/// Points of the visible pieces, at most two units apart, so that a crossing is not missed.
fn dense(pieces: &[Vec<ChartPoint>]) -> Vec<ChartPoint> {
    let mut points = Vec::new();
    for piece in pieces {
        for pair in piece.windows(2) {
            let ([x0, y0], [x1, y1]) = (pair[0], pair[1]);
            let steps = ((x1 - x0).hypot(y1 - y0) / 2.0).ceil().max(1.0);
            let mut step = 0.0;
            while step < steps {
                let t = step / steps;
                points.push([x0 + t * (x1 - x0), y0 + t * (y1 - y0)]);
                step += 1.0;
            }
        }
        points.extend(piece.last());
    }
    points
}

/// Room for each of the named curves, in their order; `None` where there is no room at all. `plot` is
/// where names may be, `taken` where they may not.
pub(super) fn place(
    curves: &[(String, Vec<Vec<ChartPoint>>)],
    size: f64,
    plot: ChartRect,
    taken: &[ChartRect],
) -> Vec<Option<Placed>> {
    let lines: Vec<Vec<ChartPoint>> = curves.iter().map(|(_, pieces)| dense(pieces)).collect();
    let mut rooms: Vec<ChartRect> = taken.to_vec();
    (0..curves.len())
        .map(|which| {
            if curves[which].0.is_empty() {
                return None;
            }
            let width = SAMPLE + SAMPLE_GAP + text::width(&curves[which].0, size);
            let placed = best(which, [width, 1.15 * size], &lines, plot, &rooms)?;
            rooms.push(placed.room);
            Some(placed)
        })
        .collect()
}

fn best(
    which: usize,
    size: [f64; 2],
    lines: &[Vec<ChartPoint>],
    plot: ChartRect,
    rooms: &[ChartRect],
) -> Option<Placed> {
    let own = &lines[which];
    let highest = own.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
    let mut best: Option<(f64, Placed)> = None;
    // About one place in eight units is looked at.
    for anchor in own.iter().step_by(4) {
        for offset in OFFSETS {
            let moved = 0.5 * offset + 0.06 * (anchor[1] - highest);
            // What curves cost comes on top: no look at them where this alone is too much.
            if best.as_ref().is_some_and(|(least, _)| moved >= *least) {
                break;
            }
            for up in [true, false] {
                for shift in [-0.5, -0.02, -0.98] {
                    let left = anchor[0] + shift * size[0];
                    let top = match up {
                        true => anchor[1] - NEAR - offset - size[1],
                        false => anchor[1] + NEAR + offset,
                    };
                    let room = ChartRect {
                        left,
                        top,
                        right: left + size[0],
                        bottom: top + size[1],
                    };
                    if !room.within(&plot) || rooms.iter().any(|r| r.grown(2.0).meets(&room)) {
                        continue;
                    }
                    let leader = (offset > 10.0).then(|| {
                        let edge = if up { room.bottom } else { room.top };
                        [*anchor, [anchor[0], edge]]
                    });
                    let cost = moved + crossings(which, room, leader, lines);
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, Placed { room, leader }));
                    }
                }
            }
        }
    }
    best.map(|(_, placed)| placed)
}

/// What it costs that curves run through a name, near it, or across its leader.
fn crossings(
    which: usize,
    room: ChartRect,
    leader: Option<[ChartPoint; 2]>,
    lines: &[Vec<ChartPoint>],
) -> f64 {
    let near = room.grown(24.0);
    let touch = room.grown(1.5);
    let mut cost = 0.0;
    let (mut own, mut other) = (25.0f64, 25.0f64);
    for (line, points) in lines.iter().enumerate() {
        for &point in points {
            if !near.holds(point) {
                continue;
            }
            if touch.holds(point) {
                cost += 6.0;
            }
            let away = room.distance(point);
            if line == which {
                own = own.min(away);
            } else {
                other = other.min(away);
            }
        }
        if let Some([from, to]) = leader.filter(|_| line != which) {
            let across = points.iter().any(|p| {
                (p[0] - from[0]).abs() < 1.5
                    && p[1] > from[1].min(to[1])
                    && p[1] < from[1].max(to[1])
            });
            cost += if across { 25.0 } else { 0.0 };
        }
    }
    // A name belongs to the curve that it is nearest to.
    let doubt = own + 8.0 - other;
    let factor = if leader.is_some() { 0.4 } else { 1.6 };
    cost + factor * doubt.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLOT: ChartRect = ChartRect {
        left: 50.0,
        top: 20.0,
        right: 700.0,
        bottom: 320.0,
    };

    fn flat(y: f64) -> Vec<Vec<ChartPoint>> {
        vec![(0..=60).map(|i| [60.0 + 10.0 * f64::from(i), y]).collect()]
    }

    #[test]
    fn names_are_near_their_curves_and_off_each_other() {
        let curves: Vec<(String, Vec<Vec<ChartPoint>>)> = [60.0, 100.0, 104.0, 250.0]
            .iter()
            .enumerate()
            .map(|(i, y)| (format!("curve {i}"), flat(*y)))
            .collect();
        let placed = place(&curves, 12.0, PLOT, &[]);
        let rooms: Vec<ChartRect> = placed.iter().map(|p| p.as_ref().unwrap().room).collect();
        for (i, a) in rooms.iter().enumerate() {
            assert!(a.within(&PLOT));
            assert!(rooms[i + 1..].iter().all(|b| !a.meets(b)));
            let y = curves[i].1[0][0][1];
            let gap = (a.top - y).max(y - a.bottom);
            assert!(gap > 0.0 && gap < 12.0, "{i}: {a:?}");
        }
    }

    #[test]
    fn where_there_is_no_room_there_is_no_name() {
        let taken = [PLOT];
        let placed = place(&[("x".to_owned(), flat(100.0))], 12.0, PLOT, &taken);
        assert_eq!(placed, [None]);
        let unseen = place(&[("x".to_owned(), Vec::new())], 12.0, PLOT, &[]);
        assert_eq!(unseen, [None]);
    }
}
