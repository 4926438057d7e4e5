//! Numbers as text without a digit lost: base 64 (RFC 4648) of their bytes, the least first.

use serde::Serialize;
use solver::spectrum::Spectrum;

const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Numbers one after the other.
#[derive(Debug, Serialize)]
#[serde(transparent)]
pub(super) struct Reals(String);

impl Reals {
    pub(super) fn new(values: &[f64]) -> Self {
        let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_le_bytes()).collect();
        Self(base_64(&bytes))
    }
}

/// Real and imaginary parts.
#[derive(Debug, Serialize)]
#[serde(transparent)]
pub(super) struct Complexes([Reals; 2]);

impl Complexes {
    pub(super) fn new(values: &Spectrum) -> Self {
        Self([Reals::new(&values.re), Reals::new(&values.im)])
    }
}

fn base_64(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        for digit in 0..4 {
            let which = (all >> (18 - 6 * digit) & 63) as usize;
            text.push(if digit <= three.len() {
                char::from(DIGITS[which])
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10.
    #[test]
    fn the_vectors_of_the_standard() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base_64(plain.as_bytes()), coded);
        }
    }
}
