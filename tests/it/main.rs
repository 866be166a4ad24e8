//! One integration binary; a module for each behaviour.

mod decline_golden;
mod rubric_files;
