//! What was typed, made sense of: on which load, which pad, at which power.

use netlist::project::{Loaded, Project};
use netlist::quantity::{Hertz, Kelvins, Quantity, Volts};
use solver::grid::Grid;
use solver::pad::{PadGoal, PadQuestion};
use solver::synthesis::{Pad, PadKind};

use crate::args::PadArguments;
use crate::failure::Failure;

/// Greatest attenuation that is sized, in dB.
const GREATEST_DB: f64 = 80.0;
/// Steps further than this are no adjustment.
const GREATEST_STEPS_DB: f64 = 10.0;
/// Frequencies that impedance models hold for.
const FREQUENCY_RANGE_HZ: std::ops::RangeInclusive<f64> = 1.0..=100e3;
/// Resistances that a pad or its load may have.
const OHM_RANGE: std::ops::RangeInclusive<f64> = 1e-3..=1e6;
/// How much hotter a voice coil gets, and what a core stands at 100 Hz, where nobody says.
const HOT: Kelvins = Kelvins(100.0);
const CORE: Volts = Volts(10.0);
/// Powers that an amplifier may have.
const WATT_RANGE: std::ops::RangeInclusive<f64> = 1e-3..=1e5;

/// A request without contradictions.
#[derive(Debug)]
pub(crate) struct Request {
    pub(crate) loaded: Option<Loaded>,
    /// Driver of the project.
    pub(crate) driver: Option<String>,
    pub(crate) question: PadQuestion,
}

impl Request {
    /// The project and its driver, where there is one.
    pub(crate) fn of_project(&self) -> Option<(&Project, &str)> {
        let loaded = self.loaded.as_ref()?;
        Some((&loaded.project, self.driver.as_deref()?))
    }

    /// Makes sense of what was typed.
    pub(crate) fn new(args: &PadArguments) -> Result<Self, Failure> {
        let loaded = match &args.file {
            Some(path) => Some(netlist::project::load(path)?),
            None if args.demo => Some(crate::demo::load("network.toml")?),
            None => None,
        };
        let driver = driver(args, loaded.as_ref())?;
        let load_ohm = bounded(args.load, OHM_RANGE, "--load \"8 ohm\"")?;
        if loaded.is_none() && load_ohm.is_none() {
            return unusable(
                "nothing says what the pad stands in front of",
                "give --load \"8 ohm\", or a project file with --driver NAME, or --demo --driver mid",
            );
        }
        let taps = taps(args)?;
        let has_network = loaded.as_ref().is_some_and(|l| l.project.network.is_some());
        let goal = goal(args, &taps, has_network)?;
        // A tap that is looked at says nothing of the others.
        let taps = match goal {
            PadGoal::Check(_) => Vec::new(),
            _ => taps,
        };
        let steps_db = args.steps.si();
        if !(0.0..=GREATEST_STEPS_DB).contains(&steps_db) {
            return unusable(
                format!("--steps {} is outside of 0 to 10 dB", args.steps),
                "say how far the steps go on either side, such as --steps \"3 dB\"",
            );
        }
        if steps_db.fract().abs() > 1e-9 {
            return unusable(
                format!("--steps {} is no whole number of decibels", args.steps),
                "the steps are 1 dB apart; say how many on either side, such as --steps \"3 dB\"",
            );
        }
        let hot = args.hot.unwrap_or(HOT);
        let hot_k = hot.si();
        if !(0.0..=400.0).contains(&hot_k) {
            return unusable(
                format!("--hot {hot} is outside of 0 to 400 K"),
                "a voice coil that is worked hard gets 100 to 200 K hotter, such as --hot \"100 K\"",
            );
        }
        let core = args.core.unwrap_or(CORE);
        let core_v = core.si();
        if !(core_v > 0.0 && core_v <= 1e5) {
            return unusable(
                format!("--core {core} is no voltage that a core stands"),
                "say what rms voltage it stands at 100 Hz, such as --core \"10 V\"",
            );
        }
        Ok(Self {
            question: PadQuestion {
                load_ohm,
                goal,
                taps,
                core_v_per_hz: core_v / 100.0,
                power_w: bounded(args.power, WATT_RANGE, "--power \"20 W\"")?,
                at: at(&args.at)?,
                hot_k,
                steps_db: steps_db.round() as u8,
            },
            loaded,
            driver,
        })
    }
}

fn unusable<T>(message: impl Into<String>, help: impl Into<String>) -> Result<T, Failure> {
    Err(Failure::Unusable {
        message: message.into(),
        help: help.into(),
    })
}

fn bounded<Q: Quantity>(
    value: Option<Q>,
    range: std::ops::RangeInclusive<f64>,
    example: &str,
) -> Result<Option<f64>, Failure> {
    let Some(value) = value.map(Quantity::si) else {
        return Ok(None);
    };
    if range.contains(&value) {
        return Ok(Some(value));
    }
    unusable(
        format!(
            "a {} of {value} {} is outside of {} to {} {}",
            Q::DIMENSION.what(),
            Q::DIMENSION.symbol(),
            range.start(),
            range.end(),
            Q::DIMENSION.symbol()
        ),
        format!("say it as in {example}"),
    )
}

