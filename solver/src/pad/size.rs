//! Sizing a pad on the real load: the ideal one, and those that the stock can make, best first.
//!
//! With two resistors there is a whole family of pads of one attenuation, from a large series resistor
//! and a large shunt to small ones of both. Which of them is right the filter decides: it was, or will
//! be, designed for a certain load.

use std::ops::Range;

use num_complex::Complex64;

use super::feed::Feed;
use super::load::PadLoad;
use super::power::PadHeat;
use super::stock::{Resistors, StockResistor};
use super::study::Study;
use crate::synthesis::{Pad, PadKind, PadOnLoad, SynthesisError};

/// A pad from stock may be this far from the attenuation that is wanted, in dB.
pub const TOLERANCE_DB: f64 = 0.25;

/// Points of each band at which candidates are compared.
const SAMPLES: usize = 40;
/// Range in which an ideal resistor is looked for, in ohm.
const RANGE_OHM: [f64; 2] = [1e-3, 1e5];
/// Halvings of that range in the logarithm: enough for all digits of a number of the machine.
const HALVINGS: usize = 60;
/// Halvings for a value that is then rounded to the stock: to a millionth.
const FEW_HALVINGS: usize = 24;
/// A shunt that is this many times the load is as good as none.
const NO_SHUNT: f64 = 200.0;
/// What one resistor more must gain, in dB of the filter's load.
const PART_DB: f64 = 0.25;
/// What a decibel of the filter's load below the least that is allowed costs, in dB.
const TOO_LOW: f64 = 3.0;

/// What a pad should be.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// How it is built.
    pub kind: PadKind,
    /// Mean attenuation over the driver's band, in dB.
    pub attenuation_db: f64,
    /// |Z| that the filter should see, one a frequency of the load's grid, in ohm.
    pub seen_ohm: Vec<f64>,
    /// Least |Z| that the filter may see, in ohm; 0 for no limit.
    pub least_ohm: f64,
    /// Turns ratios of the taps at hand, for an autoformer.
    pub taps: Vec<f64>,
}

impl Wish {
    /// The same for another attenuation.
    #[must_use]
    pub fn at(&self, attenuation_db: f64) -> Self {
        Self {
            attenuation_db,
            ..self.clone()
        }
    }
}

/// A pad that the stock can make.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The series resistor, where there is one.
    pub series: Option<StockResistor>,
    /// The shunt resistor, where there is one.
    pub shunt: Option<StockResistor>,
    /// What the pad does.
    pub study: Study,
    /// Heat in it.
    pub heat: PadHeat,
    /// Largest departure of the filter's load from the wished one, over the filter's band, in dB.
    pub load_off_db: f64,
    /// By which it was ranked, in dB: the departure of the load, [`TOLERANCE_DB`] at most for the
    /// attenuation, a quarter of a dB for each resistor, and what power beyond half the rating adds.
    pub cost_db: f64,
}

impl Candidate {
    /// Resistors to buy.
    #[must_use]
    pub fn count(&self) -> usize {
        let of = |r: &Option<StockResistor>| r.as_ref().map_or(0, StockResistor::count);
        of(&self.series) + of(&self.shunt)
    }

    /// Power with programme over the rating, for the resistor nearest to its limit; 0 where the stock states
    /// no ratings. Up to a half is common practice.
    #[must_use]
    pub fn worked(&self) -> f64 {
        let pairs = [
            (&self.series, self.heat.series),
            (&self.shunt, self.heat.shunt),
        ];
        let ratios = pairs.map(|(resistor, heat)| {
            let rating = resistor.as_ref().and_then(|r| r.rating_w);
            match (rating, heat) {
                (Some(rating), Some(heat)) => heat.programme_w / rating,
                _ => 0.0,
            }
        });
        ratios[0].max(ratios[1])
    }
}

/// The load at one frequency.
#[derive(Debug, Clone, Copy)]
struct Point {
    behind_ohm: Complex64,
    bridge_siemens: Complex64,
}

impl Point {
    fn on(self, pad: Pad) -> PadOnLoad {
        pad.on_bridged(self.behind_ohm, self.bridge_siemens, Complex64::ZERO)
    }
}

/// Some points of the two bands, so that thousands of pads can be tried.
struct Samples<'a> {
    wish: &'a Wish,
    halvings: usize,
    band: Vec<Point>,
    /// With the |Z| that is wished there.
    filter: Vec<(Point, f64)>,
}

