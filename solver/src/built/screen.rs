//! All single mistakes at once, none of them solved: by the law of changed branches.
//!
//! With `t` the node voltages for one volt at `in`, `Z` the impedances between nodes with `in` at 0 V and
//! `Y` the admittance at `in`, a change of the admittances `Δ` between pairs of nodes `P` gives
//!
//! ```text
//! x = (1 + Δ Z_PP)⁻¹ Δ v_P,   t' = t − Z_P x,   Y' = Y + v_Pᵀ x
//! ```
//!
//! and with the currents of the changed network the slopes in everything that may differ follow:
//! `∂Z_in/∂z_k = (i_k / I)²`.

use num_complex::Complex64;

use super::assembly::{Assembly, AssemblyCurve, group_slopes, simple_slope};
use super::bench::{Bench, SweepGrid, Target};
use super::changed::{OPEN_OHM, SHORT_OHM};
use super::hypothesis::BuiltChange;
use super::point::SolvedPoint;
use crate::nodal::{Coupled, PlanError, Ports, Workspace, inverse};
use crate::spectrum::Spectrum;

/// The drawn loudspeaker over a few points, prepared for any change.
pub(super) struct Screen<'a> {
    bench: &'a Bench,
    sigma: Vec<f64>,
    coupled: Vec<Coupled>,
    /// For each part that stands alone, its place in `coupled`.
    alone: Vec<Option<usize>>,
    pub(super) sets: Vec<Prepared>,
}

/// One set of the screen.
pub(super) struct Prepared {
    pub(super) set: SweepGrid,
    ports: Ports,
    /// Impedance of each coupled branch that stands alone, point by point.
    z: Vec<Vec<Complex64>>,
    /// Slopes: of a driver in its differences, of a part in value and loss, point by point.
    slopes: Vec<Vec<(usize, Vec<Complex64>)>>,
    /// Of each group its admittances and slopes, point by point.
    groups: Vec<Vec<GroupPoint>>,
}

struct GroupPoint {
    admittance: Vec<Complex64>,
    slopes: Vec<(usize, Vec<Complex64>)>,
}

/// A branch that differs from the drawn one.
#[derive(Clone, Copy)]
struct Override {
    place: usize,
    nodes: [usize; 2],
    z: Complex64,
}

/// Most pairs of nodes between which one hypothesis changes something.
const MOST_PAIRS: usize = 4;

