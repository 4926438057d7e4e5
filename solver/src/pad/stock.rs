//! Resistors that can be bought, near a value: single ones, and several together.

use std::ops::Range;

use netlist::network::Joined;
use netlist::project::{Stock, StockKind};

use crate::stock::{Choice, SingleValue, about, joined_sets, singles};

/// Values outside these ends serve in no pad; they bound a stock that states no range.
const USEFUL_OHM: [f64; 2] = [0.1, 1000.0];
/// Single values offered on either side of a wanted one.
const NEIGHBOURS: usize = 2;
/// Joined values offered for each number of resistors, and how far from the wanted one they are looked for, as a share, until
/// there are as many.
const JOINED: usize = 2;
const JOINED_WITHIN: [f64; 3] = [0.003, 0.03, 1.0];
/// Values that differ by less are one, as a share.
const ROUNDING: f64 = 1e-6;
/// Most resistors that are joined, whatever the stock allows: more are no pad to adjust by ear.
const MOST_TOGETHER: u8 = 3;

/// All resistors of a stock.
#[derive(Debug, Clone)]
pub struct Resistors {
    singles: Vec<SingleValue>,
    together: u8,
}

impl Resistors {
    /// Of a stock: its catalogue where that lists resistors, its series otherwise.
    #[must_use]
    pub fn new(stock: &Stock) -> Self {
        let range = stock.range(StockKind::Resistor);
        // A range that nobody stated does not end where pads do.
        let serves = |single: &SingleValue| {
            single.line.is_some() || (USEFUL_OHM[0]..=USEFUL_OHM[1]).contains(&single.value_si)
        };
        let mut singles = singles(stock, StockKind::Resistor, 0.0);
        singles.retain(serves);
        // Of one value the strongest comes first, of equals the cheapest.
        singles.sort_by(|a, b| {
            let by_rating = || b.rating.unwrap_or(0.0).total_cmp(&a.rating.unwrap_or(0.0));
            let by_price = || {
                let price = |s: &SingleValue| s.price.unwrap_or(f64::INFINITY);
                price(a).total_cmp(&price(b))
            };
            (a.value_si.total_cmp(&b.value_si))
                .then_with(by_rating)
                .then_with(by_price)
        });
        // Lines that are alike are one.
        singles.dedup_by(|later, kept| {
            let alike = (later.rating, later.price) == (kept.rating, kept.price);
            let alike = alike && one_value(kept, later);
            if alike {
                kept.count = kept.count.zip(later.count).map(|(a, b)| a + b);
            }
            alike
        });
        Self {
            singles,
            together: range.together.clamp(1, MOST_TOGETHER),
        }
    }

    /// Whether there are enough for both at once.
    #[must_use]
    pub fn enough(&self, both: [Option<&Choice>; 2]) -> bool {
        let items = || both.into_iter().flatten().flat_map(|one| &one.items);
        items().all(|(line, _)| {
            let same = items().filter(|(other, _)| other == line);
            let many: u32 = same.map(|(_, count)| count).sum();
            let mut singles = self.singles.iter();
            let single = singles.find(|single| single.line == Some(*line));
            single.is_none_or(|single| single.lasts_for(many as usize))
        })
    }

