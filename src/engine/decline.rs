//! decline
