//! What can be wrong with a network as a whole.

/// A structural mistake of a network; its text names parts and nodes.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkMistake {
    /// The network is empty.
    #[error("the network has no parts")]
    NoParts,
    /// Nothing is joined to the amplifier.
    #[error("no part is joined to 'in', the amplifier's terminal")]
    InUnused,
    /// Nothing is joined to the return.
    #[error("no part is joined to 'gnd', the return")]
    GndUnused,
    /// From `in` no chain of parts leads to `gnd`.
    #[error("no chain of parts leads from 'in' to 'gnd'")]
    NoReturn,
    /// A node that no part is joined to.
    #[error("no part is joined to node '{node}'")]
    UnusedNode {
        /// The node.
        node: String,
    },
    /// A node with a single part: no current can flow.
    #[error("node '{node}' is reached by one part only, '{part}'")]
    LooseEnd {
        /// The node.
        node: String,
        /// The only part there.
        part: String,
        /// A node whose name is much the same.
        near: Option<String>,
    },
    /// Both ends of a part at the same node.
    #[error("both ends of '{part}' are at node '{node}'")]
    BothEndsAtOneNode {
        /// The part.
        part: String,
        /// The node.
        node: String,
    },
    /// A group of nodes that `in` does not reach.
    #[error("'{part}' is not joined to the rest: no path leads from 'in' to node '{node}'")]
    NotJoined {
        /// First part of the group.
        part: String,
        /// First node of the group.
        node: String,
    },
    /// A driver that `in` does not reach.
    #[error("no path leads from 'in' to driver '{driver}' ('{part}')")]
    DriverNotReached {
        /// The part.
        part: String,
        /// The driver.
        driver: String,
    },
    /// A driver that the project does not have.
    #[error("'{part}' is driver '{driver}', which the project does not have")]
    UnknownDriver {
        /// The part.
        part: String,
        /// The driver.
        driver: String,
        /// The drivers that there are.
        known: Vec<String>,
    },
    /// One driver in two places.
    #[error("driver '{driver}' is used twice, by '{first}' and by '{part}'")]
    DriverTwice {
        /// The part that comes second.
        part: String,
        /// The part that comes first.
        first: String,
        /// The driver.
        driver: String,
    },
    /// A value that cannot be.
    #[error("the {field} of '{part}' is {is}")]
    Value {
        /// The part.
        part: String,
        /// Which value.
        field: &'static str,
        /// What it is, and what it must be.
        is: String,
        /// Whether it could be, were it not so large or small.
        beyond: bool,
    },
    /// A coupling factor that cannot be.
    #[error(
        "the coupling factor of '{part}' is {factor}, but must be 0 or more and at most 0.999999999"
    )]
    Factor {
        /// The part.
        part: String,
        /// Name of the factor in a file.
        field: &'static str,
        /// The factor.
        factor: f64,
    },
    /// A coupling of something else than an inductor.
    #[error("'{part}' couples '{name}', which is {what}")]
    NoInductor {
        /// The coupling.
        part: String,
        /// What it names.
        name: String,
        /// What that is.
        what: String,
    },
    /// A coupling of a coil with itself.
    #[error("'{part}' couples '{name}' with itself")]
    CoupledWithItself {
        /// The coupling.
        part: String,
        /// The coil.
        name: String,
    },
    /// Two couplings of the same pair.
    #[error("'{part}' couples the same two inductors as '{first}'")]
    CoupledTwice {
        /// The coupling that comes second.
        part: String,
        /// The coupling that comes first.
        first: String,
    },
    /// Couplings that together would store negative energy.
    #[error("the factors of {} cannot hold together: coils so closely coupled to one coil are coupled to one another as well", .all.join(", "))]
    ImpossibleCouplings {
        /// The last coupling of the group.
        part: String,
        /// All couplings of the group.
        all: Vec<String>,
    },
    /// An autoformer without taps.
    #[error("autoformer '{part}' has no taps")]
    NoTaps {
        /// The autoformer.
        part: String,
    },
    /// A tap outside the winding.
    #[error("tap '{tap}' of '{part}' has the ratio {ratio}, but it must lie between 0 and 1")]
    TapRatio {
        /// The autoformer.
        part: String,
        /// The tap.
        tap: String,
        /// Its ratio.
        ratio: f64,
    },
    /// Two taps at one place of the winding.
    #[error("taps '{first}' and '{tap}' of '{part}' have the same ratio, {ratio}")]
    TapsAlike {
        /// The autoformer.
        part: String,
        /// The tap that comes first.
        first: String,
        /// The tap that comes second.
        tap: String,
        /// Their ratio.
        ratio: f64,
    },
    /// A tap that shorts a part of its own winding.
    #[error(
        "tap '{tap}' of '{part}' is at a node that the winding already has: it would short turns"
    )]
    TapShorts {
        /// The autoformer.
        part: String,
        /// The tap.
        tap: String,
    },
    /// Parts that together are not what the network says.
    #[error("'{part}' is made of parts that together are {sum}, but its value is {value}")]
    MadeOfDiffers {
        /// The part.
        part: String,
        /// What the parts make, for people.
        sum: String,
        /// What the network says, for people.
        value: String,
    },
}