impl<'a> Samples<'a> {
    fn new(load: &PadLoad, wish: &'a Wish, most: usize, halvings: usize) -> Self {
        let some = |places: Range<usize>| {
            let stride = places.len().div_ceil(most);
            // The ends always: a load is farthest off there more often than not.
            let last = places.end - 1;
            let missed = !(last - places.start).is_multiple_of(stride);
            places.step_by(stride).chain(missed.then_some(last))
        };
        let point = |i: usize| Point {
            behind_ohm: load.behind_ohm(i),
            bridge_siemens: load.bridge_at(i),
        };
        Self {
            wish,
            halvings,
            band: some(load.band()).map(point).collect(),
            filter: (some(load.filter_band()))
                .map(|i| (point(i), wish.seen_ohm[i]))
                .collect(),
        }
    }

    fn attenuation_db(&self, pad: Pad) -> f64 {
        let sum: f64 = (self.band.iter()).map(|z| z.on(pad).attenuation_db()).sum();
        sum / self.band.len() as f64
    }

    /// Mean departure of the filter's load from the wished one, in dB with its sign.
    fn load_db(&self, pad: Pad) -> f64 {
        let sum: f64 = (self.filter.iter())
            .map(|(z, wished)| decibels(z.on(pad).seen_ohm.norm() / wished))
            .sum();
        sum / self.filter.len() as f64
    }

    /// Largest departure of the filter's load from the wished one, and by how much it is too low; in dB.
    fn off_db(&self, pad: Pad) -> (f64, f64) {
        let mut off: f64 = 0.0;
        let mut least = f64::INFINITY;
        for (z, wished) in &self.filter {
            let seen = z.on(pad).seen_ohm.norm();
            off = off.max(decibels(seen / wished).abs());
            least = least.min(seen);
        }
        (off, decibels(self.wish.least_ohm / least).max(0.0))
    }

    /// The value at which `pad_of` has the wished attenuation; `rises` says whether that grows with it.
    fn value(&self, rises: bool, pad_of: impl Fn(f64) -> Pad) -> Option<f64> {
        self.crossing(|ohm| {
            let off = self.attenuation_db(pad_of(ohm)) - self.wish.attenuation_db;
            if rises { off } else { -off }
        })
    }

