//! bound