impl<'a> Screen<'a> {
    /// Prepares the drawn loudspeaker on these sets.
    pub(super) fn new(bench: &'a Bench, sets: Vec<SweepGrid>) -> Result<Self, PlanError> {
        let coupled = bench.plan.coupled();
        let mut alone = vec![None; bench.values.value.len()];
        for (place, coupled) in coupled.iter().enumerate() {
            if coupled.nodes.len() == 1 && coupled.parts.len() == 1 {
                alone[coupled.parts[0]] = Some(place);
            }
        }
        let sets = (sets.into_iter())
            .map(|set| prepare(bench, &coupled, set))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            bench,
            sigma: bench.sigmas(),
            coupled,
            alone,
            sets,
        })
    }

    /// The curves of a build with these changes; `None` where they are none.
    pub(super) fn curves(&self, changes: &[BuiltChange]) -> Option<Vec<AssemblyCurve>> {
        if changes.iter().any(|change| !self.is_simple(*change)) {
            let assembly = Assembly::new(self.bench, changes).ok()?;
            let none = vec![0.0; self.sigma.len()];
            return (self.sets.iter())
                .map(|prepared| assembly.curve(self.bench, &prepared.set, &none, &self.sigma))
                .collect();
        }
        (self.sets.iter())
            .map(|prepared| self.curve(prepared, changes))
            .collect()
    }

    /// Whether it is a change of parts that stand alone and keep their differences.
    fn is_simple(&self, change: BuiltChange) -> bool {
        let alone = |part: usize| self.alone[part].is_some();
        let driver = |part: usize| self.bench.driver_of[part].is_some();
        match change {
            // A driver's differences go with it.
            BuiltChange::Exchange(one, other) => alone(one) && alone(other) && !driver(one),
            BuiltChange::Short(_) => true,
            // No change of admittance between nodes that is known without the driver's data.
            BuiltChange::Tuning(..) => false,
            _ => change.parts().into_iter().all(alone),
        }
    }

    fn curve(&self, prepared: &Prepared, changes: &[BuiltChange]) -> Option<AssemblyCurve> {
        let size = self.sigma.len();
        let points = prepared.set.grid.len();
        let mut curve = AssemblyCurve {
            ln_z: Vec::with_capacity(points),
            slopes: vec![Complex64::ZERO; points * size],
        };
        let mut nodes = Vec::new();
        let mut overrides = Vec::new();
        let mut pairs: Vec<([usize; 2], Complex64)> = Vec::new();
        for i in 0..points {
            overrides.clear();
            pairs.clear();
            self.differing(prepared, i, changes, &mut overrides, &mut pairs);
            let admittance = changed(&prepared.ports, i, &pairs, &mut nodes)?;
            let point = SolvedPoint::new(i, &nodes, admittance, self.leads_ohm());
            let ln_z = point.total_ohm.ln();
            if !ln_z.is_finite() {
                return None;
            }
            curve.ln_z.push(ln_z);
            let row = &mut curve.slopes[i * size..(i + 1) * size];
            self.row(prepared, point, &overrides, row);
            point.complete(self.bench, &self.sigma, row);
        }
        Some(curve)
    }

    fn leads_ohm(&self) -> f64 {
        let leads = self
            .bench
            .drift
            .iter()
            .find(|drift| drift.target == Target::Leads);
        leads.map_or(0.0, |drift| drift.mean)
    }

    /// Branches that differ at a point, and the change of admittance between pairs of nodes.
    fn differing(
        &self,
        prepared: &Prepared,
        i: usize,
        changes: &[BuiltChange],
        overrides: &mut Vec<Override>,
        pairs: &mut Vec<([usize; 2], Complex64)>,
    ) {
        let drawn = |part: usize| {
            let place = self.alone[part].unwrap_or_default();
            (place, self.coupled[place].nodes[0], prepared.z[place][i])
        };
        let omega = prepared.set.grid.omega()[i];
        for &change in changes {
            let mut replaced = [None; 2];
            match change {
                BuiltChange::Open(part) => replaced[0] = Some((part, OPEN_OHM.into())),
                BuiltChange::Value(part, value) => {
                    let loss = self.bench.values.loss[part];
                    replaced[0] = Some((part, self.impedance(part, (value, loss), omega)));
                }
                BuiltChange::Loss(part, ohm) => {
                    let value = self.bench.values.value[part];
                    replaced[0] = Some((part, self.impedance(part, (value, ohm), omega)));
                }
                BuiltChange::Impedance(part, factor) => {
                    replaced[0] = Some((part, drawn(part).2 * factor));
                }
                BuiltChange::Tuning(..) => unreachable!("not simple"),
                BuiltChange::Exchange(one, other) => {
                    replaced = [Some((one, drawn(other).2)), Some((other, drawn(one).2))];
                }
                BuiltChange::Short(part) => {
                    let between = self.bench.network.parts()[part].kind.between();
                    let nodes = between.unwrap_or_default().map(|node| node.0);
                    pairs.push((nodes, (1.0 / SHORT_OHM).into()));
                }
                BuiltChange::Move(part, to) => {
                    let (place, nodes, z) = drawn(part);
                    pairs.push((nodes, -z.inv()));
                    pairs.push((to, z.inv()));
                    overrides.push(Override {
                        place,
                        nodes: to,
                        z,
                    });
                }
            }
            for (part, z_new) in replaced.into_iter().flatten() {
                let (place, nodes, z) = drawn(part);
                pairs.push((nodes, z_new.inv() - z.inv()));
                overrides.push(Override {
                    place,
                    nodes,
                    z: z_new,
                });
            }
        }
    }

    fn impedance(&self, part: usize, (value, loss): (f64, f64), omega: f64) -> Complex64 {
        use netlist::network::PartKind;
        match self.bench.network.parts()[part].kind {
            PartKind::Inductor { .. } => Complex64::new(loss, omega * value),
            PartKind::Capacitor { .. } => Complex64::new(loss, -1.0 / (omega * value)),
            _ => value.into(),
        }
    }

    fn row(
        &self,
        prepared: &Prepared,
        point: SolvedPoint<'_>,
        overrides: &[Override],
        row: &mut [Complex64],
    ) {
        let i = point.i;
        for (place, coupled) in self.coupled.iter().enumerate() {
            if let [ends] = coupled.nodes[..] {
                let z_drawn = prepared.z[place][i];
                let differs = overrides.iter().find(|other| other.place == place);
                let (ends, z) = differs.map_or((ends, z_drawn), |o| (o.nodes, o.z));
                let current = point.across(ends) / z;
                let weight = point.weight * current * current;
                let loss = self.bench.place_of[coupled.parts[0]][1];
                for (number, slope) in &prepared.slopes[place] {
                    // A slope over a logarithm grows with what it is of; an open branch has no current.
                    let scale = match differs {
                        Some(_) if z != z_drawn => scale_of(z, z_drawn, Some(*number) == loss),
                        _ => 1.0,
                    };
                    row[*number] = weight * slope[i] * scale;
                }
                continue;
            }
            let group = &prepared.groups[place][i];
            let currents = point.currents(coupled, &group.admittance);
            for (number, matrix) in &group.slopes {
                row[*number] = point.slope(&currents, matrix);
            }
        }
    }
}

