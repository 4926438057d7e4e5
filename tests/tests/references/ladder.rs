//! Ladders between an ideal voltage source and a resistor, against element values from elsewhere.
//!
//! Where the figures are from:
//! - Element tables: computed apart from this program with 50-digit arithmetic, by a continued
//!   fraction of the denominators, each row checked there by its chain-matrix product. Printed tables for
//!   this termination (Matthaei, Young and Jones, 1964, sec. 4.06, from memory) number the elements
//!   from the load: the rows here, read right to left.
//! - Butterworth order 4 as printed in handbooks to four places: from memory.
//! - Bessel: S. Winder, Analog and Digital Filter Design, 2nd ed., 2002, Table 2.3 (elements between equal
//!   resistances, 3 dB down at 1 rad/s, three to four decimals), read.
//! - Linkwitz–Riley: S. H. Linkwitz, J. Audio Eng. Soc. 24(1), 1976, for the alignment; exact fractions
//!   by hand.
//!
//! A trap that is avoided here: the poles in Winder's Table 3.4 were scaled with the rough factors of
//! his Table 3.3 and are off by up to 1 %.

#![expect(
    clippy::approx_constant,
    reason = "tables are kept as they are printed, also where an entry happens to be 1/π"
)]

use num_complex::Complex64;
use solver::synthesis::{Ladder, LadderKind, LadderSide, Prototype};

/// The tables give nine digits.
const TABLE_DIGITS: f64 = 1e-8;

const BUTTERWORTH: [&[f64]; 8] = [
    &[1.00000000],
    &[1.41421356, 0.70710678],
    &[1.50000000, 1.33333333, 0.50000000],
    &[1.53073373, 1.57716101, 1.08239220, 0.38268343],
    &[1.54508497, 1.69442719, 1.38196601, 0.89442719, 0.30901699],
    &[
        1.55291427, 1.75930562, 1.55291427, 1.20162809, 0.75787476, 0.25881905,
    ],
    &[
        1.55764654, 1.79882770, 1.65883360, 1.39716678, 1.05495813, 0.65597056, 0.22252093,
    ],
    &[
        1.56072258, 1.82464142, 1.72873529, 1.52831855, 1.25882103, 0.93705173, 0.57755200,
        0.19509032,
    ],
];

const BESSEL: [&[f64]; 8] = [
    &[1.00000000],
    &[1.36165413, 0.45388471],
    &[1.46306031, 0.84272274, 0.29261206],
    &[1.50118791, 0.97807211, 0.61272976, 0.21139177],
    &[1.51246359, 1.02315104, 0.75311973, 0.47287221, 0.16182738],
    &[
        1.51243436, 1.03290022, 0.81248540, 0.60723160, 0.37847531, 0.12873310,
    ],
    &[
        1.50872805, 1.02932303, 0.83450449, 0.67523270, 0.50307096, 0.31129273, 0.10541865,
    ],
    &[
        1.50444178, 1.02139929, 0.83923042, 0.70809797, 0.57430796, 0.42528265, 0.26163708,
        0.08832270,
    ],
];

const LINKWITZ_RILEY: [&[f64]; 4] = [
    &[2.00000000, 0.50000000],
    &[1.88561808, 1.59099026, 0.94280904, 0.35355339],
    &[
        1.80000000, 1.85185185, 1.47272727, 1.12037037, 0.72727273, 0.25000000,
    ],
    &[
        1.74940998, 1.93202224, 1.70186101, 1.45475648, 1.20953080, 0.91318975, 0.56545007,
        0.19134172,
    ],
];

/// Ripple 0.5 dB.
const CHEBYSHEV: [&[f64]; 8] = [
    &[0.34931140],
    &[0.94025989, 0.70144697],
    &[1.34648590, 1.30014517, 0.79814003],
    &[1.31375143, 1.72789511, 1.39157372, 0.83515281],
    &[1.53875039, 1.64262302, 1.81417503, 1.42908142, 0.85288506],
    &[
        1.40421050, 1.90182799, 1.71014534, 1.84937539, 1.44827358, 0.86268169,
    ],
    &[
        1.59833241, 1.72524872, 1.97132804, 1.73691363, 1.86768087, 1.45945778, 0.86864553,
    ],
    &[
        1.43791329, 1.95712819, 1.78376128, 1.99798323, 1.75077196, 1.87856693, 1.46656362,
        0.87253936,
    ],
];

fn assert_elements(prototype: Prototype, expected: &[f64], tolerance: f64) {
    let elements = prototype.ladder_elements().unwrap();
    assert_eq!(elements.len(), expected.len(), "{prototype:?}");
    for (found, expected) in elements.iter().zip(expected) {
        assert!(
            (found - expected).abs() <= tolerance,
            "{prototype:?}: {found} against {expected}"
        );
    }
}

