//! Leaving out what does too little: sections of a searched network are taken away one at a time as
//! long as the network is the better for it.

use super::alternatives::rank;
use super::design::Effort;
use super::job::Job;
use super::joint::{Candidate, fit_jointly};
use super::protection::protects_all;
use super::way_fit::{WayFit, fit_shape};
use crate::goal::Targets;
use crate::synthesis::{CorrectionForm, EqualiserForm, WayShape};

/// Starts of each simpler shape: it begins near what is known.
const STARTS: usize = 4;
/// Steps of each joint search.
const STEPS: usize = 40;

/// The shape with one section less, in every way there is.
fn simpler(shape: WayShape) -> Vec<WayShape> {
    let mut list = Vec::new();
    if shape.high_pass > 1 {
        list.push(WayShape {
            high_pass: shape.high_pass - 1,
            ..shape
        });
    }
    // A lowest way without a low pass is not filtered at all.
    if shape.low_pass > u8::from(shape.high_pass == 0) {
        list.push(WayShape {
            low_pass: shape.low_pass - 1,
            damped: shape.damped && shape.low_pass > 2,
            ..shape
        });
    }
    if shape.damped {
        list.push(WayShape {
            damped: false,
            ..shape
        });
    }
    if shape.notch {
        list.push(WayShape {
            notch: false,
            ..shape
        });
    }
    if shape.correction != CorrectionForm::None {
        list.push(WayShape {
            correction: CorrectionForm::None,
            ..shape
        });
    }
    match shape.equaliser {
        EqualiserForm::None => {}
        EqualiserForm::Capacitor => list.push(WayShape {
            equaliser: EqualiserForm::None,
            ..shape
        }),
        EqualiserForm::Resonant => list.push(WayShape {
            equaliser: EqualiserForm::Capacitor,
            ..shape
        }),
    }
    list
}

/// The ways of a candidate as they were fitted, in order.
fn fits_of(candidate: &Candidate) -> Vec<WayFit> {
    let mut first = 0;
    (candidate.shapes.iter())
        .map(|&shape| {
            let count = shape.part_count();
            let values = candidate.fitted[first..first + count].to_vec();
            // The driver follows its parts.
            first += count + 1;
            WayFit {
                shape,
                values,
                cost: f64::NAN,
                level_db: candidate.level_db,
                protects: true,
            }
        })
        .collect()
}

/// A better network with fewer sections, or `None` where every section earns its place. Better is
/// what [`rank`] says: error and parts in one number.
pub(super) fn simplify(
    job: &Job,
    targets: &Targets,
    candidate: &Candidate,
    effort: Effort,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Candidate> {
    let mut best: Option<Candidate> = None;
    loop {
        let from = best.as_ref().unwrap_or(candidate);
        let fits = fits_of(from);
        let safe = protects_all(job, &from.network);
        let level_db = from.level_db;
        let mut next: Option<Candidate> = None;
        for way in 0..fits.len() {
            for shape in simpler(fits[way].shape) {
                if stop() {
                    return best;
                }
                let starts = 0..STARTS.min(effort.starts);
                let fitted = fit_shape(job, way, targets, shape, level_db, effort.seed, starts);
                let Some(fitted) = fitted else { continue };
                if safe && !fitted.protects {
                    continue;
                }
                let mut whole: Vec<&WayFit> = fits.iter().collect();
                whole[way] = &fitted;
                let joined = fit_jointly(job, targets, &whole, &from.inverted, level_db, STEPS);
                let Some(joined) = joined else { continue };
                if rank(&joined) < rank(next.as_ref().unwrap_or(from)) {
                    next = Some(joined);
                }
            }
        }
        match next {
            Some(simpler) => best = Some(simpler),
            None => return best,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::synthesis::PadForm;

    #[test]
    fn every_simpler_shape_has_fewer_parts_and_some_filter() {
        let mut shapes = WayShape::for_lowest();
        shapes.extend(WayShape::for_upper(false, &[10]));
        for shape in shapes {
            for simpler in simpler(shape) {
                assert!(simpler.part_count() < shape.part_count(), "{shape:?}");
                assert!(simpler.high_pass + simpler.low_pass > 0, "{shape:?}");
                assert!(!simpler.damped || simpler.low_pass > 1, "{shape:?}");
            }
        }
        let bare = WayShape {
            high_pass: 0,
            low_pass: 1,
            damped: false,
            pad: PadForm::None,
            equaliser: EqualiserForm::None,
            correction: CorrectionForm::None,
            notch: false,
        };
        assert!(simpler(bare).is_empty());
    }
}
