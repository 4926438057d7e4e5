//! A build with a mistake in it, as a network to be solved: its curve, and how that moves with
//! everything that may differ a little.

use netlist::network::NodeId;
use num_complex::Complex64;

use super::bench::{Bench, SweepGrid, Target};
use super::changed::{Load, OPEN_OHM, changed};
use super::hypothesis::BuiltChange;
use super::point::SolvedPoint;
use crate::nodal::{Closer, Coupled, Plan, PlanError, STIFF, Solution, Values, inverse};
use crate::spectrum::Spectrum;

/// A build: the drawn network with changes.
#[derive(Debug, Clone)]
pub(super) struct Assembly {
    pub(super) plan: Plan,
    pub(super) values: Values,
    pub(super) loads: Vec<Load>,
    coupled: Vec<Coupled>,
}

/// ln Z over a set, and its slopes in everything that may differ, each times its deviation.
#[derive(Debug, Clone)]
pub(super) struct AssemblyCurve {
    pub(super) ln_z: Vec<Complex64>,
    /// Point by point.
    pub(super) slopes: Vec<Complex64>,
}

impl Assembly {
    /// A build with these changes.
    ///
    /// # Errors
    /// If it cannot be solved: a node that no part holds any more.
    pub(super) fn new(bench: &Bench, changes: &[BuiltChange]) -> Result<Self, PlanError> {
        let (network, values, loads) =
            changed(&bench.network, &bench.values, &bench.driver_of, changes);
        let plan = Plan::compile(&network)?;
        let coupled = plan.coupled();
        Ok(Self {
            plan,
            values,
            loads,
            coupled,
        })
    }

    /// Its curve over a set for differences `u`, in deviations, and its slopes in them.
    ///
    /// `sigma` are the deviations. `None` where it has no finite impedance.
    pub(super) fn curve(
        &self,
        bench: &Bench,
        set: &SweepGrid,
        u: &[f64],
        sigma: &[f64],
    ) -> Option<AssemblyCurve> {
        let state = AssemblyState::new(self, bench, set, u, sigma);
        let solution = self.solved(&state, set)?;
        let points = set.grid.len();
        let mut curve = AssemblyCurve {
            ln_z: Vec::with_capacity(points),
            slopes: vec![Complex64::ZERO; points * u.len()],
        };
        let mut nodes = vec![Complex64::ZERO; self.plan.node_names().len()];
        for i in 0..points {
            for (node, volts) in nodes.iter_mut().enumerate() {
                *volts = solution.node_at(NodeId(node), i);
            }
            let (re, im) = solution.input_admittance();
            let admittance = Complex64::new(re[i], im[i]);
            let point = SolvedPoint::new(i, &nodes, admittance, state.leads_ohm);
            let ln_z = point.total_ohm.ln() + state.scale;
            if !ln_z.is_finite() {
                return None;
            }
            curve.ln_z.push(ln_z);
            let row = &mut curve.slopes[i * u.len()..(i + 1) * u.len()];
            state.slopes(self, set, point, row);
            point.complete(bench, sigma, row);
        }
        Some(curve)
    }

    /// ln of the voltage at a driver's terminals over a set, for one volt at the terminals.
    pub(super) fn ln_volts(
        &self,
        bench: &Bench,
        set: &SweepGrid,
        (u, sigma): (&[f64], &[f64]),
        place: usize,
    ) -> Option<Vec<f64>> {
        let state = AssemblyState::new(self, bench, set, u, sigma);
        let solution = self.solved(&state, set)?;
        let (output, _) = self.plan.driver_outputs().nth(place)?;
        // What makes no sound is not below the noise of a room without end.
        const LEAST_V: f64 = 1e-4;
        let volts = (0..set.grid.len()).map(|i| solution.output_at(output, i).norm());
        Some(volts.map(|v| v.max(LEAST_V).ln()).collect())
    }

    fn solved(&self, state: &AssemblyState<'_>, set: &SweepGrid) -> Option<Solution> {
        let closer = Closer {
            plan: &self.plan,
            values: &state.values,
            drive: &STIFF,
            grid: &set.grid,
            loads: &state.z_ohm.iter().collect::<Vec<_>>(),
        };
        closer.on_grid().ok()
    }
}

/// An assembly with its differences taken in.
struct AssemblyState<'a> {
    bench: &'a Bench,
    values: Values,
    scale: f64,
    leads_ohm: f64,
    /// Impedance at each driver's place.
    z_ohm: Vec<Spectrum>,
    /// Slopes of each driver's impedance, point by point.
    driver_slopes: Vec<Vec<Complex64>>,
}

