//! One integration binary; a module for each behaviour.

mod plan_search;
mod rubric_files;
