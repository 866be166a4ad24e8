//! One integration binary; a module for each behaviour.

mod decline_golden;
mod plan_search;
mod cars;
mod rubric_files;
mod store_files;