impl<'a> AssemblyState<'a> {
    fn new(
        assembly: &Assembly,
        bench: &'a Bench,
        set: &SweepGrid,
        u: &[f64],
        sigma: &[f64],
    ) -> Self {
        let mut values = assembly.values.clone();
        let (mut scale, mut leads_ohm) = (0.0, 0.0);
        for (number, drift) in bench.drift.iter().enumerate() {
            let off = drift.mean + sigma[number] * u[number];
            match drift.target {
                Target::Scale => scale = off,
                Target::Leads => leads_ohm = off,
                Target::Value(part) => values.value[part] *= off.exp(),
                Target::Loss(part) => values.loss[part] *= off.exp(),
                Target::Driver => {}
            }
        }
        let points = set.grid.len();
        let (mut z_ohm, mut driver_slopes) = (Vec::new(), Vec::new());
        for (place, load) in assembly.loads.iter().enumerate() {
            let mut z = Spectrum::zeros(points);
            let mut slopes = Vec::new();
            match load.driver.filter(|_| !set.off[place]) {
                Some(driver) => {
                    let first = bench.first_of_driver[driver];
                    let model = &bench.models[driver];
                    let count = model.sigmas().len();
                    let mut differences: Vec<f64> = (first..first + count)
                        .map(|number| sigma[number] * u[number])
                        .collect();
                    if let Some(tuning) = model.tuning() {
                        differences[tuning] += load.tuning.ln();
                    }
                    let over = model.over(&set.grid, &differences);
                    for (i, found) in over.z_ohm.iter().enumerate() {
                        z.set(i, found * load.factor);
                    }
                    slopes.extend(over.slopes.iter().map(|slope| slope * load.factor));
                }
                None => (0..points).for_each(|i| z.set(i, OPEN_OHM.into())),
            }
            z_ohm.push(z);
            driver_slopes.push(slopes);
        }
        Self {
            bench,
            values,
            scale,
            leads_ohm,
            z_ohm,
            driver_slopes,
        }
    }

    /// The slopes of ln Z in the impedances of the parts and drivers.
    fn slopes(
        &self,
        assembly: &Assembly,
        set: &SweepGrid,
        point: SolvedPoint<'_>,
        row: &mut [Complex64],
    ) {
        let i = point.i;
        let omega = set.grid.omega()[i];
        let mut matrix = Vec::new();
        for coupled in &assembly.coupled {
            let load = |driver: usize| self.z_ohm[driver].at(i);
            (assembly.plan).impedance_matrix(coupled, &self.values, omega, load, &mut matrix);
            if let [ends] = coupled.nodes[..] {
                let current = point.across(ends) / matrix[0];
                let weight = point.weight * current * current;
                self.simple_row(assembly, coupled, i, (weight, omega), row);
                continue;
            }
            let currents = point.currents(coupled, &inverse(&matrix));
            for (number, matrix) in
                group_slopes(&assembly.plan, self.bench, coupled, &self.values, omega)
            {
                row[number] = point.slope(&currents, &matrix);
            }
        }
    }

    fn simple_row(
        &self,
        assembly: &Assembly,
        coupled: &Coupled,
        i: usize,
        (weight, omega): (Complex64, f64),
        row: &mut [Complex64],
    ) {
        let part = coupled.parts[0];
        if let Some(place) = self.bench.driver_of.get(part).copied().flatten() {
            return self.driver_row(assembly, place, i, weight, row);
        }
        let Some(places) = self.bench.place_of.get(part) else {
            return;
        };
        let targets = [Target::Value(part), Target::Loss(part)];
        for (number, target) in places.iter().zip(targets) {
            if let Some(number) = number {
                let slope = simple_slope(&assembly.plan, coupled, &self.values, target, omega);
                row[*number] = weight * slope;
            }
        }
    }

    fn driver_row(
        &self,
        assembly: &Assembly,
        place: usize,
        i: usize,
        weight: Complex64,
        row: &mut [Complex64],
    ) {
        let Some(driver) = assembly.loads[place].driver else {
            return;
        };
        let slopes = &self.driver_slopes[place];
        let count = self.bench.models[driver].sigmas().len();
        if slopes.is_empty() {
            return;
        }
        let first = self.bench.first_of_driver[driver];
        for (which, slope) in slopes[i * count..(i + 1) * count].iter().enumerate() {
            row[first + which] = weight * slope;
        }
    }
}

/// `∂z` of a group's impedance matrix over the logarithm of everything in it that may differ, with its
/// number; by central differences.
pub(super) fn group_slopes(
    plan: &Plan,
    bench: &Bench,
    coupled: &Coupled,
    values: &Values,
    omega: f64,
) -> Vec<(usize, Vec<Complex64>)> {
    const STEP: f64 = 1e-4;
    let side = |part: usize, loss: bool, by: f64| {
        let mut values = values.clone();
        match loss {
            true => values.loss[part] *= by.exp(),
            false => values.value[part] *= by.exp(),
        }
        let mut matrix = Vec::new();
        plan.impedance_matrix(coupled, &values, omega, |_| Complex64::ONE, &mut matrix);
        matrix
    };
    let mut list = Vec::new();
    for &part in &coupled.parts {
        let places = bench.place_of.get(part).copied().unwrap_or_default();
        for (number, loss) in places.into_iter().zip([false, true]) {
            let Some(number) = number else { continue };
            let (up, down) = (side(part, loss, STEP), side(part, loss, -STEP));
            let slope = up
                .iter()
                .zip(&down)
                .map(|(up, down)| (up - down) / (2.0 * STEP));
            list.push((number, slope.collect()));
        }
    }
    list
}

/// `∂z` of a part that stands alone, over the logarithm of its value or loss.
pub(super) fn simple_slope(
    plan: &Plan,
    coupled: &Coupled,
    values: &Values,
    target: Target,
    omega: f64,
) -> Complex64 {
    let part = coupled.parts[0];
    match target {
        Target::Loss(_) => values.loss[part].into(),
        _ => {
            let mut z = Vec::new();
            plan.impedance_matrix(coupled, values, omega, |_| Complex64::ONE, &mut z);
            // A reactance grows with L and falls with C; a resistor is all real.
            let im = z[0].im;
            match im {
                im if im > 0.0 => Complex64::new(0.0, im),
                im if im < 0.0 => Complex64::new(0.0, -im),
                _ => z[0],
            }
        }
    }
}