    /// Whether the stock has no resistor at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.singles.is_empty()
    }

    /// All single resistors, rising.
    pub fn singles(&self) -> impl ExactSizeIterator<Item = Choice> + '_ {
        self.singles.iter().map(Choice::single)
    }

    /// Resistors near a wanted value: the single ones next to it on both sides, and the nearest that
    /// several make in series or in parallel, where the stock allows that.
    #[must_use]
    pub fn near(&self, wanted_ohm: f64) -> Vec<Choice> {
        // What differs by rounding is the value itself, with as many on either side.
        let [low, high] = about(wanted_ohm, ROUNDING);
        let below = self.singles.partition_point(|s| s.value_si < low);
        let above = self.singles.partition_point(|s| s.value_si <= high);
        let window = self.with_neighbours(below..above);
        let mut found: Vec<Choice> = self.singles[window].iter().map(Choice::single).collect();
        for count in 2..=usize::from(self.together) {
            let mut joined = Vec::new();
            for within in JOINED_WITHIN {
                joined = self.joined(wanted_ohm, count, within);
                if values_among(&joined) >= JOINED {
                    break;
                }
            }
            found.extend(joined);
            found.extend(self.alike(wanted_ohm, count));
        }
        found
    }

    /// A range of the single ones with those of the next values on either side.
    fn with_neighbours(&self, among: Range<usize>) -> Range<usize> {
        let below = self.singles[..among.start].chunk_by(one_value).rev();
        let above = self.singles[among.end..].chunk_by(one_value);
        let before: usize = below.take(NEIGHBOURS).map(<[_]>::len).sum();
        let after: usize = above.take(NEIGHBOURS).map(<[_]>::len).sum();
        among.start - before..among.end + after
    }

    /// So many alike, which share the power evenly: the nearest in series and in parallel.
    fn alike(&self, wanted_ohm: f64, count: usize) -> Vec<Choice> {
        let parts = count as f64;
        let each = [
            (Joined::Series, wanted_ohm / parts),
            (Joined::Parallel, wanted_ohm * parts),
        ];
        let nearest = |ohm: f64| {
            let off = |s: &&SingleValue| (s.value_si / ohm).ln().abs();
            let enough = self.singles.iter().filter(|s| s.lasts_for(count));
            enough.min_by(|a, b| off(a).total_cmp(&off(b)))
        };
        (each.iter())
            .filter_map(|(how, ohm)| Some(several(&vec![nearest(*ohm)?; count], *how)))
            .collect()
    }

    /// The nearest that so many resistors of the stock make within a share of a wanted value.
    fn joined(&self, wanted_ohm: f64, count: usize, within: f64) -> Vec<Choice> {
        let mut found = Vec::new();
        let kind = StockKind::Resistor;
        let reach = (wanted_ohm, within);
        joined_sets(kind, &self.singles, reach, count, &mut |how, set| {
            let mut set = set.to_vec();
            set.sort_by(|a, b| a.value_si.total_cmp(&b.value_si));
            let many = |one: &SingleValue| set.iter().filter(|other| **other == one).count();
            if set.len() == count && set.iter().all(|one| one.lasts_for(many(one))) {
                found.push(several(&set, how));
            }
        });
        let off = |resistor: &Choice| (resistor.value_si / wanted_ohm).ln().abs();
        found.sort_by(|a, b| off(a).total_cmp(&off(b)));
        // Of the same values others may be from other lines.
        let mut kept: Vec<Choice> = Vec::new();
        for one in found {
            let known = kept.iter().any(|other| other.made_of == one.made_of);
            if known || values_among(&kept) < JOINED {
                kept.push(one);
            }
        }
        kept
    }
}

/// Whether two are of one value.
fn one_value(a: &SingleValue, b: &SingleValue) -> bool {
    b.value_si <= a.value_si * (1.0 + 1e-12)
}

/// How many there are that are not of the same values as one before.
fn values_among(joined: &[Choice]) -> usize {
    let new = |i: &usize| {
        let mut before = joined[..*i].iter();
        before.all(|other| other.made_of != joined[*i].made_of)
    };
    (0..joined.len()).filter(new).count()
}

fn several(singles: &[&SingleValue], how: Joined) -> Choice {
    Choice::joined(StockKind::Resistor, how, singles, std::convert::identity)
}

#[cfg(test)]
mod tests {
    use netlist::project::{CatalogueItem, SeriesRange};
    use netlist::quantity::Watts;
    use netlist::series::Series;

    use super::*;

    fn stock(together: u8) -> Resistors {
        let range = SeriesRange {
            series: Series::E12,
            from_si: 1.0,
            to_si: 47.0,
            power: Some(Watts(10.0)),
            together,
            ..StockKind::Resistor.default_range()
        };
        Resistors::new(&Stock {
            resistors: Some(range),
            ..Stock::default()
        })
    }

    fn single(value_si: f64, count: Option<u32>) -> SingleValue {
        SingleValue {
            value_si,
            loss_ohm: 0.0,
            line: None,
            price: None,
            tolerance: None,
            rating: None,
            count,
        }
    }

    /// A drawer whose resistors are all gone has none: no series takes their place.
    #[test]
    fn an_empty_drawer_is_empty() {
        let gone = CatalogueItem {
            count: Some(0),
            ..CatalogueItem::of(StockKind::Resistor, 10.0, None)
        };
        let drawer = Stock {
            catalogue: vec![gone],
            ..Stock::default()
        };
        assert!(Resistors::new(&drawer).is_empty());
    }

    #[test]
    fn one_by_one() {
        let near: Vec<f64> = stock(1).near(5.0).iter().map(|r| r.value_si).collect();
        assert_eq!(near, [3.9, 4.7, 5.6, 6.8]);
        // Rounding does not decide which side is offered.
        for wanted in [4.7 * (1.0 - 1e-12), 4.7, 4.7 * (1.0 + 1e-12)] {
            let near: Vec<f64> = stock(1).near(wanted).iter().map(|r| r.value_si).collect();
            assert_eq!(near, [3.3, 3.9, 4.7, 5.6, 6.8]);
        }
        assert_eq!(stock(1).near(0.2).len(), 2);
        assert_eq!(stock(1).singles().len(), 21);
    }

