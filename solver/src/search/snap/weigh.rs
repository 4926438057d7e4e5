//! What each choice adds to the goal by itself: parts beyond the first, and tolerance.

use super::point::SnapPoint;
use super::search::Search;
use crate::stock::Choice;

/// A part's rise of the goal from its own tolerance, spread evenly, against that at the ends of the tolerance:
/// the variance of an even spread is a third of the square of its limit.
const ENDS_TO_SPREAD: f64 = 3.0;

/// The search with what each choice adds to the goal by itself; tolerance counts where it is to be `robust`.
pub(super) fn weighed(mut search: Search<'_>, robust: bool) -> Search<'_> {
    let usual: Vec<f64> = (search.movable.iter())
        .map(|part| part.choices[part.nearest].tolerance())
        .collect();
    let rises = SnapPoint::before(&search).rises(&usual);
    let rises = (search.movable.iter().zip(&usual)).zip(&rises);
    let spreads = rises.clone().map(|((part, usual), rise)| {
        let spread = |choice: &Choice| match robust && *usual > 0.0 {
            true => rise * (choice.tolerance() / usual).powi(2),
            false => 0.0,
        };
        part.choices.iter().map(spread).collect()
    });
    let spreads: Vec<Vec<f64>> = spreads.collect();
    search.extras = (rises.zip(&spreads))
        .map(|(((part, _), rise), spreads)| {
            let penalty = |choice: &Choice| choice.penalty(ENDS_TO_SPREAD * rise);
            let both = part.choices.iter().zip(spreads);
            both.map(|(choice, spread)| penalty(choice) + spread)
                .collect()
        })
        .collect();
    search.spreads = spreads;
    search
}
