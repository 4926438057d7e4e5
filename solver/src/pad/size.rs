//! Pads that the stock can make for a target on a real load, best first.

use super::candidate::{Candidate, Cost, TOLERANCE_DB, beyond, by_known_price, cost_step};
use super::drafts::{Draft, drafts, joined};
use super::drive_source::PadSource;
use super::load::PadLoad;
use super::samples::Samples;
use super::stock::Resistors;
use super::study::Study;
use super::target::PadTarget;
use crate::stock::Choice;
use crate::synthesis::Pad;

/// Points of each band at which candidates are compared.
const SAMPLES: usize = 40;
/// What one resistor more must gain, in dB of the filter's load.
const PART_DB: f64 = 0.25;
/// What a decibel of the filter's load below the least that is allowed costs, in dB.
const TOO_LOW: f64 = 3.0;

/// Where a pad goes, and what it is made of.
#[derive(Debug, Clone, Copy)]
pub struct PadSite<'a> {
    /// What is behind it.
    pub load: &'a PadLoad,
    /// What drives it.
    pub feed: &'a PadSource,
    /// What it can be made of.
    pub resistors: &'a Resistors,
}

/// A draft with how far it is off, in dB, and what speaks against it.
struct Rated {
    off_db: f64,
    cost: Cost,
    draft: Draft,
}

impl PadSite<'_> {
    /// Pads from stock with the asked attenuation, within [`TOLERANCE_DB`] where the stock allows it, best first
    /// and at most `most` of them. When it does not, the nearest attenuations come first.
    ///
    /// Ranked by [`Candidate::cost`]; those whose costs are the same to a tenth of a dB are ranked by price
    /// where prices are known. Of equals the one with less heat comes first.
    #[must_use]
    pub fn sized(&self, target: &PadTarget, most: usize) -> Vec<Candidate> {
        let off_db = |c: &Candidate| (target.counted.of(&c.study) - target.attenuation_db).abs();
        let mut candidates: Vec<Candidate> = (self.rated(target, most).into_iter())
            .map(|rated| self.candidate(rated))
            .collect();
        candidates.sort_by(|a, b| {
            (beyond(off_db(a)).cmp(&beyond(off_db(b))))
                .then_with(|| cost_step(a).cmp(&cost_step(b)))
                .then_with(|| by_known_price(a, b))
                .then_with(|| a.cost.total_db().total_cmp(&b.cost.total_db()))
                .then_with(|| {
                    a.study
                        .heat
                        .hottest_w()
                        .total_cmp(&b.study.heat.hottest_w())
                })
        });
        // Some points of the band can be a little off from all of them.
        keep_near(&mut candidates, off_db);
        let mut pads: Vec<Pad> = Vec::new();
        candidates.retain(|candidate| {
            let pad = candidate.study.pad;
            let is_new = !pads.iter().any(|other| alike(*other, pad));
            pads.push(pad);
            is_new
        });
        candidates.truncate(most);
        candidates
    }

    /// What the stock makes, the best first, as far as it can be told without heat.
    fn rated(&self, target: &PadTarget, most: usize) -> Vec<Rated> {
        let samples = Samples::new(self.load, self.feed, target, SAMPLES);
        let rated = |some: Vec<Choice>| {
            let drafts = drafts(&samples, self.resistors, &some).into_iter();
            drafts.map(|draft| rated(&samples, draft))
        };
        let mut all: Vec<Rated> = rated(self.resistors.singles().collect()).collect();
        if !keep_near(&mut all, |rated| rated.off_db) {
            all.extend(rated(joined(self.resistors)));
            keep_near(&mut all, |rated| rated.off_db);
        }
        // Outside the tolerance the nearest first; of those that are as near, the best.
        all.sort_by(|a, b| {
            let by_attenuation = beyond(a.off_db).cmp(&beyond(b.off_db));
            by_attenuation.then_with(|| a.cost.total_db().total_cmp(&b.cost.total_db()))
        });
        // One resistor can often be made in several ways: the way with the fewest parts is in front.
        let mut kept: Vec<Rated> = Vec::new();
        let mut pads = 0;
        for rated in all {
            let same = |other: &&Rated| alike(other.draft.pad, rated.draft.pad);
            let mut same = kept.iter().filter(same).peekable();
            let is_new = same.peek().is_none();
            // Which of several lines of a value is better, heat and price tell.
            if same.all(|other| other.draft.is_of_other_lines(&rated.draft)) {
                kept.push(rated);
                pads += usize::from(is_new);
            }
            // Heat can change the order a little; what is far behind cannot win.
            if pads >= most * 4 {
                break;
            }
        }
        kept
    }

    fn candidate(&self, Rated { draft, cost, .. }: Rated) -> Candidate {
        let mut candidate = Candidate {
            study: Study::new(draft.pad, self.load, self.feed),
            cost,
            series: draft.series,
            shunt: draft.shunt,
        };
        candidate.cost.power_db = 20.0 * (2.0 * candidate.worked()).max(1.0).log10();
        candidate
    }
}

/// Keeps those within the tolerance, where there are any.
fn keep_near<T>(all: &mut Vec<T>, off_db: impl Fn(&T) -> f64) -> bool {
    let near = |one: &T| off_db(one) <= TOLERANCE_DB;
    let any = all.iter().any(near);
    if any {
        all.retain(near);
    }
    any
}

fn rated(samples: &Samples<'_>, draft: Draft) -> Rated {
    let off_db = samples.too_much_db(draft.pad).abs();
    let (load_db, too_low_db) = samples.off_db(draft.pad);
    let resistors = draft.series.iter().chain(&draft.shunt);
    let count: u32 = resistors.map(Choice::count).sum();
    Rated {
        off_db,
        cost: Cost {
            attenuation_db: off_db.min(TOLERANCE_DB),
            load_db,
            too_low_db: TOO_LOW * too_low_db,
            resistors_db: PART_DB * f64::from(count),
            power_db: 0.0,
        },
        draft,
    }
}

fn alike(a: Pad, b: Pad) -> bool {
    let near = |of: fn(Pad) -> Option<f64>| match (of(a), of(b)) {
        (Some(a), Some(b)) => (a / b - 1.0).abs() < 1e-9,
        (None, None) => true,
        _ => false,
    };
    a.kind() == b.kind() && near(Pad::series_ohm) && near(Pad::shunt_ohm) && near(Pad::ratio)
}
