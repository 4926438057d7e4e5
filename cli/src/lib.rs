//! Who asks.
