//! What kinds of findings there are.

use std::fmt;

use serde::{Serialize, Serializer};

/// Declares the kinds of findings, each with its text.
macro_rules! finding_codes {
    ($($code:ident = $text:literal,)*) => {
        /// What kind of finding one is. Its text, words with hyphens, is the same in every release.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[allow(missing_docs, reason = "the text says what each is")]
        pub enum FindingCode {
            $($code,)*
        }

        /// All kinds with their texts, in the order of the enum.
        const TEXTS: &[(FindingCode, &str)] = &[$((FindingCode::$code, $text),)*];
    };
}

finding_codes! {
    AimOutsideUsableBand = "aim-outside-usable-band",
    AmplifierTableIncomplete = "amplifier-table-incomplete",
    AnotherLoudspeaker = "another-loudspeaker",
    AnotherTapFits = "another-tap-fits",
    AttenuationNeeded = "attenuation-needed",
    AttenuationOutOfReach = "attenuation-out-of-reach",
    AttenuationTooLarge = "attenuation-too-large",
    AttenuationTooSmall = "attenuation-too-small",
    AttenuationUneven = "attenuation-uneven",
    AttenuationUnusual = "attenuation-unusual",
    AutoformerCore = "autoformer-core",
    BuildsBelowLeastLoad = "builds-below-least-load",
    BuildsSpread = "builds-spread",
    BuildsSpreadWidely = "builds-spread-widely",
    BuiltPerhapsWrong = "built-perhaps-wrong",
    BuiltWrong = "built-wrong",
    CapacitorOverVoltage = "capacitor-over-voltage",
    CapacitorWithoutMargin = "capacitor-without-margin",
    CoilResistanceEstimated = "coil-resistance-estimated",
    CoilSaturates = "coil-saturates",
    CoilWithoutMargin = "coil-without-margin",
    CrossoverBelowHornCutoff = "crossover-below-horn-cutoff",
    CrossoverBelowResonance = "crossover-below-resonance",
    CrossoverNearEndOfUsableBand = "crossover-near-end-of-usable-band",
    CrossoverNearHornCutoff = "crossover-near-horn-cutoff",
    CrossoverNearResonance = "crossover-near-resonance",
    CrossoverOutsideUsableBand = "crossover-outside-usable-band",
    CrossoverWithinOctaveOfHornCutoff = "crossover-within-octave-of-horn-cutoff",
    DataBelowGate = "data-below-gate",
    DepthCosts = "depth-costs",
    DepthCostsLittle = "depth-costs-little",
    DepthCountedTwice = "depth-counted-twice",
    DirectCurrentPath = "direct-current-path",
    DirectionsNotKnown = "directions-not-known",
    DrivenBelowUsableBand = "driven-below-usable-band",
    DriverOverloaded = "driver-overloaded",
    DriverOverpowered = "driver-overpowered",
    DriverSineAboveRating = "driver-sine-above-rating",
    DriversCannotMeet = "drivers-cannot-meet",
    DriversExchanged = "drivers-exchanged",
    ExcursionLittleProtected = "excursion-little-protected",
    ExcursionUnprotected = "excursion-unprotected",
    FaultBassInDriver = "fault-bass-in-driver",
    FaultLowLoad = "fault-low-load",
    FaultNoLoad = "fault-no-load",
    FaultShortsAmplifier = "fault-shorts-amplifier",
    FaultTooMuchPower = "fault-too-much-power",
    FaultUnloadedFilter = "fault-unloaded-filter",
    FewBuilds = "few-builds",
    FewPoints = "few-points",
    HotCoils = "hot-coils",
    HotCoilsShiftBalance = "hot-coils-shift-balance",
    HotPadResistors = "hot-pad-resistors",
    ImpedanceInDb = "impedance-in-db",
    ImpedancePhaseLimited = "impedance-phase-limited",
    Leads = "leads",
    LeakWithoutVent = "leak-without-vent",
    LeastLoadOfDriver = "least-load-of-driver",
    LeastLoadOutOfReach = "least-load-out-of-reach",
    LevelAtListener = "level-at-listener",
    LevelOutOfReach = "level-out-of-reach",
    LevelsNotSpl = "levels-not-spl",
    LoadDangerouslyLow = "load-dangerously-low",
    LoadNearlyOpen = "load-nearly-open",
    LoadTooLow = "load-too-low",
    LobeTilted = "lobe-tilted",
    LouderOffAxis = "louder-off-axis",
    LoudspeakerLoadLow = "loudspeaker-load-low",
    LowestWayUnprotected = "lowest-way-unprotected",
    NearFieldJoined = "near-field-joined",
    NearFieldTooHigh = "near-field-too-high",
    NoCabinet = "no-cabinet",
    NoDepthStated = "no-depth-stated",
    NoDriverPower = "no-driver-power",
    NoRatedLoad = "no-rated-load",
    NoRatedPower = "no-rated-power",
    NoResonanceKnown = "no-resonance-known",
    NoUsableBand = "no-usable-band",
    NoiseFloor = "noise-floor",
    NoisyMeasurement = "noisy-measurement",
    NotAllExplained = "not-all-explained",
    NotAssessed = "not-assessed",
    NotSeen = "not-seen",
    OffAxisNotSpl = "off-axis-not-spl",
    OffAxisTimeDiffers = "off-axis-time-differs",
    OutputImpedanceShapesSum = "output-impedance-shapes-sum",
    PadLoadFar = "pad-load-far",
    PadLoadLow = "pad-load-low",
    PadMovesCrossover = "pad-moves-crossover",
    PadNotAlone = "pad-not-alone",
    PhaseDoubtful = "phase-doubtful",
    PhaseHeatsAmplifier = "phase-heats-amplifier",
    PhaseInRadian = "phase-in-radian",
    PhaseIsMinimum = "phase-is-minimum",
    PhaseReconstructed = "phase-reconstructed",
    PhaseReferencesDiffer = "phase-references-differ",
    PhaseTooCoarse = "phase-too-coarse",
    PhasesApart = "phases-apart",
    Polarity = "polarity",
    PolarityNotSeen = "polarity-not-seen",
    ResistorOverloaded = "resistor-overloaded",
    ResistorSineAboveRating = "resistor-sine-above-rating",
    ResistorWithoutMargin = "resistor-without-margin",
    RowOf0HzLeftOut = "row-of-0-hz-left-out",
    Scale = "scale",
    SlopeTooGentle = "slope-too-gentle",
    SteadyToneOverloadsDriver = "steady-tone-overloads-driver",
    SteadyToneOverloadsResistor = "steady-tone-overloads-resistor",
    SumFarOffTheAim = "sum-far-off-the-aim",
    SumNotFlat = "sum-not-flat",
    TableEndsBeyondBand = "table-ends-beyond-band",
    TableEndsInsideBand = "table-ends-inside-band",
    TableHasHole = "table-has-hole",
    TablesExchanged = "tables-exchanged",
    ToleranceAssumed = "tolerance-assumed",
    UpperWayLessSensitive = "upper-way-less-sensitive",
    ValveAmplifier = "valve-amplifier",
    VerticalWindowUneven = "vertical-window-uneven",
    WayLevel = "way-level",
    WayOffItsTarget = "way-off-its-target",
    WireCosts = "wire-costs",
    WiresSwapped = "wires-swapped",
}

impl FindingCode {
    /// The text that stands for it in documents and pages.
    #[must_use]
    pub fn text(self) -> &'static str {
        TEXTS[self as usize].1
    }

    /// Whether it tells of what a fault of the network would do.
    #[must_use]
    pub fn is_of_fault(self) -> bool {
        matches!(
            self,
            Self::FaultBassInDriver
                | Self::FaultLowLoad
                | Self::FaultNoLoad
                | Self::FaultShortsAmplifier
                | Self::FaultTooMuchPower
                | Self::FaultUnloadedFilter
        )
    }
}

impl fmt::Display for FindingCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

impl Serialize for FindingCode {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.text())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_has_a_text_of_its_own() {
        for (place, (code, text)) in TEXTS.iter().enumerate() {
            assert_eq!(*code as usize, place);
            assert_eq!(code.text(), *text);
            // The name in the program is that of the document, so that one is found from the other.
            let name = format!("{code:?}").to_lowercase();
            assert_eq!(name, text.replace('-', ""));
            assert_eq!(code.is_of_fault(), text.starts_with("fault-"), "{text}");
            assert!(
                TEXTS[..place].iter().all(|(_, other)| other < text),
                "{text}"
            );
        }
    }
}
