//! Natural logarithms of lanes, in plain operations that the compiler turns into vector ones.

use crate::nodal::lanes::{LANES, QUAD, Real};

/// Decibels for a small relative change, 20 / ln 10: dB per neper.
pub const DB_PER_NEPER: f64 = 20.0 / std::f64::consts::LN_10;

/// Bits of √½.
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
/// 2⁵², whose last bit is worth 1: adding a whole number in the bits makes it a float.
const TWO_52: f64 = 4_503_599_627_370_496.0;

/// `ln x` of every lane, within 1e-13 for `x` from 1e-300 to 1e300; less is taken as 1e-300.
///
/// `x = m·2^k` with `m` between √½ and √2, and `ln m = 2 artanh((m − 1)/(m + 1))` by its series.
#[inline(always)]
pub(crate) fn ln(x: &Real) -> Real {
    let mut out = [0.0; LANES];
    for q in (0..LANES).step_by(QUAD) {
        for i in q..q + QUAD {
            let bits = x[i].max(1e-300).to_bits();
            let exponent = bits.wrapping_add((1023 << 52) - ROOT_HALF) >> 52;
            let m = f64::from_bits(bits.wrapping_add(1023 << 52).wrapping_sub(exponent << 52));
            let k = f64::from_bits(exponent | TWO_52.to_bits()) - (TWO_52 + 1023.0);
            let s = (m - 1.0) / (m + 1.0);
            let s2 = s * s;
            let tail = 1.0 / 13.0 + s2 * (1.0 / 15.0 + s2 * (1.0 / 17.0));
            let series = 1.0 / 7.0 + s2 * (1.0 / 9.0 + s2 * (1.0 / 11.0 + s2 * tail));
            let series = 1.0 + s2 * (1.0 / 3.0 + s2 * (1.0 / 5.0 + s2 * series));
            out[i] = k * std::f64::consts::LN_2 + 2.0 * s * series;
        }
    }
    out
}

/// The same of every number of a slice, in its place.
#[inline(always)]
pub(crate) fn ln_each(x: &mut [f64]) {
    let mut chunks = x.chunks_exact_mut(LANES);
    for chunk in &mut chunks {
        let lanes: &mut Real = chunk.try_into().expect("chunks of that length");
        *lanes = ln(lanes);
    }
    let rest = chunks.into_remainder();
    let mut lanes = [1.0; LANES];
    lanes[..rest.len()].copy_from_slice(rest);
    rest.copy_from_slice(&ln(&lanes)[..rest.len()]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_logarithm_is_that_of_the_library() {
        let mut x = 1e-290;
        while x < 1e290 {
            let lanes: Real = std::array::from_fn(|i| x * (1.0 + 0.37 * i as f64));
            for (ours, x) in ln(&lanes).iter().zip(lanes) {
                let error = (ours - x.ln()).abs();
                assert!(error < 1e-13 * x.ln().abs().max(1.0), "{x:e}: {error:e}");
            }
            x *= 7.3;
        }
        assert!(ln(&[0.0; LANES])[0] < -600.0);
    }
}
