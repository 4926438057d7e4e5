//! The units of each quantity, and how people write them.

/// What a quantity measures; picks the units that may be written for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Ohm.
    Resistance,
    /// Henry.
    Inductance,
    /// Farad.
    Capacitance,
    /// Hertz.
    Frequency,
    /// Volt.
    Voltage,
    /// Ampere.
    Current,
    /// Watt.
    Power,
    /// Metre.
    Length,
    /// Square metre.
    Area,
    /// Cubic metre.
    Volume,
    /// Decibel.
    Level,
    /// Kelvin.
    TemperatureRise,
    /// A share of 1.
    Share,
    /// Kilogram.
    Mass,
    /// Tesla metre.
    ForceFactor,
    /// Degree.
    Angle,
}

/// One way to write a unit.
pub(super) struct Unit {
    /// As written; in lower case where case does not matter.
    pub(super) name: &'static str,
    /// Power of ten to the SI unit.
    pub(super) exponent: i32,
    /// An SI prefix may stand before it.
    pub(super) prefixed: bool,
}

const fn unit(name: &'static str, exponent: i32, prefixed: bool) -> Unit {
    Unit {
        name,
        exponent,
        prefixed,
    }
}

/// All that is particular to the writing of one dimension.
pub(super) struct Spec {
    /// With its article, for messages.
    pub(super) a_what: &'static str,
    /// A well-written value.
    pub(super) example: &'static str,
    /// All units; the first is what a file gets.
    pub(super) units: &'static [Unit],
    /// Case of the unit's letters matters.
    pub(super) case_matters: bool,
    /// SI prefixes that make sense.
    pub(super) prefixes: &'static [(char, i32)],
    /// A prefix may stand alone ("100n"), also inside the number after IEC 60062 ("4u7").
    pub(super) codes: bool,
    /// Letters that stand for the unit itself in an IEC 60062 code.
    pub(super) code_letters: &'static [char],
}

const MICRO: [(char, i32); 3] = [('u', -6), ('µ', -6), ('μ', -6)];

const SMALL: &[(char, i32)] = &[
    ('p', -12),
    ('n', -9),
    MICRO[0],
    MICRO[1],
    MICRO[2],
    ('m', -3),
];

const WIDE: &[(char, i32)] = &[
    ('p', -12),
    ('n', -9),
    MICRO[0],
    MICRO[1],
    MICRO[2],
    ('m', -3),
    ('k', 3),
    ('K', 3),
    ('M', 6),
    ('G', 9),
];

impl Dimension {
    /// All of them, in the order in which a wrong unit is looked up.
    pub(super) const ALL: [Dimension; 16] = [
        Dimension::Resistance,
        Dimension::Inductance,
        Dimension::Capacitance,
        Dimension::Frequency,
        Dimension::Voltage,
        Dimension::Current,
        Dimension::Power,
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Level,
        Dimension::TemperatureRise,
        Dimension::Share,
        Dimension::Mass,
        Dimension::ForceFactor,
        Dimension::Angle,
    ];

