//! Copper, wire, and air-core coils, against wire tables and published inductance formulas.
//!
//! Where the figures are from:
//! - AWG sizes: ASTM B258 (d = 0.127 mm · 92^((36−n)/39)); ohm per 1000 ft as printed in Floyd, Electric
//!   Circuit Fundamentals, 2nd ed., wire table.
//! - Metric wire: diameters of IEC 60317-0-1 (from memory); resistance from 58 m/(Ω·mm²), IEC 60028,
//!   computed apart from this program with 50-digit arithmetic.
//! - Nagaoka's factor, the rectangular coils and the coupling of Brooks coils: computed apart from
//!   this program by quadrature of the exact integrals, two routes agreeing.
//! - Brooks: NBS J. Research 7, 1931; Grover, Inductance
//!   Calculations, 1946 (1.6994 µH/m, from memory).
//! - Circles: NIST Digital Library of Mathematical Functions 19.34, computed apart by three routes;
//!   25 cm and 1 cm apart is an old example of the National Bureau of Standards (1036.66 nH, from memory).

#![expect(
    clippy::approx_constant,
    reason = "tables are kept as they are printed, also where an area happens to be π"
)]

use std::f64::consts::PI;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use proptest::prelude::*;
use solver::coil::copper::{resistance_factor, wire_area_m2, wire_kg_per_m, wire_ohm_per_m};
use solver::coil::{
    AirCoil, BROOKS_H_PER_M, CoilError, Winding, air_coil_dcr_ohm, mutual_inductance_h,
};

#[test]
fn awg_wire_has_the_printed_resistance() {
    const OHM_PER_1000_FT: [(i32, f64); 17] = [
        (10, 0.9989),
        (11, 1.26),
        (12, 1.588),
        (13, 2.003),
        (14, 2.525),
        (15, 3.184),
        (16, 4.016),
        (17, 5.064),
        (18, 6.385),
        (19, 8.051),
        (20, 10.15),
        (21, 12.8),
        (22, 16.14),
        (23, 20.36),
        (24, 25.67),
        (25, 32.37),
        (26, 40.81),
    ];
    for (gauge, printed) in OHM_PER_1000_FT {
        let diameter_m = 0.127e-3 * 92f64.powf(f64::from(36 - gauge) / 39.0);
        let ohm = wire_ohm_per_m(diameter_m) * 304.8;
        // The table has three to four digits.
        assert_relative_eq!(ohm, printed, max_relative = 4.5e-4);
    }
}

#[test]
fn metric_wire_has_the_computed_resistance_and_mass() {
    // mm, mm², Ω/m at 20 °C, Ω/m at 70 °C, g/m.
    const WIRE: [(f64, f64, f64, f64, f64); 14] = [
        (0.50, 0.196350, 0.08780962, 0.10506421, 1.7455),
        (0.63, 0.311725, 0.05530966, 0.06617801, 2.7712),
        (0.71, 0.395919, 0.04354772, 0.05210485, 3.5197),
        (0.80, 0.502655, 0.03430063, 0.04104071, 4.4686),
        (0.90, 0.636173, 0.02710174, 0.03242723, 5.6556),
        (1.00, 0.785398, 0.02195241, 0.02626605, 6.9822),
        (1.12, 0.985203, 0.01750032, 0.02093914, 8.7585),
        (1.25, 1.227185, 0.01404954, 0.01681027, 10.9097),
        (1.40, 1.539380, 0.01120021, 0.01340105, 13.6851),
        (1.60, 2.010619, 0.00857516, 0.01026018, 17.8744),
        (1.80, 2.544690, 0.00677543, 0.00810681, 22.6223),
        (2.00, 3.141593, 0.00548810, 0.00656651, 27.9288),
        (2.24, 3.940814, 0.00437508, 0.00523478, 35.0338),
        (2.50, 4.908739, 0.00351238, 0.00420257, 43.6387),
    ];
    for (diameter_mm, area_mm2, cold, warm, grams) in WIRE {
        let diameter_m = 1e-3 * diameter_mm;
        let ohm = wire_ohm_per_m(diameter_m);
        assert_relative_eq!(
            1e6 * wire_area_m2(diameter_m),
            area_mm2,
            max_relative = 3e-6
        );
        assert_abs_diff_eq!(ohm, cold, epsilon = 6e-9);
        assert_abs_diff_eq!(ohm * resistance_factor(70.0), warm, epsilon = 6e-9);
        assert_abs_diff_eq!(1e3 * wire_kg_per_m(diameter_m), grams, epsilon = 6e-5);
    }
}

