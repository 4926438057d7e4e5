//! How much is looked at before a choice is taken.

/// How much to do.
#[derive(Debug, Clone, Copy)]
pub(super) struct SnapEffort {
    /// Models, one after the other.
    pub(super) rounds: usize,
    /// Rounds without gain after which it ends.
    pub(super) patience: usize,
    /// Annealings of each model, and steps of each.
    pub(super) starts: usize,
    pub(super) steps: usize,
    /// Picks of each model that are worked out exactly.
    pub(super) exact: usize,
    /// Annealings on the goal itself after that, and steps of each for every choice that there is.
    pub(super) baths: usize,
    pub(super) bath_steps: usize,
    /// Of the best, how many are ranked by their expected goal.
    pub(super) ranked: usize,
    /// Whether every combination is looked at where there are few enough.
    pub(super) all_together: bool,
    /// Combinations of a block that are run through.
    pub(super) combinations: f64,
    /// Whether every exchange of two parts is tried in the end.
    pub(super) exchanges: bool,
    /// Whether several threads may work on it.
    pub(super) threads: bool,
}

/// For the hundredth of a second: a search of shapes asks for it again and again.
pub(super) const QUICK: SnapEffort = SnapEffort {
    rounds: 4,
    patience: 1,
    starts: 3,
    steps: 8_000,
    exact: 16,
    baths: 0,
    bath_steps: 0,
    ranked: 6,
    all_together: false,
    combinations: 0.0,
    exchanges: false,
    threads: false,
};

/// For a network that was just designed: nobody asked what is proven of its values.
pub(super) const GOOD: SnapEffort = SnapEffort {
    rounds: 6,
    patience: 2,
    starts: 6,
    steps: 16_000,
    exact: 32,
    baths: 4,
    bath_steps: 8,
    ranked: 16,
    all_together: false,
    combinations: 0.0,
    exchanges: true,
    threads: true,
};

/// For what is shown.
pub(super) const THOROUGH: SnapEffort = SnapEffort {
    rounds: 12,
    patience: 4,
    starts: 8,
    steps: 30_000,
    exact: 40,
    baths: 5,
    bath_steps: 12,
    ranked: 24,
    all_together: true,
    combinations: 4e5,
    exchanges: true,
    threads: true,
};

impl SnapEffort {
    /// The same without what only serves to know more of the outcome.
    pub(super) fn shorter(self) -> Self {
        Self {
            rounds: QUICK.rounds,
            patience: QUICK.patience,
            baths: 0,
            all_together: false,
            exchanges: false,
            ..self
        }
    }
}
