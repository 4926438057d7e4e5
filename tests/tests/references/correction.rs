//! Impedance correction against worked examples.
//!
//! Where the figures are from: the example coil (6 Ω, 0.5 mH) and the closed-box example were computed
//! apart from this program with 40 digits from the networks themselves. The motional elements of the
//! closed box are those of R. H. Small, Closed-Box Loudspeaker Systems, J. Audio Eng. Soc. 20/21, 1972/73.
//! The rule with 1.25·Re is common practice.

use std::f64::consts::TAU;

use approx::assert_relative_eq;
use num_complex::Complex64;
use solver::synthesis::{Compensation, Peak, Zobel};

/// Hz; |Re + jωLe|; |Z| and phase in degrees with 7.5 Ω and 8.88889 µF across.
const COIL: [[f64; 4]; 7] = [
    [100.0, 6.00822, 6.00695, 1.076],
    [500.0, 6.20221, 6.16555, 4.981],
    [1000.0, 6.77271, 6.57199, 7.924],
    [2000.0, 8.68783, 7.37313, 7.460],
    [5000.0, 16.81488, 7.70095, 1.639],
    [10_000.0, 31.98375, 7.57515, 0.259],
    [20_000.0, 63.11768, 7.52070, 0.034],
];

fn coil(f_hz: f64) -> Complex64 {
    Complex64::new(6.0, TAU * f_hz * 0.5e-3)
}

fn parallel(a: Complex64, b: Complex64) -> Complex64 {
    (a.finv() + b.finv()).finv()
}

#[test]
fn exact_zobel_and_trade_rule_on_a_coil() {
    let exact = Zobel::exact(6.0, 0.5e-3).unwrap();
    assert_relative_eq!(exact.r_ohm, 6.0);
    assert_relative_eq!(exact.c_farad, 13.88889e-6, epsilon = 5.1e-12);
    let rule = Zobel::by_trade_rule(6.0, 0.5e-3).unwrap();
    assert_relative_eq!(rule.r_ohm, 7.5);
    assert_relative_eq!(rule.c_farad, 8.88889e-6, epsilon = 5.1e-12);
    for [f_hz, alone, with_rule, phase_deg] in COIL {
        assert_relative_eq!(coil(f_hz).norm(), alone, epsilon = 5.1e-6);
        let z = parallel(coil(f_hz), exact.impedance(f_hz));
        assert!((z - 6.0).norm() < 1e-12, "{f_hz} Hz: {z}");
        let z = parallel(coil(f_hz), rule.impedance(f_hz));
        assert_relative_eq!(z.norm(), with_rule, epsilon = 5.1e-6);
        assert_relative_eq!(z.arg().to_degrees(), phase_deg, epsilon = 5.1e-4);
    }
}

#[test]
fn closed_box_driver_becomes_a_resistance() {
    let (re, fc_hz, qes, qms, le) = (6.0, 60.0, 0.6, 3.0, 0.5e-3);
    let peak = Peak::of_closed_box(re, fc_hz, qes, qms).unwrap();
    let network = Compensation::new(re, le, &[peak]).unwrap();
    assert_relative_eq!(network.r_ohm, 6.0);
    assert_relative_eq!(network.c_farad.unwrap(), 13.888889e-6, epsilon = 5.1e-13);
    let [trap] = network.traps[..] else {
        panic!("one trap for one peak");
    };
    assert_relative_eq!(trap.r_ohm, 1.2, max_relative = 1e-12);
    assert_relative_eq!(trap.l_henry, 9.549297e-3, epsilon = 5.1e-10);
    assert_relative_eq!(trap.c_farad, 736.828440e-6, epsilon = 5.1e-13);

    // The driver from its motional elements, Small's: Rm, Cm and Lm in parallel.
    let omega_c = TAU * fc_hz;
    let (rm, cm, lm) = (re * qms / qes, qes / (omega_c * re), re / (omega_c * qes));
    for f_hz in [10.0, 45.0, 60.0, 200.0, 3000.0, 20_000.0] {
        let jw = Complex64::new(0.0, TAU * f_hz);
        let motional = (jw * cm + (jw * lm).finv() + 1.0 / rm).finv();
        assert!((motional - peak.impedance(f_hz)).norm() < 1e-11);
        let driver = motional + jw * le + re;
        let together = (driver.finv() + network.admittance(f_hz)).finv();
        assert!((together - re).norm() < 1e-11, "{f_hz} Hz: {together}");
    }
}