fn driver(args: &PadArguments, loaded: Option<&Loaded>) -> Result<Option<String>, Failure> {
    let Some(loaded) = loaded else {
        return match &args.driver {
            None => Ok(None),
            Some(name) => unusable(
                format!("--driver {name}, but there is no project to find it in"),
                "give the project file too, or --demo; for a plain resistor leave --driver out",
            ),
        };
    };
    let drivers = &loaded.project.drivers;
    let names: Vec<&str> = drivers.keys().map(String::as_str).collect();
    let file = loaded.path.display();
    match &args.driver {
        Some(name) if drivers.contains_key(name.as_str()) => Ok(Some(name.clone())),
        Some(name) => unusable(
            format!("{file} has no driver '{name}'"),
            format!("its drivers are {}", names.join(", ")),
        ),
        None => match names.as_slice() {
            [one] => Ok(Some((*one).to_owned())),
            [] => unusable(
                format!("{file} has no driver"),
                "add one as [drivers.NAME], or use --load \"8 ohm\" without a file",
            ),
            _ => unusable(
                format!("{file} has {} drivers, and nothing says which", names.len()),
                format!("add --driver with one of {}", names.join(", ")),
            ),
        },
    }
}

fn taps(args: &PadArguments) -> Result<Vec<f64>, Failure> {
    if !args.taps.is_empty()
        && args
            .kind
            .is_some_and(|k| PadKind::from(k) != PadKind::Autoformer)
    {
        return unusable(
            "--taps are those of an autoformer, but --kind says otherwise",
            "leave --taps out, or say --kind autoformer",
        );
    }
    match args.taps.iter().find(|tap| !(**tap > 0.0 && **tap <= 1.0)) {
        None => Ok(args.taps.clone()),
        Some(tap) => unusable(
            format!("--taps {tap}: a tap is a share of the turns, above 0 and at most 1"),
            "a tap at half of the turns is 0.5 and takes 6 dB",
        ),
    }
}

fn goal(args: &PadArguments, taps: &[f64], has_network: bool) -> Result<PadGoal, Failure> {
    let kind = args.kind.map(PadKind::from);
    let kind = kind.or((!taps.is_empty()).then_some(PadKind::Autoformer));
    let series = bounded(args.series, OHM_RANGE, "--series \"8.2 ohm\"")?;
    let shunt = bounded(args.shunt, OHM_RANGE, "--shunt \"3.3 ohm\"")?;
    if let Some(attenuation) = args.attenuation {
        let attenuation_db = attenuation.si();
        if !(attenuation_db > 0.0 && attenuation_db <= GREATEST_DB) {
            return unusable(
                format!("--attenuation {attenuation} is not above 0 and at most {GREATEST_DB} dB"),
                "say how many decibels softer, above 0, such as --attenuation \"10 dB\"",
            );
        }
        let kind = kind.unwrap_or(PadKind::LPad);
        return Ok(PadGoal::Size {
            kind,
            attenuation_db,
        });
    }
    let autoformer = kind == Some(PadKind::Autoformer);
    let pad = match (series, shunt, kind) {
        (None, _, _) if autoformer => match *taps {
            [ratio] => Ok(Pad::of(PadKind::Autoformer, ratio, shunt)),
            _ => Err((
                "an autoformer is to be looked at, but not one tap is given",
                "give the tap in use, such as --taps 0.35, or size one with --attenuation \"10 dB\"",
            )),
        },
        (None, None, None) if has_network => return Ok(PadGoal::AsBuilt),
        (None, None, _) => Err((
            "nothing says what to do",
            "size a pad with --attenuation \"10 dB\", or check one with --series \"8.2 ohm\" --shunt \"3.3 ohm\"; a design's own pad is looked at when none of them is given",
        )),
        (None, Some(_), _) => Err((
            "a shunt alone attenuates nothing",
            "add --series \"8.2 ohm\", or say --kind autoformer with one of --taps",
        )),
        (Some(_), _, _) if autoformer => Err((
            "--series is given, but an autoformer has no series resistor",
            "leave --series out, or say another --kind",
        )),
        (Some(_), Some(_), Some(PadKind::Series)) => Err((
            "--shunt is given, but --kind says series",
            "leave --shunt out, or say --kind l-pad or shunt-series",
        )),
        (Some(_), None, Some(PadKind::LPad | PadKind::ShuntSeries)) => Err((
            "this kind of pad has a shunt, but none is given",
            "add --shunt \"3.3 ohm\", or say --kind series",
        )),
        (Some(series), shunt, kind) => Ok(Pad::of(kind.unwrap_or(PadKind::LPad), series, shunt)),
    };
    match pad {
        Ok(pad) => Ok(PadGoal::Check(pad)),
        Err((message, help)) => unusable(message, help),
    }
}

fn at(frequencies: &[Hertz]) -> Result<Option<Grid>, Failure> {
    if frequencies.is_empty() {
        return Ok(None);
    }
    let help = "give frequencies that rise, such as --at 650,\"6.5 kHz\"";
    if let Some(f) = frequencies
        .iter()
        .find(|f| !FREQUENCY_RANGE_HZ.contains(&f.si()))
    {
        return unusable(format!("{f} is outside of 1 Hz to 100 kHz"), help);
    }
    match Grid::new(frequencies.iter().map(|f| f.si()).collect()) {
        Ok(grid) => Ok(Some(grid)),
        Err(error) => unusable(error.to_string(), help),
    }
}