/// How much larger a part's slope in its value, or in its loss, is where its impedance is `z` in place of
/// `drawn`; 0 where the drawn one has none of it.
fn scale_of(z: Complex64, drawn: Complex64, loss: bool) -> f64 {
    let reactive = drawn.im != 0.0 && z.im != 0.0;
    let (now, before) = match (loss, reactive) {
        (true, _) => (z.re, drawn.re),
        (false, true) => (z.im, drawn.im),
        // One that is open has no reactance, a resistor none at all.
        (false, false) => (z.norm(), drawn.norm()),
    };
    if before == 0.0 { 0.0 } else { now / before }
}

fn prepare(bench: &Bench, coupled: &[Coupled], set: SweepGrid) -> Result<Prepared, PlanError> {
    let points = set.grid.len();
    let mut loads = Vec::new();
    let mut driver_slopes = Vec::new();
    for (driver, model) in bench.models.iter().enumerate() {
        let sigmas = model.sigmas();
        let none = vec![0.0; sigmas.len()];
        let mut z = Spectrum::zeros(points);
        let mut slopes = vec![vec![Complex64::ZERO; points]; sigmas.len()];
        if set.off[driver] {
            (0..points).for_each(|i| z.set(i, OPEN_OHM.into()));
        } else {
            let over = model.over(&set.grid, &none);
            for i in 0..points {
                z.set(i, over.z_ohm[i]);
                let here = &over.slopes[i * none.len()..(i + 1) * none.len()];
                for (slopes, slope) in slopes.iter_mut().zip(here) {
                    slopes[i] = *slope;
                }
            }
        }
        loads.push(z);
        driver_slopes.push(slopes);
    }
    let refs: Vec<&Spectrum> = loads.iter().collect();
    let mut workspace = Workspace::new(&bench.plan, &set.grid, &refs)?;
    let ports = bench.plan.ports(&bench.values, &mut workspace);
    let mut prepared = Prepared {
        ports,
        z: vec![Vec::new(); coupled.len()],
        slopes: vec![Vec::new(); coupled.len()],
        groups: (0..coupled.len()).map(|_| Vec::new()).collect(),
        set,
    };
    let mut matrix = Vec::new();
    for (place, coupled) in coupled.iter().enumerate() {
        for i in 0..points {
            let omega = prepared.set.grid.omega()[i];
            let load = |driver: usize| loads[driver].at(i);
            (bench.plan).impedance_matrix(coupled, &bench.values, omega, load, &mut matrix);
            if coupled.nodes.len() == 1 {
                prepared.z[place].push(matrix[0]);
            } else {
                prepared.groups[place].push(GroupPoint {
                    admittance: inverse(&matrix),
                    slopes: group_slopes(&bench.plan, bench, coupled, &bench.values, omega),
                });
            }
        }
        if coupled.nodes.len() == 1 {
            prepared.slopes[place] = simple_slopes(bench, coupled, &prepared.set, &driver_slopes);
        }
    }
    Ok(prepared)
}

