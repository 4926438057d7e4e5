//! Whole designs and snapped networks: what the search reaches.

mod corrections;
mod demo;
mod snap_brute_force;
mod snap_demo;
mod textbook;