/// Single layers as windings of next to no depth, of each diameter over length: the mesh has at most 256 cells, here
/// hundreds of times as long as deep, and still holds 0.25 %.
#[test]
fn single_layers_follow_nagaoka() {
    const ROWS: [(f64, f64); 9] = [
        (0.5, 0.8181357519),
        (0.8, 0.7350790635),
        (1.0, 0.6884226073),
        (1.5, 0.5950458847),
        (2.0, 0.5255100243),
        (2.5, 0.4718647794),
        (3.0, 0.429198617),
        (5.0, 0.3198254678),
        (10.0, 0.2033235175),
    ];
    let (radius_m, turns, depth_m) = (0.02, 100.0, 1e-6);
    for (ratio, nagaoka) in ROWS {
        let length_m = 2.0 * radius_m / ratio;
        let winding = Winding {
            inner_radius_m: radius_m - 0.5 * depth_m,
            depth_m,
            length_m,
            turns,
        };
        let long_h = 4e-7 * PI * PI * radius_m * radius_m * turns * turns / length_m;
        let found = winding.inductance_h(1).unwrap() / long_h;
        assert_relative_eq!(found, nagaoka, max_relative = 2.5e-3);
    }
}

#[test]
fn multilayer_coils_of_all_shapes() {
    // Inner radius, depth, length in mm, turns, exact mH, wire m.
    const ROWS: [(f64, f64, f64, f64, f64, f64); 7] = [
        (20.0, 20.0, 20.0, 150.0, 1.147080, 28.27433),
        (15.0, 15.0, 15.0, 200.0, 1.529440, 28.27433),
        (15.0, 25.0, 12.0, 200.0, 1.860933, 34.55752),
        (12.5, 10.0, 40.0, 250.0, 1.063600, 27.48894),
        (10.0, 10.0, 16.0, 120.0, 0.306574, 11.30973),
        (40.0, 8.0, 8.0, 60.0, 0.516677, 16.58761),
        (10.0, 30.0, 5.0, 60.0, 0.150206, 9.42478),
    ];
    for (inner, depth, length, turns, exact_mh, wire_m) in ROWS {
        let winding = Winding {
            inner_radius_m: 1e-3 * inner,
            depth_m: 1e-3 * depth,
            length_m: 1e-3 * length,
            turns,
        };
        assert_abs_diff_eq!(winding.wire_length_m(), wire_m, epsilon = 6e-6);
        let mesh_mh = 1e3 * winding.inductance_h(8).unwrap();
        assert_relative_eq!(mesh_mh, exact_mh, max_relative = 5e-4);
    }
}

#[test]
fn brooks_coils_have_the_known_constant() {
    // 1.69938 µH per metre of mean radius and turn squared, by the mesh of filaments.
    let unit = Winding {
        inner_radius_m: 0.01,
        depth_m: 0.01,
        length_m: 0.01,
        turns: 1.0,
    };
    let mesh = unit.inductance_h(24).unwrap() / unit.mean_radius_m();
    assert_relative_eq!(mesh, 1.69938e-6, max_relative = 1e-4);
    // The same as printed for the side in cm, µH: 0.025491.
    let per_side = 1.5 * BROOKS_H_PER_M;
    assert_relative_eq!(per_side * 1e6 * 1e-2, 0.025491, max_relative = 2e-5);
}

#[test]
fn a_coil_for_an_inductance_has_it() {
    for (l_h, wire_m) in [(0.33e-3, 0.71e-3), (1.5e-3, 1.0e-3), (4.7e-3, 1.4e-3)] {
        let coil = AirCoil::for_inductance(l_h, wire_m).unwrap();
        let mesh_h = coil.winding().inductance_h(16).unwrap();
        assert_relative_eq!(mesh_h, l_h, max_relative = 2e-4);
        assert_relative_eq!(
            coil.dcr_ohm,
            coil.winding().wire_length_m() * wire_ohm_per_m(wire_m),
            max_relative = 1e-12
        );
        assert_relative_eq!(
            coil.copper_mass_kg,
            coil.wire_length_m * wire_kg_per_m(wire_m),
            max_relative = 1e-12
        );
        // The turns fill the section at the pitch.
        let pitch_m = (coil.length_m * coil.depth_m / coil.turns).sqrt();
        assert!(pitch_m > 1.05 * wire_m && pitch_m < 1.2 * wire_m);
    }
}

