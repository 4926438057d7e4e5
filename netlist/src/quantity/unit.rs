//! The units of each quantity: how people write them, and how they are printed.

use std::ops::RangeInclusive;

/// An SI prefix.
pub(super) struct Prefix {
    /// Power of ten.
    pub(super) exponent: i32,
    /// As printed for people.
    pub(super) for_people: &'static str,
    /// As printed for files.
    pub(super) for_file: &'static str,
    /// Letters that it may be written with.
    letters: &'static [char],
}

const fn prefix(
    exponent: i32,
    for_people: &'static str,
    for_file: &'static str,
    letters: &'static [char],
) -> Prefix {
    Prefix {
        exponent,
        for_people,
        for_file,
        letters,
    }
}

/// The prefixes, and none, rising.
static PREFIXES: [Prefix; 8] = [
    prefix(-12, "p", "p", &['p']),
    prefix(-9, "n", "n", &['n']),
    // The micro sign and the Greek letter.
    prefix(-6, "µ", "u", &['u', 'µ', 'μ']),
    prefix(-3, "m", "m", &['m']),
    prefix(0, "", "", &[]),
    prefix(3, "k", "k", &['k', 'K']),
    prefix(6, "M", "M", &['M']),
    prefix(9, "G", "G", &['G']),
];

/// All that is particular to one dimension.
pub(super) struct Spec {
    /// With its article, for messages.
    pub(super) a_what: &'static str,
    /// Symbol of the SI unit.
    pub(super) symbol: &'static str,
    /// A well-written value.
    pub(super) example: &'static str,
    /// The unit that is printed for people, the same for files, and the power of ten that it stands for.
    pub(super) printed: (&'static str, &'static str, i32),
    /// Powers of ten of the prefixes that it is printed with.
    printed_prefixes: RangeInclusive<i32>,
    /// Ways to write the SI unit that may follow a prefix.
    prefixed_units: &'static [&'static str],
    /// Units that take no prefix, with their powers of ten.
    plain_units: &'static [(&'static str, i32)],
    /// Case of the unit's letters matters; where it does not, units are listed in lower case.
    case_matters: bool,
    /// Powers of ten of the prefixes that make sense.
    prefixes: RangeInclusive<i32>,
    /// A prefix may stand alone ("100n"), also inside the number after IEC 60062 ("4u7").
    pub(super) codes: bool,
    /// Letters that stand for the unit itself in an IEC 60062 code.
    pub(super) code_letters: &'static [char],
    /// From here on a number without unit is none in the SI unit.
    pub(super) forgotten_unit_from: Option<f64>,
    /// Magnitudes that can be, when not 0.
    pub(super) within_reason: RangeInclusive<f64>,
}

/// Only the unit itself.
const NO_PREFIX: RangeInclusive<i32> = 0..=0;

/// What most have in common.
const USUAL: Spec = Spec {
    a_what: "",
    symbol: "",
    example: "",
    printed: ("", "", 0),
    printed_prefixes: NO_PREFIX,
    prefixed_units: &[],
    plain_units: &[],
    case_matters: false,
    prefixes: NO_PREFIX,
    codes: false,
    code_letters: &[],
    forgotten_unit_from: None,
    within_reason: 0.0..=f64::MAX,
};

