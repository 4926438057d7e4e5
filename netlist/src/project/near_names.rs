//! Names that may be meant.

/// The known name that is nearest to what was written, if any is near.
pub(super) fn suggestion<'k>(
    written: &str,
    known: impl Iterator<Item = &'k str>,
) -> Option<&'k str> {
    known
        .filter(|name| similar(written, name))
        .min_by_key(|name| distance(written, name))
}

/// The way out of a name that is none: the one that may be meant, or else what is said `otherwise`.
pub(super) fn meant<'k>(
    written: &str,
    known: impl Iterator<Item = &'k str>,
    otherwise: String,
) -> String {
    suggestion(written, known).map_or(otherwise, |name| format!("did you mean '{name}'?"))
}

/// Whether the one may be meant with the other.
pub(super) fn similar(written: &str, name: &str) -> bool {
    let longest = written.chars().count().max(name.chars().count());
    // Long names need no look: nothing here is that long.
    longest <= 40 && distance(written, name) <= (longest / 3).max(1) && longest > 1
}

/// Edits between two names: letters put in, left out, changed, or swapped with the next; case does
/// not count, nor does '-' for '_'.
fn distance(one: &str, two: &str) -> usize {
    let plain = |text: &str| text.to_lowercase().replace('-', "_");
    strsim::osa_distance(&plain(one), &plain(two))
}
