//! Scales: where a value lies, which lines are drawn, and what they are called.

/// Which edge of the plot an axis is written at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AxisSide {
    Left,
    Right,
}

/// An axis, evenly divided or logarithmic.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Axis {
    /// What it shows, with the unit, written above it: `dB SPL`.
    pub(crate) unit: String,
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Distance of the named lines; they lie at whole multiples of it.
    pub(crate) step: f64,
    /// Lines without a name between two named ones.
    pub(crate) between: usize,
    /// Whether the two ends are one and the same: an angle.
    pub(crate) wraps: bool,
    /// Its values are angles in degrees.
    pub(crate) degrees: bool,
    /// Whether equal ratios are equally far apart; the lines are then 1-2-5.
    pub(crate) logarithmic: bool,
}

impl Axis {
    /// Span of a level axis: always the same, so that no response is made to look flat.
    pub(crate) const LEVEL_SPAN_DB: f64 = 50.0;

    /// From one value to another, with lines at whole multiples of `step`.
    fn plain(unit: &str, from: f64, to: f64, step: f64) -> Self {
        Self {
            unit: unit.to_owned(),
            from,
            to,
            step,
            between: 0,
            wraps: false,
            degrees: false,
            logarithmic: false,
        }
    }

    /// Levels in dB: 50 dB with the highest value a little below the top.
    pub(crate) fn level(unit: &str, highest_db: f64) -> Self {
        let highest_db = if highest_db.is_finite() {
            highest_db
        } else {
            0.0
        };
        let to = 5.0 * ((highest_db + 3.0) / 5.0).ceil();
        Self {
            between: 1,
            ..Self::plain(unit, to - Self::LEVEL_SPAN_DB, to, 10.0)
        }
    }

    /// Ohm from 0 in six divisions; a curve that rises above 120 Ω leaves the plot at the top.
    pub(crate) fn ohm(highest_ohm: f64) -> Self {
        let step = [1.0, 2.0, 3.0, 4.0, 5.0, 10.0, 15.0]
            .into_iter()
            .find(|step| highest_ohm <= 5.8 * step)
            .unwrap_or(20.0);
        Self::plain("Ω", 0.0, 6.0 * step, step)
    }

    /// Ohm on a logarithmic scale, with both values inside and room about them: no load is so small that it
    /// lies on the border. At least a decade, and at most three.
    pub(crate) fn ohm_logarithmic(least_ohm: f64, highest_ohm: f64) -> Self {
        let sane = |ohm: f64, usual: f64| {
            if ohm.is_finite() && ohm > 0.0 {
                ohm
            } else {
                usual
            }
        };
        let (least, highest) = (sane(least_ohm, 4.0), sane(highest_ohm, 40.0));
        let step_of = |ohm: f64, up: bool| {
            let ten = 10f64.powf(ohm.log10().floor());
            let steps = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0].map(|m| m * ten);
            match up {
                true => steps.into_iter().find(|s| *s >= ohm),
                false => steps.into_iter().rfind(|s| *s <= ohm),
            }
            .unwrap_or(ohm)
        };
        let from = step_of(0.8 * least, false);
        let to = step_of(1.1 * highest, true).clamp(10.0 * from, 1000.0 * from);
        Self {
            logarithmic: true,
            ..Self::plain("Ω", from, to, 1.0)
        }
    }

    /// Degrees from −`most` to `most` in six divisions; a whole turn wraps.
    pub(crate) fn degrees(most: f64) -> Self {
        Self {
            wraps: most >= 180.0,
            degrees: true,
            ..Self::plain("phase", -most, most, most / 3.0)
        }
    }

    /// From a least to a greatest value, in about `divisions` even steps of 1, 2 or 5.
    pub(crate) fn even(unit: &str, least: f64, greatest: f64, divisions: f64) -> Self {
        let span = (greatest - least).max(1e-9);
        let span = if span.is_finite() { span } else { 1.0 };
        let rough = span / divisions.max(1.0);
        let ten = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|m| m * ten)
            .find(|step| *step >= rough * (1.0 - 1e-9))
            .unwrap_or(10.0 * ten);
        let from = step * (least / step).floor();
        let to = (step * (greatest / step).ceil()).max(from + step);
        Self::plain(unit, from, to, step)
    }

    /// Named lines, lowest first: value and its words.
    pub(crate) fn ticks(&self) -> Vec<(f64, String)> {
        if self.logarithmic {
            return within(self.from, self.to, &[1.0, 2.0, 5.0])
                .map(|value| (value, format!("{}", (value * 1000.0).round() / 1000.0)))
                .collect();
        }
        let first = (self.from / self.step - 1e-9).ceil();
        let last = (self.to / self.step + 1e-9).floor();
        let count = (last - first).clamp(0.0, 50.0) as usize;
        (0..=count)
            .map(|i| {
                let value = (first + i as f64) * self.step;
                (value, self.words(value))
            })
            .collect()
    }

    fn words(&self, value: f64) -> String {
        let digits = (-self.step.log10().floor()).clamp(0.0, 6.0) as usize;
        let text = format!("{value:.digits$}");
        // A minus sign as long as a plus, and none before zero.
        let text = match text.strip_prefix('-') {
            Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
            Some(rest) => format!("−{rest}"),
            None => text,
        };
        if self.degrees {
            format!("{text}°")
        } else {
            text
        }
    }

    /// Lines without a name.
    pub(crate) fn between_ticks(&self) -> Vec<f64> {
        if self.logarithmic {
            return within(self.from, self.to, &[3.0, 4.0, 6.0, 7.0, 8.0, 9.0]).collect();
        }
        let small = self.step / (self.between + 1) as f64;
        let first = (self.from / small - 1e-9).ceil();
        let last = (self.to / small + 1e-9).floor();
        let count = (last - first).clamp(0.0, 200.0) as usize;
        (0..=count)
            .map(|i| first + i as f64)
            .filter(|n| n.rem_euclid((self.between + 1) as f64) > 0.5)
            .map(|n| n * small)
            .collect()
    }

    /// From 0 at the lower end to 1 at the upper.
    pub(crate) fn share(&self, value: f64) -> f64 {
        if self.logarithmic {
            // Nothing is below every line; what is not positive is far below.
            let value = value.max(1e-6 * self.from);
            return (value / self.from).ln() / (self.to / self.from).ln();
        }
        (value - self.from) / (self.to - self.from)
    }
}

