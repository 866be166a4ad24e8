//! fixings
