//! One integration binary; a module for each behaviour.

mod rubric_files;