/// Named frequencies within limits, 1-2-5: hertz and words.
pub(crate) fn frequency_ticks(from_hz: f64, to_hz: f64) -> Vec<(f64, String)> {
    within(from_hz, to_hz, &[1.0, 2.0, 5.0])
        .map(|f_hz| (f_hz, frequency_words(f_hz)))
        .collect()
}

/// Frequencies without a name within limits: the rest of 1 to 9.
pub(crate) fn frequency_between(from_hz: f64, to_hz: f64) -> Vec<f64> {
    within(from_hz, to_hz, &[3.0, 4.0, 6.0, 7.0, 8.0, 9.0]).collect()
}

fn within(from_hz: f64, to_hz: f64, digits: &[f64]) -> impl Iterator<Item = f64> {
    let decades = from_hz.log10().floor() as i32..=to_hz.log10().ceil() as i32;
    decades
        .flat_map(move |decade| digits.iter().map(move |digit| digit * 10f64.powi(decade)))
        .filter(move |f| *f >= from_hz * (1.0 - 1e-9) && *f <= to_hz * (1.0 + 1e-9))
}

fn frequency_words(f_hz: f64) -> String {
    if f_hz >= 999.5 {
        format!("{}k", f_hz.round() / 1000.0)
    } else {
        format!("{}", (f_hz * 100.0).round() / 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_frequency_axis_has_1_2_5_labels() {
        let words: Vec<String> = frequency_ticks(20.0, 20e3)
            .into_iter()
            .map(|t| t.1)
            .collect();
        let expected = [
            "20", "50", "100", "200", "500", "1k", "2k", "5k", "10k", "20k",
        ];
        assert_eq!(words, expected);
        assert_eq!(frequency_between(20.0, 2000.0).len(), 12);
    }

    #[test]
    fn a_level_axis_always_spans_50_db() {
        for highest in [-3.0, 0.0, 94.9, 95.0, 97.0, 97.1, 110.3, f64::NAN] {
            let axis = Axis::level("dB", highest);
            assert!((axis.to - axis.from - 50.0).abs() < 1e-9);
            assert!(highest.is_nan() || (axis.to - highest >= 3.0 && axis.to - highest < 8.0));
        }
        let axis = Axis::level("dB SPL", 96.0);
        let words: Vec<String> = axis.ticks().into_iter().map(|t| t.1).collect();
        assert_eq!(words, ["50", "60", "70", "80", "90", "100"]);
        assert_eq!(axis.between_ticks(), [55.0, 65.0, 75.0, 85.0, 95.0]);
    }

    #[test]
    fn ohm_and_degrees_share_their_lines() {
        let (ohm, degrees) = (Axis::ohm(57.1), Axis::degrees(90.0));
        assert!((ohm.to - 60.0).abs() < 1e-9);
        let shares = |axis: &Axis| -> Vec<f64> {
            axis.ticks().iter().map(|(v, _)| axis.share(*v)).collect()
        };
        for (a, b) in shares(&ohm).iter().zip(shares(&degrees)) {
            assert!((a - b).abs() < 1e-12);
        }
        assert_eq!(degrees.ticks()[0].1, "−90°");
        assert_eq!(degrees.ticks()[3].1, "0°");
        assert!((Axis::ohm(1e9).to - 120.0).abs() < 1e-9);
    }

    #[test]
    fn a_logarithmic_axis_holds_its_values_with_room() {
        for (least, highest) in [
            (5.66, 48.0),
            (0.1, 3.0),
            (8.0, 8.0),
            (2.0, 1e9),
            (f64::NAN, 0.0),
        ] {
            let axis = Axis::ohm_logarithmic(least, highest);
            assert!(
                axis.to >= 10.0 * axis.from && axis.to <= 1001.0 * axis.from,
                "{axis:?}"
            );
            if least > 0.0 && highest < 1000.0 * least {
                assert!(
                    axis.share(least) > 0.05 && axis.share(highest) < 1.0,
                    "{axis:?}"
                );
            }
            assert!(axis.ticks().len() >= 3, "{axis:?}");
        }
        let axis = Axis::ohm_logarithmic(5.66, 48.0);
        assert!((axis.share(axis.from)).abs() < 1e-12 && (axis.share(axis.to) - 1.0).abs() < 1e-12);
        let middle = (axis.from * axis.to).sqrt();
        assert!((axis.share(middle) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn even_axes_hold_their_values() {
        for (least, greatest) in [(0.0, 7.3), (-2.1, 0.4), (0.0, 0.0), (0.0, 12_345.0)] {
            let axis = Axis::even("ms", least, greatest, 6.0);
            assert!(axis.from <= least && axis.to >= greatest && axis.to > axis.from);
            assert!((2..=9).contains(&axis.ticks().len()), "{axis:?}");
        }
        assert_eq!(Axis::even("ms", 0.0, 0.9, 5.0).ticks()[1].1, "0.2");
    }
}
