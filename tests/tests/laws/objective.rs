//! Laws of the goal and of the search on it: the gradient is that of the residuals, and a search
//! never ends worse than it began.

use argmin::core::{CostFunction, Executor, Gradient};
use argmin::solver::linesearch::MoreThuenteLineSearch;
use argmin::solver::quasinewton::LBFGS;
use std::sync::Arc;

use netlist::network::Network;
use netlist::project::{Aim, Alignment, AlignmentPair, Crossover, Driver, Family, load_from};
use netlist::quantity::{Decibels, Hertz};
use num_complex::Complex64;
use proptest::prelude::*;
use solver::directions::Window;
use solver::goal::{Objective, Protected, Setting, Targets, ValueLaw, Variable, Weights};
use solver::grid::Grid;
use solver::least_squares::{Residuals, Settings, minimise};
use solver::nodal::{Drive, SourceImpedance};
use solver::search::JOINT_WEIGHTS;
use solver::sound::{Coherence, Ear, pivot};
use solver::spectrum::Spectrum;
use solver::synthesis::{PadForm, WayShape, WayStart};

const CROSSOVER_HZ: f64 = 1200.0;
const OPEN_CIRCUIT_V: f64 = 2.83;

/// What is drawn at random.
#[derive(Debug, Clone)]
struct Draw {
    orders: [u8; 2],
    pad: PadForm,
    inverted: bool,
    /// Natural logarithm of each value over its closed form.
    moved: Vec<f64>,
    output_impedance_ohm: f64,
    level_db: Option<f64>,
    with_sum: bool,
    /// Whether the sum is judged over the listening window.
    windowed: bool,
}

fn draws() -> impl Strategy<Value = Draw> {
    (
        (1u8..=4, 1u8..=4),
        prop::sample::select(vec![PadForm::None, PadForm::After, PadForm::Series]),
        (any::<bool>(), any::<bool>(), any::<bool>()),
        prop::collection::vec(-0.8f64..0.8, 24),
        prop::sample::select(vec![0.0, 1.8]),
        prop::option::of(84.0f64..92.0),
    )
        .prop_map(
            |(
                orders,
                pad,
                (inverted, with_sum, windowed),
                moved,
                output_impedance_ohm,
                level_db,
            )| Draw {
                orders: orders.into(),
                pad,
                inverted,
                moved,
                output_impedance_ohm,
                level_db,
                with_sum,
                windowed,
            },
        )
}

/// A woofer and, 30 cm above it, a horn: how they add over the listening window.
fn window(grid: &Grid) -> Coherence {
    let text = r#"
[drivers.low]
modelled = { re = 6, fs = 35, qms = 5, qes = 0.4, vas = "120 L", sd = "520 cm2" }
[drivers.high]
modelled = { re = 6, level = "105 dB", horn = { cutoff = "500 Hz" } }
position = { up = "0.3 m", back = "30 mm" }
coverage = { horizontal = "90 deg", vertical = "40 deg" }
[[crossovers]]
between = ["low", "high"]
frequency = "1.2 kHz"
"#;
    let files = |_: &std::path::Path| Ok(text.as_bytes().to_vec());
    let project = load_from(&files, std::path::Path::new("w.toml"))
        .unwrap()
        .project;
    let drivers: Vec<&Driver> = project.drivers.values().collect();
    let rays = Window::listening().rays;
    Coherence::over(&rays, &drivers, &Ear::of(None), pivot(&project), grid)
}

/// The goal of two ways on resistive and inductive loads, and a point to look at.
fn problem(draw: &Draw) -> (Objective, Vec<f64>) {
    let sum_db = if draw.with_sum { 0.5 } else { f64::INFINITY };
    let weights = Weights {
        sum_db,
        ..JOINT_WEIGHTS
    };
    problem_weighed(draw, weights)
}

