//! Every row of the alignment tables of vented boxes, and the hot voice coil.
//!
//! Where the figures are from: A. N. Thiele, *Loudspeakers in Vented Boxes*, J. Audio Eng. Soc. 19 (1971),
//! and R. H. Small, *Vented-Box Loudspeaker Systems*, 21 (1973): the theory from memory and re-derived from
//! the acoustic circuit, the rows computed from it apart from this program, to 5 decimals.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use netlist::project::{Cone, Enclosure, LossyInductance, Source};
use netlist::quantity::{CubicMetres, Henries, Hertz, Kelvins, Ohms, SquareMetres};
use num_complex::Complex64;
use solver::air::Air;
use solver::grid::Grid;
use solver::load::{Conditions, DriverLoad, driver_load};
use std::f64::consts::TAU;
use tests::driver::driver_of;

const NO_COIL: LossyInductance = LossyInductance::SeriesParallel {
    l1: Henries(0.0),
    l2: Henries(0.0),
    r2: Ohms(0.0),
};

/// Resonance of the driver in free air, in hertz.
const FS: f64 = 30.0;
const VAS: f64 = 0.2;

/// A driver of total quality `qt`, all but lossless in its mechanics.
fn cone(qt: f64, enclosure: Option<Enclosure>) -> Cone {
    let qms = 20.0;
    Cone {
        break_up: Vec::new(),
        re: Ohms(6.0),
        fs: Hertz(FS),
        qms,
        qes: 1.0 / (1.0 / qt - 1.0 / qms),
        vas: CubicMetres(VAS),
        sd: SquareMetres(0.08),
        inductance: NO_COIL,
        enclosure,
        coil_rise: Kelvins(0.0),
    }
}

fn load_at(cone: &Cone, f_hz: &[f64], rise_k: f64) -> DriverLoad {
    let driver = driver_of(Source::Cone(cone.clone()));
    let conditions = Conditions {
        coil_rise_k: rise_k,
        ..Conditions::default()
    };
    driver_load(&driver, &Grid::new(f_hz.to_vec()).unwrap(), &conditions)
}

/// Pressure at a frequency as a share of its limit far above all resonances.
fn response(cone: &Cone, f_hz: f64) -> Complex64 {
    load_at(cone, &[f_hz], 0.0).pressure_pa_per_v.at(0) / limit(cone)
}

/// Pa/V far above the resonances, by the mechanical side: ρ·Sd·Bl/(2π·Mms·Re).
fn limit(cone: &Cone) -> f64 {
    let air = Air::default();
    let omega = TAU * cone.fs.0;
    let rho_c2 = air.rho_kg_per_m3 * air.c_m_per_s.powi(2);
    let cms = cone.vas.0 / (rho_c2 * cone.sd.0.powi(2));
    let mms = 1.0 / (omega * omega * cms);
    let bl = (omega * mms * cone.re.0 / cone.qes).sqrt();
    air.rho_kg_per_m3 * cone.sd.0 * bl / (TAU * mms * cone.re.0)
}