#[test]
fn elements_agree_with_the_tables() {
    for (order, row) in (1..).zip(BUTTERWORTH) {
        assert_elements(Prototype::Butterworth { order }, row, TABLE_DIGITS);
    }
    for (order, row) in (1..).zip(BESSEL) {
        assert_elements(Prototype::Bessel { order }, row, TABLE_DIGITS);
    }
    for (order, row) in [2, 4, 6, 8].into_iter().zip(LINKWITZ_RILEY) {
        assert_elements(Prototype::LinkwitzRiley { order }, row, TABLE_DIGITS);
    }
    for (order, row) in (1..).zip(CHEBYSHEV) {
        let prototype = Prototype::Chebyshev {
            order,
            ripple_db: 0.5,
        };
        assert_elements(prototype, row, TABLE_DIGITS);
    }
}

#[test]
fn rows_that_are_known_exactly_or_printed() {
    let root = 2f64.sqrt();
    assert_elements(
        Prototype::Butterworth { order: 2 },
        &[root, root / 2.0],
        1e-13,
    );
    assert_elements(
        Prototype::Butterworth { order: 3 },
        &[1.5, 4.0 / 3.0, 0.5],
        1e-13,
    );
    // Handbooks, from memory.
    let printed = [1.5307, 1.5772, 1.0824, 0.3827];
    assert_elements(Prototype::Butterworth { order: 4 }, &printed, 5e-5);
    assert_elements(Prototype::LinkwitzRiley { order: 2 }, &[2.0, 0.5], 1e-13);
    let fourth = [
        4.0 * root / 3.0,
        9.0 * root / 8.0,
        2.0 * root / 3.0,
        root / 4.0,
    ];
    assert_elements(Prototype::LinkwitzRiley { order: 4 }, &fourth, 1e-12);
    let sixth = [
        9.0 / 5.0,
        50.0 / 27.0,
        81.0 / 55.0,
        121.0 / 108.0,
        8.0 / 11.0,
        0.25,
    ];
    assert_elements(Prototype::LinkwitzRiley { order: 6 }, &sixth, 1e-11);
}

/// The second derivation: a recursion from the load's end, with a = sin((2k−1)π/2n) and
/// d(k) = (γ² + sin²(kπ/2n))·cos²(kπ/2n); γ = sinh(asinh(1/ε)/n) for Chebyshev. Butterworth's is its limit
/// with the first bracket 1. Form as in Matthaei, Young and Jones (1964), from memory.
fn recursion(order: u8, ripple_db: Option<f64>) -> Vec<f64> {
    let n = f64::from(order);
    let angle = std::f64::consts::PI / (2.0 * n);
    let gamma = ripple_db.map(|db| {
        let epsilon = (10f64.powf(db / 10.0) - 1.0).sqrt();
        ((1.0 / epsilon).asinh() / n).sinh()
    });
    let a = |k: u8| (f64::from(2 * k - 1) * angle).sin();
    let d = |k: u8| {
        let (sin, cos) = (f64::from(k) * angle).sin_cos();
        gamma.map_or(1.0, |g| g * g + sin * sin) * cos * cos
    };
    let mut elements = vec![a(1) / gamma.unwrap_or(1.0)];
    for k in 2..=order {
        elements.push(a(k) * a(k - 1) / (d(k - 1) * elements[usize::from(k) - 2]));
    }
    elements.reverse();
    elements
}

#[test]
fn continued_fraction_agrees_with_the_recursion() {
    for order in 1..=8 {
        let expected = recursion(order, None);
        assert_elements(Prototype::Butterworth { order }, &expected, 1e-10);
        for ripple_db in [0.1, 0.5, 1.0] {
            let expected = recursion(order, Some(ripple_db));
            let prototype = Prototype::Chebyshev { order, ripple_db };
            assert_elements(prototype, &expected, 1e-10);
        }
    }
}

/// Voltage on the load over the source's, and input impedance, by the product of chain matrices.
pub(super) fn chain(ladder: &Ladder, f_hz: f64, load: Complex64) -> (Complex64, Complex64) {
    let jw = Complex64::new(0.0, std::f64::consts::TAU * f_hz);
    let mut m = [
        [Complex64::ONE, Complex64::ZERO],
        [Complex64::ZERO, Complex64::ONE],
    ];
    for element in &ladder.elements {
        let value = element.value_si;
        let (z, y) = match element.kind {
            LadderKind::SeriesInductor => (jw * value, Complex64::ZERO),
            LadderKind::SeriesCapacitor => ((jw * value).finv(), Complex64::ZERO),
            LadderKind::ShuntCapacitor => (Complex64::ZERO, jw * value),
            LadderKind::ShuntInductor => (Complex64::ZERO, (jw * value).finv()),
        };
        // [1 z; y 1] holds for either kind because one of the two is zero.
        m = [
            [m[0][0] + m[0][1] * y, m[0][0] * z + m[0][1]],
            [m[1][0] + m[1][1] * y, m[1][0] * z + m[1][1]],
        ];
    }
    let (voltage, current) = (m[0][0] + m[0][1] / load, m[1][0] + m[1][1] / load);
    (voltage.finv(), voltage / current)
}

