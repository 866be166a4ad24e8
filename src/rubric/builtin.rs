//! The rubric files that ship with the program.
