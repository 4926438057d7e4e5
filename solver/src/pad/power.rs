//! Heat: what an amplifier's rated power puts into the resistors of a pad and into the driver.

use netlist::quantity::Watts;
use num_complex::Complex64;
use serde::Serialize;

use super::drive_source::PadSource;
use super::extent::Extent;
use super::load::PadLoad;
use crate::judge::resistor_w;
use crate::programme::power_weights;
use crate::synthesis::Pad;

/// Power in one part; a document has of it what a sine does.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct PartHeat {
    /// With programme noise (IEC 60268-1) of the amplifier's rated power, in watt.
    #[serde(skip)]
    pub programme_w: f64,
    /// With a steady sine of that power at the worst frequency, in watt.
    #[serde(rename = "power_w")]
    pub sine_w: f64,
    /// That frequency, in hertz.
    #[serde(rename = "at_hz")]
    pub sine_at_hz: f64,
}

impl Pad {
    /// Power in the series and in the shunt resistor with `input_v` (rms) at the pad's input, of which its output gets
    /// `transfer`, in watt; 0 where there is none.
    #[must_use]
    pub fn resistors_w(self, transfer: Complex64, input_v: f64) -> [f64; 2] {
        let across_series_v = input_v * (Complex64::ONE - transfer).norm();
        let across_shunt_v = match self {
            Self::LPad { .. } => input_v * transfer.norm(),
            _ => input_v,
        };
        let dissipated = |volts: f64, ohm: Option<f64>| ohm.map_or(0.0, |ohm| volts * volts / ohm);
        [
            dissipated(across_series_v, self.series_ohm()),
            dissipated(across_shunt_v, self.shunt_ohm()),
        ]
    }
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
    /// Into the pad, with all that is behind and beside it.
    pub input: PartHeat,
    /// Most volts rms at the pad's input for each hertz with a steady sine, and the frequency: what
    /// drives the core of an autoformer.
    pub volts_per_hertz: (f64, f64),
}

impl PartHeat {
    /// Of one of several resistors that carries such a share of the power.
    #[must_use]
    pub fn of_share(&self, share: f64) -> Self {
        Self {
            programme_w: share * self.programme_w,
            sine_w: share * self.sine_w,
            ..*self
        }
    }

    /// Rated power to buy for a resistor with that heat, in watt: see [`resistor_w`].
    #[must_use]
    pub fn to_buy_w(&self) -> f64 {
        resistor_w(self.programme_w, self.sine_w)
    }
}

/// Ratings to buy for a resistor, or for each of several that act as one and carry such shares of its power:
/// `10 W`, `2 × 5 W` or `10 W + 5 W`.
#[must_use]
pub fn to_buy(heat: &PartHeat, shares: &[f64]) -> String {
    let each: Vec<String> = (shares.iter())
        .map(|share| Watts(heat.of_share(*share).to_buy_w()).to_string())
        .collect();
    match each.as_slice() {
        [] => Watts(heat.to_buy_w()).to_string(),
        [one] => one.clone(),
        [one, others @ ..] if others.iter().all(|other| other == one) => {
            format!("{} × {one}", each.len())
        }
        several => several.join(" + "),
    }
}

