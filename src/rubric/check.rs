//! Finding every mistake in a set of rubric files.