/// One for each [`Dimension`](super::Dimension), in their order.
pub(super) static SPECS: [Spec; 16] = [
    Spec {
        a_what: "a resistance",
        symbol: "Ω",
        example: "8 ohm",
        printed: ("Ω", "ohm", 0),
        printed_prefixes: -3..=9,
        // Greek capital omega in lower case; the ohm sign has the same lower case.
        prefixed_units: &["ohm", "ohms", "ω"],
        plain_units: &[("r", 0)],
        prefixes: -12..=9,
        codes: true,
        code_letters: &['R', 'r'],
        within_reason: 1e-9..=1e9,
        ..USUAL
    },
    Spec {
        a_what: "an inductance",
        symbol: "H",
        example: "0.33 mH",
        printed: ("H", "H", 0),
        printed_prefixes: -12..=0,
        prefixed_units: &["h", "henry", "henries"],
        prefixes: -12..=-3,
        codes: true,
        code_letters: &['H'],
        forgotten_unit_from: Some(1.0),
        within_reason: 1e-12..=1e3,
        ..USUAL
    },
    Spec {
        a_what: "a capacitance",
        symbol: "F",
        example: "4.7 uF",
        printed: ("F", "F", 0),
        printed_prefixes: -12..=0,
        prefixed_units: &["f", "farad", "farads"],
        // The trade's own ways of writing µF and pF on capacitors.
        plain_units: &[
            ("mfd", -6),
            ("ufd", -6),
            ("µfd", -6),
            ("μfd", -6),
            ("mmfd", -12),
            ("pfd", -12),
        ],
        prefixes: -12..=-3,
        codes: true,
        code_letters: &['F'],
        forgotten_unit_from: Some(0.1),
        within_reason: 1e-15..=1e3,
        ..USUAL
    },
    Spec {
        a_what: "a frequency",
        symbol: "Hz",
        example: "650 Hz",
        printed: ("Hz", "Hz", 0),
        printed_prefixes: 0..=9,
        prefixed_units: &["hz", "hertz"],
        prefixes: -3..=9,
        codes: true,
        within_reason: 1e-3..=1e9,
        ..USUAL
    },
    Spec {
        a_what: "a voltage",
        symbol: "V",
        example: "2.83 V",
        printed: ("V", "V", 0),
        printed_prefixes: -6..=3,
        prefixed_units: &["v", "volt", "volts"],
        prefixes: -12..=9,
        within_reason: 1e-6..=1e6,
        ..USUAL
    },
    Spec {
        a_what: "a current",
        symbol: "A",
        example: "1.5 A",
        printed: ("A", "A", 0),
        printed_prefixes: -6..=3,
        prefixed_units: &["a", "ampere", "amperes", "amp", "amps"],
        prefixes: -12..=9,
        within_reason: 1e-6..=1e6,
        ..USUAL
    },
    Spec {
        a_what: "a power",
        symbol: "W",
        example: "20 W",
        printed: ("W", "W", 0),
        printed_prefixes: -6..=3,
        prefixed_units: &["w", "watt", "watts"],
        prefixes: -12..=9,
        within_reason: 1e-9..=1e9,
        ..USUAL
    },
    Spec {
        a_what: "a length",
        symbol: "m",
        example: "1.1 m",
        printed: ("m", "m", 0),
        printed_prefixes: -3..=0,
        plain_units: &[
            ("m", 0),
            ("mm", -3),
            ("cm", -2),
            ("um", -6),
            ("µm", -6),
            ("μm", -6),
            ("km", 3),
            ("metre", 0),
            ("metres", 0),
            ("meter", 0),
            ("meters", 0),
        ],
        case_matters: true,
        forgotten_unit_from: Some(30.0),
        within_reason: 1e-7..=1e5,
        ..USUAL
    },
    Spec {
        a_what: "an area",
        symbol: "m²",
        example: "855 cm2",
        printed: ("cm²", "cm2", -4),
        plain_units: &[
            ("m2", 0),
            ("m²", 0),
            ("cm2", -4),
            ("cm²", -4),
            ("mm2", -6),
            ("mm²", -6),
        ],
        case_matters: true,
        forgotten_unit_from: Some(2.0),
        within_reason: 1e-10..=1e4,
        ..USUAL
    },
    Spec {
        a_what: "a volume",
        symbol: "m³",
        example: "140 L",
        printed: ("L", "L", -3),
        plain_units: &[
            ("m3", 0),
            ("m³", 0),
            ("L", -3),
            ("l", -3),
            ("litre", -3),
            ("litres", -3),
            ("liter", -3),
            ("liters", -3),
            ("dm3", -3),
            ("dm³", -3),
            ("cm3", -6),
            ("cm³", -6),
            ("ml", -6),
            ("mL", -6),
        ],
        case_matters: true,
        forgotten_unit_from: Some(10.0),
        within_reason: 1e-9..=1e6,
        ..USUAL
    },
    Spec {
        a_what: "a level",
        symbol: "dB",
        example: "96 dB",
        printed: ("dB", "dB", 0),
        plain_units: &[("db", 0)],
        within_reason: 1e-12..=1e3,
        ..USUAL
    },
    Spec {
        a_what: "a temperature rise",
        symbol: "K",
        example: "100 K",
        printed: ("K", "K", 0),
        // A difference of 1 °C is one of 1 K.
        plain_units: &[("K", 0), ("kelvin", 0), ("°C", 0)],
        case_matters: true,
        within_reason: 1e-9..=1e5,
        ..USUAL
    },
    Spec {
        a_what: "a share",
        symbol: "%",
        example: "5 %",
        printed: ("%", "%", -2),
        plain_units: &[("%", -2), ("percent", -2)],
        within_reason: 1e-12..=1e3,
        ..USUAL
    },
    Spec {
        a_what: "a mass",
        symbol: "kg",
        example: "1.2 g",
        printed: ("g", "g", -3),
        plain_units: &[("g", -3), ("kg", 0), ("mg", -6)],
        case_matters: true,
        forgotten_unit_from: Some(0.5),
        within_reason: 1e-9..=1e3,
        ..USUAL
    },
    Spec {
        a_what: "a force factor",
        symbol: "T m",
        example: "9.5 T m",
        printed: ("T m", "T m", 0),
        plain_units: &[("T m", 0), ("Tm", 0), ("T·m", 0), ("T*m", 0), ("N/A", 0)],
        case_matters: true,
        within_reason: 1e-6..=1e4,
        ..USUAL
    },
    Spec {
        a_what: "an angle",
        symbol: "°",
        example: "15 deg",
        printed: ("°", "deg", 0),
        plain_units: &[("deg", 0), ("°", 0), ("degree", 0), ("degrees", 0)],
        within_reason: 1e-6..=1e3,
        ..USUAL
    },
];