#[test]
fn no_other_square_section_of_the_same_wire_gives_more() {
    // Common knowledge since Maxwell and Brooks: the optimum is flat near a mean diameter of 3 sides.
    let coil = AirCoil::for_inductance(1.5e-3, 1e-3).unwrap();
    let pitch_m = coil.length_m / coil.turns.sqrt();
    for stretch in [0.6, 0.8, 1.25, 1.35] {
        let side_m = coil.length_m * stretch;
        let turns = (side_m / pitch_m).powi(2);
        let mean_radius_m = coil.wire_length_m / (2.0 * PI * turns);
        let other = Winding {
            inner_radius_m: mean_radius_m - 0.5 * side_m,
            depth_m: side_m,
            length_m: side_m,
            turns,
        };
        assert!(other.inductance_h(12).unwrap() < 0.999 * coil.inductance_h);
    }
}

#[test]
fn circles_on_an_axis() {
    // Radii and distance in m, mutual inductance in nH.
    for (a, b, d, expected_nh) in [
        (0.25, 0.25, 0.01, 1036.66484928),
        (0.25, 0.20, 0.10, 248.787359042),
        (0.10, 0.10, 0.05, 111.261089352),
        (0.10, 0.10, 0.10, 49.407846308),
        (0.10, 0.05, 0.02, 50.2280443447),
        (0.03, 0.03, 0.10, 1.2611767306),
        (0.02, 0.035, 0.015, 17.6331904357),
    ] {
        let nh = 1e9 * mutual_inductance_h(a, b, d);
        assert_relative_eq!(nh, expected_nh, max_relative = 1e-9);
    }
}

#[test]
fn far_circles_are_dipoles() {
    // M → µ₀·π·a²·b²/(2d³): the field of a magnetic dipole. Next term: −3(a² + b²)/2d² of it.
    let (a, b, d): (f64, f64, f64) = (0.02, 0.03, 50.0);
    let dipole_h = 4e-7 * PI * PI * a * a * b * b / (2.0 * d.powi(3));
    assert_relative_eq!(mutual_inductance_h(a, b, d), dipole_h, max_relative = 1e-6);
}

#[test]
fn brooks_coils_on_an_axis_couple_as_computed() {
    let side_m = 0.015;
    let coil = Winding {
        inner_radius_m: side_m,
        depth_m: side_m,
        length_m: side_m,
        turns: 200.0,
    };
    let inductance_h = BROOKS_H_PER_M * 1.5 * side_m * 200.0 * 200.0;
    for (sides, expected) in [
        (1.5, 0.303251),
        (2.0, 0.193026),
        (3.0, 0.088398),
        (4.0, 0.045999),
        (5.0, 0.026409),
        (7.0, 0.010765),
        (10.0, 0.003942),
    ] {
        let mutual_h = coil.mutual_inductance_h(&coil, sides * side_m).unwrap();
        assert_abs_diff_eq!(mutual_h / inductance_h, expected, epsilon = 1.5e-6);
        let coupling = coil.coupling(&coil, sides * side_m).unwrap();
        assert_relative_eq!(coupling, expected, max_relative = 1e-3);
    }
    assert!(matches!(
        coil.coupling(&coil, 0.9 * side_m),
        Err(CoilError::Overlap { .. })
    ));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Coupling is the same from either side, below 1, and falls with the distance.
    #[test]
    fn coupling_is_mutual_and_falls(
        l_a in 1e-4..5e-3, l_b in 1e-4..5e-3, wire in 0.5e-3..1.6e-3, gap in 0.0..0.1,
    ) {
        let a = AirCoil::for_inductance(l_a, wire).unwrap().winding();
        let b = AirCoil::for_inductance(l_b, 1e-3).unwrap().winding();
        let distance_m = 0.5001 * (a.length_m + b.length_m) + gap;
        let there = a.coupling(&b, distance_m).unwrap();
        let back = b.coupling(&a, distance_m).unwrap();
        prop_assert!((there / back - 1.0).abs() < 1e-12);
        prop_assert!(there > 0.0 && there < 1.0);
        prop_assert!(a.coupling(&b, distance_m + 0.01).unwrap() < there);
    }

    /// Ten times the inductance takes 10^0.6 times the resistance; thicker wire always takes less.
    #[test]
    fn resistance_follows_the_power_law(l_h in 1e-5..1e-2, wire in 0.3e-3..2e-3) {
        let dcr_ohm = air_coil_dcr_ohm(l_h, wire);
        let ratio = air_coil_dcr_ohm(10.0 * l_h, wire) / dcr_ohm;
        prop_assert!((ratio / 10f64.powf(0.6) - 1.0).abs() < 1e-12);
        prop_assert!(air_coil_dcr_ohm(l_h, 1.1 * wire) < dcr_ohm);
    }
}
