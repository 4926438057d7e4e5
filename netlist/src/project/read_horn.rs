//! The tree to a [`HornDriver`], its horn, and openings.

use super::fields::{Context, Fields, Limit};
use super::horn::tractrix_length_m;
use super::read_coil::{coil_rise, inductance};
use super::tree::{Node, NodeValue};
use super::{FiniteHorn, Flare, HornDriver, Opening};
use crate::quantity::{Hertz, Kilograms, Metres, Ohms, Quantity, SquareMetres, TeslaMetres};

/// Fields by which a horn is told by its shape; a data sheet's has a cut-off.
pub(super) const OF_A_SHAPE: [&str; 5] = ["throat", "mouth", "length", "flare", "t"];

const HORN: &str = "horn = { throat = \"25 mm\", mouth = \"300 mm\", length = \"280 mm\", flare = \"exponential\" }";
const FLARES: [&str; 4] = ["exponential", "hyperbolic", "conical", "tractrix"];

pub(super) fn horn_driver(context: &mut Context<'_>, mut fields: Fields<'_>) -> Option<HornDriver> {
    fields.name = "a compression driver modelled with its horn".into();
    let re: Option<Ohms> = fields.need_quantity(context, "re", Limit::Positive);
    let mms: Option<Kilograms> = fields.need_quantity(context, "mms", Limit::Positive);
    let fs: Option<Hertz> = fields.need_quantity(context, "fs", Limit::Positive);
    let qms = fields.need_number(context, "qms", Limit::Positive);
    let sd = fields.need_quantity(context, "sd", Limit::Positive);
    let bl = motor(context, &mut fields);
    let inductance = inductance(context, &mut fields);
    let rear_chamber = fields.quantity(context, "rear_chamber", Limit::Positive);
    let front_chamber = fields.quantity(context, "front_chamber", Limit::Positive);
    let horn = (fields.need(context, "horn", HORN)).and_then(|node| horn(context, node));
    let coil_rise = coil_rise(context, &mut fields);
    fields.finish(context);
    let (re, mms, fs) = (re?, mms?, fs?);
    let bl = match bl? {
        Motor::Bl(bl) => bl,
        // Qes = ωs·Mms·Re/Bl².
        Motor::Qes(qes) => TeslaMetres((std::f64::consts::TAU * fs.0 * mms.0 * re.0 / qes).sqrt()),
    };
    Some(HornDriver {
        re,
        inductance: inductance?,
        mms,
        fs,
        qms: qms?,
        bl,
        sd: sd?,
        rear_chamber,
        front_chamber,
        horn: horn?,
        coil_rise,
    })
}

/// What a data sheet says of the motor.
enum Motor {
    Bl(TeslaMetres),
    Qes(f64),
}

fn motor(context: &mut Context<'_>, fields: &mut Fields<'_>) -> Option<Motor> {
    if fields.has("bl") && fields.has("qes") {
        context.problem(
            &fields.span,
            "the motor is given twice, by 'bl' and by 'qes'",
            "keep one of the two: the other follows from it with fs, mms and re".to_owned(),
        );
    }
    if fields.has("qes") {
        fields.take("bl");
        return (fields.number(context, "qes", Limit::Positive)).map(Motor::Qes);
    }
    let bl = fields.need_quantity(context, "bl", Limit::Positive);
    fields.take("qes");
    bl.map(Motor::Bl)
}