fn problem_weighed(draw: &Draw, weights: Weights) -> (Objective, Vec<f64>) {
    let grid = Grid::log_spaced(150.0, 9000.0, 40).unwrap();
    let load =
        |r: f64, l: f64| Spectrum::from_fn(grid.len(), |i| Complex64::new(r, grid.omega()[i] * l));
    let (low_z, high_z) = (load(6.3, 0.6e-3), load(5.6, 0.05e-3));
    // 88 dB and 95 dB at 2.83 V, the upper one 60 µs later.
    let pascal = |db: f64| 20e-6 * 10f64.powf(db / 20.0) / OPEN_CIRCUIT_V;
    let low_sound = Spectrum::from_fn(grid.len(), |_| pascal(88.0).into());
    let high_sound = Spectrum::from_fn(grid.len(), |i| {
        Complex64::from_polar(pascal(95.0), -grid.omega()[i] * 60e-6)
    });

    let mut network = Network::new();
    let start = WayStart {
        from_hz: CROSSOVER_HZ,
        to_hz: CROSSOVER_HZ,
        load_ohm: 6.0,
        attenuation_db: 7.0,
        autoformer: None,
    };
    let low = WayShape {
        high_pass: 0,
        low_pass: draw.orders[0],
        pad: PadForm::None,
    };
    let high = WayShape {
        high_pass: draw.orders[1],
        low_pass: 0,
        pad: draw.pad,
    };
    low.build(&mut network, "low", false, &start).unwrap();
    let high_start = WayStart {
        to_hz: 9000.0,
        ..start
    };
    high.build(&mut network, "high", draw.inverted, &high_start)
        .unwrap();
    let variables: Vec<Variable> = (network.parts().values().enumerate())
        .filter_map(|(part, p)| {
            let law = match p.kind.word() {
                "driver" => return None,
                // 0.5 ohm at 1 mH.
                "inductor" => ValueLaw::Power {
                    scale: 0.5 * 1e3f64.powf(0.6),
                    exponent: 0.6,
                },
                _ => ValueLaw::FixedLoss,
            };
            Some(Variable { part, law })
        })
        .collect();

    let side = Alignment {
        family: Family::LinkwitzRiley,
        order: 4,
    };
    let pair = AlignmentPair {
        lower: side,
        upper: side,
    };
    let aim = Aim {
        tilt: Decibels(-0.4),
        ..Aim::default()
    };
    let crossover = Crossover {
        between: ["low".to_owned(), "high".to_owned()],
        frequency: Hertz(CROSSOVER_HZ),
        open: None,
        alignment: Some(pair),
    };
    let targets = Targets::new(&aim, &[crossover], &[pair], &grid);
    let targets = match draw.windowed {
        true => targets.over_window(window(&grid)),
        false => targets,
    };
    let setting = Setting {
        grid: &grid,
        drive: Drive {
            open_circuit_v: OPEN_CIRCUIT_V,
            output_impedance_ohm: SourceImpedance::Over(Arc::new(Spectrum::from_fn(
                grid.len(),
                |i| Complex64::new(1.0, grid.omega()[i] * 2e-4) * draw.output_impedance_ohm,
            ))),
        },
        loads_z_ohm: vec![&low_z, &high_z],
        sound: vec![&low_sound, &high_sound],
        targets,
        // More than the drivers have, so that the load is short at many frequencies.
        least_load_ohm: 12.0,
        weights,
        level_db: draw.level_db,
        loudest_db: 89.0,
        protected: vec![Protected {
            way: 1,
            resonance_hz: 700.0,
            crossover_hz: CROSSOVER_HZ,
            most_db: -6.0,
        }],
    };
    let objective = Objective::new(&network, &variables, setting).unwrap();
    let mut x = objective.start(88.3);
    for (x, moved) in x.iter_mut().take(variables.len()).zip(&draw.moved) {
        *x += moved;
    }
    (objective, x)
}

fn residuals_at(objective: &mut Objective, x: &[f64]) -> Vec<f64> {
    let mut residuals = vec![0.0; objective.residuals()];
    objective.evaluate(x, &mut residuals, false);
    residuals
}

