//! Names that are not taken yet, for parts and nodes that are added.

/// The first of `R1`, `R2`, … that is not taken; `R` stands for `letters`.
pub fn numbered_name(letters: &str, taken: impl Fn(&str) -> bool) -> String {
    (1..)
        .map(|number| format!("{letters}{number}"))
        .find(|name| !taken(name))
        .expect("numbers do not end")
}

/// `wanted` with as many primes as it takes.
pub fn primed_name(wanted: &str, taken: impl Fn(&str) -> bool) -> String {
    let mut name = wanted.to_owned();
    while taken(&name) {
        name.push('\'');
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_are_taken_are_passed_over() {
        let taken = |name: &str| ["R1", "R2", "R4", "lead", "lead'"].contains(&name);
        assert_eq!(numbered_name("R", taken), "R3");
        assert_eq!(numbered_name("L", taken), "L1");
        assert_eq!(primed_name("lead", taken), "lead''");
        assert_eq!(primed_name("cable", taken), "cable");
    }
}