impl NetworkMistake {
    /// The part that it is about.
    #[must_use]
    pub fn part(&self) -> Option<&str> {
        match self {
            NetworkMistake::NoParts
            | NetworkMistake::InUnused
            | NetworkMistake::GndUnused
            | NetworkMistake::NoReturn
            | NetworkMistake::UnusedNode { .. } => None,
            NetworkMistake::LooseEnd { part, .. }
            | NetworkMistake::BothEndsAtOneNode { part, .. }
            | NetworkMistake::NotJoined { part, .. }
            | NetworkMistake::DriverNotReached { part, .. }
            | NetworkMistake::UnknownDriver { part, .. }
            | NetworkMistake::DriverTwice { part, .. }
            | NetworkMistake::Value { part, .. }
            | NetworkMistake::Factor { part, .. }
            | NetworkMistake::NoInductor { part, .. }
            | NetworkMistake::CoupledWithItself { part, .. }
            | NetworkMistake::CoupledTwice { part, .. }
            | NetworkMistake::ImpossibleCouplings { part, .. }
            | NetworkMistake::NoTaps { part }
            | NetworkMistake::TapRatio { part, .. }
            | NetworkMistake::TapsAlike { part, .. }
            | NetworkMistake::TapShorts { part, .. }
            | NetworkMistake::MadeOfDiffers { part, .. } => Some(part),
        }
    }

    /// The field of that part which it is about, by its name in a project file.
    #[must_use]
    pub fn field(&self) -> Option<&'static str> {
        match self {
            NetworkMistake::LooseEnd { .. }
            | NetworkMistake::BothEndsAtOneNode { .. }
            | NetworkMistake::NotJoined { .. }
            | NetworkMistake::DriverNotReached { .. } => Some("between"),
            NetworkMistake::UnknownDriver { .. } | NetworkMistake::DriverTwice { .. } => {
                Some("driver")
            }
            NetworkMistake::Value { field, .. } | NetworkMistake::Factor { field, .. } => {
                Some(field)
            }
            NetworkMistake::NoInductor { .. }
            | NetworkMistake::CoupledWithItself { .. }
            | NetworkMistake::CoupledTwice { .. } => Some("coupling"),
            NetworkMistake::ImpossibleCouplings { .. } => Some("factor"),
            NetworkMistake::NoTaps { .. }
            | NetworkMistake::TapRatio { .. }
            | NetworkMistake::TapsAlike { .. }
            | NetworkMistake::TapShorts { .. } => Some("taps"),
            NetworkMistake::MadeOfDiffers { .. } => Some("made_of"),
            _ => None,
        }
    }

    /// The way out.
    #[must_use]
    pub fn help(&self) -> Option<String> {
        let help = match self {
            NetworkMistake::NoParts => {
                "write the parts below [parts], or leave [parts] out: a project without it is a brief"
            }
            NetworkMistake::InUnused
            | NetworkMistake::GndUnused
            | NetworkMistake::NoReturn
            | NetworkMistake::NotJoined { .. } => {
                "look for a node name that is written in two ways; names are the same only letter by letter"
            }
            NetworkMistake::UnusedNode { .. } => "leave it out",
            NetworkMistake::LooseEnd {
                near: Some(near), ..
            } => {
                return Some(format!(
                    "did you mean node '{near}'? otherwise join a second part to it or leave the part out"
                ));
            }
            NetworkMistake::LooseEnd { .. } => {
                "no current can flow there: join a second part to it, or leave the part out"
            }
            NetworkMistake::BothEndsAtOneNode { .. } => {
                "it would do nothing: give it two different nodes, or leave it out"
            }
            NetworkMistake::DriverNotReached { .. } => "join one of its nodes to the network",
            NetworkMistake::UnknownDriver { known, .. } if known.is_empty() => {
                "the project has no drivers"
            }
            NetworkMistake::UnknownDriver { known, .. } => {
                return Some(format!("the drivers are {}", known.join(", ")));
            }
            NetworkMistake::DriverTwice { .. } => {
                "one driver is one part; describe a second one below [drivers] under its own name"
            }
            NetworkMistake::Factor { .. } => {
                "neighbouring air-core coils have a few hundredths, windings on one core 0.99 and more; to turn the sense round, swap the nodes of one coil"
            }
            NetworkMistake::NoInductor { .. } => "name two inductors of the network",
            NetworkMistake::CoupledWithItself { .. } => "name two different inductors",
            NetworkMistake::CoupledTwice { .. } => "keep one of the two",
            NetworkMistake::ImpossibleCouplings { .. } => {
                "lower the factors, or give the missing pairs theirs"
            }
            NetworkMistake::NoTaps { .. } => "write taps = { m3 = 0.5 }, or make it an inductor",
            NetworkMistake::TapRatio { .. } => {
                "the ratio is the share of the turns from the bottom; 0.5 is 6 dB down"
            }
            NetworkMistake::TapsAlike { .. } => {
                "leave one of the two out and join its parts to the other"
            }
            NetworkMistake::TapShorts { .. } => "give the tap a node of its own",
            NetworkMistake::MadeOfDiffers { .. } => "correct the value or made_of",
            NetworkMistake::Value { beyond: true, .. } => {
                "1e-15 to 1e15 can be worked with: look at the unit and the exponent"
            }
            NetworkMistake::Value { .. } => return None,
        };
        Some(help.to_owned())
    }
}