fn simple_slopes(
    bench: &Bench,
    coupled: &Coupled,
    set: &SweepGrid,
    driver_slopes: &[Vec<Vec<Complex64>>],
) -> Vec<(usize, Vec<Complex64>)> {
    let part = coupled.parts[0];
    if let Some(driver) = bench.driver_of[part] {
        let first = bench.first_of_driver[driver];
        let slopes = driver_slopes[driver].iter().enumerate();
        return slopes
            .map(|(which, slopes)| (first + which, slopes.clone()))
            .collect();
    }
    let targets = [Target::Value(part), Target::Loss(part)];
    (bench.place_of[part].iter().zip(targets))
        .filter_map(|(number, target)| {
            let slope =
                |omega: &f64| simple_slope(&bench.plan, coupled, &bench.values, target, *omega);
            Some(((*number)?, set.grid.omega().iter().map(slope).collect()))
        })
        .collect()
}

/// Node voltages for one volt at `in` and the admittance there after changes between pairs of nodes.
fn changed(
    ports: &Ports,
    i: usize,
    pairs: &[([usize; 2], Complex64)],
    nodes: &mut Vec<Complex64>,
) -> Option<Complex64> {
    let q = pairs.len();
    assert!(q <= MOST_PAIRS, "two mistakes at most");
    nodes.clear();
    nodes.extend_from_slice(ports.transfer(i));
    let mut a = [[Complex64::ZERO; MOST_PAIRS]; MOST_PAIRS];
    let mut x = [Complex64::ZERO; MOST_PAIRS];
    let volts: [Complex64; MOST_PAIRS] = std::array::from_fn(|k| match pairs.get(k) {
        Some(([p, n], _)) => nodes[*p] - nodes[*n],
        None => Complex64::ZERO,
    });
    for (k, (pair, delta)) in pairs.iter().enumerate() {
        for (j, (other, _)) in pairs.iter().enumerate() {
            a[k][j] = delta * ports.between(i, *pair, *other);
        }
        a[k][k] += 1.0;
        x[k] = delta * volts[k];
    }
    for k in 0..q {
        let best = (k..q).max_by(|&r, &s| a[r][k].norm_sqr().total_cmp(&a[s][k].norm_sqr()))?;
        a.swap(k, best);
        x.swap(k, best);
        let pivot = a[k][k].inv();
        if !pivot.is_finite() {
            return None;
        }
        for r in k + 1..q {
            let factor = a[r][k] * pivot;
            for c in k..q {
                let above = a[k][c];
                a[r][c] -= factor * above;
            }
            let above = x[k];
            x[r] -= factor * above;
        }
    }
    for k in (0..q).rev() {
        let mut sum = x[k];
        for c in k + 1..q {
            sum -= a[k][c] * x[c];
        }
        x[k] = sum / a[k][k];
    }
    let mut admittance = ports.admittance(i);
    for (k, (pair, _)) in pairs.iter().enumerate() {
        admittance += volts[k] * x[k];
        ports.add_column(i, *pair, -x[k], nodes);
    }
    Some(admittance)
}