impl Spec {
    /// Power of ten for a unit with its prefix, or `None` if it is no unit of this dimension.
    pub(super) fn exponent_of(&self, text: &str) -> Option<i32> {
        if let Some(exponent) = self.unit(text) {
            return Some(exponent);
        }
        let mut rest = text.chars();
        let exponent = self.prefix(rest.next()?)?;
        let rest = rest.as_str().trim_start();
        let takes_one = |unit: &str| self.prefixed_units.contains(&unit);
        match rest.is_empty() {
            true => self.codes.then_some(exponent),
            false => takes_one(&self.in_case(rest)).then_some(exponent),
        }
    }

    /// Power of ten of a prefix.
    pub(super) fn prefix(&self, letter: char) -> Option<i32> {
        let mut prefixes = within(&self.prefixes);
        let found = prefixes.find(|prefix| prefix.letters.contains(&letter));
        found.map(|prefix| prefix.exponent)
    }

    /// Power of ten of a unit without prefix.
    pub(super) fn unit(&self, text: &str) -> Option<i32> {
        let text = self.in_case(text);
        let prefixed = self.prefixed_units.iter().map(|name| (*name, 0));
        let mut units = prefixed.chain(self.plain_units.iter().copied());
        units
            .find(|(name, _)| *name == text)
            .map(|(_, exponent)| exponent)
    }

    /// Prefixes that it is printed with, rising; none at all counts as one.
    pub(super) fn printed_prefixes(&self) -> impl Iterator<Item = &'static Prefix> {
        within(&self.printed_prefixes)
    }

    /// As units are listed.
    fn in_case(&self, text: &str) -> String {
        match self.case_matters {
            true => text.to_owned(),
            false => text.to_lowercase(),
        }
    }
}

fn within(exponents: &RangeInclusive<i32>) -> impl Iterator<Item = &'static Prefix> {
    let exponents = exponents.clone();
    PREFIXES
        .iter()
        .filter(move |prefix| exponents.contains(&prefix.exponent))
}
