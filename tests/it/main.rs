//! One integration binary; a module for each behaviour.

mod cars;
mod crash_safety;
mod rubric_files;
mod store_files;
mod user_rubrics;