impl PadHeat {
    /// For programme of the open-circuit voltage of the source, and for a sine of it.
    pub(super) fn new(pad: Pad, load: &PadLoad, feed: &PadSource) -> Self {
        let f_hz = load.grid.f_hz();
        let places = 0..f_hz.len();
        let at = |i: usize| {
            let (z_ohm, ahead) = (load.z_ohm.at(i), feed.source_ohm.at(i));
            let on = load.on(pad, i, ahead);
            let seen = on.seen_ohm;
            let input_v = feed.open_circuit_v * (feed.emf.at(i) * seen / (seen + ahead)).norm();
            let [series_w, shunt_w] = pad.resistors_w(on.transfer, input_v);
            let driver_v = input_v * (on.transfer * load.onward(i)).norm();
            // The lead behind the pad takes its share.
            let lead_share = load.lead_ohm / z_ohm.re;
            let driver_w = driver_v * driver_v * z_ohm.finv().re * (1.0 - lead_share);
            let input_w = input_v * input_v * seen.inv().re;
            (input_v / f_hz[i], [series_w, shunt_w, driver_w, input_w])
        };
        let found: Vec<(f64, [f64; 4])> = places.clone().map(at).collect();
        let weights = power_weights(&load.grid);
        let [series, shunt, driver, input] = [0, 1, 2, 3].map(|part| {
            let watts = |i: usize| found[i].1[part];
            let sine = Extent::of(f_hz, places.clone(), watts);
            PartHeat {
                programme_w: places.clone().map(|i| weights[i] * watts(i)).sum(),
                sine_w: sine.most,
                sine_at_hz: sine.most_at_hz,
            }
        });
        let volts = Extent::of(f_hz, places, |i| found[i].0);
        Self {
            series: pad.series_ohm().map(|_| series),
            shunt: pad.shunt_ohm().map(|_| shunt),
            driver,
            input,
            volts_per_hertz: (volts.most, volts.most_at_hz),
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
    use netlist::network::{Joined, MadeOf};

    use super::*;
    use crate::amplifier::open_circuit_v;
    use crate::nodal::SourceImpedance;
    use crate::synthesis::PadKind;

    #[test]
    fn rated_power_reaches_a_rated_load() {
        let load = PadLoad::resistor(8.0);
        let feed = PadSource::amplifier(&load, &1.8.into());
        let pad = Pad::size(PadKind::LPad, 10.0, 8.0).unwrap();
        let feed = feed.at_volts(open_circuit_v(20.0, 8.0, 1.8.into()));
        let heat = PadHeat::new(pad, &load, &feed);
        assert!((heat.input.programme_w - 20.0).abs() < 1e-5);
        assert!((heat.input.sine_w - 20.0).abs() < 1e-9);
        assert!((heat.driver.sine_w - 2.0).abs() < 1e-9);
    }

    /// 2 Ω of wire in front of 8 Ω carry the same current and burn a fifth of what goes into both: 10 V on
    /// 10 Ω and 10 Ω of a pad are 0.5 A, so 2.5 W in the pad, 0.5 W in the wire and 2 W in the driver.
    #[test]
    fn heat_in_the_lead_is_not_the_driver_s() {
        let mut load = PadLoad::resistor(10.0);
        load.lead_ohm = 2.0;
        let feed = PadSource::amplifier(&load, &SourceImpedance::NONE).at_volts(10.0);
        let heat = PadHeat::new(Pad::Series { series_ohm: 10.0 }, &load, &feed);
        assert!((heat.driver.sine_w - 2.0).abs() < 1e-9, "{heat:?}");
        assert!((heat.driver.programme_w - 2.0).abs() < 1e-5, "{heat:?}");
        assert!((heat.series.unwrap().sine_w - 2.5).abs() < 1e-9);
        assert!((heat.input.sine_w - 5.0).abs() < 1e-9);
    }

    #[test]
    fn of_several_each_is_bought_for_its_share() {
        let heat = PartHeat {
            programme_w: 4.8,
            sine_w: 18.6,
            sine_at_hz: 1000.0,
        };
        assert_eq!(to_buy(&heat, &[1.0]), "10 W");
        let of = |joined, values: [f64; 2]| {
            let values = values.to_vec();
            to_buy(&heat, &MadeOf { joined, values }.shares(false))
        };
        assert_eq!(of(Joined::Parallel, [15.0, 15.0]), "2 × 5 W");
        // Nine tenths of the power: in series in the larger one, in parallel in the smaller one.
        assert_eq!(of(Joined::Series, [1.0, 9.0]), "5 W + 10 W");
        assert_eq!(of(Joined::Parallel, [1.0, 9.0]), "10 W + 5 W");
    }
}