    /// With its article, for messages: `an inductance`.
    #[must_use]
    pub fn a_what(self) -> &'static str {
        self.spec().a_what
    }

    /// A well-written value, for messages: `0.33 mH`.
    #[must_use]
    pub fn example(self) -> &'static str {
        self.spec().example
    }

    /// From this size on a number without unit is no value of a loudspeaker in the SI unit, but one
    /// whose unit was forgotten: 24 farad, 180 cubic metres.
    #[must_use]
    pub fn forgotten_unit_from(self) -> Option<f64> {
        match self {
            Dimension::Capacitance => Some(0.1),
            Dimension::Inductance => Some(1.0),
            Dimension::Length => Some(30.0),
            Dimension::Area => Some(2.0),
            Dimension::Volume => Some(10.0),
            Dimension::Mass => Some(0.5),
            _ => None,
        }
    }

    /// Magnitudes that a value of a loudspeaker can have when it is not 0, in the SI unit: wide enough for
    /// anything that is built or measured, narrow enough that no square or product of them overflows.
    #[must_use]
    pub fn within_reason(self) -> std::ops::RangeInclusive<f64> {
        match self {
            Dimension::Resistance => 1e-9..=1e9,
            Dimension::Inductance => 1e-12..=1e3,
            Dimension::Capacitance => 1e-15..=1e3,
            Dimension::Frequency => 1e-3..=1e9,
            Dimension::Voltage | Dimension::Current => 1e-6..=1e6,
            Dimension::Power => 1e-9..=1e9,
            Dimension::Length => 1e-7..=1e5,
            Dimension::Area => 1e-10..=1e4,
            Dimension::Volume => 1e-9..=1e6,
            Dimension::Level => 1e-12..=1e3,
            Dimension::TemperatureRise => 1e-9..=1e5,
            Dimension::Share => 1e-12..=1e3,
            Dimension::Mass => 1e-9..=1e3,
            Dimension::ForceFactor => 1e-6..=1e4,
            Dimension::Angle => 1e-6..=1e3,
        }
    }

    pub(super) fn spec(self) -> &'static Spec {
        match self {
            Dimension::Resistance => {
                const {
                    &Spec {
                        a_what: "a resistance",
                        example: "8 ohm",
                        units: &[
                            unit("ohm", 0, true),
                            unit("ohms", 0, true),
                            // Greek capital omega in lower case; the ohm sign has the same lower case.
                            unit("ω", 0, true),
                            unit("r", 0, false),
                        ],
                        case_matters: false,
                        prefixes: WIDE,
                        codes: true,
                        code_letters: &['R', 'r'],
                    }
                }
            }
            Dimension::Inductance => {
                const {
                    &Spec {
                        a_what: "an inductance",
                        example: "0.33 mH",
                        units: &[
                            unit("h", 0, true),
                            unit("henry", 0, true),
                            unit("henries", 0, true),
                        ],
                        case_matters: false,
                        prefixes: SMALL,
                        codes: true,
                        code_letters: &['H'],
                    }
                }
            }
            Dimension::Capacitance => {
                const {
                    &Spec {
                        a_what: "a capacitance",
                        example: "4.7 uF",
                        units: &[
                            unit("f", 0, true),
                            unit("farad", 0, true),
                            unit("farads", 0, true),
                            // The trade's own ways of writing µF and pF on capacitors.
                            unit("mfd", -6, false),
                            unit("ufd", -6, false),
                            unit("µfd", -6, false),
                            unit("μfd", -6, false),
                            unit("mmfd", -12, false),
                            unit("pfd", -12, false),
                        ],
                        case_matters: false,
                        prefixes: SMALL,
                        codes: true,
                        code_letters: &['F'],
                    }
                }
            }
            Dimension::Frequency => {
                const {
                    &Spec {
                        a_what: "a frequency",
                        example: "650 Hz",
                        units: &[unit("hz", 0, true), unit("hertz", 0, true)],
                        case_matters: false,
                        prefixes: &[('m', -3), ('k', 3), ('K', 3), ('M', 6), ('G', 9)],
                        codes: true,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Voltage => {
                const {
                    &Spec {
                        a_what: "a voltage",
                        example: "2.83 V",
                        units: &[
                            unit("v", 0, true),
                            unit("volt", 0, true),
                            unit("volts", 0, true),
                        ],
                        case_matters: false,
                        prefixes: WIDE,
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Current => {
                const {
                    &Spec {
                        a_what: "a current",
                        example: "1.5 A",
                        units: &[
                            unit("a", 0, true),
                            unit("ampere", 0, true),
                            unit("amperes", 0, true),
                            unit("amp", 0, true),
                            unit("amps", 0, true),
                        ],
                        case_matters: false,
                        prefixes: WIDE,
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Power => {
                const {
                    &Spec {
                        a_what: "a power",
                        example: "20 W",
                        units: &[
                            unit("w", 0, true),
                            unit("watt", 0, true),
                            unit("watts", 0, true),
                        ],
                        case_matters: false,
                        prefixes: WIDE,
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Length => {
                const {
                    &Spec {
                        a_what: "a length",
                        example: "1.1 m",
                        units: &[
                            unit("m", 0, false),
                            unit("mm", -3, false),
                            unit("cm", -2, false),
                            unit("um", -6, false),
                            unit("µm", -6, false),
                            unit("μm", -6, false),
                            unit("km", 3, false),
                            unit("metre", 0, false),
                            unit("metres", 0, false),
                            unit("meter", 0, false),
                            unit("meters", 0, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Area => {
                const {
                    &Spec {
                        a_what: "an area",
                        example: "855 cm2",
                        units: &[
                            unit("m2", 0, false),
                            unit("m²", 0, false),
                            unit("cm2", -4, false),
                            unit("cm²", -4, false),
                            unit("mm2", -6, false),
                            unit("mm²", -6, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Volume => {
                const {
                    &Spec {
                        a_what: "a volume",
                        example: "140 L",
                        units: &[
                            unit("m3", 0, false),
                            unit("m³", 0, false),
                            unit("L", -3, false),
                            unit("l", -3, false),
                            unit("litre", -3, false),
                            unit("litres", -3, false),
                            unit("liter", -3, false),
                            unit("liters", -3, false),
                            unit("dm3", -3, false),
                            unit("dm³", -3, false),
                            unit("cm3", -6, false),
                            unit("cm³", -6, false),
                            unit("ml", -6, false),
                            unit("mL", -6, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Level => {
                const {
                    &Spec {
                        a_what: "a level",
                        example: "96 dB",
                        units: &[unit("db", 0, false)],
                        case_matters: false,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::TemperatureRise => {
                const {
                    &Spec {
                        a_what: "a temperature rise",
                        example: "100 K",
                        units: &[
                            unit("K", 0, false),
                            unit("kelvin", 0, false),
                            // A difference of 1 °C is one of 1 K.
                            unit("°C", 0, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Share => {
                const {
                    &Spec {
                        a_what: "a share",
                        example: "5 %",
                        units: &[unit("%", -2, false), unit("percent", -2, false)],
                        case_matters: false,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Mass => {
                const {
                    &Spec {
                        a_what: "a mass",
                        example: "1.2 g",
                        units: &[
                            unit("g", -3, false),
                            unit("kg", 0, false),
                            unit("mg", -6, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::ForceFactor => {
                const {
                    &Spec {
                        a_what: "a force factor",
                        example: "9.5 T m",
                        units: &[
                            unit("T m", 0, false),
                            unit("Tm", 0, false),
                            unit("T·m", 0, false),
                            unit("T*m", 0, false),
                            unit("N/A", 0, false),
                        ],
                        case_matters: true,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
            Dimension::Angle => {
                const {
                    &Spec {
                        a_what: "an angle",
                        example: "15 deg",
                        units: &[
                            unit("deg", 0, false),
                            unit("°", 0, false),
                            unit("degree", 0, false),
                            unit("degrees", 0, false),
                        ],
                        case_matters: false,
                        prefixes: &[],
                        codes: false,
                        code_letters: &[],
                    }
                }
            }
        }
    }
}

impl Spec {
    /// Power of ten for a unit with its prefix, or `None` if it is no unit of this dimension.
    pub(super) fn exponent_of(&self, text: &str) -> Option<i32> {
        if let Some(unit) = self.unit(text) {
            return Some(unit.exponent);
        }
        let mut rest = text.chars();
        let first = rest.next()?;
        let &(_, exponent) = self.prefixes.iter().find(|(letter, _)| *letter == first)?;
        let rest = rest.as_str().trim_start();
        if rest.is_empty() {
            return self.codes.then_some(exponent);
        }
        let unit = self.unit(rest).filter(|unit| unit.prefixed)?;
        Some(exponent + unit.exponent)
    }

    /// The unit without prefix.
    pub(super) fn unit(&self, text: &str) -> Option<&'static Unit> {
        let lower;
        let text = if self.case_matters {
            text
        } else {
            lower = text.to_lowercase();
            lower.as_str()
        };
        self.units.iter().find(|unit| unit.name == text)
    }
}