/// Highest frequency below `from_hz` at which the response is 3.0103 dB down; `from_hz` lies above.
fn half_power_hz(cone: &Cone, from_hz: f64) -> f64 {
    let below = |f: f64| response(cone, f).norm_sqr() < 0.5;
    let mut high = from_hz;
    assert!(!below(high));
    let mut low = high;
    while !below(low) {
        high = low;
        low /= 1.01;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if below(middle) {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

fn closed(alpha: f64) -> Option<Enclosure> {
    Some(Enclosure {
        volume: CubicMetres(VAS / alpha),
        tuning: None,
        ql: None,
    })
}

/// Name, QL, QT, α = Vas/Vb, h = fb/fs, f3/fs, ripple in dB.
#[expect(clippy::approx_constant, reason = "rows as tabled, to 5 decimals")]
const VENTED: [(&str, f64, f64, f64, f64, f64, f64); 30] = [
    ("B4", 1e9, 0.382683, 1.414214, 1.000000, 1.000000, 0.0),
    ("B4", 10.0, 0.397911, 1.162901, 1.000000, 1.000000, 0.0),
    ("B4", 7.0, 0.404814, 1.061318, 1.000000, 1.000000, 0.0),
    ("QB3", 1e9, 0.2000, 8.24479, 1.80422, 2.38789, 0.0),
    ("QB3", 1e9, 0.2500, 4.86667, 1.46059, 1.84943, 0.0),
    ("QB3", 1e9, 0.3000, 3.02930, 1.23542, 1.46793, 0.0),
    ("QB3", 1e9, 0.3500, 1.91877, 1.07836, 1.16788, 0.0),
    ("QB3", 1e9, 0.3800, 1.45086, 1.00586, 1.01291, 0.0),
    ("QB3", 10.0, 0.2000, 7.92321, 1.89599, 2.48448, 0.0),
    ("QB3", 10.0, 0.2500, 4.67063, 1.53006, 1.92994, 0.0),
    ("QB3", 10.0, 0.3000, 2.90222, 1.28905, 1.54056, 0.0),
    ("QB3", 10.0, 0.3500, 1.83416, 1.11971, 1.23900, 0.0),
    ("QB3", 10.0, 0.3800, 1.38459, 1.04088, 1.08414, 0.0),
    ("QB3", 7.0, 0.2000, 7.77748, 1.93930, 2.52892, 0.0),
    ("QB3", 7.0, 0.2500, 4.58219, 1.56293, 1.96665, 0.0),
    ("QB3", 7.0, 0.3000, 2.84520, 1.31453, 1.57316, 0.0),
    ("QB3", 7.0, 0.3500, 1.79642, 1.13950, 1.27024, 0.0),
    ("QB3", 7.0, 0.3800, 1.35515, 1.05777, 1.11531, 0.0),
    ("C4", 1e9, 0.4200, 1.00931, 0.91672, 0.84911, 0.0046),
    ("C4", 1e9, 0.4500, 0.80334, 0.85544, 0.76234, 0.0358),
    ("C4", 1e9, 0.5000, 0.60355, 0.77689, 0.66592, 0.1904),
    ("C4", 1e9, 0.5500, 0.49664, 0.72369, 0.60652, 0.4637),
    ("C4", 10.0, 0.4200, 0.93808, 0.95068, 0.90924, 0.0005),
    ("C4", 10.0, 0.4500, 0.71867, 0.88484, 0.81139, 0.0112),
    ("C4", 10.0, 0.5000, 0.50292, 0.79371, 0.69908, 0.0981),
    ("C4", 10.0, 0.5500, 0.38773, 0.72822, 0.62822, 0.2878),
    ("C4", 7.0, 0.4200, 0.91128, 0.96623, 0.93728, 0.0001),
    ("C4", 7.0, 0.4500, 0.68677, 0.89925, 0.83484, 0.0059),
    ("C4", 7.0, 0.5000, 0.46420, 0.80311, 0.71545, 0.0704),
    ("C4", 7.0, 0.5500, 0.34532, 0.73213, 0.63926, 0.2284),
];

fn vented(alpha: f64, h: f64, ql: f64) -> Option<Enclosure> {
    Some(Enclosure {
        volume: CubicMetres(VAS / alpha),
        tuning: Some(Hertz(h * FS)),
        ql: Some(ql),
    })
}

#[test]
fn vented_boxes_have_the_corner_and_ripple_of_their_alignment() {
    for (name, ql, qt, alpha, h, corner, ripple_db) in VENTED {
        let driver = cone(qt, vented(alpha, h, ql));
        let f3 = half_power_hz(&driver, 30.0 * FS);
        // Five decimals of α and h leave 3e-5 of f3 at worst.
        assert_relative_eq!(f3 / FS, corner, max_relative = 5e-5);
        // Largest less smallest level from the uppermost peak down to the lower one, or nothing.
        let level = |f: f64| 20.0 * response(&driver, f).norm().log10();
        let levels = (0..4000).map(|i| level(f3 * 1.0008_f64.powi(i)));
        let (mut highest, mut ripple) = (f64::NEG_INFINITY, 0.0_f64);
        for level in levels {
            highest = highest.max(level);
            ripple = ripple.max(highest - level);
        }
        // The last level is that of 24·f3, a little off the limit of 0 dB.
        assert_abs_diff_eq!(ripple, ripple_db, epsilon = 2.5e-4);
        assert!(highest < ripple_db + 2.5e-4, "{name} {qt}: {highest} dB");
    }
}

#[test]
fn a_hot_coil_has_more_resistance_and_gives_less_sound() {
    let driver = cone(0.4, closed(1.0));
    let f = [20.0, 60.0, 3000.0];
    let (cold, hot) = (load_at(&driver, &f, 0.0), load_at(&driver, &f, 150.0));
    // Copper, 0.393 % per kelvin (IEC 60028).
    let more = 6.0 * 3.93e-3 * 150.0;
    for i in 0..f.len() {
        assert_relative_eq!(
            hot.z_ohm.at(i).re,
            cold.z_ohm.at(i).re + more,
            max_relative = 1e-12
        );
        let lost = cold.z_ohm.at(i) / hot.z_ohm.at(i);
        let expected = cold.pressure_pa_per_v.at(i) * lost;
        assert!((hot.pressure_pa_per_v.at(i) - expected).norm() < 1e-12 * expected.norm());
    }
    // The driver's own rise adds to what is asked for.
    let mut warm = driver.clone();
    warm.coil_rise = Kelvins(100.0);
    let sum = load_at(&warm, &f, 50.0);
    for (a, b) in sum.z_ohm.iter().zip(hot.z_ohm.iter()) {
        assert!((a - b).norm() < 1e-12);
    }
}
