//! What the program says of a planted mistake, against what was planted.

use solver::built::{Built, Hypothesis, Mistake};

use crate::planted::Planted;

/// Where the planted mistake stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Verdict {
    /// Place of its group, from 0; `None` where it is in none. The build as drawn counts with its group.
    pub place: Option<usize>,
    /// Whether the first group has more than 90 %.
    pub sure: bool,
    /// How many mistakes the first group has.
    pub group: usize,
    /// Whether the first group is the build as drawn.
    pub sound: bool,
}

impl Verdict {
    /// Holds a planted mistake, or none, against what was found.
    #[must_use]
    pub fn new(found: &Built, planted: Option<&Planted>) -> Self {
        let mut groups: Vec<(f64, Vec<&Mistake>, bool)> = (found.hypotheses.iter())
            .map(
                |Hypothesis {
                     mistake,
                     share,
                     same,
                     ..
                 }| {
                    (
                        *share,
                        std::iter::once(mistake).chain(same).collect(),
                        false,
                    )
                },
            )
            .collect();
        groups.push((found.as_designed, found.unseen.iter().collect(), true));
        groups.sort_by(|a, b| b.0.total_cmp(&a.0));
        let place = groups
            .iter()
            .position(|(_, mistakes, drawn)| match planted {
                Some(planted) => mistakes.iter().any(|found| is_it(planted, found)),
                None => *drawn,
            });
        Self {
            place,
            sure: groups[0].0 > 0.9 && found.something_else < 0.1,
            group: groups[0].1.len(),
            sound: groups[0].2,
        }
    }
}

/// Whether a found mistake is the planted one.
#[must_use]
pub fn is_it(planted: &Planted, found: &Mistake) -> bool {
    let same_parts = planted.parts.len() == found.parts.len()
        && planted.parts.iter().all(|part| found.parts.contains(part));
    let same_place = match (&planted.between, &found.between) {
        (Some(one), Some(other)) => one.iter().all(|node| other.contains(node)),
        (None, None) => true,
        _ => false,
    };
    planted.kind == found.kind && same_parts && same_place
}