    #[test]
    fn several_come_nearer_and_share_the_power() {
        for together in [2, 3] {
            let near = stock(together).near(5.05);
            let best = (near.iter())
                .min_by(|a, b| {
                    (a.value_si - 5.05)
                        .abs()
                        .total_cmp(&(b.value_si - 5.05).abs())
                })
                .unwrap();
            assert!((best.value_si - 5.05).abs() < 0.051, "{best:?}");
            assert!(best.count() > 1 && best.rating.unwrap() > 10.0);
            for resistor in &near {
                let Some(made) = &resistor.made_of else {
                    continue;
                };
                let whole = match made.joined {
                    Joined::Series => made.values.iter().sum::<f64>(),
                    Joined::Parallel => 1.0 / made.values.iter().map(|v| 1.0 / v).sum::<f64>(),
                };
                assert!((whole - resistor.value_si).abs() < 1e-12);
            }
        }
        // Two alike share alike.
        let two = several(
            &[&SingleValue {
                rating: Some(10.0),
                ..single(10.0, None)
            }; 2],
            Joined::Parallel,
        );
        assert!((two.value_si - 5.0).abs() < 1e-12 && (two.rating.unwrap() - 20.0).abs() < 1e-12);
    }

    /// Against all pairs that the stock makes, both of the nearest two are offered.
    #[test]
    fn of_all_pairs_the_nearest_two_are_offered() {
        let stock = stock(2);
        let ohms: Vec<f64> = stock.singles().map(|single| single.value_si).collect();
        for wanted in (0..60).map(|i| 0.7 * 1.083f64.powi(i)) {
            let off = |ohm: f64| (ohm / wanted).ln().abs();
            let pairs = (0..ohms.len()).flat_map(|i| (0..=i).map(move |j| (i, j)));
            let both = |(i, j): (usize, usize)| {
                let (a, b) = (ohms[i], ohms[j]);
                [off(a + b), off(1.0 / (1.0 / a + 1.0 / b))]
            };
            let mut offs: Vec<f64> = pairs.flat_map(both).collect();
            offs.sort_by(f64::total_cmp);
            let found = stock.near(wanted);
            let joined: Vec<f64> = (found.iter())
                .filter(|resistor| resistor.count() == 2)
                .map(|resistor| off(resistor.value_si))
                .collect();
            assert!((joined[0] - offs[0]).abs() < 1e-12, "{wanted}: {found:?}");
            assert!((joined[1] - offs[1]).abs() < 1e-12, "{wanted}: {found:?}");
        }
    }

    /// What the drawer holds once is used once.
    #[test]
    fn no_more_than_there_are() {
        let single = |ohm: f64, count: u32| SingleValue {
            line: Some(ohm as usize),
            ..single(ohm, Some(count))
        };
        let drawer = Resistors {
            singles: vec![single(6.8, 1), single(10.0, 2), single(15.0, 1)],
            together: 3,
        };
        for wanted in [3.4, 5.0, 7.5, 13.6, 20.0, 30.0, 35.0] {
            for found in drawer.near(wanted) {
                let many = |ohm: f64| {
                    let same = |value: &&f64| value.total_cmp(&ohm).is_eq();
                    found.values().iter().filter(same).count()
                };
                assert!(
                    many(6.8) <= 1 && many(10.0) <= 2 && many(15.0) <= 1,
                    "{found:?}"
                );
            }
        }
        let two_tens = several(&[&single(10.0, 2); 2], Joined::Series);
        let ten = Choice::single(&single(10.0, 2));
        assert!(
            drawer
                .near(20.0)
                .iter()
                .any(|found| found.values() == [10.0, 10.0])
        );
        assert!(drawer.enough([Some(&ten), Some(&ten)]));
        assert!(!drawer.enough([Some(&two_tens), Some(&ten)]));
        assert!(drawer.enough([Some(&two_tens), None]));
    }

    /// Lines of one value are one where they are alike, and each stands for itself where they are not.
    #[test]
    fn all_lines_of_a_value_are_there() {
        let line = |rating: f64, count: u32| CatalogueItem {
            count: Some(count),
            rating: Some(rating),
            ..CatalogueItem::of(StockKind::Resistor, 8.2, None)
        };
        let drawer = Resistors::new(&Stock {
            catalogue: vec![line(20.0, 1), line(10.0, 1), line(10.0, 2)],
            ..Stock::default()
        });
        let found = drawer.near(8.2);
        let ratings: Vec<Option<f64>> = found.iter().map(|one| one.rating).collect();
        assert_eq!(ratings, [Some(20.0), Some(10.0)]);
        let both = |a: usize, b: usize| drawer.enough([Some(&found[a]), Some(&found[b])]);
        assert!(!both(0, 0) && both(0, 1) && both(1, 1));
    }

    #[test]
    fn a_stock_that_says_nothing_is_e24_in_the_useful_range() {
        let resistors = Resistors::new(&Stock::default());
        assert_eq!(resistors.singles().len(), 4 * 24 + 1);
        assert!(resistors.singles().all(|r| r.rating.is_none()));
    }
}
