//! Laws that must hold for every network, project and pad, as properties; two solutions by different means agree.

mod amplifier;
mod built;
mod compare;
mod drivers;
mod faults;
mod flight;
mod growing;
mod modules;
mod names;
mod nodal;
mod objective;
mod pad;
mod pad_place;
mod power;
mod project_roundtrip;
mod sum_depth;
mod tolerance;
mod wiring;
