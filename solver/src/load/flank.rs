//! The flank of a resonance beyond the rows of a table, fitted to what is seen of it.

use super::table_end::TableEnd;

/// Height of an impedance peak over the resistance: 1 to 3 on a horn, Qms/Qes of 5 to 10 in a box.
const HEIGHT: f64 = 5.0;
/// And its Q.
const QUALITY: f64 = 3.0;
/// Both are often this many times as much or as little.
const UNUSUAL: f64 = 3.0;
/// What other resonances and the coil often lift the resistance by.
const BASE: f64 = 1.6;
/// What a row of a measured impedance, or the model of a single resonance, is off by.
const ROW_ERROR: f64 = 0.01;
/// The rows of half an octave say as much as so many independent ones.
const INDEPENDENT_ROWS: f64 = 6.0;
/// Resonances whose cost is more than the least by less than this are as likely: two standard deviations.
const AS_LIKELY: f64 = 4.0;

/// A place on the flank of a resonance: |Z| = b·Re·|1 + h/(1 + jt)|, t = Q(x − 1/x), whose square over b·Re is
/// (top + t²)/(1 + t²) with top = (1 + h)². What other resonances and the coil add is in b.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flank {
    /// f/f₀ of the end.
    pub(super) x: f64,
    pub(super) q: f64,
    pub(super) base: f64,
    pub(super) top: f64,
}

impl Flank {
    /// The resonance that is `over` times the resistance at the end.
    pub(super) fn through(over: f64, [x, q, base]: [f64; 3]) -> Self {
        let t = q * (x - 1.0 / x);
        let base = base.clamp(1.0, over);
        Self {
            x,
            q,
            base,
            top: 1.0 + ((over / base).powi(2) - 1.0) * (1.0 + t * t),
        }
    }

    /// ln |Z|/(b·Re) at a distance inside the table.
    pub(super) fn ln_over(&self, inside: f64) -> f64 {
        let x = self.x * inside.exp();
        let t = self.q * (x - 1.0 / x);
        let square = t * t;
        0.5 * ((self.top + square) / (1.0 + square)).ln()
    }

    /// How far it is from the rows and from what is usual, in squares of what either is uncertain by.
    pub(super) fn cost(&self, end: &TableEnd) -> f64 {
        let floor = end.floor + self.base.ln();
        let square = |(inside, y): &(f64, f64)| (y - floor - self.ln_over(*inside)).powi(2);
        let mean = end.near.iter().map(square).sum::<f64>() / end.near.len().max(1) as f64;
        let height = (self.top.sqrt() - 1.0).max(1e-6);
        let unusual = |value: f64, usual: f64| ((value / usual).ln() / UNUSUAL.ln()).powi(2);
        INDEPENDENT_ROWS * mean / (ROW_ERROR * ROW_ERROR)
            + unusual(height, HEIGHT)
            + unusual(self.q, QUALITY)
            + (self.base.ln() / BASE.ln()).powi(2)
    }
}

/// The resonance on whose flank an impedance begins, and others that it may be as well.
pub(super) fn fitted(end: &TableEnd) -> (Flank, Vec<Flank>) {
    let over = (end.y - end.floor).exp();
    let steps = |from: f64, to: f64, count: u32| {
        (0..=count).map(move |i| from * (to / from).powf(f64::from(i) / f64::from(count)))
    };
    let bases = [1.0, 1.25, 1.6, 2.0, 2.5];
    let mut all: Vec<(f64, [f64; 3])> = steps(0.4, 4.0, 60)
        .flat_map(|x| steps(0.5, 16.0, 15).map(move |q| (x, q)))
        .flat_map(|(x, q)| bases.map(|base| [x, q, base]))
        .filter(|at| at[2] <= over)
        .map(|at| (Flank::through(over, at).cost(end), at))
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut cost, mut best) = all[0];
    // Between the steps.
    let mut step = 0.04;
    while step > 1e-3 {
        let moved = (0..6).map(|way| {
            let mut at = best;
            let factor: f64 = 1.0 + step;
            at[way / 2] *= if way % 2 == 0 { factor } else { factor.recip() };
            (Flank::through(over, at).cost(end), at)
        });
        match moved.min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some(found) if found.0 < cost => (cost, best) = found,
            _ => step *= 0.5,
        }
    }
    all.retain(|(one, _)| *one < 1.5 * cost + AS_LIKELY);
    let extremes = |value: &dyn Fn(&Flank) -> f64| {
        let flanks = || all.iter().map(|(_, at)| Flank::through(over, *at));
        let order = |a: &Flank, b: &Flank| value(a).total_cmp(&value(b));
        [flanks().min_by(order), flanks().max_by(order)]
    };
    let others = [
        extremes(&|flank| flank.x),
        extremes(&|flank| flank.q),
        extremes(&|flank| flank.top),
        extremes(&|flank| flank.base),
    ];
    (
        Flank::through(over, best),
        others.into_iter().flatten().flatten().collect(),
    )
}
