//! standing