fn square(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

/// The property below says nothing of a term that is nought everywhere: the load and the protection
/// of this problem are broken at its start, and then they have slopes.
#[test]
fn load_and_protection_count_in_the_problem() {
    let draw = Draw {
        orders: [2, 2],
        pad: PadForm::None,
        inverted: false,
        moved: vec![0.0; 24],
        output_impedance_ohm: 0.0,
        level_db: None,
        with_sum: false,
        windowed: false,
    };
    let none = Weights {
        match_db: f64::INFINITY,
        sum_db: f64::INFINITY,
        phase_deg: f64::INFINITY,
        level_db: f64::INFINITY,
        load: f64::INFINITY,
        protection_db: f64::INFINITY,
    };
    let load = JOINT_WEIGHTS.load;
    let protection_db = JOINT_WEIGHTS.protection_db;
    for weights in [
        Weights { load, ..none },
        Weights {
            protection_db,
            ..none
        },
    ] {
        let (mut objective, x) = problem_weighed(&draw, weights);
        let mut residuals = vec![0.0; objective.residuals()];
        let mut jacobian = vec![0.0; objective.residuals() * objective.variables()];
        objective.evaluate(&x, &mut residuals, true);
        objective.slopes(&mut jacobian);
        assert!(residuals.iter().any(|r| *r > 1e-3), "{weights:?}");
        assert!(jacobian.iter().any(|s| s.abs() > 1e-2), "{weights:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Central difference quotients, of second order in the step: at 10⁻⁵ in the logarithm they
    /// leave some 10⁻⁹ of the residual's third derivative and of rounding each.
    #[test]
    fn the_gradient_is_that_of_the_residuals(draw in draws()) {
        let (mut objective, x) = problem(&draw);
        let (rows, columns) = (objective.residuals(), objective.variables());
        prop_assert_eq!(columns, x.len());
        let mut residuals = vec![0.0; rows];
        let mut jacobian = vec![0.0; rows * columns];
        objective.evaluate(&x, &mut residuals, true);
        objective.slopes(&mut jacobian);
        prop_assert_eq!(&residuals, &residuals_at(&mut objective, &x), "with and without gradient");
        let mut later = vec![0.0; rows * columns];
        objective.slopes(&mut later);
        prop_assert_eq!(&jacobian, &later, "gradient made ready and not");
        let step = 1e-5;
        for column in 0..columns {
            let mut at = |by: f64| {
                let mut moved = x.clone();
                moved[column] += by;
                residuals_at(&mut objective, &moved)
            };
            let (up, down) = (at(step), at(-step));
            for row in 0..rows {
                // The hinges of load and protection, which are nought on one side, and the jump of the
                // phase at ±180° have no derivative.
                let (u, d) = (up[row], down[row]);
                let hinge = (u == 0.0) != (d == 0.0);
                if hinge || (u - d).abs() > 0.5 {
                    continue;
                }
                let quotient = (u - d) / (2.0 * step);
                let slope = jacobian[column * rows + row];
                prop_assert!(
                    (quotient - slope).abs() <= 1e-5 * (1.0 + slope.abs()),
                    "residual {} of {}, variable {}: {} is not {}", row, rows, column, slope, quotient
                );
            }
        }
    }

    #[test]
    fn a_search_never_ends_worse_and_stays_in_its_box(draw in draws()) {
        let (mut objective, start) = problem(&draw);
        let lower: Vec<f64> = start.iter().map(|x| x - 0.7).collect();
        let upper: Vec<f64> = start.iter().map(|x| x + 0.7).collect();
        let mut cost = square(&residuals_at(&mut objective, &start));
        // One step at a time and then many: no way through may rise.
        for max_steps in [1, 2, 4, 8, 30] {
            let settings = Settings { max_steps, ..Settings::default() };
            let fit = minimise(&mut objective, &start, &lower, &upper, settings);
            // Sums in another order differ by rounding.
            prop_assert!(fit.cost <= cost * (1.0 + 1e-12), "{} steps: {} after {}", max_steps, fit.cost, cost);
            let again = square(&residuals_at(&mut objective, &fit.x));
            prop_assert!((again - fit.cost).abs() <= 1e-9 * again, "the cost is not that of the point");
            let inside = (fit.x.iter().zip(&lower).zip(&upper)).all(|((x, a), b)| a <= x && x <= b);
            prop_assert!(inside);
            cost = fit.cost;
        }
    }
}

/// The goal for a general-purpose optimiser: cost and gradient in the variables that are `free`,
/// nothing else of ours.
struct Asked {
    objective: std::cell::RefCell<Objective>,
    whole: Vec<f64>,
    free: Vec<usize>,
}

impl Asked {
    fn point(&self, x: &[f64]) -> Vec<f64> {
        let mut whole = self.whole.clone();
        for (&i, x) in self.free.iter().zip(x) {
            whole[i] = *x;
        }
        whole
    }
}

impl CostFunction for Asked {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, x: &Self::Param) -> Result<f64, argmin::core::Error> {
        let mut objective = self.objective.borrow_mut();
        Ok(square(&residuals_at(&mut objective, &self.point(x))))
    }
}

impl Gradient for Asked {
    type Param = Vec<f64>;
    type Gradient = Vec<f64>;

    fn gradient(&self, x: &Self::Param) -> Result<Vec<f64>, argmin::core::Error> {
        let mut objective = self.objective.borrow_mut();
        let residuals = residuals_at(&mut objective, &self.point(x));
        let mut jacobian = vec![0.0; residuals.len() * self.whole.len()];
        objective.slopes(&mut jacobian);
        let column = |&i: &usize| &jacobian[i * residuals.len()..][..residuals.len()];
        let columns = self.free.iter().map(column);
        let along = |column: &[f64]| {
            column
                .iter()
                .zip(&residuals)
                .map(|(j, r)| 2.0 * j * r)
                .sum()
        };
        Ok(columns.map(along).collect())
    }
}

/// Second opinion on the search: the limited-memory quasi-Newton method of the argmin library (Nocedal
/// and Wright, *Numerical Optimization*, 2006, algorithm 7.5), which knows the cost and its gradient
/// only, gains nothing where ours has ended; what ended at a bound stays there.
#[test]
fn another_optimiser_finds_nothing_better_where_ours_ends() {
    for (number, orders) in [[2, 2], [3, 3], [2, 4], [4, 3]].into_iter().enumerate() {
        let draw = Draw {
            orders,
            pad: PadForm::After,
            inverted: number % 2 == 0,
            moved: (0..24).map(|i| 0.3 * f64::from(i).sin()).collect(),
            output_impedance_ohm: 1.8,
            level_db: Some(86.0),
            with_sum: true,
            windowed: number % 2 == 1,
        };
        let (mut objective, start) = problem(&draw);
        let lower: Vec<f64> = start.iter().map(|x| x - 3.0).collect();
        let upper: Vec<f64> = start.iter().map(|x| x + 3.0).collect();
        let settings = Settings {
            max_steps: 1000,
            gain_tolerance: 1e-13,
            ..Settings::default()
        };
        let ours = minimise(&mut objective, &start, &lower, &upper, settings);
        let within = |&i: &usize| ours.x[i] > lower[i] && ours.x[i] < upper[i];
        let free: Vec<usize> = (0..start.len()).filter(within).collect();
        assert!(free.len() > 4, "nearly all variables are at their bounds");
        // A little aside, so that it has a way to go.
        let aside = |(n, &i): (usize, &usize)| ours.x[i] + 0.03 * (2.0 * n as f64).cos();
        let at: Vec<f64> = free.iter().enumerate().map(aside).collect();
        let asked = Asked {
            objective: objective.into(),
            whole: ours.x.clone(),
            free,
        };
        let search = LBFGS::new(MoreThuenteLineSearch::new(), 10);
        let outcome = Executor::new(asked, search)
            .configure(|state| state.param(at).max_iters(200))
            .run();
        let theirs = outcome.unwrap().state().get_best_cost();
        assert!(
            theirs >= ours.cost * (1.0 - 1e-5) && theirs <= 1.01 * ours.cost,
            "{orders:?}: theirs {theirs}, ours {}",
            ours.cost
        );
    }
}
