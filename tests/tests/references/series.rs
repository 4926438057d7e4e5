//! Preferred series against IEC 60063.
//!
//! E24 as printed in IEC 60063 and in many public lists. E48, E96 and E192 by the rule of the standard,
//! 10^(i/n) rounded to three figures, with E192's 9.20 (the rule gives 9.19). The sums, gaps and
//! nearest-value errors below were worked out from the lists in exact arithmetic.

use netlist::series::Series;
use proptest::prelude::*;

/// Values of a decade as whole numbers of two figures (up to E24) or three.
fn whole(series: Series) -> Vec<u32> {
    let figures = if series.count() <= 24 { 10.0 } else { 100.0 };
    (0..series.count() as i64)
        .map(|step| (series.value(step) * figures).round() as u32)
        .collect()
}

/// IEC 60063: E24, of which E12, E6 and E3 are every second, fourth and eighth value.
#[test]
fn two_figure_series() {
    let e24 = [
        10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82,
        91,
    ];
    assert_eq!(whole(Series::E24), e24);
    assert_eq!(
        whole(Series::E12),
        [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82]
    );
    assert_eq!(whole(Series::E6), [10, 15, 22, 33, 47, 68]);
    assert_eq!(whole(Series::E3), [10, 22, 47]);
}

/// IEC 60063: E48 in full; E96 and E192 hold it and one another.
#[test]
fn three_figure_series() {
    let e48 = [
        100, 105, 110, 115, 121, 127, 133, 140, 147, 154, 162, 169, 178, 187, 196, 205, 215, 226,
        237, 249, 261, 274, 287, 301, 316, 332, 348, 365, 383, 402, 422, 442, 464, 487, 511, 536,
        562, 590, 619, 649, 681, 715, 750, 787, 825, 866, 909, 953,
    ];
    assert_eq!(whole(Series::E48), e48);
    let every_second = |series| whole(series).into_iter().step_by(2).collect::<Vec<_>>();
    assert_eq!(every_second(Series::E96), e48);
    assert_eq!(every_second(Series::E192), whole(Series::E96));
    let e192 = whole(Series::E192);
    assert!(e192.contains(&920) && !e192.contains(&919));
}

/// Sum of a decade, its largest gap, and the worst error (b - a)/(b + a) of the nearest value.
#[test]
fn sums_gaps_and_worst_errors() {
    for (series, sum, gap, percent) in [
        (Series::E3, 79, (10, 22), 37.5000),
        (Series::E6, 195, (22, 33), 20.0000),
        (Series::E12, 429, (12, 15), 11.1111),
        (Series::E24, 901, (13, 15), 7.1429),
        (Series::E48, 18313, (169, 178), 2.5937),
        (Series::E96, 37070, (133, 137), 1.4815),
        (Series::E192, 74599, (102, 104), 0.9709),
    ] {
        let mut values = whole(series);
        assert_eq!(values.iter().sum::<u32>(), sum, "{series}");
        values.push(values[0] * 10);
        let error = |pair: &[u32]| f64::from(pair[1] - pair[0]) / f64::from(pair[1] + pair[0]);
        let worst = values
            .windows(2)
            .max_by(|one, two| error(one).total_cmp(&error(two)))
            .expect("a decade has gaps");
        assert_eq!((worst[0], worst[1]), gap, "{series}");
        assert!((100.0 * error(worst) - percent).abs() < 5e-5, "{series}");
    }
}

#[test]
fn names() {
    for series in Series::ALL {
        assert_eq!(series.to_string().parse(), Ok(series));
    }
    assert_eq!(" e12 ".parse(), Ok(Series::E12));
    for wrong in ["", "E", "E13", "12", "E0012", "E12x"] {
        assert!(wrong.parse::<Series>().is_err(), "{wrong}");
    }
}

#[test]
fn values_are_the_decimal_numbers() {
    let nearest = Series::E12.nearest_step(4.8e-6).expect("in range");
    let near: Vec<f64> = (nearest - 2..=nearest + 2)
        .map(|step| Series::E12.value(step))
        .collect();
    let expected = [3.3e-6, 3.9e-6, 4.7e-6, 5.6e-6, 6.8e-6];
    let bits = |values: &[f64]| {
        values
            .iter()
            .map(|value| value.to_bits())
            .collect::<Vec<_>>()
    };
    assert_eq!(bits(&near), bits(&expected));
    let across = Series::E6.within(0.33e-3, 2.2e-3);
    assert_eq!(
        bits(&across),
        bits(&[0.33e-3, 0.47e-3, 0.68e-3, 1e-3, 1.5e-3, 2.2e-3])
    );
    assert_eq!(Series::E3.within(5.0, 4.0), [0.0; 0]);
    assert_eq!(Series::E3.within(2.5, 4.0), [0.0; 0]);
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-320] {
        assert_eq!(Series::E12.nearest_step(wrong), None);
        assert!(Series::E12.within(1.0, wrong).is_empty());
    }
}

proptest! {
    /// The nearest value is nearer, by ratio, than all others of three decades around it.
    #[test]
    fn nearest_is_nearest(exponent in -12.0..6.0f64, which in 0usize..7) {
        let series = Series::ALL[which];
        let value = 10f64.powf(exponent);
        let nearest = series.value(series.nearest_step(value).expect("in range"));
        let off = |other: f64| (other / value).ln().abs();
        let all = series.within(value / 30.0, value * 30.0);
        prop_assert!(all.len() >= 2 * series.count());
        prop_assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
        prop_assert!(all.iter().all(|other| off(nearest) <= off(*other)));
    }
}
