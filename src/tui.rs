//! The terminal screens.