fn horn(context: &mut Context<'_>, node: &Node) -> Option<FiniteHorn> {
    let mut fields = context.fields("horn", node, HORN)?;
    let flare = (fields.need(context, "flare", "\"exponential\""))
        .and_then(|node| flare_name(context, node));
    let t_node = fields.take("t");
    let t = t_node.and_then(|node| context.number("t", node, Limit::NotNegative));
    if let (Some(node), Some(name)) = (t_node, flare)
        && name != "hyperbolic"
    {
        let message = format!("t shapes a hyperbolic horn, and this one is {name}");
        let help = "write flare = \"hyperbolic\", or leave t out".to_owned();
        context.problem(&node.span, message, help);
    }
    let throat = (fields.need(context, "throat", "\"25 mm\""))
        .and_then(|node| opening(context, "throat", node));
    let mouth_node = fields.need(context, "mouth", "\"300 mm\"");
    let mouth = mouth_node.and_then(|node| opening(context, "mouth", node));
    let length_node = match flare {
        Some("tractrix") => fields.take("length"),
        _ => fields.need(context, "length", "\"280 mm\""),
    };
    let length =
        length_node.and_then(|node| context.quantity::<Metres>("length", node, Limit::Positive));
    fields.finish(context);
    let (flare, throat, mouth) = (flare?, throat?, mouth?);
    let at_mouth = mouth_node.unwrap_or(node).span.clone();
    if throat.area_m2() >= mouth.area_m2() {
        let message = format!(
            "the horn's mouth is {}, no larger than its throat of {}",
            SquareMetres(mouth.area_m2()),
            SquareMetres(throat.area_m2())
        );
        let help = "the throat is where the driver is, and lengths are diameters".to_owned();
        context.problem(&at_mouth, message, help);
        return None;
    }
    let flare = match flare {
        "exponential" => Flare::Exponential,
        "hyperbolic" => Flare::Hyperbolic {
            t: t.unwrap_or(USUAL_T),
        },
        "conical" => Flare::Conical,
        _ => Flare::Tractrix,
    };
    let length = match flare {
        Flare::Tractrix => tractrix(context, length_node, length, [throat, mouth])?,
        _ => length?,
    };
    Some(FiniteHorn {
        throat,
        mouth,
        length,
        flare,
    })
}

/// T of a hyperbolic horn whose builder states none (common practice: 0.5 to 0.8).
const USUAL_T: f64 = 0.7;

/// A tractrix has its length from throat and mouth; a longer one ends before its rim, a shorter one is none.
fn tractrix(
    context: &mut Context<'_>,
    node: Option<&Node>,
    length: Option<Metres>,
    ends: [Opening; 2],
) -> Option<Metres> {
    let [throat_m, mouth_m] = ends.map(|opening| opening.radius_m());
    let full = Metres(tractrix_length_m(throat_m, mouth_m, mouth_m));
    let Some(node) = node else {
        return Some(full);
    };
    let length = length?;
    // Lengths are stated to the millimetre or the per cent.
    if length.0 < 0.99 * full.0 - 1e-3 {
        let message = format!(
            "a tractrix from this throat to this mouth is at least {full:.3} long, and length is {length}"
        );
        let help = "leave length out, or choose another flare".to_owned();
        context.problem(&node.span, message, help);
        return None;
    }
    Some(Metres(length.0.max(full.0)))
}

fn flare_name(context: &mut Context<'_>, node: &Node) -> Option<&'static str> {
    let wrong = |other: &str| format!("no flare is called '{other}'");
    let help = format!("write one of {}", FLARES.join(", "));
    context.one_of(
        "flare",
        node,
        &FLARES.map(|name| (name, name)),
        wrong,
        &help,
    )
}

/// A diameter, an area, or width and height.
pub(super) fn opening(context: &mut Context<'_>, name: &str, node: &Node) -> Option<Opening> {
    match &node.value {
        NodeValue::Table(_) => {
            let example = format!("{name} = {{ width = \"400 mm\", height = \"200 mm\" }}");
            let mut fields = context.fields(name, node, &example)?;
            let width = fields.need_quantity(context, "width", Limit::Positive);
            let height = fields.need_quantity(context, "height", Limit::Positive);
            fields.finish(context);
            Some(Opening::Rectangle {
                width: width?,
                height: height?,
            })
        }
        NodeValue::Text(text)
            if text.trim().parse::<f64>().is_err() && SquareMetres::parse(text).is_ok() =>
        {
            let area = context.quantity(name, node, Limit::Positive)?;
            Some(Opening::of_area(area))
        }
        _ => {
            let help = "write a diameter like \"300 mm\", an area like \"700 cm2\", or \
                { width = \"400 mm\", height = \"200 mm\" }";
            let diameter = context.quantity_as(name, node, Limit::Positive, help)?;
            Some(Opening::Round { diameter })
        }
    }
}
