//! How wide a text comes out, before any browser sets it.

/// Widths of the letters of a common sans serif in thousandths of the size (the metrics of
/// Helvetica, from memory); others are at most [`ALLOWANCE`] wider.
fn thousandths(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' => 222.0,
        ' ' | 'f' | 't' | 'I' | '.' | ',' | ':' | ';' | '/' | '!' | '|' => 278.0,
        'r' | '-' | '(' | ')' | '°' => 333.0,
        'c' | 'k' | 's' | 'v' | 'x' | 'y' | 'z' | 'J' => 500.0,
        'w' | 'C' | 'D' | 'H' | 'N' | 'R' | 'U' => 722.0,
        'G' | 'O' | 'Q' | 'Ω' => 778.0,
        'm' | 'M' | '%' => 860.0,
        'W' => 944.0,
        'A' | 'B' | 'E' | 'K' | 'P' | 'S' | 'V' | 'X' | 'Y' => 667.0,
        c if c.is_ascii() => 580.0,
        // Scripts with square letters are as wide as high.
        _ => 1000.0,
    }
}

/// The widest of the usual fonts against the narrow ones.
const ALLOWANCE: f64 = 1.18;

/// Width of a text of this size, rather too much than too little.
pub(crate) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(thousandths).sum::<f64>() / 1000.0 * size * ALLOWANCE
}

/// A name cut to be no wider than `most` at this size, with an ellipsis; ten letters are always left.
pub(crate) fn shortened(text: &str, most: f64, size: f64) -> String {
    if width(text, size) <= most || text.chars().count() <= 10 {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        if kept.chars().count() >= 10 && width(&kept, size) + width("m…", size) > most {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_are_cut() {
        assert_eq!(shortened("mid", 5.0, 12.0), "mid");
        assert_eq!(shortened("a very long name", 0.0, 12.0), "a very lon…");
        assert_eq!(
            shortened("a very long name", 1000.0, 12.0),
            "a very long name"
        );
        assert!(width("mmm", 10.0) > width("iii", 10.0));
        assert!(width("", 10.0) < 1e-9);
    }
}
