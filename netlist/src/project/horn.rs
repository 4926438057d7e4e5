//! A compression driver on a horn of stated shape.

use std::f64::consts::PI;

use super::LossyInductance;
use crate::quantity::{
    CubicMetres, Hertz, Kelvins, Kilograms, Metres, Ohms, SquareMetres, TeslaMetres,
};

/// What sound leaves from: a diaphragm, a throat, a mouth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opening {
    /// A circle.
    Round {
        /// Its diameter.
        diameter: Metres,
    },
    /// A rectangle, upright.
    Rectangle {
        /// From left to right.
        width: Metres,
        /// From bottom to top.
        height: Metres,
    },
}

impl Opening {
    /// A circle of that area.
    #[must_use]
    pub fn of_area(area: SquareMetres) -> Self {
        Self::Round {
            diameter: Metres(2.0 * (area.0 / PI).sqrt()),
        }
    }

    /// Area in m².
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        match self {
            Self::Round { diameter } => 0.25 * PI * diameter.0 * diameter.0,
            Self::Rectangle { width, height } => width.0 * height.0,
        }
    }

    /// Radius of the circle of the same area, in m.
    #[must_use]
    pub fn radius_m(&self) -> f64 {
        match self {
            Self::Round { diameter } => 0.5 * diameter.0,
            Self::Rectangle { .. } => (self.area_m2() / PI).sqrt(),
        }
    }
}

/// How a horn widens from throat to mouth; x from the throat, r the radius of a circle of the same area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flare {
    /// r ∝ e^(mx).
    Exponential,
    /// r ∝ cosh mx + T·sinh mx; T = 1 is the exponential horn, T = 0 the catenoid.
    Hyperbolic {
        /// T, 0 or more.
        t: f64,
    },
    /// r grows by the same for every length.
    Conical,
    /// The curve whose tangents are all as long as the rim's radius.
    Tractrix,
}

/// A horn from its shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FiniteHorn {
    /// Where the driver is.
    pub throat: Opening,
    /// Where the sound leaves.
    pub mouth: Opening,
    /// From throat to mouth along the axis.
    pub length: Metres,
    /// How it widens.
    pub flare: Flare,
}

/// Length in m of the tractrix of rim radius `rim_m` between two of its radii, the first the smaller one:
/// x = a·ln((a + √(a² − r²))/r) − √(a² − r²), counted from the rim.
#[must_use]
pub fn tractrix_length_m(from_m: f64, to_m: f64, rim_m: f64) -> f64 {
    let from_rim = |r: f64| {
        let root = (rim_m * rim_m - r * r).max(0.0).sqrt();
        rim_m * ((rim_m + root) / r).ln() - root
    };
    from_rim(from_m) - from_rim(to_m)
}

impl FiniteHorn {
    /// Radius in m of the rim of the tractrix that goes from throat to mouth in the horn's length: the mouth's,
    /// or a larger one where the horn ends before the rim. Only of meaning for a tractrix.
    #[must_use]
    pub fn tractrix_rim_m(&self) -> f64 {
        let [throat_m, mouth_m] = [self.throat, self.mouth].map(|opening| opening.radius_m());
        let too_short = |rim_m: f64| tractrix_length_m(throat_m, mouth_m, rim_m) < self.length.0;
        if !too_short(mouth_m) {
            return mouth_m;
        }
        // The length grows with the rim, nearly in proportion.
        let (mut low, mut high) = (mouth_m, 2.0 * mouth_m);
        while too_short(high) && high < 1e9 {
            (low, high) = (high, 2.0 * high);
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if too_short(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Flare constant m of an exponential or hyperbolic horn, 1/m; 0 for the others.
    #[must_use]
    pub fn flare_constant_per_m(&self) -> f64 {
        let widening = self.mouth.radius_m() / self.throat.radius_m();
        let t = match self.flare {
            Flare::Exponential => 1.0,
            Flare::Hyperbolic { t } => t,
            Flare::Conical | Flare::Tractrix => return 0.0,
        };
        // cosh y + T·sinh y = widening, as a quadratic in e^y.
        let root = (widening * widening - 1.0 + t * t).max(0.0).sqrt();
        ((widening + root) / (1.0 + t)).ln() / self.length.0
    }
}

/// A compression driver on a horn, from its moving parts and the horn's shape.
#[derive(Debug, Clone, PartialEq)]
pub struct HornDriver {
    /// DC resistance of the voice coil.
    pub re: Ohms,
    /// Lossy inductance of the voice coil.
    pub inductance: LossyInductance,
    /// Moving mass of diaphragm and coil.
    pub mms: Kilograms,
    /// Resonance of the diaphragm off the horn; with the air behind it where no rear chamber is stated.
    pub fs: Hertz,
    /// Mechanical Q there.
    pub qms: f64,
    /// Force factor.
    pub bl: TeslaMetres,
    /// Area of the diaphragm.
    pub sd: SquareMetres,
    /// Air closed in behind the diaphragm.
    pub rear_chamber: Option<CubicMetres>,
    /// Air between diaphragm and throat, the slots of the phase plug among it.
    pub front_chamber: Option<CubicMetres>,
    /// The horn.
    pub horn: FiniteHorn,
    /// Temperature rise of the voice coil; 0 when not said.
    pub coil_rise: Kelvins,
}
