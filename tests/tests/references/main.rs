//! Published values, each with its source, and solutions by general-purpose numerics.

mod cabinet;
mod coil;
mod figures;
mod ladder;
mod ladder_pairs;
mod load;
mod load_alignments;
mod load_laws;
mod load_measured;
mod load_phase;
mod near_field;
mod numpy;
mod pad;
mod pad_command;
mod pad_faults;
mod pad_inside;
mod pad_nodal;
mod pad_place;
mod pad_shapes;
mod pad_steps;
mod pad_textbook;
mod programme;
mod series;
mod sound;
mod stress;