    /// Where a rising function passes through 0, by halving in the logarithm; `None` when it does not.
    fn crossing(&self, rising: impl Fn(f64) -> f64) -> Option<f64> {
        let [mut low, mut high] = RANGE_OHM;
        if rising(low) > 0.0 || rising(high) < 0.0 {
            return None;
        }
        for _ in 0..self.halvings {
            let middle = (low * high).sqrt();
            if rising(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some((low * high).sqrt())
    }

    /// The L-pad of the wished attenuation with a given shunt.
    fn series_for(&self, shunt_ohm: f64) -> Option<f64> {
        self.value(true, |series_ohm| Pad::LPad {
            series_ohm,
            shunt_ohm,
        })
    }
}

fn decibels(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

/// The ideal pad on this load: it has the wished attenuation in the mean over the driver's band, and where
/// there are two values the load of the filter is in the mean the wished one. On a resistor that is the
/// textbook's pad.
///
/// Where no shunt is needed, because the driver with the series resistor is not above the wished load,
/// the ideal is the series resistor alone.
///
/// # Errors
/// If the attenuation is not above 0 and at most 80 dB.
pub fn ideal(load: &PadLoad, wish: &Wish) -> Result<Pad, SynthesisError> {
    // Closed forms check the attenuation, and stand where nothing is found.
    let textbook = Pad::size(wish.kind, wish.attenuation_db, load.reference_ohm)?;
    let samples = Samples::new(load, wish, usize::MAX, HALVINGS);
    let series = samples.value(true, |series_ohm| Pad::Series { series_ohm });
    let found = match wish.kind {
        PadKind::Series => series.map(|series_ohm| Pad::Series { series_ohm }),
        PadKind::LPad => {
            let pad = |shunt_ohm: f64| {
                let series_ohm = samples.series_for(shunt_ohm)?;
                Some(Pad::LPad {
                    series_ohm,
                    shunt_ohm,
                })
            };
            // A shunt so small that it attenuates too much alone shows the filter too little.
            let shunt_ohm = samples.crossing(|shunt_ohm| {
                pad(shunt_ohm).map_or(f64::NEG_INFINITY, |pad| samples.load_db(pad))
            });
            let shunt_ohm = shunt_ohm.filter(|ohm| *ohm < NO_SHUNT * load.reference_ohm);
            (shunt_ohm.and_then(pad)).or(series.map(|series_ohm| Pad::Series { series_ohm }))
        }
        PadKind::ShuntSeries => series.map(|series_ohm| {
            let shunt_ohm = samples.crossing(|shunt_ohm| {
                samples.load_db(Pad::ShuntSeries {
                    shunt_ohm,
                    series_ohm,
                })
            });
            match shunt_ohm.filter(|ohm| *ohm < NO_SHUNT * load.reference_ohm) {
                Some(shunt_ohm) => Pad::ShuntSeries {
                    shunt_ohm,
                    series_ohm,
                },
                None => Pad::Series { series_ohm },
            }
        }),
        PadKind::Autoformer => {
            let ratio = 10f64.powf(-wish.attenuation_db / 20.0);
            let shunt_ohm = samples.crossing(|ohm| {
                samples.load_db(Pad::Autoformer {
                    ratio,
                    shunt_ohm: Some(ohm),
                })
            });
            let shunt_ohm = shunt_ohm.filter(|ohm| *ohm < NO_SHUNT * load.reference_ohm);
            Some(Pad::Autoformer { ratio, shunt_ohm })
        }
    };
    Ok(found.unwrap_or(textbook))
}

/// A pad with its resistors, not yet looked at.
#[derive(Debug, Clone)]
struct Draft {
    pad: Pad,
    series: Option<StockResistor>,
    shunt: Option<StockResistor>,
}

/// Pads from stock with the wished attenuation, within [`TOLERANCE_DB`] where the stock allows it, best first
/// and at most `most` of them. When it does not, the nearest attenuations come first.
///
/// Ranked by [`Candidate::cost_db`]; of equals the one with less heat comes first.
#[must_use]
pub fn sized(
    load: &PadLoad,
    feed: &Feed,
    wish: &Wish,
    resistors: &Resistors,
    open_circuit_v: f64,
    most: usize,
) -> Vec<Candidate> {
    let samples = Samples::new(load, wish, SAMPLES, FEW_HALVINGS);
    let mut drafts: Vec<(f64, f64, Draft)> = drafts(&samples, wish, resistors)
        .into_iter()
        .map(|draft| {
            let off = (samples.attenuation_db(draft.pad) - wish.attenuation_db).abs();
            let (load_off, too_low) = samples.off_db(draft.pad);
            let count = [&draft.series, &draft.shunt]
                .map(|r| r.as_ref().map_or(0, StockResistor::count))
                .iter()
                .sum::<usize>();
            let cost =
                off.min(TOLERANCE_DB) + load_off + TOO_LOW * too_low + PART_DB * count as f64;
            (off, cost, draft)
        })
        .collect();
    if drafts.iter().any(|(off, ..)| *off <= TOLERANCE_DB) {
        drafts.retain(|(off, ..)| *off <= TOLERANCE_DB);
        drafts.sort_by(|a, b| a.1.total_cmp(&b.1));
    } else {
        // The nearest attenuations first; of those that are as near, the best.
        let nearest = drafts
            .iter()
            .map(|(off, ..)| *off)
            .fold(f64::INFINITY, f64::min);
        let behind = |off: f64| ((off - nearest) / TOLERANCE_DB).floor();
        drafts.sort_by(|a, b| {
            let by_attenuation = behind(a.0).total_cmp(&behind(b.0));
            by_attenuation.then_with(|| a.1.total_cmp(&b.1))
        });
    }
    // One resistor can often be made in several ways: the way with the fewest parts is in front.
    let mut kept: Vec<(f64, Draft)> = Vec::new();
    for (_, cost, draft) in drafts {
        let same = |(_, other): &(f64, Draft)| alike(other.pad, draft.pad);
        if !kept.iter().any(same) {
            kept.push((cost, draft));
        }
        // Heat can change the order a little; what is far behind cannot win.
        if kept.len() >= most * 4 {
            break;
        }
    }
    let mut candidates: Vec<Candidate> = kept
        .into_iter()
        .map(|(cost, draft)| {
            let mut candidate = Candidate {
                study: Study::new(draft.pad, load, feed),
                heat: PadHeat::new(draft.pad, load, feed, open_circuit_v),
                load_off_db: samples.off_db(draft.pad).0,
                cost_db: cost,
                series: draft.series,
                shunt: draft.shunt,
            };
            candidate.cost_db += decibels((2.0 * candidate.worked()).max(1.0));
            candidate
        })
        .collect();
    let off = |c: &Candidate| (c.study.mean_db - wish.attenuation_db).abs();
    let far = |c: &Candidate| match off(c) {
        off if off <= TOLERANCE_DB => 0.0,
        off => (off / TOLERANCE_DB).floor(),
    };
    candidates.sort_by(|a, b| {
        let by_cost = || a.cost_db.total_cmp(&b.cost_db);
        let by_heat = || a.heat.hottest_w().total_cmp(&b.heat.hottest_w());
        (far(a).total_cmp(&far(b)))
            .then_with(by_cost)
            .then_with(by_heat)
    });
    // Some points of the band can be a little off from all of them.
    if candidates.iter().any(|c| off(c) <= TOLERANCE_DB) {
        candidates.retain(|c| off(c) <= TOLERANCE_DB);
    }
    candidates.truncate(most);
    candidates
}

fn alike(a: Pad, b: Pad) -> bool {
    let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a / b - 1.0).abs() < 1e-9,
        (None, None) => true,
        _ => false,
    };
    a.kind() == b.kind()
        && near(a.series_ohm(), b.series_ohm())
        && near(a.shunt_ohm(), b.shunt_ohm())
        && near(a.ratio(), b.ratio())
}

fn drafts(samples: &Samples<'_>, wish: &Wish, resistors: &Resistors) -> Vec<Draft> {
    let mut drafts = Vec::new();
    match wish.kind {
        PadKind::LPad => {
            let mut add = |series: &StockResistor, shunt: &StockResistor| {
                drafts.push(Draft {
                    pad: Pad::LPad {
                        series_ohm: series.ohm,
                        shunt_ohm: shunt.ohm,
                    },
                    series: Some(series.clone()),
                    shunt: Some(shunt.clone()),
                });
            };
            for shunt in resistors.singles() {
                let wanted = samples.series_for(shunt.ohm);
                for series in wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm)) {
                    add(&series, &shunt);
                }
            }
            for series in resistors.singles() {
                let wanted = samples.value(false, |shunt_ohm| Pad::LPad {
                    series_ohm: series.ohm,
                    shunt_ohm,
                });
                for shunt in wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm)) {
                    add(&series, &shunt);
                }
            }
        }
        PadKind::Series | PadKind::ShuntSeries => {
            let wanted = samples.value(true, |series_ohm| Pad::Series { series_ohm });
            for series in resistors.near(wanted.unwrap_or(RANGE_OHM[1])) {
                let series_ohm = series.ohm;
                if wish.kind == PadKind::Series {
                    drafts.push(Draft {
                        pad: Pad::Series { series_ohm },
                        series: Some(series),
                        shunt: None,
                    });
                    continue;
                }
                let pad = |shunt_ohm: f64| Pad::ShuntSeries {
                    shunt_ohm,
                    series_ohm,
                };
                let wanted = samples.crossing(|ohm| samples.load_db(pad(ohm)));
                let near = wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm));
                for shunt in resistors.singles().chain(near) {
                    drafts.push(Draft {
                        pad: pad(shunt.ohm),
                        series: Some(series.clone()),
                        shunt: Some(shunt),
                    });
                }
            }
        }
        PadKind::Autoformer => {
            for &ratio in &wish.taps {
                let pad = |shunt_ohm| Pad::Autoformer { ratio, shunt_ohm };
                let wanted = samples.crossing(|ohm| samples.load_db(pad(Some(ohm))));
                let near = wanted.map_or_else(Vec::new, |ohm| resistors.near(ohm));
                drafts.push(Draft {
                    pad: pad(None),
                    series: None,
                    shunt: None,
                });
                drafts.extend(near.into_iter().map(|shunt| Draft {
                    pad: pad(Some(shunt.ohm)),
                    series: None,
                    shunt: Some(shunt),
                }));
            }
        }
    }
    drafts
}
