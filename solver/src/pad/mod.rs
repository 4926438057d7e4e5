//! What a pad really does: on a driver's own impedance, between a filter and that driver.
//!
//! A pad is recognised in its network (`find`), the network is solved with the pad taken out (`open`), and any pad put there
//! changes what was solved. `answer` says it all, once, for screen, document and page.
//!
//! | file | from | to |
//! |---|---|---|
//! | `walk` | network | parts that hang together; resistors that act as one |
//! | `find` | network, driver | its pad, wherever it stands in the way |
//! | `return_lead` | network, driver | the same with the return lead before the driver; drivers in series |
//! | `in_network` | network, its pad | the network with another one |
//! | `open` | network, its pad | the network with the pad taken out, solved; what any pad put in does |
//! | `load` | resistor or driver of a project | impedance over frequency, the bands that count |
//! | `drive_source` | network, or textbook filters | what drives the pad: source voltage and impedance |
//! | `extent` | a value over a band | its least and most, and where |
//! | `power` | pad, load, source | heat in each part, rating to buy |
//! | `drive` | the same; voltage at the driver before and after | that voltage; shift of the crossover, peak |
//! | `study` | the same | attenuation, load of the filter, source of the driver, with heat and voltage |
//! | `stock` | stock | resistors near a value, several together |
//! | `target` | — | attenuation, kind and load that are wanted |
//! | `samples` | load, target | the load at a few frequencies, to try thousands of pads on |
//! | `ideal` | load, target | ideal values |
//! | `candidate` | — | a pad from stock with its figures, and what it was ranked by |
//! | `drafts` | samples, stock | pads of the stock that are tried |
//! | `size` | where a pad goes and what it is made of, target | pads from stock, best first |
//! | `steps` | a pad | pads a decibel apart at the driver that keep the filter's load |
//! | `trials` | project, network | figures of the whole loudspeaker |
//! | `levers` | network, driver | what may be changed to move its level, and what that does |
//! | `inside` | network without such a pad | parts of the way that move its level, in steps |
//! | `question` | — | what is asked, and why it cannot be answered |
//! | `bench` | project, driver | a pad's surroundings, recognised and made ready |
//! | `solve` | question, bench | the answer |
//! | `answer` | — | all that is said of a pad |
//! | `findings` | answer | what the builder must know |
//!
//! All levels are means in decibels over log-frequency.

mod answer;
mod bench;
mod candidate;
mod drafts;
mod drive;
mod drive_source;
mod extent;
mod find;
mod findings;
mod ideal;
mod in_network;
mod inside;
mod levers;
mod load;
mod open;
mod power;
mod question;
mod return_lead;
mod samples;
mod size;
mod solve;
mod steps;
mod stock;
mod study;
mod target;
mod trials;
mod walk;

pub use answer::{HotPad, LevelOff, PadAnswer, PadColumn, PadResistor, WindingOrigin};
pub use bench::PadBench;
pub use candidate::{Candidate, Cost, Criterion, TOLERANCE_DB};
pub use drive::{DriveChange, PadCrossoverShift, driver_level_db, level_on_resistor_db};
pub use drive_source::{PadSource, PadSourceKind};
pub use extent::Extent;
pub use find::find_pad;
pub use ideal::ideal;
pub use in_network::PadInNetwork;
pub use inside::{Inside, LevelStep, PartChange, StepMet, inside};
pub use levers::{Lever, PlaceOfChange};
pub use load::{PadLoad, rated_ohm};
pub use open::PadOnLoad;
pub use power::{PadHeat, PartHeat, to_buy};
pub use question::{PadError, PadGoal, PadOrigin, PadQuestion};
pub use return_lead::{return_lead_first, shared_with};
pub use size::PadSite;
pub use solve::{PadFound, answer};
pub use steps::{Step, steps};
pub use stock::Resistors;
pub use study::{PadCurves, Study};
pub use target::{Counted, PadTarget};
pub use trials::{LoudspeakerChange, LoudspeakerFigures, PadTrials};
