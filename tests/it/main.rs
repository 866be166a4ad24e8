//! One integration binary; a module for each behaviour.

mod cars;
mod rubric_files;
mod store_files;
