//! Heat: what an amplifier's rated power puts into the resistors of a pad and into the driver.

use super::feed::Feed;
use super::load::PadLoad;
use crate::programme::power_weights;
use crate::synthesis::Pad;

/// A resistor is bought for this many times the power of programme (common practice).
const MARGIN: f64 = 2.0;
/// Ratings that resistors are sold with, in watt (common practice).
const RATINGS_W: [f64; 18] = [
    0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 150.0,
    200.0, 300.0,
];

/// Power in one part.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PartHeat {
    /// With programme noise (IEC 60268-1) of the amplifier's rated power, in watt.
    pub programme_w: f64,
    /// With a steady sine of that power at the worst frequency, in watt.
    pub sine_w: f64,
    /// That frequency, in hertz.
    pub sine_at_hz: f64,
}

/// Power in a pad and its driver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadHeat {
    /// In the series resistor, where there is one.
    pub series: Option<PartHeat>,
    /// In the shunt resistor, where there is one.
    pub shunt: Option<PartHeat>,
    /// In the driver.
    pub driver: PartHeat,
    /// Into the pad, driver included.
    pub input: PartHeat,
    /// Most volts rms at the pad's input for each hertz with a steady sine, and the frequency: what
    /// drives the core of an autoformer.
    pub volts_per_hertz: (f64, f64),
}

/// Open-circuit voltage, rms, of an amplifier of `power_w` into `rated_load_ohm` behind an output
/// impedance.
#[must_use]
pub fn open_circuit_v(power_w: f64, rated_load_ohm: f64, output_impedance_ohm: f64) -> f64 {
    (power_w * rated_load_ohm).sqrt() * (1.0 + output_impedance_ohm / rated_load_ohm)
}

/// The rating to buy for a resistor that programme heats with so many watts: the next one sold at or
/// above twice that (common practice); beyond the list, the next hundred.
#[must_use]
pub fn rating_to_buy_w(programme_w: f64) -> f64 {
    let wanted = MARGIN * programme_w;
    // So that 5 W of heat is not sent to 15 W by rounding.
    let enough = |rating: &&f64| **rating * (1.0 + 1e-9) >= wanted;
    let sold = RATINGS_W.iter().find(enough).copied();
    sold.unwrap_or_else(|| (wanted / 100.0).ceil() * 100.0)
}

impl PadHeat {
    /// For an amplifier of `open_circuit_v`, rms, both for programme of that voltage and for a sine of it.
    #[must_use]
    pub fn new(pad: Pad, load: &PadLoad, feed: &Feed, open_circuit_v: f64) -> Self {
        let f_hz = load.grid.f_hz();
        let weights = power_weights(&load.grid);
        let mut heat = [PartHeat {
            sine_at_hz: f_hz[0],
            ..PartHeat::default()
        }; 4];
        let mut volts_per_hertz = (0.0, f_hz[0]);
        for (i, &f_hz) in f_hz.iter().enumerate() {
            let z_ohm = load.z_ohm.at(i);
            let ahead = feed.ahead_ohm.at(i);
            let seen = pad.on(z_ohm, ahead).seen_ohm;
            let input_v = open_circuit_v * (feed.emf.at(i) * seen / (seen + ahead)).norm();
            let power = pad.power(z_ohm, input_v);
            let watts = [
                power.series_w,
                power.shunt_w,
                power.driver_w,
                power.total_w(),
            ];
            for (heat, watts) in heat.iter_mut().zip(watts) {
                heat.programme_w += weights[i] * watts;
                if watts > heat.sine_w {
                    (heat.sine_w, heat.sine_at_hz) = (watts, f_hz);
                }
            }
            if input_v / f_hz > volts_per_hertz.0 {
                volts_per_hertz = (input_v / f_hz, f_hz);
            }
        }
        let [series, shunt, driver, input] = heat;
        Self {
            series: pad.series_ohm().map(|_| series),
            shunt: pad.shunt_ohm().map(|_| shunt),
            driver,
            input,
            volts_per_hertz,
        }
    }

    /// Power with programme in the hottest resistor, in watt; 0 without resistors.
    #[must_use]
    pub fn hottest_w(&self) -> f64 {
        let of = |heat: Option<PartHeat>| heat.map_or(0.0, |heat| heat.programme_w);
        of(self.series).max(of(self.shunt))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synthesis::PadKind;

    #[test]
    fn ratings_are_twice_the_heat_and_on_sale() {
        for (heat, rating) in [
            (0.1, 0.5),
            (1.0, 2.0),
            (5.0, 10.0),
            (5.1, 15.0),
            (12.4, 25.0),
            (151.0, 400.0),
        ] {
            assert!((rating_to_buy_w(heat) - rating).abs() < 1e-12, "{heat}");
        }
    }

    #[test]
    fn rated_power_reaches_a_rated_load() {
        let load = PadLoad::resistor(8.0);
        let feed = Feed::amplifier(&load, 1.8);
        let pad = Pad::size(PadKind::LPad, 10.0, 8.0).unwrap();
        let heat = PadHeat::new(pad, &load, &feed, open_circuit_v(20.0, 8.0, 1.8));
        assert!((heat.input.programme_w - 20.0).abs() < 1e-5);
        assert!((heat.input.sine_w - 20.0).abs() < 1e-9);
        assert!((heat.driver.sine_w - 2.0).abs() < 1e-9);
    }
}
