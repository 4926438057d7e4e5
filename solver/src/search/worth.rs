//! What a part is worth, and what a load that falls short costs.

/// A part more must gain this much of the goal to be chosen.
pub const PART_WORTH: f64 = 0.27;

/// What a part more must gain of the goal for the richer network to be the one that is taken. More than the
/// search asks of a part: it shows what lies beyond.
pub const CHOICE_WORTH: f64 = 0.45;

/// The least share of the error that is left which a part more must gain as well: where drivers cannot be joined as asked,
/// every part gains a little, and no number of them mends it.
const CHOICE_SHARE: f64 = 0.03;

/// What an error counts for when a network of several sizes is taken: itself, and beyond the error of which
/// [`CHOICE_WORTH`] is [`CHOICE_SHARE`] by what share of it is gained.
pub(super) fn error_of_choice(error: f64) -> f64 {
    let much = CHOICE_WORTH / CHOICE_SHARE;
    match error > much {
        true => much * (1.0 + (error / much).ln()),
        false => error,
    }
}

/// A least load of this share is as good as kept.
const KEPT_SHARE: f64 = 0.98;
/// What a tenth of the least load less than that adds to the goal.
const A_TENTH_SHORT: f64 = 5.0;

/// What a load of this share of the least one adds to the goal.
pub(super) fn short_load(share: f64) -> f64 {
    A_TENTH_SHORT * 10.0 * (KEPT_SHARE - share).max(0.0)
}

/// What a diaphragm that is wide open by so many dB adds to the goal: a first dB as much as eleven parts, three as much as a
/// sum that is far off.
pub(super) fn wide_open(db: f64) -> f64 {
    2.0 * db + db * db
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At every error a part is worth [`CHOICE_WORTH`] or its share of it, whichever is more, without a step.
    #[test]
    fn a_part_must_gain_a_share_of_what_is_left() {
        for error in [0.1, 3.0, 14.9, 15.1, 40.0, 500.0] {
            let gain = f64::max(CHOICE_WORTH, CHOICE_SHARE * error);
            let step = 1e-6 * error;
            let slope = (error_of_choice(error + step) - error_of_choice(error)) / step;
            assert!((gain * slope / CHOICE_WORTH - 1.0).abs() < 1e-4, "{error}");
        }
        let step = error_of_choice(15.0 + 1e-9) - error_of_choice(15.0 - 1e-9);
        assert!(step.abs() < 1e-8);
    }

    #[test]
    fn a_load_that_falls_short_counts_by_the_tenth() {
        for (share, adds) in [(1.2, 0.0), (0.98, 0.0), (0.88, 5.0)] {
            assert!((short_load(share) - adds).abs() < 1e-9, "{share}");
        }
    }

    #[test]
    fn a_diaphragm_wide_open_counts_without_a_cliff() {
        for (db, adds) in [(0.0, 0.0), (1e-3, 0.002_001), (1.0, 3.0), (3.0, 15.0)] {
            assert!((wide_open(db) - adds).abs() < 1e-9, "{db}");
        }
    }
}
