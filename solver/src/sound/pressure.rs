//! The sound of a way, and of all ways together.

use crate::spectrum::Spectrum;

/// What the wires of a driver, swapped or not, turn its sound by.
#[must_use]
pub fn sign(inverted: bool) -> f64 {
    if inverted { -1.0 } else { 1.0 }
}

/// Sound pressure of one way, Pa.
///
/// `terminal_v` is the voltage across the driver, `inverted` says that it is wired with its polarity
/// reversed, `pressure_pa_per_v` is its pressure for one volt where it is heard.
///
/// # Panics
/// If the spectra are not of one length.
#[must_use]
pub fn way_pressure(
    terminal_v: &Spectrum,
    inverted: bool,
    pressure_pa_per_v: &Spectrum,
) -> Spectrum {
    let len = terminal_v.len();
    assert_eq!(len, pressure_pa_per_v.len(), "spectra of one grid");
    let sign = sign(inverted);
    Spectrum::from_fn(len, |i| sign * terminal_v.at(i) * pressure_pa_per_v.at(i))
}

/// Sum of all ways, added in the order given; empty for no way.
///
/// # Panics
/// If the spectra are not of one length.
#[must_use]
pub fn sum<'a>(ways: impl IntoIterator<Item = &'a Spectrum>) -> Spectrum {
    let mut ways = ways.into_iter();
    let Some(mut total) = ways.next().cloned() else {
        return Spectrum::default();
    };
    for way in ways {
        assert_eq!(total.len(), way.len(), "spectra of one grid");
        for (sum, re) in total.re.iter_mut().zip(&way.re) {
            *sum += re;
        }
        for (sum, im) in total.im.iter_mut().zip(&way.im) {
            *sum += im;
        }
    }
    total
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    #[test]
    fn polarity_turns_the_sign_and_a_way_and_its_inverse_cancel() {
        let v = Spectrum::from_fn(3, |i| Complex64::new(1.0, i as f64));
        let p = Spectrum::from_fn(3, |i| Complex64::new(0.5, -(i as f64)));
        let one = Spectrum::from_fn(3, |_| Complex64::new(0.0, 2.0));
        let heard = Spectrum::from_fn(3, |i| p.at(i) * one.at(i));
        let plain = way_pressure(&v, false, &heard);
        let inverted = way_pressure(&v, true, &heard);
        // (1 + j)(0.5 − j)·2j = (1.5 − 0.5j)·2j = 1 + 3j
        assert!((plain.at(1) - Complex64::new(1.0, 3.0)).norm() < 1e-15);
        assert!(sum([&plain, &inverted]).iter().all(|x| x.norm() < 1e-15));
        assert!(sum([]).is_empty());
    }
}
