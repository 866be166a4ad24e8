//! harm
