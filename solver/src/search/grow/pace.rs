//! How hard a search is, and what it has done.

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Networks of every size that are kept and looked at.
    pub breadth: usize,
    /// Moves of one network that are tried with a short fit.
    pub tried: usize,
    /// Of these, how many are fitted to the end.
    pub kept: usize,
    /// Reductions that are tried of every network that was grown.
    pub exchanged: usize,
    /// Steps of a short fit.
    pub short_steps: usize,
    /// Steps of a long fit.
    pub long_steps: usize,
    /// Rounds up and down.
    pub rounds: usize,
    /// Parts beyond the best size up to which networks are grown.
    pub beyond: usize,
    /// Parts that were asked for: up to so many networks are grown whatever a part gains.
    pub asked: Option<usize>,
    /// Most parts.
    pub most_parts: usize,
}

impl Pace {
    /// Networks of a size that are looked at. About the size that was asked for it is twice as many; far below the
    /// best size one is enough to show what so few parts can do.
    pub(super) fn breadth_at(&self, size: usize, best_size: usize) -> usize {
        if (self.asked).is_some_and(|asked| size.abs_diff(asked) <= ABOUT) {
            2 * self.breadth
        } else if size + NEAR >= best_size {
            self.breadth
        } else {
            1
        }
    }
}

/// What a search has done.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Effort {
    /// Moves whose outcome was predicted.
    pub moves: usize,
    /// Networks whose values were fitted.
    pub fits: usize,
}

impl std::ops::AddAssign for Effort {
    fn add_assign(&mut self, other: Self) {
        self.moves += other.moves;
        self.fits += other.fits;
    }
}

/// Sizes below the best one at which all are looked at that are kept.
const NEAR: usize = 7;

/// Sizes about the one that was asked for.
const ABOUT: usize = 3;
