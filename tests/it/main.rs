//! One integration binary; a module for each behaviour.

mod decline_calibrated;
mod decline_golden;
mod decline_laws;
mod decline_lines;
mod decline_real;
mod rubric_files;
