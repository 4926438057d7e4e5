//! Whole designs and snapped networks: what the search reaches.

mod corrections;
mod demo;
mod limits;
mod snap_brute_force;
mod snap_demo;
mod textbook;
mod window;
