//! What a value in a project file may be.

use crate::quantity::Dimension;

/// Limits of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Limit {
    /// Any finite value.
    Any,
    /// 0 or more.
    NotNegative,
    /// Above 0.
    Positive,
}

impl Limit {
    /// What is wrong with a value, if anything.
    pub(super) fn broken(self, value: f64) -> Option<&'static str> {
        match self {
            _ if !value.is_finite() => Some("must be a finite number"),
            Limit::NotNegative if value < 0.0 => Some("must not be negative"),
            Limit::Positive if value <= 0.0 => Some("must be above 0"),
            _ => None,
        }
    }

    /// What is wrong with a quantity in SI, if anything, and the way out: `help` where none is better. With `always` it
    /// is that of the field, and better than how a quantity is written. `bare` is a number without a unit.
    pub(super) fn wrong(
        self,
        name: &str,
        (si, dimension): (f64, Dimension),
        bare: bool,
        (help, always): (String, bool),
    ) -> Option<(String, String)> {
        let symbol = dimension.symbol();
        let forgotten = dimension.forgotten_unit_from().filter(|_| bare);
        if forgotten.is_some_and(|from| si.abs() >= from) {
            let message = format!("{name} without a unit would be {si} {symbol}");
            let example = dimension.example();
            let example = format!("write it with its unit, like \"{example}\"");
            return Some((message, if always { help } else { example }));
        }
        if let Some(broken) = self.broken(si) {
            return Some((format!("{name} {broken}, and is {si} {symbol}"), help));
        }
        let reason = dimension.within_reason();
        if si.abs().to_bits() == 0 || reason.contains(&si.abs()) {
            return None;
        }
        let message = format!("{name} is {si:e} {symbol}, out of all reason");
        let help = format!(
            "{} from {:e} to {:e} {symbol} can be worked with: look at the unit and the exponent",
            dimension.a_what(),
            reason.start(),
            reason.end(),
        );
        Some((message, help))
    }
}
