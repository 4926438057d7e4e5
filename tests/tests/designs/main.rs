//! Whole designs and snapped networks: what the search reaches.

mod demo;
mod snap_brute_force;
mod snap_demo;
mod textbook;
