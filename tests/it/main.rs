//! One integration binary; a module for each behaviour.

mod fixings;
mod plan_search;
mod rubric_files;