pub(super) fn all_prototypes() -> Vec<Prototype> {
    let mut all = Vec::new();
    for order in 1..=8 {
        all.push(Prototype::Butterworth { order });
        all.push(Prototype::Bessel { order });
        all.push(Prototype::Chebyshev {
            order,
            ripple_db: 0.5,
        });
        if order % 2 == 0 {
            all.push(Prototype::LinkwitzRiley { order });
        }
    }
    all
}

#[test]
fn ladders_give_the_response_they_were_made_for() {
    let (f0_hz, r_ohm) = (2000.0, 8.0);
    for prototype in all_prototypes() {
        let denominator = prototype.denominator().unwrap();
        let low = Ladder::new(prototype, LadderSide::LowPass, f0_hz, r_ohm).unwrap();
        let high = Ladder::new(prototype, LadderSide::HighPass, f0_hz, r_ohm).unwrap();
        for x in [0.1, 0.5, 0.9, 1.0, 1.7, 6.0] {
            let at = |s: Complex64| denominator.coefficients()[0] / denominator.at(s);
            let (found, _) = chain(&low, x * f0_hz, r_ohm.into());
            let expected = at(Complex64::new(0.0, x));
            assert!(
                (found - expected).norm() < 1e-10 * expected.norm(),
                "{prototype:?}"
            );
            let (found, _) = chain(&high, x * f0_hz, r_ohm.into());
            let expected = at(Complex64::new(0.0, x).finv());
            assert!(
                (found - expected).norm() < 1e-10 * expected.norm(),
                "{prototype:?}"
            );
        }
    }
}

/// Winder (2002), Table 2.3: Bessel ladders between 1 Ω and 1 Ω, shunt capacitor first at the source.
const WINDER_BESSEL: [&[f64]; 7] = [
    &[0.576, 2.148],
    &[0.3374, 0.9705, 2.2034],
    &[0.2334, 0.6725, 1.0815, 2.2404],
    &[0.1743, 0.5072, 0.804, 1.111, 2.2582],
    &[0.1365, 0.4002, 0.6392, 0.8538, 1.1126, 2.2645],
    &[0.1106, 0.3259, 0.5249, 0.702, 0.869, 1.1052, 2.2659],
    &[
        0.0919, 0.2719, 0.4409, 0.5936, 0.7303, 0.8695, 1.0956, 2.2656,
    ],
];

#[test]
fn bessel_filters_are_those_of_a_printed_table() {
    for (order, row) in (2..).zip(WINDER_BESSEL) {
        let denominator = Prototype::Bessel { order }.denominator().unwrap();
        // Three decimals are printed for order 2, four (some zeros left out) for the others.
        let tolerance = if order == 2 { 1e-3 } else { 2e-4 };
        for omega in [0.3, 0.7, 1.0, 1.5] {
            let s = Complex64::new(0.0, omega);
            // The printed ladder with a 1 Ω source: voltage and current from the load backwards.
            let (mut voltage, mut current) = (Complex64::ONE, Complex64::ONE);
            for (place, &g) in row.iter().enumerate().rev() {
                if place % 2 == 0 {
                    current += s * g * voltage;
                } else {
                    voltage += s * g * current;
                }
            }
            let printed = (voltage + current).finv();
            let ours = 0.5 * denominator.coefficients()[0] / denominator.at(s);
            assert!(
                (printed - ours).norm() < tolerance * ours.norm(),
                "order {order} at {omega} rad/s: {printed} against {ours}"
            );
        }
    }
}

#[test]
fn bessel_poles_are_exact_and_not_the_rounded_ones() {
    // Exact (to 7 digits) and as in Winder's Table 3.4, order 4.
    let exact = [(1.370068, 0.410250), (0.995209, 1.257106)];
    let rounded = [(1.3596, 0.4071), (0.9877, 1.2476)];
    let denominator = Prototype::Bessel { order: 4 }.denominator().unwrap();
    let residual = |(sigma, omega): (f64, f64)| {
        denominator.at(Complex64::new(-sigma, omega)).norm() / denominator.coefficients()[0]
    };
    for (exact, rounded) in exact.into_iter().zip(rounded) {
        assert!(residual(exact) < 3e-6, "{}", residual(exact));
        assert!(residual(rounded) > 1e-3, "{}", residual(rounded));
    }
}
