//! The program; everything is in the library half.
fn main() {}
